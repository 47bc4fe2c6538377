//! Lanes on a real PostgreSQL: killed, cut, full, claimed twice, and asked for what no lane may do.

use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use linewalk::logbook::names;
use linewalk::shell::clock;
use linewalk::shell::lane::LaneThread;
use linewalk::shell::workspace::Replicator;

use crate::event_rig::{
    Logs, Machine, Pg, Proxy, SOON, Weather, answer, linewalk, programs, records, until, walk,
};

fn share(of: &mut [Duration], share: f64) -> Duration {
    of.sort();
    let last = of.len() - 1;
    of[(last as f64 * share).round() as usize]
}

/// The size of the run: `LINEWALK_EVENT_RUN=full` is that of a large meeting.
fn size() -> (usize, usize, usize) {
    match std::env::var("LINEWALK_EVENT_RUN").as_deref() {
        Ok("full") => (500, 67, 20),
        _ => (36, 10, 4),
    }
}

/// Waits until every machine and the server hold the same so many records.
fn all_hold_the_same(pg: &Pg, machines: &[Machine], count: usize, limit: Duration) -> Logs {
    let here = |machine: &Machine| -> u64 {
        let cars = machine.paths.cars().unwrap();
        let heads = cars.iter().flat_map(|car| std::fs::read_dir(machine.paths.car(car)).unwrap());
        heads
            .filter_map(|entry| {
                let path = entry.unwrap().path();
                let head = path.extension().is_some_and(|ending| ending == "head").then_some(path)?;
                linewalk::logbook::head::Head::read(&std::fs::read(head).ok()?).map(|head| head.seq)
            })
            .sum()
    };
    for machine in machines {
        until("every record is in every lane", limit, || here(machine) == count as u64);
    }
    let there = pg.logs();
    assert_eq!(records(&there), count);
    for machine in machines {
        assert!(machine.logs() == there, "a lane has other records than the server");
    }
    there
}

#[test]
fn six_lanes_hold_the_same_records_however_often_the_server_is_killed() {
    let Some(programs) = programs("six lanes and a server that is killed") else { return };
    let (cars, checks, kills) = size();
    let mut pg = Pg::start(programs, kills > 10);
    let machines: Vec<Machine> = (0..6).map(|_| Machine::new()).collect();
    let urls: Vec<String> = (1..=6).map(|at| pg.url(&format!("lane{at}"))).collect();
    let walked = AtomicBool::new(false);
    let begun = Instant::now();
    let lanes: Vec<LaneThread> = thread::scope(|scope| {
        let walkers: Vec<_> = machines
            .iter()
            .zip(&urls)
            .enumerate()
            .map(|(at, (machine, url))| {
                scope.spawn(move || {
                    let lane = machine.join(url);
                    for car in (at..cars).step_by(6) {
                        walk(machine, Some(&lane), &format!("car-{car}"), checks, Duration::from_millis(2));
                    }
                    lane
                })
            })
            .collect();
        let (done, server) = (&walked, &mut pg);
        let killer = scope.spawn(move || {
            let mut state = 20_261_125_u64;
            for _ in 0..kills {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                thread::sleep(Duration::from_millis(200 + (state >> 33) % 1300));
                server.kill();
                thread::sleep(Duration::from_millis((state >> 40) % 700));
                server.begin();
            }
            done.load(Ordering::Relaxed)
        });
        let lanes: Vec<LaneThread> = walkers.into_iter().map(|walker| walker.join().unwrap()).collect();
        walked.store(true, Ordering::Relaxed);
        println!("walked after {:?}", begun.elapsed());
        println!("last kill after the last record: {}", killer.join().unwrap());
        lanes
    });
    let whole = all_hold_the_same(&pg, &machines, cars * checks, SOON * 10);
    println!(
        "{} records the same in {} places after {:?}",
        records(&whole),
        machines.len() + 1,
        begun.elapsed()
    );
    for lane in &lanes {
        assert!(lane.status().stuck.is_empty(), "{:?}", lane.status().stuck);
        lane.finish();
    }
}

#[test]
fn a_record_is_in_the_other_lanes_soon_and_the_key_never_waits() {
    let Some(programs) = programs("the time a record takes") else { return };
    let pg = Pg::start(programs, true);
    let machines: Vec<Machine> = (0..6).map(|_| Machine::new()).collect();
    let count = if size().0 == 500 { 200 } else { 40 };
    let pause = Duration::from_millis(100);
    let mut alone = walk(&machines[0], None, "alone", count, Duration::from_millis(20));
    let lanes: Vec<LaneThread> =
        machines.iter().enumerate().map(|(at, m)| m.join(&pg.url(&format!("lane{}", at + 1)))).collect();
    for lane in &lanes {
        until("the lane has joined", SOON, || lane.status().joined);
    }
    let mut joined = walk(&machines[0], Some(&lanes[0]), "joined", count, Duration::from_millis(20));
    let mut times = thread::scope(|scope| {
        let seen: Vec<_> = machines[1..]
            .iter()
            .map(|machine| {
                let head = machine.paths.car("timed").join(names::head(&machines[0].writer));
                scope.spawn(move || {
                    let mut at = Vec::new();
                    let end = Instant::now() + pause * u32::try_from(count).unwrap() + SOON;
                    while at.len() < count && Instant::now() < end {
                        let head =
                            std::fs::read(&head).ok().and_then(|b| linewalk::logbook::head::Head::read(&b));
                        let there = head.map_or(0, |head| usize::try_from(head.seq).unwrap());
                        at.resize(there.max(at.len()), Instant::now());
                        thread::sleep(Duration::from_millis(1));
                    }
                    at
                })
            })
            .collect();
        let mut log = machines[0].log("timed");
        let kept: Vec<Instant> = (0..count)
            .map(|check| {
                thread::sleep(pause);
                log.append(clock::now(), clock::new_id(), answer(check)).unwrap();
                log.settle().unwrap();
                lanes[0].kept("timed", 1);
                Instant::now()
            })
            .collect();
        let mut times: Vec<Duration> = Vec::new();
        for lane in seen {
            let seen = lane.join().unwrap();
            assert_eq!(seen.len(), count);
            times.extend(seen.iter().zip(&kept).map(|(seen, kept)| seen.saturating_duration_since(*kept)));
        }
        times
    });
    println!("to the other lanes: p50 {:?}, p99 {:?}", share(&mut times, 0.5), share(&mut times, 0.99));
    let (without, with) = (share(&mut alone, 0.5), share(&mut joined, 0.5));
    println!("key to kept, median: without {without:?}, with the event {with:?}");
    println!("key to kept, p95: {:?}, {:?}", share(&mut alone, 0.95), share(&mut joined, 0.95));
    assert!(share(&mut times, 0.99) < Duration::from_secs(5));
}

#[test]
fn a_copied_writer_id_is_refused_by_name_and_told_what_to_do() {
    let Some(programs) = programs("one writer id on two machines") else { return };
    let pg = Pg::start(programs, false);
    let (own, copy) = (Machine::new(), Machine::new());
    std::fs::write(copy.paths.config.join("writer"), &own.writer).unwrap();
    let join = |machine: &Machine, login: &str| {
        let mut command = linewalk(machine.home.path());
        command.args(["event", "join", &pg.url(login)]).output().unwrap()
    };
    assert!(join(&own, "lane1").status.success());
    // Under another login, and under the same one.
    for login in ["lane2", "lane1"] {
        let output = join(&copy, login);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains("belongs to lane1 on") && said.contains("Delete the file `writer`"), "{said}");
    }
    std::fs::remove_file(copy.paths.config.join("writer")).unwrap();
    assert!(join(&copy, "lane2").status.success());
}

#[test]
fn a_spoilt_network_delays_records_and_loses_none() {
    let Some(programs) = programs("a network that drops, delays and half-closes") else { return };
    let pg = Pg::start(programs, false);
    let proxy = Proxy::to(pg.port);
    let machines: Vec<Machine> = (0..2).map(|_| Machine::new()).collect();
    let url = format!("postgresql://lane1@127.0.0.1:{}/postgres", proxy.port);
    let (one, two) = (machines[0].join(&url), machines[1].join(&pg.url("lane2")));
    let mut count = 0;
    for weather in
        [Weather::Slow, Weather::HalfClosed, Weather::Fair, Weather::Cut, Weather::Swallow, Weather::Fair]
    {
        proxy.set(weather);
        let car = format!("car-{weather:?}");
        let slowest = walk(&machines[0], Some(&one), &car, 12, Duration::from_millis(15)).into_iter().max();
        walk(&machines[1], Some(&two), &car, 3, Duration::ZERO);
        count += 15;
        println!("{weather:?}: mark `{}`, slowest key {slowest:?}", one.mark());
    }
    all_hold_the_same(&pg, &machines, count, SOON);
    assert!(one.status().trouble.is_none());
}

#[test]
fn a_full_server_disk_is_said_and_what_waits_goes_out_later() {
    let Some(programs) = programs("a full server disk") else { return };
    let pg = Pg::start(programs, false);
    let machines: Vec<Machine> = (0..2).map(|_| Machine::new()).collect();
    let (one, two) = (machines[0].join(&pg.url("lane1")), machines[1].join(&pg.url("lane2")));
    walk(&machines[1], Some(&two), "before", 3, Duration::ZERO);
    until("the first are sent", SOON, || two.status().sent == 3);
    // What PostgreSQL says when a table can grow no more: disk_full, class 53.
    pg.sql(
        "postgres",
        "create function linewalk.full() returns trigger language plpgsql as $$ begin \
         raise exception 'could not extend file: No space left on device' using errcode = '53100'; end $$; \
         create trigger a_full before insert on linewalk.record for each row execute function linewalk.full()",
    );
    walk(&machines[0], Some(&one), "heron", 5, Duration::ZERO);
    until("it is said", SOON, || one.status().trouble.is_some_and(|said| said.contains("No space left")));
    until("all five are counted", SOON, || one.mark() == "event! +5");
    until("the others' records still come", SOON, || one.status().came.get("before") == Some(&3));
    pg.sql("postgres", "drop trigger a_full on linewalk.record");
    all_hold_the_same(&pg, &machines, 8, SOON);
    until("nothing is said any more", SOON, || one.mark() == "event");
}

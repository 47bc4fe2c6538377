//! The lane's thread: it carries records to the event and from it, with its own connection, and never makes the
//! walk wait.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread;
use std::time::{Duration, Instant};

use tokio::sync::Notify;

use crate::lanes::engine::{Engine, Next, Status};
use crate::lanes::server::Server;

use super::clock;
use super::folders::DiskFolders;
use super::joined::{Joined, me, target};
use super::paths::Paths;
use super::postgres::PgGate;
use super::workspace::Replicator;

/// How often every car is looked at, for records that another program of this machine kept.
const SWEEP: Duration = Duration::from_secs(10);
/// How long a program that ends waits for its last records to go out.
const LAST: Duration = Duration::from_secs(2);

/// The engine over PostgreSQL and this machine's folders.
pub type Carrier = Engine<PgGate, DiskFolders>;

/// Makes the engine of an event. `writes` is false for one that only reads.
///
/// # Errors
/// Where the address, the password, or the certificates cannot be used.
pub fn carrier(paths: &Paths, joined: &Joined, writes: bool, bell: Arc<Notify>) -> Result<Carrier, String> {
    let mut me = me(paths)?;
    if !writes {
        me.writer = None;
    }
    let gate = PgGate::new(target(joined)?, bell)?;
    Ok(Engine::new(gate, DiskFolders::new(paths.clone()), me))
}

#[derive(Debug, Default)]
struct Shared {
    status: Mutex<Status>,
    /// Cars something was kept about since the last round began, and whether a round is under way.
    cars: Mutex<(Vec<String>, bool)>,
    /// Records kept since the last round.
    fresh: AtomicU64,
    stop: AtomicBool,
}

/// A lane at work in the background.
#[derive(Debug)]
pub struct LaneThread {
    shared: Arc<Shared>,
    bell: Arc<Notify>,
}

/// A poisoned lock only means that a thread ended early: what it guards is still whole.
fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

impl LaneThread {
    /// Starts carrying. What is wrong with the address shows in the mark: the walk goes on without.
    pub fn start(paths: Paths, joined: Joined) -> Self {
        let shared = Arc::new(Shared::default());
        let bell = Arc::new(Notify::new());
        let (theirs, ring) = (Arc::clone(&shared), Arc::clone(&bell));
        let begun = thread::Builder::new().name("event".to_owned()).spawn(move || {
            match carrier(&paths, &joined, true, Arc::clone(&ring)) {
                Ok(engine) => carry(engine, &theirs),
                Err(error) => held(&theirs.status).trouble = Some(error),
            }
        });
        if let Err(error) = begun {
            held(&shared.status).trouble = Some(error.to_string());
        }
        Self { shared, bell }
    }

    /// How the lane stands.
    pub fn status(&self) -> Status {
        held(&self.shared.status).clone()
    }

    /// Waits until nothing is unsent, the server is away, or the time is over; then ends. Gives the last status.
    pub fn finish_within(&self, limit: Duration) -> Status {
        let end = Instant::now() + limit;
        loop {
            let (cars, busy) = held(&self.shared.cars).clone();
            let waiting = busy || !cars.is_empty();
            let status = self.status();
            let away = !status.joined && status.trouble.is_some();
            if away || (status.joined && status.unsent == 0 && !waiting) || Instant::now() >= end {
                break;
            }
            thread::sleep(Duration::from_millis(10));
        }
        self.shared.stop.store(true, Ordering::Relaxed);
        self.bell.notify_one();
        self.status()
    }
}

impl Replicator for LaneThread {
    fn kept(&self, car: &str, records: u64) {
        let mut cars = held(&self.shared.cars);
        if cars.0.iter().all(|known| known != car) {
            cars.0.push(car.to_owned());
        }
        drop(cars);
        self.shared.fresh.fetch_add(records, Ordering::Relaxed);
        self.bell.notify_one();
    }

    fn mark(&self) -> String {
        let status = self.status();
        // While it is reached, what was just kept is on its way: only what stays is counted.
        let fresh = if status.joined { 0 } else { self.shared.fresh.load(Ordering::Relaxed) };
        let unsent = status.unsent + fresh;
        let waiting = if unsent > 0 { format!(" +{unsent}") } else { String::new() };
        match (status.joined, status.trouble.is_some() || !status.stuck.is_empty()) {
            (true, false) => format!("event{waiting}"),
            (true, true) => format!("event!{waiting}"),
            (false, true) => format!("event AWAY{waiting}"),
            (false, false) => format!("event ..{waiting}"),
        }
    }

    fn finish(&self) {
        self.finish_within(LAST);
    }

    fn name_of(&self, writer: &str) -> Option<String> {
        held(&self.shared.status).names.get(writer).cloned()
    }
}

fn carry(mut engine: Carrier, shared: &Shared) {
    let mut swept: Option<Instant> = None;
    while !shared.stop.load(Ordering::Relaxed) {
        let fresh = shared.fresh.load(Ordering::Relaxed);
        let cars = std::mem::replace(&mut *held(&shared.cars), (Vec::new(), true)).0;
        let sweep = swept.is_none_or(|at| at.elapsed() >= SWEEP);
        let next = engine.round(&cars, sweep, clock::now());
        if sweep {
            swept = Some(Instant::now());
        }
        *held(&shared.status) = engine.status().clone();
        // Only now: who waits for the last records must find a hint, a round under way, or the count.
        held(&shared.cars).1 = false;
        shared.fresh.fetch_sub(fresh, Ordering::Relaxed);
        match next {
            Next::Again => {}
            Next::Wait(time) => {
                let gone = engine.link().is_some_and(|link| link.wait(time).is_err());
                if gone {
                    engine.hang_up();
                }
            }
            Next::Pause(time) => {
                let end = Instant::now() + time;
                while Instant::now() < end && !shared.stop.load(Ordering::Relaxed) {
                    thread::sleep(Duration::from_millis(50).min(time));
                }
            }
        }
    }
}

//! `linewalk event`: several machines on one log, through a PostgreSQL server.

#[cfg(not(feature = "lanes"))]
use super::args::EventCommand;
use super::run::{Context, Outcome};

#[cfg(not(feature = "lanes"))]
pub(super) fn run(context: &Context, what: &EventCommand) -> Outcome {
    if matches!(what, EventCommand::Leave) {
        return leave(context);
    }
    Err("this linewalk was built without events: build it with `cargo build --release --locked --features event`"
        .to_owned())
}

/// Leaves the event.
fn leave(context: &Context) -> Outcome {
    let left = crate::shell::joined::leave(&context.paths)?;
    super::output::put(if left { "left: nothing more is carried\n" } else { "no event is joined\n" });
    Ok(super::run::DONE)
}

/// Who carries records to the event joined, for the walk.
#[cfg(not(feature = "lanes"))]
pub(super) fn replicator(context: &Context) -> Option<Box<dyn crate::shell::workspace::Replicator>> {
    if let Ok(Some(_)) = crate::shell::joined::joined(&context.paths) {
        super::output::say(
            "an event is joined, and this linewalk was built without events: records stay here; build it with \
             `--features event`",
        );
    }
    None
}

#[cfg(feature = "lanes")]
pub(super) use with_server::{give_a_moment, replicator, run, told, until_still};

/// Nothing is carried in this build.
#[cfg(not(feature = "lanes"))]
pub(super) fn give_a_moment(_context: &Context, _car: &str, _records: u64) {}

#[cfg(feature = "lanes")]
mod with_server {
    use std::sync::Arc;
    use std::time::{Duration, Instant};

    use tokio::sync::Notify;

    use super::super::args::{EventCommand, ServerArgs};
    use super::super::output::{put, say};
    use super::super::run::{Context, DONE, OPEN, Outcome};
    use crate::lanes::engine::{Next, Status};
    use crate::lanes::schema;
    use crate::lanes::server::Server as _;
    use crate::shell::clock;
    use crate::shell::joined::{self, Joined, joined, target};
    use crate::shell::lane::{Carrier, LaneThread, carrier};
    use crate::shell::postgres::PgGate;
    use crate::shell::workspace::Replicator;

    pub(in super::super) fn run(context: &Context, what: &EventCommand) -> Outcome {
        match what {
            EventCommand::Create(server) => create(server),
            EventCommand::Join(server) => join(context, server),
            EventCommand::Leave => super::leave(context),
            EventCommand::Status => status(context),
            EventCommand::Sync { follow } => sync(context, *follow),
            EventCommand::Watch(watch) => super::super::watch::run(context, watch),
        }
    }

    /// Who carries records to the event joined, for the walk.
    pub(in super::super) fn replicator(context: &Context) -> Option<Box<dyn Replicator>> {
        match joined(&context.paths) {
            Ok(None) => None,
            Ok(Some(event)) => Some(Box::new(LaneThread::start(context.paths.clone(), event))),
            Err(error) => {
                say(&format!("{error}\nrecords stay on this machine until this is mended"));
                None
            }
        }
    }

    /// After records were kept without the terminal app: a moment to go out, no more.
    pub(in super::super) fn give_a_moment(context: &Context, car: &str, records: u64) {
        let Ok(Some(event)) = joined(&context.paths) else { return };
        let lane = LaneThread::start(context.paths.clone(), event);
        lane.kept(car, records);
        let status = lane.finish_within(Duration::from_secs(3));
        if !status.joined || status.unsent > 0 {
            say("kept here; the event gets it when its server can be reached, or with `linewalk event sync`");
        }
    }

    fn given(server: &ServerArgs) -> Joined {
        Joined { url: server.url.trim().to_owned(), plain: server.plain }
    }

    fn create(server: &ServerArgs) -> Outcome {
        let target = target(&given(server))?;
        let address = target.address.clone();
        let gate = PgGate::new(target, Arc::new(Notify::new()))?;
        let before = gate.create().map_err(|error| error.to_string())?;
        let done = match before {
            0 => "made".to_owned(),
            before if before == schema::EDITION => "there already, nothing was changed".to_owned(),
            before => format!("brought up from edition {before} to {}", schema::EDITION),
        };
        put(&format!(
            "event in {address}: {done}\nGive each lane and race control a login of its own, in psql:\n  \
             create role lane1 login in role linewalk_lane;\n  \
             create role control login in role linewalk_control;\n  \\password lane1\n"
        ));
        Ok(DONE)
    }

    fn join(context: &Context, server: &ServerArgs) -> Outcome {
        let event = given(server);
        // An address that can never work is not kept; a server that is away now may be.
        let address = target(&event)?.address;
        let mut engine = carrier(&context.paths, &event, true, Arc::new(Notify::new()))?;
        let next = engine.round(&[], true, clock::now());
        joined::remember(&context.paths, &event)?;
        put(&format!("joined: {address}\n"));
        told(engine.status());
        if matches!(next, Next::Pause(_)) {
            return Ok(OPEN);
        }
        until_still(&mut engine, Duration::from_secs(60));
        Ok(DONE)
    }

    fn engine(context: &Context) -> Result<(Carrier, String), String> {
        let event = joined(&context.paths)?
            .ok_or("no event is joined: `linewalk event join URL`, with the URL from its owner")?;
        let address = target(&event)?.address.to_string();
        Ok((carrier(&context.paths, &event, true, Arc::new(Notify::new()))?, address))
    }

    fn status(context: &Context) -> Outcome {
        let Some(_) = joined(&context.paths)? else {
            put("no event is joined\n");
            return Ok(DONE);
        };
        let (mut engine, address) = engine(context)?;
        engine.look_only(clock::now());
        let status = engine.status();
        let state = if status.joined { "reached" } else { "not reached" };
        let unsent = if status.counted { status.unsent.to_string() } else { "not known now".to_owned() };
        put(&format!("{address}: {state}\nnot yet sent: {unsent}\n"));
        told(status);
        Ok(if status.joined && status.unsent == 0 { DONE } else { OPEN })
    }

    fn sync(context: &Context, follow: bool) -> Outcome {
        let (mut engine, _) = engine(context)?;
        if follow {
            return keep_on(engine);
        }
        until_still(&mut engine, Duration::from_secs(600));
        let status = engine.status();
        put(&format!("sent {}, came {}\n", status.sent, status.came.values().sum::<u64>()));
        told(status);
        let whole = status.joined && status.unsent == 0 && status.stuck.is_empty();
        Ok(if whole { DONE } else { OPEN })
    }

    fn keep_on(mut engine: Carrier) -> Outcome {
        let mut before = Status::default();
        loop {
            let next = engine.round(&[], true, clock::now());
            let status = engine.status();
            if (status.joined, &status.trouble) != (before.joined, &before.trouble) {
                told(status);
                before = status.clone();
            }
            match next {
                Next::Again => {}
                Next::Wait(time) => {
                    let time = time.min(Duration::from_secs(1));
                    if engine.link().is_some_and(|link| link.wait(time).is_err()) {
                        engine.hang_up();
                    }
                }
                Next::Pause(time) => std::thread::sleep(time),
            }
        }
    }

    /// Rounds until nothing is left to do, the server is away, or the time is over.
    pub(in super::super) fn until_still(engine: &mut Carrier, limit: Duration) {
        let end = Instant::now() + limit;
        let mut held = 0;
        while Instant::now() < end {
            match engine.round(&[], true, clock::now()) {
                Next::Again => held = 0,
                Next::Wait(time) if time < Duration::from_secs(1) && held < 10 => {
                    held += 1;
                    std::thread::sleep(time);
                }
                Next::Wait(_) | Next::Pause(_) => return,
            }
        }
    }

    /// What is not as it should be, on standard error.
    pub(in super::super) fn told(status: &Status) {
        if let Some(trouble) = &status.trouble {
            say(trouble);
        }
        for (place, reason) in &status.stuck {
            say(&format!("car {}, writer {}: {reason}", place.car, place.writer));
        }
        if let Some(ahead) = status.clock_ahead.filter(|ahead| ahead.abs() > 60) {
            let which = if ahead > 0 { "ahead of" } else { "behind" };
            say(&format!("this machine's clock is {} s {which} the server's: set it", ahead.abs()));
        }
    }
}

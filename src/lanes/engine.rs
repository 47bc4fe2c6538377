//! One lane's side of the event: its own records out, in order; everybody else's in, checked, into their own files.
//!
//! Where the server's copy ends is asked of the server at every connection, and where the copy here ends is read
//! from the head files: there is no third account of it that could be wrong. So whatever is cut, and when, the
//! next round sends what is missing and passes over what is there.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

pub use crate::status::Status;

use crate::server::{Gate, Place, Run, Server, ServerError, Tip, Welcome};
use linewalk_record::entry::Moment;
use linewalk_record::logbook::head::Head;
use linewalk_record::logbook::names::is_id;
use linewalk_record::logbook::names::{self, FileName};
use linewalk_record::logbook::replicate::{self, FollowError};
use linewalk_record::logbook::storage::{Storage, StorageError};

/// Lines sent or asked for at once.
const BATCH: usize = 500;
/// Rounds without news end in a wait of this long; then it is looked again, in case a notice was lost.
const POLL: Duration = Duration::from_secs(5);
/// The wait before looking at a log again that another program was writing to.
const SOON: Duration = Duration::from_millis(300);
/// The longest pause before connecting again.
const LONGEST: Duration = Duration::from_secs(15);

/// The cars of this machine.
pub trait Folders {
    /// A car's folder.
    type Car: Storage;

    /// Ids of every car here.
    ///
    /// # Errors
    /// Where they cannot be listed.
    fn cars(&self) -> Result<Vec<String>, String>;

    /// The folder of a car, made where it is not there.
    ///
    /// # Errors
    /// Where it cannot be made.
    fn open(&self, car: &str) -> Result<Self::Car, StorageError>;

    /// The text of a car's file, where there is one.
    fn file(&self, car: &str) -> Option<String>;

    /// Whether a car has a file.
    fn has_file(&self, car: &str) -> bool;

    /// Puts a car's file where there is none.
    ///
    /// # Errors
    /// Where it cannot be written.
    fn put_file(&self, car: &str, text: &str) -> Result<(), String>;
}

/// Who this machine is at the event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Me {
    /// Its writer id; `None` for one that only reads.
    pub writer: Option<String>,
    /// The machine, by a mark that a copied settings folder does not carry along.
    pub machine: String,
}

impl Me {
    /// Whether a log is this machine's own. A damaged log is gone on with under `<id>-2` to `<id>-9`.
    fn owns(&self, writer: &str) -> bool {
        let Some(rest) = self.writer.as_deref().and_then(|own| writer.strip_prefix(own)) else {
            return false;
        };
        rest.is_empty()
            || matches!(rest.as_bytes(), [b'-', digit] if digit.is_ascii_digit() && *digit >= b'2')
    }
}

/// What to do after a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Next {
    /// There is more to do at once.
    Again,
    /// Wait for news at the server, at most this long.
    Wait(Duration),
    /// There is no connection: try again after this long.
    Pause(Duration),
}

/// A lane's side of the event.
pub struct Engine<G: Gate, F: Folders> {
    gate: G,
    folders: F,
    me: Me,
    link: Option<G::Link>,
    /// Where the server's copies end.
    there: BTreeMap<Place, Tip>,
    /// Where the copies here end, as far as they were looked at.
    here: BTreeMap<Place, Option<Head>>,
    own: BTreeSet<Place>,
    /// Records of this machine's own at the first look.
    before: Option<u64>,
    claimed: BTreeSet<String>,
    offered: BTreeSet<String>,
    /// Cars seen to have a file here.
    with_file: BTreeSet<String>,
    tries: u32,
    may_write: bool,
    /// A log was held by another program, or the disk here failed: look again soon.
    later: bool,
    status: Status,
}

impl<G: Gate, F: Folders> Engine<G, F> {
    /// A lane that has not connected yet.
    pub fn new(gate: G, folders: F, me: Me) -> Self {
        Self {
            gate,
            folders,
            me,
            link: None,
            there: BTreeMap::new(),
            here: BTreeMap::new(),
            own: BTreeSet::new(),
            before: None,
            claimed: BTreeSet::new(),
            offered: BTreeSet::new(),
            with_file: BTreeSet::new(),
            tries: 0,
            may_write: false,
            later: false,
            status: Status::default(),
        }
    }

    /// How it stands.
    pub fn status(&self) -> &Status {
        &self.status
    }

    /// The connection, while there is one.
    pub fn link(&mut self) -> Option<&mut G::Link> {
        self.link.as_mut()
    }

    /// Gives up the connection.
    pub fn hang_up(&mut self) {
        self.link = None;
        self.status.joined = false;
    }

    /// Connects if need be, sends what is new, takes what is new. `cars` are those something was kept about
    /// since the last round; `all` looks at every car. `now` is this machine's clock, only compared.
    pub fn round(&mut self, cars: &[String], all: bool, now: Moment) -> Next {
        let fresh = self.link.is_none();
        self.look(cars, all || fresh);
        if self.before.is_none() {
            self.before = Some(self.unsent());
        }
        let outcome = self.work(now);
        self.status.unsent = self.unsent();
        match outcome {
            Ok(more) => {
                self.status.joined = true;
                if self.status.trouble.is_none() {
                    self.tries = 0;
                }
                match (more, self.later) {
                    (true, _) => Next::Again,
                    (false, true) => Next::Wait(SOON),
                    (false, false) => Next::Wait(POLL),
                }
            }
            Err(error) => {
                self.hang_up();
                self.status.trouble = Some(error.to_string());
                Next::Pause(self.pause())
            }
        }
    }

    /// Connects and counts what is unsent, without sending or taking anything.
    pub fn look_only(&mut self, now: Moment) {
        self.look(&[], true);
        let outcome = self.gate.connect().and_then(|(link, welcome)| {
            self.welcome(link, welcome, now);
            match self.link.take() {
                Some(mut link) => self.tips(&mut link),
                None => Ok(()),
            }
        });
        self.status.joined = outcome.is_ok();
        self.status.trouble = outcome.err().map(|error| error.to_string());
        self.status.unsent = self.unsent();
    }

    /// 0.25 s, doubled each time, up to [`LONGEST`].
    fn pause(&mut self) -> Duration {
        let pause = Duration::from_millis(250).saturating_mul(1 << self.tries.min(6));
        self.tries = self.tries.saturating_add(1);
        pause.min(LONGEST)
    }

    fn work(&mut self, now: Moment) -> Result<bool, ServerError> {
        self.later = false;
        if self.link.is_none() {
            let (link, welcome) = self.gate.connect()?;
            self.welcome(link, welcome, now);
        }
        let Some(mut link) = self.link.take() else { return Ok(false) };
        let outcome = self.exchange(&mut link);
        self.link = Some(link);
        outcome
    }

    fn welcome(&mut self, link: G::Link, welcome: Welcome, now: Moment) {
        self.there.clear();
        // Only own heads are kept: those were looked at just now.
        let own = &self.own;
        self.here.retain(|place, _| own.contains(place));
        self.claimed.clear();
        self.may_write = welcome.may_write;
        self.status.stuck.clear();
        self.status.trouble = None;
        self.status.clock_ahead = Some((now - welcome.now).num_seconds());
        self.link = Some(link);
    }

    fn exchange(&mut self, link: &mut G::Link) -> Result<bool, ServerError> {
        if let Some(writer) = self.me.writer.clone().filter(|_| self.may_write) {
            self.claim(link, &writer)?;
        }
        self.tips(link)?;
        self.names(link)?;
        let sent = match self.send(link) {
            Err(error) if !error.is_final() => {
                self.status.trouble = Some(error.to_string());
                false
            }
            outcome => {
                let sent = outcome?;
                self.status.trouble = None;
                sent
            }
        };
        // What was just sent comes back as a tip, and another lane's may have come meanwhile.
        let took = self.take(link)?;
        self.car_files(link, took)?;
        Ok(sent || took)
    }

    fn claim(&mut self, link: &mut G::Link, writer: &str) -> Result<(), ServerError> {
        if !self.claimed.contains(writer) {
            link.claim(writer, &self.me.machine)?;
            self.claimed.insert(writer.to_owned());
        }
        Ok(())
    }

    fn tips(&mut self, link: &mut G::Link) -> Result<(), ServerError> {
        let tips = link.tips()?;
        self.status.counted = true;
        for tip in tips {
            // Names become files: what could not be one is not taken.
            if names::is_writer_id(&tip.place.writer) && is_id(&tip.place.car) && tip.place.car.len() <= 100 {
                self.there.insert(tip.place.clone(), tip);
            }
        }
        Ok(())
    }

    /// What writers are called, asked for when one turns up that has no name yet.
    fn names(&mut self, link: &mut G::Link) -> Result<(), ServerError> {
        if self.there.keys().any(|place| !self.status.names.contains_key(&place.writer)) {
            for lane in link.lanes()? {
                self.status.names.insert(lane.writer, lane.login);
            }
            for place in self.there.keys() {
                self.status.names.entry(place.writer.clone()).or_insert_with(|| place.writer.clone());
            }
        }
        Ok(())
    }

    /// Reads the heads of this machine's own logs.
    fn look(&mut self, cars: &[String], all: bool) {
        let listed = if all { self.folders.cars() } else { Ok(cars.to_vec()) };
        let cars = match listed {
            Ok(cars) => cars,
            Err(error) => {
                self.status.trouble = Some(error);
                return;
            }
        };
        for car in cars {
            if let Err(error) = self.look_at(&car) {
                self.status.trouble = Some(error.to_string());
            }
        }
    }

    fn look_at(&mut self, car: &str) -> Result<(), StorageError> {
        let folder = self.folders.open(car)?;
        for name in folder.list()? {
            if let FileName::Head(writer) = FileName::read(&name)
                && self.me.owns(&writer)
            {
                let head = replicate::position(&folder, &writer)?;
                let place = Place { writer, car: car.to_owned() };
                self.own.insert(place.clone());
                self.here.insert(place, head);
            }
        }
        Ok(())
    }

    fn here(&mut self, place: &Place) -> Result<u64, StorageError> {
        if let Some(known) = self.here.get(place) {
            return Ok(known.map_or(0, |head| head.seq));
        }
        let head = replicate::position(&self.folders.open(&place.car)?, &place.writer)?;
        self.here.insert(place.clone(), head);
        Ok(head.map_or(0, |head| head.seq))
    }

    fn there(&self, place: &Place) -> u64 {
        self.there.get(place).map_or(0, |tip| tip.seq)
    }

    fn unsent(&self) -> u64 {
        let here = |place: &Place| self.here.get(place).copied().flatten().map_or(0, |head| head.seq);
        if !self.status.counted {
            return self.own.iter().map(here).sum::<u64>().saturating_sub(self.before.unwrap_or(0));
        }
        self.own.iter().map(|place| here(place).saturating_sub(self.there(place))).sum()
    }

    /// Sends what the server lacks; whether anything was sent.
    fn send(&mut self, link: &mut G::Link) -> Result<bool, ServerError> {
        let mut any = false;
        if !self.may_write {
            return Ok(any);
        }
        for place in self.own.clone() {
            let Some(head) = self.here.get(&place).copied().flatten() else { continue };
            if self.status.stuck.contains_key(&place) {
                continue;
            }
            let there = self.there.get(&place);
            if there.is_some_and(|tip| tip.seq == head.seq && tip.sum != head.sum.text()) {
                let reason = ServerError::Fork(format!("record {} of {}", head.seq, place.writer));
                self.status.stuck.insert(place, reason.to_string());
                continue;
            }
            if self.there(&place) < head.seq {
                self.claim(link, &place.writer)?;
                any |= self.send_log(link, &place, head)?;
            }
        }
        Ok(any)
    }

    fn send_log(&mut self, link: &mut G::Link, place: &Place, head: Head) -> Result<bool, ServerError> {
        if self.offered.insert(place.car.clone())
            && let Some(text) = self.folders.file(&place.car)
        {
            link.offer_file(&place.car, &text)?;
        }
        let mut any = false;
        loop {
            let first = self.there(place) + 1;
            if first > head.seq {
                return Ok(any);
            }
            let lines = match self.lines(place, first, head.seq) {
                Ok(lines) if lines.is_empty() => return Ok(any),
                Ok(lines) => lines,
                Err(error) => {
                    self.status.stuck.insert(place.clone(), format!("not sent: {error}"));
                    return Ok(any);
                }
            };
            let run = Run { place: place.clone(), first, lines };
            match link.put(&run) {
                Ok(()) => {}
                Err(error @ ServerError::Fork(_)) => {
                    self.status.stuck.insert(place.clone(), error.to_string());
                    return Ok(any);
                }
                Err(error) => return Err(error),
            }
            let count = run.lines.len() as u64;
            let sum = run.lines.last().and_then(|line| linewalk_record::logbook::record::sum_of(line));
            let sum = sum.map_or_else(String::new, |sum| sum.text().to_owned());
            self.there.insert(place.clone(), Tip { place: place.clone(), seq: first + count - 1, sum });
            self.status.sent += count;
            any = true;
        }
    }

    fn lines(&self, place: &Place, first: u64, last: u64) -> Result<Vec<Vec<u8>>, FollowError> {
        let folder = self.folders.open(&place.car)?;
        replicate::lines(&folder, &place.writer, first, last, BATCH)
    }

    /// Takes what is new at the server; whether anything came.
    fn take(&mut self, link: &mut G::Link) -> Result<bool, ServerError> {
        let mut wanted = Vec::new();
        for (place, tip) in self.there.clone() {
            if self.status.stuck.contains_key(&place) {
                continue;
            }
            match self.here(&place) {
                Ok(here) if here < tip.seq => wanted.push((place, here)),
                Ok(_) => {}
                Err(error) => self.put_off(error.to_string()),
            }
            if wanted.len() == BATCH {
                break;
            }
        }
        if wanted.is_empty() {
            return Ok(false);
        }
        let mut any = false;
        for run in link.get(&wanted, BATCH * 4)? {
            // Only what was asked for, from where it was asked.
            if wanted.iter().any(|(place, here)| *place == run.place && run.first == here + 1) {
                any |= self.put_here(run);
            }
        }
        Ok(any)
    }

    fn put_off(&mut self, why: String) {
        self.later = true;
        self.status.trouble = Some(why);
    }

    fn put_here(&mut self, run: Run) -> bool {
        let Run { place, first, lines } = run;
        let outcome = self
            .folders
            .open(&place.car)
            .map_err(FollowError::from)
            .and_then(|folder| replicate::replicate(&folder, &place.writer, first, &lines));
        // Whatever happened, the file says where it ends.
        self.here.remove(&place);
        match outcome {
            Ok(added) => {
                *self.status.came.entry(place.car).or_default() += added;
                added > 0
            }
            Err(FollowError::Held) => {
                self.later = true;
                false
            }
            Err(FollowError::Storage(error)) => {
                self.put_off(format!("records of other lanes cannot be kept here now: {error}"));
                false
            }
            Err(error) => {
                self.status.stuck.insert(place, error.to_string());
                false
            }
        }
    }

    /// Files of cars that came without one.
    fn car_files(&mut self, link: &mut G::Link, came: bool) -> Result<(), ServerError> {
        if !came {
            return Ok(());
        }
        let mut lacking = Vec::new();
        for car in self.status.came.keys().filter(|car| !self.with_file.contains(*car)) {
            lacking.push(car.clone());
        }
        lacking.retain(|car| !self.folders.has_file(car) || !self.with_file.insert(car.clone()));
        if lacking.is_empty() {
            return Ok(());
        }
        for (car, text) in link.files(&lacking)? {
            if lacking.contains(&car)
                && let Err(error) = self.folders.put_file(&car, &text)
            {
                self.put_off(error);
            }
        }
        Ok(())
    }
}

//! An event's server in memory that fails on command, for tests. It holds to the same rules as the tables do.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::time::Duration;

use linewalk::lanes::server::{Gate, Lane, Place, Run, Server, ServerError, Tip, Welcome};
use linewalk::logbook::hash::Hex;
use linewalk::logbook::record;
use linewalk::logbook::replicate;
use linewalk::model::entry::Moment;

/// What goes wrong with a call.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mishap {
    /// Nothing.
    None,
    /// The connection is cut before it is done.
    Before,
    /// It is done and the connection is cut before the answer.
    After,
    /// The server's disk is full.
    Full,
}

/// What goes wrong with each call, by its name.
pub type Fate = Box<dyn FnMut(&'static str) -> Mishap>;

/// The tables. Clones are the same server.
#[derive(Clone, Default)]
pub struct MemoryServer {
    tables: Rc<RefCell<Tables>>,
}

#[derive(Default)]
struct Tables {
    logs: BTreeMap<Place, Vec<Vec<u8>>>,
    claims: BTreeMap<String, (String, String)>,
    files: BTreeMap<String, String>,
    now: Moment,
}

impl MemoryServer {
    /// A gate for a login; `fate` decides what goes wrong.
    pub fn gate(&self, login: &str, fate: Fate) -> MemoryGate {
        MemoryGate { server: self.clone(), login: login.to_owned(), fate: Rc::new(RefCell::new(fate)) }
    }

    /// Every log as the server has it.
    pub fn logs(&self) -> BTreeMap<Place, Vec<Vec<u8>>> {
        self.tables.borrow().logs.clone()
    }

    /// Changes a line behind everybody's back.
    pub fn forge(&self, place: &Place, at: usize, line: Vec<u8>) {
        if let Some(old) = self.tables.borrow_mut().logs.entry(place.clone()).or_default().get_mut(at) {
            *old = line;
        }
    }

    /// Adds a line that no lane sent.
    pub fn plant(&self, place: &Place, line: Vec<u8>) {
        self.tables.borrow_mut().logs.entry(place.clone()).or_default().push(line);
    }

    /// Forgets the last lines of every log, as a server put back from a backup does.
    pub fn forget(&self, lines: usize) {
        for log in self.tables.borrow_mut().logs.values_mut() {
            log.truncate(log.len().saturating_sub(lines));
        }
    }
}

/// Connects one login.
pub struct MemoryGate {
    server: MemoryServer,
    login: String,
    fate: Rc<RefCell<Fate>>,
}

/// A connection.
pub struct MemoryLink {
    server: MemoryServer,
    login: String,
    fate: Rc<RefCell<Fate>>,
}

impl Gate for MemoryGate {
    type Link = MemoryLink;

    fn connect(&mut self) -> Result<(MemoryLink, Welcome), ServerError> {
        let (server, login, fate) = (self.server.clone(), self.login.clone(), Rc::clone(&self.fate));
        let mut link = MemoryLink { server, login, fate };
        let now = link.call("connect", |tables, _| Ok(tables.now))?;
        Ok((link, Welcome { now, may_write: true }))
    }
}

impl MemoryLink {
    fn call<T>(
        &mut self,
        name: &'static str,
        act: impl FnOnce(&mut Tables, &str) -> Result<T, ServerError>,
    ) -> Result<T, ServerError> {
        let mishap = (self.fate.borrow_mut())(name);
        let cut = || ServerError::Away("cut".to_owned());
        match mishap {
            Mishap::Before => return Err(cut()),
            Mishap::Full => return Err(ServerError::Unable("full".to_owned())),
            Mishap::None | Mishap::After => {}
        }
        let done = act(&mut self.server.tables.borrow_mut(), &self.login);
        if mishap == Mishap::After { Err(cut()) } else { done }
    }
}

fn add(log: &mut Vec<Vec<u8>>, writer: &str, seq: u64, line: &[u8]) -> Result<(), ServerError> {
    let at = usize::try_from(seq.saturating_sub(1)).unwrap_or(usize::MAX);
    match log.get(at) {
        Some(same) if same == line => Ok(()),
        Some(_) => Err(ServerError::Fork(format!("record {seq}"))),
        None if at > log.len() => Err(ServerError::Fork(format!("a gap before record {seq}"))),
        None => {
            let prev = log.last().map_or(Hex::ZEROS, |line| Hex::of(line));
            replicate::check(writer, seq, prev, line)
                .map_err(|error| ServerError::Fork(error.to_string()))?;
            log.push(line.to_vec());
            Ok(())
        }
    }
}

impl Server for MemoryLink {
    fn claim(&mut self, writer: &str, machine: &str) -> Result<(), ServerError> {
        self.call("claim", |tables, login| {
            let own = (login.to_owned(), machine.to_owned());
            let found = tables.claims.entry(writer.to_owned()).or_insert_with(|| own.clone());
            if *found == own {
                return Ok(());
            }
            let (login, machine) = found.clone();
            Err(ServerError::Claimed { writer: writer.to_owned(), login, machine })
        })
    }

    fn tips(&mut self) -> Result<Vec<Tip>, ServerError> {
        self.call("tips", |tables, _| {
            let tip = |(place, log): (&Place, &Vec<Vec<u8>>)| Tip {
                place: place.clone(),
                seq: log.len() as u64,
                sum: log
                    .last()
                    .and_then(|line| record::sum_of(line))
                    .map_or_else(String::new, |sum| sum.text().to_owned()),
            };
            Ok(tables.logs.iter().map(tip).collect())
        })
    }

    fn put(&mut self, run: &Run) -> Result<(), ServerError> {
        self.call("put", |tables, login| {
            let owner = tables.claims.get(&run.place.writer).map(|(login, _)| login.as_str());
            if owner != Some(login) {
                return Err(ServerError::Refused("not its writer".to_owned()));
            }
            let mut log = tables.logs.get(&run.place).cloned().unwrap_or_default();
            for (seq, line) in (run.first..).zip(&run.lines) {
                add(&mut log, &run.place.writer, seq, line)?;
            }
            tables.logs.insert(run.place.clone(), log);
            Ok(())
        })
    }

    fn get(&mut self, after: &[(Place, u64)], most: usize) -> Result<Vec<Run>, ServerError> {
        self.call("get", |tables, _| {
            let mut left = most;
            let mut runs = Vec::new();
            for (place, seq) in after {
                let skip = usize::try_from(*seq).unwrap_or(usize::MAX);
                let log = tables.logs.get(place).into_iter().flatten();
                let lines: Vec<Vec<u8>> = log.skip(skip).take(left).cloned().collect();
                left -= lines.len();
                if !lines.is_empty() {
                    runs.push(Run { place: place.clone(), first: seq + 1, lines });
                }
            }
            Ok(runs)
        })
    }

    fn offer_file(&mut self, car: &str, text: &str) -> Result<(), ServerError> {
        self.call("offer", |tables, _| {
            tables.files.entry(car.to_owned()).or_insert_with(|| text.to_owned());
            Ok(())
        })
    }

    fn files(&mut self, cars: &[String]) -> Result<Vec<(String, String)>, ServerError> {
        self.call("files", |tables, _| {
            Ok(cars.iter().filter_map(|car| Some((car.clone(), tables.files.get(car)?.clone()))).collect())
        })
    }

    fn lanes(&mut self) -> Result<Vec<Lane>, ServerError> {
        Ok(Vec::new())
    }

    fn wait(&mut self, _at_most: Duration) -> Result<(), ServerError> {
        Ok(())
    }
}

//! A storage in memory that can fail on command and show what a crash would leave, for tests.
//!
//! It keeps what the programs see apart from what is on the disk. Bytes reach the disk when their file is
//! synced, names when the folder is. Until then a crash may keep any part of them, in any order.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Cursor, Read};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use linewalk::logbook::storage::{Doing, Lock, Storage, StorageError};

/// How many bytes reach the disk together: small, so that a short log has many pieces.
const SECTOR: usize = 32;

/// A car folder in memory. Clones are the same folder.
#[derive(Clone, Debug, Default)]
pub struct MemoryStorage {
    state: Rc<RefCell<State>>,
}

#[derive(Debug, Default)]
struct State {
    files: Vec<File>,
    names: BTreeMap<String, usize>,
    safe_names: BTreeMap<String, usize>,
    unsafe_names: Vec<(String, Option<usize>)>,
    locked: BTreeSet<String>,
    writes: u64,
    syncs: u64,
    failing_write: Option<(u64, usize)>,
    failing_sync: Option<u64>,
}

#[derive(Clone, Debug, Default)]
struct File {
    now: Vec<u8>,
    safe: Vec<u8>,
    pieces: Vec<Piece>,
}

/// Bytes that are not safe yet.
#[derive(Clone, Debug)]
struct Piece {
    at: usize,
    bytes: Vec<u8>,
    /// A sync failed after they were written: the system takes them for safe and writes them no more.
    given_up: bool,
}

impl File {
    fn append(&mut self, bytes: &[u8]) {
        for sector in bytes.chunks(SECTOR) {
            let piece = Piece { at: self.now.len(), bytes: sector.to_vec(), given_up: false };
            self.now.extend_from_slice(sector);
            self.pieces.push(piece);
        }
    }

    fn sync(&mut self) {
        let (lost, safe): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.pieces).into_iter().partition(|piece| piece.given_up);
        self.pieces = lost;
        for piece in &safe {
            piece.put(&mut self.safe);
        }
    }
}

impl Piece {
    fn put(&self, file: &mut Vec<u8>) {
        let end = self.at + self.bytes.len();
        if file.len() < end {
            file.resize(end, 0);
        }
        if let Some(place) = file.get_mut(self.at..end) {
            place.copy_from_slice(&self.bytes);
        }
    }
}

impl State {
    /// Counts a write; an `Err` says how many bytes get through before it fails.
    fn write(&mut self) -> Result<(), usize> {
        self.writes += 1;
        match self.failing_write {
            Some((nth, through)) if nth == self.writes => Err(through),
            _ => Ok(()),
        }
    }

    fn sync(&mut self) -> Result<(), io::Error> {
        self.syncs += 1;
        if self.failing_sync == Some(self.syncs) {
            return Err(io::Error::other("the disk failed on purpose"));
        }
        Ok(())
    }

    fn sync_file(&mut self, index: usize) -> Result<(), io::Error> {
        let outcome = self.sync();
        if let Some(file) = self.files.get_mut(index) {
            match outcome {
                Ok(()) => file.sync(),
                Err(_) => file.pieces.iter_mut().for_each(|piece| piece.given_up = true),
            }
        }
        outcome
    }

    fn sync_names(&mut self) -> Result<(), io::Error> {
        self.sync()?;
        self.unsafe_names.clear();
        self.safe_names = self.names.clone();
        Ok(())
    }

    fn set_name(&mut self, name: &str, index: Option<usize>) {
        self.unsafe_names.push((name.to_owned(), index));
        match index {
            Some(index) => self.names.insert(name.to_owned(), index),
            None => self.names.remove(name),
        };
    }

    fn new_file(&mut self) -> usize {
        self.files.push(File::default());
        self.files.len() - 1
    }

    /// Makes a file under its own name at once, so that a crash may leave a part of it.
    fn created_file(&mut self, name: &str, bytes: &[u8]) -> Result<(), io::Error> {
        let through = self.write();
        let index = self.new_file();
        self.set_name(name, Some(index));
        if let Some(file) = self.files.get_mut(index) {
            file.append(bytes.get(..through.err().unwrap_or(bytes.len())).unwrap_or(bytes));
        }
        through.map_err(|_| full())?;
        self.sync_file(index)?;
        self.sync_names()
    }

    /// Writes a whole new file, makes it safe, and only then gives it its name.
    fn whole_file(&mut self, name: &str, bytes: &[u8]) -> Result<(), io::Error> {
        self.write().map_err(|_| full())?;
        let index = self.new_file();
        if let Some(file) = self.files.get_mut(index) {
            file.append(bytes);
        }
        self.sync_file(index)?;
        self.set_name(name, Some(index));
        self.sync_names()
    }
}

fn full() -> io::Error {
    io::Error::new(io::ErrorKind::StorageFull, "no space left, on purpose")
}

impl MemoryStorage {
    /// An empty folder.
    pub fn new() -> Self {
        Self::default()
    }

    /// A folder that holds a file, safely.
    #[must_use]
    pub fn with(self, name: &str, bytes: &[u8]) -> Self {
        {
            let mut state = self.state.borrow_mut();
            let index = state.new_file();
            if let Some(file) = state.files.get_mut(index) {
                file.now = bytes.to_vec();
                file.safe = bytes.to_vec();
            }
            state.names.insert(name.to_owned(), index);
            state.safe_names.insert(name.to_owned(), index);
        }
        self
    }

    /// Everything the programs see.
    pub fn files(&self) -> BTreeMap<String, Vec<u8>> {
        let state = self.state.borrow();
        let content =
            |index: &usize| state.files.get(*index).map(|file| file.now.clone()).unwrap_or_default();
        state.names.iter().map(|(name, index)| (name.clone(), content(index))).collect()
    }

    /// The `nth` write from the very first fails, after `through` bytes got into the file.
    pub fn fail_write(&self, nth: u64, through: usize) {
        self.state.borrow_mut().failing_write = Some((nth, through));
    }

    /// The `nth` sync from the very first fails.
    pub fn fail_sync(&self, nth: u64) {
        self.state.borrow_mut().failing_sync = Some(nth);
    }

    /// Writes and syncs so far.
    pub fn counts(&self) -> (u64, u64) {
        let state = self.state.borrow();
        (state.writes, state.syncs)
    }

    /// What a crash now could leave: all that is safe, and of every unsafe piece and name whatever `reached`
    /// says. Answering yes to the first so many gives a prefix; answering at random gives any order.
    #[must_use]
    pub fn crash(&self, reached: &mut dyn FnMut() -> bool) -> Self {
        let state = self.state.borrow();
        let mut names = state.safe_names.clone();
        for (name, index) in &state.unsafe_names {
            if reached() {
                match index {
                    Some(index) => names.insert(name.clone(), *index),
                    None => names.remove(name),
                };
            }
        }
        let mut image = Self::new();
        for (name, index) in names {
            let Some(file) = state.files.get(index) else { continue };
            let mut bytes = file.safe.clone();
            for piece in file.pieces.iter().filter(|_| reached()) {
                piece.put(&mut bytes);
            }
            image = image.with(&name, &bytes);
        }
        image
    }

    fn fails(&self, doing: Doing, name: &str, error: &io::Error) -> StorageError {
        StorageError::new(doing, &self.path_of(name), error)
    }
}

struct Guard {
    state: Rc<RefCell<State>>,
    name: String,
}

impl Drop for Guard {
    fn drop(&mut self) {
        self.state.borrow_mut().locked.remove(&self.name);
    }
}

impl Storage for MemoryStorage {
    fn path_of(&self, name: &str) -> PathBuf {
        Path::new("memory").join(name)
    }

    fn list(&self) -> Result<Vec<String>, StorageError> {
        Ok(self.state.borrow().names.keys().cloned().collect())
    }

    fn open(&self, name: &str) -> Result<Option<Box<dyn Read>>, StorageError> {
        let state = self.state.borrow();
        let file = state.names.get(name).and_then(|index| state.files.get(*index));
        Ok(file.map(|file| Box::new(Cursor::new(file.now.clone())) as Box<dyn Read>))
    }

    fn append(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        let mut state = self.state.borrow_mut();
        let through = state.write();
        let index = match state.names.get(name) {
            Some(index) => *index,
            None => {
                let index = state.new_file();
                state.set_name(name, Some(index));
                index
            }
        };
        let Some(file) = state.files.get_mut(index) else { return Ok(()) };
        match through {
            Ok(()) => file.append(bytes),
            Err(through) => file.append(bytes.get(..through).unwrap_or(bytes)),
        }
        through.map_err(|_| self.fails(Doing::Append, name, &full()))
    }

    fn sync(&self, name: &str) -> Result<(), StorageError> {
        let mut state = self.state.borrow_mut();
        let new = !state.safe_names.contains_key(name);
        let outcome = match state.names.get(name).copied() {
            Some(index) => state.sync_file(index),
            None => Err(io::ErrorKind::NotFound.into()),
        };
        let outcome = if new { outcome.and_then(|()| state.sync_names()) } else { outcome };
        outcome.map_err(|error| self.fails(Doing::Sync, name, &error))
    }

    fn replace(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        let outcome = self.state.borrow_mut().whole_file(name, bytes);
        outcome.map_err(|error| self.fails(Doing::Replace, name, &error))
    }

    fn create(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        let mut state = self.state.borrow_mut();
        let outcome = if state.names.contains_key(name) {
            Err(io::ErrorKind::AlreadyExists.into())
        } else {
            state.created_file(name, bytes)
        };
        outcome.map_err(|error| self.fails(Doing::Create, name, &error))
    }

    fn remove(&self, name: &str) -> Result<(), StorageError> {
        let mut state = self.state.borrow_mut();
        if !state.names.contains_key(name) {
            return Ok(());
        }
        state.set_name(name, None);
        state.sync_names().map_err(|error| self.fails(Doing::Remove, name, &error))
    }

    fn lock(&self, name: &str) -> Result<Lock, StorageError> {
        if !self.state.borrow_mut().locked.insert(name.to_owned()) {
            return Err(StorageError::held(&self.path_of(name)));
        }
        Ok(Lock::new(Guard { state: Rc::clone(&self.state), name: name.to_owned() }))
    }

    fn size(&self, name: &str) -> Result<Option<u64>, StorageError> {
        let state = self.state.borrow();
        let file = state.names.get(name).and_then(|index| state.files.get(*index));
        Ok(file.map(|file| file.now.len() as u64))
    }

    fn is_locked(&self, name: &str) -> bool {
        self.state.borrow().locked.contains(name)
    }
}

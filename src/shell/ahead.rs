//! The base rules, read on another core while everything else is made ready.

use std::cell::LazyCell;
use std::sync::mpsc::channel;
use std::thread;

use crate::rules::Shelf;

/// A shelf that is being filled, and that the first look at it waits for.
pub type FilledShelf = LazyCell<Shelf, Box<dyn FnOnce() -> Shelf>>;

/// Begins to read the base rules: hardly anything does without them, and a start is as long reading them as finding the
/// car and taking the terminal. Where the system gives no thread they are read when asked for.
pub fn read_ahead() -> FilledShelf {
    let (filled, shelf) = channel();
    let read = move || {
        let shelf = Shelf::trusting();
        shelf.read_base();
        // Nobody waits for it where the program has ended meanwhile.
        let _ = filled.send(shelf);
    };
    let _ = thread::Builder::new().name("rules".to_owned()).spawn(read);
    LazyCell::new(Box::new(move || shelf.recv().unwrap_or_else(|_| Shelf::trusting())))
}

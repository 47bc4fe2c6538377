//! The base rules, read on another core while everything else is made ready.

use std::cell::LazyCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::channel;
use std::thread;
use std::time::{Duration, Instant};

use crate::rules::Shelf;

/// A shelf that is being filled, and that the first look at it waits for.
pub type FilledShelf = LazyCell<Shelf, Box<dyn FnOnce() -> Shelf>>;

/// For so long the shelf is waited for awake: a virtual machine may take longer to wake a core that sleeps than the rules
/// take to be read.
const AWAKE: Duration = Duration::from_millis(3);

/// Begins to read the base rules: hardly anything does without them, and a start is as long reading them as finding the
/// car and taking the terminal. Where the system gives no thread, or no core to it in time, they are read when asked for.
pub fn read_ahead() -> FilledShelf {
    let (filled, shelf) = channel();
    let begun = Arc::new(AtomicBool::new(false));
    let theirs = Arc::clone(&begun);
    let read = move || {
        if theirs.swap(true, Ordering::Relaxed) {
            return;
        }
        let shelf = Shelf::trusting();
        shelf.read_base();
        // Nobody waits for it where the program has ended meanwhile.
        let _ = filled.send(shelf);
    };
    let _ = thread::Builder::new().name("rules".to_owned()).spawn(read);
    LazyCell::new(Box::new(move || {
        if !begun.swap(true, Ordering::Relaxed) {
            return Shelf::trusting();
        }
        let since = Instant::now();
        while since.elapsed() < AWAKE {
            if let Ok(shelf) = shelf.try_recv() {
                return shelf;
            }
            thread::yield_now();
        }
        shelf.recv().unwrap_or_else(|_| Shelf::trusting())
    }))
}

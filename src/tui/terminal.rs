//! The terminal taken and given back: by the person, by a signal, by a panic, by a window that is gone.
//!
//! Whatever ends or stops the program, the screen, the cursor and the line discipline are as they were before.
//! What was shown as kept is on disk already, so that nothing else has to be done on the way out.

use std::io::{self, stdout};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, Once, TryLockError};
use std::time::{Duration, Instant};

use crossterm::cursor::Show;
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::execute;
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};

/// Whether the terminal is ours.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// Whether what stands on the screen is not what was drawn last: the window changed, or the program was stopped.
/// Known here too, since a change that comes together with a key may not be told with the keys.
static STALE: AtomicBool = AtomicBool::new(false);

/// The whole screen has to be drawn anew.
pub(super) fn stale() {
    STALE.store(true, Ordering::SeqCst);
}

/// Whether it has to be; asked once.
pub(super) fn was_stale() -> bool {
    STALE.swap(false, Ordering::SeqCst)
}

/// Held while something is drawn, so that a signal does not give the screen back in the middle of it.
static DRAWING: Mutex<()> = Mutex::new(());

/// Takes the terminal: keys one by one, a screen of its own, a paste as one piece of text.
pub(super) fn take() -> io::Result<()> {
    TAKEN.store(true, Ordering::SeqCst);
    enable_raw_mode()?;
    execute!(stdout(), EnterAlternateScreen, EnableBracketedPaste)
}

/// Gives the terminal back, if it is taken.
pub(super) fn give_back() -> io::Result<()> {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return Ok(());
    }
    // The line discipline first: it matters most, and does not need a terminal that still listens.
    let raw = disable_raw_mode();
    let screen = execute!(stdout(), DisableBracketedPaste, LeaveAlternateScreen, Show);
    raw.and(screen)
}

/// Whether the terminal is ours.
pub(super) fn is_taken() -> bool {
    TAKEN.load(Ordering::SeqCst)
}

/// Held while drawing.
pub(super) fn drawing() -> MutexGuard<'static, ()> {
    DRAWING.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// The same for one who cannot wait for ever: a terminal that takes no more may hold the drawing up.
fn soon() -> Option<MutexGuard<'static, ()>> {
    let until = Instant::now() + Duration::from_millis(500);
    loop {
        match DRAWING.try_lock() {
            Ok(guard) => return Some(guard),
            Err(TryLockError::Poisoned(poisoned)) => return Some(poisoned.into_inner()),
            Err(TryLockError::WouldBlock) if Instant::now() > until => return None,
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

/// From now on a panic, a signal or a lost window gives the terminal back first.
pub(super) fn guard() -> io::Result<()> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            let _ = give_back();
            before(panic);
        }));
    });
    #[cfg(unix)]
    {
        static WATCH: Mutex<bool> = Mutex::new(false);
        let mut watching = WATCH.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if !*watching {
            unix::watch()?;
            *watching = true;
        }
    }
    Ok(())
}

/// Stops the program until the shell goes on with it, as Ctrl-Z does elsewhere; `false` where there is no
/// shell to go back to.
pub(super) fn suspend() -> bool {
    #[cfg(unix)]
    let stopped = unix::suspend();
    #[cfg(not(unix))]
    let stopped = false;
    stopped
}

#[cfg(unix)]
mod unix {
    use std::io;
    use std::os::unix::net::UnixStream;
    use std::thread;
    use std::time::Duration;

    use crossterm::terminal::disable_raw_mode;
    use rustix::event::{PollFd, PollFlags, poll};
    use rustix::io::Errno;
    use rustix::process::{Signal, getpid, getsid, kill_current_process_group};
    use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH};
    use signal_hook::iterator::backend::SignalDelivery;
    use signal_hook::iterator::exfiltrator::SignalOnly;
    use signal_hook::low_level::{emulate_default_handler, raise};

    use super::{give_back, is_taken, soon, stale, take};

    const WATCHED: [i32; 7] = [SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP, SIGCONT, SIGWINCH];

    pub(super) fn watch() -> io::Result<()> {
        let (read, write) = UnixStream::pair()?;
        let mut signals = SignalDelivery::with_pipe(read, write, SignalOnly, WATCHED)?;
        thread::Builder::new().name("terminal".to_owned()).spawn(move || {
            while window_stands(signals.get_read()) {
                signals.pending().for_each(answer);
            }
            let _ = soon();
            let _ = give_back();
            let _ = emulate_default_handler(SIGHUP);
        })?;
        Ok(())
    }

    /// Waits without work for a signal, or until the terminal is gone. Its end is not always told by SIGHUP, and
    /// whoever waits for a key would then ask for ever.
    fn window_stands(signals: &UnixStream) -> bool {
        let stdin = io::stdin();
        let mut watched = vec![PollFd::new(signals, PollFlags::IN)];
        if cfg!(target_os = "linux") {
            watched.push(PollFd::new(&stdin, PollFlags::empty()));
        }
        match poll(&mut watched, None) {
            Ok(_) => watched.get(1).is_none_or(|window| window.revents().is_empty()),
            Err(Errno::INTR) => true,
            Err(_) => {
                // The system has no memory for it now.
                thread::sleep(Duration::from_millis(100));
                true
            }
        }
    }

    fn answer(signal: i32) {
        if matches!(signal, SIGWINCH | SIGCONT) {
            stale();
        }
        if signal == SIGWINCH {
            return;
        }
        let guard = soon();
        if signal == SIGCONT {
            // The shell may have changed the terminal meanwhile, and drawn over the screen.
            if is_taken() {
                let _ = disable_raw_mode();
            }
            let _ = take();
            drop(guard);
            // Wakes whoever waits for a key, to draw the whole screen anew.
            let _ = raise(SIGWINCH);
        } else {
            let _ = give_back();
            // Ends the program, or stops it until SIGCONT.
            let _ = emulate_default_handler(signal);
        }
    }

    pub(super) fn suspend() -> bool {
        // The first program of a window has nobody who would go on with it.
        if getsid(None).is_ok_and(|session| session == getpid()) {
            return false;
        }
        kill_current_process_group(Signal::TSTP).is_ok()
    }
}

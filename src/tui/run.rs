//! The loop: draw, wait for a key, change. The terminal is put back whatever happens.

use std::io::{self, BufWriter, Stdout, stdout};
use std::time::{Duration, Instant};

use crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;

use crate::walk::Workspace;

use super::app::App;
use super::draw::draw;
use super::flood;
use super::options::Options;
use super::terminal;

/// Runs the app until the person leaves, and gives the workspace back.
///
/// # Errors
/// What the terminal refused; it is restored first. Nothing that was shown as kept is lost.
pub fn run<G: Workspace>(workspace: G, options: Options) -> io::Result<G> {
    // The screen first: its cells are laid out while the rules may still be on their way.
    let screen = screen()?;
    let mut app = App::new(workspace, options);
    with_screen(screen, |screen| walk_through(screen, &mut app))?;
    Ok(app.into_workspace())
}

/// The screen of a program that has taken the terminal. What is drawn goes out in one piece: standard output by itself
/// writes a kilobyte at a time, and a frame could be seen half.
pub type Screen = Terminal<CrosstermBackend<BufWriter<Stdout>>>;

/// More bytes than a frame takes but on the largest screens.
const FRAME: usize = 64 * 1024;

/// A screen of the terminal's size. The terminal itself is as it was.
///
/// # Errors
/// Where the terminal does not say its size.
pub fn screen() -> io::Result<Screen> {
    Terminal::new(CrosstermBackend::new(BufWriter::with_capacity(FRAME, stdout())))
}

/// Takes the terminal, does some work on its screen, and gives it back whatever happens: an error, a panic, a signal.
///
/// # Errors
/// What the work says, or what the terminal refused.
pub fn with_screen<T>(mut screen: Screen, work: impl FnOnce(&mut Screen) -> io::Result<T>) -> io::Result<T> {
    terminal::guard()?;
    let outcome = terminal::take().and_then(|()| work(&mut screen));
    drop(screen);
    let restored = terminal::give_back();
    outcome.and_then(|done| restored.map(|()| done))
}

fn walk_through<G: Workspace>(screen: &mut Screen, app: &mut App<G>) -> io::Result<()> {
    let begun = Instant::now();
    while !app.is_done() {
        show(screen, app)?;
        if app.settle_kept() {
            show(screen, app)?;
        }
        while app.work_ahead() {
            show(screen, app)?;
            if event::poll(Duration::ZERO)? {
                break;
            }
        }
        // Nothing moves by itself but numbers being worked out, the clock of a pressure hold and the mark of an event.
        if app.is_working_ahead() && !event::poll(LOOK_FOR_NUMBERS)? {
            continue;
        }
        if !app.is_working_ahead() && app.is_ticking() && !event::poll(Duration::from_secs(1))? {
            app.tick();
            continue;
        }
        take_all(flood::read()?, app, begun.elapsed());
        // What came while this was kept was pressed before the next frame: it is taken in before that is drawn.
        for _ in 0..MOST_ROUNDS {
            if app.is_done() || !event::poll(Duration::ZERO)? {
                break;
            }
            take_all(flood::read()?, app, begun.elapsed());
        }
    }
    Ok(())
}

/// How often to look whether numbers are worked out.
const LOOK_FOR_NUMBERS: Duration = Duration::from_millis(20);

/// Rounds of waiting keys before a frame is drawn all the same: an input without an end must not stop the drawing.
const MOST_ROUNDS: usize = 16;

fn take_all<G: Workspace>(events: Vec<Event>, app: &mut App<G>, at: Duration) {
    for event in events {
        if !app.is_done() {
            take_in(event, app, at);
        }
    }
}

fn show<G: Workspace>(screen: &mut Screen, app: &mut App<G>) -> io::Result<()> {
    let _drawing = terminal::drawing();
    if terminal::is_taken() {
        let size = screen.size()?;
        app.resize(size.width, size.height);
        if terminal::was_stale() {
            // Clears without asking the terminal for its cursor, which not every terminal tells.
            screen.resize(Rect::new(0, 0, size.width, size.height))?;
        }
        screen.draw(|frame| draw(app.state(), app.theme(), frame))?;
        app.drawn();
    }
    Ok(())
}

fn take_in<G: Workspace>(event: Event, app: &mut App<G>, at: Duration) {
    match event {
        Event::Key(key) if key.is_press() && is_suspend(key) => suspend(app),
        Event::Key(key) if key.is_press() => app.press_at(key, at),
        Event::Paste(text) => app.paste(&text),
        // Also sent when the program goes on after a stop: what stood on the screen is gone then.
        Event::Resize(..) => terminal::stale(),
        _ => {}
    }
}

fn suspend<G: Workspace>(app: &mut App<G>) {
    // It may never go on.
    app.settle_kept();
    if !terminal::suspend() {
        app.object("This window has no shell to go back to, so the program stays.");
    }
}

fn is_suspend(key: KeyEvent) -> bool {
    key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('z')
}

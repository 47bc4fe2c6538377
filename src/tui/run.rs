//! The loop: draw, wait for a key, change. The terminal is put back whatever happens.

use std::io;
use std::time::Duration;

use crossterm::event::{self, Event};

use crate::walk::Garage;

use super::app::App;
use super::draw::draw;
use super::options::Options;

/// Runs the app until the person leaves, and gives the garage back.
///
/// # Errors
/// What the terminal refused; it is restored first. Nothing that was shown as kept is lost.
pub fn run<G: Garage>(garage: G, options: Options) -> io::Result<G> {
    let mut app = App::new(garage, options);
    let mut terminal = ratatui::try_init().inspect_err(|_| {
        let _ = ratatui::try_restore();
    })?;
    let outcome = walk_through(&mut terminal, &mut app);
    let restored = ratatui::try_restore();
    outcome.and(restored)?;
    Ok(app.into_garage())
}

fn walk_through<G: Garage>(terminal: &mut ratatui::DefaultTerminal, app: &mut App<G>) -> io::Result<()> {
    while !app.is_done() {
        let size = terminal.size()?;
        app.resize(size.width, size.height);
        terminal.draw(|frame| draw(app.state(), app.theme(), frame))?;
        // Nothing moves by itself but the clock of a pressure hold.
        if app.is_ticking() && !event::poll(Duration::from_secs(1))? {
            app.tick();
            continue;
        }
        match event::read()? {
            Event::Key(key) if key.is_press() => app.press(key),
            _ => {}
        }
    }
    Ok(())
}

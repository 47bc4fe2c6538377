//! Text pasted in a terminal that does not mark it comes as keys, faster than hands type: it is taken as a paste, so
//! that no letter of it answers a check.

use std::io;
use std::time::Duration;

use crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};

/// Events taken in before the screen is drawn again: a heap of them is drawn once.
const HEAP: usize = 1024;

/// How long to look for what is here already: a wait of no time at all would not look.
pub const AT_ONCE: Duration = Duration::from_micros(100);

/// More letters at once than hands type while the program is busy for a moment, or a short script sends.
const HANDS: usize = 128;

/// What is pasted has ended when nothing has come for so long.
const QUIET: Duration = Duration::from_millis(300);

/// Of what is pasted, the part that is remembered, in bytes: far more than a line takes.
const MOST_TEXT: usize = 64 * 1024;

/// Events of one paste at most, so that an input without an end does not hold the program for ever.
const MOST_EVENTS: usize = 4 * 1024 * 1024;

/// Waits for an event, and gives it with all that are here already. Where they are letters in a heap that no hands
/// type, everything up to the next pause is one paste.
///
/// # Errors
/// What the terminal refused.
pub fn read() -> io::Result<Vec<Event>> {
    gather(&mut Terminal)
}

/// Where events come from.
pub trait Events {
    /// The next event, if one comes within a time.
    ///
    /// # Errors
    /// What the terminal refused.
    fn within(&mut self, time: Option<Duration>) -> io::Result<Option<Event>>;
}

struct Terminal;

impl Events for Terminal {
    fn within(&mut self, time: Option<Duration>) -> io::Result<Option<Event>> {
        match time {
            Some(time) if !event::poll(time)? => Ok(None),
            _ => event::read().map(Some),
        }
    }
}

/// As [`read`], from any source.
///
/// # Errors
/// What the source refused.
pub fn gather(events: &mut dyn Events) -> io::Result<Vec<Event>> {
    let mut heap = Vec::from_iter(events.within(None)?);
    while heap.len() < HEAP
        && let Some(event) = events.within(Some(AT_ONCE))?
    {
        heap.push(event);
    }
    if letters(&heap) <= HANDS {
        return Ok(heap);
    }
    let (mut text, mut others) = (String::new(), Vec::new());
    let mut take = |event: Event| {
        let room = MOST_TEXT.saturating_sub(text.len());
        match event {
            Event::Key(key) => text.extend(letter(key).filter(|_| room > 0)),
            Event::Paste(more) => text.extend(more.chars().take(room)),
            other => others.push(other),
        }
    };
    heap.into_iter().for_each(&mut take);
    for _ in 0..MOST_EVENTS {
        let Some(event) = events.within(Some(QUIET))? else { break };
        take(event);
    }
    others.push(Event::Paste(text));
    Ok(others)
}

/// Letters of a heap, one that repeats the letter before it left out: a key held down is no paste.
fn letters(heap: &[Event]) -> usize {
    let letters: Vec<char> =
        heap.iter().filter_map(|event| event.as_key_press_event().and_then(letter)).collect();
    letters.windows(2).filter(|pair| matches!(pair, [a, b] if a != b)).count()
}

/// The character of a key that would stand in a text.
fn letter(key: KeyEvent) -> Option<char> {
    let plain = !key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
    match key.code {
        KeyCode::Char(c) if plain && key.is_press() => Some(c),
        KeyCode::Enter if key.is_press() => Some('\n'),
        KeyCode::Tab if key.is_press() => Some('\t'),
        _ => None,
    }
}

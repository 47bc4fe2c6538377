//! Keys that come faster than hands type, from a terminal that does not mark what is pasted.

use std::collections::VecDeque;
use std::io;
use std::time::Duration;

use crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use linewalk::tui::flood::{Events, gather};

/// Heaps of events with a pause after each.
struct Heaps(VecDeque<VecDeque<Event>>);

impl Events for Heaps {
    fn within(&mut self, time: Option<Duration>) -> io::Result<Option<Event>> {
        if self.0.front().is_some_and(VecDeque::is_empty) {
            self.0.pop_front();
            // Only who waits for ever waits long enough.
            if time.is_some() {
                return Ok(None);
            }
        }
        Ok(self.0.front_mut().and_then(VecDeque::pop_front))
    }
}

fn key(code: KeyCode) -> Event {
    Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
}

fn keys(text: &str) -> VecDeque<Event> {
    let code = |c| if c == '\n' { KeyCode::Enter } else { KeyCode::Char(c) };
    text.chars().map(|c| key(code(c))).collect()
}

fn heaps(heaps: impl IntoIterator<Item = VecDeque<Event>>) -> Heaps {
    Heaps(heaps.into_iter().collect())
}

#[test]
fn keys_of_hands_stay_keys() {
    // A key a heap, a value with its unit, a key held down while the program was busy, arrows.
    let held = vec![key(KeyCode::Down); 500].into();
    for typed in [keys("a"), keys("1 1/4 in\n"), keys(&"a".repeat(500)), held] {
        assert_eq!(gather(&mut heaps([typed.clone()])).unwrap(), Vec::from(typed));
    }
    let mut two = heaps([keys("a"), keys("r")]);
    assert_eq!(gather(&mut two).unwrap(), Vec::from(keys("a")));
    assert_eq!(gather(&mut two).unwrap(), Vec::from(keys("r")));
}

#[test]
fn a_heap_of_letters_is_a_paste_up_to_the_next_pause() {
    let text = "reject it\n".repeat(500);
    let mut events = heaps([keys(&text), keys("a")]);
    assert_eq!(gather(&mut events).unwrap(), [Event::Paste(text)]);
    assert_eq!(gather(&mut events).unwrap(), Vec::from(keys("a")));
}

#[test]
fn control_keys_in_it_do_nothing_and_a_new_size_is_seen() {
    let mut heap = keys(&"accept ".repeat(30));
    heap.push_back(Event::Key(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL)));
    heap.push_back(Event::Resize(100, 30));
    heap.extend(keys("q"));
    let expected = [Event::Resize(100, 30), Event::Paste(format!("{}q", "accept ".repeat(30)))];
    assert_eq!(gather(&mut heaps([heap])).unwrap(), expected);
}

/// However much comes, no more of it is remembered than a line could take many times over.
#[test]
fn memory_stays_bounded() {
    let events = gather(&mut heaps([keys(&"never ".repeat(100_000))])).unwrap();
    let [Event::Paste(text)] = events.as_slice() else { panic!("no paste") };
    assert_eq!(text.len(), 64 * 1024);
}

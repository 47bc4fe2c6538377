//! Text that comes in one piece: it goes into the line at hand, harmless and no longer than a line may be.

use tui_input::{Input, InputRequest};

use crate::diagnostic::needs_escape;
use crate::walk::Workspace;

use super::app::App;

/// The longest line of text that may be entered, in characters: several pages of a note.
pub const LONGEST_LINE: usize = 4000;

impl<G: Workspace> App<G> {
    /// Text pasted at once. It never works as keys: what was copied with it must not answer a check.
    pub fn paste(&mut self, text: &str) {
        self.state.now = self.workspace.now();
        self.state.leaving = false;
        let Some(input) = self.input() else {
            self.object("What was pasted was not taken: nothing here asks for text.");
            self.refresh();
            return;
        };
        let line = input.value();
        let room = LONGEST_LINE.saturating_sub(line.chars().count());
        let at = line.char_indices().nth(input.cursor()).map_or(line.len(), |(at, _)| at);
        let (before, after) = line.split_at(at);
        let (pasted, cut) = clean(text, room);
        let cursor = input.cursor() + pasted.chars().count();
        *input = Input::new(format!("{before}{pasted}{after}")).with_cursor(cursor);
        self.state.message = None;
        self.text_changed();
        if cut {
            self.object(format!("Only a part was taken: a line is at most {LONGEST_LINE} characters."));
        }
        self.refresh();
    }

    /// Whether a line has no room for what a key would add; then it is said.
    pub(super) fn is_full(&mut self, request: InputRequest) -> bool {
        let adds = matches!(request, InputRequest::InsertChar(_));
        let full = adds && self.input().is_some_and(|line| line.value().chars().count() >= LONGEST_LINE);
        if full {
            self.object(format!("The line is full: it is at most {LONGEST_LINE} characters."));
        }
        full
    }

    /// Says what stands in the way.
    pub fn object(&mut self, text: impl Into<String>) {
        self.state.object(text);
    }
}

/// The text as one line of at most `room` characters, and whether some was left out.
fn clean(text: &str, room: usize) -> (String, bool) {
    let mut line = String::new();
    let mut left = room;
    for c in text.trim_end_matches(['\r', '\n']).replace("\r\n", "\n").chars() {
        if left == 0 {
            return (line, true);
        }
        if matches!(c, '\n' | '\r' | '\t') {
            line.push(' ');
        } else if needs_escape(c) {
            continue;
        } else {
            line.push(c);
        }
        left -= 1;
    }
    (line, false)
}

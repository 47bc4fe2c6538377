//! Call-out: one person reads the code of a check aloud, the other keys its digits and then the letter of the answer.
//! Two digits are those of a check's code at the station at hand; four are the place of a station on the lap and those.

use crossterm::event::{KeyCode, KeyEvent};

use crate::walk::{Step, Walk, Workspace};

use super::app::App;
use super::keymap::{Key, Place, UiAction};

/// The code of a step, and the place of its station on the lap counted from one.
pub fn code_of(walk: &Walk, step: usize) -> Option<(usize, String)> {
    let known = walk.plan.steps.get(step)?;
    let station = stations(walk).position(|id| id == known.station)?;
    let code = walk.start.rules.check(&known.check)?.code.clone();
    // One without a code is called by its place at the station.
    let place = walk.plan.at_station(&known.station).position(|one| one.check == known.check)?;
    Some((station + 1, code.unwrap_or_else(|| format!("{:02}", place + 1))))
}

/// Stations that have a check, in the order of the lap.
fn stations(walk: &Walk) -> impl Iterator<Item = &str> {
    let ids = walk.plan.stations.iter().map(String::as_str);
    ids.filter(|id| walk.plan.at_station(id).next().is_some())
}

/// The step that digits name, from where the person stands.
pub fn step_of(walk: &Walk, digits: &str) -> Option<usize> {
    let (station, check) = match digits.len() {
        2 => (walk.current()?.station.as_str(), digits),
        4 => {
            let (place, check) = digits.split_at_checked(2)?;
            (stations(walk).nth(place.parse::<usize>().ok()?.checked_sub(1)?)?, check)
        }
        _ => return None,
    };
    let called = |step: &&Step| {
        let at = walk.plan.position(&step.check);
        at.and_then(|at| code_of(walk, at)).is_some_and(|(_, code)| code.ends_with(check))
    };
    let step = walk.plan.at_station(station).find(called)?;
    walk.plan.position(&step.check)
}

impl<G: Workspace> App<G> {
    pub(super) fn toggle_call_out(&mut self) {
        self.state.call_out = !self.state.call_out;
        self.drop_code();
        let key = self.state.key(UiAction::CallOut);
        self.state.say(if self.state.call_out {
            format!(
                "Call-out: key the two digits of a check's code at this station, or four, the station's place on the lap first, then the letter of the answer. {key} ends it."
            )
        } else {
            "Call-out has ended: a digit begins a value again.".to_owned()
        });
    }

    /// One more digit of the code; a fifth begins anew.
    pub(super) fn code_digit(&mut self, c: char) -> bool {
        let Some(page) = self.page() else { return false };
        if page.code.len() >= 4 {
            page.code.clear();
        }
        page.code.push(c);
        self.say_code();
        true
    }

    /// What the digits so far name.
    fn say_code(&mut self) {
        let code = self.code().to_owned();
        let Some(walk) = &self.state.walk else { return };
        let title = step_of(walk, &code)
            .and_then(|step| walk.plan.steps.get(step))
            .and_then(|step| walk.start.rules.check(&step.check))
            .map(|check| check.title.clone());
        let spaced = [code.get(..2), code.get(2..).filter(|rest| !rest.is_empty())];
        let spaced = if code.len() < 2 {
            code.clone()
        } else {
            spaced.into_iter().flatten().collect::<Vec<_>>().join(" ")
        };
        match (title, code.len()) {
            (Some(title), _) => {
                self.state.say(format!("{spaced}: {title}. Now the letter, or two more digits."))
            }
            (None, 2) => self
                .state
                .say(format!("{spaced}: this station has no such check; two more digits make it a station.")),
            (None, 4) => {
                self.state.object(format!("{spaced}: there is no such check on this lap. Key it again."))
            }
            _ => self.state.say(format!("{spaced}_")),
        }
    }

    fn code(&self) -> &str {
        match &self.state.screen {
            super::state::Screen::Walk(page) => &page.code,
            _ => "",
        }
    }

    pub(super) fn drop_code(&mut self) {
        if let Some(page) = self.page() {
            page.code.clear();
        }
    }

    /// Before a key that is no digit: goes to the check that the digits name. False where there is none, or where the
    /// key only changes the digits; then the key does nothing else.
    pub(super) fn settle_code(&mut self, place: Place, event: KeyEvent) -> bool {
        let digit = matches!(event.code, KeyCode::Char(c) if c.is_ascii_digit());
        if place != Place::Walk || self.code().is_empty() || digit {
            return true;
        }
        if event.code == KeyCode::Backspace {
            if let Some(page) = self.page() {
                page.code.pop();
            }
            self.say_code();
            return false;
        }
        let code = self.code().to_owned();
        self.drop_code();
        let key = Key::of(event).and_then(|key| self.state.keys.action_at(place, key));
        if matches!(key, Some(UiAction::Back)) {
            self.state.say("The code is dropped.");
            return false;
        }
        if matches!(key, Some(UiAction::CallOut)) {
            return true;
        }
        let step = self.state.walk.as_ref().and_then(|walk| step_of(walk, &code));
        let Some(step) = step else {
            self.state
                .object(format!("{code}: there is no such check. Nothing was kept; key the code again."));
            return false;
        };
        self.go_to(step);
        self.refresh();
        // A move would leave the check that was called.
        !matches!(key, Some(UiAction::NextCheck | UiAction::PreviousCheck) | None)
    }
}

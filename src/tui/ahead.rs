//! Numbers are worked out on a thread of their own, so that no key waits for them.

use std::thread::{JoinHandle, spawn};

use crate::walk::{Ahead, CarLine, Workspace};

use super::app::App;
use super::state::Screen;

/// Numbers that are being worked out.
#[derive(Debug)]
pub struct WorkingAhead {
    thread: JoinHandle<()>,
    /// What opens the car they are of, where it is one of the list.
    car: Option<String>,
}

impl WorkingAhead {
    fn begin(ahead: Ahead, car: Option<&str>) -> Self {
        Self { thread: spawn(move || ahead.work()), car: car.map(str::to_owned) }
    }
}

impl<G: Workspace> App<G> {
    /// Whether numbers are being worked out: what they show is to be asked for soon.
    pub fn is_working_ahead(&self) -> bool {
        self.ahead.is_some()
    }

    /// Takes in numbers that were worked out meanwhile, and begins with those that the screen waits for; whether there is
    /// something new to show.
    pub fn work_ahead(&mut self) -> bool {
        if self.ahead.as_ref().is_some_and(|ahead| !ahead.thread.is_finished()) {
            return false;
        }
        let done = self.ahead.take();
        if let Screen::Cars(page) = &self.state.screen {
            let waiting = page.cars.iter().find(|line| line.being_worked).cloned();
            return waiting.is_some_and(|line| self.work_line(&line, done));
        }
        let Some(walk) = self.state.walk.as_mut().filter(|walk| walk.is_being_worked()) else { return false };
        // Where the thread could not, the key loop meets the same fault and says so.
        if done.is_some_and(|done| done.thread.join().is_err()) {
            walk.numbers();
        } else if !walk.take_known() {
            self.ahead = walk.ahead().map(|ahead| WorkingAhead::begin(ahead, None));
            return false;
        }
        self.refresh();
        true
    }

    /// One car of the list: begins with its numbers, or takes in what they show.
    fn work_line(&mut self, line: &CarLine, done: Option<WorkingAhead>) -> bool {
        let is_done = done.is_some_and(|done| done.car.as_ref() == Some(&line.open));
        if let Some(ahead) = (!is_done).then(|| self.workspace.ahead(line)).flatten() {
            self.ahead = Some(WorkingAhead::begin(ahead, Some(&line.open)));
            return false;
        }
        let worked = self.workspace.worked(line);
        let Screen::Cars(page) = &mut self.state.screen else { return false };
        if let Some(place) = page.cars.iter_mut().find(|known| known.open == line.open) {
            *place = worked.unwrap_or_else(|| CarLine { being_worked: false, ..line.clone() });
        }
        true
    }
}

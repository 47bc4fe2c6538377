//! Moving along the lap: to the next check, another station, or one found by a few letters.

use tui_input::Input;

use crate::walk::Workspace;

use super::app::App;
use super::keymap::UiAction;
use super::sheet::results;
use super::state::{From, JumpList, JumpRow, Overlay, Screen, WalkPage};
use super::text::result_mark;

/// The first line shown of a page that scrolls, after a key.
pub(super) fn scrolled(first: &mut usize, action: UiAction) {
    *first = match action {
        UiAction::Down => *first + 1,
        UiAction::Up => first.saturating_sub(1),
        _ => *first,
    };
}

impl<G: Workspace> App<G> {
    pub(super) fn act_walk(&mut self, action: UiAction) {
        match action {
            UiAction::NextCheck => self.step(1),
            UiAction::PreviousCheck => self.step(-1),
            UiAction::NextStation => self.step_station(1),
            UiAction::PreviousStation => self.step_station(-1),
            UiAction::Down | UiAction::Up => {
                if let Screen::Walk(page) = &mut self.state.screen {
                    scrolled(&mut page.scroll, action);
                }
            }
            UiAction::CallOut => self.toggle_call_out(),
            UiAction::Jump => {
                self.state.overlay =
                    Some(Overlay::Jump(JumpList { filter: Input::default(), ..JumpList::default() }));
                self.fill_jump();
            }
            UiAction::Findings => self.open_findings(From::Walk),
            UiAction::Numbers => self.open_numbers(From::Walk),
            UiAction::Report => self.open_report(From::Walk),
            UiAction::Rules => self.open_rules(From::Walk),
            UiAction::Plan => self.open_plan(),
            UiAction::EndWalk => self.open_end(),
            UiAction::Hold => self.open_hold(),
            UiAction::TypeValue => self.begin_typing(false, None),
            UiAction::TypeInputs => self.begin_typing(true, None),
            UiAction::Back => self.list_cars(),
            _ => self.act_answer(action),
        }
    }

    /// Opens another page; that of the walk is put by with everything said on it.
    pub(super) fn show(&mut self, screen: Screen) {
        if let Screen::Walk(page) = std::mem::replace(&mut self.state.screen, screen) {
            self.parked = Some(page);
        }
    }

    /// Goes back to the page of the walk.
    pub(super) fn back_to_walk(&mut self) {
        let page = self.parked.take().unwrap_or_default();
        self.state.screen = Screen::Walk(WalkPage { fresh: None, ..page });
    }

    /// The page of the walk, where it is open.
    pub(super) fn page(&mut self) -> Option<&mut WalkPage> {
        match &mut self.state.screen {
            Screen::Walk(page) => Some(page),
            _ => None,
        }
    }

    /// Goes to a step.
    pub(super) fn go_to(&mut self, at: usize) {
        let Some(walk) = &mut self.state.walk else { return };
        walk.at = at.min(walk.plan.steps.len());
        let check = walk.check().map(|check| check.id.clone()).unwrap_or_default();
        if !matches!(self.state.screen, Screen::Walk(_)) {
            self.back_to_walk();
        }
        if let Some(page) = self.page() {
            page.scroll = 0;
            page.fresh = None;
            page.weight = page.weight.take().filter(|(known, _)| *known == check);
        }
    }

    fn step(&mut self, by: isize) {
        let Some(walk) = &self.state.walk else { return };
        let last = walk.plan.steps.len().saturating_sub(1);
        let to = walk.at.saturating_add_signed(by);
        if to > last || (by < 0 && walk.at == 0) {
            let end = self.state.key(UiAction::EndWalk);
            self.state.say(if by > 0 {
                format!("This is the last check of the lap. {end} goes to its end.")
            } else {
                "This is the first check.".to_owned()
            });
            return;
        }
        self.go_to(to);
    }

    /// The first step of the station before or after, the first unanswered one where there is one.
    fn step_station(&mut self, by: isize) {
        let Some(walk) = &self.state.walk else { return };
        let lap = &self.state.sheet.lap;
        let now = lap.at.unwrap_or(lap.stations.len());
        let to = now.checked_add_signed(by).and_then(|to| lap.stations.get(to));
        let Some(station) = to else {
            self.state.say("There is no station further on that side of the lap.");
            return;
        };
        let answered = walk.answered();
        let steps = || walk.plan.steps.iter().enumerate().filter(|(_, step)| step.station == station.id);
        let first =
            steps().find(|(_, step)| !answered.contains(step.check.as_str())).or_else(|| steps().next());
        if let Some((at, _)) = first {
            self.go_to(at);
        }
    }

    pub(super) fn act_jump(&mut self, action: UiAction) {
        let Some(Overlay::Jump(list)) = &mut self.state.overlay else { return };
        match action {
            UiAction::Down => list.at = (list.at + 1).min(list.rows.len().saturating_sub(1)),
            UiAction::Up => list.at = list.at.saturating_sub(1),
            UiAction::Go => {
                let step = list.rows.get(list.at).map(|row| row.step);
                self.state.overlay = None;
                if let Some(step) = step {
                    self.go_to(step);
                }
            }
            _ => self.state.overlay = None,
        }
    }

    /// Rows that hold every word typed: stations first, then checks, by code, title or id.
    pub(super) fn fill_jump(&mut self) {
        let (Some(Overlay::Jump(list)), Some(walk)) = (&mut self.state.overlay, &self.state.walk) else {
            return;
        };
        let typed = list.filter.value().to_lowercase();
        let fits = |text: &str| typed.split_whitespace().all(|word| text.to_lowercase().contains(word));
        let rules = &walk.start.rules;
        let results = results(walk);
        let mut rows = Vec::new();
        for station in self.state.sheet.lap.stations.iter().filter(|station| fits(&station.title)) {
            let step = walk.plan.steps.iter().position(|step| step.station == station.id).unwrap_or(0);
            let mark = if station.open {
                'x'
            } else if station.done == station.total {
                '+'
            } else {
                '.'
            };
            let title = format!("{} ({} of {})", station.title, station.done, station.total);
            rows.push(JumpRow { step, station: true, title, mark });
        }
        for (step, known) in walk.plan.steps.iter().enumerate() {
            let Some(check) = rules.check(&known.check) else { continue };
            let code = check.code.as_deref().unwrap_or_default();
            if fits(&format!("{code} {} {}", check.title, check.id)) && !typed.is_empty() {
                let mark = results.get(known.check.as_str()).map_or('.', |result| result_mark(*result));
                let title = format!("{code} {}", check.title).trim_start().to_owned();
                rows.push(JumpRow { step, station: false, title, mark });
            }
        }
        list.at = if typed.is_empty() { self.state.sheet.lap.at.unwrap_or(0) } else { 0 };
        list.rows = rows;
    }
}

//! The owner of everything on screen: one key in, one change, nothing that moves by itself.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use tui_input::{Input, InputRequest};

use crate::walk::{Action, Decided, Objection, Wants, Workspace, decide, keep_all};

use super::ahead::WorkingAhead;
use super::arriving::Arrivals;
use super::guard::RepeatGuard;
use super::keymap::{Key, Place, UiAction, at};
use super::options::Options;
use super::sheet::{Sheet, Summary, not_judged, open_items};
use super::state::{CarsPage, Overlay, Purpose, Screen, State, WalkPage};
use super::theme::Theme;

/// More rows than any list has.
const MOST_ROWS: usize = 1_000;

/// The terminal app over a workspace.
#[derive(Debug)]
pub struct App<G: Workspace> {
    pub(super) workspace: G,
    pub(super) options: Options,
    pub(super) state: State,
    /// The profile walked last, offered first next time.
    pub(super) profile: Option<String>,
    /// What opened the car at hand.
    pub(super) opened: String,
    /// What the walk just ended came to.
    pub(super) ended: Option<Summary>,
    /// The walk's own page while another is open, with what was said and not answered yet.
    pub(super) parked: Option<WalkPage>,
    /// Whether a key is meant, or a repeat of the one before.
    pub(super) guard: RepeatGuard,
    /// What was shown, and when the last key arrived.
    pub(super) arrivals: Arrivals,
    /// Profiles of the rules in force: id and title.
    pub(super) profiles: Vec<(String, String)>,
    /// Whether the clock was asked about in this run.
    pub(super) clock: super::opening::ClockAsked,
    /// Numbers that are being worked out beside the keys.
    pub(super) ahead: Option<WorkingAhead>,
    /// Columns and rows of the screen.
    size: (u16, u16),
    done: bool,
}

impl<G: Workspace> App<G> {
    /// Opens the app at the list of cars, or at the car the options name.
    pub fn new(workspace: G, options: Options) -> Self {
        let now = workspace.now();
        let state = State {
            screen: Screen::Cars(CarsPage::default()),
            overlay: None,
            walk: None,
            notes: Vec::new(),
            stale: None,
            sheet: Sheet::default(),
            drafts: Vec::new(),
            message: None,
            now,
            mark: None,
            playing: false,
            leaving: false,
            keys: options.keys.clone(),
            call_out: false,
            plain: options.plain,
            grain: options.grain,
        };
        let guard = RepeatGuard::new(options.repeat_guard);
        let mut app = Self {
            workspace,
            profile: options.profile.clone().or(options.person.map(|person| person.profile().to_owned())),
            options,
            state,
            opened: String::new(),
            ended: None,
            parked: None,
            guard,
            arrivals: Arrivals::default(),
            profiles: Vec::new(),
            clock: super::opening::ClockAsked::default(),
            ahead: None,
            size: (80, 24),
            done: false,
        };
        app.list_cars();
        if app.options.asks_person && (app.options.person.is_none() || app.is_without_cars()) {
            app.ask_person();
        } else {
            app.open_named();
        }
        app.refresh();
        app
    }

    /// Opens the car that the options name.
    pub(super) fn open_named(&mut self) {
        if let Some((car, profile)) = self.options.open.take() {
            match profile {
                Some(profile) => self.start(&car, &profile, self.options.stage.clone()),
                None => self.choose_profile(&car),
            }
        }
    }

    /// What is drawn.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The colours drawn with.
    pub fn theme(&self) -> Theme {
        self.options.theme
    }

    /// The workspace, for the shell to close.
    pub fn workspace(&self) -> &G {
        &self.workspace
    }

    /// Gives the workspace back.
    pub fn into_workspace(self) -> G {
        self.workspace
    }

    /// Whether the person has left.
    pub fn is_done(&self) -> bool {
        self.done
    }

    /// The screen has another size.
    pub fn resize(&mut self, columns: u16, rows: u16) {
        self.size = (columns, rows);
    }

    /// Whether something on screen moves by itself: a clock, or the mark of an event.
    pub fn is_ticking(&self) -> bool {
        if self.state.mark.is_some() {
            return true;
        }
        match &self.state.screen {
            Screen::Hold(page) => matches!(page.step, super::state::HoldStep::Running(_)),
            _ => false,
        }
    }

    /// A second has passed while a clock runs.
    pub fn tick(&mut self) {
        self.state.now = self.workspace.now();
        self.state.mark = self.workspace.mark();
    }

    /// One key, where it is taken at all.
    pub(super) fn press_key(&mut self, event: KeyEvent, at: std::time::Duration) {
        self.state.now = self.workspace.now();
        if event.modifiers.contains(KeyModifiers::CONTROL) && event.code == KeyCode::Char('c') {
            self.done = true;
            return;
        }
        let place = self.state.place();
        if !self.takes(place, event, at) {
            return self.refresh();
        }
        let leaving = std::mem::take(&mut self.state.leaving);
        if !self.settle_code(place, event) {
            return self.refresh();
        }
        let key = Key::of(event);
        match key.and_then(|key| self.state.keys.action_at(place, key)) {
            Some(UiAction::Quit) if leaving => self.done = true,
            Some(UiAction::Back) if leaving && place == Place::Cars => self.done = true,
            Some(action) if self.state.offers(action) => {
                self.state.message = None;
                self.act(place, action);
            }
            _ if place.takes_text() => self.text_key(event),
            _ => self.other_key(place, event),
        }
        self.refresh();
    }

    /// What every place understands; the rest goes to the screen's own.
    fn act(&mut self, place: Place, action: UiAction) {
        match action {
            UiAction::Quit => {
                self.state.leaving = true;
                let quit = self.state.key(UiAction::Quit);
                let drafts = match self.state.drafted().len() {
                    0 => String::new(),
                    count => format!(" Drafts stay with {}.", super::text::many(count, "check")),
                };
                self.state.say(format!(
                    "Everything shown as kept is kept.{drafts} Press {quit} once more to leave, or any other key to stay."
                ));
            }
            UiAction::Colours => self.next_colours(),
            UiAction::Help => self.state.overlay = Some(Overlay::Help(place, 0)),
            UiAction::PageDown | UiAction::PageUp | UiAction::Top | UiAction::Bottom => {
                self.act_paged(place, action);
            }
            _ => match place {
                Place::Person => self.act_person(action),
                Place::Clock => self.act_clock(action),
                Place::SameCar => self.act_same_car(action),
                Place::Cars => self.act_cars(action),
                Place::NewCar => self.act_new_car(action),
                Place::Profile => self.act_profile(action),
                Place::Start => self.act_start(action),
                Place::Walk => self.act_walk(action),
                Place::Typing | Place::Decide => self.act_typing(action),
                Place::Words => self.act_words(action),
                Place::Ask => self.act_ask(action),
                Place::Jump => self.act_jump(action),
                Place::Findings => self.act_findings(action),
                Place::Numbers => self.act_numbers(action),
                Place::Report => self.act_report(action),
                Place::MeasureNext => self.act_measure_next(action),
                Place::Rules => self.act_rules(action),
                Place::Plan => self.act_plan(action),
                Place::Discharge => self.act_discharge(action),
                Place::WhatIf => self.act_what_if(action),
                Place::Keys => self.act_keys(action),
                Place::Hold => self.act_hold(action),
                Place::End | Place::Ended => self.act_end(action),
                Place::Help => self.act_help(action),
            },
        }
    }

    /// Many steps at once, the same way as each of them.
    fn act_paged(&mut self, place: Place, action: UiAction) {
        let page = usize::from(self.size.1 / 2).max(5);
        let scroll = super::draw::scroll_of(&mut self.state);
        let (step, times) = match (action, scroll) {
            // It is held inside what there is to scroll once that is known.
            (UiAction::Bottom, Some(scroll)) => return *scroll = usize::MAX / 2,
            (UiAction::Top, Some(scroll)) => return *scroll = 0,
            (UiAction::Bottom, None) => (UiAction::Down, MOST_ROWS),
            (UiAction::Top, None) => (UiAction::Up, MOST_ROWS),
            (UiAction::PageDown, _) => (UiAction::Down, page),
            _ => (UiAction::Up, page),
        };
        for _ in 0..times {
            self.act(place, step);
        }
    }

    fn act_help(&mut self, action: UiAction) {
        if let Some(Overlay::Help(_, scroll) | Overlay::Text(_, scroll)) = &mut self.state.overlay {
            match action {
                UiAction::Down => *scroll += 1,
                UiAction::Up => *scroll = scroll.saturating_sub(1),
                _ => self.state.overlay = None,
            }
        }
    }

    /// A character, or a key that moves in a line of text.
    fn text_key(&mut self, event: KeyEvent) {
        let request = match event.code {
            KeyCode::Char(c) if !event.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) => {
                InputRequest::InsertChar(c)
            }
            KeyCode::Backspace => InputRequest::DeletePrevChar,
            KeyCode::Delete => InputRequest::DeleteNextChar,
            KeyCode::Left => InputRequest::GoToPrevChar,
            KeyCode::Right => InputRequest::GoToNextChar,
            KeyCode::Home => InputRequest::GoToStart,
            KeyCode::End => InputRequest::GoToEnd,
            _ => return,
        };
        if self.is_full(request) {
            return;
        }
        self.state.message = None;
        if let Some(input) = self.input() {
            input.handle(request);
        }
        self.text_changed();
    }

    /// The line of text at hand.
    pub(super) fn input(&mut self) -> Option<&mut Input> {
        match (&mut self.state.overlay, &mut self.state.screen) {
            (Some(Overlay::Typing(typing)), _) => {
                let at = typing.at;
                typing.slots.get_mut(at).map(|slot| &mut slot.input)
            }
            (Some(Overlay::Words(words)), _) => Some(&mut words.input),
            (Some(Overlay::Jump(list)), _) => Some(&mut list.filter),
            (Some(Overlay::Keys(list)), _) => Some(&mut list.filter),
            (None, Screen::Cars(page)) => Some(&mut page.filter),
            _ => None,
        }
    }

    pub(super) fn text_changed(&mut self) {
        match (&mut self.state.overlay, &mut self.state.screen) {
            (Some(Overlay::Typing(typing)), _) => {
                typing.trouble = None;
                self.judge_typing();
            }
            (Some(Overlay::Words(words)), _) => words.trouble = None,
            (Some(Overlay::Jump(_)), _) => self.fill_jump(),
            (Some(Overlay::Keys(_)), _) => self.fill_keys(),
            (None, Screen::Cars(page)) => (page.at, page.next) = (None, 0),
            _ => {}
        }
    }

    /// A key that is bound to nothing here: digits may begin something, anything else is told what would work.
    fn other_key(&mut self, place: Place, event: KeyEvent) {
        if let KeyCode::Char(c) = event.code
            && c.is_ascii_digit()
            && self.digit(place, c)
        {
            return;
        }
        let keys: Vec<String> = self
            .state
            .offered()
            .iter()
            .take(6)
            .map(|binding| format!("{} {}", self.state.keys.shown(binding), binding.label))
            .collect();
        let keys = keys.join(", ");
        let all = if at(self.state.place()).any(|binding| binding.action == UiAction::Help) {
            format!(" All keys: {}", self.state.key(UiAction::Help))
        } else {
            String::new()
        };
        self.state.object(format!("That key does nothing here. Keys: {keys}.{all}"));
    }

    fn digit(&mut self, place: Place, c: char) -> bool {
        match place {
            Place::Profile => self.profile_by_digit(c),
            Place::Person => self.person_by_digit(c),
            Place::End => self.number_begins(c),
            Place::Walk if self.state.call_out => self.code_digit(c),
            Place::Walk if self.state.sheet.typed || !self.state.sheet.asks.is_empty() => {
                let inputs = !self.state.sheet.typed;
                self.begin_typing(inputs, Some(c));
                true
            }
            _ => false,
        }
    }

    /// Works out again what the screen shows.
    pub(super) fn refresh(&mut self) {
        self.state.mark = self.workspace.mark();
        let state = &mut self.state;
        let sheet = if matches!(state.screen, Screen::Start(_)) { Sheet::before } else { Sheet::of };
        state.sheet = state.walk.as_ref().map(sheet).unwrap_or_default();
        if let (Screen::Walk(_), Some(walk), true) = (&state.screen, &state.walk, self.size.0 >= 110) {
            state.sheet.plan = super::picture::beside(walk);
        }
        if let (Screen::Findings(page), Some(walk)) = (&mut state.screen, &state.walk) {
            page.fill(open_items(walk));
            page.noted = not_judged(walk);
        }
        super::draw::clamp(state, self.options.theme, self.size);
    }

    /// Decides an action and keeps what it comes to; gives the records kept.
    pub(super) fn carry_out(&mut self, action: &Action) -> Option<Vec<String>> {
        let walk = self.state.walk.as_ref()?;
        match decide(walk, action, &mut || self.workspace.new_id()) {
            Ok(entries) => self.keep(entries),
            Err(objection) => {
                self.object_to(action.clone(), objection);
                None
            }
        }
    }

    /// Says what stands in the way, or asks for the note that would take it away.
    fn object_to(&mut self, action: Action, objection: Objection) {
        if objection.wants == Wants::Note && !matches!(action, Action::Remark { .. }) {
            self.put_typing_by();
            return self.ask_words(format!("{}:", objection.message), "", Purpose::NoteFor(action));
        }
        match &mut self.state.overlay {
            Some(Overlay::Typing(typing)) => typing.trouble = Some(objection.message),
            Some(Overlay::Words(words)) => words.trouble = Some(objection.message),
            _ => self.state.object(objection.message),
        }
    }

    /// Finishes keeping once the answer has been seen on the screen; whether there is something new to show.
    pub fn settle_kept(&mut self) -> bool {
        if let Err(message) = self.workspace.settle() {
            self.state.object(format!("Kept so far, but NOTHING MORE is kept: {message}"));
            return true;
        }
        let mark = self.workspace.mark();
        let moved = mark != self.state.mark;
        self.state.mark = mark;
        moved
    }

    /// Keeps entries; what could not be kept is said and not shown as kept.
    pub(super) fn keep(&mut self, mut entries: Vec<Decided>) -> Option<Vec<String>> {
        if let Some(seen) = self.right_time() {
            entries.iter_mut().for_each(|decided| decided.entry.seen(seen));
        }
        let walk = self.state.walk.as_mut()?;
        let before = walk.history.all().len();
        let outcome = keep_all(walk, &mut self.workspace, entries);
        let kept: Vec<String> = walk.history.all().iter().skip(before).map(|kept| kept.id.clone()).collect();
        match outcome {
            Ok(()) => Some(kept),
            Err(message) => {
                self.state.object(format!("NOT KEPT: {message}"));
                None
            }
        }
    }
}

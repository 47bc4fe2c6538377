//! Cars, a new car, the way round it, and the start.

use tui_input::Input;

use crate::model::Tag;
use crate::walk::{CarLine, Workspace};

use super::app::App;
use super::car_group::CarGroup;
use super::keymap::UiAction;
use super::moving::scrolled;
use super::state::{
    ASKED_TAGS, CarsPage, From, NewCarPage, Overlay, ProfilePage, Purpose, Screen, StartPage, WalkPage, Words,
};
use super::text::row_of_digit;

impl<G: Workspace> App<G> {
    /// Goes to the list of cars, read anew.
    pub(super) fn list_cars(&mut self) {
        self.state.walk = None;
        self.state.overlay = None;
        self.state.notes.clear();
        self.state.drafts.clear();
        let cars = match self.workspace.cars() {
            Ok(cars) => cars,
            Err(message) => {
                self.state.refuse(message);
                Vec::new()
            }
        };
        // After the cars: the rules may still be on their way.
        let offered = self.workspace.offered();
        (self.profiles, self.state.stale) = (offered.profiles, offered.stale);
        self.state.playing = self.workspace.is_playing();
        let sample = cars.is_empty() && self.workspace.has_sample() && !self.state.playing;
        let next = self.next_in_queue(&cars);
        // The sample is the one thing that Enter opens without a choice: there is no car to be taken for another.
        let at = sample.then_some(0);
        let by = self.workspace.by();
        self.state.screen = Screen::Cars(CarsPage { cars, at, next, sample, by, ..CarsPage::default() });
    }

    /// The first car after the one just walked that nobody walked today; a queue is two keys apart.
    fn next_in_queue(&self, cars: &[CarLine]) -> usize {
        let Some(now) = cars.iter().position(|car| car.open == self.opened) else { return 0 };
        let today = self.state.now.date_naive();
        let waits =
            |car: &CarLine| car.last.is_none_or(|last| last.date_naive() != today) || car.walking.is_some();
        let order = (now + 1..cars.len()).chain(0..now);
        order.into_iter().find(|at| cars.get(*at).is_some_and(waits)).unwrap_or(now)
    }

    pub(super) fn open_sample(&mut self) {
        match self.workspace.play() {
            Ok(car) => {
                self.list_cars();
                self.state.say(format!(
                    "Play: an invented car, kept in {} and nowhere else. Esc in the list of cars ends it.",
                    self.workspace.kept_in()
                ));
                self.choose_profile(&car);
            }
            Err(message) => self.state.refuse(message),
        }
    }

    pub(super) fn act_cars(&mut self, action: UiAction) {
        let Screen::Cars(page) = &mut self.state.screen else { return };
        let last = (page.fitting().len() + usize::from(page.offers_sample())).checked_sub(1);
        match action {
            UiAction::Down => page.at = last.map(|last| page.at.map_or(page.next, |at| at + 1).min(last)),
            UiAction::Up => {
                page.at = last.map(|last| page.at.unwrap_or(page.next).saturating_sub(1).min(last))
            }
            UiAction::NextState => {
                page.only = CarGroup::after(page.only);
                (page.at, page.next) = (None, 0);
            }
            UiAction::NewCar => self.ask_new_number(),
            UiAction::Go => self.open_row(),
            UiAction::Back if page.typed().is_empty() && page.only.is_some() => page.only = None,
            UiAction::Back if page.typed().is_empty() && self.state.playing => {
                let folder = self.workspace.kept_in();
                self.workspace.stop_playing();
                self.list_cars();
                self.state.say(format!("Play is over. Its folder {folder} may be deleted."));
            }
            UiAction::Back if page.typed().is_empty() => {
                self.state.leaving = true;
                self.state.say("Everything shown as kept is kept. Press Esc once more to leave, or any other key to stay.");
            }
            UiAction::Back => (page.filter, page.at, page.next) = (Input::default(), None, 0),
            _ => {}
        }
    }

    /// Opens the row chosen with Down, else the car of exactly the number typed, and nothing else.
    fn open_row(&mut self) {
        let Screen::Cars(page) = &self.state.screen else { return };
        let chosen = page.at.and_then(|at| page.fitting().get(at).map(|car| car.open.clone()));
        if let Some(car) = chosen {
            return self.choose_profile(&car);
        }
        let typed = page.typed().to_owned();
        let exact: Vec<String> = page.exact().into_iter().map(|car| car.open.clone()).collect();
        let (new, rows) = (self.state.key(UiAction::NewCar), page.fitting().len());
        match exact.as_slice() {
            [car] => self.choose_profile(&car.clone()),
            [_, _, ..] => {
                self.state
                    .object(format!("{} cars have the number {typed}: choose one with Down.", exact.len()));
            }
            [] if page.offers_sample() => self.open_sample(),
            [] if typed.is_empty() => {
                self.state.say(format!(
                    "Type the number of a car, or choose a row with Down. {new} makes a new car."
                ));
            }
            [] if rows > 0 => self.state.object(format!(
                "There is no car {typed}: choose one of those shown with Down, or {new} makes a new car."
            )),
            [] => self.state.object(format!("There is no car {typed}. {new} makes it.")),
        }
    }

    /// Asks for the number of a new car; what was typed to find it stands there already.
    fn ask_new_number(&mut self) {
        let Screen::Cars(page) = &self.state.screen else { return };
        let typed = page.typed().to_owned();
        self.ask_words("Number of the new car:", &typed, Purpose::NewNumber);
    }

    /// A new car of this number, where none has it.
    pub(super) fn new_number(&mut self, number: &str) {
        let Screen::Cars(page) = &self.state.screen else { return };
        let same = |line: &&CarLine| line.number.trim().to_lowercase() == number.to_lowercase();
        if let Some(known) = page.cars.iter().find(same) {
            let message = format!("there is a car {} already: Esc, then type its number", known.number);
            return self.refuse_words(message);
        }
        let tags = ASKED_TAGS.iter().map(|tag| (*tag, None)).collect();
        self.uncover();
        if self.came_in_meanwhile(number) {
            return;
        }
        self.state.screen = Screen::NewCar(NewCarPage { number: number.to_owned(), tags, at: 0 });
    }

    /// Opens the car of a number that another lane began since the list was read: a second one would look clean.
    fn came_in_meanwhile(&mut self, number: &str) -> bool {
        match self.workspace.known(number) {
            Ok(None) => return false,
            Ok(Some(car)) => {
                self.list_cars();
                self.choose_profile(&car);
                self.state
                    .say(format!("Car {number} was begun in another lane meanwhile. This is its record."));
            }
            Err(message) => self.state.refuse(message),
        }
        true
    }

    pub(super) fn act_new_car(&mut self, action: UiAction) {
        let Screen::NewCar(page) = &mut self.state.screen else { return };
        let last = page.tags.len().saturating_sub(1);
        let mut say = |answer| {
            if let Some((_, known)) = page.tags.get_mut(page.at) {
                *known = answer;
            }
            page.at = (page.at + 1).min(last);
        };
        match action {
            UiAction::Yes => say(Some(true)),
            UiAction::No => say(Some(false)),
            UiAction::Unknown => say(None),
            UiAction::Down => page.at = (page.at + 1).min(last),
            UiAction::Up => page.at = page.at.saturating_sub(1),
            UiAction::Go => self.make_car(),
            UiAction::Back => self.list_cars(),
            _ => {}
        }
    }

    fn make_car(&mut self) {
        let Screen::NewCar(page) = &self.state.screen else { return };
        let number = page.number.clone();
        if self.came_in_meanwhile(&number) {
            return;
        }
        let Screen::NewCar(page) = &self.state.screen else { return };
        let tags = |wanted: bool| -> Vec<Tag> {
            page.tags.iter().filter(|(_, known)| *known == Some(wanted)).map(|(tag, _)| *tag).collect()
        };
        match self.workspace.create(&number, &tags(true), &tags(false)) {
            Ok(car) => self.choose_profile_of(&car, &number, None),
            Err(message) => self.state.refuse(message),
        }
    }

    /// Opens a car of the list: straight to the start where one profile applies.
    pub(super) fn choose_profile(&mut self, car: &str) {
        if let Err(message) = self.workspace.readable(car) {
            self.state.refuse(message);
            return;
        }
        let line = match &self.state.screen {
            Screen::Cars(page) => page.cars.iter().find(|line| line.open == car).cloned(),
            _ => None,
        };
        let number = line.as_ref().map_or_else(String::new, |line| line.number.clone());
        self.choose_profile_of(car, &number, line.and_then(|line| line.walking));
    }

    fn choose_profile_of(&mut self, car: &str, number: &str, walking: Option<String>) {
        let profiles = self.profiles.clone();
        if let [(only, _)] = profiles.as_slice() {
            let only = only.clone();
            self.start(car, &only, None);
            return;
        }
        // Who has said once who they are, or which way they go round, is not asked again: the start has a key for it.
        let named = self.options.profile.clone();
        let wanted = named.clone().or(walking).or_else(|| self.profile.clone());
        let known = wanted.as_ref().filter(|wanted| profiles.iter().any(|(id, _)| id == *wanted));
        if let (Some(known), true) = (known, named.is_some() || self.options.person.is_some()) {
            let known = known.clone();
            self.start(car, &known, None);
            return;
        }
        let at = profiles.iter().position(|(id, _)| Some(id) == wanted.as_ref()).unwrap_or(0);
        self.state.screen =
            Screen::Profile(ProfilePage { car: car.to_owned(), number: number.to_owned(), profiles, at });
        if let Some(elsewhere) = self.workspace.elsewhere(car) {
            self.state.object(format!("This car is {elsewhere}."));
        }
    }

    fn other_profile(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        let (number, now) = (walk.start.car.number.clone(), walk.start.profile.clone());
        let profiles = self.profiles.clone();
        let at = profiles.iter().position(|(id, _)| *id == now).unwrap_or(0);
        let car = self.opened.clone();
        self.state.walk = None;
        self.state.screen = Screen::Profile(ProfilePage { car, number, profiles, at });
    }

    pub(super) fn act_profile(&mut self, action: UiAction) {
        let Screen::Profile(page) = &mut self.state.screen else { return };
        match action {
            UiAction::Down => page.at = (page.at + 1).min(page.profiles.len().saturating_sub(1)),
            UiAction::Up => page.at = page.at.saturating_sub(1),
            UiAction::Go => self.take_profile(),
            UiAction::Back => self.list_cars(),
            _ => {}
        }
    }

    /// The profile with this digit before it.
    pub(super) fn profile_by_digit(&mut self, c: char) -> bool {
        let Screen::Profile(page) = &mut self.state.screen else { return false };
        match row_of_digit(c, page.profiles.len()) {
            Some(at) => {
                page.at = at;
                self.take_profile();
                true
            }
            None => false,
        }
    }

    fn take_profile(&mut self) {
        let Screen::Profile(page) = &self.state.screen else { return };
        let Some((profile, _)) = page.profiles.get(page.at) else { return };
        let (car, profile) = (page.car.clone(), profile.clone());
        // Who chose another one after naming one on the command line goes on with the choice.
        if let Some(named) = &mut self.options.profile {
            named.clone_from(&profile);
        }
        self.start(&car, &profile, None);
    }

    /// Opens a car for a profile and shows what is known before the first check.
    pub(super) fn start(&mut self, car: &str, profile: &str, stage: Option<String>) {
        if self.asks_same_car(car, profile, stage.as_deref()) {
            return;
        }
        match self.workspace.open(car, profile, stage.as_deref()) {
            Ok((walk, notes)) => {
                self.profile = Some(profile.to_owned());
                self.opened = car.to_owned();
                self.ended = None;
                self.parked = None;
                self.state.walk = Some(walk);
                self.state.notes = notes;
                self.read_drafts();
                self.state.screen = Screen::Start(StartPage::default());
                self.look_at_clock();
                self.ask_about_cut_off();
            }
            Err(message) => self.state.refuse(message),
        }
    }

    pub(super) fn act_start(&mut self, action: UiAction) {
        let Screen::Start(page) = &mut self.state.screen else { return };
        match action {
            UiAction::Go => self.state.screen = Screen::Walk(WalkPage::default()),
            UiAction::StartLater => self.turn_lap(1),
            UiAction::StartEarlier => self.turn_lap(-1),
            UiAction::Recheck => self.recheck(),
            UiAction::OtherProfile => self.other_profile(),
            UiAction::CallOut => self.toggle_call_out(),
            UiAction::NextLap => self.next_lap(),
            UiAction::NextStage => self.next_stage(),
            UiAction::SayWho => {
                let by = self.workspace.by().unwrap_or_default();
                self.state.overlay = Some(Overlay::Words(Box::new(Words {
                    prompt: "Who walks? Initials or a name:".to_owned(),
                    input: Input::new(by),
                    offers: Vec::new(),
                    purpose: Purpose::Who,
                    trouble: None,
                })));
            }
            UiAction::Findings => self.open_findings(From::Start),
            UiAction::Numbers => self.open_numbers(From::Start),
            UiAction::Plan => self.open_plan(),
            UiAction::Report => self.open_report(From::Start),
            UiAction::Rules => self.open_rules(From::Start),
            UiAction::Back => self.list_cars(),
            action => scrolled(&mut page.scroll, action),
        }
    }

    /// Only what stops the car and is open, in the way round of the walk it was found in; or the whole walk again.
    fn recheck(&mut self) {
        let Some(walk) = &mut self.state.walk else { return };
        if walk.recheck {
            walk.only_open_stops(false);
            self.state.say("The whole walk.");
            return;
        }
        let Some((profile, stage)) = walk.rechecked() else { return };
        if profile != walk.start.profile || stage != walk.start.stage {
            let (car, usual) = (self.opened.clone(), self.profile.clone());
            self.start(&car, &profile, stage);
            // The next car is walked as before.
            self.profile = usual;
        }
        let Some(walk) = &mut self.state.walk else { return };
        if walk.start.profile != profile {
            return;
        }
        if walk.id.is_some() {
            let message = format!("The walk {profile} of this car has not ended: go on with it here.");
            return self.state.object(message);
        }
        walk.only_open_stops(true);
        let title = walk.profile().map_or(profile, |profile| profile.title.clone());
        self.state.say(format!(
            "Only the open STOP items, after what is asked first, as in the walk before ({title}). What is not asked keeps its answer."
        ));
    }

    fn turn_lap(&mut self, by: isize) {
        let Some(walk) = &mut self.state.walk else { return };
        let order: Vec<String> = walk.lap().map(|lap| lap.stations.clone()).unwrap_or_default();
        let now = walk
            .start
            .station
            .as_deref()
            .and_then(|id| order.iter().position(|known| known == id))
            .unwrap_or(0);
        let len = isize::try_from(order.len()).unwrap_or(0);
        if len == 0 {
            return;
        }
        let next = (isize::try_from(now).unwrap_or(0) + by).rem_euclid(len);
        if let Some(station) = usize::try_from(next).ok().and_then(|next| order.get(next)) {
            walk.begin_at(station);
        }
    }

    fn next_lap(&mut self) {
        let Some(walk) = &mut self.state.walk else { return };
        let laps: Vec<String> = walk.start.rules.laps.iter().map(|lap| lap.id.clone()).collect();
        let now = walk.lap().and_then(|lap| laps.iter().position(|id| *id == lap.id)).unwrap_or(0);
        if let Some(next) = laps.get(now + 1).or(laps.first()) {
            walk.choose_lap(next);
        }
    }

    /// The next stage, or none: the car is opened again for it.
    fn next_stage(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        let stages = walk.profile().map(|profile| profile.stages.clone()).unwrap_or_default();
        let next = match &walk.start.stage {
            None => stages.first(),
            Some(now) => stages.iter().position(|stage| stage == now).and_then(|at| stages.get(at + 1)),
        };
        let (car, profile, next) = (self.opened.clone(), walk.start.profile.clone(), next.cloned());
        self.start(&car, &profile, next);
    }
}

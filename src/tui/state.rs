//! Everything a frame is drawn from: one owner, one enum for the open screen, one for what lies over it.

use tui_input::Input;

use crate::model::Tag;
use crate::model::entry::{Moment, Severity};
use crate::walk::{CarLine, Draft, SameCarQuestion, Walk};

pub use super::overlay::{About, JumpList, JumpRow, Overlay, Purpose, Slot, Typing, Words};

use super::car_group::CarGroup;
use super::keymap::{Binding, Place, UiAction, at};
use super::layout::Keymap;
use super::options::Person;
use super::picture::{DischargePage, Grain, PlanPage};
use super::sheet::{NumberLine, OpenItem, Sheet, Summary};
use super::trying::WhatIfPage;

/// What is drawn.
#[derive(Debug)]
pub struct State {
    /// The open screen.
    pub screen: Screen,
    /// What lies over it.
    pub overlay: Option<Overlay>,
    /// The open car.
    pub walk: Option<Walk>,
    /// What the workspace said when it opened the car.
    pub notes: Vec<String>,
    /// Which rules are past their review date, where no car is open.
    pub stale: Option<String>,
    /// What the check at hand needs, worked out once a key.
    pub sheet: Sheet,
    /// Texts put by about the open car.
    pub drafts: Vec<Draft>,
    /// The line above the keys.
    pub message: Option<Message>,
    /// The time of the last key or second.
    pub now: Moment,
    /// How the event joined stands, where one is.
    pub mark: Option<String>,
    /// Whether what is kept now is only play.
    pub playing: bool,
    /// Whether the next quit leaves.
    pub leaving: bool,
    /// Which key does what.
    pub keys: Keymap,
    /// Whether digits are codes of checks.
    pub call_out: bool,
    /// Whether only plain ASCII signs are shown.
    pub plain: bool,
    /// What pictures and large letters are made of.
    pub grain: Grain,
}

/// The line above the keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// Its words.
    pub text: String,
    /// Whether something stands in the way.
    pub trouble: bool,
}

/// The open screen.
#[derive(Debug)]
pub enum Screen {
    /// Who this is.
    Person(PersonPage),
    /// Whether the clock is right, and why that is asked.
    Clock(String),
    /// Whether two things are one car.
    SameCar(Box<SameCarPage>),
    /// The list of cars.
    Cars(CarsPage),
    /// A car nobody knows yet.
    NewCar(NewCarPage),
    /// The way round the car.
    Profile(ProfilePage),
    /// What is known before the first check.
    Start(StartPage),
    /// A check.
    Walk(WalkPage),
    /// Open items.
    Findings(FindingsPage),
    /// Numbers.
    Numbers(NumbersPage),
    /// What to measure next.
    MeasureNext(ReportPage),
    /// The report.
    Report(ReportPage),
    /// The rules in force.
    Rules(RulesPage),
    /// The plan of the car.
    Plan(Box<PlanPage>),
    /// The discharge over time.
    Discharge(Box<DischargePage>),
    /// Values tried.
    WhatIf(Box<WhatIfPage>),
    /// A pressure hold.
    Hold(HoldPage),
    /// The end of the walk.
    End(EndPage),
}

/// Who this is.
#[derive(Debug, Default)]
pub struct PersonPage {
    /// Row chosen.
    pub at: usize,
    /// Whether the last row offers the sample car, because no other one is known.
    pub sample: bool,
    /// The folder that everything is kept in.
    pub kept_in: String,
}

impl PersonPage {
    /// Rows of the page.
    pub fn rows(&self) -> usize {
        Person::WORDS.len() + usize::from(self.sample)
    }
}

/// Whether two things are one car, and what is opened once that is said.
#[derive(Debug)]
pub struct SameCarPage {
    /// Both of them.
    pub question: SameCarQuestion,
    /// What opens the car.
    pub car: String,
    /// The profile to walk.
    pub profile: String,
    /// The stage, where one was named.
    pub stage: Option<String>,
    /// First line shown.
    pub scroll: usize,
}

/// The list of cars.
#[derive(Debug, Default)]
pub struct CarsPage {
    /// Every car.
    pub cars: Vec<CarLine>,
    /// Number typed so far.
    pub filter: Input,
    /// Row chosen with Down, among those that fit.
    pub at: Option<usize>,
    /// The row that the first Down chooses.
    pub next: usize,
    /// Whether the sample car is offered, because no other one is known.
    pub sample: bool,
    /// Who walks, where that was said.
    pub by: Option<String>,
    /// Whether only cars that stand one way are listed.
    pub only: Option<CarGroup>,
}

impl CarsPage {
    /// Cars whose number begins with what is typed, has it anywhere, or whose name has it; the exact number first, numbers
    /// by their value.
    pub fn fitting(&self) -> Vec<&CarLine> {
        let typed = self.typed().to_lowercase();
        let fits = |car: &CarLine| {
            let number = car.number.to_lowercase();
            let named = car.name.as_ref().is_some_and(|name| name.to_lowercase().contains(&typed));
            let how = [self.is_exact(car), number.starts_with(&typed), number.contains(&typed), named];
            how.iter().position(|fits| *fits)
        };
        let shown = |car: &&CarLine| self.only.is_none_or(|only| CarGroup::of(car) == only);
        let mut fitting: Vec<(usize, &CarLine)> =
            self.cars.iter().filter(shown).filter_map(|car| Some((fits(car)?, car))).collect();
        fitting.retain(|(_, car)| !car.put_away || self.is_exact(car));
        fitting.sort_by_key(|(how, car)| {
            let number = car.number.trim();
            // Those with letters after the others.
            (*how, number.parse().unwrap_or(u64::MAX), number.to_lowercase())
        });
        fitting.into_iter().map(|(_, car)| car).collect()
    }

    /// How many cars stand how; they add up to all that are not put away.
    pub fn counts(&self) -> [(CarGroup, usize); 5] {
        let listed = || self.cars.iter().filter(|car| !car.put_away);
        CarGroup::ALL.map(|one| (one, listed().filter(|car| CarGroup::of(car) == one).count()))
    }

    /// Cars of exactly the number typed.
    pub fn exact(&self) -> Vec<&CarLine> {
        self.cars.iter().filter(|car| self.is_exact(car)).collect()
    }

    fn is_exact(&self, car: &CarLine) -> bool {
        let typed = self.typed();
        !typed.is_empty() && car.number.trim().to_lowercase() == typed.to_lowercase()
    }

    /// The number typed.
    pub fn typed(&self) -> &str {
        self.filter.value().trim()
    }

    /// Whether the last row offers the sample car.
    pub fn offers_sample(&self) -> bool {
        self.sample && self.typed().is_empty()
    }
}

/// A car nobody knows yet.
#[derive(Debug)]
pub struct NewCarPage {
    /// Its number.
    pub number: String,
    /// What it has, has not, or nobody said.
    pub tags: Vec<(Tag, Option<bool>)>,
    /// Row chosen.
    pub at: usize,
}

/// The tags a new car is asked about: those that open or close the most checks.
pub const ASKED_TAGS: [Tag; 11] = [
    Tag::Suppression,
    Tag::PullRelease,
    Tag::ElectricRelease,
    Tag::SecondBottle,
    Tag::CockpitNozzle,
    Tag::HandHeld,
    Tag::LineLock,
    Tag::ProportioningValve,
    Tag::LiveAxle,
    Tag::Parachute,
    Tag::BodyLiftsOff,
];

/// The way round the car.
#[derive(Debug)]
pub struct ProfilePage {
    /// What opens the car.
    pub car: String,
    /// Its number.
    pub number: String,
    /// Id and title of each.
    pub profiles: Vec<(String, String)>,
    /// Row chosen.
    pub at: usize,
}

/// What is known before the first check.
#[derive(Debug, Default)]
pub struct StartPage {
    /// First line shown.
    pub scroll: usize,
}

/// A check.
#[derive(Debug, Default)]
pub struct WalkPage {
    /// First line of detail shown.
    pub scroll: usize,
    /// What was kept by the last key, for a note, a photo or a weight.
    pub fresh: Option<Fresh>,
    /// What a reject of a check will weigh, where it is not the check's severity.
    pub weight: Option<(String, Severity)>,
    /// Records of the last answer, to take it back whole.
    pub batch: Vec<String>,
    /// Digits of a code called out.
    pub code: String,
}

/// An answer just kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fresh {
    /// Its record.
    pub record: String,
    /// Its severity.
    pub severity: Severity,
}

/// Open items.
#[derive(Debug, Default)]
pub struct FindingsPage {
    /// Worst first.
    pub items: Vec<OpenItem>,
    /// Notes and photos beside checks that nobody answered.
    pub noted: Vec<String>,
    /// Row chosen; none where the item chosen has left the list.
    pub at: Option<usize>,
    /// The row that the next Down chooses then.
    pub next: usize,
    /// Where it was opened from.
    pub from: From,
}

/// Where a page was opened from, to go back there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum From {
    /// The start.
    Start,
    /// A check.
    #[default]
    Walk,
    /// The end of the walk.
    End,
}

/// Numbers.
#[derive(Debug, Default)]
pub struct NumbersPage {
    /// One line each.
    pub lines: Vec<NumberLine>,
    /// Row chosen.
    pub at: usize,
    /// Whether the chosen one is laid open.
    pub open: bool,
    /// First line of detail shown.
    pub scroll: usize,
    /// Where it was opened from.
    pub from: From,
}

/// The report.
#[derive(Debug, Default)]
pub struct ReportPage {
    /// Its text.
    pub text: String,
    /// First line shown.
    pub scroll: usize,
    /// Where it was opened from.
    pub from: From,
}

/// The rules in force.
#[derive(Debug, Default)]
pub struct RulesPage {
    /// First line shown.
    pub scroll: usize,
    /// Where it was opened from.
    pub from: From,
}

/// A pressure hold.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldPage {
    /// The check.
    pub check: String,
    /// `hold` or `hold_low`.
    pub word: String,
    /// The circuits.
    pub circuits: Vec<String>,
    /// The circuit at hand.
    pub at: usize,
    /// How far it is.
    pub step: HoldStep,
    /// Seconds the check wants.
    pub wanted: Option<f64>,
    /// Readings kept in this hold: what, and as kept.
    pub readings: Vec<(String, String)>,
}

impl HoldPage {
    /// The key of one of its readings.
    pub fn key(&self, last: &str) -> String {
        let circuit = self.circuits.get(self.at).map_or("", String::as_str);
        format!("brakes.circuit.{circuit}.{}.{last}", self.word)
    }
}

/// How far a pressure hold is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoldStep {
    /// Nothing read yet.
    Ready,
    /// The temperature at the start is kept.
    StartPressure,
    /// The clock runs since then.
    Running(Moment),
    /// The clock was stopped.
    EndPressure,
    /// The pressure at the end is kept.
    EndTemperature,
    /// Everything is kept.
    Done,
}

/// The end of the walk.
#[derive(Debug, Default)]
pub struct EndPage {
    /// What the walk came to.
    pub summary: Summary,
    /// Whether it has ended.
    pub ended: bool,
    /// First line shown.
    pub scroll: usize,
}

impl State {
    /// Where a key is pressed.
    pub fn place(&self) -> Place {
        match (&self.overlay, &self.screen) {
            (Some(Overlay::Typing(typing)), _) if typing.deciding => Place::Decide,
            (Some(Overlay::Typing(_)), _) => Place::Typing,
            (Some(Overlay::Words(_)), _) => Place::Words,
            (Some(Overlay::Ask(_)), _) => Place::Ask,
            (Some(Overlay::Jump(_)), _) => Place::Jump,
            (Some(Overlay::Keys(_)), _) => Place::Keys,
            (Some(Overlay::Help(..) | Overlay::Text(..)), _) => Place::Help,
            (None, Screen::Person(_)) => Place::Person,
            (None, Screen::Clock(_)) => Place::Clock,
            (None, Screen::SameCar(_)) => Place::SameCar,
            (None, Screen::Cars(_)) => Place::Cars,
            (None, Screen::NewCar(_)) => Place::NewCar,
            (None, Screen::Profile(_)) => Place::Profile,
            (None, Screen::Start(_)) => Place::Start,
            (None, Screen::Walk(_)) => Place::Walk,
            (None, Screen::Findings(_)) => Place::Findings,
            (None, Screen::Numbers(_)) => Place::Numbers,
            (None, Screen::MeasureNext(_)) => Place::MeasureNext,
            (None, Screen::Report(_)) => Place::Report,
            (None, Screen::Rules(_)) => Place::Rules,
            (None, Screen::Plan(_)) => Place::Plan,
            (None, Screen::Discharge(_)) => Place::Discharge,
            (None, Screen::WhatIf(_)) => Place::WhatIf,
            (None, Screen::Hold(_)) => Place::Hold,
            (None, Screen::End(page)) if page.ended => Place::Ended,
            (None, Screen::End(_)) => Place::End,
        }
    }

    /// The word of the key of an action.
    pub fn key(&self, action: UiAction) -> String {
        self.keys.word(action)
    }

    /// The bindings that do something now.
    pub fn offered(&self) -> Vec<&'static Binding> {
        at(self.place()).filter(|binding| self.offers(binding.action)).collect()
    }

    /// Whether an action does something now.
    pub fn offers(&self, action: UiAction) -> bool {
        match self.place() {
            Place::Walk => self.sheet.offers(action, self.fresh().is_some()),
            Place::Findings => self.offers_for_item(action),
            Place::Start => self.offers_at_start(action),
            Place::Typing => match (&self.overlay, action) {
                (Some(Overlay::Typing(typing)), UiAction::NextInstrument) => typing.instruments.len() > 1,
                (Some(Overlay::Typing(typing)), UiAction::Up | UiAction::Down) => typing.slots.len() > 1,
                _ => true,
            },
            Place::Discharge | Place::WhatIf => self.offers_there(action),
            Place::Hold => match (&self.screen, action) {
                (Screen::Hold(page), UiAction::NextCircuit) => page.circuits.len() > 1,
                _ => true,
            },
            _ => true,
        }
    }

    fn offers_there(&self, action: UiAction) -> bool {
        match (&self.screen, action) {
            (Screen::Discharge(page), UiAction::NextNetwork) => page.all.len() > 1,
            // A what-if holds the discharge of its own car: another one would lie over it without end.
            (Screen::Discharge(page), UiAction::WhatIf) => !matches!(*page.under, Screen::WhatIf(_)),
            (Screen::WhatIf(page), UiAction::NextRun | UiAction::PreviousRun) => page.table.is_some(),
            (Screen::WhatIf(page), UiAction::NextChange) => page.changes.len() > 1 && page.table.is_none(),
            (Screen::WhatIf(page), UiAction::Undo) => !page.changes.is_empty() && page.table.is_none(),
            (Screen::WhatIf(page), UiAction::Save) => !page.changes.is_empty() || page.table.is_some(),
            _ => true,
        }
    }

    fn offers_for_item(&self, action: UiAction) -> bool {
        let Screen::Findings(page) = &self.screen else { return false };
        match (page.item(), action) {
            (Some(item), UiAction::ByEye | UiAction::TypeValue) => item.measured,
            (Some(_), _) => true,
            (None, UiAction::Down | UiAction::Up) => !page.items.is_empty(),
            (None, action) => {
                matches!(
                    action,
                    UiAction::Report | UiAction::Plan | UiAction::Help | UiAction::Back | UiAction::Quit
                )
            }
        }
    }

    fn offers_at_start(&self, action: UiAction) -> bool {
        let Some(walk) = &self.walk else { return matches!(action, UiAction::Back | UiAction::Quit) };
        let begun = walk.id.is_some();
        match action {
            UiAction::StartLater | UiAction::StartEarlier => !begun && walk.plan.stations.len() > 1,
            UiAction::NextLap => !begun && walk.start.rules.laps.len() > 1,
            UiAction::Recheck => !begun && (walk.recheck || walk.rechecked().is_some()),
            UiAction::NextStage => !begun && walk.profile().is_some_and(|profile| !profile.stages.is_empty()),
            _ => true,
        }
    }

    /// The answer just kept, on the walk.
    pub fn fresh(&self) -> Option<&Fresh> {
        match &self.screen {
            Screen::Walk(page) => page.fresh.as_ref(),
            _ => None,
        }
    }

    /// Says something.
    pub fn say(&mut self, text: impl Into<String>) {
        self.message = Some(Message { text: text.into(), trouble: false });
    }

    /// Says what something outside refused: in the line above the keys, or as a page where it has several lines.
    pub fn refuse(&mut self, text: String) {
        if text.trim().lines().count() > 1 {
            self.overlay = Some(Overlay::Text(text, 0));
        } else {
            self.object(text);
        }
    }

    /// Says that something stands in the way.
    pub fn object(&mut self, text: impl Into<String>) {
        self.message = Some(Message { text: text.into(), trouble: true });
    }
}

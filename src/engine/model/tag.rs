//! What a car has, has not, or may have: tags that rule files ask for.

use super::vocabulary::Vocabulary;

/// A tag from the fixed list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is its own word in the list below")]
pub enum Tag {
    Suppression,
    PullRelease,
    ElectricRelease,
    OutsideRelease,
    CockpitNozzle,
    FuelCellNozzle,
    Tees,
    SecondBottle,
    HandHeld,
    TandemMaster,
    BalanceBar,
    Booster,
    LineLock,
    ResidualValve,
    ProportioningValve,
    PressureSensor,
    DiscFront,
    DiscRear,
    DrumFront,
    DrumRear,
    LiveAxle,
    IndependentRear,
    ParkingBrake,
    FrameTubeLines,
    Firewall,
    Parachute,
    PowerAdder,
    BodyLiftsOff,
}

/// The schema of an array of tags: any word, for other spellings and declared words are taken too.
pub fn schema() -> serde_json::Value {
    let names: Vec<&str> = TAGS.iter().map(|(name, _, _)| *name).collect();
    serde_json::json!({"items": {"examples": names}})
}

/// Every tag with its word and how it is asked about.
pub const TAGS: &[(&str, Tag, &str)] = &[
    ("suppression", Tag::Suppression, "an on-board suppression system"),
    ("pull-release", Tag::PullRelease, "a pull cable that releases it"),
    ("electric-release", Tag::ElectricRelease, "an electric release"),
    ("outside-release", Tag::OutsideRelease, "a release handle outside"),
    ("cockpit-nozzle", Tag::CockpitNozzle, "a nozzle in the cockpit"),
    ("fuel-cell-nozzle", Tag::FuelCellNozzle, "a nozzle at the fuel cell"),
    ("tees", Tag::Tees, "tees in the suppression line"),
    ("second-bottle", Tag::SecondBottle, "a second bottle"),
    ("hand-held", Tag::HandHeld, "a hand-held extinguisher"),
    ("tandem-master", Tag::TandemMaster, "a tandem master cylinder"),
    ("balance-bar", Tag::BalanceBar, "two masters on a balance bar"),
    ("booster", Tag::Booster, "a brake booster"),
    ("line-lock", Tag::LineLock, "a line-lock"),
    ("residual-valve", Tag::ResidualValve, "a residual pressure valve"),
    ("proportioning-valve", Tag::ProportioningValve, "a proportioning valve"),
    ("pressure-sensor", Tag::PressureSensor, "a brake pressure sensor"),
    ("disc-front", Tag::DiscFront, "disc brakes at the front"),
    ("disc-rear", Tag::DiscRear, "disc brakes at the rear"),
    ("drum-front", Tag::DrumFront, "drum brakes at the front"),
    ("drum-rear", Tag::DrumRear, "drum brakes at the rear"),
    ("live-axle", Tag::LiveAxle, "a live rear axle"),
    ("independent-rear", Tag::IndependentRear, "independent rear suspension"),
    ("parking-brake", Tag::ParkingBrake, "a parking brake"),
    ("frame-tube-lines", Tag::FrameTubeLines, "lines inside frame tubes"),
    ("firewall", Tag::Firewall, "a firewall"),
    ("parachute", Tag::Parachute, "a parachute"),
    ("power-adder", Tag::PowerAdder, "a turbo, blower or other power adder"),
    ("body-lifts-off", Tag::BodyLiftsOff, "a body that lifts off in one piece"),
];

impl Tag {
    /// The tag a word names, in any of its spellings.
    pub fn named(word: &str) -> Option<Self> {
        let meanings = Vocabulary::Equipment.meanings(word);
        TAGS.iter().find(|(name, _, _)| meanings.iter().any(|meant| meant == name)).map(|(_, tag, _)| *tag)
    }

    /// The word in files.
    pub fn word(self) -> &'static str {
        TAGS.iter().find(|(_, tag, _)| *tag == self).map_or("", |(name, _, _)| name)
    }

    /// What it is, in words: "a line-lock".
    pub fn phrase(self) -> &'static str {
        TAGS.iter().find(|(_, tag, _)| *tag == self).map_or("", |(_, _, phrase)| phrase)
    }
}

/// Yes, no, or not known (Kleene's three-valued logic).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer3 {
    /// Certainly.
    Yes,
    /// Certainly not.
    No,
    /// Not known.
    Unknown,
}

impl Answer3 {
    /// Both.
    pub fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::No, _) | (_, Self::No) => Self::No,
            (Self::Yes, Self::Yes) => Self::Yes,
            _ => Self::Unknown,
        }
    }

    /// Either.
    pub fn or(self, other: Self) -> Self {
        self.not().and(other.not()).not()
    }

    /// The opposite; unknown stays unknown.
    #[expect(clippy::should_implement_trait, reason = "three-valued, so that `!` would mislead")]
    pub fn not(self) -> Self {
        match self {
            Self::Yes => Self::No,
            Self::No => Self::Yes,
            Self::Unknown => Self::Unknown,
        }
    }
}

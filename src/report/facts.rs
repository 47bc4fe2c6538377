//! The facts of a report, for machines and for the sections to draw on.

use serde::Serialize;

use crate::model::entry::{Entry, Finding, Kept, Moment, Observation, Outcome, RulesMark, Severity};
use crate::model::given::HowGiven;
use crate::model::history::Standing;
use crate::rules::{CarState, Tally};

use super::due::{self, Due};
use super::figures::{self, Figure};
use super::input::Kind;
use super::record::Record;

/// Where an item stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Rejected, or a measurement that cannot decide.
    Open,
    /// Said to be repaired, not looked at again.
    Repaired,
    /// To be fitted.
    NotYet,
    /// Could not be seen.
    NotSeen,
    /// Was open; looked at again and accepted.
    Closed,
    /// Accepted.
    Accepted,
    /// Accepted by a person where the program says otherwise.
    AcceptedAgainstLimit,
    /// This car has none.
    NotFitted,
}

impl State {
    /// The word of JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Repaired => "repaired",
            Self::NotYet => "not-yet",
            Self::NotSeen => "not-seen",
            Self::Closed => "closed",
            Self::Accepted => "accepted",
            Self::AcceptedAgainstLimit => "accepted-against-limit",
            Self::NotFitted => "not-fitted",
        }
    }

    /// How people read it.
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Repaired => "said to be repaired, not looked at again",
            Self::NotYet => "to be fitted",
            Self::NotSeen => "could not be seen",
            Self::Closed => "was open, looked at again and accepted",
            Self::Accepted => "accepted",
            Self::AcceptedAgainstLimit => "accepted against the limit",
            Self::NotFitted => "not fitted on this car",
        }
    }

    /// What one answer by itself says.
    pub fn of(finding: &Finding, reopened: bool) -> Self {
        let against = matches!(finding.verdict, Some(Outcome::Reject | Outcome::Undecided));
        match finding.result {
            Outcome::Reject | Outcome::Undecided | Outcome::Refused => Self::Open,
            Outcome::Repaired => Self::Repaired,
            Outcome::NotYet => Self::NotYet,
            Outcome::NotSeen => Self::NotSeen,
            Outcome::NotFitted => Self::NotFitted,
            Outcome::Accept if against => Self::AcceptedAgainstLimit,
            Outcome::Accept if reopened || finding.closes.is_some() => Self::Closed,
            Outcome::Accept => Self::Accepted,
        }
    }

    /// What stands for an item.
    pub fn of_standing(standing: &Standing<'_>) -> Self {
        Self::of(standing.finding, closes(standing))
    }
}

/// Whether the answer that stands closed an open one.
pub(super) fn closes(standing: &Standing<'_>) -> bool {
    let was_open = |kept: &Kept| matches!(&kept.entry, Entry::Finding(finding) if finding.result.is_open());
    !standing.is_open() && (standing.finding.closes.is_some() || standing.before.is_some_and(was_open))
}

/// A finding with where it stands.
#[derive(Clone, Debug, Serialize)]
pub struct FindingFact {
    /// The finding as it was kept.
    #[serde(flatten)]
    pub finding: Finding,
    /// What it is listed by: what is wrong, or the title of its check.
    pub listed: String,
    /// Where it stands.
    pub state: State,
    /// Id of its record.
    pub id: String,
    /// When it was entered.
    pub at: Moment,
    /// The record that opened the item.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub opened: Option<String>,
    /// The station's id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// What to do about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

impl FindingFact {
    /// The code it goes by.
    pub fn code(&self) -> &str {
        self.finding.code.as_deref().unwrap_or(&self.finding.check)
    }
}

/// A check that could not be seen.
#[derive(Clone, Debug, Serialize)]
pub struct NotSeen {
    /// The check.
    pub check: String,
    /// The code it goes by.
    pub code: String,
    /// The part.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// Its title.
    pub title: String,
    /// What a reject of it would weigh.
    pub severity: Severity,
    /// Free words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Id of its record.
    pub id: String,
}

/// A check that the newest walk did not answer.
#[derive(Clone, Debug, Serialize)]
pub struct NotReached {
    /// The check.
    pub check: String,
    /// The code it goes by.
    pub code: String,
    /// Its title.
    pub title: String,
    /// What a reject of it would weigh.
    pub severity: Severity,
    /// The station's id.
    pub station: String,
}

/// A note or a photo beside a check that nobody answered.
#[derive(Clone, Debug, Serialize)]
pub struct Noted {
    /// It, as it was kept.
    #[serde(flatten)]
    pub observation: Observation,
    /// Id of its record.
    pub id: String,
    /// When it was entered.
    pub at: Moment,
    /// Whether it was kept after its walk was signed.
    pub after_signing: bool,
}

/// A check that was not asked.
#[derive(Clone, Debug, Serialize)]
pub struct LeftOut {
    /// The check.
    pub check: String,
    /// Its title.
    pub title: String,
    /// Why.
    pub reason: String,
}

/// Everything a report says, for machines.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Facts {
    /// Version of this form.
    pub format: u32,
    /// Kind of report.
    pub kind: &'static str,
    /// The car's id.
    pub car: String,
    /// The car file in use.
    pub file: String,
    /// Ids of other folders whose record is read with the car's own.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub joined: Vec<String>,
    /// The number it runs under.
    pub number: String,
    /// The state it is in: the first that fits.
    pub state: CarState,
    /// The same in words, with what stands beside it.
    pub state_words: String,
    /// How many checks are asked, and what became of them.
    pub checks: Tally,
    /// Every layer of the rules in force, the first extended first.
    pub rules: Vec<RulesMark>,
    /// The notice, then those of the rule files.
    pub notice: Vec<String>,
    /// Findings with where they stand.
    pub findings: Vec<FindingFact>,
    /// How the answers were given, walk by walk.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub how_given: Vec<HowGiven>,
    /// What could not be seen.
    pub not_seen: Vec<NotSeen>,
    /// What the newest walk did not answer.
    pub not_reached: Vec<NotReached>,
    /// Notes and photos beside checks that nobody answered.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub noted: Vec<Noted>,
    /// What was not asked, and why.
    pub left_out: Vec<LeftOut>,
    /// What falls due, the soonest first.
    pub due: Vec<Due>,
    /// Numbers, those that a rule judges first.
    pub numbers: Vec<Figure>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What the reader has to know first, where there is something: stale rules, damage to the record.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

impl Facts {
    /// Gathers them.
    pub(super) fn gather(record: &Record<'_>, kind: Kind) -> Self {
        let input = record.input;
        let (state, state_words) = record.state();
        Self {
            format: 1,
            kind: kind.word(),
            car: input.car.id.clone(),
            file: input.car.file.clone(),
            joined: input.history.joined().iter().map(|join| join.car.clone()).collect(),
            number: input.car.number.clone(),
            state,
            state_words,
            checks: record.tally(),
            rules: input.rules.marks(),
            notice: super::head::notices(input.rules),
            findings: findings(record, kind),
            how_given: record.how_given(),
            not_seen: not_seen(record),
            not_reached: record.not_reached().into_iter().map(|check| not_reached(record, check)).collect(),
            noted: noted(record),
            left_out: record
                .left_out
                .iter()
                .map(|(check, reason)| left_out(&check.id, &check.title, reason))
                .collect(),
            due: due::list(record),
            numbers: figures::list(record),
            cautions: cautions(record),
            warnings: Vec::new(),
        }
    }

    /// Findings in one of some states.
    pub fn in_state<'f>(&'f self, states: &'f [State]) -> impl Iterator<Item = &'f FindingFact> {
        self.findings.iter().filter(move |fact| states.contains(&fact.state))
    }
}

/// Every item for the full record and the delivery; what is open or needs saying for the others.
fn findings(record: &Record<'_>, kind: Kind) -> Vec<FindingFact> {
    let everything = matches!(kind, Kind::Full | Kind::Delivery);
    let newest = record.newest().map(|walk| walk.id);
    let wanted = |standing: &Standing<'_>| match State::of_standing(standing) {
        State::Open | State::Repaired | State::NotYet | State::NotSeen | State::AcceptedAgainstLimit => true,
        State::Closed => everything || Some(standing.finding.walk.as_str()) == newest,
        State::Accepted | State::NotFitted => everything,
    };
    let open = record.open().into_iter();
    let rest = record.standings.iter().filter(|standing| !standing.is_open());
    let mut facts: Vec<FindingFact> = Vec::new();
    for standing in open.chain(rest).filter(|standing| wanted(standing)) {
        // One accept may stand for several items, each with its own opening; apart from those it is said once.
        let opened = standing.opened.map(|kept| kept.id.clone());
        if facts.iter().all(|fact| fact.id != standing.kept.id || fact.opened != opened) {
            facts.push(fact(record, standing, opened));
        }
    }
    facts
}

fn fact(record: &Record<'_>, standing: &Standing<'_>, opened: Option<String>) -> FindingFact {
    let check = record.check(&standing.finding.check);
    FindingFact {
        finding: Finding {
            value: standing.finding.value_words(),
            code: Some(record.code(&standing.finding.check, standing.of)),
            ..standing.finding.clone()
        },
        listed: record.rules().listed(standing.finding),
        state: State::of_standing(standing),
        id: standing.kept.id.clone(),
        at: standing.kept.at,
        opened,
        station: check.map(|check| check.station.clone()),
        remedy: super::item::to_do(check, standing, &record.input.history.notes_on(standing))
            .filter(|remedy| !remedy.is_empty()),
    }
}

fn not_seen(record: &Record<'_>) -> Vec<NotSeen> {
    let unseen = record.open().into_iter().filter(|standing| standing.finding.result == Outcome::NotSeen);
    unseen
        .map(|standing| NotSeen {
            check: standing.finding.check.clone(),
            code: record.code(&standing.finding.check, standing.of),
            of: standing.finding.of.clone(),
            title: standing.finding.title.clone(),
            severity: standing.finding.severity,
            note: standing.finding.note.clone(),
            id: standing.kept.id.clone(),
        })
        .collect()
}

fn noted(record: &Record<'_>) -> Vec<Noted> {
    let history = record.input.history;
    let noted = history.not_judged().into_iter().map(|(kept, observation)| Noted {
        observation: observation.clone(),
        id: kept.id.clone(),
        at: kept.at,
        after_signing: history.is_after_signing(kept, &observation.walk),
    });
    noted.collect()
}

fn not_reached(record: &Record<'_>, check: &crate::rules::Check) -> NotReached {
    NotReached {
        check: check.id.clone(),
        code: record.code(&check.id, None),
        title: check.title.clone(),
        severity: check.severity,
        station: check.station.clone(),
    }
}

fn left_out(id: &str, title: &str, reason: &str) -> LeftOut {
    LeftOut { check: id.to_owned(), title: title.to_owned(), reason: reason.to_owned() }
}

/// What holds for every car, before anybody mends anything.
const CAUTIONS: &[&str] = &[
    "Put the safety pin in before a hand goes near a pull, a handle or a bottle, and never try a release by pulling it.",
    "A bottle is a pressure vessel: no heat near it, and no wrench on a charged valve.",
    "Stand the car on stands with its wheels chocked and nothing switched on before anybody reaches under it.",
    "Brake fluid harms eyes and paint: wear glasses and wash off what is spilt.",
    "Agent let go in a closed cockpit takes the place of air: keep a way out open.",
    "Pressure test, recharge and final design are for qualified people.",
];

/// Those that always hold, then those of the stations and checks with something open.
fn cautions(record: &Record<'_>) -> Vec<String> {
    let mut cautions: Vec<String> = CAUTIONS.iter().map(|caution| (*caution).to_owned()).collect();
    for standing in record.open() {
        let Some(check) = record.check(&standing.finding.check) else { continue };
        let station = record.rules().station(&check.station).and_then(|station| station.caution.clone());
        for caution in station.into_iter().chain(check.words.caution.clone()) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
    }
    cautions
}

//! What a screen shows of a walk, worked out after each key so that drawing only reads.

use std::collections::BTreeMap;

use crate::drawing::Drawing;
use crate::model::entry::{Finding, Moment, Outcome, Severity};
use crate::model::given::HowGiven;
use crate::model::history::by_weight;
use crate::model::keys;
use crate::model::letters::Letters;
use crate::numbers::reading_kind;
use crate::rules::{CarState, Check, Method, NOT_REACHED, PART_ANSWERED, Typed, outcome_sign};
use crate::units::{Kind, default_unit};
use crate::walk::{Assessment, Origin, Reply, Walk};

use super::again::same_as_last;
use super::keymap::UiAction;
use super::noted::noted_at;
pub use super::noted::{named, not_judged};
use super::text::{many, result_word, when};

/// What the check at hand needs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// The check, where there is one.
    pub check: Option<String>,
    /// What stood for it before this walk.
    pub last: Option<String>,
    /// The answer of last time, to give it again by one key, where it was a typed value.
    pub same: Option<Box<Reply>>,
    /// Its code, and the place of its station on the lap.
    pub code: Option<(usize, String)>,
    /// Notes and photos beside it.
    pub noted: Vec<String>,
    /// What was said of it in this walk.
    pub here: Option<(Outcome, String)>,
    /// What the program can say of it.
    pub assessment: Assessment,
    /// What its numbers may be given.
    pub asks: Vec<Asked>,
    /// Whether it has a value to type.
    pub typed: bool,
    /// Whether it may be accepted by eye.
    pub by_eye: bool,
    /// Whether it has a pressure hold.
    pub hold: bool,
    /// Whether something of it is open.
    pub open_item: bool,
    /// What is wrong with it, and who or what says so.
    pub wrong: Option<(String, String)>,
    /// What can hurt.
    pub caution: Option<String>,
    /// Why the walk is paused: the check to make safe.
    pub paused: Option<String>,
    /// The lap.
    pub lap: LapView,
    /// The car from above, where there is room for it.
    pub plan: Option<Drawing>,
}

/// The plan of the lap and how much is left of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LapView {
    /// Stations in order.
    pub stations: Vec<StationView>,
    /// The station at hand.
    pub at: Option<usize>,
    /// Checks answered.
    pub done: usize,
    /// Checks in all.
    pub total: usize,
    /// Seconds left.
    pub seconds: u32,
    /// Open items: stop, fix, note.
    pub open: [usize; 3],
    /// Whether the numbers, which may show more, are still to be worked out.
    pub being_worked: bool,
    /// The state of the car, with what stands beside it.
    pub state: Option<(CarState, String)>,
    /// The checks of the station at hand: title and how each stands.
    pub checks: Vec<(String, Option<Outcome>, bool)>,
}

/// One station of the lap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StationView {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Checks answered here.
    pub done: usize,
    /// Checks here.
    pub total: usize,
    /// Whether something was not accepted here.
    pub open: bool,
    /// Whether something was not seen here, or could not be decided.
    pub doubtful: bool,
    /// Its two letters.
    pub code: Option<String>,
}

impl StationView {
    /// The worst that stands here.
    pub fn sign(&self) -> char {
        if self.open && !self.doubtful {
            outcome_sign(Outcome::Reject)
        } else if self.open {
            outcome_sign(Outcome::NotSeen)
        } else if self.done == self.total {
            outcome_sign(Outcome::Accept)
        } else if self.done > 0 {
            PART_ANSWERED
        } else {
            NOT_REACHED
        }
    }
}

/// An input that a number may be given.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Its key.
    pub key: String,
    /// Its kind.
    pub kind: Kind,
    /// The unit a bare number takes.
    pub unit: &'static str,
    /// What is known of it.
    pub known: Option<String>,
}

impl Sheet {
    /// What is known before the first check is looked into.
    pub fn before(walk: &Walk) -> Self {
        let lap = LapView::of(walk);
        Self { paused: walk.unsafe_now(), lap, ..Self::default() }
    }

    /// Works it out for where the person stands.
    pub fn of(walk: &Walk) -> Self {
        let Some(check) = walk.check() else { return Self::before(walk) };
        let assessment = walk.evaluator().assess_now(check);
        let asks = asks(walk, check, &assessment);
        let last = walk.last_time(&check.id);
        let here =
            walk.answer_in_walk(&check.id).map(|standing| (standing.finding.result, told(standing.finding)));
        Self {
            check: Some(check.id.clone()),
            last: last.as_ref().map(|last| format!("{}, {}", told(last.finding), when(last.kept.seen_at()))),
            same: last.and_then(|last| same_as_last(check, &walk.start.car, last.finding)).map(Box::new),
            code: super::calling::code_of(walk, walk.at),
            here,
            noted: noted_at(walk, &check.id, None),
            typed: check.typed != Typed::None,
            by_eye: is_measured(check)
                && !check.no_eye
                && !assessment.has_typed()
                && !assessment.being_worked,
            hold: hold_word(check).is_some(),
            wrong: wrong(walk, check, &assessment),
            caution: caution(walk, check),
            open_item: walk.history.standing_of(&check.id).is_some_and(|standing| standing.is_open()),
            assessment,
            asks,
            ..Self::before(walk)
        }
    }

    /// Whether an action does something at this check.
    pub fn offers(&self, action: UiAction, fresh: bool) -> bool {
        let check = self.check.is_some();
        match action {
            UiAction::Accept
            | UiAction::Reject
            | UiAction::NotSeen
            | UiAction::NotFitted
            | UiAction::NotYet => check,
            UiAction::ByEye => check && self.by_eye,
            UiAction::SameAsLast => self.same.is_some(),
            UiAction::AcceptStation => check && self.paused.is_none(),
            UiAction::TypeValue => check && self.typed,
            UiAction::TypeInputs => check && !self.asks.is_empty(),
            UiAction::Hold => check && self.hold,
            UiAction::Repaired => check && self.open_item,
            UiAction::Note | UiAction::Photo | UiAction::Heavier | UiAction::Lighter => check || fresh,
            _ => true,
        }
    }
}

fn is_measured(check: &Check) -> bool {
    matches!(check.method, Method::Measure | Method::Count | Method::Date)
}

/// What is wrong with the check at hand, and who or what says so.
fn wrong(walk: &Walk, check: &Check, assessment: &Assessment) -> Option<(String, String)> {
    if let Some(standing) = walk.answer_in_walk(&check.id) {
        let finding = standing.finding;
        let rejected = matches!(finding.result, Outcome::Reject | Outcome::Repaired);
        return rejected.then(|| (walk.start.rules.listed(finding), told(finding)));
    }
    let row = assessment.deciding().filter(|row| {
        row.origin == Origin::Computed && assessment.verdict() == Some(Outcome::Reject) && row.judges
    })?;
    let of = row.of.as_ref().map_or_else(String::new, |of| format!(", {of}"));
    Some((
        format!("{}{of}", check.fault_of_limit(&row.id)),
        "by its number; nobody has looked yet".to_owned(),
    ))
}

/// What can hurt: the check's own, else what its station says, at the first of its checks.
fn caution(walk: &Walk, check: &Check) -> Option<String> {
    let first = walk.plan.at_station(&check.station).next().is_some_and(|step| step.check == check.id);
    let station = || walk.start.rules.station(&check.station).filter(|_| first)?.caution.clone();
    check.words.caution.clone().or_else(station)
}

/// A finding in a few words.
pub fn told(finding: &Finding) -> String {
    let mut out = result_word(finding.result).to_owned();
    if let Some(value) = finding.value_words() {
        out.push_str(&format!(" ({value})"));
    }
    if let Some(note) = &finding.note {
        out.push_str(&format!(": {note}"));
    }
    out
}

/// `hold` or `hold_low`, where the check asks for the readings of one.
pub fn hold_word(check: &Check) -> Option<&'static str> {
    let mut asks =
        check.compute.iter().flat_map(|row| row.asks.iter()).filter(|key| key.starts_with("brakes.circuit."));
    let first = asks.find(|key| key.contains(".hold"))?;
    Some(if first.contains(".hold_low.") { "hold_low" } else { "hold" })
}

/// Keys that a check may ask for, with ids, as far as they can be typed.
fn asks(walk: &Walk, check: &Check, assessment: &Assessment) -> Vec<Asked> {
    let mut asked: Vec<Asked> = Vec::new();
    let mut add = |key: &str, wanted: &[String], known: Option<String>| {
        let fits = wanted.iter().any(|ask| fits(ask, key)) && asked.iter().all(|one| one.key != key);
        if let (true, Some(kind)) = (fits, reading_kind(key).or_else(|| keys::quantity_kind(key))) {
            let unit = if kind == Kind::Span { "" } else { default_unit(kind, walk.start.units) };
            asked.push(Asked { key: key.to_owned(), kind, unit, known });
        }
    };
    let wanted: Vec<String> = check.compute.iter().flat_map(|row| row.asks.iter().cloned()).collect();
    for missing in &assessment.missing {
        missing.needs.iter().for_each(|key| add(key, &wanted, None));
    }
    for row in assessment.rows.iter().filter(|row| row.origin == Origin::Computed) {
        let Some(of) = &row.of else { continue };
        let behind = walk.numbers().iter().filter_map(|answer| answer.number()).find(|number| {
            number.of == *of
                && check
                    .compute
                    .iter()
                    .any(|known| known.id == row.id && known.quantity.id == number.quantity)
        });
        for input in behind.iter().flat_map(|number| number.inputs.iter()) {
            let known = crate::units::show(input.si, input.kind, walk.start.units);
            add(&input.path, &wanted, Some(known));
        }
    }
    asked
}

/// Whether a key is the one a rule names, an id put in.
fn fits(ask: &str, key: &str) -> bool {
    let (ask, key): (Vec<&str>, Vec<&str>) = (ask.split('.').collect(), key.split('.').collect());
    let without = |at: usize| key.iter().enumerate().filter(move |(i, _)| *i != at).map(|(_, part)| *part);
    ask == key || (key.len() == ask.len() + 1 && (0..key.len()).any(|at| without(at).eq(ask.iter().copied())))
}

impl LapView {
    /// Works it out.
    pub fn of(walk: &Walk) -> Self {
        let results = results(walk);
        let rules = &walk.start.rules;
        let mut stations = Vec::new();
        for id in &walk.plan.stations {
            let steps: Vec<&str> = walk.plan.at_station(id).map(|step| step.check.as_str()).collect();
            if steps.is_empty() {
                continue;
            }
            let open: Vec<Outcome> = steps
                .iter()
                .filter_map(|check| results.get(*check).copied())
                .filter(|one| one.is_open())
                .collect();
            stations.push(StationView {
                id: id.clone(),
                title: rules.station(id).map_or_else(|| id.clone(), |station| station.title.clone()),
                done: steps.iter().filter(|check| results.contains_key(**check)).count(),
                total: steps.len(),
                open: !open.is_empty(),
                doubtful: !open.is_empty()
                    && open.iter().all(|result| matches!(result, Outcome::NotSeen | Outcome::Undecided)),
                code: rules.station(id).and_then(|station| station.code.clone()),
            });
        }
        let here = walk.current().map(|step| step.station.as_str());
        let at = here.and_then(|here| stations.iter().position(|station| station.id == here));
        let named = |id: &str, result: Option<Outcome>| match rules.check(id) {
            Some(check) if result == Some(Outcome::Reject) => check.wrong().to_owned(),
            Some(check) => check.looked_at().to_owned(),
            None => id.to_owned(),
        };
        let current = walk.current().map(|step| step.check.as_str());
        let steps = here.into_iter().flat_map(|here| walk.plan.at_station(here));
        let checks = steps
            .map(|step| {
                let result = results.get(step.check.as_str()).copied();
                (named(&step.check, result), result, current == Some(step.check.as_str()))
            })
            .collect();
        let (state, words, _) = walk.car_state();
        Self {
            at,
            done: results.len(),
            total: walk.plan.steps.len(),
            seconds: walk.seconds_left(),
            open: open_counts(walk),
            being_worked: walk.is_being_worked(),
            state: Some((state, words)),
            stations,
            checks,
        }
    }
}

/// What stands for each check of the plan in this walk.
pub fn results(walk: &Walk) -> BTreeMap<&str, Outcome> {
    let Some(id) = walk.id.as_deref() else { return BTreeMap::new() };
    let answered = walk.answered();
    let mut results: BTreeMap<&str, Outcome> = BTreeMap::new();
    for standing in walk.history.standings().into_iter().filter(|standing| standing.finding.walk == id) {
        // An accept of one of several items is no answer yet.
        if !answered.contains(standing.finding.check.as_str()) {
            continue;
        }
        let Some(at) = walk.plan.position(&standing.finding.check) else { continue };
        let Some(step) = walk.plan.steps.get(at) else { continue };
        let result = standing.finding.result;
        results
            .entry(&step.check)
            .and_modify(|known| {
                if result.is_open() {
                    *known = result
                }
            })
            .or_insert(result);
    }
    results
}

/// Open items of the car: stop, fix, note.
pub fn open_counts(walk: &Walk) -> [usize; 3] {
    by_weight(&walk.open())
}

/// One open item.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenItem {
    /// The record of its newest answer.
    pub record: String,
    /// The check.
    pub check: String,
    /// The code it goes by.
    pub code: String,
    /// The item it is of.
    pub of: Option<String>,
    /// The check's title as it was shown.
    pub title: String,
    /// Where.
    pub station: String,
    /// How much it weighs.
    pub severity: Severity,
    /// How it stands.
    pub result: Outcome,
    /// What was found, when, by whom.
    pub found: String,
    /// When it was opened.
    pub since: Option<Moment>,
    /// What to do.
    pub remedy: String,
    /// Why it matters.
    pub why: String,
    /// Whether it is measured, counted or dated.
    pub measured: bool,
    /// Whether a number rejects it, and nobody has looked yet: there is no record of it.
    pub calculated: bool,
    /// Notes and photos beside it.
    pub noted: Vec<String>,
    /// Remarks beside it.
    pub remarks: Vec<String>,
}

impl OpenItem {
    /// Its title, with the item.
    pub fn named(&self) -> String {
        named(&self.title, self.of.as_deref())
    }
}

/// What is said of an item whose check this way round does not ask; nothing of any other.
fn why_not_asked(walk: &Walk, check: &str) -> String {
    walk.why_not_asked(check)
        .map_or_else(String::new, |reason| format!("; this checklist no longer asks it: {reason}"))
}

/// Everything open on the car, worst first.
pub fn open_items(walk: &Walk) -> Vec<OpenItem> {
    let rules = &walk.start.rules;
    let open = walk.open();
    let letters = Letters::of(&walk.history);
    open.iter()
        .map(|standing| {
            let finding = standing.finding;
            let check = rules.check(&finding.check);
            let station = check
                .and_then(|check| rules.station(&check.station))
                .map_or("", |station| station.title.as_str());
            let records = [Some(standing.kept.id.as_str()), standing.opened.map(|kept| kept.id.as_str())];
            let mut remarks: Vec<String> = Vec::new();
            for record in records.into_iter().flatten() {
                let found = walk.history.remarks(Some(record));
                remarks.extend(
                    found
                        .into_iter()
                        .map(|(_, text)| text.to_owned())
                        .filter(|text| !remarks.contains(text))
                        .collect::<Vec<_>>(),
                );
            }
            let by = finding.by.as_ref().map_or_else(String::new, |by| format!(", by {by}"));
            OpenItem {
                record: standing.kept.id.clone(),
                check: finding.check.clone(),
                code: check.map_or_else(
                    || finding.check.clone(),
                    |check| walk.evaluator().code(check, standing.of, &letters),
                ),
                of: finding.of.clone(),
                title: walk.start.rules.listed(finding),
                station: station.to_owned(),
                severity: standing.cause().severity,
                result: finding.result,
                found: match standing.kept.seq {
                    0 => format!("calculated; nobody has looked yet: {}", told(finding)),
                    _ => format!("{}, {}{by}", told(finding), when(standing.kept.seen_at())),
                } + &why_not_asked(walk, &finding.check),
                since: standing.opened.map(|kept| kept.seen_at()),
                remedy: match finding.result {
                    Outcome::NotSeen => "Go and look.".to_owned(),
                    _ => check.map_or_else(String::new, |check| {
                        check.remedy_of(standing.cause(), &walk.history.notes_on(standing)).to_owned()
                    }),
                },
                why: check.map_or_else(String::new, |check| check.words.why.clone()),
                measured: check.is_some_and(is_measured),
                calculated: standing.kept.seq == 0,
                noted: noted_at(walk, &finding.check, standing.of),
                remarks,
            }
        })
        .collect()
}

/// One number on the numbers screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NumberLine {
    /// Its title.
    pub title: String,
    /// What it is of.
    pub of: String,
    /// Its value, or why there is none.
    pub shown: String,
    /// Its value alone.
    pub value: String,
    /// Whether it could be worked out.
    pub worked: bool,
    /// Where it stands against a limit, with the verdict.
    pub margin: Option<(Outcome, String)>,
    /// Under which heading it is listed: what needs a look first, then part by part.
    pub group: (usize, &'static str),
    /// The same as a mark on a track, where it has a limit to stand against.
    pub track: Option<String>,
    /// Everything behind it, one line each.
    pub behind: Vec<(String, String)>,
}

/// What a walk came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// Answers by result.
    pub counts: Vec<(Outcome, usize)>,
    /// Titles of checks that could not be seen.
    pub not_seen: Vec<String>,
    /// Titles of checks not reached.
    pub not_reached: Vec<String>,
    /// Open items: stop, fix, note.
    pub open: [usize; 3],
    /// Notes and photos beside checks that nobody answered.
    pub noted: Vec<String>,
    /// How the answers were given, in one line.
    pub given: String,
    /// The state of the car, with what stands beside it.
    pub state: String,
    /// How many checks are asked, and what became of them.
    pub checks: String,
    /// Signatures the profile asks for, and who gave each.
    pub signatures: Vec<(String, Option<String>)>,
}

impl Summary {
    /// Counts a walk up.
    pub fn of(walk: &Walk) -> Self {
        let results = results(walk);
        let rules = &walk.start.rules;
        let title =
            |id: &str| rules.check(id).map_or_else(|| id.to_owned(), |check| check.looked_at().to_owned());
        let mut counts = Vec::new();
        for (_, outcome) in Outcome::WORDS {
            let count = results.values().filter(|result| *result == outcome).count();
            if count > 0 {
                counts.push((*outcome, count));
            }
        }
        let walks = walk.history.walks();
        let seen = walks.iter().find(|seen| Some(seen.id) == walk.id.as_deref());
        let signed = |role: &str| {
            let given = seen.and_then(|seen| seen.signed.iter().find(|(known, _, _)| *known == role));
            given.map(|(_, by, _)| (*by).to_owned())
        };
        let (_, state, tally) = walk.car_state();
        let roles = walk.profile().map(|profile| profile.signatures.clone()).unwrap_or_default();
        Self {
            counts,
            not_seen: results
                .iter()
                .filter(|(_, r)| **r == Outcome::NotSeen)
                .map(|(id, _)| title(id))
                .collect(),
            not_reached: walk.left().iter().map(|step| title(&step.check)).collect(),
            open: open_counts(walk),
            noted: not_judged(walk),
            given: walk.id.as_deref().map(|id| HowGiven::of(&walk.history, id).words()).unwrap_or_default(),
            state,
            checks: tally.words(),
            signatures: roles.into_iter().map(|role| (role.clone(), signed(&role))).collect(),
        }
    }

    /// The next role that has not signed.
    pub fn unsigned(&self) -> Option<&str> {
        self.signatures.iter().find(|(_, by)| by.is_none()).map(|(role, _)| role.as_str())
    }

    /// What is open, in words.
    pub fn open_words(&self) -> String {
        let [stop, fix, note] = self.open;
        format!("{} · {} · {}", many(stop, "STOP item"), many(fix, "FIX item"), many(note, "NOTE item"))
    }
}

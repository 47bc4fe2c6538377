//! A walk in progress: the car, the rules, what is kept so far, and where the person stands.

use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::{Place, SourceFile};
use crate::model::entry::{Entry, Kept, Outcome, Severity};
use crate::model::history::{History, Standing};
use crate::model::{Car, keys, read_car};
use crate::numbers::{Answer, ReadingValue, Readings, reading_kind};
use crate::rules::{
    CarState, Check, Lap, Profile, Ruleset, StateOf, Tally, Terms, answered, answered_lately, asked,
    calculated, is_overtaken, is_signed, lap_for, standings_of_calculated, why_not_asked,
};
use crate::source::{Override, Overrides};
use crate::units::{Kind, Units, parse};

use super::ahead::Ahead;
use super::assess::Evaluator;
use super::plan::{Plan, Step};

/// What a walk begins with.
#[derive(Clone, Debug)]
pub struct Start {
    /// The car file, to read it again where a reading stands in for one of its values.
    pub car_file: Arc<SourceFile>,
    /// The car.
    pub car: Arc<Car>,
    /// The rules in force.
    pub rules: Arc<Ruleset>,
    /// Rule files as named, to find them again.
    pub rule_files: Vec<String>,
    /// Profile id.
    pub profile: String,
    /// Stage of a build.
    pub stage: Option<String>,
    /// Station to begin at.
    pub station: Option<String>,
    /// Lap order, where the person chose one.
    pub lap: Option<String>,
    /// The day that dates count to.
    pub on: NaiveDate,
    /// Units people read.
    pub units: Units,
    /// Who.
    pub by: Option<String>,
}

/// A walk in progress.
#[derive(Clone, Debug)]
pub struct Walk {
    /// How it began.
    pub start: Start,
    /// Everything kept about the car.
    pub history: History,
    /// What was kept before this walk began, less what was taken back since.
    earlier: History,
    /// The id of the open walk; none before its first entry is kept.
    pub id: Option<String>,
    /// What it asks, in order.
    pub plan: Plan,
    /// Every number, once one was asked for: the first frame comes sooner without.
    pub numbers: OnceCell<Arc<Vec<Answer>>>,
    /// The same without their bands, which take no time.
    plain: OnceCell<Vec<Answer>>,
    /// What the numbers reject and nobody has answered, once they are worked out.
    calculated: OnceCell<Vec<Kept>>,
    /// Values that were measured, in place of the file's.
    pub measured: Overrides,
    /// Readings of the day.
    pub readings: Readings,
    /// The step the person stands at; past the last when the lap is done.
    pub at: usize,
    /// Whether only what is open from before and stops the car is asked.
    pub recheck: bool,
    /// Seconds to add to this machine's clock, where it was said to be wrong.
    pub clock_correction: Option<i64>,
    /// Whether a copy of a log of the car was set aside and is not settled.
    pub unsettled: bool,
}

impl Walk {
    /// Takes up the open walk of the profile, or lays out a new one. `None` where there is no such profile.
    pub fn new(start: Start, history: History) -> Option<Self> {
        start.rules.profile(&start.profile)?;
        let mut walk = Self {
            start,
            history,
            earlier: History::default(),
            id: None,
            plan: Plan::default(),
            numbers: OnceCell::new(),
            plain: OnceCell::new(),
            calculated: OnceCell::new(),
            measured: Overrides::new(),
            readings: Readings::default(),
            at: 0,
            recheck: false,
            clock_correction: None,
            unsettled: false,
        };
        walk.take_up();
        walk.work();
        walk.at = walk.resume_at();
        Some(walk)
    }

    /// Finds the open walk, and lays out the plan from what was kept before it.
    fn take_up(&mut self) {
        if let Some(open) = self.history.open_walk(&self.start.profile)
            && (self.start.stage.is_none() || self.start.stage == open.started.stage)
        {
            let (station, lap, stage) =
                (open.started.station.clone(), open.started.lap.clone(), open.started.stage.clone());
            self.id = Some(open.id.to_owned());
            self.start.station = station.or_else(|| self.start.station.take());
            self.start.lap = lap.or_else(|| self.start.lap.take());
            self.start.stage = stage;
            self.recheck = open.started.recheck;
        }
        self.lay();
    }

    /// Lays out the plan anew.
    fn lay(&mut self) {
        self.earlier = self.before_this_walk();
        let Some(profile) = self.start.rules.profile(&self.start.profile) else { return };
        self.plan = Plan::lay(
            &self.start.rules,
            &self.start.car,
            profile,
            self.lap(),
            self.start.station.as_deref(),
            self.start.stage.as_deref(),
            &self.earlier,
        );
        if self.recheck {
            let stops = open_stops(&self.earlier);
            self.plan.steps.retain(|step| step.why == super::plan::Why::First || stops.contains(&step.check));
        }
    }

    /// Asks only what is open from before and stops the car, or everything again; before the first answer.
    pub fn only_open_stops(&mut self, only: bool) {
        self.recheck = only;
        self.lay();
        self.at = self.next_unanswered(0);
    }

    /// Profile and stage of the walk that a recheck would be of: the newest whole one, ended where one has. None where
    /// no stop is open.
    pub fn rechecked(&self) -> Option<(String, Option<String>)> {
        if open_stops(&self.earlier).is_empty() {
            return None;
        }
        let walks = self.earlier.walks();
        let whole = || walks.iter().rev().filter(|walk| !walk.started.recheck);
        let walk = whole().find(|walk| walk.ended.is_some()).or_else(|| whole().next())?;
        Some((walk.started.profile.clone(), walk.started.stage.clone()))
    }

    /// The clock is wrong by so much, and this is the right day.
    pub fn correct_clock(&mut self, seconds: i64, day: NaiveDate) {
        self.clock_correction = Some(seconds);
        self.start.on = day;
        self.work();
    }

    /// What was kept before this walk began.
    fn before_this_walk(&self) -> History {
        let Some(id) = &self.id else { return self.history.clone() };
        let begun =
            self.history.all().iter().position(|kept| kept.id == *id).unwrap_or(self.history.all().len());
        // A withdrawal made later still counts: what was taken back is not open.
        self.history.only(|at, _| at < begun)
    }

    /// Takes in what was measured: every number is worked out again when one is asked for.
    fn work(&mut self) {
        self.readings = readings_of(&self.history, &self.start.rules);
        self.measured = overrides_of(&self.history);
        if !self.measured.is_empty() {
            self.start.car = read_car(&self.start.car_file, &self.measured).car;
        }
        self.numbers = OnceCell::new();
        self.plain = OnceCell::new();
        self.calculated = OnceCell::new();
    }

    /// Every number, worked out.
    pub fn numbers(&self) -> &[Answer] {
        self.evaluator().numbers()
    }

    /// What limits that are worked out are worked out of.
    pub fn terms(&self) -> Terms<'_> {
        Terms { car: &self.start.car, numbers: self.numbers(), readings: &self.readings }
    }

    /// Takes the numbers over where they were worked out meanwhile; whether it did.
    pub fn take_known(&mut self) -> bool {
        let known = self.ahead().and_then(|ahead| ahead.known());
        known.is_some_and(|known| self.numbers.set(known).is_ok())
    }

    /// The numbers to be worked out beside the keys; none where they are known.
    pub fn ahead(&self) -> Option<Ahead> {
        let start = &self.start;
        self.is_being_worked().then(|| Ahead {
            file: Arc::clone(&start.car_file),
            car: Arc::clone(&start.car),
            rules: Arc::clone(&start.rules),
            overrides: self.measured.clone(),
            readings: self.readings.clone(),
            on: start.on,
        })
    }

    /// Whether the numbers, which may reject something, are still to be worked out.
    pub fn is_being_worked(&self) -> bool {
        self.numbers.get().is_none()
    }

    /// What the numbers reject and nobody has answered.
    fn calculated(&self) -> &[Kept] {
        self.calculated.get_or_init(|| {
            let (rules, units) = (&self.start.rules, self.start.units);
            calculated(rules, &self.asked(&self.start.car), &self.terms(), &self.history, units)
        })
    }

    /// Open items, the worst first: what people found, and what the numbers reject, as far as they are worked out.
    pub fn open(&self) -> Vec<Standing<'_>> {
        let mut open = self.history.open();
        let calculated = if self.is_being_worked() { &[] } else { self.calculated() };
        if !self.is_being_worked() {
            let start = &self.start;
            open.retain(|one| !is_overtaken(one.finding, &start.rules, || self.terms(), start.units));
        }
        open.extend(standings_of_calculated(calculated));
        open.sort_by_key(|standing| standing.cause().severity);
        open
    }

    /// The state of the car with what stands beside it, and how many checks are asked.
    pub fn car_state(&self) -> (CarState, String, Tally) {
        let start = &self.start;
        let walks = self.history.walks();
        let newest = walks.iter().max_by_key(|walk| walk.at);
        let standings = self.history.standings();
        let against = |one: &&Standing<'_>| {
            let verdict = matches!(one.finding.verdict, Some(Outcome::Reject | Outcome::Undecided));
            one.finding.result == Outcome::Accept && verdict
        };
        let asked = self.asked(&start.car);
        let answered = self.answered_lately();
        let state = StateOf {
            rules: &start.rules,
            open: &self.open(),
            against: standings.iter().filter(against).count(),
            asked: &asked,
            answered: &answered,
            signed: newest.is_some_and(|walk| is_signed(walk, start.rules.profile(&walk.started.profile))),
            being_worked: self.is_being_worked(),
            unsettled: self.unsettled,
        };
        (state.state(), state.words(), Tally::of(&asked, &answered, &standings))
    }

    fn answered_lately(&self) -> BTreeSet<&str> {
        let (start, evaluator) = (&self.start, self.evaluator());
        // Until the numbers are known a reject by one of them stands.
        let terms = || (!self.is_being_worked()).then(|| self.terms());
        answered_lately(&start.rules, terms, |check| evaluator.items(check), &self.history, start.units)
    }

    /// The lap order walked.
    pub fn lap(&self) -> Option<&Lap> {
        let chosen = self.start.lap.as_deref();
        let chosen = chosen.and_then(|id| self.start.rules.laps.iter().find(|lap| lap.id == id));
        chosen.or_else(|| lap_for(&self.start.rules, &self.start.car))
    }

    /// The profile walked.
    pub fn profile(&self) -> Option<&Profile> {
        self.start.rules.profile(&self.start.profile)
    }

    /// Checks that this way round asks of a car, which may be this one with some values changed.
    pub fn asked(&self, car: &Car) -> Vec<&Check> {
        asked(&self.start.rules, car, self.profile(), self.start.stage.as_deref()).0
    }

    /// Why this way round does not ask a check that something is open of; none where it does.
    pub fn why_not_asked(&self, check: &str) -> Option<String> {
        let start = &self.start;
        why_not_asked(&start.rules, &start.car, self.profile(), start.stage.as_deref(), check)
    }

    /// What checks are judged with.
    pub fn evaluator(&self) -> Evaluator<'_> {
        Evaluator {
            rules: &self.start.rules,
            car: &self.start.car,
            car_file: &self.start.car_file,
            measured: &self.measured,
            numbers: &self.numbers,
            plain: &self.plain,
            readings: &self.readings,
            on: self.start.on,
            units: self.start.units,
        }
    }

    /// Takes in an entry that was kept.
    pub fn apply(&mut self, kept: Kept) {
        let entry = kept.entry.clone();
        let id = kept.id.clone();
        let begins_or_takes_back = matches!(entry, Entry::WalkStarted(_) | Entry::Withdrawn { .. });
        self.history.apply(kept);
        self.calculated = OnceCell::new();
        match entry {
            Entry::WalkStarted(started) if started.profile == self.start.profile => self.id = Some(id),
            Entry::Reading(_) => self.work(),
            Entry::Withdrawn { record, .. }
                if self.history.get(&record).is_some_and(|kept| matches!(kept.entry, Entry::Reading(_))) =>
            {
                self.work();
            }
            Entry::WalkEnded { walk, .. } if self.id.as_ref() == Some(&walk) => self.id = None,
            Entry::Finding(finding) if self.current().is_some_and(|step| step.check == finding.check) => {
                self.at = self.next_unanswered(self.at + 1);
            }
            _ => {}
        }
        // While a walk goes on, nothing else changes what was kept before it.
        if begins_or_takes_back || self.id.is_none() {
            self.earlier = self.before_this_walk();
        }
    }

    /// The step the person stands at.
    pub fn current(&self) -> Option<&Step> {
        self.plan.steps.get(self.at)
    }

    /// The check the person stands at.
    pub fn check(&self) -> Option<&Check> {
        self.start.rules.check(&self.current()?.check)
    }

    /// What stands for a check in this walk.
    pub fn answer_in_walk(&self, check: &str) -> Option<Standing<'_>> {
        let id = self.id.as_deref()?;
        let standings = self.history.standings_of(check).into_iter();
        let standings = standings.filter(|standing| standing.finding.walk == id);
        standings.min_by_key(|standing| (!standing.is_open(), std::cmp::Reverse(standing.kept.seen_at())))
    }

    /// Checks answered in this walk.
    pub fn answered(&self) -> BTreeSet<&str> {
        let Some(id) = self.id.as_deref() else { return BTreeSet::new() };
        let findings = self.history.findings().into_iter().map(|(_, finding)| finding);
        let these = findings.filter(|finding| finding.walk == id);
        let evaluator = self.evaluator();
        answered(&self.start.rules, |check| evaluator.items(check), these)
    }

    /// What stood for a check before this walk.
    pub fn last_time(&self, check: &str) -> Option<Standing<'_>> {
        self.earlier.standing_of(check)
    }

    /// Checks not answered in this walk.
    pub fn left(&self) -> Vec<&Step> {
        let answered = self.answered();
        self.plan.steps.iter().filter(|step| !answered.contains(step.check.as_str())).collect()
    }

    /// Seconds that the checks left take; 5 where a check does not say.
    pub fn seconds_left(&self) -> u32 {
        self.left()
            .iter()
            .filter_map(|step| self.start.rules.check(&step.check))
            .map(|check| check.seconds.unwrap_or(5))
            .sum()
    }

    /// The first unanswered step from `from` on, else the first of all, else past the last.
    pub fn next_unanswered(&self, from: usize) -> usize {
        let answered = self.answered();
        let open =
            |at: &usize| self.plan.steps.get(*at).is_some_and(|step| !answered.contains(step.check.as_str()));
        let len = self.plan.steps.len();
        (from.min(len)..len).find(open).or_else(|| (0..from.min(len)).find(open)).unwrap_or(len)
    }

    /// After the last answered step; a check asked first comes before anything.
    fn resume_at(&self) -> usize {
        let first = self.next_unanswered(0);
        if self.plan.steps.get(first).is_some_and(|step| step.why == super::plan::Why::First) {
            return first;
        }
        let Some(id) = self.id.as_deref() else { return first };
        let last = self.history.standing_entries().rev().find_map(|kept| match &kept.entry {
            Entry::Finding(finding) if finding.walk == id => self.plan.position(&finding.check),
            _ => None,
        });
        last.map_or(first, |at| self.next_unanswered(at + 1))
    }

    /// Why the walk may not go on: a check asked first that is rejected, or has no answer while the person stands past it.
    pub fn paused(&self) -> Option<&Step> {
        self.plan.steps.iter().filter(|step| step.why == super::plan::Why::First).find(|step| {
            // A claim of repair holds it as well: somebody has to look again.
            self.answer_in_walk(&step.check).is_some_and(|standing| standing.is_open())
        })
    }

    /// What has to be made safe before the walk goes on: what is wrong, or the wanted state where nobody saw it.
    pub fn unsafe_now(&self) -> Option<String> {
        let standing = self.answer_in_walk(&self.paused()?.check)?;
        Some(self.start.rules.listed(standing.finding))
    }

    /// Begins the lap at another station; only before the first answer of the lap.
    pub fn begin_at(&mut self, station: &str) {
        self.start.station = Some(station.to_owned());
        self.lay();
        self.at = self.next_unanswered(0);
    }

    /// Chooses another lap order.
    pub fn choose_lap(&mut self, lap: &str) {
        self.start.lap = Some(lap.to_owned());
        self.lay();
        self.at = self.next_unanswered(0);
    }
}

/// Checks that are open and stop the car.
fn open_stops(history: &History) -> BTreeSet<String> {
    let open = history.open();
    let stops = open.iter().filter(|standing| standing.cause().severity == Severity::Stop);
    stops.map(|standing| standing.finding.check.clone()).collect()
}

/// Measured values that stand in for those of the car file: readings whose key is one of its quantities.
pub fn overrides_of(history: &History) -> Overrides {
    let measured = history.readings().into_iter().filter(|(key, _)| reading_kind(key).is_none());
    measured
        .filter(|(key, _)| keys::quantity_kind(key).is_some())
        .map(|(key, (_, reading))| {
            let file = SourceFile::new(format!("the reading of {key}"), reading.value.clone());
            let at = Place { range: 0..file.text.len(), file };
            (key.to_owned(), Override::Typed(reading.value.clone(), at))
        })
        .collect()
}

/// The newest readings of a record, in SI, each as sure as was stated or as its instrument is.
pub fn readings_of(history: &History, rules: &Ruleset) -> Readings {
    let mut readings = Readings::default();
    for (key, (_, reading)) in history.readings() {
        let kind = reading_kind(key).unwrap_or(Kind::Ratio);
        let parsed = parse(&reading.value, kind).ok();
        let stated = parsed.as_ref().and_then(|parsed| parsed.half_width);
        let instrument = reading.instrument.as_deref().and_then(|id| rules.instrument(id));
        let si = reading.si.or(parsed.as_ref().map(|parsed| parsed.si)).unwrap_or(f64::NAN);
        readings.set(
            key,
            ReadingValue {
                kind,
                si,
                half_width: stated.or_else(|| instrument?.half_width(kind)),
                repeat: instrument.and_then(|instrument| instrument.repeat(kind)),
                text: reading.value.clone(),
                instrument: reading.instrument.clone(),
            },
        );
    }
    readings
}

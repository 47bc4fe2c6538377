//! The record as reports look at it: walks by time, what stands for every item in the order of the lap.

use std::collections::BTreeSet;

use crate::model::entry::{Entry, Finding, Kept, Moment};
use crate::model::given::HowGiven;
use crate::model::history::{Standing, WalkSeen};
use crate::model::letters::Letters;
use crate::rules::{
    self, CarState, Check, Ruleset, StateOf, Tally, answered_lately, asked, code, is_signed, items, lap_for,
    standings_of_calculated, why_not_asked,
};

use super::facts::State;
use super::input::Input;

/// One reading of the input, shared by every part of a report.
pub(super) struct Record<'a> {
    /// What the report is made from.
    pub input: &'a Input<'a>,
    /// Walks, the oldest first.
    pub walks: Vec<WalkSeen<'a>>,
    /// What stands for every item of every check, in the order of the lap.
    pub standings: Vec<Standing<'a>>,
    /// Letters of items, as the record gave them.
    letters: Letters,
    /// Stations in the order of the lap.
    pub stations: Vec<&'a str>,
    /// Checks of the profile that apply or may apply, in the order of the lap.
    pub asked: Vec<&'a Check>,
    /// Checks of the profile that certainly do not apply, and why.
    pub left_out: Vec<(&'a Check, String)>,
}

impl<'a> Record<'a> {
    /// Reads the input, with what its numbers reject and nobody has answered.
    pub fn new(input: &'a Input<'a>, calculated: &'a [Kept]) -> Self {
        let mut walks = input.history.walks();
        // Stable, so that walks of one moment stay in the order of the logs.
        walks.sort_by_key(|walk| walk.at);
        let stations = stations(input, walks.last());
        let mut record = Self {
            input,
            walks,
            letters: Letters::of(input.history),
            standings: Vec::new(),
            stations,
            asked: Vec::new(),
            left_out: Vec::new(),
        };
        let mut standings = input.history.standings();
        standings.retain(|standing| !is_overtaken(input, standing.finding));
        standings.extend(standings_of_calculated(calculated));
        standings.sort_by_cached_key(|standing| record.place(&standing.finding.check));
        record.standings = standings;
        record.sort_out_checks();
        record
    }

    fn sort_out_checks(&mut self) {
        let stage = self.walks.last().and_then(|walk| walk.started.stage.as_deref());
        let input = self.input;
        let (mut asked, mut left_out) = asked(input.rules, input.car, input.profile, stage);
        asked.sort_by_cached_key(|check| self.place(&check.id));
        self.asked = asked;
        left_out.sort_by_cached_key(|(check, _)| self.place(&check.id));
        self.left_out = left_out;
    }

    /// The rules in force.
    pub fn rules(&self) -> &'a Ruleset {
        self.input.rules
    }

    /// Who signs by the profile.
    pub fn signers(&self) -> Option<Vec<&'a str>> {
        self.input.profile.map(|profile| profile.signatures.iter().map(String::as_str).collect())
    }

    /// The code that a check, or one item of it, goes by; its id where the rules no longer have it.
    pub fn code(&self, check: &str, of: Option<&str>) -> String {
        let Some(known) = self.check(check) else { return check.to_owned() };
        let items = of.map(|_| items(known, self.input.car, self.input.numbers)).unwrap_or_default();
        code(known, of, &items, &self.letters)
    }

    /// Why a check that was answered is not asked any more; none where it still is.
    pub fn no_longer_asked(&self, check: &str) -> Option<String> {
        let stage = self.walks.last().and_then(|walk| walk.started.stage.as_deref());
        let input = self.input;
        why_not_asked(input.rules, input.car, input.profile, stage, check)
    }

    /// A check by id, where the rules in force have it.
    pub fn check(&self, id: &str) -> Option<&'a Check> {
        self.input.rules.check(id)
    }

    /// Where a check stands on the lap: checks that come first, then station and place in the files.
    pub fn place(&self, id: &str) -> (bool, usize, usize, String) {
        let at = self.input.rules.checks.iter().position(|check| check.id == id);
        let check = at.and_then(|at| self.input.rules.checks.get(at));
        let station =
            check.and_then(|check| self.stations.iter().position(|station| *station == check.station));
        let late = check.is_none_or(|check| !check.first);
        (late, station.unwrap_or(usize::MAX), at.unwrap_or(usize::MAX), id.to_owned())
    }

    /// The title of the station of a check.
    pub fn station_title(&self, check: &str) -> Option<&'a str> {
        self.station(&self.check(check)?.station)
    }

    /// The title of a station.
    pub fn station(&self, id: &'a str) -> Option<&'a str> {
        Some(self.input.rules.station(id).map_or(id, |station| &station.title))
    }

    /// The newest walk.
    pub fn newest(&self) -> Option<&WalkSeen<'a>> {
        self.walks.last()
    }

    /// The walk before it.
    pub fn previous(&self) -> Option<&WalkSeen<'a>> {
        self.walks.iter().rev().nth(1)
    }

    /// Checks answered in the newest walk; where that asked only what was open, in the whole walk before it too.
    pub fn answered(&self) -> BTreeSet<&'a str> {
        let input = self.input;
        let items = |check: &Check| items(check, input.car, input.numbers);
        answered_lately(input.rules, || Some(input.terms()), items, input.history, input.units)
    }

    /// How the answers were given: of the newest walk, and of the whole one before it where that asked only what was
    /// open.
    pub fn how_given(&self) -> Vec<HowGiven> {
        let last_whole = self.walks.iter().rposition(|walk| !walk.started.recheck).unwrap_or(0);
        let walks = self.walks.iter().skip(last_whole);
        let given = walks.map(|walk| HowGiven::of(self.input.history, walk.id));
        given.filter(|how| !how.words().is_empty()).collect()
    }

    /// The state of the car, and that in words with what stands beside it.
    pub fn state(&self) -> (CarState, String) {
        let open: Vec<Standing<'a>> = self.open().into_iter().cloned().collect();
        let signed =
            self.newest().is_some_and(|walk| is_signed(walk, self.rules().profile(&walk.started.profile)));
        let state = StateOf {
            rules: self.rules(),
            open: &open,
            against: self
                .standings
                .iter()
                .filter(|one| State::of_standing(one) == State::AcceptedAgainstLimit)
                .count(),
            asked: &self.asked,
            answered: &self.answered(),
            signed,
            being_worked: false,
            unsettled: self.input.unsettled,
        };
        (state.state(), state.words())
    }

    /// How many checks are asked, and what became of them.
    pub fn tally(&self) -> Tally {
        Tally::of(&self.asked, &self.answered(), &self.standings)
    }

    /// Checks asked that the newest walk did not answer.
    pub fn not_reached(&self) -> Vec<&'a Check> {
        let answered = self.answered();
        self.asked.iter().copied().filter(|check| !answered.contains(check.id.as_str())).collect()
    }

    /// Open items, worst first, then in the order of the lap.
    pub fn open(&self) -> Vec<&Standing<'a>> {
        let mut open: Vec<_> = self.standings.iter().filter(|standing| standing.is_open()).collect();
        open.sort_by_key(|standing| standing.cause().severity);
        open
    }

    /// The newest record that the report rests on.
    pub fn newest_record(&self) -> Option<&'a Kept> {
        self.input.history.all().iter().max_by_key(|kept| (kept.at, kept.seq))
    }

    /// Who answered: the finding's own, else the walk's.
    pub fn who(&self, finding: &Finding) -> Option<String> {
        let of_walk = || match &self.input.history.get(&finding.walk)?.entry {
            Entry::WalkStarted(started) => started.by.clone(),
            _ => None,
        };
        finding.by.clone().or_else(of_walk)
    }
}

/// Whether a reject by number that a walk kept is outside no more.
fn is_overtaken(input: &Input<'_>, finding: &Finding) -> bool {
    rules::is_overtaken(finding, input.rules, || input.terms(), input.units)
}

/// What the numbers of a car reject and nobody has answered.
pub(super) fn calculated(input: &Input<'_>) -> Vec<Kept> {
    let walks = input.history.walks();
    let stage = walks.last().and_then(|walk| walk.started.stage.as_deref());
    let (asked, _) = asked(input.rules, input.car, input.profile, stage);
    rules::calculated(input.rules, &asked, &input.terms(), input.history, input.units)
}

/// The lap that was walked, else the one that fits; stations of no lap come after it.
fn stations<'a>(input: &'a Input<'a>, walk: Option<&WalkSeen<'a>>) -> Vec<&'a str> {
    let walked = walk.and_then(|walk| walk.started.lap.as_deref());
    let lap = walked.and_then(|id| input.rules.laps.iter().find(|lap| lap.id == id));
    let lap = lap.or_else(|| lap_for(input.rules, input.car));
    let mut stations: Vec<&str> =
        lap.map_or_else(Vec::new, |lap| lap.stations.iter().map(String::as_str).collect());
    for station in &input.rules.stations {
        if !stations.contains(&station.id.as_str()) {
            stations.push(&station.id);
        }
    }
    stations
}

/// A moment as people read it, with its offset.
pub(super) fn moment(at: Moment) -> String {
    at.format("%Y-%m-%d %H:%M %:z").to_string()
}

/// "1 check", "3 checks".
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

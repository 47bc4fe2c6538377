//! A car's record as it stands: a fold over every entry kept about it. Nothing here writes.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::doubt::{Doubts, Past};
use super::entry::{Entry, Finding, Kept, Moment, Observation, Outcome, Reading, WalkStarted};
pub use super::standing::{Standing, by_weight};
use super::standing::{in_order_seen, standings};

/// Everything kept about one car, in the order it was kept.
#[derive(Clone, Debug, Default)]
pub struct History {
    kept: Vec<Kept>,
    /// Records that were taken back, each with the places in `kept` of those that say so.
    withdrawn: BTreeMap<String, Vec<usize>>,
    /// Records that nobody vouches for, by the folder they stand in: two folders may hold logs of one name.
    doubts: BTreeMap<usize, Doubts>,
    /// The time that orders each entry, beside `kept`.
    order: Vec<Moment>,
    /// The latest time of entry of each writer so far, in each folder.
    latest: BTreeMap<(usize, String), Moment>,
    /// The folder of each entry, beside `kept`: 0 is the car's own, the others stand in `joined` in their order.
    folders: Vec<usize>,
    /// Other folders whose record is read with the car's own.
    joined: Vec<JoinedFolder>,
}

/// Another folder that a person said holds the same car. A join closes nothing: what was found there stands beside what
/// was found here, until an answer is given that came after the join.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JoinedFolder {
    /// The id the car had there.
    pub car: String,
    /// The folder whose log says so: 0 for the car's own, else one more than its place in this list.
    pub under: usize,
    /// The writer of the record that says so.
    pub writer: String,
    /// That record's place in its log.
    pub seq: u64,
}

/// One walk as the record has it.
#[derive(Clone, Debug)]
pub struct WalkSeen<'h> {
    /// Its id: that of its walk-started record.
    pub id: &'h str,
    /// When it began.
    pub at: Moment,
    /// How it began.
    pub started: &'h WalkStarted,
    /// When it ended, if it did.
    pub ended: Option<Moment>,
    /// Signatures: role, name, time.
    pub signed: Vec<(&'h str, &'h str, Moment)>,
}

impl History {
    /// Folds a whole record.
    pub fn fold(records: impl IntoIterator<Item = Kept>) -> Self {
        let mut history = Self::default();
        for kept in records {
            history.apply(kept);
        }
        history
    }

    /// The same with records of the car's own folder that no head vouches for.
    #[must_use]
    pub fn with_past(self, past: impl IntoIterator<Item = Past>) -> Self {
        self.with_past_in(0, past)
    }

    /// As [`Self::with_past`], of a folder by its place: 0 is the car's own, the others those joined to it in their order.
    #[must_use]
    pub fn with_past_in(mut self, folder: usize, past: impl IntoIterator<Item = Past>) -> Self {
        self.doubts.entry(folder).or_default().add(past);
        self
    }

    /// Records that nobody vouches for, and that were not taken back.
    pub fn unconfirmed(&self) -> Vec<&Kept> {
        let doubted = self.kept.iter().filter(|kept| self.is_unconfirmed(kept));
        doubted.filter(|kept| !self.is_withdrawn(&kept.id)).collect()
    }

    /// What a person may confirm in the car's own folder.
    pub fn to_confirm(&self) -> &[Past] {
        self.doubts.get(&0).map_or(&[], Doubts::open)
    }

    /// Whether nobody vouches for a record.
    pub fn is_unconfirmed(&self, kept: &Kept) -> bool {
        let mut covering = self.doubts.iter().filter(|(_, doubts)| doubts.covers(kept)).peekable();
        covering.peek().is_some() && {
            let mut of_id = self.kept.iter().zip(&self.folders).filter(|(known, _)| known.id == kept.id);
            of_id.any(|(_, folder)| covering.clone().any(|(doubted, _)| doubted == folder))
        }
    }

    /// Folds the car's own record and those of the folders joined to it, each in the order it was kept.
    pub fn fold_joined(own: Vec<Kept>, others: Vec<(JoinedFolder, Vec<Kept>)>) -> Self {
        let (joined, records): (Vec<_>, Vec<_>) = others.into_iter().unzip();
        let mut history = Self { joined, ..Self::default() };
        let mut all = Vec::new();
        for (folder, records) in std::iter::once(own).chain(records).enumerate() {
            let mut latest = None;
            for kept in records {
                latest = latest.max(Some(kept.at));
                all.push((latest, folder, kept));
            }
        }
        // Stable: those of one folder stay in their order.
        all.sort_by_key(|(at, ..)| *at);
        all.into_iter().for_each(|(_, folder, kept)| history.apply_in(folder, kept));
        history
    }

    /// The folders joined to the car's own.
    pub fn joined(&self) -> &[JoinedFolder] {
        &self.joined
    }

    /// The id of the joined folder that an entry stands in, by its place in the order they were kept; none for the car's own.
    pub fn joined_car(&self, at: usize) -> Option<&str> {
        let folder = self.folders.get(at)?.checked_sub(1)?;
        self.joined.get(folder).map(|join| join.car.as_str())
    }

    /// Only some entries, with their place in the order they were kept. What says something of other records, such as that
    /// one was taken back, comes with them whatever day it is of.
    pub fn only(&self, wanted: impl Fn(usize, &Kept) -> bool) -> Self {
        let mut chosen = Self { joined: self.joined.clone(), ..Self::default() };
        for (folder, doubts) in &self.doubts {
            chosen = chosen.with_past_in(*folder, doubts.shown_by_heads());
        }
        for (at, (folder, kept)) in self.folders.iter().zip(&self.kept).enumerate() {
            if about_records(&kept.entry) || wanted(at, kept) {
                chosen.apply_in(*folder, kept.clone());
            }
        }
        chosen
    }

    /// Takes in one more entry of the car's own folder.
    pub fn apply(&mut self, kept: Kept) {
        self.apply_in(0, kept);
    }

    fn apply_in(&mut self, folder: usize, kept: Kept) {
        if let Entry::Withdrawn { record, .. } = &kept.entry {
            self.withdrawn.entry(record.clone()).or_default().push(self.kept.len());
        }
        self.doubts.entry(folder).or_default().take(&kept);
        // A clock that jumped back does not make a later answer an earlier one: one writer's entries stand in
        // the order they were entered, whatever its clock said.
        let latest = self.latest.entry((folder, kept.writer.clone())).or_insert(kept.at);
        *latest = kept.at.max(*latest);
        self.order.push(kept.written_at().unwrap_or(*latest));
        self.folders.push(folder);
        self.kept.push(kept);
    }

    /// Only what was seen on or before a day. What was taken back later stays taken back.
    pub fn until(&self, on: NaiveDate) -> Self {
        self.where_seen(|seen| seen.date_naive() <= on)
    }

    /// Only what was seen at or before a moment. What was taken back later stays taken back.
    pub fn seen_by(&self, moment: Moment) -> Self {
        self.where_seen(|seen| seen <= moment)
    }

    fn where_seen(&self, wanted: impl Fn(Moment) -> bool) -> Self {
        self.only(|_, kept| wanted(kept.seen_at()))
    }

    /// Whether nothing was ever kept.
    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// Every entry, withdrawn ones too.
    pub fn all(&self) -> &[Kept] {
        &self.kept
    }

    /// Whether an entry was taken back.
    pub fn is_withdrawn(&self, id: &str) -> bool {
        let by = self.withdrawn.get(id).into_iter().flatten().filter_map(|at| self.kept.get(*at));
        by.into_iter().any(|kept| !self.is_unconfirmed(kept))
    }

    /// Whether an entry was not taken back and has the effect that it says: what nobody vouches for may add, and lessens nothing.
    fn stands(&self, kept: &Kept) -> bool {
        if self.is_withdrawn(&kept.id) {
            return false;
        }
        let adds = match &kept.entry {
            // An accept of what nobody answered lessens too: the check would not be asked. Whether a reject takes the
            // place of anything shows among the other answers, and so with readings.
            Entry::Finding(finding) => {
                finding.result.is_open() && finding.result != Outcome::Repaired && finding.closes.is_none()
            }
            Entry::Reading(_) => true,
            Entry::Remark { .. } | Entry::Observation(_) | Entry::Unconfirmed { .. } => true,
            _ => false,
        };
        adds || !self.is_unconfirmed(kept)
    }

    /// An entry by its id.
    pub fn get(&self, id: &str) -> Option<&Kept> {
        self.kept.iter().find(|kept| kept.id == id)
    }

    /// Every entry that was not taken back.
    pub fn standing_entries(&self) -> impl DoubleEndedIterator<Item = &Kept> {
        self.kept.iter().filter(|kept| self.stands(kept))
    }

    /// The same, each with the time that orders it.
    fn timed_entries(&self) -> impl Iterator<Item = (Moment, &Kept)> {
        let timed = self.order.iter().copied().zip(&self.kept);
        timed.filter(|(_, kept)| self.stands(kept))
    }

    /// Findings that were not taken back, by the time they were seen.
    pub fn findings(&self) -> Vec<(&Kept, &Finding)> {
        in_order_seen(self.timed_entries().filter_map(finding).collect())
    }

    /// Findings that count for one folder, by the time they were seen: its own, and those given after it was joined to
    /// another. These came after whatever the same machine had kept in it, whatever its clock said.
    fn findings_for(&self, folder: usize) -> Vec<(&Kept, &Finding)> {
        let mut latest: BTreeMap<&str, Moment> = BTreeMap::new();
        let mut known: BTreeSet<&str> = BTreeSet::new();
        let mut found = Vec::new();
        let (mut from, mut join) = (folder, None);
        loop {
            let of_folder = self.kept.iter().zip(&self.folders).filter(|(_, folder)| **folder == from);
            let mut here = Vec::new();
            for kept in of_folder.map(|(kept, _)| kept).filter(|kept| came_after(kept, join, &known)) {
                let entered = latest.entry(&kept.writer).or_insert(kept.at);
                *entered = kept.at.max(*entered);
                here.push(kept.id.as_str());
                if self.stands(kept) {
                    found.extend(finding((kept.written_at().unwrap_or(*entered), kept)));
                }
            }
            known.extend(here);
            join = from.checked_sub(1).and_then(|at| self.joined.get(at));
            match join {
                Some(join) => from = join.under,
                None => break,
            }
        }
        in_order_seen(found)
    }

    /// What stands for every item of every check. An accept, a not-fitted or a claim of repair without an item holds for
    /// all of them.
    pub fn standings(&self) -> Vec<Standing<'_>> {
        self.side_by_side(|_| true)
    }

    /// What stands for some findings in each folder. An answer that counts for several of them stands once.
    fn side_by_side(&self, wanted: impl Fn(&Finding) -> bool) -> Vec<Standing<'_>> {
        let of_folder = |folder: usize| {
            let mut findings =
                if self.joined.is_empty() { self.findings() } else { self.findings_for(folder) };
            findings.retain(|(_, finding)| wanted(finding));
            standings(findings, |kept| self.is_unconfirmed(kept))
        };
        let mut all = of_folder(0);
        for folder in 1..=self.joined.len() {
            for standing in of_folder(folder) {
                let same =
                    all.iter_mut().find(|known| known.of == standing.of && known.kept.id == standing.kept.id);
                match same {
                    // A claim of repair is about the worst of what it may have repaired.
                    Some(known) if standing.cause().severity < known.cause().severity => *known = standing,
                    Some(_) => {}
                    None => all.push(standing),
                }
            }
        }
        all
    }

    /// What stands for every item of one check.
    pub fn standings_of(&self, check: &str) -> Vec<Standing<'_>> {
        self.side_by_side(|finding| finding.check == check)
    }

    /// What stands for one check: the open item that matters most, else the newest answer.
    pub fn standing_of(&self, check: &str) -> Option<Standing<'_>> {
        let mut of_check = self.standings_of(check);
        of_check.sort_by_key(|standing| (!standing.is_open(), std::cmp::Reverse(standing.kept.seen_at())));
        of_check.into_iter().next()
    }

    /// Items that are open, the worst first.
    pub fn open(&self) -> Vec<Standing<'_>> {
        let mut open: Vec<Standing<'_>> = self.standings().into_iter().filter(Standing::is_open).collect();
        open.sort_by_key(|standing| (standing.cause().severity, standing.kept.seen_at()));
        open
    }

    /// Walks, the oldest first.
    pub fn walks(&self) -> Vec<WalkSeen<'_>> {
        let mut walks: Vec<WalkSeen<'_>> = Vec::new();
        for kept in self.standing_entries() {
            match &kept.entry {
                Entry::WalkStarted(started) => {
                    walks.push(WalkSeen {
                        id: &kept.id,
                        at: kept.at,
                        started,
                        ended: None,
                        signed: Vec::new(),
                    });
                }
                Entry::WalkEnded { walk, .. } => {
                    if let Some(seen) = walks.iter_mut().find(|seen| seen.id == walk) {
                        seen.ended = Some(kept.at);
                    }
                }
                Entry::Signed { walk, role, by } => {
                    if let Some(seen) = walks.iter_mut().find(|seen| seen.id == walk) {
                        seen.signed.push((role, by, kept.at));
                    }
                }
                _ => {}
            }
        }
        walks
    }

    /// The newest walk of a profile that has not ended.
    pub fn open_walk(&self, profile: &str) -> Option<WalkSeen<'_>> {
        self.walks().into_iter().rev().find(|walk| walk.ended.is_none() && walk.started.profile == profile)
    }

    /// The newest reading of each key.
    pub fn readings(&self) -> BTreeMap<&str, (&Kept, &Reading)> {
        let mut readings: BTreeMap<&str, (Moment, &Kept, &Reading)> = BTreeMap::new();
        for (at, kept) in self.timed_entries() {
            if let Entry::Reading(reading) = &kept.entry {
                let known = readings.get(reading.key.as_str());
                let newer = known.is_none_or(|(known, ..)| *known <= at && !self.is_unconfirmed(kept));
                if newer {
                    readings.insert(&reading.key, (at, kept, reading));
                }
            }
        }
        readings.into_iter().map(|(key, (_, kept, reading))| (key, (kept, reading))).collect()
    }

    /// Notes and photos without an answer, by the time they were seen. They stay when an answer is taken back.
    pub fn observations(&self) -> Vec<(&Kept, &Observation)> {
        let mut found: Vec<(Moment, &Kept, &Observation)> = self
            .timed_entries()
            .filter_map(|(at, kept)| match &kept.entry {
                Entry::Observation(observation) => Some((at, kept, observation.as_ref())),
                _ => None,
            })
            .collect();
        found.sort_by_key(|(at, ..)| *at);
        found.into_iter().map(|(_, kept, observation)| (kept, observation)).collect()
    }

    /// Those of one check and item; of the whole check with `None`.
    pub fn observations_of(&self, check: &str, of: Option<&str>) -> Vec<(&Kept, &Observation)> {
        let mut found = self.observations();
        found.retain(|(_, observation)| observation.check == check && observation.of.as_deref() == of);
        found
    }

    /// Those that stand beside an item: of the item, and of its check as a whole.
    pub fn observations_beside(&self, standing: &Standing<'_>) -> Vec<(&Kept, &Observation)> {
        let mut found = self.observations();
        found.retain(|(_, observation)| {
            let of =
                standing.of.is_none() || observation.of.is_none() || observation.of.as_deref() == standing.of;
            of && observation.check == standing.finding.check
        });
        found
    }

    /// What was noted on an item: with its answer, and beside it.
    pub fn notes_on<'h>(&'h self, standing: &'h Standing<'_>) -> Vec<&'h str> {
        let beside = self.observations_beside(standing).into_iter();
        let beside = beside.filter_map(|(_, observation)| observation.note.as_deref());
        standing.cause().note.as_deref().into_iter().chain(beside).collect()
    }

    /// Those of checks and items that nobody has answered: noted, and not judged.
    pub fn not_judged(&self) -> Vec<(&Kept, &Observation)> {
        let standings = self.standings();
        let answered = |observation: &Observation| {
            standings.iter().any(|standing| {
                let of = standing.of.is_none()
                    || observation.of.is_none()
                    || standing.of == observation.of.as_deref();
                of && standing.finding.check == observation.check
            })
        };
        let mut found = self.observations();
        found.retain(|(_, observation)| !answered(observation));
        found
    }

    /// Whether an entry was kept after its walk was signed.
    pub fn is_after_signing(&self, kept: &Kept, walk: &str) -> bool {
        let signed = |other: &&Kept| matches!(&other.entry, Entry::Signed { walk: of, .. } if of == walk);
        let signings = self.standing_entries().filter(signed);
        signings.into_iter().any(|signing| match signing.writer == kept.writer {
            true => signing.seq < kept.seq,
            false => signing.at < kept.at,
        })
    }

    /// Remarks beside a record, or for the whole car with `None`.
    pub fn remarks(&self, about: Option<&str>) -> Vec<(&Kept, &str)> {
        self.standing_entries()
            .filter_map(|kept| match &kept.entry {
                Entry::Remark { record, text, .. } if record.as_deref() == about => {
                    Some((kept, text.as_str()))
                }
                _ => None,
            })
            .collect()
    }
}

/// Entries that say something of other records, whatever day they are of.
fn about_records(entry: &Entry) -> bool {
    matches!(
        entry,
        Entry::Withdrawn { .. } | Entry::Unconfirmed { .. } | Entry::Confirmed { .. } | Entry::Settled { .. }
    )
}

/// A finding with its time, where the entry is one.
fn finding((at, kept): (Moment, &Kept)) -> Option<(Moment, &Kept, &Finding)> {
    match &kept.entry {
        Entry::Finding(finding) => Some((at, kept, finding.as_ref())),
        _ => None,
    }
}

/// Whether an entry came after a join: it stands behind it in the same log, or it closes something of the other folder.
fn came_after(kept: &Kept, join: Option<&JoinedFolder>, known: &BTreeSet<&str>) -> bool {
    let Some(join) = join else { return true };
    let names = match &kept.entry {
        Entry::Finding(finding) => finding.closes.as_deref().is_some_and(|id| known.contains(id)),
        _ => false,
    };
    names || (kept.writer == join.writer && kept.seq > join.seq)
}

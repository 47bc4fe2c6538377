//! A car's record as it stands: a fold over every entry kept about it. Nothing here writes.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::doubt::{Doubts, Past};
use super::entry::{Entry, Finding, Kept, Moment, Observation, Outcome, Reading, Severity, WalkStarted};

/// Everything kept about one car, in the order it was kept.
#[derive(Clone, Debug, Default)]
pub struct History {
    kept: Vec<Kept>,
    /// Records that were taken back, each with the places in `kept` of those that say so.
    withdrawn: BTreeMap<String, Vec<usize>>,
    /// Records that nobody vouches for.
    doubts: Doubts,
    /// The time that orders each entry, beside `kept`.
    order: Vec<Moment>,
    /// The latest time of entry of each writer so far.
    latest: BTreeMap<String, Moment>,
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

/// What stands for one item of one check: the newest answer, and what it answers.
#[derive(Clone, Debug)]
pub struct Standing<'h> {
    /// The item it is of; its newest answer may be one for the whole check.
    pub of: Option<&'h str>,
    /// The newest answer.
    pub kept: &'h Kept,
    /// Its finding.
    pub finding: &'h Finding,
    /// The open answer it came after, where it is a claim of repair or closes one.
    pub before: Option<&'h Kept>,
    /// The answer that opened the item, where it is or was open.
    pub opened: Option<&'h Kept>,
}

impl Standing<'_> {
    /// Whether the item is open.
    pub fn is_open(&self) -> bool {
        self.finding.result.is_open()
    }

    /// The finding whose severity and value tell what was wrong: the one that opened the item, for a claim of repair.
    pub fn cause(&self) -> &Finding {
        match (self.finding.result, self.opened.map(|kept| &kept.entry)) {
            (Outcome::Repaired, Some(Entry::Finding(finding))) => finding,
            _ => self.finding,
        }
    }
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

    /// The same with records that no head vouches for.
    #[must_use]
    pub fn with_past(mut self, past: impl IntoIterator<Item = Past>) -> Self {
        self.doubts.add(past);
        self
    }

    /// Records that nobody vouches for, and that were not taken back.
    pub fn unconfirmed(&self) -> Vec<&Kept> {
        let doubted = self.kept.iter().filter(|kept| self.doubts.covers(kept));
        doubted.filter(|kept| !self.is_withdrawn(&kept.id)).collect()
    }

    /// What a person may confirm.
    pub fn to_confirm(&self) -> &[Past] {
        self.doubts.open()
    }

    /// Whether nobody vouches for a record.
    pub fn is_unconfirmed(&self, kept: &Kept) -> bool {
        self.doubts.covers(kept)
    }

    /// Takes in one more entry.
    pub fn apply(&mut self, kept: Kept) {
        if let Entry::Withdrawn { record, .. } = &kept.entry {
            self.withdrawn.entry(record.clone()).or_default().push(self.kept.len());
        }
        self.doubts.take(&kept);
        // A clock that jumped back does not make a later answer an earlier one: one writer's entries stand in
        // the order they were entered, whatever its clock said.
        let entered = match self.latest.get_mut(&kept.writer) {
            Some(latest) => {
                *latest = kept.at.max(*latest);
                *latest
            }
            None => {
                self.latest.insert(kept.writer.clone(), kept.at);
                kept.at
            }
        };
        self.order.push(kept.written_at().unwrap_or(entered));
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
        let kept = self.kept.iter();
        let chosen = kept.filter(|kept| about_records(&kept.entry) || wanted(kept.seen_at()));
        Self::fold(chosen.cloned()).with_past(self.doubts.shown_by_heads())
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
        by.into_iter().any(|kept| !self.doubts.covers(kept))
    }

    /// Whether an entry was not taken back and has the effect that it says: what nobody vouches for may add, and lessens nothing.
    fn stands(&self, kept: &Kept) -> bool {
        if self.is_withdrawn(&kept.id) {
            return false;
        }
        let adds = match &kept.entry {
            // Whether it closes or supersedes anything shows among the other answers, and readings.
            Entry::Finding(finding) => finding.result != Outcome::Repaired && finding.closes.is_none(),
            Entry::Reading(_) => true,
            Entry::Remark { .. } | Entry::Observation(_) | Entry::Unconfirmed { .. } => true,
            _ => false,
        };
        adds || !self.doubts.covers(kept)
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
        let mut found: Vec<(Moment, &Kept, &Finding)> = self
            .timed_entries()
            .filter_map(|(at, kept)| match &kept.entry {
                Entry::Finding(finding) => Some((at, kept, finding.as_ref())),
                _ => None,
            })
            .collect();
        let named = after_what_they_name(&mut found);
        // Stable: what was seen at one moment stays in the order it was entered.
        let mut found: Vec<_> = found.into_iter().zip(named).collect();
        found.sort_by_key(|((at, ..), named)| (*at, *named));
        found.into_iter().map(|((_, kept, finding), _)| (kept, finding)).collect()
    }

    /// What stands for every item of every check. An accept, a not-fitted or a claim of repair without an item holds for
    /// all of them.
    pub fn standings(&self) -> Vec<Standing<'_>> {
        standings(self.findings(), &self.doubts)
    }

    /// What stands for every item of one check.
    pub fn standings_of(&self, check: &str) -> Vec<Standing<'_>> {
        let mut findings = self.findings();
        findings.retain(|(_, finding)| finding.check == check);
        standings(findings, &self.doubts)
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
                let newer = known.is_none_or(|(known, ..)| *known <= at && !self.doubts.covers(kept));
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

/// Whether an answer would take the place of one that is open, or would close any.
fn lessens(
    items: &BTreeMap<(&str, Option<&str>), Standing<'_>>,
    key: (&str, Option<&str>),
    finding: &Finding,
) -> bool {
    let answered = items.get(&key).is_some_and(|known| known.is_open() || !finding.result.is_open());
    let mut of_check = items.iter().filter(|((check, _), _)| *check == key.0);
    let closes = key.1.is_none() && !finding.result.is_open() && of_check.any(|(_, known)| known.is_open());
    answered || closes
}

/// Entries that say something of other records, whatever day they are of.
fn about_records(entry: &Entry) -> bool {
    matches!(
        entry,
        Entry::Withdrawn { .. } | Entry::Unconfirmed { .. } | Entry::Confirmed { .. } | Entry::Settled { .. }
    )
}

/// What findings come to, in the order they were seen. Those of one check tell nothing of another.
fn standings<'h>(findings: Vec<(&'h Kept, &'h Finding)>, doubts: &Doubts) -> Vec<Standing<'h>> {
    let mut items: BTreeMap<(&str, Option<&str>), Standing<'_>> = BTreeMap::new();
    for (kept, finding) in findings {
        let key = (finding.check.as_str(), finding.of.as_deref());
        if doubts.covers(kept) && lessens(&items, key, finding) {
            continue;
        }
        let before = items.get(&key).map(|standing| standing.kept);
        let opened = opened(items.get(&key), kept, finding);
        if items.get(&key).is_some_and(|standing| unaware(standing, kept, finding)) {
            continue;
        }
        if finding.of.is_none() && (!finding.result.is_open() || finding.result == Outcome::Repaired) {
            let any = answer_items(&mut items, kept, finding);
            // A claim of repair without an item is about the items that are open, not about one more.
            if any && finding.result == Outcome::Repaired {
                continue;
            }
        }
        items.insert(key, Standing { of: key.1, kept, finding, before, opened });
    }
    items.into_values().collect()
}

/// How many of some items weigh what: stop, fix, note.
pub fn by_weight<'s, 'h: 's>(items: impl IntoIterator<Item = &'s Standing<'h>>) -> [usize; 3] {
    let weights: Vec<Severity> = items.into_iter().map(|standing| standing.cause().severity).collect();
    [Severity::Stop, Severity::Fix, Severity::Note]
        .map(|weight| weights.iter().filter(|known| **known == weight).count())
}

/// Puts an answer that closes another after it, and its writer's next ones after that: it was seen by who closed it,
/// whatever two clocks say. Gives which were moved, in the order given: the order of entry.
fn after_what_they_name(found: &mut [(Moment, &Kept, &Finding)]) -> Vec<bool> {
    let times: BTreeMap<&str, Moment> = found.iter().map(|(at, kept, _)| (kept.id.as_str(), *at)).collect();
    let mut latest: BTreeMap<&str, Moment> = BTreeMap::new();
    let mut moved = Vec::with_capacity(found.len());
    for (at, kept, finding) in found {
        let named = finding.closes.as_deref().and_then(|id| times.get(id).copied());
        // What is written on a paper has the time of the paper.
        let before =
            latest.get(kept.writer.as_str()).copied().max(named).filter(|_| kept.written_at().is_none());
        moved.push(before.is_some_and(|before| before >= *at));
        if let Some(before) = before {
            *at = before.max(*at);
            latest.insert(&kept.writer, *at);
        }
    }
    moved
}

/// Whether an answer closes an open item of another machine that its own knew nothing of: a clock that is ahead, or
/// a record that came later, would hide what somebody found. Who closes an item names it.
fn unaware(open: &Standing<'_>, kept: &Kept, finding: &Finding) -> bool {
    let names = |known: &Kept| finding.closes.as_ref() == Some(&known.id);
    let known = names(open.kept) || open.opened.is_some_and(names);
    open.is_open() && !finding.result.is_open() && open.kept.writer != kept.writer && !known
}

/// The answer that opened an item: kept through claims of repair and closings, begun anew by the next open answer.
fn opened<'h>(earlier: Option<&Standing<'h>>, kept: &'h Kept, finding: &Finding) -> Option<&'h Kept> {
    let known = earlier.and_then(|standing| standing.opened);
    match (finding.result, earlier) {
        (Outcome::Repaired, _) => known.or(Some(kept)),
        (result, Some(standing)) if result.is_open() && standing.is_open() => known.or(Some(kept)),
        (result, _) if result.is_open() => Some(kept),
        _ => known,
    }
}

/// An answer for the whole check answers each of its open items; whether there were any.
fn answer_items<'h>(
    items: &mut BTreeMap<(&'h str, Option<&'h str>), Standing<'h>>,
    kept: &'h Kept,
    finding: &'h Finding,
) -> bool {
    let mut any = false;
    for ((check, of), standing) in items.iter_mut() {
        let blind = finding.closes.is_none() && unaware(standing, kept, finding);
        if *check == finding.check && standing.is_open() && !blind {
            *standing =
                Standing { of: *of, kept, finding, before: Some(standing.kept), opened: standing.opened };
            any = true;
        }
    }
    any
}

//! What several answers to one item of one check come to: which of them stands, and what it answers.

use std::collections::BTreeMap;

use super::entry::{Entry, Finding, Kept, Moment, Outcome, Severity};

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

/// Findings by the time they were seen.
pub(super) fn in_order_seen<'h>(
    mut found: Vec<(Moment, &'h Kept, &'h Finding)>,
) -> Vec<(&'h Kept, &'h Finding)> {
    let named = after_what_they_name(&mut found);
    // Stable: what was seen at one moment stays in the order it was entered.
    let mut found: Vec<_> = found.into_iter().zip(named).collect();
    found.sort_by_key(|((at, ..), named)| (*at, *named));
    found.into_iter().map(|((_, kept, finding), _)| (kept, finding)).collect()
}

/// What findings come to, in the order they were seen. Those of one check tell nothing of another.
pub(super) fn standings<'h>(
    findings: Vec<(&'h Kept, &'h Finding)>,
    is_unconfirmed: impl Fn(&Kept) -> bool,
) -> Vec<Standing<'h>> {
    let mut items: BTreeMap<(&str, Option<&str>), Standing<'_>> = BTreeMap::new();
    for (kept, finding) in findings {
        let key = (finding.check.as_str(), finding.of.as_deref());
        if is_unconfirmed(kept) && lessens(&items, key, finding) {
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

/// How many of some items weigh what: stop, fix, note. What a number rejects, and somebody could not see or decide, is one.
pub fn by_weight<'s, 'h: 's>(items: impl IntoIterator<Item = &'s Standing<'h>>) -> [usize; 3] {
    let items: Vec<&Standing<'_>> = items.into_iter().collect();
    let rejected = |one: &Standing<'_>| {
        let about = |of: Option<&str>| one.of.is_none() || one.of == of;
        let unsettled = matches!(one.finding.result, Outcome::NotSeen | Outcome::Undecided | Outcome::NotYet);
        unsettled
            && items.iter().any(|other| {
                other.kept.seq == 0 && other.finding.check == one.finding.check && about(other.of)
            })
    };
    let counted = items.iter().filter(|one| !rejected(one));
    let weights: Vec<Severity> = counted.map(|standing| standing.cause().severity).collect();
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

//! Two rulesets beside each other, check by check, in words.

use super::check::Check;
use super::lessens::check_less;
use super::ruleset::Ruleset;

/// What one check is in the second ruleset against the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// `comes`, `goes`, `tightens`, `loosens`, `tightens and loosens`, or `changes` where only words or order differ.
    pub what: &'static str,
    /// Its code or id, and its title.
    pub check: String,
    /// In which way, each in a few words.
    pub ways: Vec<String>,
}

/// Every check that differs, in the order of the second ruleset, those that go last.
pub fn differences(first: &Ruleset, second: &Ruleset) -> Vec<Difference> {
    let mut found: Vec<Difference> = Vec::new();
    for check in &second.checks {
        match first.check(&check.id) {
            None => found.push(one("comes", check, vec![check.severity.word().to_owned()])),
            Some(before) => found.extend(between(first, second, before, check)),
        }
    }
    for check in first.checks.iter().filter(|check| second.check(&check.id).is_none()) {
        let off = second.dropped.iter().find(|dropped| dropped.id == check.id);
        let reason = off.map(|dropped| format!("off: {}", dropped.reason));
        found.push(one("goes", check, reason.into_iter().collect()));
    }
    found
}

fn one(what: &'static str, check: &Check, ways: Vec<String>) -> Difference {
    let name = check.code.as_deref().unwrap_or(&check.id);
    Difference { what, check: format!("{name} {}", check.title), ways }
}

fn between(first: &Ruleset, second: &Ruleset, before: &Check, after: &Check) -> Option<Difference> {
    let looser = check_less(second, before, after);
    let tighter = check_less(first, after, before);
    // Seen from the other side the words name the new value first.
    let turned = |words: &str| {
        let Some((head, tail)) = words.split_once(" -> ") else { return format!("no longer so: {words}") };
        let (name, old) = head.rsplit_once(": ").unwrap_or(("", head));
        let (bound, old) = old.split_once(' ').unwrap_or(("", old));
        let name = if name.is_empty() { String::new() } else { format!("{name}: ") };
        format!("{name}{bound} {tail} -> {old}")
    };
    let mut ways: Vec<String> = tighter.iter().map(|less| turned(&less.words)).collect();
    let more: Vec<String> =
        looser.iter().map(|less| less.words.clone()).filter(|words| !ways.contains(words)).collect();
    ways.extend(more);
    let what = match (tighter.is_empty(), looser.is_empty()) {
        (false, true) => "tightens",
        (true, false) => "loosens",
        (false, false) => "tightens and loosens",
        (true, true) => {
            let keys = changed_keys(before, after);
            if keys.is_empty() {
                return None;
            }
            return Some(one("changes", after, vec![keys.join(", ")]));
        }
    };
    Some(one(what, after, ways))
}

/// Keys that read otherwise, or that only one of the two has.
fn changed_keys(before: &Check, after: &Check) -> Vec<String> {
    let told = |key: &str| !matches!(key, "case" | "reason" | "clear");
    let text = |check: &Check, key: &str| check.table.get(key).map(super::written::inline);
    let both = before.table.entries.iter().chain(&after.table.entries).map(|(key, _)| key.text.as_str());
    let mut keys: Vec<&str> = both.filter(|key| told(key) && text(before, key) != text(after, key)).collect();
    keys.sort_unstable();
    keys.dedup();
    keys.into_iter().map(|key| key.replace('_', " ")).collect()
}

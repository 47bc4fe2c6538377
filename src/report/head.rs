//! The title block: which car, which rules, which walks, and what the reader has to know first.

use crate::model::Car;
use crate::model::entry::{Entry, short_id};
use crate::model::given::HowGiven;
use crate::model::history::{WalkSeen, by_weight};
use crate::rules::{CLOSING, Layer, NOTICE, Ruleset};

use super::document::{Document, Pair};
use super::facts::{Facts, State};
use super::input::Kind;
use super::record::{Record, count, moment};

/// The document without its body.
pub(super) fn document(record: &Record<'_>, kind: Kind, mut facts: Facts) -> Document {
    facts.warnings = warnings(record);
    let input = record.input;
    let newest = record.newest_record();
    Document {
        word: kind.word(),
        narrow: kind == Kind::Slip,
        title: kind.title().to_owned(),
        subject: subject(input.car),
        shop: input.shop.clone(),
        warnings: facts.warnings.clone(),
        notices: notices(input.rules),
        head: if kind == Kind::Slip { short(record, &facts) } else { pairs(record, &facts) },
        sections: Vec::new(),
        closing: if kind == Kind::Slip {
            of_clubs(input.rules)
        } else {
            vec![NOTICE.to_owned(), CLOSING.to_owned()]
        },
        record: newest.map(|kept| kept.id.clone()),
        record_at: newest.map(|kept| kept.at),
        car: input.car.id.clone(),
        on: input.on,
        facts,
    }
}

/// The car in one line.
pub(super) fn subject(car: &Car) -> String {
    let name = car.name.as_deref().map(|name| format!(" {name}")).unwrap_or_default();
    format!("Car {}{name}", car.number)
}

/// The notice, then those of the rule files.
pub(super) fn notices(rules: &Ruleset) -> Vec<String> {
    let layers = rules
        .layers
        .iter()
        .filter_map(|layer| layer.notice.clone())
        .filter(|notice| !notice.trim().is_empty());
    let mut notices = vec![NOTICE.to_owned()];
    for notice in layers {
        if !notices.contains(&notice) {
            notices.push(notice);
        }
    }
    notices
}

/// What a slip ends with: the notices of files that extend others, then the notice. That of the rules at the root is on the
/// report.
fn of_clubs(rules: &Ruleset) -> Vec<String> {
    let root = rules.layers.first().and_then(|layer| layer.notice.clone());
    let mut closing = notices(rules);
    closing.retain(|notice| Some(notice) != root.as_ref() && notice != NOTICE);
    closing.push(NOTICE.to_owned());
    closing
}

/// Stale rules first, then what is wrong with the record.
fn warnings(record: &Record<'_>) -> Vec<String> {
    let input = record.input;
    let mut warnings: Vec<String> = input.rules.sentences_of_day(input.on);
    if let Some(last) = record.newest_record().filter(|kept| kept.at > input.now) {
        warnings.push(format!(
            "The newest record is of {}, later than this machine's clock: one of them is wrong.",
            moment(last.at)
        ));
    }
    let corrected = record.walks.iter().filter_map(|walk| Some((walk, walk.started.clock_correction?)));
    for (walk, seconds) in corrected.filter(|(_, seconds)| *seconds != 0) {
        warnings.push(format!(
            "The clock was said to be wrong in the walk of {}: add {seconds} s to its times.",
            moment(walk.at)
        ));
    }
    warnings.extend(input.trouble.iter().cloned());
    warnings
}

/// The title block of a slip: when, the state with its counts, then what stands at its foot.
fn short(record: &Record<'_>, facts: &Facts) -> Vec<Pair> {
    let newest = record.newest_record();
    let at = newest.map_or_else(
        || record.input.on.to_string(),
        |kept| kept.seen_at().format("%Y-%m-%d %H:%M").to_string(),
    );
    let program = record.input.made_by.replace(", commit ", " ");
    let open = record.open();
    let [stop, fix, note] = by_weight(open.iter().copied());
    let mut pairs = vec![
        Pair::new("time", at),
        Pair::new("state", format!("{}   {stop} STOP  {fix} FIX  {note} NOTE", facts.state.word())),
        Pair::new("rules", format!("{}; {program}", editions(record.rules()))),
    ];
    pairs.extend(how_given(&facts.how_given, "given").pop());
    pairs.extend(newest.map(|kept| Pair::new("record", format!("record {}", short_id(&kept.id)))));
    pairs
}

/// How the answers were given, a line for each walk.
fn how_given(walks: &[HowGiven], label: &str) -> Vec<Pair> {
    let line = |how: &HowGiven| {
        let what = if how.recheck { "recheck: " } else { "" };
        Pair::new(label, format!("{what}{}", how.words()))
    };
    walks.iter().map(line).collect()
}

/// Every layer with its edition.
pub(super) fn editions(rules: &Ruleset) -> String {
    rules.layers.iter().map(|layer| format!("{} {}", layer.id, layer.edition)).collect::<Vec<_>>().join(", ")
}

/// The title block of every other report.
fn pairs(record: &Record<'_>, facts: &Facts) -> Vec<Pair> {
    let car = record.input.car;
    let mut pairs = vec![Pair::new("Car", format!("number {}, id {}", car.number, car.id))];
    pairs.extend(car.name.iter().map(|name| Pair::new("Name", name)));
    pairs.extend(car.keeper.iter().map(|keeper| Pair::new("Keeper", keeper)));
    pairs.extend(Some(&car.file).filter(|file| !file.is_empty()).map(|file| Pair::new("File", file)));
    for join in record.input.history.joined() {
        pairs.push(Pair::new("With", format!("the record of {}, which is the same car", join.car)));
    }
    pairs.push(Pair::new("Due as of", record.input.on.to_string()));
    pairs.push(Pair::new(
        "Profile",
        record.input.profile.map_or_else(|| "every check".to_owned(), |p| format!("{} ({})", p.title, p.id)),
    ));
    pairs.extend(
        record.rules().layers.iter().map(|layer| Pair::new("Rules", layer_words(record.rules(), layer))),
    );
    if let Some(walk) = record.newest() {
        pairs.push(Pair::new("Walk", walk_words(walk)));
        pairs.extend(
            walk.started
                .rulebook
                .iter()
                .map(|rulebook| Pair::new("Rulebook", format!("noted by the person: {rulebook}"))),
        );
    }
    pairs.extend(how_given(&facts.how_given, "Answers"));
    if record.walks.len() > 1 {
        pairs.push(Pair::new("Earlier", count(record.walks.len() - 1, "walk before it", "walks before it")));
    }
    pairs.push(Pair::new("State", &facts.state_words));
    pairs.push(Pair::new("Checks", facts.checks.words()));
    pairs.push(Pair::new("Summary", summary(record, facts)));
    if let Some(newest) = record.newest_record() {
        pairs.push(Pair::new("Record", format!("up to {} of {}", newest.id, moment(newest.at))));
    }
    pairs.push(Pair::new("Made by", &record.input.made_by));
    pairs
}

/// A layer with its edition, what it changed and what it dropped.
fn layer_words(rules: &Ruleset, layer: &Layer) -> String {
    let mut text = format!("{} {}, {}", layer.id, layer.edition, layer.title);
    let first = rules.layers.first().is_some_and(|first| first.id == layer.id);
    let touched: Vec<&str> = rules
        .checks
        .iter()
        .filter(|check| check.place.file.name == layer.file)
        .map(|check| check.id.as_str())
        .collect();
    if first {
        text = format!("{text}: {}", count(rules.checks.len(), "check in force", "checks in force"));
    } else if !touched.is_empty() {
        text = format!("{text}; changes or adds {}", touched.join(", "));
    }
    let dropped = rules.dropped.iter().filter(|dropped| dropped.layer == layer.id);
    let dropped: Vec<String> =
        dropped.map(|dropped| format!("{} ({})", dropped.id, dropped.reason)).collect();
    if !dropped.is_empty() {
        text = format!("{text}; drops {}", dropped.join(", "));
    }
    let less: Vec<String> =
        rules.lessened_by(&layer.id).map(|less| format!("{} ({})", less.id, less.reason)).collect();
    if less.is_empty() { text } else { format!("{text}; asks or stops less at {}", less.join(", ")) }
}

/// When, who, which profile, ended or not.
fn walk_words(walk: &WalkSeen<'_>) -> String {
    let by = walk.started.by.as_deref().map(|by| format!(" by {by}")).unwrap_or_default();
    let stage = walk.started.stage.as_deref().map(|stage| format!(", stage {stage}")).unwrap_or_default();
    let ended = walk.ended.map_or_else(|| "not ended".to_owned(), |at| format!("ended {}", moment(at)));
    format!("{}{by}, profile {}{stage}, {ended}", moment(walk.at), walk.started.profile)
}

/// How many of what.
fn summary(record: &Record<'_>, facts: &Facts) -> String {
    let answered =
        record.input.history.standing_entries().any(|kept| matches!(kept.entry, Entry::Finding(_)));
    if !answered {
        let nothing = "nothing has been checked";
        let open = record.open();
        let [stop, fix, note] = by_weight(open.iter().copied());
        return match open.len() {
            0 => nothing.to_owned(),
            _ => format!(
                "open {stop} stop, {fix} fix, {note} note (calculated; nobody has looked yet), {nothing}"
            ),
        };
    }
    let number = |state: State| facts.in_state(&[state]).count();
    let told = |parts: &[(usize, &str)]| -> Vec<String> {
        parts
            .iter()
            .filter(|(number, _)| *number > 0)
            .map(|(number, word)| format!("{number} {word}"))
            .collect()
    };
    let open = record.open();
    let how = told(&[
        (number(State::Open), "to be mended or decided"),
        (number(State::Repaired), "said to be repaired"),
        (number(State::NotYet), "not yet fitted"),
        (facts.not_seen.len(), "not seen"),
    ]);
    let mut said = vec![if open.is_empty() {
        "no item noted as open".to_owned()
    } else {
        let [stop, fix, note] = by_weight(open);
        format!("open {stop} stop, {fix} fix, {note} note ({})", how.join(", "))
    }];
    said.extend(told(&[
        (number(State::AcceptedAgainstLimit), "accepted against the limit"),
        (facts.not_reached.len(), "not reached"),
    ]));
    said.join(", ")
}

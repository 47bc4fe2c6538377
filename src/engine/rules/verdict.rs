//! What a value means against its limit: accept, reject, or undecided with the chance and the remedy.

use chrono::NaiveDate;

use crate::model::entry::Outcome;
use crate::numbers::{Bound, Number, NumberValue};
use crate::physics::conformity::{Decision, Shape, chance_inside, decide};
use crate::physics::hold::{Doubt, Judgement};
use crate::units::{Kind, Span, Units, show, show_in, significant};

use super::expression::Terms;
use super::limits::{ComputeRow, DateRow, Limit, MeasureRow, WordOrFlag};
use super::ruleset::{Instrument, Ruleset};

/// A billionth of grace, so that 1/2 in typed in any unit is 1/2 in.
pub(super) const GRACE: f64 = 1e-9;
/// The shares of all draws at which the ends of a band lie.
pub(super) const LOW: f64 = 0.025;
pub(super) const HIGH: f64 = 0.975;

/// What a value means.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The verdict.
    pub outcome: Outcome,
    /// Chance that the true value is inside the limits.
    pub chance: Option<f64>,
    /// Where it stands, in one line.
    pub says: String,
    /// What would decide, where it is undecided.
    pub remedy: Option<String>,
    /// Inside the limit but short of what is aimed at.
    pub short_of_aim: bool,
    /// Inside the limit and near it.
    pub near: bool,
    /// Outside the limit, but only by what the car file assumes: it is to be measured or looked at before anything else, and is
    /// no reject.
    pub looks_wrong: bool,
}

impl Judged {
    fn plain(outcome: Outcome, says: impl Into<String>) -> Self {
        let (says, chance, remedy) = (says.into(), None, None);
        Self { outcome, chance, says, remedy, short_of_aim: false, near: false, looks_wrong: false }
    }
}

/// The worst of several verdicts: reject, undecided, refused, accept; `None` where there are none.
pub fn worst(outcomes: impl IntoIterator<Item = Outcome>) -> Option<Outcome> {
    outcomes.into_iter().min_by_key(|outcome| rank(*outcome))
}

/// The severest verdict comes first.
pub(super) fn rank(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Reject => 0,
        Outcome::Undecided => 1,
        Outcome::Refused => 2,
        _ => 3,
    }
}

/// None for a limit without end: a worked limit may have none.
fn grace(limit: &Limit) -> f64 {
    if limit.si.is_finite() { GRACE * limit.si.abs().max(1e-6) } else { 0.0 }
}

fn below(si: f64, limit: &Limit) -> bool {
    si < limit.si - grace(limit)
}

fn above(si: f64, limit: &Limit) -> bool {
    si > limit.si + grace(limit)
}

/// Value against limit, limit included.
fn inside(si: f64, min: Option<&Limit>, max: Option<&Limit>) -> bool {
    !min.is_some_and(|limit| below(si, limit)) && !max.is_some_and(|limit| above(si, limit))
}

/// "1/8 in under the least 1/2 in": where a value stands.
fn position(si: f64, min: Option<&Limit>, max: Option<&Limit>, kind: Kind, units: Units) -> String {
    let typed = |limit: &Limit| limit.shown(kind, units);
    // A difference of temperatures is typed in another kind than the temperatures.
    let apart = if kind == Kind::Temperature { Kind::TemperatureDifference } else { kind };
    let by = |limit: &Limit| {
        let away = (si - limit.si).abs();
        // A share whose limit is in percent stands that many percent away.
        let percent = (kind == Kind::Ratio && typed(limit).ends_with('%')).then(|| show_in(away, kind, "%"));
        percent.flatten().unwrap_or_else(|| show(away, apart, units))
    };
    match (min, max) {
        (Some(limit), _) if below(si, limit) => format!("{} below the minimum, {}", by(limit), typed(limit)),
        (_, Some(limit)) if above(si, limit) => format!("{} above the maximum, {}", by(limit), typed(limit)),
        (Some(limit), None) => format!("{} above the minimum, {}", by(limit), typed(limit)),
        (None, Some(limit)) => format!("{} below the maximum, {}", by(limit), typed(limit)),
        (Some(least), Some(most)) => format!("between {} and {}", typed(least), typed(most)),
        (None, None) => "no limit is set".to_owned(),
    }
}

/// A measured value against its row.
pub fn judge_measure(
    rules: &Ruleset,
    row: &MeasureRow,
    si: f64,
    half_width: Option<f64>,
    instrument: Option<&str>,
    units: Units,
) -> Judged {
    let (min, max) = bounds(row);
    let says = position(si, min, max, row.kind, units);
    let simple = if inside(si, min, max) { Outcome::Accept } else { Outcome::Reject };
    let short_of_aim = simple == Outcome::Accept && !inside(si, row.aim_min.as_ref(), row.aim_max.as_ref());
    if !row.guarded || (min.is_none() && max.is_none()) {
        return Judged { short_of_aim, ..Judged::plain(simple, says) };
    }
    let tool = instrument_for(rules, row, instrument);
    let Some((accuracy, shape)) = accuracy(row, half_width, tool) else {
        let says = format!("{says}; the instrument is not known, so its accuracy is not counted");
        return Judged { short_of_aim, ..Judged::plain(simple, says) };
    };
    let limits = (min.map(|limit| limit.si), max.map(|limit| limit.si));
    let Ok(chance) = chance_inside(si, accuracy, shape, limits.0, limits.1) else {
        return Judged { short_of_aim, ..Judged::plain(simple, says) };
    };
    let outcome = match decide(chance) {
        Decision::Accept => Outcome::Accept,
        Decision::Reject => Outcome::Reject,
        Decision::Undecided => Outcome::Undecided,
    };
    let remedy = (outcome == Outcome::Undecided).then(|| finer(rules, row, si, accuracy, tool, units));
    Judged {
        outcome,
        chance: Some(chance),
        says,
        remedy,
        short_of_aim: short_of_aim && outcome == Outcome::Accept,
        near: false,
        looks_wrong: false,
    }
}

/// A measured value against its row, whose limits may be worked out of numbers and readings for an item. Where a term is
/// not known, only what every value of it would decide is decided.
pub fn judge_worked(
    row: &MeasureRow,
    (terms, of): (&Terms<'_>, Option<&str>),
    judge: impl Fn(&MeasureRow) -> Judged,
) -> Judged {
    if row.worked.is_empty() {
        return judge(row);
    }
    between(row.settled(terms, of).map(|row| judge(&row)), || {
        row.worked.iter().flat_map(|(_, limit)| limit.needs(terms, of)).collect()
    })
}

/// What two limits, as loose and as strict as what is not known leaves them, make of a value: what both make of it, and
/// else undecided for want of what the limit is worked from.
pub(super) fn between([loose, strict]: [Judged; 2], needs: impl Fn() -> Vec<String>) -> Judged {
    if strict.outcome == Outcome::Accept || loose.outcome == strict.outcome {
        return strict;
    }
    if loose.outcome == Outcome::Reject {
        return loose;
    }
    let remedy =
        limit_lacks(&needs()).unwrap_or_else(|| "measure what the limit rests on more closely".to_owned());
    let says = format!("not decided: the limit depends on what is not known; {}", loose.says);
    Judged { remedy: Some(remedy), ..Judged::plain(Outcome::Undecided, says) }
}

/// What to give, where a limit cannot be worked out for want of it.
fn limit_lacks(needs: &[String]) -> Option<String> {
    (!needs.is_empty()).then(|| format!("give {}, which the limit is worked from", needs.join(" and ")))
}

/// What to give or to measure first, where a worked limit does not decide.
pub(super) fn to_decide(number: &Number, needs: &[String]) -> Option<String> {
    limit_lacks(needs).or_else(|| to_measure(number))
}

fn bounds(row: &MeasureRow) -> (Option<&Limit>, Option<&Limit>) {
    match &row.equals {
        Some(limit) => (Some(limit), Some(limit)),
        None => (row.min.as_ref(), row.max.as_ref()),
    }
}

/// The instrument said to be used, where it measures this kind of value; else the row's usual one. A check with several
/// rows is answered with one instrument named, which may be right for some of them only.
fn instrument_for<'r>(rules: &'r Ruleset, row: &MeasureRow, named: Option<&str>) -> Option<&'r Instrument> {
    let tool = |id: &str| rules.instrument(id).filter(|tool| tool.half_width(row.kind).is_some());
    named.and_then(tool).or_else(|| row.instrument.as_deref().and_then(tool))
}

/// What the person stated, else the instrument's own.
fn accuracy(row: &MeasureRow, half_width: Option<f64>, tool: Option<&Instrument>) -> Option<(f64, Shape)> {
    match half_width {
        Some(half_width) => Some((half_width, Shape::Rectangular)),
        None => tool.and_then(|tool| Some((tool.half_width(row.kind)?, tool.shape))),
    }
}

/// Which instrument would decide here.
fn finer(
    rules: &Ruleset,
    row: &MeasureRow,
    si: f64,
    accuracy: f64,
    tool: Option<&Instrument>,
    units: Units,
) -> String {
    let (min, max) = bounds(row);
    let decides = |half: f64, shape| {
        chance_inside(si, half, shape, min.map(|l| l.si), max.map(|l| l.si))
            .is_ok_and(|chance| decide(chance) != Decision::Undecided)
    };
    let better = rules
        .instruments
        .iter()
        .filter_map(|known| Some((known, known.half_width(row.kind)?)))
        .filter(|(known, half)| *half < accuracy && decides(*half, known.shape))
        // The coarsest that decides; of several alike the first in the rules.
        .rev()
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let nearest =
        [min, max].into_iter().flatten().map(|limit| (si - limit.si).abs()).fold(f64::INFINITY, f64::min);
    let gap = show(
        nearest,
        if row.kind == Kind::Temperature { Kind::TemperatureDifference } else { row.kind },
        units,
    );
    let with = tool.map_or("this reading", |tool| tool.title.as_str()).to_lowercase();
    match better {
        Some((better, _)) => format!("use a {}: {with} cannot tell {gap} here", better.title.to_lowercase()),
        None => {
            format!("{with} cannot tell {gap} here: treat it as rejected, or mend it so that it is clear")
        }
    }
}

/// A count against its limits.
pub fn judge_count(count: u32, min: Option<u32>, max: Option<u32>, equals: Option<u32>) -> Judged {
    let (min, max) = (equals.or(min), equals.or(max));
    let says = match (min, max) {
        (Some(least), Some(most)) if least == most => format!("{count} of {least}"),
        (Some(least), Some(most)) => format!("{count}, asked for {least} to {most}"),
        (Some(least), None) => format!("{count}, at least {least}"),
        (None, Some(most)) => format!("{count}, at most {most}"),
        (None, None) => format!("{count}"),
    };
    let good = min.is_none_or(|least| count >= least) && max.is_none_or(|most| count <= most);
    Judged::plain(if good { Outcome::Accept } else { Outcome::Reject }, says)
}

/// A date against its span: the shorter of the car's and the rule's, and which that is.
pub fn judge_date(row: &DateRow, date: NaiveDate, car_span: Option<Span>, on: NaiveDate) -> Judged {
    let by_rule = row.every.and_then(|span| Some((span.after(date)?, span, "the rule's")));
    let by_car = car_span.and_then(|span| Some((span.after(date)?, span, "the car file's")));
    if date > on {
        let says = format!("{date} is after {on}: check the date");
        return Judged::plain(Outcome::Reject, says);
    }
    let due = [by_rule, by_car].into_iter().flatten().min_by_key(|(due, _, _)| *due);
    let Some((due, span, whose)) = due else {
        return Judged::plain(Outcome::Refused, "neither the rule nor the car file says how often");
    };
    let left = (due - on).num_days();
    let says = match left {
        0 => format!("due today, {span} from {date} ({whose} span)"),
        1.. => format!("due {due}, in {} ({span} from {date}, {whose} span)", days(left)),
        _ => format!("ran out {due}, {} ago ({span} from {date}, {whose} span)", days(-left)),
    };
    let outcome = if left >= 0 { Outcome::Accept } else { Outcome::Reject };
    let warned = row.warn.and_then(|warn| warn.after(on)).is_some_and(|edge| due <= edge);
    Judged { short_of_aim: outcome == Outcome::Accept && warned, ..Judged::plain(outcome, says) }
}

fn days(count: i64) -> String {
    format!("{count} day{}", if count == 1 { "" } else { "s" })
}

/// A computed number against its row.
pub fn judge_compute(row: &ComputeRow, number: &Number, units: Units) -> Judged {
    assumptions_counted(judged_as_known(row, number, units), number)
}

/// The most of an outside number's variance that assumed values may make: with more, the number says where to measure, and
/// is no reject.
const ASSUMED: f64 = 0.05;

/// A car of assumptions is neither accepted nor rejected by number. What rests on an assumed word, count, joint or place, or
/// on a size that may be anything, waits for a look; what is outside while assumed values make much of its variance waits for
/// a measurement. What is outside for measured reasons stays a reject.
pub(super) fn assumptions_counted(judged: Judged, number: &Number) -> Judged {
    let outside = judged.outcome == Outcome::Reject;
    if !outside && judged.outcome != Outcome::Accept {
        return judged;
    }
    let wait = |why: String, remedy: String| Judged {
        outcome: Outcome::Undecided,
        remedy: Some(remedy),
        short_of_aim: false,
        near: false,
        looks_wrong: outside,
        says: format!("{}{}; {why}", if outside { "looks wrong: " } else { "" }, judged.says),
        ..judged.clone()
    };
    if let Some(first) = number.unseen.first() {
        let more = number.unseen.len() - 1;
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        return wait(
            format!("it rests on {first}{more}, which is only assumed"),
            format!("look at {first}{more} on the car, or measure it, and write down how it is known"),
        );
    }
    let by_band = number.guessed.as_ref();
    let by_own_ends = number.inputs.iter().find(|input| input.way.is_assumed());
    match (by_band, by_own_ends) {
        (Some((share, most)), _) if outside && *share > ASSUMED => wait(
            format!("assumed values make {} % of its spread", significant(100.0 * share, 2)),
            format!("looks wrong: measure {most}"),
        ),
        (None, Some(input)) => wait(
            format!("it rests on {}, which is only assumed", input.path),
            format!("measure {}", input.path),
        ),
        (_, Some(input)) if !outside && number.inputs.iter().all(|input| input.assumed) => Judged {
            chance: Some(1.0),
            ..wait("nothing it rests on is measured".to_owned(), format!("measure {}", input.path))
        },
        _ => judged,
    }
}

pub(super) fn judged_as_known(row: &ComputeRow, number: &Number, units: Units) -> Judged {
    let shown = number.shown(units);
    match (&row.equals, &number.value) {
        (Some(WordOrFlag::Flag(wanted)), NumberValue::Flag(flag)) => {
            let says = format!("{shown}, wanted {}", if *wanted { "yes" } else { "no" });
            judge_word(number, flag == wanted, says)
        }
        (Some(WordOrFlag::Word(wanted)), NumberValue::Word(word)) => {
            judge_word(number, word == wanted, format!("{word}, wanted {wanted}"))
        }
        (_, NumberValue::Number(si)) => judge_number(row, number, *si, &shown, units),
        _ => Judged::plain(Outcome::Refused, format!("{shown} cannot be compared with the limit")),
    }
}

fn judge_number(row: &ComputeRow, number: &Number, si: f64, shown: &str, units: Units) -> Judged {
    if let (Some(hold), Some(limit)) = (number.hold, &row.max) {
        return judge_hold(hold.judge(limit.si), shown, &row.quantity.shown.show(limit.si, units));
    }
    let (min, max) = row.ends();
    if min.is_none() && max.is_none() {
        return Judged::plain(Outcome::Accept, shown);
    }
    let outcome = against_range(number, min, max);
    let says = chance_words(row, number, outcome, units);
    let short_of_aim = outcome == Outcome::Accept && !inside(si, row.aim_min.as_ref(), row.aim_max.as_ref());
    let near = outcome == Outcome::Accept && is_near(number, min, max);
    let undecided = outcome == Outcome::Undecided;
    let chance = if undecided { chance(number, min, max) } else { None };
    let remedy = to_measure(number).filter(|_| undecided);
    Judged { chance, remedy, short_of_aim, near, ..Judged::plain(outcome, says) }
}

/// Where a number stands against its limits, with what is not known of it.
pub(super) fn chance_words(row: &ComputeRow, number: &Number, outcome: Outcome, units: Units) -> String {
    let (shown, (min, max)) = (number.shown(units), row.ends());
    let position = position_of(row, number.si().unwrap_or_default(), min, max, units);
    match (outcome, number.range()) {
        (Outcome::Undecided, Some([low, high])) => {
            let show = |si| row.quantity.shown.show(si, units);
            format!("{shown}, and may be {} to {}: {position}", show(low), show(high))
        }
        (Outcome::Undecided, None) => format!("{shown}, and its range is not worked out: {position}"),
        (Outcome::Refused, _) => format!("{shown}: not outside as far as it is worked, {position}"),
        _ => format!("{shown}: {position}"),
    }
}

impl ComputeRow {
    /// Its least and its most, which are one where a number has to be exactly that.
    fn ends(&self) -> (Option<&Limit>, Option<&Limit>) {
        let equal = match &self.equals {
            Some(WordOrFlag::Number(limit)) => Some(limit),
            _ => None,
        };
        (equal.or(self.min.as_ref()), equal.or(self.max.as_ref()))
    }
}

/// Of all cases, how many have to agree for a word to decide.
const SURE: f64 = HIGH;

/// A word, or yes and no, decides where nearly every case that its inputs leave open comes out as it does.
fn judge_word(number: &Number, is_wanted: bool, says: String) -> Judged {
    let Some(alike) = number.alike() else {
        let says = format!("{says}, and how sure that is has not been worked out");
        return Judged::plain(Outcome::Undecided, says);
    };
    if alike >= SURE {
        return Judged::plain(if is_wanted { Outcome::Accept } else { Outcome::Reject }, says);
    }
    let says = format!("{says}, in {} % of what may be", crate::units::significant(100.0 * alike, 2));
    // Of several words that it is not, nobody knows how many cases are the one wanted.
    let chance = match (is_wanted, &number.value) {
        (true, _) => Some(alike),
        (false, NumberValue::Flag(_)) => Some(1.0 - alike),
        _ => None,
    };
    Judged { chance, remedy: to_measure(number), ..Judged::plain(Outcome::Undecided, says) }
}

/// What to measure first, where something is not known well enough.
fn to_measure(number: &Number) -> Option<String> {
    number.drivers.first().map(|(path, _)| format!("measure {path}: it is the biggest unknown"))
}

/// A number whose whole range is inside its limits is accepted, one whose whole range is outside is rejected, and
/// everything between is undecided. One that is only an end of the true value rejects by the side that it is sure of, and
/// is otherwise not judged: it cannot accept.
fn against_range(number: &Number, min: Option<&Limit>, max: Option<&Limit>) -> Outcome {
    let Some([low, high]) = number.range() else { return Outcome::Undecided };
    if min.is_some_and(|min| below(high, min)) || max.is_some_and(|max| above(low, max)) {
        Outcome::Reject
    } else if inside(low, min, None) && inside(high, None, max) {
        Outcome::Accept
    } else if number.bound == Bound::Value {
        Outcome::Undecided
    } else {
        Outcome::Refused
    }
}

/// The share of its samples that is inside.
#[expect(clippy::cast_precision_loss, reason = "a band has a thousand samples at most")]
fn chance(number: &Number, min: Option<&Limit>, max: Option<&Limit>) -> Option<f64> {
    let all = number.samples.len();
    let good = number.samples.iter().filter(|value| inside(**value, min, max)).count();
    (all > 0).then(|| good as f64 / all as f64)
}

/// Whether a range twice as wide would cross a limit.
fn is_near(number: &Number, min: Option<&Limit>, max: Option<&Limit>) -> bool {
    let (Some(si), Some([low, high])) = (number.si(), number.range()) else { return false };
    let [low, high] = [2.0 * low - si, 2.0 * high - si];
    low < high && (min.is_some_and(|min| below(low, min)) || max.is_some_and(|max| above(high, max)))
}

/// A limit of zero, in words.
pub(super) const NONE_ALLOWED: &str = "none allowed";

/// As [`position`], in the words of the quantity.
fn position_of(row: &ComputeRow, si: f64, min: Option<&Limit>, max: Option<&Limit>, units: Units) -> String {
    let limit = |limit: &Limit| {
        if limit.si.is_finite() { row.quantity.shown.show(limit.si, units) } else { limit.text.clone() }
    };
    match (min, max) {
        (Some(least), _) if below(si, least) => format!("below the minimum, {}", limit(least)),
        (None, Some(most)) if most.si == 0.0 => NONE_ALLOWED.to_owned(),
        (_, Some(most)) if above(si, most) => format!("above the maximum, {}", limit(most)),
        (Some(least), Some(most)) => format!("between {} and {}", limit(least), limit(most)),
        (Some(least), None) => format!("at least {}", limit(least)),
        (_, Some(most)) => format!("at most {}", limit(most)),
        (None, None) => String::new(),
    }
}

fn judge_hold(judgement: Judgement, shown: &str, limit: &str) -> Judged {
    let most = format!("at most {limit} allowed");
    match judgement {
        Judgement::Accept => Judged::plain(Outcome::Accept, format!("fell {shown}: {most}")),
        Judgement::Reject => Judged::plain(Outcome::Reject, format!("fell {shown}: {most}")),
        Judgement::Undecided(doubt) => {
            let (why, remedy) = match doubt {
                Doubt::BandAcrossLimit => (
                    "the temperature change explains part of it, and the rest is on both sides of the limit",
                    "repeat the hold once the temperature stands still",
                ),
                Doubt::TemperatureMoved => (
                    "not judged: the temperature moved over 1 C",
                    "repeat the hold with both temperatures within 1 C",
                ),
                Doubt::NotTimed => (
                    "not judged: how long it was held is not known",
                    "hold it again by the clock, or give the time it was held",
                ),
                Doubt::PressureRose => (
                    "not judged: the pressure rose, and a leak may hide behind the warming",
                    "let the car settle and repeat the hold",
                ),
            };
            let judged = Judged::plain(Outcome::Undecided, format!("fell {shown}: {why}"));
            Judged { remedy: Some(remedy.to_owned()), ..judged }
        }
    }
}

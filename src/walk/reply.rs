//! A reply to a check, settled into a finding: the person's result and the program's verdict, both kept.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::entry::{Finding, JudgedBy, Moment, Outcome, Photo, RowTyped, RulesMark, Severity};
use crate::model::history::{History, Standing};
use crate::model::letters::Letters;
use crate::rules::{Check, Method, Typed};

use super::action::{Objection, Wants};
use super::assess::{Assessment, Evaluator, LIMIT_UNKNOWN, Origin, RowJudged};
use super::gone::settle_gone;

/// What a person says of a check.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reply {
    /// The check.
    pub check: String,
    /// The item, where it is about one.
    pub of: Option<String>,
    /// What the person says; may be left out where a value decides.
    pub result: Option<Outcome>,
    /// Typed texts by row id; an empty id where the check has one row.
    pub values: BTreeMap<String, String>,
    /// Whether a typed value is accepted by eye.
    pub by_eye: bool,
    /// Instrument used.
    pub instrument: Option<String>,
    /// Free words.
    pub note: Option<String>,
    /// Photos, already in the car's folder.
    pub photos: Vec<Photo>,
    /// Severity, where it is not the check's.
    pub severity: Option<Severity>,
    /// When it was seen, where that is not now.
    pub seen_at: Option<Moment>,
    /// Whether it is one of a whole station's.
    pub by_station: bool,
    /// Who.
    pub by: Option<String>,
}

impl Reply {
    /// A plain answer to a check.
    pub fn plain(check: impl Into<String>, result: Outcome) -> Self {
        Self { check: check.into(), result: Some(result), ..Self::default() }
    }

    pub(super) fn noted(&self) -> bool {
        self.note.as_deref().is_some_and(|note| !note.trim().is_empty())
    }
}

/// Settles a reply.
///
/// # Errors
/// Whatever stands in the way; nothing is kept then.
pub fn settle(
    evaluator: &Evaluator<'_>,
    history: &History,
    walk: &str,
    reply: &Reply,
) -> Result<Finding, Objection> {
    let Some(check) = evaluator.rules.check(&reply.check) else {
        return settle_gone(history, walk, reply, evaluator.rules.mark());
    };
    known_item(evaluator, reply)?;
    let mut assessment = evaluator.assess(check, &reply.values, reply.instrument.as_deref());
    if let Some(of) = &reply.of {
        assessment = assessment.of_item(of);
    }
    if let Some((id, refusal)) = assessment.unread.first() {
        let row = if id.is_empty() { String::new() } else { format!("{id}: ") };
        return Err(Objection::new(Wants::Value, format!("{row}{refusal}")));
    }
    unknown_rows(check, reply)?;
    if reply.by_eye && !reply.values.is_empty() {
        return Err(Objection::new(Wants::Value, "by eye or by value, not both: leave one of them out"));
    }
    let result = result(check, &assessment, reply)?;
    let severity = severity(check, history, reply, result)?;
    let judged = matches!(result, Outcome::Accept | Outcome::Reject | Outcome::Undecided);
    // What was not worked says nothing beside a look; what objects is kept whatever the person said.
    let verdict = assessment.verdict().filter(|verdict| match verdict {
        Outcome::Refused => judged && check.words.look.is_none(),
        Outcome::Reject | Outcome::Undecided => true,
        _ => judged || !reply.values.is_empty(),
    });
    allowed(reply, result, verdict)?;
    is_there(&assessment, result)?;
    let mut finding = blank((&check.id, &check.title), walk, reply, result, severity, evaluator.rules.mark());
    finding.verdict = verdict;
    if judged || verdict.is_some() || !reply.values.is_empty() {
        fill_value(&mut finding, &assessment, reply);
    }
    if reply.result.is_none() && assessment.is_computed() {
        finding.judged_by = JudgedBy::Program;
        finding.by = None;
    }
    close(&mut finding, history)?;
    finding.code = Some(evaluator.code(check, finding.of.as_deref(), &Letters::of(history)));
    Ok(finding)
}

/// An item has to be a part of the car, where the car file names parts; what a number alone may accept, one that has such
/// a number.
pub(super) fn known_item(evaluator: &Evaluator<'_>, reply: &Reply) -> Result<(), Objection> {
    let Some(of) = &reply.of else { return Ok(()) };
    let found = |ids: &[&str]| {
        let near = crate::diagnostic::did_you_mean(of, ids.iter().copied());
        near.map_or_else(String::new, |near| format!(": did you mean {near}?"))
    };
    let accepts = matches!(reply.result, None | Some(Outcome::Accept));
    let check = evaluator.rules.check(&reply.check).filter(|check| accepts && check.closes_by_number());
    let items = check.map_or_else(BTreeSet::new, |check| evaluator.items(check));
    if !items.is_empty() && !items.contains(of.as_str()) {
        let items: Vec<&str> = items.into_iter().collect();
        let help = found(&items);
        let message = format!("{} is about {}, not about {of}{help}", reply.check, items.join(", "));
        return Err(Objection::new(Wants::Nothing, message));
    }
    let ids = evaluator.car.ids();
    let pair = of.split_once(" -> ").is_some_and(|(a, b)| ids.contains(&a) && ids.contains(&b));
    // A network goes by its bottles.
    let network = of.contains('+') && of.split('+').all(|id| ids.contains(&id));
    if ids.len() <= 1 || pair || network || ids.contains(&of.as_str()) {
        return Ok(());
    }
    let help = found(&ids);
    Err(Objection::new(Wants::Nothing, format!("the car file has nothing called {of}{help}")))
}

/// Every typed text has to belong to a row.
fn unknown_rows(check: &Check, reply: &Reply) -> Result<(), Objection> {
    let ids: Vec<&str> = match &check.typed {
        Typed::Measure(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Count(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Date(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::None => Vec::new(),
    };
    for id in reply.values.keys() {
        let known = ids.contains(&id.as_str()) || (id.is_empty() && ids.len() == 1);
        if !known && ids.is_empty() {
            return Err(Objection::new(Wants::Nothing, format!("{} takes no value", check.id)));
        }
        if !known {
            let message = format!("{} has several values: give them by name: {}", check.id, ids.join(", "));
            return Err(Objection::new(Wants::Value, message));
        }
    }
    Ok(())
}

/// The result: what the person says, else what the value decides where it may.
fn result(check: &Check, assessment: &Assessment, reply: &Reply) -> Result<Outcome, Objection> {
    match reply.result {
        Some(Outcome::Accept) => accept(check, assessment, reply),
        Some(Outcome::Refused) => {
            Err(Objection::new(Wants::Result, "refused is the program's word, not an answer"))
        }
        Some(result) => Ok(result),
        None if reply.by_eye => accept(check, assessment, reply),
        None => match assessment.verdict() {
            Some(verdict @ (Outcome::Reject | Outcome::Undecided)) => Ok(verdict),
            _ if assessment.without_limit().next().is_some() => {
                Err(Objection::new(Wants::Result, format!("{LIMIT_UNKNOWN}: say accept or reject")))
            }
            Some(Outcome::Accept) if check.closes_by_number() && assessment.waiting.is_empty() => {
                Ok(Outcome::Accept)
            }
            Some(Outcome::Accept) if check.closes_by_number() => {
                Err(Objection::new(Wants::Value, format!("not every value is typed{}", waiting(assessment))))
            }
            Some(Outcome::Accept) => Err(Objection::new(
                Wants::Result,
                "the value is inside its limit, but a value alone does not close a check that has something to look at: say accept or reject",
            )),
            Some(Outcome::Refused) => Err(Objection::new(
                Wants::Result,
                format!(
                    "the number behind this check is not calculated{}: give a result",
                    reason(assessment)
                ),
            )),
            _ => Err(Objection::new(Wants::Result, "nothing decides this check: give a result or a value")),
        },
    }
}

/// A plain accept of a typed check needs its value, or to be by eye where the rule allows that.
fn accept(check: &Check, assessment: &Assessment, reply: &Reply) -> Result<Outcome, Objection> {
    let typed = matches!(check.method, Method::Measure | Method::Count | Method::Date);
    let has_value = assessment.has_typed() && !reply.by_eye;
    if check.needs_value() && (!has_value || !assessment.waiting.is_empty()) {
        let message = format!(
            "this check may not be accepted by eye: type its value{}, or say that it could not be seen",
            waiting(assessment)
        );
        return Err(Objection::new(Wants::Value, message));
    }
    if typed && !has_value && !reply.by_eye && !reply.by_station {
        let message = format!("type the value{}, or accept it by eye", waiting(assessment));
        return Err(Objection::new(Wants::Value, message));
    }
    // Where no limit is known, the person decides the value typed.
    let alone = has_value && assessment.without_limit().next().is_some();
    let worked = alone || !matches!(assessment.verdict(), None | Some(Outcome::Refused));
    let by_eye = typed && reply.by_eye;
    if check.closes_by_number() && !(worked || by_eye || reply.noted()) {
        let message = format!(
            "the number behind this check is not calculated{}: accept it with a note that says why",
            reason(assessment)
        );
        return Err(Objection::new(Wants::Note, message));
    }
    Ok(Outcome::Accept)
}

/// Typed rows without a value, by id and label, in brackets.
fn waiting(assessment: &Assessment) -> String {
    let rows = assessment.waiting.iter().map(|(id, label)| match (id.is_empty(), label.is_empty()) {
        (true, _) => label.clone(),
        (_, true) => id.clone(),
        _ => format!("{id}: {label}"),
    });
    let named: Vec<String> = rows.filter(|row| !row.is_empty()).collect();
    if named.is_empty() { String::new() } else { format!(" ({})", named.join("; ")) }
}

/// Why a number is not worked, in brackets.
fn reason(assessment: &Assessment) -> String {
    assessment.missing.first().map_or_else(String::new, |missing| format!(" ({})", missing.reason))
}

/// A result better than the program's verdict needs a note.
fn allowed(reply: &Reply, result: Outcome, verdict: Option<Outcome>) -> Result<(), Objection> {
    let rank = |outcome| match outcome {
        Outcome::Accept | Outcome::NotFitted => 2,
        Outcome::Undecided => 1,
        _ => 0,
    };
    match verdict {
        Some(verdict) if verdict != Outcome::Refused && rank(result) > rank(verdict) && !reply.noted() => {
            let message = format!(
                "the program says {}: to answer {} all the same, write why",
                verdict.word(),
                result.word()
            );
            Err(Objection::new(Wants::Note, message))
        }
        _ => Ok(()),
    }
}

/// What the car file has, and its numbers speak against, is not said to be absent: the file would go on counting it.
fn is_there(assessment: &Assessment, result: Outcome) -> Result<(), Objection> {
    let rejects = |row: &&RowJudged| {
        row.judges && row.origin == Origin::Computed && row.judged.outcome == Outcome::Reject
    };
    let Some(row) = assessment.rows.iter().find(rejects).filter(|_| result == Outcome::NotFitted) else {
        return Ok(());
    };
    let of = row.of.as_ref().map_or_else(String::new, |of| format!(" ({of})"));
    let message =
        format!("the car file has this part{of}, and its number is outside the limit: mend the file");
    Err(Objection::new(Wants::Nothing, message))
}

fn severity(check: &Check, history: &History, reply: &Reply, result: Outcome) -> Result<Severity, Objection> {
    let standing = history.standing_of(&check.id);
    let usual = match (&standing, result) {
        (Some(standing), Outcome::Repaired) => standing.cause().severity,
        _ => check.severity,
    };
    let severity = reply.severity.unwrap_or(usual);
    // Stop sorts first, so a greater severity is a lighter one.
    if severity > usual && !reply.noted() {
        let message = format!("to lower {} to {}, write why", usual.word(), severity.word());
        return Err(Objection::new(Wants::Note, message));
    }
    Ok(severity)
}

/// A finding with what a reply says and nothing judged, of a check by its id and title.
pub(super) fn blank(
    (id, title): (&str, &str),
    walk: &str,
    reply: &Reply,
    result: Outcome,
    severity: Severity,
    rules: RulesMark,
) -> Finding {
    Finding {
        walk: walk.to_owned(),
        check: id.to_owned(),
        of: reply.of.clone(),
        code: None,
        title: title.to_owned(),
        result,
        verdict: None,
        judged_by: JudgedBy::Person,
        by_eye: reply.by_eye,
        by_station: reply.by_station,
        limit_unknown: false,
        limit: None,
        row: None,
        rows: Vec::new(),
        value: None,
        si: None,
        unit: None,
        low: None,
        high: None,
        chance: None,
        instrument: reply.instrument.clone().filter(|_| !reply.values.is_empty()),
        severity,
        note: reply.note.clone().filter(|note| !note.trim().is_empty()),
        photos: reply.photos.clone(),
        by: reply.by.clone(),
        seen_at: reply.seen_at,
        closes: None,
        sheet: None,
        rules,
    }
}

/// A row as it is written down. A number that cannot decide says why, and what would: the readings behind it may be others
/// by the time somebody asks.
fn told(row: &RowJudged) -> String {
    match (row.origin, row.judged.outcome, &row.judged.remedy) {
        (Origin::Computed, Outcome::Undecided, Some(remedy)) => format!("{}: {remedy}", row.judged.says),
        (Origin::Computed, Outcome::Undecided, None) => row.judged.says.clone(),
        _ => row.shown.clone(),
    }
}

fn at_item(row: &RowJudged) -> String {
    row.of.as_ref().map_or_else(|| told(row), |of| format!("{} at {of}", told(row)))
}

/// As it is written down; where other items have a value too, with the item it is of.
fn named(row: &RowJudged, assessment: &Assessment) -> String {
    if assessment.has_several_items() { at_item(row) } else { told(row) }
}

/// What a person typed for a row.
fn as_typed(row: &RowJudged, reply: &Reply) -> RowTyped {
    // A date stays as it was written; a bare number has got its unit.
    let written = reply.values.get(&row.id).or(reply.values.get("")).filter(|_| row.si.is_none());
    RowTyped {
        id: row.id.clone(),
        text: written.map_or_else(|| row.shown.clone(), |text| text.trim().to_owned()),
        si: row.si,
        unit: row.si.map(|_| row.unit.to_owned()),
        instrument: reply.instrument.clone(),
    }
}

/// Puts the value that decided, and the item it is of, into the finding.
fn fill_value(finding: &mut Finding, assessment: &Assessment, reply: &Reply) {
    let typed: Vec<_> = assessment.rows.iter().filter(|row| row.origin == Origin::Typed).collect();
    // A number that accepts says nothing about what the person found: it is not put beside another result.
    let deciding = assessment.deciding().filter(|row| {
        row.origin != Origin::Computed
            || finding.result == Outcome::Accept
            || row.judged.outcome != Outcome::Accept
    });
    if reply.by_eye {
        return;
    }
    finding.rows = typed.iter().map(|row| as_typed(row, reply)).collect();
    finding.limit_unknown = typed.iter().any(|row| row.limit_unknown && !row.judges);
    finding.value = deciding.filter(|_| typed.is_empty()).map(|row| named(row, assessment));
    let row = match typed.as_slice() {
        [one] if deciding.is_none_or(|row| row.origin == Origin::Typed) => Some(*one),
        _ => deciding,
    };
    if let Some(row) = row {
        finding.si = row.si;
        finding.unit = row.si.map(|_| row.unit.to_owned());
        (finding.low, finding.high, finding.chance) = (row.low, row.high, row.judged.chance);
        finding.limit.clone_from(&row.limit);
        let rejects = (finding.result, row.judged.outcome) == (Outcome::Reject, Outcome::Reject);
        finding.row = Some(row.id.clone()).filter(|_| rejects && row.judges);
        let only = assessment.rows.iter().filter(|row| row.of.is_some()).all(|other| other.of == row.of);
        let by_number = reply.result.is_none() || only;
        if finding.of.is_none()
            && by_number
            && finding.result.is_open()
            && row.judged.outcome == finding.result
        {
            finding.of.clone_from(&row.of);
        }
        if row.origin == Origin::Computed && !typed.is_empty() {
            finding.value = Some(format!("{}: {}", row.label, at_item(row)));
        }
    }
}

/// An accept refers to the open finding that it closes; a claim of repair needs one.
pub(super) fn close(finding: &mut Finding, history: &History) -> Result<(), Objection> {
    // What was seen after this answer is not what it answers.
    let earlier = finding.seen_at.map(|moment| history.seen_by(moment));
    let standings = earlier.as_ref().unwrap_or(history).standings_of(&finding.check);
    let open: Vec<&Standing<'_>> = standings
        .iter()
        .filter(|standing| {
            standing.is_open() && (standing.of == finding.of.as_deref() || finding.of.is_none())
        })
        .collect();
    let Some(first) = open.first() else {
        if finding.result != Outcome::Repaired {
            return Ok(());
        }
        let message = "nothing is open here: a repair is claimed on an open finding";
        return Err(Objection::new(Wants::Result, message));
    };
    match finding.result {
        Outcome::Repaired => {
            if let (None, [only]) = (&finding.of, open.as_slice()) {
                finding.of = only.of.map(str::to_owned);
            }
        }
        Outcome::NotFitted if open.iter().any(|standing| standing.finding.result == Outcome::Repaired) => {
            let message = "a claim of repair is closed by looking again: answer accept or reject";
            return Err(Objection::new(Wants::Result, message));
        }
        Outcome::NotFitted if finding.note.is_none() => {
            let message = format!(
                "this is open ({}): to say that the car has none, write why",
                first.finding.result.word()
            );
            return Err(Objection::new(Wants::Note, message));
        }
        Outcome::Accept | Outcome::NotFitted => {
            finding.closes = Some(first.opened.map_or_else(|| first.kept.id.clone(), |kept| kept.id.clone()));
        }
        _ => {}
    }
    Ok(())
}

//! The rules' own tests.

use crate::diagnostic::{Diagnostic, Place};
use crate::model::Car;
use crate::model::entry::Outcome;
use crate::numbers::{
    Answer, Number, NumberValue, Quantity, ReadingValue, Readings, Situation, quantity, reading_kind, work,
};
use crate::source::{Node, Value, parse_date};
use crate::units::{Kind, Units, parse, parse_signed};

use super::applies::applies;
use super::check::{Case, Check, Given};
use super::expression::{Expression, Terms};
use super::limits::{ComputeRow, CountEquals, CountRow, DateRow, MeasureRow, Typed};
use super::ruleset::{Change, Ruleset};
use super::verdict::{Judged, judge_count, judge_date, judge_measure, judge_worked, worst};

/// How one case came out.
#[derive(Clone, Debug)]
pub struct CaseOutcome {
    /// The check.
    pub check: String,
    /// Where the case stands.
    pub place: Place,
    /// The value it gives, where it gives one.
    pub given: Option<String>,
    /// What was expected.
    pub expect: String,
    /// What came out.
    pub got: Result<String, String>,
    /// The change of a later file that decides otherwise: the case spoke of what stood before it.
    pub replaced_by: Option<Change>,
}

impl CaseOutcome {
    /// Whether it came out as expected.
    pub fn passed(&self) -> bool {
        self.got.as_deref() == Ok(self.expect.as_str())
    }

    /// Whether it is wrong: neither as expected, nor about what a later file has changed.
    pub fn failed(&self) -> bool {
        !self.passed() && self.replaced_by.is_none()
    }

    /// A replaced case in one sentence: what it expected, what comes out now, and by which change.
    pub fn replaced(&self) -> Option<String> {
        let change = self.replaced_by.as_ref()?;
        let got = match &self.got {
            Ok(got) => format!("{got} now"),
            Err(reason) => format!("not worked now, since {reason}"),
        };
        let given = self.given.as_deref().map(|given| format!(" {given}")).unwrap_or_default();
        Some(format!(
            "{}: the case{given} of {} expected {}: {got}, by {} at {}",
            self.place.shown(),
            self.check,
            self.expect,
            change.key,
            change.at.shown()
        ))
    }

    /// The mistake a failing case is: names the file of the case and the file that set the limit.
    pub fn diagnostic(&self, check: &Check) -> Diagnostic {
        let got = match &self.got {
            Ok(got) => format!("came out {got}"),
            Err(reason) => format!("could not be worked: {reason}"),
        };
        let message = format!("a case of {} expects {} but {got}", self.check, self.expect);
        let asked = matches!(self.expect.as_str(), "asked" | "left-out");
        let limits: Vec<String> = limit_places(check, &self.place).into_iter().map(Place::shown).collect();
        let help = match limits.as_slice() {
            _ if asked => "when and unless of the check decide that: mend them or the case".to_owned(),
            [] => "mend the case".to_owned(),
            _ if self.got.is_err() => "mend the case".to_owned(),
            [limit] => format!("the limit is set at {limit}: mend the limit or the case"),
            limits => format!("its limits are set at {}: mend the one or the case", limits.join(" and ")),
        };
        Diagnostic::error(&self.place, message, help)
    }
}

/// Where the limits behind a case are set: those of another file than the case's, which changed them, else all.
fn limit_places<'c>(check: &'c Check, case: &Place) -> Vec<&'c Place> {
    let mut places = Vec::new();
    for key in ["measure", "count", "date", "compute"] {
        check.table.get(key).into_iter().for_each(|node| limits_in(node, &mut places));
    }
    let others: Vec<_> = places.iter().filter(|place| place.file.name != case.file.name).copied().collect();
    if others.is_empty() { places } else { others }
}

fn limits_in<'n>(node: &'n Node, places: &mut Vec<&'n Place>) {
    match &node.value {
        Value::Array(items) => items.iter().for_each(|item| limits_in(item, places)),
        Value::Table(table) => {
            let limits = ["min", "max", "equals", "every"].iter().filter_map(|key| table.get(key));
            places.extend(limits.map(|limit| &limit.at));
        }
        _ => {}
    }
}

/// Runs every case of a ruleset.
pub fn run_cases(rules: &Ruleset) -> Vec<CaseOutcome> {
    rules.checks.iter().flat_map(|check| check.cases.iter().map(|case| run(rules, check, case))).collect()
}

fn run(rules: &Ruleset, check: &Check, case: &Case) -> CaseOutcome {
    let got = if matches!(case.expect.as_str(), "asked" | "left-out") {
        Ok(asked(check, &case.given))
    } else {
        judge(rules, check, &case.given)
    };
    let given = case.given.value.clone();
    let given = given.or_else(|| {
        let values = case.given.values.iter().map(|(row, value)| format!("{row} {value}"));
        Some(values.collect::<Vec<_>>().join(", ")).filter(|text| !text.is_empty())
    });
    let outcome = CaseOutcome {
        check: check.id.clone(),
        place: case.place.clone(),
        given,
        expect: case.expect.clone(),
        got,
        replaced_by: None,
    };
    let replaced_by = if outcome.passed() { None } else { later_change(rules, check, case) };
    CaseOutcome { replaced_by, ..outcome }
}

/// What a file over the case's own changed of what the case is about.
fn later_change(rules: &Ruleset, check: &Check, case: &Case) -> Option<Change> {
    const DECIDE: [&str; 6] = ["measure", "count", "date", "compute", "method", "look"];
    const ASK: [&str; 2] = ["when", "unless"];
    let own = rules.layer_at(&case.place)?;
    let asks = matches!(case.expect.as_str(), "asked" | "left-out");
    let about: &[&str] = if asks { &ASK } else { &DECIDE };
    let later = |change: &&Change| rules.layers.iter().position(|layer| layer.id == change.layer) > Some(own);
    let decides = |change: &&Change| {
        let key = change.key.split('.').next().unwrap_or_default();
        change.array == "check" && change.id == check.id && about.contains(&key)
            || !asks && change.array == "instrument" && !change.key.is_empty()
    };
    rules.changes.iter().filter(later).find(decides).cloned()
}

fn asked(check: &Check, given: &Given) -> String {
    let car = Car { facts: given.car.clone().unwrap_or_default(), ..Car::default() };
    if applies(check, &car).is_asked() { "asked".to_owned() } else { "left-out".to_owned() }
}

/// Every value a case gives has to be one that the check takes.
fn all_used(check: &Check, given: &Given) -> Result<(), String> {
    let mut known: Vec<&str> =
        check.compute.iter().flat_map(|row| [row.id.as_str(), row.quantity.id]).collect();
    match &check.typed {
        Typed::Measure(rows) => {
            known.extend(rows.iter().map(|row| row.id.as_str()));
        }
        Typed::Date(rows) => known.extend(rows.iter().map(|row| row.id.as_str())),
        Typed::Count(rows) => {
            for row in rows {
                known.push(&row.id);
                if let Some(CountEquals::Key(key)) = &row.equals {
                    known.push(key);
                }
            }
        }
        Typed::None => {}
    }
    let worked = check.worked_limits();
    let named = |name: &&String| worked.iter().any(|(_, limit)| limit.names(name));
    known.extend(given.values.keys().filter(named).map(String::as_str));
    known.retain(|id| !id.is_empty());
    if let Some(unknown) = given.values.keys().find(|id| !known.contains(&id.as_str())) {
        let names = if known.is_empty() { "give value = \"…\"".to_owned() } else { known.join(", ") };
        return Err(format!("{unknown} is none of its values: {names}"));
    }
    if given.value.is_some() && check.typed_rows() + check.compute.len() == 0 {
        return Err("it takes no value".to_owned());
    }
    let several = check.typed_rows() > 1 || (check.typed_rows() == 0 && check.compute.len() > 1);
    if given.value.is_some() && several {
        return Err(format!("it has several values: give them by name: {}", known.join(", ")));
    }
    Ok(())
}

fn judge(rules: &Ruleset, check: &Check, given: &Given) -> Result<String, String> {
    all_used(check, given)?;
    let mut judged = typed(rules, check, given)?;
    let alone = matches!(check.typed, Typed::None) && check.compute.len() == 1;
    for row in &check.compute {
        let text = given.values.get(&row.id).or_else(|| given.values.get(row.quantity.id));
        let text = text.or(given.value.as_ref().filter(|_| alone));
        if let Some(text) = text {
            judged.push(computed(row, text, given)?);
        }
    }
    let mut outcomes: Vec<Outcome> = judged.iter().map(|judged| judged.outcome).collect();
    outcomes.extend(from_readings(check, given)?);
    let verdict = worst(outcomes);
    let outcome = match (verdict, given.result) {
        // A number may turn an accept into a reject; it never closes what nobody looked at.
        (Some(Outcome::Reject), _) => Outcome::Reject,
        // A person may accept what a number cannot decide, but only with a note: the rule itself says undecided.
        (Some(Outcome::Undecided), Some(Outcome::Accept)) => Outcome::Undecided,
        (Some(verdict), None) if verdict != Outcome::Accept || check.closes_by_number() => verdict,
        (_, Some(result)) => result,
        (Some(_), None) => {
            return Err(
                "a value alone does not accept a check with a look: give result = \"accept\"".to_owned()
            );
        }
        (None, None) => return Err("the case gives neither a value nor a result".to_owned()),
    };
    Ok(outcome.word().to_owned())
}

/// Numbers worked from the readings of a case, on a car of which only its facts are known.
fn from_readings(check: &Check, given: &Given) -> Result<Vec<Outcome>, String> {
    if given.readings.is_empty() {
        return Ok(Vec::new());
    }
    let mut readings = Readings::default();
    for (key, text) in &given.readings {
        let kind = reading_kind(key).ok_or_else(|| format!("there is no reading {key}"))?;
        let (si, half_width) = match (kind, parse_date(text)) {
            (Kind::Span, Some(_)) => (f64::NAN, None),
            (Kind::Span, None) => return Err(format!("\"{text}\" is not a date")),
            _ => {
                let parsed = parse(text, kind).map_err(|refusal| refusal.to_string())?;
                (parsed.si, parsed.half_width)
            }
        };
        readings.set(
            key,
            ReadingValue { kind, si, half_width, repeat: None, text: text.clone(), instrument: None },
        );
    }
    let car = Car { facts: given.car.clone().unwrap_or_default(), ..Car::default() };
    let situation = Situation::new(&car, readings, given.on.unwrap_or_default());
    let worked: Vec<(&str, Expression)> = check.compute.iter().flat_map(|row| row.worked.clone()).collect();
    let numbers = terms(&worked, given)?;
    let terms = Terms { car: &car, numbers: &numbers, readings: &situation.readings };
    let answers = check.compute.iter().flat_map(|row| {
        let answers = work(row.quantity, &situation).into_iter();
        answers.map(|answer| {
            row.judge(&terms, &answer, Units::Us).map_or(Outcome::Refused, |judged| judged.outcome)
        })
    });
    Ok(answers.collect())
}

/// The text of one typed row: by its id, or the one value.
fn text<'g>(given: &'g Given, id: &str, rows: usize) -> Option<&'g String> {
    given.values.get(id).filter(|_| !id.is_empty()).or(given.value.as_ref().filter(|_| rows == 1))
}

fn typed(rules: &Ruleset, check: &Check, given: &Given) -> Result<Vec<Judged>, String> {
    match &check.typed {
        Typed::None => Ok(Vec::new()),
        Typed::Measure(rows) => {
            each(rows, |row| text(given, &row.id, rows.len()), |row, text| measured(rules, row, text, given))
        }
        Typed::Count(rows) => {
            each(rows, |row| text(given, &row.id, rows.len()), |row, text| counted(row, text, given))
        }
        Typed::Date(rows) => {
            each(rows, |row| text(given, &row.id, rows.len()), |row, text| dated(row, text, given))
        }
    }
}

fn each<'g, R>(
    rows: &[R],
    text: impl Fn(&R) -> Option<&'g String>,
    judge: impl Fn(&R, &str) -> Result<Judged, String>,
) -> Result<Vec<Judged>, String> {
    rows.iter().filter_map(|row| text(row).map(|text| judge(row, text))).collect()
}

fn measured(rules: &Ruleset, row: &MeasureRow, text: &str, given: &Given) -> Result<Judged, String> {
    let parsed = parse_signed(text, row.kind).map_err(|refusal| refusal.to_string())?;
    let instrument = given.instrument.as_deref();
    let (car, numbers) = (Car::default(), terms(&row.worked, given)?);
    let terms = Terms { car: &car, numbers: &numbers, readings: &Readings::default() };
    Ok(judge_worked(row, (&terms, None), |row| {
        judge_measure(rules, row, parsed.si, parsed.half_width, instrument, Units::Us)
    }))
}

/// The numbers that a case gives for limits that are worked out.
fn terms(worked: &[(&'static str, Expression)], given: &Given) -> Result<Vec<Answer>, String> {
    let named = |name: &str| worked.iter().any(|(_, limit)| limit.names(name));
    let known = given.values.iter().filter(|(name, _)| named(name));
    let known = known.filter_map(|(name, text)| Some((quantity(name)?, text)));
    let number = |(quantity, text): (&Quantity, &String)| {
        let si = parse_signed(text, quantity.shown.kind()).map_err(|refusal| refusal.to_string())?.si;
        Ok(Answer::Number(Box::new(Number::given(quantity, NumberValue::Number(si)))))
    };
    known.map(|(quantity, text)| number((quantity, text))).collect()
}

fn counted(row: &CountRow, text: &str, given: &Given) -> Result<Judged, String> {
    let whole = |text: &str| text.trim().parse::<u32>().map_err(|_| format!("\"{text}\" is not a count"));
    let equals = match &row.equals {
        Some(CountEquals::Number(number)) => Some(*number),
        Some(CountEquals::Key(key)) => given.values.get(key).map(|text| whole(text)).transpose()?,
        None => None,
    };
    Ok(judge_count(whole(text)?, row.min, row.max, equals))
}

fn dated(row: &DateRow, text: &str, given: &Given) -> Result<Judged, String> {
    let date = parse_date(text).ok_or_else(|| format!("\"{text}\" is not a date"))?;
    let on = given.on.ok_or("a dated case needs on = \"…\", the day it is judged")?;
    Ok(judge_date(row, date, None, on))
}

fn computed(row: &ComputeRow, text: &str, given: &Given) -> Result<Judged, String> {
    let value = match text {
        "true" => NumberValue::Flag(true),
        "false" => NumberValue::Flag(false),
        word if word.chars().all(|c| c.is_ascii_alphabetic()) => NumberValue::Word(word.to_owned()),
        text => match text.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => NumberValue::Number(number),
            _ => NumberValue::Number(
                parse_signed(text, row.quantity.shown.kind()).map_err(|refusal| refusal.to_string())?.si,
            ),
        },
    };
    let (car, numbers) = (Car::default(), terms(&row.worked, given)?);
    let terms = Terms { car: &car, numbers: &numbers, readings: &Readings::default() };
    let answer = Answer::Number(Box::new(Number::given(row.quantity, value)));
    row.judge(&terms, &answer, Units::Us).ok_or_else(|| "the number is not judged".to_owned())
}

//! The rules' own tests.

use crate::mistake::{Mistake, Place};
use crate::model::Car;
use crate::model::entry::Outcome;
use crate::numbers::{Number, NumberValue};
use crate::source::parse_date;
use crate::units::{Units, parse_signed};

use super::applies::applies;
use super::limits::{ComputeRow, CountEquals, CountRow, DateRow, MeasureRow, Typed};
use super::ruleset::{Case, Check, Given, Ruleset};
use super::verdict::{Judged, judge_compute, judge_count, judge_date, judge_measure, worst};

/// How one case came out.
#[derive(Clone, Debug)]
pub struct CaseOutcome {
    /// The check.
    pub check: String,
    /// Where the case stands.
    pub place: Place,
    /// What was expected.
    pub expect: String,
    /// What came out.
    pub got: Result<String, String>,
}

impl CaseOutcome {
    /// Whether it came out as expected.
    pub fn passed(&self) -> bool {
        self.got.as_deref() == Ok(self.expect.as_str())
    }

    /// The mistake a failing case is: names the file of the case and the file that set the limit.
    pub fn mistake(&self, check: &Check) -> Mistake {
        let got = match &self.got {
            Ok(got) => format!("came out {got}"),
            Err(reason) => format!("could not be worked: {reason}"),
        };
        let message = format!("a case of {} expects {} but {got}", self.check, self.expect);
        let limits = ["measure", "count", "date", "compute"];
        let set = limits.iter().find_map(|key| check.table.get(key)).map(|node| node.at.shown());
        let help = match set {
            Some(place) => format!("the limit is set at {place}: mend the limit or the case"),
            None => "mend the rule or the case".to_owned(),
        };
        Mistake::error(&self.place, message, help)
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
    CaseOutcome { check: check.id.clone(), place: case.place.clone(), expect: case.expect.clone(), got }
}

fn asked(check: &Check, given: &Given) -> String {
    let car = Car { facts: given.car.clone().unwrap_or_default(), ..Car::default() };
    if applies(check, &car).is_asked() { "asked".to_owned() } else { "left-out".to_owned() }
}

fn judge(rules: &Ruleset, check: &Check, given: &Given) -> Result<String, String> {
    let mut judged = typed(rules, check, given)?;
    let alone = matches!(check.typed, Typed::None) && check.compute.len() == 1;
    for row in &check.compute {
        let text = given.values.get(&row.id).or_else(|| given.values.get(row.quantity.id));
        let text = text.or(given.value.as_ref().filter(|_| alone));
        if let Some(text) = text {
            judged.push(computed(row, text)?);
        }
    }
    let verdict = worst(judged.iter().map(|judged| judged.outcome));
    let outcome = match (verdict, given.result) {
        // A number may turn an accept into a reject; it never closes what nobody looked at.
        (Some(Outcome::Reject), _) => Outcome::Reject,
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
    Ok(judge_measure(rules, row, parsed.si, parsed.half_width, given.instrument.as_deref(), Units::Us))
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

fn computed(row: &ComputeRow, text: &str) -> Result<Judged, String> {
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
    Ok(judge_compute(row, &Number::given(row.quantity, value), Units::Us))
}

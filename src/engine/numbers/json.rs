//! Numbers as JSON, in the shape that other people's scripts read.

use serde::Serialize;

use crate::model::known::Way;
use crate::units::Units;

use super::answer::{Against, Answer, Bound, Number, NumberValue, Refused};
use super::spread::spread;

#[derive(Serialize)]
struct Document<'a> {
    format: u8,
    car: &'a str,
    numbers: Vec<NumberRow<'a>>,
    refused: Vec<RefusedRow<'a>>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum ValueRow<'a> {
    Number(f64),
    Flag(bool),
    Word(&'a str),
}

#[derive(Serialize)]
struct NumberRow<'a> {
    quantity: &'a str,
    of: &'a str,
    value: ValueRow<'a>,
    unit: &'a str,
    low: Option<f64>,
    high: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    convergence: Option<f64>,
    shown: String,
    /// `value`, or the end of it that the number is: `at-least`, `at-most`.
    bound: &'static str,
    inputs: Vec<InputRow<'a>>,
    drivers: Vec<DriverRow<'a>>,
    assumed: &'a [String],
    notes: &'a [String],
    source: &'a str,
    #[serde(flatten)]
    against: Option<Against>,
}

/// What went in: a number with the ends between which it may lie, or by its key alone what is no number.
#[derive(Serialize)]
struct InputRow<'a> {
    key: &'a str,
    value: Option<f64>,
    unit: Option<&'static str>,
    low: Option<f64>,
    high: Option<f64>,
    /// How it is known: a word of the car file, or `default`.
    known: String,
}

/// The share of the band that one input makes.
#[derive(Serialize)]
struct DriverRow<'a> {
    key: &'a str,
    share: f64,
}

#[derive(Serialize)]
struct RefusedRow<'a> {
    quantity: &'a str,
    of: Option<&'a str>,
    needs: &'a [String],
    reason: &'a str,
    #[serde(flatten)]
    against: Option<Against>,
}

impl<'a> NumberRow<'a> {
    fn of(number: &'a Number, units: Units, against: Option<Against>) -> Self {
        Self {
            quantity: number.quantity,
            of: &number.of,
            value: match &number.value {
                NumberValue::Number(si) => ValueRow::Number(*si),
                NumberValue::Flag(flag) => ValueRow::Flag(*flag),
                NumberValue::Word(word) => ValueRow::Word(word),
            },
            unit: number.shown_as.unit(),
            low: number.low,
            high: number.high,
            convergence: number.convergence,
            shown: number.shown(units),
            bound: match number.bound {
                Bound::Value => "value",
                Bound::AtLeast => "at-least",
                Bound::AtMost => "at-most",
            },
            inputs: inputs(number),
            drivers: number.drivers.iter().map(|(key, share)| DriverRow { key, share: *share }).collect(),
            assumed: &number.assumed,
            notes: &number.notes,
            source: &number.source,
            against,
        }
    }
}

fn inputs(number: &Number) -> Vec<InputRow<'_>> {
    let default = |assumed: bool| if assumed { "default".to_owned() } else { "typed".to_owned() };
    let numbers = number.inputs.iter().map(|input| {
        let ends = spread(input);
        InputRow {
            key: &input.path,
            value: Some(input.si),
            unit: Some(input.kind.si_unit()),
            low: ends.map(|[low, _]| low),
            high: ends.map(|[_, high]| high),
            known: if input.way == Way::Typed { default(input.assumed) } else { input.way.word() },
        }
    });
    let others = number.others.iter().map(|(key, assumed)| {
        let known = if number.unseen.contains(key) { "assumed".to_owned() } else { default(*assumed) };
        InputRow { key, value: None, unit: None, low: None, high: None, known }
    });
    numbers.chain(others).collect()
}

impl<'a> RefusedRow<'a> {
    fn of(refused: &'a Refused, against: Option<Against>) -> Self {
        Self {
            quantity: refused.quantity,
            of: refused.of.as_deref(),
            needs: &refused.needs,
            reason: &refused.reason,
            against,
        }
    }
}

/// Every number and every refusal as one JSON document, values at full precision, bands null where none was worked, and
/// what the limits make of each.
pub fn to_json(
    car_id: &str,
    answers: &[Answer],
    units: Units,
    against: impl Fn(&Answer) -> Option<Against>,
) -> String {
    let mut document = Document { format: 1, car: car_id, numbers: Vec::new(), refused: Vec::new() };
    for answer in answers {
        match answer {
            Answer::Number(number) => document.numbers.push(NumberRow::of(number, units, against(answer))),
            Answer::Refused(refused) => document.refused.push(RefusedRow::of(refused, against(answer))),
        }
    }
    // Plain structs of texts and numbers cannot fail to serialise.
    serde_json::to_string(&document).unwrap_or_default()
}

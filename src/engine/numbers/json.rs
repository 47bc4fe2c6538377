//! Numbers as JSON, in the shape that other people's scripts read.

use serde::Serialize;

use crate::units::Units;

use super::answer::{Against, Answer, Number, NumberValue, Refused};

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
    assumed: &'a [String],
    source: &'a str,
    #[serde(flatten)]
    against: Option<Against>,
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
            assumed: &number.assumed,
            source: &number.source,
            against,
        }
    }
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

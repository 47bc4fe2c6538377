//! Rows whose limits are worked out, and measured rows whose values readings give.

use crate::diagnostic::Diagnostic;
use crate::source::{Reader, Value, text_place};
use crate::units::{self, Kind, Units};

use super::check::Check;
use super::expression::{Expression, Terms, looks_like_one, reading};
use super::limits::{ComputeRow, Limit, MeasureRow, Typed, WordOrFlag};

impl MeasureRow {
    /// Whether it has a limit.
    pub fn judges(&self) -> bool {
        self.min.is_some() || self.max.is_some() || self.equals.is_some() || !self.worked.is_empty()
    }

    /// The row with its worked limits put in, as loose and as strict as its terms allow.
    pub fn settled(&self, terms: &Terms<'_>, of: Option<&str>) -> [Self; 2] {
        let show = |si| units::show(si, self.kind, Units::Us);
        let mut both = [self.clone(), self.clone()];
        for (key, limits) in ends(&self.worked, |limit| limit.range(terms, of), show) {
            for (row, limit) in both.iter_mut().zip(limits) {
                match key {
                    "min" => row.min = limit,
                    "max" => row.max = limit,
                    _ => row.equals = limit,
                }
            }
        }
        both
    }
}

impl ComputeRow {
    /// The row with its worked limits put in, as loose and as strict as `known` leaves them.
    pub(super) fn settled(&self, known: impl Fn(&Expression) -> [f64; 2], units: Units) -> [Self; 2] {
        let mut both = [self.clone(), self.clone()];
        for (key, limits) in ends(&self.worked, known, |si| self.quantity.shown.show(si, units)) {
            for (row, limit) in both.iter_mut().zip(limits) {
                match key {
                    "min" => row.min = limit,
                    "max" => row.max = limit,
                    _ => row.equals = limit.map(WordOrFlag::Number),
                }
            }
        }
        both
    }
}

impl Check {
    /// Every limit of it that is worked out.
    pub(super) fn worked_limits(&self) -> Vec<&(&'static str, Expression)> {
        let measured = match &self.typed {
            Typed::Measure(rows) => rows.as_slice(),
            _ => &[],
        };
        let measured = measured.iter().flat_map(|row| &row.worked);
        measured.chain(self.compute.iter().flat_map(|row| &row.worked)).collect()
    }
}

/// Each worked limit by its key, as loose and as strict as it may be; none where it limits nothing.
fn ends(
    worked: &[(&'static str, Expression)],
    known: impl Fn(&Expression) -> [f64; 2],
    show: impl Fn(f64) -> String,
) -> Vec<(&'static str, [Option<Limit>; 2])> {
    let one = |(key, expression): &(&'static str, Expression)| {
        let [low, high] = known(expression);
        let [loose, strict] = if *key == "max" { [high, low] } else { [low, high] };
        let limit = |si: f64| {
            let text = if si.is_finite() { show(si) } else { expression.text.clone() };
            // A least of less than anything, and a most of more than anything, limit nothing.
            let none = if *key == "max" { si == f64::INFINITY } else { si == f64::NEG_INFINITY };
            (!none).then_some(Limit { si, text })
        };
        (*key, [limit(loose), limit(strict)])
    };
    worked.iter().map(one).collect()
}

/// An expression under a key: none where the value is none, and an empty one where it is wrong, which is reported.
pub(super) fn expression(
    r: &Reader<'_>,
    key: &'static str,
    doc: &str,
    kind: Kind,
) -> Option<Option<Expression>> {
    let node = r.raw(key, doc)?;
    let Value::Text(text) = &node.value else { return None };
    if matches!(key, "aim_min" | "aim_max")
        || units::parse_signed(text, kind).is_ok()
        || !looks_like_one(text)
    {
        return None;
    }
    let read = Expression::parse(text, kind)
        .map_err(|wrong| Diagnostic::error(&text_place(node, text, wrong.at), wrong.message, wrong.help));
    Some(r.settle(read))
}

/// The reading that gives a row its value: of the row's kind, its element's id left out.
pub(super) fn reading_of_row(r: &Reader<'_>, kind: Option<Kind>) -> Option<String> {
    let word = r.word(
        "reading",
        "Reading that gives the value, its element's id left out: brakes.circuit.hold.time.",
    )?;
    let message = match (reading(&word.text), kind) {
        // What a row of an unknown unit has to be is not known either.
        (Some(_), None) => return Some(word.text),
        (Some(found), Some(kind)) if found == kind => return Some(word.text),
        (Some(found), Some(kind)) => {
            format!("{} reads {}, and this row is {}", word.text, found.name(), kind.name())
        }
        (None, _) => format!("there is no reading {}", word.text),
    };
    r.report(Diagnostic::error(
        &word.at,
        message,
        "name a reading without ids: brakes.circuit.hold.start_pressure",
    ));
    None
}

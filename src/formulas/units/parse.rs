//! Reading a quantity as a person writes it: `"4 ft 3 1/2 in"`, `"1200 psi +/- 2.5 %"`.

use std::ops::Range;

use super::number::{Cursor, Number, number, starts_number};
use super::refusal::{Refusal, remedy};
use super::table::{self, PLAIN, Unit};
use super::{AMBIENT, KINDS, Kind, Span, Units};

/// What a text says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parsed {
    /// The value in the SI unit of its kind. For a span: its days, a month counted as 30.4375 of them.
    pub si: f64,
    /// Half-width of the stated uncertainty in the same unit (kelvins for a temperature), where one was stated.
    pub half_width: Option<f64>,
    /// The span itself, for [`Kind::Span`] only.
    pub span: Option<Span>,
}

/// Reads a quantity of `kind`.
///
/// # Errors
/// A [`Refusal`] for a wrong kind, an unknown or missing unit, a comma, a zero denominator, anything left over, a
/// value that is not finite or over 1e300, an empty text, and a negative value where `kind` can have none. A
/// temperature may go down to 0 K and a gauge pressure to a perfect vacuum; a temperature difference, an angle, a
/// voltage and a current may have either sign.
pub fn parse(text: &str, kind: Kind) -> Result<Parsed, Refusal> {
    Reader::new(text, kind).quantity()
}

/// Like [`parse`], but a value of any kind may be negative, for limits on differences such as "-5 %". Nothing goes
/// below 0 K or a perfect vacuum all the same.
///
/// # Errors
/// As for [`parse`], without its refusal of negative values.
pub fn parse_signed(text: &str, kind: Kind) -> Result<Parsed, Refusal> {
    Reader { signed: true, ..Reader::new(text, kind) }.quantity()
}

/// Like [`parse`], but a bare number takes `unit`. The text with that unit is given back then, to be echoed. For a
/// ratio the unit may be "" for a plain number or "%".
///
/// # Errors
/// As for [`parse`]; also where `unit` is not a unit of `kind`.
pub fn parse_bare(text: &str, kind: Kind, unit: &str) -> Result<(Parsed, Option<String>), Refusal> {
    let Some(bare) = table::find_for(unit, kind) else {
        return Err(Refusal::new(
            0..0,
            format!("{} is not a unit of {}", Refusal::quote(unit), kind.name()),
            format!("write {}", kind.examples()),
        ));
    };
    let mut reader = Reader { bare: Some(bare), ..Reader::new(text, kind) };
    let parsed = reader.quantity()?;
    Ok((parsed, reader.echo()))
}

/// Whose units a quantity is written in; nothing where it cannot be read or both systems write it so.
pub fn units_of(text: &str, kind: Kind) -> Option<Units> {
    let mut reader = Reader { signed: true, ..Reader::new(text, kind) };
    reader.value().ok()?.unit.system()
}

/// Reads an instrument's accuracy for readings of `kind`, as a half-width in SI: a quantity ("1/16 in", "2 F"), or a
/// share of a full scale ("2.5 % of 1500 psi"). For a temperature it is a difference in kelvins.
///
/// # Errors
/// As for [`parse`]; also a share without the full scale it is a share of, and any accuracy of a span.
pub fn parse_accuracy(text: &str, kind: Kind) -> Result<f64, Refusal> {
    let mut reader = Reader::new(text, kind);
    reader.cursor.space();
    reader.plus_minus();
    reader.cursor.space();
    let before = reader.cursor;
    let share = number(&mut reader.cursor, kind)?;
    let (segment, at) = reader.segment();
    if segment.contains('%') && table::normalise(segment) == "% of" && kind != Kind::Temperature {
        let full = reader.value()?;
        reader.nothing_left()?;
        return Ok(share.value / 100.0 * full.written);
    }
    if kind != Kind::Ratio && table::find(segment).is_some_and(|unit| unit.name == "%") {
        return Err(Refusal::new(
            at,
            "a share of what is not said",
            "write the accuracy as a quantity, or with its full scale such as \"2.5 % of 1500 psi\"",
        ));
    }
    reader.cursor = before;
    let half = match kind {
        Kind::Ratio => reader.value()?.si,
        _ => reader.half_width(&Value { si: 0.0, written: 0.0, unit: &PLAIN, span: None })?,
    };
    reader.nothing_left()?;
    Ok(half)
}

/// As [`parse_accuracy`], for each kind of readings that the accuracy can be of.
pub fn accuracies(text: &str) -> Vec<(Kind, f64)> {
    // The unit at its end tells of what nearly always, and putting a refusal into words takes longer than reading does.
    let unit = text.rsplit(|c: char| c.is_ascii_digit()).next().and_then(|end| table::find(end.trim()));
    let fits = |kind: &Kind| unit.is_none_or(|unit| unit.kind == *kind || are_degrees([unit.kind, *kind]));
    let read = |kind| Some((kind, parse_accuracy(text, kind).ok()?));
    KINDS.iter().copied().filter(fits).filter_map(read).collect()
}

/// Whether each is of a temperature or a difference: a half-width is a difference either way.
fn are_degrees(kinds: [Kind; 2]) -> bool {
    kinds.iter().all(|kind| matches!(kind, Kind::Temperature | Kind::TemperatureDifference))
}

/// The value in front of any `+/-`.
struct Value {
    si: f64,
    /// Its size in SI without any shift of the zero: what a half-width in % is a share of.
    written: f64,
    unit: &'static Unit,
    span: Option<Span>,
}

/// One text being read.
struct Reader<'a> {
    cursor: Cursor<'a>,
    kind: Kind,
    signed: bool,
    bare: Option<&'static Unit>,
    /// Where the bare unit was used: the byte after each bare number.
    used_bare: Vec<usize>,
}

/// The largest size taken, so that later sums and products stay finite.
const LARGEST: f64 = 1e300;

impl<'a> Reader<'a> {
    fn new(text: &'a str, kind: Kind) -> Self {
        Self { cursor: Cursor { text, at: 0 }, kind, signed: false, bare: None, used_bare: Vec::new() }
    }

    /// The whole text: a value, and a half-width if there is one.
    fn quantity(&mut self) -> Result<Parsed, Refusal> {
        let value = self.value()?;
        self.cursor.space();
        let half_width = match self.plus_minus() {
            true => Some(self.half_width(&value)?),
            false => None,
        };
        self.nothing_left()?;
        Ok(Parsed { si: value.si, half_width, span: value.span })
    }

    /// Refuses what the quantity has not used up.
    fn nothing_left(&mut self) -> Result<(), Refusal> {
        self.cursor.space();
        let left = self.cursor.rest().trim_end();
        if left.is_empty() {
            return Ok(());
        }
        let at = self.cursor.at..self.cursor.at + left.len();
        Err(Refusal::new(
            at,
            format!("{} is left over", Refusal::quote(left)),
            format!("write one value such as {}", self.kind.examples()),
        ))
    }

    /// Reads `+/-` or `±`.
    fn plus_minus(&mut self) -> bool {
        match plus_minus(self.cursor.rest()) {
            Some(length) => {
                self.cursor.at += length;
                true
            }
            None => false,
        }
    }

    /// A sign, a number with its unit, and a second one where two units go together.
    fn value(&mut self) -> Result<Value, Refusal> {
        self.cursor.space();
        let start = self.cursor.at;
        if self.cursor.rest().is_empty() {
            return Err(Refusal::new(start..start, "nothing is written here", self.wanted()));
        }
        if let Some(length) = plus_minus(self.cursor.rest()) {
            let at = start..start + length;
            return Err(Refusal::new(at, "a value is missing in front of this", self.wanted()));
        }
        let negative = match self.cursor.eat(&['-', '−', '+']) {
            Some(sign) => sign != '+',
            None => false,
        };
        self.cursor.space();
        let first = number(&mut self.cursor, self.kind)?;
        let unit = self.unit(&first, true)?;
        let mut written = first.value * unit.factor();
        let mut value = first.value;
        if let Some((second, smaller)) = self.second(&first, unit)? {
            written += second.value * smaller.factor();
            value += second.value * smaller.factor() / unit.factor();
        }
        let at = start..self.cursor.at;
        let sign = if negative { -1.0 } else { 1.0 };
        // For units with no shifted zero the sum of the parts is used as it stands, with no second rounding.
        let si = if unit.to_si(0.0) == 0.0 { sign * written } else { unit.to_si(sign * value) };
        let si = if si == 0.0 { 0.0 } else { si };
        self.within_bounds(si, negative && value > 0.0, &at)?;
        let span = if self.kind == Kind::Span { Some(span(written, unit, &at)?) } else { None };
        Ok(Value { si, written, unit, span })
    }

    /// Refuses what is not finite, too large or too small for the kind.
    fn within_bounds(&self, si: f64, negative: bool, at: &Range<usize>) -> Result<(), Refusal> {
        if !si.is_finite() || si.abs() > LARGEST {
            return Err(Refusal::new(at.clone(), "this number is too large", "write a number below 1e300"));
        }
        let (below, message, help) = match self.kind {
            Kind::Temperature => {
                (si < 0.0, "nothing is colder than absolute zero".to_owned(), "write -459.67 F or above")
            }
            Kind::Pressure => (
                si < -AMBIENT,
                "no gauge pressure is below a perfect vacuum".to_owned(),
                "write -14.69 psi or above, or an absolute pressure in psia or bara",
            ),
            Kind::TemperatureDifference | Kind::Angle | Kind::Voltage | Kind::Current => return Ok(()),
            _ => {
                let message = format!("{} cannot be less than zero here", self.kind.name());
                (
                    negative && !(self.signed && self.kind != Kind::Span),
                    message,
                    "write it without the minus sign",
                )
            }
        };
        if below { Err(Refusal::new(at.clone(), message, help)) } else { Ok(()) }
    }

    /// The second part of "4 ft 3 1/2 in" or "10 lb 4 oz".
    fn second(&mut self, first: &Number, unit: &Unit) -> Result<Option<(Number, &'static Unit)>, Refusal> {
        let before = self.cursor;
        self.cursor.space();
        if unit.name == "ft" {
            // 4'-3" is a drawing office's way of writing it.
            self.cursor.eat(&['-']);
            self.cursor.space();
        }
        if !self.cursor.peek().is_some_and(starts_number) {
            self.cursor = before;
            return Ok(None);
        }
        let part = number(&mut self.cursor, self.kind)?;
        let smaller = self.unit(&part, false)?;
        let at = part.at.start..self.cursor.at;
        let most = match (unit.name, smaller.name) {
            ("ft", "in") | ("years", "months") => 12.0,
            ("lb", "oz") => 16.0,
            ("h", "min") | ("min", "s") => 60.0,
            _ => {
                return Err(Refusal::new(
                    at,
                    format!("a second value in {} is left over", smaller.name),
                    format!("write one value such as {}", self.kind.examples()),
                ));
            }
        };
        if part.value >= most {
            let message = format!("this is a whole {} or more", unit.name);
            let help = format!("write less than {most} {} behind the {}", smaller.name, unit.name);
            return Err(Refusal::new(at, message, help));
        }
        if first.value.fract() != 0.0 {
            let message = format!("a part of a {} and {} are both given", unit.name, smaller.name);
            let help = format!("write whole {} in front of the {}, or one value", unit.name, smaller.name);
            return Err(Refusal::new(first.at.clone(), message, help));
        }
        Ok(Some((part, smaller)))
    }

    /// What stands between a number and the next number, `+/-` or the end.
    fn segment(&mut self) -> (&'a str, Range<usize>) {
        self.cursor.space();
        let start = self.cursor.at;
        let rest = self.cursor.rest();
        let mut end = 0;
        for (at, c) in rest.char_indices() {
            let here = rest.get(at..).unwrap_or("");
            let quote = matches!(c, '"' | '\'' | '″' | '′' | '”' | '’');
            let next = here.trim_start();
            if plus_minus(here).is_some()
                || (quote && at > 0)
                || (c.is_whitespace() && next.starts_with(starts_number))
            {
                break;
            }
            end = at + c.len_utf8();
            if quote {
                // Two single marks are how some keyboards write inches.
                end += if here.starts_with("''") { 1 } else { 0 };
                break;
            }
        }
        let segment = rest.get(..end).unwrap_or("").trim_end();
        self.cursor.at += segment.len();
        (segment, start..self.cursor.at)
    }

    /// The unit after a number; `first` where a bare number may stand.
    fn unit(&mut self, number: &Number, first: bool) -> Result<&'static Unit, Refusal> {
        let (segment, at) = self.segment();
        if segment.is_empty() {
            let bare = if first { self.bare } else { None };
            if let Some(unit) = bare {
                self.used_bare.push(number.at.end);
                return Ok(unit);
            }
            if first && self.kind == Kind::Ratio {
                return Ok(&PLAIN);
            }
            return Err(self.missing_unit(number));
        }
        match table::find(segment) {
            Some(unit) if unit.kind == self.kind => Ok(unit),
            Some(unit) => Err(self.wrong_kind(unit, at)),
            None => Err(self.unknown_unit(segment, at)),
        }
    }

    /// The half-width after `+/-`.
    fn half_width(&mut self, value: &Value) -> Result<f64, Refusal> {
        self.cursor.space();
        let start = self.cursor.at;
        if self.kind == Kind::Span {
            let at = start..start + self.cursor.rest().trim_end().len();
            return Err(Refusal::new(at, "a calendar span is exact", "leave out +/- and what follows"));
        }
        let half = number(&mut self.cursor, self.kind)?;
        let (segment, at) = self.segment();
        let plain_ratio = self.kind == Kind::Ratio && value.unit.name.is_empty();
        let unit = match table::find(segment) {
            _ if segment.is_empty() => match self.bare {
                // The value itself was bare: its half-width takes the same unit.
                Some(unit) if !self.used_bare.is_empty() => {
                    self.used_bare.push(half.at.end);
                    unit
                }
                _ if plain_ratio => &PLAIN,
                _ => return Err(self.missing_unit(&half)),
            },
            Some(unit) if unit.name == "%" && self.kind == Kind::Temperature => {
                let help = "write the half-width in degrees, such as \"70 F +/- 2 F\"";
                return Err(Refusal::new(at, "a share of a temperature means nothing", help));
            }
            // A share in % has its half-width in the same %; for every other value % is a share of the value.
            Some(unit) if unit.name == "%" && value.unit.name != "%" => {
                return self.finite(half.value / 100.0 * value.written, start);
            }
            Some(unit) if unit.kind == self.kind => unit,
            Some(unit) if are_degrees([unit.kind, self.kind]) => unit,
            Some(unit) => return Err(self.wrong_kind(unit, at)),
            None => return Err(self.unknown_unit(segment, at)),
        };
        self.finite(half.value * unit.factor(), start)
    }

    fn finite(&self, value: f64, start: usize) -> Result<f64, Refusal> {
        let at = start..self.cursor.at;
        let help = "write a number below 1e300";
        if value <= LARGEST { Ok(value) } else { Err(Refusal::new(at, "this number is too large", help)) }
    }

    /// The text with the bare unit written behind each bare number, or nothing where no number was bare.
    fn echo(&self) -> Option<String> {
        let unit = self.bare.filter(|unit| !unit.name.is_empty() && !self.used_bare.is_empty())?;
        let mut out = String::new();
        let mut from = 0;
        for &to in &self.used_bare {
            out.push_str(self.cursor.text.get(from..to).unwrap_or(""));
            out.push(' ');
            out.push_str(unit.name);
            from = to;
        }
        out.push_str(self.cursor.text.get(from..).unwrap_or(""));
        Some(out.trim().to_owned())
    }

    fn wanted(&self) -> String {
        format!("write {} such as {}", self.kind.name(), self.kind.examples())
    }

    fn missing_unit(&self, number: &Number) -> Refusal {
        let text = self.cursor.text.get(number.at.clone()).unwrap_or("");
        let message = format!("{} has no unit", Refusal::quote(text));
        Refusal::new(number.at.clone(), message, self.wanted())
    }

    fn wrong_kind(&self, unit: &Unit, at: Range<usize>) -> Refusal {
        let message =
            format!("\"{}\" writes {}, and {} belongs here", unit.name, unit.kind.name(), self.kind.name());
        let help = remedy(self.kind, unit.name).map_or_else(|| self.wanted(), str::to_owned);
        Refusal::new(at, message, help)
    }

    /// Text that is no unit, or a unit with something behind it.
    fn unknown_unit(&self, segment: &str, at: Range<usize>) -> Refusal {
        for (end, _) in segment.char_indices().rev().filter(|(_, c)| c.is_whitespace()) {
            let known = segment.get(..end).unwrap_or("");
            if let Some(unit) = table::find(known) {
                if unit.kind != self.kind {
                    return self.wrong_kind(unit, at.start..at.start + end);
                }
                let left = segment.get(end..).unwrap_or("").trim_start();
                let message = format!("{} is left over", Refusal::quote(left));
                return Refusal::new(at.end - left.len()..at.end, message, self.wanted());
            }
        }
        let message = format!("{} is not a unit that is known here", Refusal::quote(segment));
        let normal = table::normalise(segment).to_ascii_lowercase().replace(' ', ".");
        let help = match normal.as_str() {
            "lb.ft" | "ft.lb" | "lbs.ft" | "ft.lbs" | "ftlb" | "lbft" if self.kind == Kind::Torque => {
                "write lbf.ft".to_owned()
            }
            "lb.in" | "in.lb" | "lbs.in" | "in.lbs" | "inlb" | "lbin" if self.kind == Kind::Torque => {
                "write lbf.in".to_owned()
            }
            _ => match table::nearest(segment, self.kind) {
                Some(name) => format!(
                    "did you mean \"{name}\"? {} is written {}",
                    capital(self.kind.name()),
                    self.kind.examples()
                ),
                None => self.wanted(),
            },
        };
        Refusal::new(at, message, help)
    }
}

/// The length of a `+/-` or `±` at the start of the text.
fn plus_minus(text: &str) -> Option<usize> {
    ["+/-", "+/−", "±", "+-"].into_iter().find(|sign| text.starts_with(sign)).map(str::len)
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// Whole days or whole months; `written` is in days.
fn span(written: f64, unit: &Unit, at: &Range<usize>) -> Result<Span, Refusal> {
    let months = matches!(unit.name, "months" | "years");
    let count = if months { written / table::DAYS_A_MONTH } else { written };
    let whole = count.round();
    // A hundred thousand of either is far past any calendar date, and well inside a u32.
    if whole > 100_000.0 {
        return Err(Refusal::new(at.clone(), "this span is too long", "write a span such as \"2 years\""));
    }
    if (count - whole).abs() > 1e-9 {
        let help = "write whole days or whole months, such as \"90 days\" or \"18 months\"";
        return Err(Refusal::new(at.clone(), "a calendar span is counted in whole days or months", help));
    }
    let whole = whole as u32;
    Ok(if months { Span::Months(whole) } else { Span::Days(whole) })
}

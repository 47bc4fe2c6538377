//! Reading one number: a decimal, a fraction, a mixed number or a one-character fraction.

use std::ops::Range;

use super::Kind;
use super::refusal::Refusal;

/// A place in the text being read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cursor<'a> {
    pub text: &'a str,
    pub at: usize,
}

impl<'a> Cursor<'a> {
    /// What has not been read yet.
    pub fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    /// The next character.
    pub fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// Reads the characters for which `wanted` holds, and gives them.
    pub fn take(&mut self, wanted: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let taken = rest.get(..rest.find(|c| !wanted(c)).unwrap_or(rest.len())).unwrap_or("");
        self.at += taken.len();
        taken
    }

    /// Reads spaces; says whether there were any.
    pub fn space(&mut self) -> bool {
        !self.take(char::is_whitespace).is_empty()
    }

    /// Reads one character if it is one of `wanted`.
    pub fn eat(&mut self, wanted: &[char]) -> Option<char> {
        let c = self.peek().filter(|c| wanted.contains(c))?;
        self.at += c.len_utf8();
        Some(c)
    }

    /// Reads a one-character fraction.
    fn vulgar(&mut self) -> Option<f64> {
        let c = self.peek()?;
        let value = vulgar(c)?;
        self.at += c.len_utf8();
        Some(value)
    }

    fn digits(&mut self) -> &'a str {
        self.take(|c| c.is_ascii_digit())
    }
}

/// A number and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Number {
    pub value: f64,
    pub at: Range<usize>,
}

const SLASHES: &[char] = &['/', '⁄', '∕'];
const HYPHENS: &[char] = &['-', '–', '‑'];

/// Whether a number can start with this character.
pub(super) fn starts_number(c: char) -> bool {
    c.is_ascii_digit() || c == '.' || vulgar(c).is_some()
}

/// The value of a one-character fraction.
fn vulgar(c: char) -> Option<f64> {
    let (top, bottom) = match c {
        '½' => (1.0, 2.0),
        '⅓' => (1.0, 3.0),
        '⅔' => (2.0, 3.0),
        '¼' => (1.0, 4.0),
        '¾' => (3.0, 4.0),
        '⅕' => (1.0, 5.0),
        '⅖' => (2.0, 5.0),
        '⅗' => (3.0, 5.0),
        '⅘' => (4.0, 5.0),
        '⅙' => (1.0, 6.0),
        '⅚' => (5.0, 6.0),
        '⅐' => (1.0, 7.0),
        '⅛' => (1.0, 8.0),
        '⅜' => (3.0, 8.0),
        '⅝' => (5.0, 8.0),
        '⅞' => (7.0, 8.0),
        '⅑' => (1.0, 9.0),
        '⅒' => (1.0, 10.0),
        _ => return None,
    };
    Some(top / bottom)
}

/// Reads one number without a sign.
pub(super) fn number(cursor: &mut Cursor<'_>, kind: Kind) -> Result<Number, Refusal> {
    let start = cursor.at;
    let value = match cursor.vulgar() {
        Some(value) => value,
        None => {
            let whole = cursor.digits();
            match cursor.peek() {
                Some('.') => decimal(cursor, start, whole, kind)?,
                _ if whole.is_empty() => return Err(not_a_number(*cursor, kind)),
                _ => match exponent(cursor) {
                    true => to_f64(cursor, start),
                    false => fraction(cursor, start, whole)?,
                },
            }
        }
    };
    let at = start..cursor.at;
    refuse_what_follows(*cursor, &at, kind)?;
    if !value.is_finite() {
        return Err(Refusal::new(at, "this number is too large", "write a number below 1e300"));
    }
    Ok(Number { value, at })
}

/// The text from `start` read as a decimal; the digits were checked before.
fn to_f64(cursor: &Cursor<'_>, start: usize) -> f64 {
    cursor.text.get(start..cursor.at).and_then(|text| text.parse().ok()).unwrap_or(f64::INFINITY)
}

/// Reads the point, the decimals and an exponent.
fn decimal(cursor: &mut Cursor<'_>, start: usize, whole: &str, kind: Kind) -> Result<f64, Refusal> {
    let at_point = *cursor;
    cursor.eat(&['.']);
    if cursor.digits().is_empty() && whole.is_empty() {
        return Err(not_a_number(at_point, kind));
    }
    exponent(cursor);
    Ok(to_f64(cursor, start))
}

/// Reads `e-3`; an `e` without digits after it is left alone.
fn exponent(cursor: &mut Cursor<'_>) -> bool {
    let before = *cursor;
    if cursor.eat(&['e', 'E']).is_some() {
        cursor.eat(&['-', '+']);
        if !cursor.digits().is_empty() {
            return true;
        }
    }
    *cursor = before;
    false
}

/// Reads what may follow a whole number: `/16`, ` 5/8`, `-5/8` or `⅝`.
fn fraction(cursor: &mut Cursor<'_>, start: usize, whole: &str) -> Result<f64, Refusal> {
    let whole: f64 = whole.parse().unwrap_or(f64::INFINITY);
    if slash(cursor) {
        return Ok(whole / denominator(cursor)?);
    }
    let before = *cursor;
    if let Some(part) = cursor.vulgar() {
        return Ok(whole + part);
    }
    if !cursor.space() {
        cursor.eat(HYPHENS);
    }
    if cursor.at > before.at {
        if let Some(part) = cursor.vulgar() {
            return Ok(whole + part);
        }
        let top_at = cursor.at;
        let top = cursor.digits();
        if !top.is_empty() && slash(cursor) {
            let top: f64 = top.parse().unwrap_or(f64::INFINITY);
            let bottom = denominator(cursor)?;
            if top >= bottom {
                return Err(Refusal::new(
                    top_at..cursor.at,
                    "the fraction after a whole number is one or more",
                    "write a proper fraction such as 1 3/8, or the whole value as one fraction such as 11/8",
                ));
            }
            return Ok(whole + top / bottom);
        }
    }
    *cursor = Cursor { at: before.at.max(start), ..before };
    Ok(whole)
}

/// Reads a slash that belongs to a fraction, spaces round it allowed.
fn slash(cursor: &mut Cursor<'_>) -> bool {
    let before = *cursor;
    cursor.space();
    if cursor.eat(SLASHES).is_some() {
        return true;
    }
    *cursor = before;
    false
}

/// Reads what stands under the slash.
fn denominator(cursor: &mut Cursor<'_>) -> Result<f64, Refusal> {
    let slash_at = cursor.at;
    cursor.space();
    let start = cursor.at;
    let digits = cursor.digits();
    if digits.is_empty() {
        let slash = cursor.text.get(..slash_at).and_then(|text| text.chars().next_back());
        return Err(Refusal::new(
            slash_at - slash.map_or(0, char::len_utf8)..slash_at,
            "nothing stands under the slash",
            "write a fraction of whole numbers such as 3/16",
        ));
    }
    let value: f64 = digits.parse().unwrap_or(f64::INFINITY);
    if value == 0.0 {
        return Err(Refusal::new(
            start..cursor.at,
            "a fraction over zero has no value",
            "write a fraction such as 3/16",
        ));
    }
    Ok(value)
}

/// Refuses what turns the number just read into something that can be read two ways.
fn refuse_what_follows(mut cursor: Cursor<'_>, at: &Range<usize>, kind: Kind) -> Result<(), Refusal> {
    let read = cursor.text.get(at.clone()).unwrap_or("");
    let at_next = cursor.at;
    match cursor.peek() {
        Some(',') => Err(comma(cursor, at.clone(), kind)),
        Some('.') => {
            cursor.take(|c| c == '.' || c.is_ascii_digit());
            Err(Refusal::new(
                at.start..cursor.at,
                "this is not one number",
                "write one decimal point, and fractions of whole numbers such as 3/16",
            ))
        }
        Some(c) if SLASHES.contains(&c) || (vulgar(c).is_some()) => {
            cursor.take(|c| SLASHES.contains(&c) || starts_number(c));
            Err(Refusal::new(
                at.start..cursor.at,
                "a fraction is made of two whole numbers",
                "write a fraction such as 3/16 or 1 3/16, or a decimal such as 0.1875",
            ))
        }
        _ => {
            cursor.space();
            if cursor.eat(HYPHENS).is_some() {
                return Err(Refusal::new(
                    at_next..cursor.at,
                    "a range or a subtraction is not a value",
                    "write one value; a mixed number is written 1-5/8 or 1 5/8",
                ));
            }
            if cursor.at > at_next && cursor.peek().is_some_and(starts_number) {
                cursor.take(|c| starts_number(c) || c == ',');
                return Err(Refusal::new(
                    at.start..cursor.at,
                    "two numbers stand side by side",
                    format!("write {read} as one number without spaces, or give its unit before the next"),
                ));
            }
            Ok(())
        }
    }
}

/// A comma in or behind a number, which people read in two ways.
fn comma(mut cursor: Cursor<'_>, at: Range<usize>, kind: Kind) -> Refusal {
    let read = cursor.text.get(at.clone()).unwrap_or("");
    let mut joined = read.to_owned();
    let mut groups = Vec::new();
    while cursor.eat(&[',']).is_some() {
        let group = cursor.digits();
        joined.push_str(group);
        groups.push(group);
    }
    let all = at.start..cursor.at;
    match groups.as_slice() {
        [""] => Refusal::new(all, "a comma follows the number", format!("write {}", kind.examples())),
        [only] if only.len() != 3 => Refusal::new(
            all,
            "a comma is not read as a decimal point",
            format!("write {read}.{only} with a point"),
        ),
        [only] => Refusal::new(
            all,
            "a comma in a number can be read two ways",
            format!("write {joined} without the comma, or {read}.{only} with a point"),
        ),
        _ => Refusal::new(
            all,
            "commas between thousands are not read",
            format!("write {joined} without the commas"),
        ),
    }
}

/// The refusal where a number should start and does not.
fn not_a_number(mut cursor: Cursor<'_>, kind: Kind) -> Refusal {
    let start = cursor.at;
    let word = cursor.take(|c| !c.is_whitespace());
    let message = match word.to_ascii_lowercase().as_str() {
        "" => "a number is missing here".to_owned(),
        "nan" | "inf" | "infinity" | "∞" => format!("{} is not a value", Refusal::quote(word)),
        _ => format!("{} does not start with a number", Refusal::quote(word)),
    };
    Refusal::new(start..cursor.at, message, format!("write {} such as {}", kind.name(), kind.examples()))
}

//! What a quantity of a kind looks like, as a regular expression for editors: loose where the parser is exact,
//! never tighter than it. Written in the part of the language that every engine of JSON Schema shares.

use super::Kind;
use super::table::{PLAIN, UNITS, capitals_matter};

/// One number without a sign: a decimal, a fraction, a mixed number or a one-character fraction.
const NUMBER: &str = "(?:[0-9]+(?:(?:[ \\t\u{a0}]+|[-–‑])[0-9]+)?[ \\t\u{a0}]*[/⁄∕][ \\t\u{a0}]*[0-9]*[1-9][0-9]*|(?:[0-9]+[-–‑ \\t\u{a0}]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒]|(?:[0-9]+\\.?[0-9]*|\\.[0-9]+)(?:[eE][-+]?[0-9]+)?)";
/// What stands between a value and its half-width.
const PLUS_MINUS: &str = "(?:\\+/[-−]|±|\\+-)";

/// Spaces that may stand between parts.
const GAP: &str = "[ \\t\u{a0}]*";

/// A quantity of the kind as [`super::parse()`] takes it; with `signed`, as [`super::parse_signed`] does.
pub fn pattern(kind: Kind, signed: bool) -> String {
    let unit = unit_of(kind);
    let may_fall = matches!(
        kind,
        Kind::TemperatureDifference
            | Kind::Angle
            | Kind::Voltage
            | Kind::Current
            | Kind::Temperature
            | Kind::Pressure
    );
    let sign = if may_fall || signed { "[-−+]?" } else { "\\+?" };
    let half = match kind {
        Kind::Span => String::new(),
        Kind::Temperature | Kind::TemperatureDifference => {
            let degrees = format!("{}|{}", unit_of(Kind::Temperature), unit_of(Kind::TemperatureDifference));
            format!("(?:{GAP}{PLUS_MINUS}{GAP}{NUMBER}{GAP}(?:{degrees}|%))?")
        }
        Kind::Ratio => format!("(?:{GAP}{PLUS_MINUS}{GAP}{NUMBER}{GAP}(?:{unit})?)?"),
        _ => format!("(?:{GAP}{PLUS_MINUS}{GAP}{NUMBER}{GAP}(?:{unit}|{}))?", unit_of(Kind::Ratio)),
    };
    let unit = if kind == Kind::Ratio { format!("(?:{unit})?") } else { format!("(?:{unit})") };
    // A negative nothing is nothing, so a sign may stand before it.
    let nothing = format!("[-−]{GAP}0*\\.?0*{GAP}{unit}");
    format!(
        "^{GAP}(?:{sign}{GAP}{NUMBER}{GAP}{unit}(?:[- \\t\u{a0}]*{NUMBER}{GAP}{unit})?{half}|{nothing}){GAP}$"
    )
}

/// A unit of the kind, alone.
pub fn unit_pattern(kind: Kind) -> String {
    let plain = if kind == Kind::Ratio { "|1?" } else { "" };
    format!("^{GAP}(?:{}{plain}){GAP}$", unit_of(kind))
}

/// An instrument's accuracy: a quantity of any kind, or a share of a full scale.
pub fn accuracy_pattern() -> String {
    let any: Vec<String> = super::kind::KINDS.iter().map(|kind| unit_of(*kind)).collect();
    let any = any.join("|");
    format!(
        "^{GAP}{PLUS_MINUS}?{GAP}{NUMBER}{GAP}(?:{any}|%{GAP}of[ \\t\u{a0}]+{NUMBER}{GAP}(?:{any})?)?{GAP}$"
    )
}

/// Every spelling of every unit of a kind.
fn unit_of(kind: Kind) -> String {
    let mut spelled: Vec<String> = UNITS
        .iter()
        .chain(std::iter::once(&PLAIN))
        .filter(|unit| unit.kind == kind)
        .flat_map(|unit| unit.spellings.iter())
        .filter(|spelling| !spelling.is_empty() && **spelling != "1")
        .map(|spelling| spelling_pattern(spelling))
        .collect();
    // The longer first: an engine that takes the first that fits then goes on with the rest of the text.
    spelled.sort_by_key(|text| std::cmp::Reverse(text.len()));
    let joined = spelled.join("|");
    match kind {
        Kind::Temperature | Kind::TemperatureDifference => {
            format!("(?:°|º|deg)?{GAP}(?:{joined})\\.?")
        }
        _ => format!("(?:{joined})\\.?"),
    }
}

/// One spelling with the typographic signs and capitals that are taken for it.
fn spelling_pattern(spelling: &str) -> String {
    let fixed = capitals_matter(spelling);
    let mut out = String::new();
    for c in spelling.chars() {
        match c {
            '.' => out.push_str(&format!("{GAP}[-.·⋅*‑ \\t\u{a0}]{GAP}")),
            ' ' => out.push_str(&format!("{GAP}\\.?{GAP}")),
            '/' => out.push_str(&format!("{GAP}/{GAP}")),
            '"' => out.push_str("[\"″”]"),
            '\'' => out.push_str("['′’]"),
            '2' => out.push_str("(?:\\^?2|²)"),
            '3' => out.push_str("(?:\\^?3|³)"),
            'u' if spelling == "um" => out.push_str("[uUµμ]"),
            '(' | ')' | '^' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_ascii_alphabetic() && !fixed => {
                out.push('[');
                out.push(c.to_ascii_uppercase());
                out.push(c.to_ascii_lowercase());
                out.push(']');
            }
            c => out.push(c),
        }
    }
    match spelling {
        "deg" => format!("{out}|°|º"),
        "ohm" | "mohm" => format!("{out}|{}[ΩΩ]", spelling.trim_end_matches("ohm")),
        _ if spelling.ends_with("diff") => format!("{out}(?:[Ee][Rr][Ee][Nn][Cc][Ee])?"),
        _ if spelling.contains("sqrt") => {
            let root = out.replace("[Ss][Qq][Rr][Tt]", "√").replace("\\(", "\\(?").replace("\\)", "\\)?");
            format!("{out}|{root}")
        }
        _ => out,
    }
}

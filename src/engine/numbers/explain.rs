//! One quantity laid open: what went in and where it came from, what was taken in its place, what moves it.

use std::fmt::Write as _;

use crate::diagnostic::escape_control;
use crate::model::keys::without_id;
use crate::model::known::Way;
use crate::source::Overrides;
use crate::units::{Units, show, significant};

use super::answer::{Answer, Bound, Input, Number};
use super::defaults::default_of;
use super::readings::reading_kind;
use super::registry::Quantity;
use super::spread::spread;
use super::table::band;

/// Everything behind the answers of one quantity; `against` says what each limit makes of an answer.
pub fn explain(
    quantity: &Quantity,
    answers: &[Answer],
    overrides: &Overrides,
    units: Units,
    against: impl Fn(&Answer) -> Vec<String>,
) -> String {
    let mut out = format!("{}: {}\n", quantity.id, quantity.title);
    line(&mut out, "formula", quantity.formula);
    line(&mut out, "source", &quantity.source.to_string());
    for answer in answers {
        let of = escape_control(answer.of().unwrap_or("-"));
        match answer {
            Answer::Refused(refused) => {
                let _ = write!(out, "\n{of}: not calculated, {}\n", escape_control(&refused.reason));
            }
            Answer::Number(number) => {
                let bound = match number.bound {
                    Bound::Value => "",
                    Bound::AtLeast => ", or more",
                    Bound::AtMost => ", or less",
                };
                let _ = write!(out, "\n{of}: {}{bound}\n", escape_control(&number.shown(units)));
                behind(&mut out, number, overrides, units);
            }
        }
        let said = against(answer);
        if said.is_empty() {
            line(&mut out, "limit", "none in these rules");
        }
        said.iter().for_each(|said| line(&mut out, "limit", said));
    }
    out
}

fn behind(out: &mut String, number: &Number, overrides: &Overrides, units: Units) {
    let ends = band(number, units);
    let unsure = number.inputs.iter().any(|input| spread(input).is_some());
    let none = if unsure { "none was worked" } else { "none: nothing that went in is said to be off" };
    line(out, "band", if ends.is_empty() { none } else { &ends });
    let rows: Vec<[String; 3]> = number.inputs.iter().map(|input| row(input, overrides, units)).collect();
    let others = number.others.iter().map(|(path, assumed)| {
        let by_file = number.unseen.contains(path);
        let taken = default_of(&without_id(path)).filter(|_| *assumed && !by_file);
        let shown = taken.map_or_else(String::new, |default| default.shown(units));
        let from = if by_file {
            "assumed by the car file: look at it".to_owned()
        } else {
            origin(path, *assumed, overrides, units)
        };
        [escape_control(path), shown, from]
    });
    let rows: Vec<[String; 3]> = rows.into_iter().chain(others).collect();
    let width = |cell: usize| rows.iter().filter_map(|row| row.get(cell)).map(|c| c.chars().count()).max();
    let (first, second) = (width(0).unwrap_or_default(), width(1).unwrap_or_default());
    for [path, value, from] in &rows {
        let _ = writeln!(out, "    {path:first$}  {value:second$}  {from}");
    }
    for (path, share) in &number.drivers {
        line(out, "moves it", &format!("{path}, {} % of the band", significant(100.0 * share, 2)));
    }
    let keys = |words: &&String| !words.contains('.') || words.contains(' ');
    number.assumed.iter().filter(keys).for_each(|words| line(out, "assumed", words));
    number.notes.iter().for_each(|note| line(out, "note", note));
}

fn row(input: &Input, overrides: &Overrides, units: Units) -> [String; 3] {
    let by_file = input.way.is_assumed();
    let mut from = match &input.way {
        Way::Typed => origin(&input.path, input.assumed, overrides, units),
        way if by_file => format!("assumed by the car file: {}", escape_control(&way.word())),
        way => format!("car file, {}", escape_control(&way.word())),
    };
    if let Some([low, high]) = spread(input).filter(|_| !input.assumed || by_file) {
        let end = |si| show(si, input.kind, units);
        from = format!("{from}, {} to {}", end(low), end(high));
    }
    [escape_control(&input.path), show(input.si, input.kind, units), from]
}

/// Where an input came from.
fn origin(path: &str, assumed: bool, overrides: &Overrides, units: Units) -> String {
    if assumed {
        return match default_of(&without_id(path)) {
            Some(default) => format!("default, spread {}; {}", default.spread(units), default.source),
            None => "default".to_owned(),
        };
    }
    let typed = overrides.contains_key(path);
    let from = if typed {
        "typed"
    } else if reading_kind(path).is_some() {
        "reading"
    } else {
        "car file"
    };
    from.to_owned()
}

fn line(out: &mut String, head: &str, text: &str) {
    let _ = writeln!(out, "  {head}: {}", escape_control(text));
}

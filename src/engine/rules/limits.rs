//! Limits by method: rows of measured, counted, dated and computed values.

use crate::diagnostic::{Diagnostic, near_or};
use crate::model::Corner;
use crate::model::keys::{COUNT_KEYS, DATE_KEYS, is_key};
use crate::numbers::{Quantity, Shown, quantity, reading_kind, registry};
use crate::source::{Node, Reader, Value, Word, text_place};
use crate::units::{self, Kind, Span, Units, default_unit, units_of};

use super::expression::Expression;
use super::schema;
use super::worked::{expression, reading_of_row};

/// A limit in SI and as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// In SI.
    pub si: f64,
    /// As typed.
    pub text: String,
}

impl Limit {
    /// As typed; where that is in units of the other system, with the value in these behind it: "1/2 in (12.7 mm)".
    pub fn shown(&self, kind: Kind, shown_in: Units) -> String {
        match units::units_of(&self.text, kind) {
            Some(written) if written != shown_in => {
                format!("{} ({})", self.text, units::show(self.si, kind, shown_in))
            }
            _ => self.text.clone(),
        }
    }
}

/// What a limit says of itself where it is the cause; what it leaves out is said by its check.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RowWords {
    /// What is wrong.
    pub fault: Option<String>,
    /// The same in fewer words.
    pub brief: Option<String>,
    /// What to do about it.
    pub remedy: Option<String>,
    /// Parts that the remedy takes; none said is not the same as none needed.
    pub parts: Option<Vec<String>>,
}

impl RowWords {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        Self {
            fault: r.text("fault", "What is wrong where this is the cause, 44 columns at most."),
            brief: r.text("brief", "The same for a slip, 24 columns at most."),
            remedy: r.text("remedy", "What to do where this is the cause."),
            parts: r
                .words("parts", "Parts that this remedy takes; [] where it takes none.")
                .map(|words| words.into_iter().map(|word| word.text).collect()),
        }
    }
}

/// Which items a check goes over.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum OfFilter {
    /// Every one there is.
    #[default]
    All,
    /// Those of a corner.
    Corner(Corner),
    /// One by its id.
    Id(String),
}

/// A value that is not a number.
#[derive(Clone, Debug, PartialEq)]
pub enum WordOrFlag {
    /// yes or no
    Flag(bool),
    /// one word
    Word(String),
    /// a number in SI
    Number(Limit),
}

/// A value to be measured.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasureRow {
    /// Its id; empty where the check has only one.
    pub id: String,
    /// What is measured.
    pub label: String,
    /// Unit that a bare number takes.
    pub unit: String,
    /// Kind of quantity.
    pub kind: Kind,
    /// Least.
    pub min: Option<Limit>,
    /// Most.
    pub max: Option<Limit>,
    /// Least that is aimed at.
    pub aim_min: Option<Limit>,
    /// Most that is aimed at.
    pub aim_max: Option<Limit>,
    /// Exactly.
    pub equals: Option<Limit>,
    /// Instrument it is usually measured with.
    pub instrument: Option<String>,
    /// Whether the instrument's accuracy decides too.
    pub guarded: bool,
    /// Items it goes over; one value each.
    pub of: Option<OfFilter>,
    /// Limits that are worked out of numbers and readings, by the key they stand under.
    pub worked: Vec<(&'static str, Expression)>,
    /// The reading that gives its value, one for each part that has one.
    pub reading: Option<String>,
    /// What it says of itself where it is the cause.
    pub words: RowWords,
}

/// What a count is compared with.
#[derive(Clone, Debug, PartialEq)]
pub enum CountEquals {
    /// A number.
    Number(u32),
    /// A key of the car file.
    Key(String),
}

/// A value to be counted.
#[derive(Clone, Debug, PartialEq)]
pub struct CountRow {
    /// Its id; empty where the check has only one.
    pub id: String,
    /// What is counted.
    pub label: String,
    /// Least.
    pub min: Option<u32>,
    /// Most.
    pub max: Option<u32>,
    /// Exactly.
    pub equals: Option<CountEquals>,
    /// What it says of itself where it is the cause.
    pub words: RowWords,
}

/// A date to be confirmed.
#[derive(Clone, Debug, PartialEq)]
pub struct DateRow {
    /// Its id; empty where the check has only one.
    pub id: String,
    /// What is dated.
    pub label: String,
    /// Key of the car file, or of a reading, that holds it; empty for a date that only the person reads.
    pub field: String,
    /// The rule's own span.
    pub every: Option<Span>,
    /// How long before it falls due it is said.
    pub warn: Option<Span>,
    /// What it says of itself where it is the cause.
    pub words: RowWords,
}

/// A value to be worked out.
#[derive(Clone, Debug)]
pub struct ComputeRow {
    /// Its id; the quantity's name where none is given.
    pub id: String,
    /// What it tells.
    pub label: String,
    /// The quantity.
    pub quantity: &'static Quantity,
    /// Items it goes over.
    pub of: OfFilter,
    /// Least.
    pub min: Option<Limit>,
    /// Most.
    pub max: Option<Limit>,
    /// Least that is aimed at.
    pub aim_min: Option<Limit>,
    /// Most that is aimed at.
    pub aim_max: Option<Limit>,
    /// Exactly.
    pub equals: Option<WordOrFlag>,
    /// Key paths it may ask the person for.
    pub asks: Vec<String>,
    /// Limits that are worked out of other numbers and readings, by the key they stand under.
    pub worked: Vec<(&'static str, Expression)>,
    /// What it says of itself where it is the cause.
    pub words: RowWords,
}

/// The typed value of a check, if it has one.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Typed {
    /// None.
    #[default]
    None,
    /// Measured.
    Measure(Vec<MeasureRow>),
    /// Counted.
    Count(Vec<CountRow>),
    /// Dated.
    Date(Vec<DateRow>),
}

impl MeasureRow {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let unit = r.need_word("unit", "Unit a bare number takes: in, psi, deg; 1 for a plain number.");
        r.narrow("unit", schema::unit);
        let known = units::unit_kind(&unit.text).filter(|_| !unit.text.is_empty());
        if known.is_none() && r.has("unit") && !r.is_wrong_at("unit") {
            let help = "write a unit such as in, mm, psi, lbf, deg, V or 1";
            r.report(Diagnostic::error(&unit.at, format!("\"{}\" is not a unit", unit.text), help));
        }
        let kind = known.unwrap_or(Kind::Ratio);
        let mut worked = Vec::new();
        // What a limit in an unknown unit has to be is not known either: only the unit is reported.
        let mut limit = |key, doc| match known {
            Some(kind) => match expression(r, key, doc, kind) {
                Some(expression) => {
                    worked.extend(expression.map(|expression| (key, expression)));
                    None
                }
                None => limit(r, key, doc, kind, kind == Kind::Ratio),
            },
            None => some_limit(r, key, doc),
        };
        let row = Self {
            id: r.optional_id("id", "Name of the row, where there are several."),
            label: labelled(r, "What is measured."),
            unit: unit.text.clone(),
            kind,
            min: limit("min", "Least value accepted."),
            max: limit("max", "Most that is accepted."),
            aim_min: limit("aim_min", "Least value aimed at; between it and min is noted."),
            aim_max: limit("aim_max", "Most aimed at; between it and max is noted."),
            equals: limit("equals", "The only value accepted."),
            instrument: r.text("instrument", "Instrument it is usually measured with."),
            guarded: r
                .choice(
                    "decision",
                    "How it is decided: simple is value against limit, guarded counts the instrument's accuracy too.",
                    &[("simple", false), ("guarded", true)],
                )
                .unwrap_or(false),
            of: of(r),
            reading: reading_of_row(r, known),
            worked,
            words: RowWords::read(r),
        };
        order(r, [&row.min, &row.max, &row.aim_min, &row.aim_max]);
        row
    }

    /// The unit that a person writes it in: the rule's own, such as thousandths, where it is of their system; else that
    /// system's usual one.
    pub fn shown_unit(&self, units: Units) -> &str {
        let other = units_of(&format!("1 {}", self.unit), self.kind).is_some_and(|system| system != units);
        if other { default_unit(self.kind, units) } else { &self.unit }
    }
}

/// What a value is of: its label, after the part that the rule writer names.
fn labelled(r: &Reader<'_>, doc: &str) -> String {
    let label = r.text("label", doc).unwrap_or_default();
    match r.text("part", "The part that it belongs to, in the rule writer's words: brake hoses.") {
        Some(part) if !label.is_empty() => format!("{part}: {label}"),
        Some(part) => part,
        None => label,
    }
}

impl CountRow {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let equals = r.raw("equals", "The only count accepted, or the key of the car file that holds it.");
        r.narrow("equals", schema::count_equals);
        let equals = equals.and_then(|node| r.settle(count_equals(node)));
        let row = Self {
            id: r.optional_id("id", "Name of the row, where there are several."),
            label: labelled(r, "What is counted."),
            min: r.count("min", "Least count accepted."),
            max: r.count("max", "Highest count that is accepted."),
            equals,
            words: RowWords::read(r),
        };
        if let (Some(min), Some(max)) = (row.min, row.max)
            && min > max
        {
            r.report(Diagnostic::error(
                &r.place("max"),
                "max is below min",
                "no count can meet both: mend one",
            ));
        }
        row
    }
}

/// A whole number, or a key of the car file that holds one.
fn count_equals(node: &Node) -> Result<CountEquals, Diagnostic> {
    let help = "write a whole number, or a key such as \"suppression.release_heads\"";
    let wrong = || Diagnostic::error(&node.at, "a count equals a whole number or a key", help);
    match &node.value {
        Value::Integer(whole) => u32::try_from(*whole).map(CountEquals::Number).map_err(|_| wrong()),
        Value::Text(key) if COUNT_KEYS.contains(&key.as_str()) => Ok(CountEquals::Key(key.clone())),
        Value::Text(key) => {
            let message = format!("there is no key {key} that holds a count");
            Err(Diagnostic::error(&node.at, message, near_or_list(key, COUNT_KEYS)))
        }
        _ => Err(wrong()),
    }
}

fn near_or_list(word: &str, known: &[&str]) -> String {
    near_or(word, known.iter().copied(), || format!("keys known here: {}", known.join(", ")))
}

impl DateRow {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let field = r.word(
            "field",
            "Key of the car file or of a reading that holds the date; default: the person reads it.",
        );
        r.narrow("field", schema::dated);
        let known = |field: &str| DATE_KEYS.contains(&field) || reading_kind(field) == Some(Kind::Span);
        if let Some(field) = field.as_ref().filter(|field| !known(&field.text)) {
            let known = [DATE_KEYS, &["brakes.fluid_flushed"]].concat();
            let message = format!("there is no date {}", field.text);
            let help = near_or(&field.text, known.iter().copied(), || {
                format!(
                    "for a date of your own leave field out and say in label what is dated; keys known here: {}",
                    known.join(", ")
                )
            });
            r.report(Diagnostic::error(&field.at, message, help));
        }
        let label = labelled(r, "What is dated.");
        if field.is_none() && label.is_empty() && !r.has("field") && !r.has("label") {
            let help = "add label = \"Date on the oldest brake hose\", or field with a key of the car file";
            r.lacks("label", "nothing says what is dated", help);
        }
        Self {
            id: r.optional_id("id", "Name of the row, where there are several."),
            label,
            field: field.map_or_else(String::new, |field| field.text),
            every: r
                .span("every", "Span after which it is due again; the shorter of the car's and this counts."),
            warn: r.span("warn", "How long before it falls due it is said."),
            words: RowWords::read(r),
        }
    }
}

impl ComputeRow {
    /// `None` where the quantity is not known.
    pub(super) fn read(r: &Reader<'_>) -> Option<Self> {
        let name = r.need_word("quantity", "Name of the number, such as hose.length_ratio.");
        let found = known_quantity(r, &name);
        // What a limit of an unknown number has to be is not known either: only the name is reported.
        let mut worked = Vec::new();
        let mut limit = |key, doc| match found {
            Some(quantity) => match worked_limit(r, key, doc, quantity) {
                Some(expression) => {
                    worked.extend(expression.map(|expression| (key, expression)));
                    None
                }
                None => quantity_limit(r, key, doc, quantity.shown),
            },
            None => some_limit(r, key, doc),
        };
        r.narrow("quantity", schema::quantity);
        let row = (
            r.optional_id("id", "Name of the row, where there are several."),
            r.text("label", "What the number tells."),
            of(r).unwrap_or_default(),
            limit("min", "Least value accepted."),
            limit("max", "Most that is accepted."),
            limit("aim_min", "Least value aimed at; between it and min is noted."),
            limit("aim_max", "Most aimed at; between it and max is noted."),
        );
        let doc = "The only value accepted: true, false, a word or a quantity.";
        let exactly = found.and_then(|quantity| worked_limit(r, "equals", doc, quantity));
        let is_worked = exactly.is_some();
        worked.extend(exactly.flatten().map(|expression| ("equals", expression)));
        let equals = r.raw("equals", doc).filter(|_| !is_worked);
        let equals = equals.zip(found).and_then(|(node, quantity)| r.settle(equal(node, quantity.shown)));
        let asks = r.words("asks", "Keys it may ask the person for.").unwrap_or_default();
        asks.iter().for_each(|word| known_key(r, word));
        order(r, [&row.3, &row.4, &row.5, &row.6]);
        let words = RowWords::read(r);
        let quantity = found?;
        Some(Self {
            id: if row.0.is_empty() { quantity.id.to_owned() } else { row.0 },
            label: row.1.unwrap_or_else(|| quantity.title.to_owned()),
            quantity,
            of: row.2,
            min: row.3,
            max: row.4,
            aim_min: row.5,
            aim_max: row.6,
            equals,
            asks: asks.into_iter().map(|word| word.text).collect(),
            worked,
            words,
        })
    }

    /// Whether it judges at all, or is only shown.
    pub fn judges(&self) -> bool {
        self.min.is_some() || self.max.is_some() || self.equals.is_some() || !self.worked.is_empty()
    }
}

/// A limit of a number that is worked out of others: none where the value is none, and an empty one where it is wrong,
/// which is reported.
fn worked_limit(
    r: &Reader<'_>,
    key: &'static str,
    doc: &str,
    quantity: &Quantity,
) -> Option<Option<Expression>> {
    if matches!(quantity.shown, Shown::Flag | Shown::Word | Shown::Days) {
        return None;
    }
    let read = expression(r, key, doc, quantity.shown.kind())?;
    if read.as_ref().is_some_and(|limit| limit.names(quantity.id)) {
        let message = format!("{} is held to a limit that is worked out of itself", quantity.id);
        r.report(Diagnostic::error(&r.place(key), message, "name other numbers, or write the limit out"));
        return Some(None);
    }
    Some(read)
}

/// A limit whose kind is not known here: nothing of it is read, and the schema takes any.
fn some_limit(r: &Reader<'_>, key: &'static str, doc: &str) -> Option<Limit> {
    r.raw(key, doc);
    r.narrow(key, schema::limit);
    None
}

fn known_quantity(r: &Reader<'_>, name: &Word) -> Option<&'static Quantity> {
    let found = quantity(&name.text);
    if found.is_none() && !name.text.is_empty() {
        let help = near_or(&name.text, registry().map(|quantity| quantity.id), || {
            "`linewalk numbers` on any car lists every quantity".to_owned()
        });
        r.report(Diagnostic::error(&name.at, format!("there is no number {}", name.text), help));
    }
    found
}

/// A limit: a quantity text of the kind, or a plain number where the kind is a plain number. Limits may be negative.
fn limit(r: &Reader<'_>, key: &'static str, doc: &str, kind: Kind, plain: bool) -> Option<Limit> {
    let node = r.raw(key, doc)?;
    r.settle(parse_limit(node, kind, plain))
}

/// A limit from its node.
fn parse_limit(node: &Node, kind: Kind, plain: bool) -> Result<Limit, Diagnostic> {
    #[expect(clippy::cast_precision_loss, reason = "a limit typed as a whole number is small")]
    let number = match &node.value {
        Value::Integer(whole) => Some(*whole as f64),
        Value::Float(number) => Some(*number),
        _ => None,
    };
    match (&node.value, number) {
        (_, Some(number)) if !number.is_finite() => {
            let help = format!("write {}", kind.examples());
            Err(Diagnostic::error(&node.at, "a limit is a finite number", help))
        }
        (_, Some(number)) if plain && matches!(kind, Kind::Ratio | Kind::Span) => {
            Ok(Limit { si: number, text: crate::units::significant(number, 6) })
        }
        (Value::Text(text), _) => match units::parse_signed(text, kind) {
            Ok(parsed) => Ok(Limit { si: parsed.si, text: text.clone() }),
            Err(refusal) => {
                Err(Diagnostic::error(&text_place(node, text, refusal.at), refusal.message, refusal.help))
            }
        },
        (_, Some(_)) => {
            let help = format!("write it as a text with its unit: {}", kind.examples());
            Err(Diagnostic::error(&node.at, format!("{} needs a unit", kind.name()), help))
        }
        _ => {
            let help = format!("write {}", kind.examples());
            Err(Diagnostic::error(&node.at, format!("this limit is {}", kind.name()), help))
        }
    }
}

/// A least or most value of a number; what is yes or no, or a word, has neither.
fn quantity_limit(r: &Reader<'_>, key: &'static str, doc: &str, shown: Shown) -> Option<Limit> {
    if !matches!(shown, Shown::Flag | Shown::Word) {
        return limit(r, key, doc, shown.kind(), true);
    }
    let node = r.raw(key, doc)?;
    let what = if shown == Shown::Flag { "yes or no" } else { "a word" };
    let help = if shown == Shown::Flag {
        "write equals = true or equals = false"
    } else {
        "write equals = \"front\""
    };
    r.report(Diagnostic::error(&node.at, format!("this number is {what} and has no {key}"), help));
    None
}

/// The only value accepted, in the way the number is given.
fn equal(node: &Node, shown: Shown) -> Result<WordOrFlag, Diagnostic> {
    match (shown, &node.value) {
        (Shown::Flag, Value::Flag(flag)) => Ok(WordOrFlag::Flag(*flag)),
        (Shown::Flag, _) => {
            Err(Diagnostic::error(&node.at, "this number is yes or no", "write true or false"))
        }
        (Shown::Word, Value::Text(text)) => Ok(WordOrFlag::Word(text.clone())),
        (Shown::Word, _) => {
            Err(Diagnostic::error(&node.at, "this number is a word", "write it in quotes: \"front\""))
        }
        _ => parse_limit(node, shown.kind(), true).map(WordOrFlag::Number),
    }
}

/// A key that a rule may ask for has to be one of the car file's or a reading's.
fn known_key(r: &Reader<'_>, word: &Word) {
    if is_key(&word.text) || reading_kind(&word.text).is_some() || reading_of_all(&word.text) {
        return;
    }
    let help = "name a key of the car file or a reading, without ids: brakes.hose.length";
    r.report(Diagnostic::error(&word.at, format!("there is no key {} to ask for", word.text), help));
}

/// A reading's key with its id left out, which means every element.
fn reading_of_all(key: &str) -> bool {
    let tables =
        ["suppression.bottle.", "brakes.circuit.", "brakes.master.", "brakes.wheel_brake.", "electrics."];
    tables.iter().any(|table| {
        key.strip_prefix(table).is_some_and(|rest| reading_kind(&format!("{table}any.{rest}")).is_some())
    })
}

/// Limits that no value meets, or an aim on the rejected side of its limit: one limit that is not the one meant may put
/// all of them out of order, and is one mistake.
fn order(r: &Reader<'_>, [min, max, aim_min, aim_max]: [&Option<Limit>; 4]) {
    if let (Some(min), Some(max)) = (min, max)
        && min.si > max.si
    {
        let (low, high) = (r.place("min"), r.place("max"));
        let none = format!("no value is at least {} and at most {}", min.text, max.text);
        // Two layers may each be sound by itself.
        let help = match low.file.name == high.file.name {
            true => format!("{none}: mend one"),
            false => format!("{none}: mend it, or the min at {}", low.shown()),
        };
        r.report(Diagnostic::error(&high, "max is below min", help));
        return;
    }
    let outside = |aim: &&Limit| {
        min.as_ref().is_some_and(|min| aim.si < min.si) || max.as_ref().is_some_and(|max| aim.si > max.si)
    };
    let aims = [("aim_min", aim_min), ("aim_max", aim_max)].into_iter();
    let wrong: Vec<_> =
        aims.filter_map(|(key, aim)| aim.as_ref().filter(outside).map(|aim| (key, aim))).collect();
    let Some((key, _)) = wrong.first() else { return };
    let named: Vec<String> = wrong.iter().map(|(key, aim)| format!("{key} {}", aim.text)).collect();
    let verb = if named.len() == 1 { "is" } else { "are" };
    let message = format!("{} {verb} outside the limit", named.join(" and "));
    let help = "an aim lies inside what is accepted: mend one of them";
    r.report(Diagnostic::error(&r.place(key), message, help));
}

/// `of = "*"`, `of = "id"` or `of = { corner = "LF" }`.
fn of(r: &Reader<'_>) -> Option<OfFilter> {
    let node = r.raw("of", "Items it goes over: \"*\", an id, or { corner = \"LF\" }.");
    r.narrow("of", schema::of);
    let node = node?;
    match &node.value {
        Value::Text(text) if text == "*" => Some(OfFilter::All),
        Value::Text(id) => Some(OfFilter::Id(id.clone())),
        Value::Table(table) if table.entries.len() == 1 => {
            let corner = table.text("corner").and_then(Corner::named).map(OfFilter::Corner);
            if corner.is_none() {
                let help = "corners: LF RF LR RR axle left right tail";
                r.report(Diagnostic::error(&node.at, "this filter names no corner", help));
            }
            corner
        }
        _ => {
            let help = "write \"*\", an id, or { corner = \"LF\" }";
            r.report(Diagnostic::error(&node.at, "this filter is not known", help));
            None
        }
    }
}

//! Limits by method: rows of measured, counted, dated and computed values.

use crate::mistake::{Mistake, did_you_mean};
use crate::model::Corner;
use crate::numbers::{Quantity, quantity, registry};
use crate::source::{Node, Reader, Value, Word};
use crate::units::{self, Kind, Span};

/// A limit in SI and as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// In SI.
    pub si: f64,
    /// As typed.
    pub text: String,
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
}

/// A date to be confirmed.
#[derive(Clone, Debug, PartialEq)]
pub struct DateRow {
    /// Its id; empty where the check has only one.
    pub id: String,
    /// What is dated.
    pub label: String,
    /// Key of the car file, or of a reading, that holds it.
    pub field: String,
    /// The rule's own span.
    pub every: Option<Span>,
    /// How long before it falls due it is said.
    pub warn: Option<Span>,
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
        let kind = units::unit_kind(&unit.text);
        if kind.is_none() && !unit.text.is_empty() {
            let help = "write a unit such as in, mm, psi, lbf, deg, V or 1";
            r.report(Mistake::error(&unit.at, format!("{} is not a unit", unit.text), help));
        }
        let kind = kind.unwrap_or(Kind::Ratio);
        let limit = |key, doc| limit(r, key, doc, kind, kind == Kind::Ratio);
        let row = Self {
            id: r.optional_id("id", "Name of the row, where there are several."),
            label: r.text("label", "What is measured.").unwrap_or_default(),
            unit: unit.text.clone(),
            kind,
            min: limit("min", "Least value accepted."),
            max: limit("max", "Most accepted."),
            aim_min: limit("aim_min", "Least value aimed at; between it and min is noted."),
            aim_max: limit("aim_max", "Most aimed at; between it and max is noted."),
            equals: limit("equals", "The only value accepted."),
            instrument: r.text("instrument", "Instrument it is usually measured with."),
            guarded: r
                .choice(
                    "decision",
                    "simple: value against limit; guarded: the instrument's accuracy decides too.",
                    &[("simple", false), ("guarded", true)],
                )
                .unwrap_or(false),
            of: of(r),
        };
        order(r, &row.min, &row.max);
        row
    }
}

impl CountRow {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let equals = r.raw("equals", "The only count accepted, or the key of the car file that holds it.");
        let equals = equals.and_then(|node| match &node.value {
            Value::Integer(whole) => u32::try_from(*whole).ok().map(CountEquals::Number),
            Value::Text(key) => Some(CountEquals::Key(key.clone())),
            _ => {
                let help = "write a whole number, or a key such as \"suppression.release_heads\"";
                r.report(Mistake::error(&node.at, "a count equals a number or a key", help));
                None
            }
        });
        let row = Self {
            id: r.optional_id("id", "Name of the row, where there are several."),
            label: r.text("label", "What is counted.").unwrap_or_default(),
            min: r.count("min", "Least count accepted."),
            max: r.count("max", "Most accepted."),
            equals,
        };
        if let (Some(min), Some(max)) = (row.min, row.max)
            && min > max
        {
            r.report(Mistake::error(&r.place("max"), "max is below min", "no count can meet both: mend one"));
        }
        row
    }
}

impl DateRow {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        Self {
            id: r.optional_id("id", "Name of the row, where there are several."),
            label: r.text("label", "What is dated.").unwrap_or_default(),
            field: r.need_text("field", "Key of the car file or of a reading that holds the date."),
            every: r
                .span("every", "Span after which it is due again; the shorter of the car's and this counts."),
            warn: r.span("warn", "How long before it falls due it is said."),
        }
    }
}

impl ComputeRow {
    /// `None` where the quantity is not known.
    pub(super) fn read(r: &Reader<'_>) -> Option<Self> {
        let name = r.need_word("quantity", "Name of the number, such as hose.length_ratio.");
        let found = known_quantity(r, &name);
        // The limits of an unknown quantity cannot be read: one mistake is enough.
        let kind = found.map(|quantity| quantity.shown.kind());
        let limit = |key, doc| match kind {
            Some(kind) => limit(r, key, doc, kind, true),
            None => r.raw(key, doc).and(None),
        };
        let row = (
            r.optional_id("id", "Name of the row, where there are several."),
            r.text("label", "What the number tells."),
            of(r).unwrap_or_default(),
            limit("min", "Least value accepted."),
            limit("max", "Most accepted."),
            limit("aim_min", "Least value aimed at; between it and min is noted."),
            limit("aim_max", "Most aimed at; between it and max is noted."),
        );
        let equals = r.raw("equals", "The only value accepted: true, false, a word or a quantity.");
        let equals = equals.and_then(|node| word_or_flag(r, node, kind?));
        let asks = r.words("asks", "Keys it may ask the person for.").unwrap_or_default();
        order(r, &row.3, &row.4);
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
        })
    }

    /// Whether it judges at all, or is only shown.
    pub fn judges(&self) -> bool {
        self.min.is_some() || self.max.is_some() || self.equals.is_some()
    }
}

fn known_quantity(r: &Reader<'_>, name: &Word) -> Option<&'static Quantity> {
    let found = quantity(&name.text);
    if found.is_none() && !name.text.is_empty() {
        let help = did_you_mean(&name.text, registry().map(|quantity| quantity.id)).map_or_else(
            || "`linewalk numbers` on any car lists every quantity".to_owned(),
            |near| format!("did you mean {near}?"),
        );
        r.report(Mistake::error(&name.at, format!("there is no number {}", name.text), help));
    }
    found
}

/// A limit: a quantity text of the kind, or a plain number where the kind is a plain number. Limits may be negative.
fn limit(r: &Reader<'_>, key: &'static str, doc: &str, kind: Kind, plain: bool) -> Option<Limit> {
    let node = r.raw(key, doc)?;
    r.settled(parse_limit(node, kind, plain))
}

/// A limit from its node.
fn parse_limit(node: &Node, kind: Kind, plain: bool) -> Result<Limit, Mistake> {
    #[expect(clippy::cast_precision_loss, reason = "a limit typed as a whole number is small")]
    let number = match &node.value {
        Value::Integer(whole) => Some(*whole as f64),
        Value::Float(number) => Some(*number),
        _ => None,
    };
    match (&node.value, number) {
        (_, Some(number)) if plain && number.is_finite() && matches!(kind, Kind::Ratio | Kind::Span) => {
            Ok(Limit { si: number, text: crate::units::significant(number, 6) })
        }
        (Value::Text(text), _) => match units::parse_signed(text, kind) {
            Ok(parsed) => Ok(Limit { si: parsed.si, text: text.clone() }),
            Err(refusal) => Err(Mistake::error(&node.at, refusal.message, refusal.help)),
        },
        _ => {
            let help = format!("write {}", kind.examples());
            Err(Mistake::error(&node.at, format!("this limit is {}", kind.name()), help))
        }
    }
}

fn word_or_flag(r: &Reader<'_>, node: &Node, kind: Kind) -> Option<WordOrFlag> {
    match &node.value {
        Value::Flag(flag) => Some(WordOrFlag::Flag(*flag)),
        Value::Text(text) if text.chars().all(|c| c.is_ascii_alphabetic() || c == '-') => {
            Some(WordOrFlag::Word(text.clone()))
        }
        _ => r.settled(parse_limit(node, kind, true)).map(WordOrFlag::Number),
    }
}

/// `of = "*"`, `of = "id"` or `of = { corner = "LF" }`.
fn of(r: &Reader<'_>) -> Option<OfFilter> {
    let node = r.raw("of", "Items it goes over: \"*\", an id, or { corner = \"LF\" }.")?;
    match &node.value {
        Value::Text(text) if text == "*" => Some(OfFilter::All),
        Value::Text(id) => Some(OfFilter::Id(id.clone())),
        Value::Table(table) if table.entries.len() == 1 => {
            let corner = table.text("corner").and_then(Corner::named).map(OfFilter::Corner);
            if corner.is_none() {
                let help = "corners: LF RF LR RR axle left right tail";
                r.report(Mistake::error(&node.at, "this filter names no corner", help));
            }
            corner
        }
        _ => {
            let help = "write \"*\", an id, or { corner = \"LF\" }";
            r.report(Mistake::error(&node.at, "this filter is not known", help));
            None
        }
    }
}

fn order(r: &Reader<'_>, min: &Option<Limit>, max: &Option<Limit>) {
    if let (Some(min), Some(max)) = (min, max)
        && min.si > max.si
    {
        let help = format!("no value is at least {} and at most {}: mend one", min.text, max.text);
        r.report(Mistake::error(&r.place("max"), "max is below min", help));
    }
}

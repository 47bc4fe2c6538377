//! The shape of a file format, noted by running its reader over nothing.

use serde_json::Value;

use crate::units::Kind;

/// What may stand at a key.
#[derive(Clone, Debug, PartialEq)]
pub enum FieldKind {
    /// Free text.
    Text,
    /// An id.
    Id,
    /// Free text or a bare number taken as its text.
    TextOrNumber,
    /// One of some words.
    Choice(Vec<String>),
    /// A quantity string; a plain number too where the kind is a ratio.
    Quantity(Kind),
    /// A plain number.
    Number,
    /// A rate, or a plain number of revolutions a minute.
    Rpm,
    /// A whole number, not negative.
    Count,
    /// true or false.
    Flag,
    /// A date, quoted or not.
    Date,
    /// A date and time with its offset.
    Time,
    /// A calendar span.
    Span,
    /// An array of texts.
    Texts,
    /// Three plain numbers.
    Point,
    /// An array of points.
    Points,
    /// Anything that a later stage reads by the check's own method.
    Any,
    /// A table with its own fields.
    Table(Shape),
    /// An array of tables.
    Tables(Shape),
    /// A table or an array of them.
    TableOrTables(Shape),
    /// A table with free keys, each of this kind.
    Map(Box<FieldKind>),
}

/// One key of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// The key.
    pub key: String,
    /// What may stand there.
    pub kind: FieldKind,
    /// One sentence about it.
    pub doc: String,
    /// Whether a file without it is refused.
    pub required: bool,
    /// What the value has to meet besides, as a schema.
    pub narrower: Option<Value>,
}

/// The keys of one table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shape {
    /// The keys, in the order they are read.
    pub fields: Vec<Field>,
    /// What the keys have to agree on, as schemas.
    pub also: Vec<Value>,
    /// As `also`, but not where the table only changes one of another file.
    pub whole: Vec<Value>,
}

//! Keys of the car file that rule files may point at for a date or a count.

use std::sync::OnceLock;

use chrono::NaiveDate;

use crate::source::{Field, FieldKind, Reader, Shape};
use crate::units::{Kind, Span};

use super::Car;

/// A date of the car file: what it is of, the date, and the car's own span.
#[derive(Clone, Debug, PartialEq)]
pub struct DateOf<'c> {
    /// The id it is of.
    pub of: &'c str,
    /// The date, where the file gives it.
    pub date: Option<NaiveDate>,
    /// The car's own span.
    pub every: Option<Span>,
}

/// Date keys of the car file.
pub const DATE_KEYS: &[&str] =
    &["suppression.bottle.serviced", "suppression.bottle.tested", "hand_held.serviced"];

/// Every date under a key; empty where the key is none of the car file's dates.
pub fn dates<'c>(car: &'c Car, key: &str) -> Vec<DateOf<'c>> {
    let bottles = car.suppression.bottles.iter();
    match key {
        "suppression.bottle.serviced" => bottles
            .map(|bottle| DateOf {
                of: &bottle.id,
                date: bottle.papers.serviced.map(|dated| dated.day),
                every: bottle.papers.service_every,
            })
            .collect(),
        "suppression.bottle.tested" => bottles
            .map(|bottle| DateOf {
                of: &bottle.id,
                date: bottle.papers.tested.map(|dated| dated.day),
                every: bottle.papers.test_every,
            })
            .collect(),
        "hand_held.serviced" => car
            .hand_held
            .iter()
            .map(|held| DateOf {
                of: &held.id,
                date: held.serviced.map(|dated| dated.day),
                every: held.service_every,
            })
            .collect(),
        _ => Vec::new(),
    }
}

/// A count under a key of the car file; for a table's name, how many of it there are.
pub fn count(car: &Car, key: &str) -> Option<u32> {
    let suppression = &car.suppression;
    let len = |len: usize| u32::try_from(len).ok().filter(|len| *len > 0);
    match key {
        "suppression.release_heads" => suppression.release_heads,
        "suppression.bottle" => len(suppression.bottles.len()),
        "suppression.nozzle" => len(suppression.nozzles.len()),
        "suppression.pull" => len(suppression.pulls.len()),
        "frame.sleeve" => len(car.sleeves.len()),
        "brakes.hose" => len(car.brakes.hoses.len()),
        "brakes.wheel_brake" => len(car.brakes.wheel_brakes.len()),
        _ => None,
    }
}

/// Keys that [`count`] knows.
pub const COUNT_KEYS: &[&str] = &[
    "suppression.release_heads",
    "suppression.bottle",
    "suppression.nozzle",
    "suppression.pull",
    "frame.sleeve",
    "brakes.hose",
    "brakes.wheel_brake",
];

/// The kind of a quantity of the car file by its key path, ids included or left out; `None` where there is none.
pub fn quantity_kind(path: &str) -> Option<Kind> {
    let parts: Vec<&str> = path.split('.').collect();
    match field_in(shape(), &parts)?.kind {
        FieldKind::Quantity(kind) => Some(kind),
        _ => None,
    }
}

/// The list of parts that a key path goes into, and what stands behind its name: `suppression.line`, `main.tube.od`.
pub fn in_list(path: &str) -> Option<(&'static str, &str)> {
    let behind = |list: &'static str| Some((list, path.strip_prefix(list)?.strip_prefix('.')?));
    super::edit::LISTS.into_iter().find_map(behind)
}

/// `suppression.line.main.tube.od` without its id: `suppression.line.tube.od`.
pub fn without_id(path: &str) -> String {
    let behind = in_list(path).and_then(|(list, rest)| Some((list, rest.split_once('.')?.1)));
    behind.map_or_else(|| path.to_owned(), |(list, key)| format!("{list}.{key}"))
}

/// A key path with the id of a part put in, where the path names none of the car: a number names what it lacks of the very
/// part it is of without that part's id.
pub fn with_id(car: &Car, path: &str, of: Option<&str>) -> String {
    match (in_list(path), of) {
        (Some((list, rest)), Some(of))
            if car.has_part(list, of) && !rest.split('.').next().is_some_and(|id| car.has_part(list, id)) =>
        {
            format!("{list}.{of}.{rest}")
        }
        _ => path.to_owned(),
    }
}

/// What the format says of a key, ids included or left out.
pub fn field_of(path: &str) -> Option<&'static Field> {
    let parts: Vec<&str> = path.split('.').collect();
    field_in(shape(), &parts)
}

/// Every key path of the format, without ids.
pub fn all_keys() -> Vec<String> {
    fn below(shape: &Shape, above: &str, found: &mut Vec<String>) {
        for field in &shape.fields {
            let path = if above.is_empty() { field.key.clone() } else { format!("{above}.{}", field.key) };
            if let FieldKind::Table(inner) | FieldKind::Tables(inner) = &field.kind {
                below(inner, &path, found);
            }
            found.push(path);
        }
    }
    let mut found = Vec::new();
    below(shape(), "", &mut found);
    found
}

/// Whether the car file has this key, ids included or left out.
pub fn is_key(path: &str) -> bool {
    field_of(path).is_some()
}

pub(super) fn shape() -> &'static Shape {
    static SHAPE: OnceLock<Shape> = OnceLock::new();
    SHAPE.get_or_init(|| Reader::shape(Car::read))
}

fn field_in<'s>(shape: &'s Shape, parts: &[&str]) -> Option<&'s Field> {
    let (head, rest) = parts.split_first()?;
    let field = shape.fields.iter().find(|field| field.key == *head)?;
    match (&field.kind, rest) {
        (_, []) => Some(field),
        (FieldKind::Table(inner), rest) => field_in(inner, rest),
        // An element's id stands between the array's name and the key.
        (FieldKind::Tables(inner), rest) => field_in(inner, rest).or_else(|| field_in(inner, rest.get(1..)?)),
        _ => None,
    }
}

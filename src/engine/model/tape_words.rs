//! Where on the car a value is measured and with what, in words, by its key.

use crate::units::{Kind, Units};

use super::axes::in_words;
use super::brakes::Corner;
use super::guide::guide_to;
use super::keys::{field_of, in_list, without_id};
use super::{Car, Point};

/// How a value is measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Measured {
    /// Where on the car one stands: rows of one place are done together.
    pub place: String,
    /// The part and the value in words.
    pub what: String,
    /// The tool, or what to read or look at.
    pub tool: String,
}

/// The tool where nothing is said of the key.
fn by_kind(kind: Option<Kind>) -> &'static str {
    match kind {
        Some(Kind::Length) => "tape",
        Some(Kind::Mass) => "scale",
        Some(Kind::Force) => "spring balance",
        Some(Kind::Pressure) => "pressure gauge",
        Some(Kind::Temperature) => "thermometer",
        Some(Kind::Angle) => "protractor",
        Some(Kind::Time) => "stopwatch",
        Some(Kind::Current | Kind::Voltage | Kind::Resistance) => "multimeter",
        Some(_) => "its maker's paper",
        None => "a look",
    }
}

/// How the value of a key is measured, on this car.
pub fn measured(car: &Car, key: &str, units: Units) -> Measured {
    let generic = without_id(key);
    let field = field_of(key);
    let kind = super::keys::quantity_kind(key);
    let found = guide_to(&generic).map(|guide| guide.found.trim_end_matches('.'));
    let tool = found.unwrap_or_else(|| by_kind(kind));
    let (part, id) = part_of(key);
    let name = field.map_or_else(
        || generic.rsplit('.').next().unwrap_or_default().replace('_', " "),
        |field| {
            if generic.ends_with(".within") { "where its ends are".to_owned() } else { short(&field.doc) }
        },
    );
    let what = match (part, id) {
        ("", _) => name,
        (part, "") => format!("{part}: {name}"),
        (part, id) => format!("{part} {id}: {name}"),
    };
    Measured { place: place(car, key, units), what, tool: tool.to_owned() }
}

/// The beginning of the sentence about a key, as far as it names the value.
fn short(doc: &str) -> String {
    let end = [". ", ";", ":", ","].iter().filter_map(|mark| doc.find(mark)).min().unwrap_or(doc.len());
    let name = doc.get(..end).unwrap_or(doc).trim_end_matches('.');
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}", first.to_lowercase(), letters.as_str()))
}

/// The trade word for the list that a key is in, and the id of its part.
fn part_of(key: &str) -> (&'static str, &str) {
    const PARTS: &[(&str, &str)] = &[
        ("frame.tube", "frame tube"),
        ("frame.sleeve", "sleeve"),
        ("brakes.master", "master cylinder"),
        ("brakes.line", "brake line"),
        ("brakes.hose", "brake hose"),
        ("brakes.valve", "valve"),
        ("brakes.wheel_brake", "wheel brake"),
        ("suppression.bottle", "bottle"),
        ("suppression.tee", "tee"),
        ("suppression.line", "suppression line"),
        ("suppression.nozzle", "nozzle"),
        ("suppression.hazard", "hazard"),
        ("suppression.shield", "shield"),
        ("suppression.keep_clear", "space to keep clear"),
        ("suppression.pull", "pull"),
        ("electrics", "electric part"),
    ];
    let Some((list, rest)) = in_list(key) else {
        return (if key.starts_with("car.") { "car" } else { "" }, "");
    };
    let word = PARTS.iter().find(|(known, _)| *known == list).map_or("", |(_, word)| *word);
    (word, rest.split_once('.').map_or("", |(id, _)| id))
}

fn corner_words(corner: Corner) -> &'static str {
    match corner {
        Corner::LeftFront => "left front, wheel off",
        Corner::RightFront => "right front, wheel off",
        Corner::LeftRear => "left rear, wheel off",
        Corner::RightRear => "right rear, wheel off",
        Corner::Axle => "rear axle",
        Corner::Left => "left side",
        Corner::Right => "right side",
        Corner::Tail => "tail",
    }
}

fn place(car: &Car, key: &str, units: Units) -> String {
    let (part, id) = part_of(key);
    let suppression = &car.suppression;
    let at = |point: Option<Point>| point.map(|point| in_words(point, units));
    let corner = match part {
        "brake hose" => car.brakes.hoses.iter().find(|hose| hose.id == id).and_then(|hose| hose.corner),
        "wheel brake" => {
            car.brakes.wheel_brakes.iter().find(|brake| brake.id == id).and_then(|brake| brake.corner())
        }
        "brake line" => car.runs().find(|run| run.id == id).and_then(|run| run.corner),
        _ => None,
    };
    if let Some(corner) = corner {
        return corner_words(corner).to_owned();
    }
    match part {
        "master cylinder" => "pedal and master cylinders".to_owned(),
        "brake line" | "valve" => "brake lines".to_owned(),
        "bottle" => {
            let bottle = suppression.bottles.iter().find(|bottle| bottle.id == id);
            at(bottle.and_then(|bottle| bottle.at))
                .map_or_else(|| "bottle".to_owned(), |at| format!("bottle, {at}"))
        }
        "nozzle" => {
            let nozzle = suppression.nozzles.iter().find(|nozzle| nozzle.id == id);
            at(nozzle.and_then(|nozzle| nozzle.at))
                .map_or_else(|| "nozzle".to_owned(), |at| format!("nozzle, {at}"))
        }
        "suppression line" | "tee" => "suppression lines".to_owned(),
        "pull" => "pull handle and cable".to_owned(),
        "car" => "car on the scales".to_owned(),
        "" if key.starts_with("brakes.") => "pedal and master cylinders".to_owned(),
        "" => "suppression system".to_owned(),
        other => other.to_owned(),
    }
}

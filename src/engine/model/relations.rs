//! What values of one car have to do with one another, and where two do not go together.

use crate::physics::path::developed_length;
use crate::units::{Given, INCH, Kind, Length, Units, show};

use super::axes::in_words;
use super::{Car, Hose, Point, WheelBrake, distance};

/// One doubt: the key it is about, what does not go together, and what to do.
pub(super) struct Relation {
    pub key: String,
    pub message: String,
    pub help: String,
}

const POUND: f64 = 0.453_592_37;

fn relation(key: String, message: String, help: &str) -> Relation {
    Relation { key, message, help: help.to_owned() }
}

fn inches(si: f64) -> String {
    show(si, Kind::Length, Units::Us)
}

/// Everything that does not go together.
pub(super) fn doubts(car: &Car) -> Vec<Relation> {
    let mut found = Vec::new();
    weights(car, &mut found);
    wheel_brakes(car, &mut found);
    hoses(car, &mut found);
    lines(car, &mut found);
    points(car, &mut found);
    aims(car, &mut found);
    found
}

/// A full bottle against its agent, and the car against its wheelbase.
fn weights(car: &Car, found: &mut Vec<Relation>) {
    for bottle in &car.suppression.bottles {
        if let (Some(agent), Some(gross)) = (bottle.charge.agent_mass, bottle.papers.gross_mass) {
            let ratio = gross.si() / agent.si();
            if !(1.3..=3.0).contains(&ratio) {
                let key = format!("suppression.bottle.{}.gross_mass", bottle.id);
                let message =
                    format!("a full bottle weighs 1.3 to 3 times its agent, and this one {ratio:.1} times");
                found.push(relation(
                    key,
                    message,
                    "the label has both: the whole bottle charged, and the agent in it",
                ));
            }
        }
    }
    if let (Some(mass), Some(wheelbase)) = (car.chassis.mass, car.chassis.wheelbase) {
        let share = mass.si() / POUND / (wheelbase.si() / INCH);
        if !(8.0..=45.0).contains(&share) {
            let message = format!("a car weighs 8 to 45 lb an inch of wheelbase, and this one {share:.0}");
            found.push(relation(
                "car.mass".to_owned(),
                message,
                "weigh it with the driver, and tape the wheelbase again",
            ));
        }
    }
}

/// Left and right are alike, and the pistons are in keeping with the masters.
fn wheel_brakes(car: &Car, found: &mut Vec<Relation>) {
    let brakes = &car.brakes;
    for (left, right) in [("LF", "RF"), ("LR", "RR")] {
        let by_id = |id: &str| brakes.wheel_brakes.iter().find(|brake| brake.id == id);
        let (Some(one), Some(other)) = (by_id(left), by_id(right)) else { continue };
        for key in unlike(one, other) {
            let message = format!("{key} of {right} is not that of {left}");
            let help = "the two brakes of an axle are alike as a rule: look at both";
            found.push(relation(format!("brakes.wheel_brake.{right}.{key}"), message, help));
        }
    }
    let area = |bore: f64| std::f64::consts::PI / 4.0 * bore * bore;
    let masters: Option<Vec<f64>> =
        brakes.masters.iter().map(|m| m.bore.map(|bore| area(bore.si()))).collect();
    let pistons: Option<Vec<f64>> = brakes
        .wheel_brakes
        .iter()
        .map(|brake| Some(f64::from(brake.pistons?) * area(brake.piston_bore?.si())))
        .collect();
    if let (Some(masters), Some(pistons)) = (masters, pistons)
        && !masters.is_empty()
        && !pistons.is_empty()
    {
        let ratio = pistons.iter().sum::<f64>() / masters.iter().sum::<f64>();
        if !(12.0..=45.0).contains(&ratio)
            && let Some(master) = brakes.masters.first()
        {
            let message = format!(
                "all pistons together have 12 to 45 times the area of the masters, and here {ratio:.0} times"
            );
            let help = "look at the bores of masters and calipers, and count the pistons of both sides";
            found.push(relation(format!("brakes.master.{}.bore", master.id), message, help));
        }
    }
}

fn unlike(one: &WheelBrake, other: &WheelBrake) -> Vec<&'static str> {
    let differ = |a: Option<f64>, b: Option<f64>| matches!((a, b), (Some(a), Some(b)) if (a - b).abs() > 1e-9 * a.abs());
    let length = |given: Option<Given<Length>>| given.map(|given| given.si());
    let drum = |brake: &WheelBrake, of: fn(&super::Drum) -> Option<Given<Length>>| {
        length(brake.drum.as_ref().and_then(of))
    };
    let keys = [
        ("pistons", differ(one.pistons.map(f64::from), other.pistons.map(f64::from))),
        ("piston_bore", differ(length(one.piston_bore), length(other.piston_bore))),
        ("effective_radius", differ(length(one.effective_radius), length(other.effective_radius))),
        ("drum.diameter", differ(drum(one, |drum| drum.diameter), drum(other, |drum| drum.diameter))),
        (
            "drum.cylinder_bore",
            differ(drum(one, |drum| drum.cylinder_bore), drum(other, |drum| drum.cylinder_bore)),
        ),
        ("pad_friction", differ(one.pad_friction.map(|g| g.si()), other.pad_friction.map(|g| g.si()))),
        ("pad_new", differ(length(one.pad_new), length(other.pad_new))),
        ("pad_min", differ(length(one.pad_min), length(other.pad_min))),
    ];
    keys.into_iter().filter(|(_, differs)| *differs).map(|(key, _)| key).collect()
}

/// A hose is a little longer than its longest reach, and as long as the one across.
fn hoses(car: &Car, found: &mut Vec<Relation>) {
    let hoses = &car.brakes.hoses;
    for hose in hoses {
        let (Some(length), Some(inner)) = (hose.length, hose.inner_end) else { continue };
        let reach = hose.outer_end.iter().map(|(_, end)| distance(inner, *end)).fold(0.0, f64::max);
        let ratio = length.si() / reach;
        if reach > 0.0 && !(1.0..=1.6).contains(&ratio) {
            let message = format!(
                "the hose is {ratio:.2} times its longest reach, {}: 1 to 1.6 times is usual",
                inches(reach)
            );
            found.push(relation(
                format!("brakes.hose.{}.length", hose.id),
                message,
                "tape the hose, or the places of its ends, again",
            ));
        }
    }
    let across = |one: &&Hose| {
        let twin = match one.corner?.word() {
            "LF" => "RF",
            "LR" => "RR",
            _ => return None,
        };
        hoses.iter().find(|other| other.corner.is_some_and(|corner| corner.word() == twin))
    };
    for one in hoses {
        let Some(other) = across(&one) else { continue };
        if let (Some(a), Some(b)) = (one.length, other.length)
            && (a.si() - b.si()).abs() > 0.5 * INCH * (1.0 + 1e-9)
        {
            let message = format!("{} is {} and {} is {}", one.id, inches(a.si()), other.id, inches(b.si()));
            let help = "left and right hoses are alike within 1/2 in as a rule: tape both";
            found.push(relation(format!("brakes.hose.{}.length", other.id), message, help));
        }
    }
}

/// A taped length against the points, and a gap between supports against the line.
fn lines(car: &Car, found: &mut Vec<Relation>) {
    let brakes = car.brakes.lines.iter().map(|line| ("brakes.line", &line.run));
    let suppression = car.suppression.lines.iter().map(|line| ("suppression.line", &line.run));
    for (list, run) in brakes.chain(suppression) {
        let radius = run.bend_radius.map(|radius| Length::from_si(radius.si()));
        let drawn = (run.path.len() > 1)
            .then(|| developed_length(&run.path, radius).ok().map(|length| length.si()))
            .flatten();
        if let (Some(length), Some(drawn)) = (run.length, drawn)
            && !(1.0 - 1e-6..=1.25).contains(&(length.si() / drawn))
        {
            let message = format!("by tape {}, and along its points {}", inches(length.si()), inches(drawn));
            found.push(relation(
                format!("{list}.{}.length", run.id),
                message,
                "tape it again, or move the points",
            ));
        }
        if let (Some(gap), Some(length)) = (run.support_gap, run.length.map(|length| length.si()).or(drawn))
            && gap.si() > length * (1.0 + 1e-6)
        {
            let message = format!(
                "the gap between supports, {}, is longer than the line, {}",
                inches(gap.si()),
                inches(length)
            );
            found.push(relation(
                format!("{list}.{}.support_gap", run.id),
                message,
                "measure between the two clamps farthest apart",
            ));
        }
    }
}

/// Every point lies on the car.
fn points(car: &Car, found: &mut Vec<Relation>) {
    let nose = car.chassis.wheelbase.map_or(225.0 * INCH, |wheelbase| wheelbase.si() + 45.0 * INCH);
    let is_on = |point: Point| {
        let [x, y, z] = point;
        (-40.0 * INCH..=nose).contains(&x) && y.abs() <= 52.0 * INCH && (0.0..=70.0 * INCH).contains(&z)
    };
    let suppression = &car.suppression;
    let mut all: Vec<(String, Point)> = Vec::new();
    for (list, run) in car
        .brakes
        .lines
        .iter()
        .map(|line| ("brakes.line", &line.run))
        .chain(suppression.lines.iter().map(|line| ("suppression.line", &line.run)))
    {
        all.extend(run.path.iter().map(|point| (format!("{list}.{}.path", run.id), *point)));
    }
    for hose in &car.brakes.hoses {
        all.extend(hose.inner_end.map(|point| (format!("brakes.hose.{}.inner_end", hose.id), point)));
        let ends = hose
            .outer_end
            .iter()
            .map(|(name, point)| (format!("brakes.hose.{}.outer_end.{name}", hose.id), *point));
        all.extend(ends);
    }
    let at = |list: &str, id: &str, point: Option<Point>| {
        point.map(|point| (format!("suppression.{list}.{id}.at"), point))
    };
    all.extend(suppression.bottles.iter().filter_map(|part| at("bottle", &part.id, part.at)));
    all.extend(suppression.tees.iter().filter_map(|part| at("tee", &part.id, part.at)));
    all.extend(suppression.nozzles.iter().filter_map(|part| at("nozzle", &part.id, part.at)));
    for (key, point) in all {
        if !is_on(point) {
            let message = format!("this point is {}: off the car", in_words(point, Units::Us));
            found.push(relation(key, message, super::axes::AXES));
        }
    }
}

/// A nozzle points at what it is there for, and not away from it.
fn aims(car: &Car, found: &mut Vec<Relation>) {
    for nozzle in &car.suppression.nozzles {
        let (Some(at), Some(aim)) = (nozzle.at, nozzle.aim) else { continue };
        let toward = |middle: Point| {
            (0..3).filter_map(|axis| Some((middle.get(axis)? - at.get(axis)?) * aim.get(axis)?)).sum::<f64>()
        };
        let protected = car
            .suppression
            .hazards
            .iter()
            .filter(|hazard| nozzle.protects.iter().any(|word| word.text == hazard.id));
        let middles: Vec<Point> = protected
            .filter_map(|hazard| hazard.corners)
            .map(|[low, high]| {
                std::array::from_fn(|axis| {
                    0.5 * (low.get(axis).copied().unwrap_or(0.0) + high.get(axis).copied().unwrap_or(0.0))
                })
            })
            .collect();
        if !middles.is_empty() && middles.iter().all(|middle| toward(*middle) < 0.0) {
            let message = format!("{} points away from what it is there for", nozzle.id);
            found.push(relation(
                format!("suppression.nozzle.{}.aim", nozzle.id),
                message,
                "ahead, left and up are the positive ways",
            ));
        }
    }
}

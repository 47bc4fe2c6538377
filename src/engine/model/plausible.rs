//! Values that are hardly ever right: outside what is usual, or not in keeping with others. Each is a warning with the remedy
//! that fits, and blocks nothing. Common practice, no source.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, SourceFile};
use crate::source::splice::find;
use crate::source::{self, Node};
use crate::units::{Kind, parse, significant};

use super::keys::{quantity_kind, without_id};
use super::known::Known;
use super::values::values;
use super::{Car, relations};

/// What is usual at a key: the least, the most.
type Window = (&'static str, &'static str, &'static str);

/// A hundredth beyond the ends is let pass: 4.76 mm is 3/16 in.
const GRACE: f64 = 0.01;

/// Every window, in the order of the format.
pub const WINDOWS: &[Window] = &[
    ("car.mass", "900 lb", "5500 lb"),
    ("car.front_share", "35 %", "65 %"),
    ("car.wheelbase", "70 in", "180 in"),
    ("car.cg_height", "8 in", "40 in"),
    ("car.tyre_friction", "0.5", "2.2"),
    ("car.tire_friction.front", "0.5", "2.2"),
    ("car.tire_friction.rear", "0.5", "2.2"),
    ("car.tyre_radius.front", "8 in", "22 in"),
    ("car.tyre_radius.rear", "8 in", "22 in"),
    ("frame.tube.od", "3/4 in", "3 in"),
    ("frame.tube.wall", "0.035 in", "0.188 in"),
    ("frame.sleeve.od", "5/16 in", "1 1/4 in"),
    ("frame.sleeve.wall", "0.028 in", "0.125 in"),
    ("frame.sleeve.length", "1/2 in", "6 in"),
    ("brakes.pedal_ratio", "2.5", "8"),
    ("brakes.pedal_force", "50 lbf", "250 lbf"),
    ("brakes.pedal_force_hard", "100 lbf", "400 lbf"),
    ("brakes.booster_ratio", "1", "7"),
    ("brakes.balance_bar.front_share", "35 %", "75 %"),
    ("brakes.master.bore", "1/2 in", "1 1/4 in"),
    ("brakes.master.stroke", "0.7 in", "1.8 in"),
    ("brakes.master.reservoir", "1.5 floz", "24 floz"),
    ("brakes.line.tube.od", "3/16 in", "5/16 in"),
    ("brakes.line.tube.wall", "0.020 in", "0.049 in"),
    ("brakes.line.bend_radius", "3/8 in", "3 in"),
    ("brakes.line.support_gap", "3 in", "24 in"),
    ("brakes.line.length", "3 in", "25 ft"),
    ("brakes.hose.length", "5 in", "36 in"),
    ("brakes.hose.bore", "0.08 in", "0.25 in"),
    ("brakes.hose.min_bend_radius", "3/4 in", "4 in"),
    ("brakes.hose.rating.working", "1000 psi", "6000 psi"),
    ("brakes.hose.rating.burst", "4000 psi", "20000 psi"),
    ("brakes.valve.knee", "100 psi", "1200 psi"),
    ("brakes.valve.slope", "0.15", "0.7"),
    ("brakes.valve.holds", "1 psi", "15 psi"),
    ("brakes.wheel_brake.piston_bore", "0.9 in", "3 in"),
    ("brakes.wheel_brake.effective_radius", "3 in", "7.5 in"),
    ("brakes.wheel_brake.pad_friction", "0.25", "0.65"),
    ("brakes.wheel_brake.pad_gap", "0.002 in", "0.020 in"),
    ("brakes.wheel_brake.holds", "5 mL", "150 mL"),
    ("brakes.wheel_brake.flex", "0.05 mL", "3 mL"),
    ("brakes.wheel_brake.pad_new", "0.25 in", "1 in"),
    ("brakes.wheel_brake.pad_min", "0.06 in", "0.25 in"),
    ("brakes.wheel_brake.pad_cold", "32 F", "900 F"),
    ("brakes.wheel_brake.pad_hot", "500 F", "2000 F"),
    ("brakes.wheel_brake.rotor.mass", "2 lb", "40 lb"),
    ("brakes.wheel_brake.rotor.specific_heat", "0.09 Btu/lb/F", "0.5 Btu/lb/F"),
    ("brakes.wheel_brake.rotor.cooling_time", "60 s", "900 s"),
    ("brakes.wheel_brake.fluid_soak", "0.05", "0.5"),
    ("brakes.duty.from", "20 mph", "350 mph"),
    ("brakes.duty.to", "0 mph", "200 mph"),
    ("brakes.duty.braking", "0.1", "3"),
    ("brakes.duty.every", "5 s", "600 s"),
    ("brakes.duty.start", "20 F", "600 F"),
    ("brakes.duty.parachute.diameter", "3 ft", "25 ft"),
    ("brakes.duty.parachute.drag", "0.3", "1"),
    ("brakes.duty.descent.height", "100 ft", "5000 ft"),
    ("brakes.duty.descent.length", "1000 ft", "75000 ft"),
    ("brakes.duty.descent.speed", "10 mph", "90 mph"),
    ("brakes.wheel_brake.drum.diameter", "6 in", "13 in"),
    ("brakes.wheel_brake.drum.cylinder_bore", "1/2 in", "1 1/4 in"),
    ("brakes.wheel_brake.drum.anchor", "2 in", "5.5 in"),
    ("brakes.wheel_brake.drum.link", "2 in", "5.5 in"),
    ("brakes.wheel_brake.drum.arm", "3.5 in", "10.5 in"),
    ("brakes.wheel_brake.drum.lining_from", "0 deg", "60 deg"),
    ("brakes.wheel_brake.drum.lining_to", "100 deg", "165 deg"),
    ("brakes.wheel_brake.drum.primary_from", "0 deg", "70 deg"),
    ("brakes.wheel_brake.drum.primary_to", "95 deg", "165 deg"),
    ("brakes.wheel_brake.drum.parking_ratio", "2", "8"),
    ("brakes.parking.pull", "20 lbf", "120 lbf"),
    ("brakes.parking.ratio", "3", "15"),
    ("brakes.parking.efficiency", "0.5", "0.95"),
    ("suppression.space.volume", "2 ft3", "100 ft3"),
    ("suppression.space.temperature", "-4 F", "120 F"),
    ("suppression.bottle.agent_mass", "2 lb", "25 lb"),
    ("suppression.bottle.volume", "60 in3", "1000 in3"),
    ("suppression.bottle.charge_pressure", "100 psi", "1000 psi"),
    ("suppression.bottle.gross_mass", "4 lb", "45 lb"),
    ("suppression.bottle.outlet_k", "0.5", "10"),
    ("suppression.bottle.mount.span", "1 1/2 in", "20 in"),
    ("suppression.bottle.mount.offset", "1 in", "8 in"),
    ("suppression.line.tube.od", "3/16 in", "1/2 in"),
    ("suppression.line.tube.wall", "0.020 in", "0.095 in"),
    ("suppression.line.bend_radius", "3/8 in", "3 in"),
    ("suppression.line.support_gap", "3 in", "24 in"),
    ("suppression.line.length", "2 in", "25 ft"),
    ("suppression.nozzle.orifice", "0.040 in", "0.250 in"),
    ("suppression.nozzle.cd", "0.5", "0.98"),
    ("suppression.nozzle.cone", "20 deg", "180 deg"),
    ("suppression.nozzle.reach", "10 in", "80 in"),
    ("suppression.pull.valve_force", "2 lbf", "40 lbf"),
    ("suppression.pull.valve_travel", "1/4 in", "2 in"),
    ("suppression.pull.handle_travel", "1 in", "8 in"),
    ("suppression.pull.length", "12 in", "20 ft"),
    ("suppression.pull.friction", "0.05", "0.35"),
];

/// Units that are taken for one another.
const MIXED: &[&[&str]] = &[&["in", "mm", "cm", "ft"], &["lb", "kg"], &["psi", "bar"], &["lbf", "N"]];

/// Everything about a car file that is hardly ever right. What a person said is so is left out.
pub fn plausible(file: &Arc<SourceFile>, car: &Car) -> Vec<Diagnostic> {
    let (root, _) = source::parse(file);
    let mut found: Vec<Diagnostic> = Vec::new();
    for written in values(file) {
        let Some(window) = window_of(&written.key).filter(|_| !is_sure(&car.known, &written.key)) else {
            continue;
        };
        let Some(at) = place(&root, &written.key) else { continue };
        if let Some((message, help)) = doubt(window, &written.key, &written.text) {
            found.push(Diagnostic::warning(&at, message, help));
        }
    }
    for relation in relations::doubts(car) {
        if let Some(at) = place(&root, &relation.key).filter(|_| !is_sure(&car.known, &relation.key)) {
            found.push(Diagnostic::warning(&at, relation.message, relation.help));
        }
    }
    crate::diagnostic::sort(&mut found);
    found
}

fn is_sure(known: &Known, key: &str) -> bool {
    known.entries().any(|(path, origin)| path == key && origin.sure)
}

fn place(root: &Node, key: &str) -> Option<Place> {
    let parts: Vec<&str> = key.split('.').collect();
    // A value that the file leaves out is spoken of at its part.
    let node = find(root, &parts).or_else(|| find(root, parts.get(..3)?));
    node.map(|node| node.at.clone())
}

/// What is usual at a key, ids included or left out.
pub fn window_of(key: &str) -> Option<&'static Window> {
    let generic = without_id(key);
    WINDOWS.iter().find(|(known, ..)| *known == generic)
}

fn ends(window: &Window, kind: Kind) -> Option<[f64; 2]> {
    let (_, low, high) = window;
    Some([parse(low, kind).ok()?.si * (1.0 - GRACE), parse(high, kind).ok()?.si * (1.0 + GRACE)])
}

/// What is wrong with a value as typed, and what may be meant.
fn doubt(window: &Window, key: &str, text: &str) -> Option<(String, String)> {
    let kind = quantity_kind(key)?;
    let [low, high] = ends(window, kind)?;
    let inside = |text: &str| parse(text, kind).is_ok_and(|parsed| (low..=high).contains(&parsed.si));
    if parse(text, kind).is_err() || inside(text) {
        return None;
    }
    let (_, least, most) = window;
    let meant = meant(text).into_iter().find(|candidate| inside(candidate));
    let help = match meant {
        Some(meant) => {
            format!("did you mean {meant}? If it is so, write \"typed, sure\" for this key in [known]")
        }
        None => "measure it again; if it is so, write \"typed, sure\" for this key in [known]".to_owned(),
    };
    Some((format!("{text} is outside what is usual here, {least} to {most}"), help))
}

/// The same figures in another unit, or with the point moved by one place.
fn meant(text: &str) -> Vec<String> {
    let value = text.split("+/-").next().unwrap_or(text).trim();
    let start = value.rfind(|c: char| c.is_ascii_digit() || c == '.').map_or(0, |at| at + 1);
    let (number, unit) = value.split_at_checked(start).unwrap_or((value, ""));
    let unit = unit.trim();
    let mut all = Vec::new();
    for others in MIXED.iter().filter(|others| others.contains(&unit)) {
        all.extend(
            others.iter().filter(|other| **other != unit).map(|other| format!("{} {other}", number.trim())),
        );
    }
    if let Ok(number) = number.trim().parse::<f64>() {
        for factor in [0.1, 10.0] {
            all.push(format!("{} {unit}", significant(number * factor, 6)).trim().to_owned());
        }
    }
    all
}

//! The whole car on a sheet: its parts, the stations round it, findings where they are, and the person.

use std::collections::BTreeMap;

use crate::model::{Car, Corner};
use crate::rules::Station;

use super::parts::Parts;
use super::ring::{Extent, letter, place};
use super::shape::point_at;
use super::sheet::{Bounds, Drawing, Flat, Mark, Stroke, Style, View};

/// What the ring takes where the file gives no size, m.
const NO_WHEELBASE: f64 = 2.5;
const LEAST_HALF_WIDTH: f64 = 0.6;
const MARGIN: f64 = 0.15;
/// Between the signs of findings at one place, m.
const BESIDE_EACH_OTHER: f64 = 0.12;
/// Signs nearer than this cover each other, m.
const APART: f64 = 0.9 * BESIDE_EACH_OTHER;
/// As many stand beside each other; more at one place cover the first.
const MOST_BESIDE: u32 = 200;

/// A finding to be drawn.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FindingAt {
    /// The code that it goes by, here as everywhere.
    pub code: String,
    /// The id of what it is of, where it is of one thing.
    pub of: Option<String>,
    /// The station where it was found.
    pub station: String,
    /// Its words.
    pub label: String,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub struct Plan<'a> {
    /// The car.
    pub car: &'a Car,
    /// Stations in the order of the lap.
    pub stations: Vec<&'a Station>,
    /// Findings.
    pub findings: &'a [FindingAt],
    /// The station where the person is.
    pub here: Option<&'a str>,
}

/// Draws a car to scale, from one side.
pub fn plan(plan: &Plan<'_>, view: View) -> Drawing {
    let above = Parts::of(plan.car, View::Top);
    let extent = extent(plan.car, &above);
    let seen = if view == View::Top { above } else { Parts::of(plan.car, view) };
    let Parts { mut strokes, circles, mut marks, mut notes } = seen;
    if plan.car.chassis.wheelbase.is_none() {
        notes.push("No wheelbase is given: where stations stand is not to scale.".to_owned());
    }
    axles(plan.car, extent, view, &mut strokes);
    for (at, station) in plan.stations.iter().enumerate() {
        marks.push(Mark {
            at: place(station, extent, view),
            style: Style::Station,
            text: letter(at),
            id: station.id.clone(),
            label: station.title.clone(),
        });
    }
    let here =
        plan.here.and_then(|id| marks.iter().find(|mark| mark.style == Style::Station && mark.id == id));
    let here = here.map(|mark| Mark { style: Style::Here, text: "@".to_owned(), ..mark.clone() });
    let found = findings(plan, view, &strokes, &marks);
    marks.extend(here);
    marks.extend(found);
    let points = strokes.iter().flat_map(|stroke| stroke.points.clone());
    let points = points.chain(marks.iter().map(|mark| mark.at));
    let rims = circles.iter().flat_map(|circle| {
        let ([x, y], r) = (circle.centre, circle.radius);
        [[x - r, y - r], [x + r, y + r]]
    });
    let nothing = Bounds { low: [-1.0, -1.0], high: [NO_WHEELBASE, 1.0] };
    let bounds = Bounds::around(points.chain(rims)).unwrap_or(nothing).grown(MARGIN);
    Drawing { view, bounds, strokes, circles, marks, notes }
}

/// The car's size: from its parts seen from above and its wheelbase, with a least width so that stations stand apart.
fn extent(car: &Car, parts: &Parts) -> Extent {
    let solid = parts.strokes.iter().filter(|stroke| stroke.style != Style::Cone);
    let points: Vec<Flat> = solid
        .flat_map(|stroke| stroke.points.clone())
        .chain(parts.marks.iter().map(|mark| mark.at))
        .collect();
    let given = car.chassis.wheelbase.map(|length| length.si());
    let bounds = Bounds::around(points.iter().copied());
    let reach = bounds.map_or([0.0, 0.0], |bounds| [bounds.low[0], bounds.high[0]]);
    let wheelbase = given.unwrap_or_else(|| if bounds.is_some() { reach[1].max(1.0) } else { NO_WHEELBASE });
    let radius = |radius: Option<crate::units::Given<crate::units::Length>>| {
        radius.filter(|_| given.is_some()).map_or(0.0, |radius| radius.si())
    };
    let (rear, front) = (radius(car.chassis.tyre_radius_rear), radius(car.chassis.tyre_radius_front));
    let half_width = points.iter().map(|[_, y]| y.abs()).fold(LEAST_HALF_WIDTH, f64::max);
    let [low, high] = reach;
    Extent { wheelbase, ends: [low.min(-rear), high.max(wheelbase + front)], half_width }
}

/// A line across the car at each axle, from above only.
fn axles(car: &Car, extent: Extent, view: View, strokes: &mut Vec<Stroke>) {
    if view == View::Side || car.chassis.wheelbase.is_none() {
        return;
    }
    let half = extent.half_width;
    for (x, label) in [(0.0, "rear axle"), (extent.wheelbase, "front axle")] {
        strokes.insert(
            0,
            Stroke {
                points: vec![[x, -half], [x, half]],
                closed: false,
                style: Style::Axle,
                straight: false,
                id: String::new(),
                label: label.to_owned(),
            },
        );
    }
}

/// Each finding at what it is of, else at its station; several at one place stand beside each other.
fn findings(plan: &Plan<'_>, view: View, strokes: &[Stroke], marks: &[Mark]) -> Vec<Mark> {
    let mut found: Vec<Mark> = Vec::new();
    let mut ended: BTreeMap<[u64; 2], u32> = BTreeMap::new();
    for finding in plan.findings {
        let of = finding.of.as_deref();
        let at = of.and_then(|of| place_of(plan.car, of, view, strokes, marks));
        let station = || {
            let at = marks.iter().find(|mark| mark.style == Style::Station && mark.id == finding.station);
            at.map(|mark| [mark.at[0] + BESIDE_EACH_OTHER, mark.at[1]])
        };
        let Some([x, y]) = at.or_else(station) else { continue };
        let beside = |step: u32| x + f64::from(step) * BESIDE_EACH_OTHER;
        let taken = |step: u32| {
            let away = |mark: &Mark| (mark.at[0] - beside(step)).powi(2) + (mark.at[1] - y).powi(2);
            found.iter().any(|mark| away(mark) < APART * APART)
        };
        // What was taken stays so: a search goes on where the last one from this place ended.
        let step = ended.entry([x.to_bits(), y.to_bits()]).or_insert(0);
        *step = (*step..MOST_BESIDE).find(|step| !taken(*step)).unwrap_or(MOST_BESIDE);
        found.push(Mark {
            at: [if *step < MOST_BESIDE { beside(*step) } else { x }, y],
            style: Style::Finding,
            text: finding.code.clone(),
            id: of.unwrap_or(&finding.station).to_owned(),
            label: finding.label.clone(),
        });
    }
    found
}

/// Where a thing of the car file is, by its id.
fn place_of(car: &Car, id: &str, view: View, strokes: &[Stroke], marks: &[Mark]) -> Option<Flat> {
    let mark = marks.iter().find(|mark| mark.id == id && mark.style != Style::Station);
    if let Some(mark) = mark {
        return Some(mark.at);
    }
    if let Some(stroke) = strokes.iter().find(|stroke| stroke.id == id && stroke.style != Style::Cone) {
        if stroke.closed {
            return Bounds::around(stroke.points.iter().copied()).map(Bounds::centre);
        }
        return point_at(&stroke.points, 0.5);
    }
    // A pair such as "nozzle -> hazard" is at its first; a wheel brake is at the hose of its corner.
    if let Some((first, _)) = id.split_once(" -> ") {
        return place_of(car, first, view, strokes, marks);
    }
    let corner = Corner::named(id)?;
    let hose = car.brakes.hoses.iter().find(|hose| hose.corner == Some(corner))?;
    super::parts::hose_outer(hose).map(|point| view.flat(point))
}

//! The parts of a car that have points, as strokes, circles and marks.

use crate::model::{Bottle, Car, Construction, Hose, Nozzle, Point, Shield, SupplyLine};

use super::shape::{cone_seen, longest_leg};
use super::sheet::{Circle, Flat, Mark, Stroke, Style, View};

/// Cone and reach where the file is silent: the contract's defaults.
const CONE: f64 = 75.0 * std::f64::consts::PI / 180.0;
const REACH: f64 = 24.0 * 0.0254;

/// Everything drawn so far.
#[derive(Debug, Default)]
pub(super) struct Parts {
    pub strokes: Vec<Stroke>,
    pub circles: Vec<Circle>,
    pub marks: Vec<Mark>,
    pub notes: Vec<String>,
}

impl Parts {
    /// Draws a car's parts, those behind first.
    pub fn of(car: &Car, view: View) -> Self {
        let mut parts = Self::default();
        parts.wheels(car, view);
        parts.boxes(car, view);
        for nozzle in &car.suppression.nozzles {
            parts.cone(nozzle, view);
        }
        parts.brake_lines(car, view);
        for hose in &car.brakes.hoses {
            parts.hose(hose, view);
        }
        for line in &car.suppression.lines {
            parts.supply_line(car, line, view);
        }
        parts.frame_tubes(car);
        parts.nodes(car, view);
        parts
    }

    fn stroke(&mut self, style: Style, id: &str, points: Vec<Flat>, closed: bool, straight: bool) {
        let label = format!("{} {id}", style.words());
        self.strokes.push(Stroke { points, closed, style, straight, id: id.to_owned(), label });
    }

    fn mark(&mut self, style: Style, id: &str, at: Option<Point>, view: View) {
        match at {
            Some(at) => self.marks.push(Mark {
                at: view.flat(at),
                style,
                text: String::new(),
                id: id.to_owned(),
                label: format!("{} {id}", style.words()),
            }),
            None => self.notes.push(format!("{} {id}: the file does not say where it is", style.words())),
        }
    }

    /// Wheels where the wheelbase and the radii are given. From above they stand at the hose ends: no track is given.
    fn wheels(&mut self, car: &Car, view: View) {
        let chassis = &car.chassis;
        let Some(wheelbase) = chassis.wheelbase.map(|length| length.si()) else { return };
        for (x, radius, front) in
            [(0.0, chassis.tyre_radius_rear, false), (wheelbase, chassis.tyre_radius_front, true)]
        {
            let label = if front { "front axle" } else { "rear axle" };
            let Some(radius) = radius.map(|radius| radius.si()) else { continue };
            if view == View::Side {
                let label = label.to_owned();
                self.circles.push(Circle { centre: [x, radius], radius, style: Style::Wheel, label });
                continue;
            }
            let ends = hose_ends(car, front);
            for y in ends {
                let points = vec![[x - radius, y], [x + radius, y]];
                self.stroke(Style::Wheel, "", points, false, false);
            }
        }
        if view == View::Side {
            let reach = wheelbase * 0.15;
            self.stroke(Style::Ground, "", vec![[-reach, 0.0], [wheelbase + reach, 0.0]], false, false);
        }
    }

    fn boxes(&mut self, car: &Car, view: View) {
        let suppression = &car.suppression;
        for hazard in &suppression.hazards {
            self.seen_box(Style::Hazard, &hazard.id, hazard.corners, view);
        }
        let mut each = |style: Style, shields: &[Shield]| {
            for shield in shields {
                self.seen_box(style, &shield.id, shield.corners, view);
            }
        };
        each(Style::Shield, &suppression.shields);
        each(Style::KeepClear, &suppression.keep_clear);
    }

    fn seen_box(&mut self, style: Style, id: &str, corners: Option<[Point; 2]>, view: View) {
        let Some([low, high]) = corners else {
            self.notes.push(format!("{} {id}: the file does not say where it is", style.words()));
            return;
        };
        let ([a, b], [c, d]) = (view.flat(low), view.flat(high));
        self.stroke(style, id, vec![[a, b], [c, b], [c, d], [a, d]], true, false);
    }

    fn cone(&mut self, nozzle: &Nozzle, view: View) {
        let (Some(at), Some(aim)) = (nozzle.at, nozzle.aim) else { return };
        let cone = nozzle.cone.map_or(CONE, |cone| cone.si());
        let reach = nozzle.reach.map_or(REACH, |reach| reach.si());
        if let Some(outline) = cone_seen(view, at, aim, cone, reach) {
            self.stroke(Style::Cone, &nozzle.id, outline, true, false);
        }
    }

    fn brake_lines(&mut self, car: &Car, view: View) {
        for line in &car.brakes.lines {
            let points: Vec<Flat> = line.run.path.iter().map(|point| view.flat(*point)).collect();
            if points.len() < 2 {
                self.notes.push(format!("brake line {}: the file does not say where it runs", line.run.id));
                continue;
            }
            self.stroke(Style::BrakeRun, &line.run.id, points, false, false);
        }
    }

    fn hose(&mut self, hose: &Hose, view: View) {
        let (Some(inner), Some(outer)) = (hose.inner_end, hose_outer(hose)) else {
            self.notes.push(format!("brake hose {}: the file does not say where its ends are", hose.id));
            return;
        };
        self.stroke(Style::Hose, &hose.id, vec![view.flat(inner), view.flat(outer)], false, true);
    }

    fn supply_line(&mut self, car: &Car, line: &SupplyLine, view: View) {
        let style = match line.construction {
            Some(Construction::Flexible) => Style::FlexibleRun,
            _ => Style::SuppressionRun,
        };
        match supply_way(car, line) {
            Some((way, straight)) => {
                let points = way.into_iter().map(|point| view.flat(point)).collect();
                self.stroke(style, &line.run.id, points, false, straight);
            }
            None => self
                .notes
                .push(format!("suppression line {}: the file does not say where it runs", line.run.id)),
        }
    }

    /// Frame tubes have no points of their own: each is drawn round the longest leg of a run inside it, a sleeve at
    /// each end where sleeves of that tube carry the run.
    fn frame_tubes(&mut self, car: &Car) {
        let mut drawn = Vec::new();
        for tube in &car.tubes {
            let inside = |id: &str| {
                car.runs().any(|run| run.id == id && run.inside.iter().any(|word| word.text == tube.id))
            };
            let found = self.strokes.iter().find(|stroke| is_run(stroke.style) && inside(&stroke.id));
            let Some((id, (from, to))) =
                found.and_then(|stroke| Some((stroke.id.clone(), longest_leg(&stroke.points)?)))
            else {
                continue;
            };
            self.stroke(Style::FrameTube, &tube.id, vec![from, to], false, true);
            drawn.push(tube.id.as_str());
            let carrying = car.sleeves.iter().filter(|sleeve| {
                sleeve.tube.as_ref().is_some_and(|word| word.text == tube.id)
                    && sleeve.carries.iter().any(|word| word.text == id)
            });
            let sleeves: Vec<Mark> = carrying
                .zip([from, to])
                .map(|(sleeve, at)| Mark {
                    at,
                    style: Style::FrameSleeve,
                    text: String::new(),
                    id: sleeve.id.clone(),
                    label: format!("sleeve {}", sleeve.id),
                })
                .collect();
            self.marks.extend(sleeves);
        }
        if !drawn.is_empty() {
            self.notes.push(format!(
                "Frame tubes ({}) have no points in the file: each is drawn round the longest leg of a run inside it, \
                 its sleeves at that leg's ends.",
                drawn.join(", ")
            ));
        }
    }

    fn nodes(&mut self, car: &Car, view: View) {
        let suppression = &car.suppression;
        for Bottle { id, at, .. } in &suppression.bottles {
            self.mark(Style::Bottle, id, *at, view);
        }
        for tee in &suppression.tees {
            self.mark(Style::Tee, &tee.id, tee.at, view);
        }
        for nozzle in &suppression.nozzles {
            self.mark(Style::Nozzle, &nozzle.id, nozzle.at, view);
        }
    }
}

/// Whether a style is that of a run of line.
pub(super) fn is_run(style: Style) -> bool {
    matches!(style, Style::BrakeRun | Style::SuppressionRun | Style::FlexibleRun)
}

/// The moving end of a hose at ride height, or at the first position the file names.
pub(super) fn hose_outer(hose: &Hose) -> Option<Point> {
    let ride = hose.outer_end.iter().find(|(name, _)| name == "ride");
    ride.or_else(|| hose.outer_end.first()).map(|(_, point)| *point)
}

/// The side of each wheel of an axle, from hoses whose corner names a wheel of it.
fn hose_ends(car: &Car, front: bool) -> Vec<f64> {
    let wheel = |hose: &&Hose| {
        hose.corner.is_some_and(|corner| {
            let rear = matches!(corner.word(), "LR" | "RR");
            if front { corner.is_front() } else { rear }
        })
    };
    let mut ends: Vec<f64> =
        car.brakes.hoses.iter().filter(wheel).filter_map(hose_outer).map(|[_, y, _]| y).collect();
    ends.dedup();
    ends
}

/// The way of a suppression line: its path, else straight between its ends, and whether it was drawn straight so.
pub(super) fn supply_way(car: &Car, line: &SupplyLine) -> Option<(Vec<Point>, bool)> {
    if line.run.path.len() >= 2 {
        return Some((line.run.path.clone(), false));
    }
    Some((vec![node(car, line.from.as_str())?, node(car, line.to.as_str())?], true))
}

/// Where a bottle, tee or nozzle is.
pub(super) fn node(car: &Car, id: &str) -> Option<Point> {
    let suppression = &car.suppression;
    let bottle = suppression.bottles.iter().find(|bottle| bottle.id == id).map(|bottle| bottle.at);
    let tee = || suppression.tees.iter().find(|tee| tee.id == id).map(|tee| tee.at);
    let nozzle = || suppression.nozzles.iter().find(|nozzle| nozzle.id == id).map(|nozzle| nozzle.at);
    bottle.or_else(tee).or_else(nozzle).flatten()
}

//! The length and the turns of a bent line.

use super::refusal::{Refusal, positive};
use crate::units::{Angle, Length};

/// Length of tube in a path of straight legs with a bend at each inner point.
///
/// # Formula
/// L = Σ legs − Σ (2 R tan(θ/2) − R θ)
/// # Symbols
/// L developed length (m) · legs, distances between neighbouring `points` (m) · R `bend_radius` to the centre
/// line (m) · θ turn at each inner point (rad)
/// # Valid range
/// Every bend fits: the tangents R tan(θ/2) at both ends of a leg are no longer than the leg. Without a
/// radius the corners are sharp.
/// # Errors
/// Fewer than two points, two neighbours in one place, a turn straight back, a radius that is not over zero,
/// or a bend that does not fit.
/// # Source
/// Plane geometry; tube-bending charts print the 90° gain as 0.43 R (from memory).
/// # Example
/// ```
/// use linewalk_formulas::physics::path::developed_length;
/// use linewalk_formulas::units::Length;
/// let corner = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0]];
/// let length = developed_length(&corner, Some(Length::from_si(0.1)))?;
/// assert!((length.si() - (2.0 - 0.1 * 0.4292)).abs() < 1e-5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn developed_length(points: &[[f64; 3]], bend_radius: Option<Length>) -> Result<Length, Refusal> {
    let legs = legs(points)?;
    let straight: f64 = legs.iter().map(|leg| norm(*leg)).sum();
    let Some(radius) = bend_radius else { return Ok(Length::from_si(straight)) };
    let radius = positive("the bend radius", radius.si())?;
    let mut saved = 0.0;
    let mut tangent_before = 0.0;
    for pair in legs.windows(2) {
        let [one, two] = pair else { continue };
        let turn = turn_between(*one, *two);
        if std::f64::consts::PI - turn < 1e-9 {
            return Err(Refusal::PathTurnsBack);
        }
        let tangent = radius * (turn / 2.0).tan();
        if tangent_before + tangent > norm(*one) * (1.0 + 1e-9) {
            return Err(Refusal::BendDoesNotFit);
        }
        saved += 2.0 * tangent - radius * turn;
        tangent_before = tangent;
    }
    if legs.last().is_some_and(|leg| tangent_before > norm(*leg) * (1.0 + 1e-9)) {
        return Err(Refusal::BendDoesNotFit);
    }
    Ok(Length::from_si(straight - saved))
}

/// All turns of a path added up.
///
/// # Formula
/// Θ = Σ θ, tan θ = |u × v| / (u · v)
/// # Symbols
/// u, v neighbouring legs (m) · θ turn at each inner point, 0 to π (rad)
/// # Valid range
/// Any path; two points turn nowhere.
/// # Errors
/// Fewer than two points, or two neighbours in one place.
/// # Source
/// Vector geometry.
/// # Example
/// Three sides of a square turn half a circle.
/// ```
/// use linewalk_formulas::physics::path::total_turn;
/// let path = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.0, 0.0]];
/// assert!((total_turn(&path)?.si() - std::f64::consts::PI).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn total_turn(points: &[[f64; 3]]) -> Result<Angle, Refusal> {
    let legs = legs(points)?;
    let mut sum = 0.0;
    for pair in legs.windows(2) {
        if let [one, two] = pair {
            sum += turn_between(*one, *two);
        }
    }
    Ok(Angle::from_si(sum))
}

/// One bend of a tube as it comes to the bender.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Straight tube fed before the bend begins.
    pub feed: Length,
    /// How far the tube is turned about its own axis after the bend before, counter-clockwise looking back along the feed
    /// (right-hand about the direction of feed); none at the first bend.
    pub rotation: Option<Angle>,
    /// How far it is bent.
    pub angle: Angle,
    /// Tube taken up by the bend.
    pub arc: Length,
}

/// A path as a bender works it: bend after bend, and the straight tube behind the last one.
#[derive(Clone, Debug, PartialEq)]
pub struct BendTable {
    /// The bends, from the first point on.
    pub bends: Vec<Bend>,
    /// Straight tube behind the last bend.
    pub end: Length,
}

/// Least turn that counts as a bend, rad: a path drawn straight through a point is not bent there.
const STRAIGHT: f64 = 1e-6;

/// The bends of a path: length, rotation and angle of each.
///
/// # Formula
/// feed = leg − R tan(θ before/2) − R tan(θ/2); arc = R θ; rotation: the angle from n₁ = u₁ × u₂ to n₂ = u₂ × u₃ about u₂
/// # Symbols
/// u neighboring legs (m) · R `bend_radius` to the center line (m) · θ turn at each inner point (rad) · n normals of the
/// planes of neighboring bends
/// # Valid range
/// As [`developed_length`]: every bend fits. Feeds and arcs add up to the developed length.
/// # Errors
/// Fewer than two points, two neighbours in one place, a turn straight back, a radius that is not over zero, or a bend
/// that does not fit.
/// # Source
/// Vector geometry; arc and setback R tan(θ/2) as tube-bending charts print them.
/// # Example
/// Two right angles in one plane, the second the other way: half a turn of the tube between them.
/// ```
/// use linewalk_formulas::physics::path::bend_table;
/// use linewalk_formulas::units::Length;
/// let path = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [2.0, 1.0, 0.0]];
/// let table = bend_table(&path, Length::from_si(0.1))?;
/// let turned = table.bends[1].rotation.map_or(0.0, |angle| angle.si());
/// assert!((turned.abs() - std::f64::consts::PI).abs() < 1e-12);
/// assert!((table.bends[1].feed.si() - 0.8).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bend_table(points: &[[f64; 3]], bend_radius: Length) -> Result<BendTable, Refusal> {
    developed_length(points, Some(bend_radius))?;
    let radius = bend_radius.si();
    let (mut bends, mut straight, mut normal) = (Vec::new(), 0.0, None);
    let legs = legs(points)?;
    for pair in legs.windows(2) {
        let [one, two] = pair else { continue };
        straight += norm(*one);
        let turn = turn_between(*one, *two);
        if turn < STRAIGHT {
            continue;
        }
        let plane = cross(*one, *two);
        let rotation = normal.map(|before| Angle::from_si(rotation(before, plane, *one)));
        let tangent = radius * (turn / 2.0).tan();
        bends.push(Bend {
            feed: Length::from_si((straight - tangent).max(0.0)),
            rotation,
            angle: Angle::from_si(turn),
            arc: Length::from_si(radius * turn),
        });
        straight = -tangent;
        normal = Some(plane);
    }
    straight += legs.last().map_or(0.0, |leg| norm(*leg));
    Ok(BendTable { bends, end: Length::from_si(straight.max(0.0)) })
}

/// The angle from one normal to another about an axis that both stand across, -π to π.
fn rotation(from: [f64; 3], to: [f64; 3], axis: [f64; 3]) -> f64 {
    let turned = dot(cross(from, to), axis) / norm(axis);
    // Half a turn has no side: it is given as one way.
    let angle = turned.atan2(dot(from, to));
    if angle < -std::f64::consts::PI + 1e-9 { std::f64::consts::PI } else { angle }
}

fn cross([a1, a2, a3]: [f64; 3], [b1, b2, b3]: [f64; 3]) -> [f64; 3] {
    [a2 * b3 - a3 * b2, a3 * b1 - a1 * b3, a1 * b2 - a2 * b1]
}

fn dot([a1, a2, a3]: [f64; 3], [b1, b2, b3]: [f64; 3]) -> f64 {
    a1 * b1 + a2 * b2 + a3 * b3
}

/// The legs as vectors, none of them without length.
fn legs(points: &[[f64; 3]]) -> Result<Vec<[f64; 3]>, Refusal> {
    let mut legs = Vec::with_capacity(points.len());
    for pair in points.windows(2) {
        if let [[x1, y1, z1], [x2, y2, z2]] = *pair {
            let leg = [x2 - x1, y2 - y1, z2 - z1];
            let length = norm(leg);
            if !length.is_finite() || length <= 0.0 {
                return Err(Refusal::NoPath);
            }
            legs.push(leg);
        }
    }
    if legs.is_empty() { Err(Refusal::NoPath) } else { Ok(legs) }
}

/// The angle between two legs; the arctangent keeps small turns exact where an arccosine would not.
fn turn_between(one: [f64; 3], other: [f64; 3]) -> f64 {
    norm(cross(one, other)).atan2(dot(one, other))
}

fn norm([x, y, z]: [f64; 3]) -> f64 {
    x.hypot(y).hypot(z)
}

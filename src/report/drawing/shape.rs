//! Shapes on the sheet: hulls, cones as seen, the middle of a way, dashes.

use crate::model::Point;

use super::sheet::{Flat, View};

/// Points round a rim, and rims from the axis to the edge: enough that no corner shows on paper.
const ROUND: u32 = 32;
const RIMS: u32 = 4;

/// Straight distance, on the sheet or in the car, m.
pub(super) fn apart<const N: usize>(from: [f64; N], to: [f64; N]) -> f64 {
    from.iter().zip(to).map(|(a, b)| (b - a) * (b - a)).sum::<f64>().sqrt()
}

/// The point at a share of the way from one to the other.
pub(super) fn between<const N: usize>(mut from: [f64; N], to: [f64; N], share: f64) -> [f64; N] {
    for (a, b) in from.iter_mut().zip(to) {
        *a += (b - *a) * share;
    }
    from
}

/// The smallest convex outline around points, against the clock, without points on its straights.
pub fn hull(points: &[Flat]) -> Vec<Flat> {
    let mut sorted: Vec<Flat> = points.to_vec();
    sorted.sort_by(|[a, b], [c, d]| a.total_cmp(c).then(b.total_cmp(d)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut outline = half_hull(sorted.iter().copied());
    let mut upper = half_hull(sorted.iter().rev().copied());
    outline.pop();
    upper.pop();
    outline.append(&mut upper);
    outline
}

fn half_hull(points: impl Iterator<Item = Flat>) -> Vec<Flat> {
    let mut half: Vec<Flat> = Vec::new();
    for point in points {
        while let [.., a, b] = half.as_slice()
            && turn(*a, *b, point) <= 0.0
        {
            half.pop();
        }
        half.push(point);
    }
    half
}

/// More than nothing where the way a, b, c turns left.
fn turn([ax, ay]: Flat, [bx, by]: Flat, [cx, cy]: Flat) -> f64 {
    (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
}

/// The outline of a cone of full angle `cone` (rad) from `at` along `aim`, out to `reach` (m), as seen.
pub(super) fn cone_seen(view: View, at: Point, aim: Point, cone: f64, reach: f64) -> Option<Vec<Flat>> {
    let axis = unit(aim)?;
    let (across, up) = square_to(axis)?;
    let mut points = vec![view.flat(at), view.flat(along(at, axis, reach))];
    for rim in 1..=RIMS {
        let open = cone / 2.0 * f64::from(rim) / f64::from(RIMS);
        let (out, ahead) = (reach * open.sin(), reach * open.cos());
        for step in 0..ROUND {
            let turn = std::f64::consts::TAU * f64::from(step) / f64::from(ROUND);
            let rim = along(along(at, axis, ahead), across, out * turn.cos());
            points.push(view.flat(along(rim, up, out * turn.sin())));
        }
    }
    Some(hull(&points))
}

fn unit([x, y, z]: Point) -> Option<Point> {
    let size = (x * x + y * y + z * z).sqrt();
    (size > 0.0).then(|| [x / size, y / size, z / size])
}

/// Two directions square to an axis and to each other.
fn square_to(axis: Point) -> Option<(Point, Point)> {
    let [x, _, _] = axis;
    let aside = if x.abs() < 0.9 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    let across = unit(cross(axis, aside))?;
    Some((across, cross(axis, across)))
}

fn cross([a, b, c]: Point, [d, e, f]: Point) -> Point {
    [b * f - c * e, c * d - a * f, a * e - b * d]
}

fn along([x, y, z]: Point, [a, b, c]: Point, far: f64) -> Point {
    [x + a * far, y + b * far, z + c * far]
}

/// The point at a share of the length of a way.
pub(super) fn point_at<const N: usize>(way: &[[f64; N]], share: f64) -> Option<[f64; N]> {
    let mut left = length(way) * share.clamp(0.0, 1.0);
    for pair in way.windows(2) {
        let [from, to] = pair else { continue };
        let leg = apart(*from, *to);
        if left <= leg && leg > 0.0 {
            return Some(between(*from, *to, left / leg));
        }
        left -= leg;
    }
    way.last().copied()
}

/// Length of a way, m.
pub(super) fn length<const N: usize>(way: &[[f64; N]]) -> f64 {
    way.windows(2).map(|pair| if let [from, to] = pair { apart(*from, *to) } else { 0.0 }).sum()
}

/// The beginning of a way, up to a share of its length.
pub(super) fn beginning<const N: usize>(way: &[[f64; N]], share: f64) -> Vec<[f64; N]> {
    let mut left = length(way) * share.clamp(0.0, 1.0);
    let mut points: Vec<[f64; N]> = way.first().copied().into_iter().collect();
    for pair in way.windows(2) {
        let [from, to] = pair else { continue };
        let leg = apart(*from, *to);
        if left < leg {
            if left > 0.0 {
                points.push(between(*from, *to, left / leg));
            }
            break;
        }
        points.push(*to);
        left -= leg;
    }
    points
}

/// The longest straight leg of a way.
pub(super) fn longest_leg(way: &[Flat]) -> Option<(Flat, Flat)> {
    let legs = way.windows(2).filter_map(|pair| if let [a, b] = pair { Some((*a, *b)) } else { None });
    // The first of equals: max_by would give the last.
    legs.fold(None, |longest: Option<(Flat, Flat)>, (a, b)| match longest {
        Some((c, d)) if apart(c, d) >= apart(a, b) => Some((c, d)),
        _ => Some((a, b)),
    })
}

/// A way cut into dashes: on, off, on, off …, in the way's own units. An empty pattern gives the whole way.
pub fn dashes(way: &[Flat], pattern: &[f64]) -> Vec<[Flat; 2]> {
    let mut cut = Vec::new();
    let whole = pattern.is_empty() || pattern.iter().any(|part| *part <= 0.0);
    let mut parts = pattern.iter().copied().cycle();
    let (mut on, mut left) =
        (true, if whole { f64::INFINITY } else { parts.next().unwrap_or(f64::INFINITY) });
    for pair in way.windows(2) {
        let [from, to] = pair else { continue };
        let leg = apart(*from, *to);
        let mut gone = 0.0;
        while gone < leg {
            let step = left.min(leg - gone);
            if on {
                cut.push([between(*from, *to, gone / leg), between(*from, *to, (gone + step) / leg)]);
            }
            gone += step;
            left -= step;
            if left <= 0.0 {
                on = !on;
                left = parts.next().unwrap_or(f64::INFINITY);
            }
        }
    }
    cut
}

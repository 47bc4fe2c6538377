//! Developed lengths and turns.

use std::f64::consts::PI;

use linewalk::physics::Refusal;
use linewalk::physics::path::*;
use linewalk::units::Length;
use proptest::prelude::*;

use crate::near::near;

fn m(metres: f64) -> Length {
    Length::from_si(metres)
}

#[test]
fn corners_round_a_circle_leave_the_circle() {
    // A polygon drawn round a circle, bent at that circle's radius, is the circle itself: half of it is π R.
    for sides in [4, 6, 9, 24] {
        let turn = 2.0 * PI / f64::from(sides);
        let out = 1.0 / (turn / 2.0).cos();
        let corners = sides / 2 + sides % 2;
        let at = |angle: f64, r: f64| [r * angle.cos(), r * angle.sin(), 0.3];
        // Starts and ends at the points where the circle touches its polygon.
        let mut points = vec![at(-turn / 2.0, 1.0)];
        points.extend((0..corners).map(|i| at(f64::from(i) * turn, out)));
        points.push(at((f64::from(corners) - 0.5) * turn, 1.0));
        let length = developed_length(&points, Some(m(1.0))).unwrap();
        near(length.si(), f64::from(corners) * turn, 1e-12, "arc of the circle");
        near(total_turn(&points).unwrap().si(), f64::from(corners) * turn, 1e-12, "arc of the circle");
    }
}

#[test]
fn printed_gains() {
    // Bending charts print 0.43 R saved at 90° and 0.043 R at 45° (from memory).
    let saved = |angle: f64| {
        let path = [[-1.0, 0.0, 0.0], [0.0, 0.0, 0.0], [angle.cos(), 0.0, angle.sin()]];
        2.0 - developed_length(&path, Some(m(0.1))).unwrap().si()
    };
    near(saved(PI / 2.0) / 0.1, 0.43, 0.005, "90° gain");
    near(saved(PI / 4.0) / 0.1, 0.043, 0.0005, "45° gain");
}

#[test]
fn a_line_in_space_measured_piece_by_piece() {
    // Independent route: the filleted path drawn as 20 000 chords and summed.
    let (r, corner) = (0.02, [0.3, 0.1, 0.2]);
    let (start, end) = ([0.0, 0.0, 0.0], [0.35, 0.4, 0.1]);
    let sub = |a: [f64; 3], b: [f64; 3]| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    let norm = |a: [f64; 3]| (a[0] * a[0] + a[1] * a[1] + a[2] * a[2]).sqrt();
    let unit = |a: [f64; 3]| a.map(|x| x / norm(a));
    let (u, v) = (unit(sub(start, corner)), unit(sub(end, corner)));
    let dot: f64 = (0..3).map(|i| u[i] * v[i]).sum();
    let half = dot.acos() / 2.0; // half the angle between the legs
    let middle = unit([u[0] + v[0], u[1] + v[1], u[2] + v[2]]);
    let centre = [0, 1, 2].map(|i| corner[i] + middle[i] * r / half.sin());
    let touch = r / half.tan();
    let (from, to) =
        ([0, 1, 2].map(|i| corner[i] + u[i] * touch), [0, 1, 2].map(|i| corner[i] + v[i] * touch));
    let mut length = norm(sub(start, from)) + norm(sub(end, to));
    let mut last = from;
    for step in 1..=20_000 {
        let t = f64::from(step) / 20_000.0;
        let along = [0, 1, 2].map(|i| from[i] + (to[i] - from[i]) * t);
        let out = unit(sub(along, centre));
        let next = [0, 1, 2].map(|i| centre[i] + out[i] * r);
        length += norm(sub(next, last));
        last = next;
    }
    near(developed_length(&[start, corner, end], Some(m(r))).unwrap().si(), length, 1e-10, "chords");
}

#[test]
fn impossible_paths_are_refused() {
    let here = [0.0, 0.0, 0.0];
    let there = [1.0, 0.0, 0.0];
    assert_eq!(developed_length(&[here], None), Err(Refusal::NoPath));
    assert_eq!(developed_length(&[here, here], None), Err(Refusal::NoPath));
    assert_eq!(total_turn(&[here, [f64::NAN, 0.0, 0.0]]), Err(Refusal::NoPath));
    assert_eq!(developed_length(&[here, there, here], Some(m(0.1))), Err(Refusal::PathTurnsBack));
    let square = [here, there, [1.0, 0.1, 0.0], [0.0, 0.1, 0.0]];
    assert_eq!(developed_length(&square, Some(m(0.06))), Err(Refusal::BendDoesNotFit));
    assert!(developed_length(&square, Some(m(0.05))).is_ok());
    assert!(developed_length(&square, Some(m(0.0))).is_err());
}

proptest! {
    #[test]
    fn between_the_chord_and_the_legs(points in prop::collection::vec(prop::array::uniform3(-1.0..1.0_f64), 3..6),
                                      r in 0.001..0.05_f64) {
        let sharp = developed_length(&points, None);
        let bent = developed_length(&points, Some(m(r)));
        if let (Ok(sharp), Ok(bent)) = (sharp, bent) {
            let (first, last) = (points[0], points[points.len() - 1]);
            let chord: f64 = (0..3).map(|i| (first[i] - last[i]).powi(2)).sum::<f64>().sqrt();
            prop_assert!(chord - 1e-12 <= bent.si() && bent.si() <= sharp.si());
        }
    }

    #[test]
    fn the_same_from_either_end(points in prop::collection::vec(prop::array::uniform3(-1.0..1.0_f64), 2..6)) {
        let mut back = points.clone();
        back.reverse();
        let (one, two) = (total_turn(&points).unwrap().si(), total_turn(&back).unwrap().si());
        prop_assert!((one - two).abs() < 1e-12);
    }
}

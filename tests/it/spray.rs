//! Spray geometry against closed forms, point counts made elsewhere, and what must not change.

use linewalk::physics::spray::{
    Cuboid, Facing, Nozzle, Point, SprayError, coverage, enclosing, hazard_coverage, hits, off_axis,
};
use linewalk::units::{Angle, Length};
use proptest::prelude::*;
use std::f64::consts::PI;

use crate::near::{drawn, tell};

fn nozzle(at: Point, aim: Point, degrees: f64, reach: f64) -> Nozzle {
    Nozzle::new(at, aim, Angle::from_si(degrees.to_radians()), Length::from_si(reach)).unwrap()
}

fn cuboid(low: Point, high: Point) -> Cuboid {
    Cuboid::new(low, high).unwrap()
}

/// A wall whose front is the plane x = 0, `size` wide and high, centred on the x axis.
fn wall(size: f64) -> Cuboid {
    cuboid([-1.0, -size / 2.0, -size / 2.0], [0.0, size / 2.0, size / 2.0])
}

/// The area hit on the front of a wall.
fn hit_area(nozzles: &[Nozzle], size: f64, shields: &[Cuboid]) -> f64 {
    hazard_coverage(nozzles, &wall(size), Facing::Front, shields).unwrap().si() * size * size
}

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    tell((got - want).abs(), want);
    assert!((got - want).abs() <= tolerance, "got {got}, want {want}, off by {:e}", got - want);
}

#[test]
fn a_square_on_cone_paints_a_circle() {
    // Circle of radius d tan(a/2): widths 13.856 in (60 deg, 12 in), 24.000 (90, 12), 12.862 (30, 24).
    for (degrees, distance, width) in [(60.0_f64, 12.0, 13.856), (90.0, 12.0, 24.0), (30.0, 24.0, 12.862)] {
        let area = hit_area(&[nozzle([distance, 0.0, 0.0], [-3.0, 0.0, 0.0], degrees, 900.0)], 30.0, &[]);
        let exact = PI * (distance * (degrees / 2.0).to_radians().tan()).powi(2);
        near(area / exact, 1.0, 1e-6);
        near(2.0 * (area / PI).sqrt(), width, 5e-4);
    }
}

#[test]
fn reach_cuts_a_circle_too() {
    // A wide cone at distance 3 with reach 5 wets a circle of radius 4.
    near(hit_area(&[nozzle([3.0, 1.0, -2.0], [-1.0, 0.0, 0.0], 150.0, 5.0)], 20.0, &[]), PI * 16.0, 2e-4);
    near(hit_area(&[nozzle([3.0, 1.0, -2.0], [-1.0, 0.0, 0.0], 150.0, 2.9)], 20.0, &[]), 0.0, 0.0);
}

#[test]
fn a_tilted_cone_paints_an_ellipse() {
    // Semi-axes h sin a cos a/(cos2 b - sin2 a) and h sin a/sqrt(cos2 b - sin2 a), half angle a, tilt b, distance h.
    for (tilt, half, turn) in
        [(20.0_f64, 25.0_f64, 0.0_f64), (35.0, 20.0, 30.0), (10.0, 40.0, 77.0), (50.0, 15.0, -120.0)]
    {
        let (b, a, t, h) = (tilt.to_radians(), half.to_radians(), turn.to_radians(), 2.0);
        let aim = [-b.cos(), b.sin() * t.cos(), b.sin() * t.sin()];
        let spread = b.cos().powi(2) - a.sin().powi(2);
        let exact = PI * (h * a.sin() * a.cos() / spread) * (h * a.sin() / spread.sqrt());
        let area = hit_area(&[nozzle([h, 0.3, 0.1], aim, 2.0 * half, 900.0)], 24.0, &[]);
        near(area / exact, 1.0, 1e-5);
    }
}

#[test]
fn parabola_and_hyperbola() {
    // 90 deg cone tilted 45 deg, distance 1: z2 <= 2 y, cut at y = 4: area 4/3 sqrt(2) 4^1.5.
    let parabola = hit_area(&[nozzle([1.0, 0.0, 0.0], [-1.0, 1.0, 0.0], 90.0, 900.0)], 8.0, &[]);
    near(parabola, 4.0 / 3.0 * 2f64.sqrt() * 8.0, 2e-5);
    let standing = hit_area(&[nozzle([1.0, 0.0, 0.0], [-1.0, 0.0, -1.0], 90.0, 900.0)], 8.0, &[]);
    near(standing, parabola, 2e-5);
    // Axis along the wall, half angle a, distance 1: y2 tan2 a >= z2 + 1, cut at y = 4.
    let t = 40_f64.to_radians().tan();
    let s = (16.0 * t * t - 1.0).sqrt();
    let exact = 4.0 * s - ((4.0 * t + s).ln()) / t;
    let hyperbola = hit_area(&[nozzle([1.0, 0.0, 0.0], [0.0, 1.0, 0.0], 80.0, 900.0)], 8.0, &[]);
    near(hyperbola, exact, 2e-5);
}

#[test]
fn solid_angle_of_a_cone() {
    // Small patches summed as cos/r2 dA give 2 pi (1 - cos a/2): 1.8403 sr for 90 deg.
    let (n, size) = (64, 2.2);
    let step = size / f64::from(n);
    let spray = nozzle([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 90.0, 900.0);
    let mut sum = 0.0;
    for i in 0..n {
        for j in 0..n {
            let (y, z) = (f64::from(i) * step - size / 2.0, f64::from(j) * step - size / 2.0);
            let patch = cuboid([-1.0, y, z], [0.0, y + step, z + step]);
            let (cy, cz) = (y + step / 2.0, z + step / 2.0);
            let share = coverage(&spray, &patch, Facing::Front, &[]).unwrap().si();
            sum += share * step * step * (1.0 + cy * cy + cz * cz).powf(-1.5);
        }
    }
    near(sum, 2.0 * PI * (1.0 - 45_f64.to_radians().cos()), 5e-4);
}

#[test]
fn two_circles_count_their_lens_once() {
    let (r, apart) = (30_f64.to_radians().tan(), 0.7);
    let pair = [
        nozzle([1.0, -apart / 2.0, 0.0], [-1.0, 0.0, 0.0], 60.0, 9.0),
        nozzle([1.0, apart / 2.0, 0.0], [-1.0, 0.0, 0.0], 60.0, 9.0),
    ];
    let lens = 2.0 * r * r * (apart / (2.0 * r)).acos() - apart / 2.0 * (4.0 * r * r - apart * apart).sqrt();
    near(hit_area(&pair, 4.0, &[]), 2.0 * PI * r * r - lens, 1e-5);
}

#[test]
fn shadows() {
    let spray = nozzle([2.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 170.0, 90.0);
    near(hit_area(&[spray], 4.0, &[]), 16.0, 1e-9);
    // A square of 0.5 halfway throws a shadow of 1; so does a sheet of no thickness.
    let sheet = cuboid([1.0, -0.25, -0.25], [1.0, 0.25, 0.25]);
    near(hit_area(&[spray], 4.0, &[sheet]), 15.0, 1e-6);
    let upright = cuboid([0.0, 0.1, -9.0], [3.0, 0.1, 9.0]);
    near(hit_area(&[spray], 4.0, &[upright]), 4.0 * 2.1, 1e-6);
    // A block 0.5 thick: its far side, at 1.5 from the wall, casts 0.25 x 4 = 1 on each side of the axis.
    let block = cuboid([1.0, -0.25, -0.25], [1.5, 0.25, 0.25]);
    near(hit_area(&[spray], 4.0, &[block]), 12.0, 1e-6);
    // Overlapping shields count once.
    near(hit_area(&[spray], 4.0, &[block, sheet, block]), 12.0, 1e-6);
    // Behind the wall, touching its front from behind, behind the nozzle, touching the nozzle: no shadow.
    for clear in [
        cuboid([-3.0, -9.0, -9.0], [-2.0, 9.0, 9.0]),
        cuboid([-1.0, -9.0, -9.0], [0.0, 9.0, 9.0]),
        cuboid([2.5, -9.0, -9.0], [3.0, 9.0, 9.0]),
        cuboid([2.0, -9.0, -9.0], [3.0, 9.0, 9.0]),
    ] {
        near(hit_area(&[spray], 4.0, &[clear]), 16.0, 1e-9);
    }
    // Lying on the wall's front, 0.1 thick: dry behind it and as far as its edge's shadow, -1/0.95.
    let lying = cuboid([0.0, -1.0, -2.0], [0.1, 2.0, 2.0]);
    near(hit_area(&[spray], 4.0, &[lying]), 4.0 * (2.0 - 1.0 / 0.95), 1e-6);
}

#[test]
fn nozzles_that_cannot_cover() {
    let face = |spray: Nozzle, shields: &[Cuboid]| {
        coverage(&spray, &wall(4.0), Facing::Front, shields).unwrap().si()
    };
    assert_eq!(face(nozzle([-0.5, 0.0, 0.0], [1.0, 0.0, 0.0], 90.0, 9.0), &[]), 0.0); // inside the hazard
    assert_eq!(face(nozzle([0.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 90.0, 9.0), &[]), 0.0); // in the face
    assert_eq!(face(nozzle([-3.0, 0.0, 0.0], [1.0, 0.0, 0.0], 90.0, 9.0), &[]), 0.0); // behind the hazard
    assert_eq!(face(nozzle([1.0, 0.0, 0.0], [1.0, 0.0, 0.0], 90.0, 9.0), &[]), 0.0); // aimed away
    let shell = cuboid([0.5, -0.5, -0.5], [1.5, 0.5, 0.5]);
    let shut_in = nozzle([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 90.0, 9.0);
    assert_eq!(face(shut_in, &[shell]), 0.0);
    assert_eq!(enclosing(&shut_in, &[cuboid([8.0; 3], [9.0; 3]), shell]), Some(1));
    assert_eq!(enclosing(&nozzle([1.5, 0.0, 0.0], [1.0, 0.0, 0.0], 90.0, 9.0), &[shell]), None);
    assert_eq!(hazard_coverage(&[], &wall(4.0), Facing::Front, &[]).unwrap().si(), 0.0);
    // A cone a hair under 180 deg covers all that faces it.
    near(face(nozzle([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 179.999_999, 90.0), &[]), 1.0, 1e-9);
}

#[test]
fn keep_clear_counts_every_face_that_looks() {
    // From a corner three faces look; a cone wide enough hits all of them. From the front one does.
    let visor = cuboid([0.0; 3], [6.0, 10.0, 10.0]);
    near(
        hits(&nozzle([20.0, 30.0, 30.0], [-1.0, -1.5, -1.5], 120.0, 90.0), &visor, &[]).unwrap().si(),
        1.0,
        1e-9,
    );
    let front = nozzle([12.0, 5.0, 5.0], [-1.0, 0.0, 0.0], 60.0, 90.0);
    near(hits(&front, &visor, &[]).unwrap().si(), PI * 12.0 / 100.0, 1e-6);
    // Straight above, the top alone looks.
    let above = nozzle([3.0, 5.0, 16.0], [0.0, 0.0, -1.0], 30.0, 90.0);
    near(
        hits(&above, &visor, &[]).unwrap().si(),
        PI * (6.0 * 15_f64.to_radians().tan()).powi(2) / 60.0,
        1e-6,
    );
    let edge = nozzle([26.0, 5.0, 5.0], [-1.0, 0.0, 0.0], 60.0, 19.0);
    assert_eq!(hits(&edge, &visor, &[]).unwrap().si(), 0.0);
    // Front and top look; a sheet lying on the front leaves the top: 60 of 160.
    let raised = nozzle([12.0, 5.0, 16.0], [-1.0, 0.0, -1.0], 160.0, 90.0);
    let lid = cuboid([6.0, -1.0, -1.0], [6.1, 11.0, 10.0]);
    near(hits(&raised, &visor, &[lid]).unwrap().si(), 60.0 / 160.0, 1e-6);
    // Aimed past it: nothing, exactly.
    let past = nozzle([12.0, 5.0, 11.0], [0.0, 0.0, -1.0], 1.0, 90.0);
    assert_eq!(hits(&past, &visor, &[]).unwrap().si(), 0.0);
    let wall_between = cuboid([8.0, -20.0, -20.0], [8.1, 20.0, 40.0]);
    assert_eq!(hits(&front, &visor, &[wall_between]).unwrap().si(), 0.0);
    assert_eq!(
        hits(&nozzle([3.0; 3], [1.0, 0.0, 0.0], 60.0, 9.0), &visor, &[]),
        Err(SprayError::NozzleInBox)
    );
    assert_eq!(
        hits(&nozzle([6.0, 5.0, 5.0], [-1.0, 0.0, 0.0], 60.0, 9.0), &visor, &[]),
        Err(SprayError::NozzleInBox)
    );
    // A sheet has a front; seen edge-on it has no area.
    let sheet = cuboid([0.0, -1.0, -1.0], [0.0, 1.0, 1.0]);
    near(hits(&nozzle([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 150.0, 9.0), &sheet, &[]).unwrap().si(), 1.0, 1e-9);
    assert_eq!(
        hits(&nozzle([0.0, 5.0, 0.0], [0.0, -1.0, 0.0], 60.0, 9.0), &sheet, &[]),
        Err(SprayError::NoArea)
    );
}

#[test]
fn angles_off_the_axis() {
    let degrees =
        |at, aim| off_axis(&nozzle(at, aim, 60.0, 1.0), &wall(4.0), Facing::Front).unwrap().si().to_degrees();
    near(degrees([1.0, 1.0, 0.0], [-1.0, 0.0, 0.0]), 45.0, 1e-12);
    near(degrees([3.0, 0.0, 0.0], [-2.0, 0.0, 0.0]), 0.0, 0.0);
    near(degrees([3.0, 0.0, 0.0], [5.0, 0.0, 0.0]), 180.0, 0.0);
    near(degrees([3.0, 0.0, 0.0], [-1.0, 1e-9, 0.0]), 1e-9_f64.to_degrees(), 1e-20);
    // An engine bay, by the cosine of the two directions.
    let bay = cuboid([40.0, -12.0, 16.0], [62.0, 12.0, 32.0]);
    let got =
        off_axis(&nozzle([72.0, 10.0, 30.0], [-1.0, -0.25, -0.15], 70.0, 40.0), &bay, Facing::Front).unwrap();
    let cosine: f64 =
        (10.0 + 2.5 + 0.9) / ((100.0_f64 + 100.0 + 36.0).sqrt() * (1.0_f64 + 0.0625 + 0.0225).sqrt());
    near(got.si(), cosine.acos(), 1e-12);
    let centre = off_axis(&nozzle([0.0; 3], [1.0, 0.0, 0.0], 60.0, 1.0), &wall(4.0), Facing::Front);
    assert_eq!(centre, Err(SprayError::NozzleAtCentre));
}

#[test]
fn refusals() {
    let make = |at, aim, cone: f64, reach| Nozzle::new(at, aim, Angle::from_si(cone), Length::from_si(reach));
    assert_eq!(make([0.0; 3], [0.0; 3], 1.0, 1.0), Err(SprayError::NoAim));
    assert_eq!(make([f64::NAN, 0.0, 0.0], [1.0; 3], 1.0, 1.0), Err(SprayError::NotFinite));
    assert_eq!(make([0.0; 3], [1.0; 3], PI, 1.0), Err(SprayError::Cone { degrees: 180.0 }));
    assert!(matches!(make([0.0; 3], [1.0; 3], f64::NAN, 1.0), Err(SprayError::Cone { .. })));
    assert_eq!(make([0.0; 3], [1.0; 3], 0.0, 1.0), Err(SprayError::Cone { degrees: 0.0 }));
    assert_eq!(make([0.0; 3], [1.0; 3], 1.0, 0.0), Err(SprayError::Reach { metres: 0.0 }));
    assert_eq!(Cuboid::new([0.0, 0.0, 2.0], [1.0; 3]), Err(SprayError::CornersOutOfOrder { axis: 'z' }));
    let sheet = cuboid([0.0, -1.0, -1.0], [0.0, 1.0, 1.0]);
    let spray = nozzle([0.5, 0.0, 5.0], [0.0, 0.0, -1.0], 60.0, 9.0);
    assert_eq!(coverage(&spray, &sheet, Facing::Top, &[]), Err(SprayError::NoArea));
    assert!(SprayError::Cone { degrees: 200.0 }.to_string().contains("200"));
}

fn point(value: &serde_json::Value) -> Point {
    [0, 1, 2].map(|i| value[i].as_f64().unwrap())
}

fn facing(word: &str) -> Facing {
    match word {
        "front" => Facing::Front,
        "rear" => Facing::Rear,
        "left" => Facing::Left,
        "right" => Facing::Right,
        "top" => Facing::Top,
        _ => Facing::Bottom,
    }
}

/// Four million points a face, judged one by one (tests/fixtures/spray/points.py). What may differ is the count's own
/// error, a few parts in a hundred thousand.
#[test]
fn point_counts_made_elsewhere() {
    let scenes: serde_json::Value =
        serde_json::from_str(include_str!("../fixtures/spray/scenes.json")).unwrap();
    for scene in scenes.as_array().unwrap() {
        let made: Vec<Nozzle> = scene["nozzles"]
            .as_array()
            .unwrap()
            .iter()
            .map(|n| {
                nozzle(
                    point(&n["at"]),
                    point(&n["aim"]),
                    n["cone"].as_f64().unwrap(),
                    n["reach"].as_f64().unwrap(),
                )
            })
            .collect();
        let shields: Vec<Cuboid> =
            scene["shields"].as_array().unwrap().iter().map(|s| cuboid(point(&s[0]), point(&s[1]))).collect();
        let target = cuboid(point(&scene["box"][0]), point(&scene["box"][1]));
        let side = facing(scene["face"].as_str().unwrap());
        let got = hazard_coverage(&made, &target, side, &shields).unwrap().si();
        near(got, scene["coverage"].as_f64().unwrap(), 5e-5);
        if let Some(want) = scene["hits"].as_f64() {
            near(hits(&made[0], &target, &shields).unwrap().si(), want, 5e-5);
        }
    }
}

/// What a nozzle is made from: at, aim, cone in degrees, reach.
type Spray = (Point, Point, f64, f64);

fn made(sprays: &[Spray]) -> Vec<Nozzle> {
    sprays.iter().map(|&(at, aim, cone, reach)| nozzle(at, aim, cone, reach)).collect()
}

/// A scene about a box: nozzles, shields.
fn scenes() -> impl Strategy<Value = (Vec<Spray>, Vec<Cuboid>)> {
    let spray = (prop::array::uniform3(-3.0..5.0), prop::array::uniform3(-1.0..1.0), 5.0..179.0, 0.5..9.0)
        .prop_filter("an aim", |(_, aim, _, _): &Spray| *aim != [0.0; 3]);
    let shield = (prop::array::uniform3(-3.0..4.0), prop::array::uniform3(0.0..2.0))
        .prop_map(|(low, size): (Point, Point)| cuboid(low, std::array::from_fn(|i| low[i] + size[i])));
    (prop::collection::vec(spray, 1..3), prop::collection::vec(shield, 0..3))
}

/// Applies a map of points that keeps lengths to a whole scene; boxes keep their corners in order.
fn moved(
    (sprays, shields): &(Vec<Spray>, Vec<Cuboid>),
    map: impl Fn(Point) -> Point,
    turn: impl Fn(Point) -> Point,
) -> (Vec<Nozzle>, Vec<Cuboid>, Cuboid) {
    let order = |block: &Cuboid| {
        let (a, b) = block.corners();
        let (a, b) = (map(a), map(b));
        cuboid(std::array::from_fn(|i| a[i].min(b[i])), std::array::from_fn(|i| a[i].max(b[i])))
    };
    let aimed: Vec<Spray> =
        sprays.iter().map(|&(at, aim, cone, reach)| (map(at), turn(aim), cone, reach)).collect();
    (made(&aimed), shields.iter().map(order).collect(), order(&target()))
}

fn target() -> Cuboid {
    cuboid([-1.0, -1.5, -0.5], [0.5, 1.0, 1.5])
}

proptest! {
    #![proptest_config(drawn(500))]

    #[test]
    fn shares_keep_their_bounds((sprays, shields) in scenes()) {
        let sprays = made(&sprays);
        let all = hazard_coverage(&sprays, &target(), Facing::Front, &shields).unwrap().si();
        prop_assert!((0.0..=1.0).contains(&all));
        let each: Vec<f64> = sprays.iter().map(|s| coverage(s, &target(), Facing::Front, &shields).unwrap().si()).collect();
        // Together no less than the best and no more than the sum; fewer shields never cover less.
        prop_assert!(all >= each.iter().copied().fold(0.0, f64::max) - 1e-5);
        prop_assert!(all <= each.iter().sum::<f64>() + 1e-5);
        let open = hazard_coverage(&sprays, &target(), Facing::Front, &[]).unwrap().si();
        prop_assert!(open >= all - 1e-5);
        for spray in &sprays {
            if let Ok(share) = hits(spray, &target(), &shields) {
                prop_assert!((0.0..=1.0).contains(&share.si()));
            }
        }
    }

    /// Mirroring left and right, and exchanging y with z, which exchanges the scan lines' direction too.
    #[test]
    fn mirrored_and_turned_scenes_agree(scene in scenes()) {
        let all = hazard_coverage(&made(&scene.0), &target(), Facing::Front, &scene.1).unwrap().si();
        let mirror = |[x, y, z]: Point| [x, -y, z];
        let (sprays, shields, block) = moved(&scene, mirror, mirror);
        prop_assert!((all - hazard_coverage(&sprays, &block, Facing::Front, &shields).unwrap().si()).abs() < 1e-5);
        let exchange = |[x, y, z]: Point| [x, z, y];
        let (sprays, shields, block) = moved(&scene, exchange, exchange);
        prop_assert!((all - hazard_coverage(&sprays, &block, Facing::Front, &shields).unwrap().si()).abs() < 1e-5);
        let round = |[x, y, z]: Point| [y, z, x];
        let (sprays, shields, block) = moved(&scene, round, round);
        prop_assert!((all - hazard_coverage(&sprays, &block, Facing::Top, &shields).unwrap().si()).abs() < 1e-5);
        let flip = |[x, y, z]: Point| [-x, y, z];
        let (sprays, shields, block) = moved(&scene, flip, flip);
        prop_assert!((all - hazard_coverage(&sprays, &block, Facing::Rear, &shields).unwrap().si()).abs() < 1e-5);
        let shift = |[x, y, z]: Point| [x + 7.0, y - 3.0, z + 2.0];
        let (sprays, shields, block) = moved(&scene, shift, |aim| aim);
        prop_assert!((all - hazard_coverage(&sprays, &block, Facing::Front, &shields).unwrap().si()).abs() < 1e-5);
    }
}

//! The bends of a line as the bender works them, against published problems and rebuilt by walking them.

use linewalk::physics::flare_nut::{NutTube, ROWS, nut_torque};
use linewalk::physics::path::{BendTable, bend_table, developed_length};
use linewalk::units::{INCH, Length};
use proptest::prelude::*;

use super::near::near;

const FORUM: &str = "freemathhelp.com, thread 111090";
const HAND: &str = "normals and the right-hand rule, by hand";
const CHART: &str = "tube-bending charts of the trade";
const DOCUMENTS: &str = "an engine workshop manual and two machinery manuals";

fn table(points: &[[f64; 3]], radius: f64) -> BendTable {
    bend_table(points, Length::from_si(radius)).unwrap()
}

fn degrees(table: &BendTable) -> Vec<(f64, Option<f64>)> {
    let turned = |bend: &linewalk::physics::path::Bend| bend.rotation.map(|angle| angle.si().to_degrees());
    table.bends.iter().map(|bend| (bend.angle.si().to_degrees(), turned(bend))).collect()
}

/// A problem put on a public mathematics forum (freemathhelp.com, thread 111090): a flat offset of four points. Legs 6.7940,
/// 3.6259, 3.3680, both bends 90 degrees, half a turn between them.
#[test]
fn a_published_offset_in_one_plane() {
    let points = [
        [38.5202, -14.0264, 0.0],
        [45.3142, -14.0264, 0.0],
        [45.3142, -17.5214, 0.9654],
        [48.6822, -17.5214, 0.9654],
    ];
    let radius = 0.5;
    let table = table(&points, radius);
    let [(first, none), (second, Some(turn))] = degrees(&table)[..] else { panic!("{table:?}") };
    near(first, 90.0, 1e-3, FORUM);
    near(second, 90.0, 1e-3, FORUM);
    assert_eq!(none, None);
    near(turn.abs(), 180.0, 1e-3, FORUM);
    // Setback of a right angle is its radius.
    near(table.bends[0].feed.si(), 6.7940 - radius, 1e-4, FORUM);
    near(table.bends[1].feed.si(), 3.6259 - 2.0 * radius, 1e-4, FORUM);
    near(table.end.si(), 3.3680 - radius, 1e-4, FORUM);
}

/// Worked by hand with normals and the right-hand rule: (0,0,0) (100,0,0) (100,80,0) (160,80,70) (160,150,70) turns by
/// +130.601 and 180.000 degrees between bends of 90.
#[test]
fn a_route_through_space() {
    let points = [[0.0; 3], [100.0, 0.0, 0.0], [100.0, 80.0, 0.0], [160.0, 80.0, 70.0], [160.0, 150.0, 70.0]];
    let table = table(&points, 10.0);
    let [(a, _), (b, Some(first)), (c, Some(second))] = degrees(&table)[..] else { panic!("{table:?}") };
    [a, b, c].iter().for_each(|angle| near(*angle, 90.0, 1e-9, HAND));
    near(first, 130.601, 5e-4, HAND);
    near(second.abs(), 180.0, 1e-9, HAND);
    near(table.bends[2].feed.si(), 92.1954 - 20.0, 5e-5, HAND);
}

/// Trade charts: 90 degrees at a radius of 0.5625 in take 0.8836 in of tube, with a setback of 0.5625 in.
#[test]
fn arc_and_setback_of_a_right_angle() {
    let table = table(&[[0.0; 3], [2.0, 0.0, 0.0], [2.0, 2.0, 0.0]], 0.5625);
    near(table.bends[0].arc.si(), 0.8836, 1e-4, CHART);
    near(table.bends[0].feed.si(), 2.0 - 0.5625, 1e-12, CHART);
}

/// Walks a bend table as a bender does and gives the corner points: feed, turn, bend.
fn walked(table: &BendTable, radius: f64) -> Vec<[f64; 3]> {
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    };
    let blend = |a: [f64; 3], x: f64, b: [f64; 3], y: f64| [0, 1, 2].map(|at: usize| a[at] * x + b[at] * y);
    let (mut at, mut ahead, mut normal) = ([0.0; 3], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]);
    let mut corners = vec![at];
    let mut before = 0.0;
    for bend in &table.bends {
        if let Some(turn) = bend.rotation.map(|angle| angle.si()) {
            normal = blend(normal, turn.cos(), cross(ahead, normal), turn.sin());
        }
        let angle = bend.angle.si();
        let setback = radius * (angle / 2.0).tan();
        at = blend(at, 1.0, ahead, before + bend.feed.si() + setback);
        corners.push(at);
        ahead = blend(ahead, angle.cos(), cross(normal, ahead), angle.sin());
        before = setback;
    }
    corners.push(blend(at, 1.0, ahead, before + table.end.si()));
    corners
}

fn distances(points: &[[f64; 3]]) -> Vec<f64> {
    let apart =
        |a: &[f64; 3], b: &[f64; 3]| a.iter().zip(b).map(|(p, q)| (p - q) * (p - q)).sum::<f64>().sqrt();
    points.iter().flat_map(|a| points.iter().map(move |b| apart(a, b))).collect()
}

proptest! {
    /// Feeds and arcs add up to the developed length, and whoever walks the table gets the line back, its mirror image not
    /// taken for it.
    #[test]
    fn a_walked_table_is_the_line_again(points in prop::collection::vec(prop::array::uniform3(-1.0f64..1.0), 3..8)) {
        let radius = 0.01;
        let Ok(table) = bend_table(&points, Length::from_si(radius)) else { return Ok(()) };
        prop_assume!(table.bends.len() == points.len() - 2);
        let sum: f64 = table.bends.iter().map(|bend| bend.feed.si() + bend.arc.si()).sum::<f64>() + table.end.si();
        let developed = developed_length(&points, Some(Length::from_si(radius))).unwrap().si();
        prop_assert!((sum - developed).abs() < 1e-9, "{sum} {developed}");
        let again = walked(&table, radius);
        for (a, b) in distances(&again).iter().zip(distances(&points)) {
            prop_assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
        let volume = |p: &[[f64; 3]]| {
            let [a, b, c] = [1, 2, 3].map(|at| [0, 1, 2].map(|axis: usize| p[at][axis] - p[0][axis]));
            a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        };
        if points.len() > 3 {
            prop_assert!((volume(&again) - volume(&points)).abs() < 1e-6);
        }
    }
}

/// The same rows typed a second time from the documents, in their own units: TM 55-1520-240-23-1 p. 1-13 in lbf in (AN818
/// nuts, threads lubricated); an engine workshop manual in N m as middle and allowance; two machinery manuals in N m.
#[test]
fn flare_nut_torques_are_those_printed() {
    let printed_lbf_in = [
        (1.0 / 4.0, NutTube::Steel, 135.0, 150.0),
        (1.0 / 4.0, NutTube::Aluminum, 50.0, 65.0),
        (3.0 / 8.0, NutTube::Steel, 270.0, 300.0),
        (3.0 / 8.0, NutTube::Aluminum, 100.0, 125.0),
        (1.0 / 2.0, NutTube::Steel, 450.0, 500.0),
        (1.0 / 2.0, NutTube::Aluminum, 210.0, 250.0),
    ];
    let allowance = [
        (3.0 / 16.0, 11.0, 2.0),
        (0.25, 16.0, 4.0),
        (0.3125, 20.0, 5.0),
        (0.375, 25.0, 5.0),
        (0.5, 50.0, 7.0),
    ];
    let single = [(0.1875, 8.0), (0.25, 12.0), (0.3125, 16.0), (0.375, 24.0), (0.5, 46.0)];
    let mut expected: Vec<(f64, NutTube, f64, f64)> = printed_lbf_in
        .iter()
        .map(|(od, tube, least, most)| (*od, *tube, least * 0.112_984_83, most * 0.112_984_83))
        .chain(allowance.iter().map(|(od, middle, by)| (*od, NutTube::Steel, middle - by, middle + by)))
        .chain(single.iter().map(|(od, value)| (*od, NutTube::Steel, *value, *value)))
        .collect();
    for (od, tube, [least, most], cite) in ROWS {
        let at = expected.iter().position(|row| {
            row.0 == *od && row.1 == *tube && (row.2 - least).abs() < 1e-4 && (row.3 - most).abs() < 1e-4
        });
        assert!(at.is_some(), "{od} in, {least} to {most} N m of {cite} is not printed");
        expected.remove(at.unwrap());
    }
    assert!(expected.is_empty(), "{expected:?} is missing");
    let quarter = nut_torque(Length::from_si(0.25 * INCH), NutTube::Steel, ROWS).unwrap();
    near(quarter.least.si(), 12.0, 1e-9, DOCUMENTS);
    near(quarter.most.si(), 20.0, 1e-9, DOCUMENTS);
    assert_eq!(quarter.sources.len(), 3);
}

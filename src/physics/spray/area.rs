//! The area of a face that one or more nozzles hit.

use super::scan::{Interval, Sight};
use super::shape::{Cuboid, Face, Nozzle};

/// How far the two quadrature rules may differ in one panel, as a share of the area of the face.
const AGREEMENT: f64 = 2e-7;
/// How often a panel may be halved; a kink at this depth is narrower than 10⁻⁸ of its panel.
const DEPTH: u32 = 28;

/// The 15 Kronrod points on [0, 1] of [−1, 1] with their weights and, where a point is also a Gauss one, that weight.
/// Source: Piessens et al., QUADPACK (1983), rule QK15.
const POINTS: [(f64, f64, f64); 8] = [
    (0.991_455_371_120_812_6, 0.022_935_322_010_529_22, 0.0),
    (0.949_107_912_342_758_5, 0.063_092_092_629_978_56, 0.129_484_966_168_869_7),
    (0.864_864_423_359_769_1, 0.104_790_010_322_250_2, 0.0),
    (0.741_531_185_599_394_4, 0.140_653_259_715_525_92, 0.279_705_391_489_276_64),
    (0.586_087_235_467_691_1, 0.169_004_726_639_267_9, 0.0),
    (0.405_845_151_377_397_2, 0.190_350_578_064_785_4, 0.381_830_050_505_118_9),
    (0.207_784_955_007_898_47, 0.204_432_940_075_298_9, 0.0),
    (0.0, 0.209_482_141_084_727_82, 0.417_959_183_673_469_4),
];

/// The area (m2) of the face that at least one of the nozzles hits.
pub(super) fn hit(nozzles: &[Nozzle], face: &Face, shields: &[Cuboid]) -> f64 {
    let seen = nozzles.iter().filter(|nozzle| face.looks_toward(nozzle.at()));
    let sights: Vec<Sight> = seen.map(|nozzle| Sight::new(nozzle, face, shields)).collect();
    let agreement = AGREEMENT * face.area();
    if sights.is_empty() || agreement <= 0.0 {
        return 0.0;
    }
    let marks = marks(&sights, face);
    let mut lit: Vec<Interval> = Vec::new();
    let mut length = |v: f64| {
        lit.clear();
        sights.iter().for_each(|sight| sight.scan(v, face.u, &mut lit));
        united(&mut lit)
    };
    let panels = marks.iter().zip(marks.iter().skip(1));
    panels
        .map(|(&start, &end)| {
            // v = start + (end − start) t² (3 − 2t): a length that grows as a root at either end is smooth in t.
            let width = end - start;
            let mut stretched =
                |t: f64| length(start + width * t * t * (3.0 - 2.0 * t)) * width * 6.0 * t * (1.0 - t);
            integral(&mut stretched, 0.0, 1.0, agreement, DEPTH)
        })
        .sum()
}

/// Every mark of every nozzle inside the face, in order, with the face's own ends.
fn marks(sights: &[Sight], face: &Face) -> Vec<f64> {
    let [first, last] = face.v;
    let mut marks = Vec::new();
    sights.iter().for_each(|sight| sight.marks(face.u, &mut marks));
    marks.retain(|&v| v > first && v < last);
    marks.push(first);
    marks.push(last);
    marks.sort_by(f64::total_cmp);
    marks.dedup();
    marks
}

/// The length covered by a set of intervals, each part once. Sorts them.
fn united(lit: &mut [Interval]) -> f64 {
    lit.sort_by(|[a, _], [b, _]| a.total_cmp(b));
    let (mut sum, mut reached) = (0.0, f64::NEG_INFINITY);
    for &[start, end] in lit.iter() {
        sum += (end - start.max(reached)).max(0.0);
        reached = reached.max(end);
    }
    sum
}

/// Adaptive Gauss–Kronrod quadrature: halves the panel until its two rules agree.
fn integral(f: &mut impl FnMut(f64) -> f64, start: f64, end: f64, agreement: f64, depth: u32) -> f64 {
    let (middle, half) = (f64::midpoint(start, end), (end - start) / 2.0);
    let (mut kronrod, mut gauss) = (0.0, 0.0);
    for (point, weight, gauss_weight) in POINTS {
        let sum = if point == 0.0 { f(middle) } else { f(middle - half * point) + f(middle + half * point) };
        kronrod += weight * sum;
        gauss += gauss_weight * sum;
    }
    if depth == 0 || half * (kronrod - gauss).abs() <= agreement {
        return half * kronrod;
    }
    integral(f, start, middle, agreement, depth - 1) + integral(f, middle, end, agreement, depth - 1)
}

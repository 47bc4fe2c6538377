//! The area of a face that one or more nozzles hit.

use super::scan::{Lit, Sight};
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

/// Places in a panel where the boundaries of what is lit are looked up. A sliver that comes and goes between two of them
/// is left to the quadrature's own points; it is about 10⁻⁵ of the square of the panel at most.
const LOOKS: u32 = 32;
/// How near to a change the halving stops, as a share of the face's extent.
const NEAR: f64 = 1e-12;

/// Every nozzle before a face, with room for the lit parts of one line.
struct Lines<'f> {
    sights: Vec<Sight>,
    face: &'f Face,
    lit: Vec<Lit>,
}

impl Lines<'_> {
    /// Finds the lit parts of the line at `v`.
    fn scan(&mut self, v: f64) {
        self.lit.clear();
        let mut number = 2;
        for sight in &self.sights {
            sight.scan(v, self.face.u, number, &mut self.lit);
            number += sight.boundaries();
        }
    }

    /// The lit length of the line at `v` (m).
    fn length(&mut self, v: f64) -> f64 {
        self.scan(v);
        united(&mut self.lit, &mut |_, _| {})
    }

    /// Which boundaries bound the lit parts of the line at `v`, in order. Where this stays the same, so do the formulas
    /// of the length, and the length is smooth.
    fn boundaries(&mut self, v: f64) -> Vec<u32> {
        self.scan(v);
        let mut found = Vec::with_capacity(2 * self.lit.len());
        united(&mut self.lit, &mut |from, to| found.extend([from, to]));
        found
    }

    /// Adds to `marks` every change of the boundaries in a panel.
    fn changes(&mut self, start: f64, end: f64, marks: &mut Vec<f64>) {
        let mut before: Option<(f64, Vec<u32>)> = None;
        for look in 0..LOOKS {
            let v = stretched(start, end, (f64::from(look) + 0.5) / f64::from(LOOKS)).0;
            let here = self.boundaries(v);
            if let Some((from, there)) = before.filter(|(_, there)| *there != here) {
                self.halve((from, &there), (v, &here), marks);
            }
            before = Some((v, here));
        }
    }

    /// Halves the way between two places whose boundaries differ until each change is pinned down.
    fn halve(&mut self, from: (f64, &[u32]), to: (f64, &[u32]), marks: &mut Vec<f64>) {
        let middle = f64::midpoint(from.0, to.0);
        let [first, last] = self.face.v;
        if to.0 - from.0 <= NEAR * (last - first) || middle <= from.0 || middle >= to.0 {
            marks.push(middle);
            return;
        }
        let here = self.boundaries(middle);
        if here != from.1 {
            self.halve(from, (middle, &here), marks);
        }
        if here != to.1 {
            self.halve((middle, &here), to, marks);
        }
    }
}

/// v = start + (end − start) t² (3 − 2t), and its slope: a length that grows as a root at either end is smooth in t.
fn stretched(start: f64, end: f64, t: f64) -> (f64, f64) {
    let width = end - start;
    (start + width * t * t * (3.0 - 2.0 * t), width * 6.0 * t * (1.0 - t))
}

/// The area (m2) of the face that at least one of the nozzles hits.
pub(super) fn hit(nozzles: &[Nozzle], face: &Face, shields: &[Cuboid]) -> f64 {
    let seen = nozzles.iter().filter(|nozzle| face.looks_toward(nozzle.at()));
    let sights: Vec<Sight> = seen.map(|nozzle| Sight::new(nozzle, face, shields)).collect();
    let agreement = AGREEMENT * face.area();
    if sights.is_empty() || agreement <= 0.0 {
        return 0.0;
    }
    let mut marks = marks(&sights, face);
    let mut lines = Lines { sights, face, lit: Vec::new() };
    let mut more = Vec::new();
    for (&start, &end) in marks.iter().zip(marks.iter().skip(1)) {
        lines.changes(start, end, &mut more);
    }
    marks.append(&mut more);
    marks.sort_by(f64::total_cmp);
    let panels = marks.iter().zip(marks.iter().skip(1));
    panels
        .map(|(&start, &end)| {
            let mut length = |t: f64| {
                let (v, slope) = stretched(start, end, t);
                lines.length(v) * slope
            };
            integral(&mut length, 0.0, 1.0, agreement, DEPTH)
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

/// The length covered by a set of intervals, each part once; tells each part's two boundaries in order. Sorts them.
fn united(lit: &mut [Lit], part: &mut impl FnMut(u32, u32)) -> f64 {
    lit.sort_by(|[a, _], [b, _]| a.at.total_cmp(&b.at));
    let mut sum = 0.0;
    let mut open: Option<Lit> = None;
    let mut close = |done: Option<Lit>| {
        if let Some([from, to]) = done {
            sum += to.at - from.at;
            part(from.on, to.on);
        }
    };
    for &[start, end] in lit.iter().filter(|[start, end]| start.at < end.at) {
        match &mut open {
            Some([_, reached]) if start.at <= reached.at => {
                if end.at > reached.at {
                    *reached = end;
                }
            }
            _ => close(open.replace([start, end])),
        }
    }
    close(open);
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

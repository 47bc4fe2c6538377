//! What one nozzle hits along one straight line across a face, exactly, as intervals.

use super::shape::{Cuboid, Face, Nozzle};

/// The two ends of an interval, the lower first; either may be infinite.
pub(super) type Interval = [f64; 2];

/// One end of a lit part of a line, and which boundary it lies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct End {
    /// Where (m).
    pub at: f64,
    /// The boundary: an edge of the face, or a cone, ball or shadow of one nozzle.
    pub on: u32,
}

/// A lit part of a line, the lower end first. It may be empty.
pub(super) type Lit = [End; 2];

/// Boundaries by number: two of the face, then each nozzle's own, two for each interval.
const EDGE: u32 = 0;
const BALL: u32 = 2;
const CONE: u32 = 4;
const SHADOWS: u32 = 6;

/// The ends of an interval on a boundary and the next.
fn bounded([start, end]: Interval, on: u32) -> Lit {
    [End { at: start, on }, End { at: end, on: on + 1 }]
}

/// A shield by the face's axes, measured from the apex (m).
#[derive(Clone, Copy, Debug)]
struct Block {
    x: Interval,
    y: Interval,
    z: Interval,
}

/// One nozzle before one face. x runs along the scan lines, y across them, z along the face's normal, and the apex is
/// the origin, so that the face lies in the plane z = `level`, which is never zero for a face that looks toward it.
#[derive(Clone, Debug)]
pub(super) struct Sight {
    /// Where the apex lies along x and y (m).
    origin: [f64; 2],
    /// The unit axis.
    axis: [f64; 3],
    /// The cosine of half the full angle, above 0 and below 1.
    cosine: f64,
    /// The reach (m).
    reach: f64,
    /// The face's plane (m).
    level: f64,
    /// Every shield.
    blocks: Vec<Block>,
}

impl Sight {
    /// Takes one nozzle and the shields to the face's axes, with u along the scan lines.
    pub(super) fn new(nozzle: &Nozzle, face: &Face, shields: &[Cuboid]) -> Self {
        let at = face.turn.local(nozzle.at());
        let axis = face.turn.local(nozzle.axis());
        let blocks = shields.iter().map(|shield| {
            let (low, high) = shield.corners();
            let (low, high) = (face.turn.local(low), face.turn.local(high));
            let x = [low.u - at.u, high.u - at.u];
            let y = [low.v - at.v, high.v - at.v];
            Block { x, y, z: [low.w - at.w, high.w - at.w] }
        });
        Self {
            origin: [at.u, at.v],
            axis: [axis.u, axis.v, axis.w],
            cosine: nozzle.half_cosine(),
            reach: nozzle.reach(),
            level: face.level - at.w,
            blocks: blocks.collect(),
        }
    }

    /// The same with the roles of x and y exchanged.
    fn exchanged(&self) -> Self {
        let ([ox, oy], [ax, ay, az]) = (self.origin, self.axis);
        let blocks = self.blocks.iter().map(|b| Block { x: b.y, y: b.x, z: b.z }).collect();
        Self { origin: [oy, ox], axis: [ay, ax, az], blocks, ..*self }
    }

    /// Adds to `lit` the parts of the line v = `v`, between the ends of `span`, that the nozzle hits. `v` and `span`, like
    /// what is added, are measured along the face, not from the apex. Its boundaries are numbered on from `first_number`.
    pub(super) fn scan(&self, v: f64, span: Interval, first_number: u32, lit: &mut Vec<Lit>) {
        let ([ox, oy], first) = (self.origin, lit.len());
        let y = v - oy;
        let clip = self.ball(y).zip(self.cone(y)).and_then(|(ball, cone)| {
            let edges = bounded(span.map(|end| end - ox), EDGE);
            let reached = common(edges, bounded(ball, first_number + BALL))?;
            common(reached, bounded(cone, first_number + CONE))
        });
        let Some(clip) = clip else { return };
        lit.push(clip);
        for (number, block) in (first_number + SHADOWS..).step_by(2).zip(&self.blocks) {
            let Some(shadow) = self.shadow(block, y) else { continue };
            let [from, to] = bounded(shadow, number);
            for place in first..lit.len() {
                let Some(piece) = lit.get_mut(place) else { break };
                let [start, end] = *piece;
                if to.at <= start.at || end.at <= from.at {
                    continue;
                }
                // What is left on the lower side stays in its place (perhaps empty); the upper side is a new piece.
                *piece = [start, if from.at > start.at { from } else { start }];
                if to.at < end.at {
                    lit.push([to, end]);
                }
            }
        }
        for piece in lit.iter_mut().skip(first) {
            *piece = piece.map(|end| End { at: end.at + ox, ..end });
        }
    }

    /// How many boundaries it has, two for each interval.
    pub(super) fn boundaries(&self) -> u32 {
        self.blocks.iter().fold(SHADOWS, |numbers, _| numbers + 2)
    }

    /// Where the line at `y` runs inside the cone: x aₓ + q ≥ c √(x² + s²), q = y a_y + z a_z, s² = y² + z². The left side
    /// less the right is concave in x, so the answer is one interval.
    fn cone(&self, y: f64) -> Option<Interval> {
        let ([ax, ay, az], c, z) = (self.axis, self.cosine, self.level);
        if ax < 0.0 {
            let mirrored = Self { axis: [-ax, ay, az], blocks: Vec::new(), ..*self };
            return mirrored.cone(y).map(|[start, end]| [-end, -start]);
        }
        let (q, s2) = (y * ay + z * az, y * y + z * z);
        // Squared: lead x² + 2 half x + rest ≥ 0, whose discriminant is written so that nothing cancels in it.
        let (lead, half, rest) = (ax * ax - c * c, ax * q, q * q - c * c * s2);
        let discriminant = q * q + lead * s2;
        if lead == 0.0 {
            return (q > 0.0).then(|| [-rest / (2.0 * half), f64::INFINITY]);
        }
        if discriminant < 0.0 || (lead < 0.0 && q <= 0.0) {
            return None;
        }
        let far = -(half + (c * discriminant.sqrt()).copysign(half));
        if far == 0.0 {
            return (lead > 0.0).then_some([0.0, f64::INFINITY]);
        }
        let (one, other) = (far / lead, rest / far);
        if lead > 0.0 {
            // The lower branch belongs to the cone's mirror image behind the apex.
            return Some([one.max(other), f64::INFINITY]);
        }
        Some([one.min(other), one.max(other)])
    }

    /// Where the line at `y` lies within reach: x² ≤ R² − y² − z².
    fn ball(&self, y: f64) -> Option<Interval> {
        let left = self.reach * self.reach - y * y - self.level * self.level;
        (left > 0.0).then(|| [-left.sqrt(), left.sqrt()])
    }

    /// Where the line at `y` lies in the shadow of a box. The segment to (x, y, z) passes the box's y and z extents for
    /// shares t of its length between two bounds; it is stopped where x t falls in the x extent for some t between them.
    fn shadow(&self, block: &Block, y: f64) -> Option<Interval> {
        let (mut near, mut far) = (0.0_f64, 1.0_f64);
        for (side, way) in [(block.y, y), (block.z, self.level)] {
            let [low, high] = side;
            if way == 0.0 {
                if low < 0.0 && 0.0 < high {
                    continue;
                }
                return None;
            }
            let (one, other) = (low / way, high / way);
            near = near.max(one.min(other));
            far = far.min(one.max(other));
        }
        let is_sheet = |[low, high]: Interval| low == high;
        let crosses_sheet =
            near == far && near > 0.0 && far < 1.0 && (is_sheet(block.y) || is_sheet(block.z));
        if near >= far && !crosses_sheet {
            return None;
        }
        let [low, high] = block.x;
        let start = if low < 0.0 { low / near } else { low / far };
        let end = if high > 0.0 { high / near } else { high / far };
        Some([start, end])
    }

    /// Adds to `marks` every v where the hit part of a line starts, ends or may change its kind, so that the integrand is
    /// smooth or nearly so between them. `span` is the extent of the face along the lines.
    pub(super) fn marks(&self, span: Interval, marks: &mut Vec<f64>) {
        let [ox, oy] = self.origin;
        let mut add = |y: f64| marks.push(y + oy);
        add(0.0);
        let limb = (self.reach * self.reach - self.level * self.level).max(0.0).sqrt();
        add(limb);
        add(-limb);
        let turned = self.exchanged();
        self.tips().into_iter().flatten().for_each(&mut add);
        turned.tips().into_iter().flatten().filter_map(|x| turned.touch(x)).for_each(&mut add);
        for block in &self.blocks {
            self.shadow_ends(block).for_each(&mut add);
        }
        for edge in span {
            let x = edge - ox;
            let met = [turned.cone(x), turned.ball(x)];
            let shaded = turned.blocks.iter().map(|block| turned.shadow(block, x));
            met.into_iter().chain(shaded).flatten().flatten().for_each(&mut add);
        }
    }

    /// The y at which a line just touches the cone: the discriminant of [`Self::cone`] is zero there.
    fn tips(&self) -> [Option<f64>; 2] {
        let ([ax, ay, az], z) = (self.axis, self.level);
        let lead = ax * ax - self.cosine * self.cosine;
        let (a, half, rest) = (ay * ay + lead, ay * az * z, z * z * (az * az + lead));
        let root = (half * half - a * rest).sqrt();
        let far = -(half + root.copysign(half));
        [far / a, rest / far].map(|y| y.is_finite().then_some(y))
    }

    /// The x at which the line at a tip touches the cone.
    fn touch(&self, y: f64) -> Option<f64> {
        let ([ax, ay, az], z) = (self.axis, self.level);
        let x = -ax * (y * ay + z * az) / (ax * ax - self.cosine * self.cosine);
        x.is_finite().then_some(x)
    }

    /// The y at which the shadow of a box begins, ends or bends.
    fn shadow_ends(&self, block: &Block) -> impl Iterator<Item = f64> {
        let shares = block.z.map(|z| (z / self.level).clamp(0.0, 1.0));
        let sides = block.y;
        shares.into_iter().flat_map(move |t| sides.map(|side| side / t))
    }
}

/// What two intervals share, if it has any length.
fn common([a, b]: Lit, [c, d]: Lit) -> Option<Lit> {
    let start = if c.at > a.at { c } else { a };
    let end = if d.at < b.at { d } else { b };
    (start.at < end.at).then_some([start, end])
}

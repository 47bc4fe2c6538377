//! The smallest round hole that several lines go through side by side.

use super::refusal::{Refusal, positive};
use crate::units::Length;

/// Outer over inner diameter for 3 to 7 equal circles.
const EQUAL: [f64; 5] = [
    2.154_700_538_379_252, // 1 + 2/√3
    2.414_213_562_373_095, // 1 + √2
    2.701_301_616_704_08,  // 1 + √(2 (1 + 1/√5))
    3.0,
    3.0,
];
/// The packing is tried for no more lines than this.
const MOST: usize = 12;

/// Diameter of the smallest circle around circles that do not overlap.
///
/// # Formula
/// one: d; two: d₁ + d₂; three: 1/R = 2 √(k₁k₂ + k₂k₃ + k₃k₁) − (k₁ + k₂ + k₃), k = 1/r, or r₁ + r₂ where the
/// third fits beside the two largest; 3 to 7 alike: d times 2.1547, 2.4142, 2.7013, 3, 3; else searched
/// # Symbols
/// d `diameters`, r radii, R outer radius (m)
/// # Valid range
/// Up to 12 circles. Exact for one to three and for up to seven alike. Otherwise a fixed search that never
/// gives too small a circle. Against the best found by scipy 1.17.1 SLSQP from 60 to 120 starts: over 40 random
/// sets of four to seven, no more than 0.02 % larger, and smaller in two. Over the 78 sets that the search was
/// tuned on, no more than 0.1 % larger in 77, and 0.7 % in one of six circles.
/// # Errors
/// No circle, one that is not over zero, or more than 12.
/// # Source
/// Descartes' circle theorem; equal circles in a circle: Graham (1968) and Pirl (1969), from memory.
/// # Example
/// Two 3/16 in lines and a 1/4 in one: 0.454 791 in (constrained minimum, scipy 1.17.1).
/// ```
/// use linewalk::physics::circles::enclosing_diameter;
/// use linewalk::units::Length;
/// let inch = Length::from_inches;
/// let around = enclosing_diameter(&[inch(0.1875), inch(0.1875), inch(0.25)])?;
/// assert!((around.si() / inch(1.0).si() - 0.454_791).abs() < 1e-6);
/// # Ok::<(), linewalk::physics::Refusal>(())
/// ```
pub fn enclosing_diameter(diameters: &[Length]) -> Result<Length, Refusal> {
    let mut radii = Vec::with_capacity(diameters.len());
    for diameter in diameters {
        radii.push(positive("the line's outside diameter", diameter.si())? / 2.0);
    }
    radii.sort_by(|a, b| b.total_cmp(a));
    let radius = match *radii.as_slice() {
        [] => return Err(Refusal::NotPositive("the number of lines")),
        [one] => one,
        [one, two] => one + two,
        [one, two, three] => around_three(one, two, three),
        _ if radii.len() > MOST => return Err(Refusal::TooManyCircles),
        _ => alike(&radii).unwrap_or_else(|| search(&radii)),
    };
    Ok(Length::from_si(2.0 * radius))
}

/// Around three circles, largest first.
fn around_three(r1: f64, r2: f64, r3: f64) -> f64 {
    let (k1, k2, k3) = (1.0 / r1, 1.0 / r2, 1.0 / r3);
    // In the circle round the two largest, this is the curvature of the largest that fits beside them.
    if k3 >= k1 + k2 - 1.0 / (r1 + r2) {
        return r1 + r2;
    }
    1.0 / (2.0 * (k1 * k2 + k2 * k3 + k3 * k1).sqrt() - (k1 + k2 + k3))
}

/// The known ratio where all circles are alike.
fn alike(radii: &[f64]) -> Option<f64> {
    let (largest, least) = (radii.first()?, radii.last()?);
    let ratio = EQUAL.get(radii.len().checked_sub(3)?)?;
    (largest - least <= 1e-9 * largest).then_some(ratio * largest)
}

/// Best circle found from a fixed set of starting layouts, the best of which then trade places.
fn search(radii: &[f64]) -> f64 {
    let scale = radii.iter().map(|r| r * r).sum::<f64>().sqrt();
    let mut tried: Vec<(f64, Layout)> = Vec::new();
    let scattered = (0..STARTS).map(|start| Layout::scattered(radii, scale, start));
    let rings = (0..=radii.len()).map(|middle| Layout::ring(radii, scale, middle));
    for mut layout in scattered.chain(rings) {
        tried.push((layout.tighten(1.2 * scale), layout));
    }
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Layouts of one radius are mostly one layout turned round.
    tried.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-3 * scale);
    tried.truncate(FINALISTS);
    tried.into_iter().map(|(radius, layout)| layout.trade_all(radius, scale)).fold(f64::INFINITY, f64::min)
}

/// Starting layouts tried.
const STARTS: u32 = 32;
/// Layouts of different radius that then trade places.
const FINALISTS: usize = 6;
/// Rounds of pushing for each size of the outer circle.
const ROUNDS: usize = 40;

/// Circles with their present centres.
#[derive(Clone)]
struct Layout {
    circles: Vec<Circle>,
}

#[derive(Clone, Copy)]
struct Circle {
    r: f64,
    x: f64,
    y: f64,
}

impl Layout {
    /// Centres from a Halton sequence, so that every run is the same.
    fn scattered(radii: &[f64], scale: f64, start: u32) -> Self {
        let mut index = start * MOST as u32;
        let circles = radii.iter().map(|r| {
            index += 1;
            let (x, y) = (2.0 * halton(index, 2) - 1.0, 2.0 * halton(index, 3) - 1.0);
            Circle { r: *r, x: scale * x, y: scale * y }
        });
        Self { circles: circles.collect() }
    }

    /// All circles along the outer one, in the order that takes the least of it, but for the one at place `middle`.
    fn ring(radii: &[f64], scale: f64, middle: usize) -> Self {
        let mut ring: Vec<f64> =
            radii.iter().enumerate().filter(|(i, _)| *i != middle).map(|(_, r)| *r).collect();
        let outer = 1.2 * scale;
        let mut least: f64 = turns(&ring, outer).iter().sum();
        let mut i = 0;
        while i < ring.len() {
            let mut better = false;
            for j in i + 1..ring.len() {
                ring.swap(i, j);
                let sum: f64 = turns(&ring, outer).iter().sum();
                if sum < least * (1.0 - 1e-9) {
                    (least, better) = (sum, true);
                } else {
                    ring.swap(i, j);
                }
            }
            i = if better { 0 } else { i + 1 };
        }
        let mut angle = 0.0_f64;
        let mut circles: Vec<Circle> =
            radii.get(middle).map(|r| Circle { r: *r, x: 0.0, y: 0.0 }).into_iter().collect();
        for (r, turn) in ring.iter().zip(turns(&ring, outer)) {
            circles.push(Circle { r: *r, x: (outer - r) * angle.cos(), y: (outer - r) * angle.sin() });
            angle += turn * std::f64::consts::TAU / least;
        }
        Self { circles }
    }

    /// Shrinks the outer circle for as long as the circles can be pushed into it; gives its least radius.
    fn tighten(&mut self, outer: f64) -> f64 {
        let mut radius = self.settle(outer, ROUNDS);
        let mut step = 0.05;
        while step > 2e-4 {
            let mut trial = self.clone();
            let reached = trial.settle(radius * (1.0 - step), ROUNDS);
            if reached < radius * (1.0 - step / 8.0) {
                (*self, radius) = (trial, reached);
            } else {
                step /= 2.0;
            }
        }
        radius
    }

    /// Lets circles trade places for as long as that helps; gives the least radius.
    fn trade_all(mut self, mut radius: f64, scale: f64) -> f64 {
        let mut i = 0;
        while i < self.circles.len() {
            let mut better = false;
            for j in 0..self.circles.len() {
                let mut trial = self.clone();
                trial.trade(i, j, 0.3 * scale);
                let reached = trial.tighten(radius);
                if reached < radius * (1.0 - 1e-6) {
                    (self, radius, better) = (trial, reached, true);
                }
            }
            i = if better { 0 } else { i + 1 };
        }
        radius
    }

    /// Swaps the places of two circles; one with itself goes across to the other side.
    fn trade(&mut self, i: usize, j: usize, across: f64) {
        let (Some(a), Some(b)) = (self.circles.get(i).copied(), self.circles.get(j).copied()) else { return };
        if let Some(circle) = self.circles.get_mut(i) {
            (circle.x, circle.y) = if i == j { (-a.x, across - a.y) } else { (b.x, b.y) };
        }
        if let Some(circle) = self.circles.get_mut(j).filter(|_| i != j) {
            (circle.x, circle.y) = (a.x, a.y);
        }
    }

    /// Pushes overlaps apart and strays in, then gives the radius of a circle round them that truly holds.
    fn settle(&mut self, outer: f64, rounds: usize) -> f64 {
        for _ in 0..rounds {
            self.push_in(outer);
            self.push_apart();
        }
        // Scaling by the worst pair removes the last overlap, so the answer is never too small.
        let tightest = self.tightest();
        for circle in &mut self.circles {
            circle.x *= tightest;
            circle.y *= tightest;
        }
        self.circles.iter().map(|c| length(c.x, c.y) + c.r).fold(0.0, f64::max)
    }

    fn push_in(&mut self, outer: f64) {
        for circle in &mut self.circles {
            let out = length(circle.x, circle.y);
            let most = (outer - circle.r).max(0.0);
            if out > most {
                circle.x *= most / out;
                circle.y *= most / out;
            }
        }
    }

    fn push_apart(&mut self) {
        for i in 1..self.circles.len() {
            let (before, after) = self.circles.split_at_mut(i);
            let Some(a) = after.first_mut() else { continue };
            for b in before {
                let (dx, dy) = (a.x - b.x, a.y - b.y);
                let apart = length(dx, dy).max(1e-12 * a.r);
                let overlap = a.r + b.r - apart;
                if overlap > 0.0 {
                    let push = 0.5 * overlap / apart;
                    a.x += dx * push;
                    a.y += dy * push;
                    b.x -= dx * push;
                    b.y -= dy * push;
                }
            }
        }
    }

    /// The largest of (sum of radii ÷ distance) over all pairs.
    fn tightest(&self) -> f64 {
        let mut most = 0.0_f64;
        for (i, a) in self.circles.iter().enumerate() {
            for b in self.circles.iter().skip(i + 1) {
                most = most.max((a.r + b.r) / length(a.x - b.x, a.y - b.y));
            }
        }
        most
    }
}

/// Angle from each circle of a ring to the next where they touch, seen from the middle of the outer one.
fn turns(ring: &[f64], outer: f64) -> Vec<f64> {
    let next = ring.iter().cycle().skip(1);
    let turn = |(a, b): (&f64, &f64)| {
        let (to_a, to_b) = (outer - a, outer - b);
        ((to_a * to_a + to_b * to_b - (a + b) * (a + b)) / (2.0 * to_a * to_b)).clamp(-1.0, 1.0).acos()
    };
    ring.iter().zip(next).map(turn).collect()
}

/// Length of a vector. Cheaper than `hypot`, whose care over extremes these lengths do not need.
fn length(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

/// The `index`-th Halton number of a prime base, 0 to 1.
fn halton(mut index: u32, base: u32) -> f64 {
    let (mut value, mut part) = (0.0, 1.0);
    while index > 0 {
        part /= f64::from(base);
        value += part * f64::from(index % base);
        index /= base;
    }
    value
}

//! Search for the smallest circle around several that differ.
//!
//! A layout is a list: the radius of the outer circle, then x and y of each centre. It is settled by making the radius
//! small under the conditions that no two circles overlap and none sticks out, each condition with its multiplier
//! (Hestenes, Powell), each step by Broyden, Fletcher, Goldfarb and Shanno's rule.

/// Scattered layouts tried.
const SCATTERED: usize = 24;
/// Rings tried for each circle that may lie in the middle.
const RINGS: usize = 24;
/// A ring of more than this is not put in every order.
const ORDERED: usize = 7;
/// Layouts of different radius that then trade places.
const FINALISTS: usize = 10;
/// Turns of the multipliers while layouts are compared, and for the last word.
const COARSE: usize = 4;
const FINE: usize = 14;
/// Steps between two turns of the multipliers.
const STEPS: usize = 60;
/// Radii that differ by less are alike.
const ALIKE: f64 = 1e-9;

type Layout = Vec<f64>;

/// Radius of the best circle found from a fixed set of layouts, the best of which then trade places.
pub(super) fn search(radii: &[f64]) -> f64 {
    let packing = Packing { radii, scale: radii.iter().map(|r| r * r).sum::<f64>().sqrt() };
    let scattered = (0..SCATTERED).map(|start| packing.scattered(start));
    let rings = (0..=radii.len()).flat_map(|middle| packing.rings(middle));
    let mut tried: Vec<(f64, Layout)> =
        scattered.chain(rings).map(|layout| packing.settle(layout, COARSE)).collect();
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Layouts of one radius are mostly one layout turned round.
    tried.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-5 * packing.scale);
    tried.truncate(FINALISTS);
    let traded = tried.into_iter().map(|found| packing.trade_all(found));
    let best = traded.min_by(|a, b| a.0.total_cmp(&b.0));
    best.map_or(f64::INFINITY, |(radius, layout)| packing.settle(layout, FINE).0.min(radius))
}

/// The circles, largest first.
struct Packing<'r> {
    radii: &'r [f64],
    /// Radius of a circle of their whole area.
    scale: f64,
}

impl Packing<'_> {
    fn radius(&self, circle: usize) -> f64 {
        of(self.radii, circle)
    }

    /// Centres from a Halton sequence, so that every run is the same.
    fn scattered(&self, start: usize) -> Layout {
        let first = start * super::MOST + 1;
        let mut layout = vec![1.4 * self.scale];
        for index in first..first + self.radii.len() {
            let place =
                |base| self.scale * (2.0 * crate::physics::halton::radical_inverse(index, base) - 1.0);
            layout.extend([place(2), place(3)]);
        }
        layout
    }

    /// All circles but one along the outer one, in the orders that take the least of it.
    fn rings(&self, middle: usize) -> Vec<Layout> {
        let outer = 1.2 * self.scale;
        let ring: Vec<usize> = (0..self.radii.len()).filter(|circle| *circle != middle).collect();
        let mut orders = Vec::new();
        match ring.split_first() {
            Some((first, rest)) if ring.len() <= ORDERED => self.orders(&mut vec![*first], rest, &mut orders),
            _ => orders.push(ring),
        }
        let turn = |ring: &Vec<usize>| self.turns(ring, outer).iter().sum::<f64>();
        let mut ranked: Vec<(f64, Vec<usize>)> = orders.into_iter().map(|ring| (turn(&ring), ring)).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
        ranked.truncate(RINGS);
        ranked.into_iter().map(|(whole, ring)| self.along(&ring, outer, whole)).collect()
    }

    /// Every order of the rest behind a head; of circles alike the first only.
    fn orders(&self, head: &mut Vec<usize>, rest: &[usize], found: &mut Vec<Vec<usize>>) {
        if rest.is_empty() {
            let ends = head.get(1).zip(head.last());
            // The other way round is the same ring.
            if ends.is_none_or(|(one, last)| self.radius(*one) >= self.radius(*last)) {
                found.push(head.clone());
            }
            return;
        }
        let mut before = f64::NAN;
        for (place, circle) in rest.iter().enumerate() {
            if (self.radius(*circle) - before).abs() <= ALIKE * self.scale {
                continue;
            }
            before = self.radius(*circle);
            let others: Vec<usize> =
                rest.iter().enumerate().filter(|(other, _)| *other != place).map(|(_, c)| *c).collect();
            head.push(*circle);
            self.orders(head, &others, found);
            head.pop();
        }
    }

    /// Angle from each circle of a ring to the next where they touch, seen from the middle of the outer one.
    fn turns(&self, ring: &[usize], outer: f64) -> Vec<f64> {
        let next = ring.iter().cycle().skip(1);
        let turn = |(a, b): (&usize, &usize)| {
            let (a, b) = (self.radius(*a), self.radius(*b));
            let (to_a, to_b) = (outer - a, outer - b);
            ((to_a * to_a + to_b * to_b - (a + b) * (a + b)) / (2.0 * to_a * to_b)).clamp(-1.0, 1.0).acos()
        };
        ring.iter().zip(next).map(turn).collect()
    }

    /// A ring laid along the outer circle; what is not in it lies in the middle.
    fn along(&self, ring: &[usize], outer: f64, whole: f64) -> Layout {
        let mut layout = vec![0.0; 2 * self.radii.len() + 1];
        let mut angle = 0.0_f64;
        for (circle, turn) in ring.iter().zip(self.turns(ring, outer)) {
            let out = outer - self.radius(*circle);
            set(&mut layout, 2 * circle + 1, out * angle.cos());
            set(&mut layout, 2 * circle + 2, out * angle.sin());
            angle += turn * std::f64::consts::TAU / whole;
        }
        set(&mut layout, 0, outer);
        layout
    }

    /// Tells every condition: how far it is from being broken, and the slopes of that by place in the layout.
    fn conditions(&self, layout: &[f64], mut each: impl FnMut(f64, &[(usize, f64)])) {
        let least = 1e-9 * self.scale;
        for a in 0..self.radii.len() {
            let (x, y) = (of(layout, 2 * a + 1), of(layout, 2 * a + 2));
            let out = length(x, y).max(least);
            let slack = of(layout, 0) - self.radius(a) - out;
            each(slack, &[(0, 1.0), (2 * a + 1, -x / out), (2 * a + 2, -y / out)]);
            for b in 0..a {
                let (dx, dy) = (x - of(layout, 2 * b + 1), y - of(layout, 2 * b + 2));
                let apart = length(dx, dy).max(least);
                let (u, v) = (dx / apart, dy / apart);
                let slopes = [(2 * a + 1, u), (2 * a + 2, v), (2 * b + 1, -u), (2 * b + 2, -v)];
                each(apart - self.radius(a) - self.radius(b), &slopes);
            }
        }
    }

    /// The radius with what the conditions cost, and its slopes.
    fn cost(&self, layout: &[f64], held: &Held, slopes: &mut [f64]) -> f64 {
        slopes.fill(0.0);
        set(slopes, 0, 1.0);
        let mut cost = of(layout, 0);
        let mut multipliers = held.multipliers.iter();
        self.conditions(layout, |slack, by| {
            let pull = multipliers.next().copied().unwrap_or_default() - held.weight * slack;
            if pull > 0.0 {
                cost += pull * pull / (2.0 * held.weight);
                for (place, slope) in by {
                    let so_far = of(slopes, *place);
                    set(slopes, *place, so_far - pull * slope);
                }
            }
        });
        cost
    }

    /// Settles a layout, and gives the radius of a circle round it that truly holds.
    fn settle(&self, mut layout: Layout, turns: usize) -> (f64, Layout) {
        let count = self.radii.len();
        let multipliers = vec![0.0; count * (count + 1) / 2];
        let mut held = Held { multipliers, weight: 3.0 / self.scale };
        for turn in 0..turns {
            layout = self.descend(layout, &held);
            let mut pulls = Vec::with_capacity(held.multipliers.len());
            let mut multipliers = held.multipliers.iter();
            self.conditions(&layout, |slack, _| {
                let multiplier = multipliers.next().copied().unwrap_or_default();
                pulls.push((multiplier - held.weight * slack).max(0.0));
            });
            held.multipliers = pulls;
            if turn < 8 {
                held.weight *= 2.5;
            }
        }
        (self.holds(&layout), layout)
    }

    /// Goes down the cost from a layout.
    fn descend(&self, mut layout: Layout, held: &Held) -> Layout {
        let mut bend = Bend::new(layout.len(), 1.0 / held.weight);
        let (mut slopes, mut next) = (vec![0.0; layout.len()], vec![0.0; layout.len()]);
        let mut cost = self.cost(&layout, held, &mut slopes);
        for _ in 0..STEPS {
            let mut way = bend.way(&slopes);
            let mut fall = dot(&way, &slopes);
            if fall >= 0.0 {
                bend = Bend::new(layout.len(), 1.0 / held.weight);
                way = bend.way(&slopes);
                fall = dot(&way, &slopes);
            }
            if -fall < 1e-18 * self.scale * self.scale {
                break;
            }
            let mut reach = 1.0;
            let step = loop {
                let trial: Layout = layout.iter().zip(&way).map(|(x, w)| x + reach * w).collect();
                let reached = self.cost(&trial, held, &mut next);
                if reached <= cost + 1e-4 * reach * fall {
                    cost = reached;
                    layout = trial;
                    break Some(way.iter().map(|w| reach * w).collect::<Vec<f64>>());
                }
                reach *= 0.5;
                if reach < 1e-9 {
                    break None;
                }
            };
            let Some(step) = step else { break };
            bend.learn(&step, &next.iter().zip(&slopes).map(|(a, b)| a - b).collect::<Vec<f64>>());
            std::mem::swap(&mut slopes, &mut next);
        }
        layout
    }

    /// Radius of a circle that holds the layout once it is spread until nothing overlaps: never too small.
    fn holds(&self, layout: &[f64]) -> f64 {
        let centre = |circle: usize| (of(layout, 2 * circle + 1), of(layout, 2 * circle + 2));
        let mut spread = 0.0_f64;
        for a in 0..self.radii.len() {
            for b in 0..a {
                let ((ax, ay), (bx, by)) = (centre(a), centre(b));
                spread = spread.max((self.radius(a) + self.radius(b)) / length(ax - bx, ay - by));
            }
        }
        let out = |circle: usize| {
            let (x, y) = centre(circle);
            spread * length(x, y) + self.radius(circle)
        };
        (0..self.radii.len()).map(out).fold(0.0, f64::max)
    }

    /// Lets circles trade places for as long as that helps.
    fn trade_all(&self, mut best: (f64, Layout)) -> (f64, Layout) {
        let mut a = 0;
        while a < self.radii.len() {
            let mut better = false;
            for b in 0..=a {
                if a != b && (self.radius(a) - self.radius(b)).abs() <= ALIKE * self.scale {
                    continue;
                }
                let reached = self.settle(self.traded(&best.1, a, b), COARSE);
                if reached.0 < best.0 * (1.0 - 1e-6) {
                    (best, better) = (reached, true);
                }
            }
            a = if better { 0 } else { a + 1 };
        }
        best
    }

    /// A layout with the places of two circles swapped; one with itself goes across to the other side.
    fn traded(&self, layout: &[f64], a: usize, b: usize) -> Layout {
        let mut trial = layout.to_vec();
        for axis in [1, 2] {
            let (one, other) = (of(layout, 2 * a + axis), of(layout, 2 * b + axis));
            if a == b {
                set(&mut trial, 2 * a + axis, if axis == 1 { -one } else { 0.3 * self.scale - one });
            } else {
                set(&mut trial, 2 * a + axis, other);
                set(&mut trial, 2 * b + axis, one);
            }
        }
        trial
    }
}

/// What the conditions are held by: a multiplier each, and a weight for all.
struct Held {
    multipliers: Vec<f64>,
    weight: f64,
}

/// How the slopes change with the place, turned round: the inverse of the second derivatives as far as known.
struct Bend(Vec<Vec<f64>>);

impl Bend {
    fn new(size: usize, alone: f64) -> Self {
        let row = |at: usize| (0..size).map(|other| if at == other { alone } else { 0.0 }).collect();
        Self((0..size).map(row).collect())
    }

    /// The way down.
    fn way(&self, slopes: &[f64]) -> Vec<f64> {
        self.0.iter().map(|row| -dot(row, slopes)).collect()
    }

    /// Takes in that `change` of the slopes came with `step`.
    fn learn(&mut self, step: &[f64], change: &[f64]) {
        let along = dot(step, change);
        if along <= 1e-16 {
            return;
        }
        let turned: Vec<f64> = self.0.iter().map(|row| dot(row, change)).collect();
        let most = (1.0 + dot(change, &turned) / along) / along;
        for ((row, s), t) in self.0.iter_mut().zip(step).zip(&turned) {
            for ((cell, other), other_turned) in row.iter_mut().zip(step).zip(&turned) {
                *cell += most * s * other - (t * other + s * other_turned) / along;
            }
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn of(list: &[f64], place: usize) -> f64 {
    list.get(place).copied().unwrap_or_default()
}

fn set(list: &mut [f64], place: usize, value: f64) {
    if let Some(cell) = list.get_mut(place) {
        *cell = value;
    }
}

/// Length of a vector. Cheaper than `hypot`, whose care over extremes these lengths do not need.
fn length(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

//! A car moved to other main dimensions: three piecewise-linear maps, along by axles, firewall and engine, across by frame and
//! track, up by frame and hubs. And a car with its sides exchanged.

use super::Point;

/// The main dimensions of a car, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marks {
    /// Rear hub to front hub.
    pub wheelbase: f64,
    /// Rear hub to the firewall, forward.
    pub firewall: f64,
    /// Rear hub to the front of the engine, forward.
    pub engine: f64,
    /// Between the outer sides of the lower frame tubes.
    pub frame_width: f64,
    /// The lower frame tube above the ground.
    pub frame_height: f64,
    /// Tire middle to tire middle, front and rear.
    pub track: [f64; 2],
    /// Hubs above the ground, front and rear.
    pub hubs: [f64; 2],
}

impl Marks {
    /// Those along, in the order they stand in.
    fn along(&self) -> [f64; 3] {
        [self.firewall, self.engine, self.wheelbase]
    }
}

/// Moves points from one car's dimensions to another's.
#[derive(Clone, Debug)]
pub struct Warp {
    from: Marks,
    to: Marks,
    along: Vec<(f64, f64)>,
}

impl Warp {
    /// A map between two cars.
    ///
    /// # Errors
    /// Where the marks of the new car do not stand in the order of the old one's.
    pub fn new(from: Marks, to: Marks) -> Result<Self, String> {
        let mut along: Vec<(f64, f64)> =
            from.along().into_iter().zip(to.along()).chain([(0.0, 0.0)]).collect();
        along.sort_by(|one, other| one.0.total_cmp(&other.0));
        let rises = along.iter().zip(along.iter().skip(1)).all(|(one, next)| one.1 < next.1);
        if !rises {
            return Err("rear axle, firewall, front of the engine and front axle do not stand in this order: choose a layout whose \
                        engine is where this car's is"
                .to_owned());
        }
        for (frame, outer, what) in [
            (
                to.frame_width,
                to.track.into_iter().fold(f64::INFINITY, f64::min),
                "the frame is wider than the track",
            ),
            (
                to.frame_height,
                to.hubs.into_iter().fold(f64::INFINITY, f64::min),
                "the lower frame tube is above the hubs",
            ),
        ] {
            if frame >= outer || frame <= 0.0 {
                return Err(format!("{what}: measure both again"));
            }
        }
        Ok(Self { from, to, along })
    }

    /// Where a point of the old car is on the new one.
    pub fn point(&self, [x, y, z]: Point) -> Point {
        let share = (x / self.from.wheelbase).clamp(0.0, 1.0);
        let between = |[front, rear]: [f64; 2]| rear + (front - rear) * share;
        let half = |marks: &Marks| [0.5 * marks.frame_width, 0.5 * between(marks.track)];
        let high = |marks: &Marks| [marks.frame_height, between(marks.hubs)];
        let knots = |from: [f64; 2], to: [f64; 2]| -> Vec<(f64, f64)> {
            [(0.0, 0.0)].into_iter().chain(from.into_iter().zip(to)).collect()
        };
        let across = moved(&knots(half(&self.from), half(&self.to)), y.abs());
        let up = moved(&knots(high(&self.from), high(&self.to)), z);
        [moved(&self.along, x), across.copysign(y), up]
    }
}

/// A value between knots goes with them; one beyond them keeps its distance to the last.
fn moved(knots: &[(f64, f64)], value: f64) -> f64 {
    let (Some(first), Some(last)) = (knots.first(), knots.last()) else { return value };
    if value <= first.0 {
        return first.1 + value - first.0;
    }
    for (one, next) in knots.iter().zip(knots.iter().skip(1)) {
        if value <= next.0 {
            return one.1 + (next.1 - one.1) * (value - one.0) / (next.0 - one.0);
        }
    }
    last.1 + value - last.0
}

/// Words of one side, and of the other.
const SIDES: [(&str, &str); 4] = [("left", "right"), ("lf", "rf"), ("lr", "rr"), ("LF", "RF")];

/// The text of a car file with the words of its sides exchanged: in ids, corners and positions. Points are mirrored apart.
pub fn other_side(text: &str) -> String {
    let swapped = |word: &str| {
        let pairs = SIDES.iter().chain([("LR", "RR")].iter());
        for (one, other) in pairs {
            if word == *one {
                return Some(*other);
            }
            if word == *other {
                return Some(*one);
            }
        }
        None
    };
    let mut out = String::with_capacity(text.len());
    let mut word = String::new();
    for letter in text.chars().chain(['\n']) {
        if letter.is_ascii_alphanumeric() {
            word.push(letter);
            continue;
        }
        out.push_str(swapped(&word).unwrap_or(&word));
        word.clear();
        out.push(letter);
    }
    out.pop();
    out
}

//! Nozzles, boxes and faces.

use super::SprayError;
use crate::units::{Angle, Length};

/// A point or a direction: x forward, y left, z up, in metres.
pub type Point = [f64; 3];

/// Which way an exposed face looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum Facing {
    Front,
    Rear,
    Left,
    Right,
    Top,
    Bottom,
}

impl Facing {
    /// All six.
    pub const ALL: [Self; 6] = [Self::Front, Self::Rear, Self::Left, Self::Right, Self::Top, Self::Bottom];
}

/// A nozzle: apex, unit axis, cone and reach. Its fields are checked, so the work that follows cannot fail on them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nozzle {
    at: Point,
    axis: Point,
    half_cosine: f64,
    reach: f64,
}

impl Nozzle {
    /// A nozzle at `at` (m) aimed along `aim` (any length), with the full included angle of its cone and its reach.
    ///
    /// Valid range: 0 < cone < π rad; reach > 0 m; aim not zero.
    ///
    /// # Errors
    /// [`SprayError::NotFinite`], [`SprayError::NoAim`], [`SprayError::Cone`], [`SprayError::Reach`].
    ///
    /// ```
    /// use linewalk_formulas::physics::spray::{Nozzle, SprayError};
    /// use linewalk_formulas::units::{Angle, Length};
    /// let none = Nozzle::new([0.0; 3], [0.0; 3], Angle::from_si(1.0), Length::from_si(1.0));
    /// assert_eq!(none, Err(SprayError::NoAim));
    /// ```
    pub fn new(at: Point, aim: Point, cone: Angle, reach: Length) -> Result<Self, SprayError> {
        let finite = at.iter().chain(&aim).all(|c| c.is_finite()) && reach.si().is_finite();
        if !finite {
            return Err(SprayError::NotFinite);
        }
        // Scaling by the largest part first keeps a very long or short aim from overflowing.
        let largest = aim.iter().fold(0.0_f64, |m, c| m.max(c.abs()));
        if largest == 0.0 {
            return Err(SprayError::NoAim);
        }
        let scaled = aim.map(|c| c / largest);
        let length = dot(scaled, scaled).sqrt();
        if !(cone.si() > 0.0 && cone.si() < std::f64::consts::PI) {
            return Err(SprayError::Cone { degrees: cone.si().to_degrees() });
        }
        if reach.si() <= 0.0 {
            return Err(SprayError::Reach { metres: reach.si() });
        }
        let axis = scaled.map(|c| c / length);
        Ok(Self { at, axis, half_cosine: (cone.si() / 2.0).cos(), reach: reach.si() })
    }

    /// The apex (m).
    pub fn at(&self) -> Point {
        self.at
    }
    /// The unit axis.
    pub(super) fn axis(&self) -> Point {
        self.axis
    }
    /// The cosine of half the cone's full angle.
    pub(super) fn half_cosine(&self) -> f64 {
        self.half_cosine
    }
    /// The reach (m).
    pub(super) fn reach(&self) -> f64 {
        self.reach
    }

    /// The angle (rad) between the axis and the line to `point`; none at the apex itself.
    pub(super) fn angle_to(&self, point: Point) -> Option<f64> {
        let [px, py, pz] = self.at;
        let [x, y, z] = point;
        let way = [x - px, y - py, z - pz];
        if way == [0.0; 3] {
            return None;
        }
        let across = cross(self.axis, way);
        Some(dot(across, across).sqrt().atan2(dot(self.axis, way)))
    }
}

/// A box with its sides along the axes. A side may have no length: then it is a sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cuboid {
    low: Point,
    high: Point,
}

impl Cuboid {
    /// A box between two corners (m), the lower one first on every axis.
    ///
    /// # Errors
    /// [`SprayError::NotFinite`], [`SprayError::CornersOutOfOrder`].
    ///
    /// ```
    /// use linewalk_formulas::physics::spray::{Cuboid, SprayError};
    /// let turned = Cuboid::new([0.0, 1.0, 0.0], [1.0, 0.0, 1.0]);
    /// assert_eq!(turned, Err(SprayError::CornersOutOfOrder { axis: 'y' }));
    /// ```
    pub fn new(low: Point, high: Point) -> Result<Self, SprayError> {
        if !low.iter().chain(&high).all(|c| c.is_finite()) {
            return Err(SprayError::NotFinite);
        }
        for ((l, h), axis) in low.iter().zip(&high).zip(['x', 'y', 'z']) {
            if l > h {
                return Err(SprayError::CornersOutOfOrder { axis });
            }
        }
        Ok(Self { low, high })
    }

    /// The lower and the upper corner (m).
    pub fn corners(&self) -> (Point, Point) {
        (self.low, self.high)
    }

    /// Whether the point lies inside, not merely on the surface.
    pub(super) fn holds(&self, point: Point) -> bool {
        let above = self.low.iter().zip(&point).all(|(l, p)| l < p);
        above && self.high.iter().zip(&point).all(|(h, p)| p < h)
    }

    /// The face that looks the way `facing` says.
    pub(super) fn face(&self, facing: Facing) -> Face {
        let (turn, outward) = match facing {
            Facing::Front => (Turn::X, 1.0),
            Facing::Rear => (Turn::X, -1.0),
            Facing::Left => (Turn::Y, 1.0),
            Facing::Right => (Turn::Y, -1.0),
            Facing::Top => (Turn::Z, 1.0),
            Facing::Bottom => (Turn::Z, -1.0),
        };
        let (low, high) = (turn.local(self.low), turn.local(self.high));
        let level = if outward > 0.0 { high.w } else { low.w };
        Face { turn, outward, level, u: [low.u, high.u], v: [low.v, high.v] }
    }
}

/// Which axis is the normal of a face: the cyclic turn from x, y, z to u, v, w.
#[derive(Clone, Copy, Debug)]
pub(super) enum Turn {
    X,
    Y,
    Z,
}

/// A point seen from a face: u and v along it, w along its normal.
#[derive(Clone, Copy, Debug)]
pub(super) struct Local {
    pub u: f64,
    pub v: f64,
    pub w: f64,
}

impl Turn {
    /// The same point by the face's own axes.
    pub(super) fn local(self, [x, y, z]: Point) -> Local {
        match self {
            Self::X => Local { u: y, v: z, w: x },
            Self::Y => Local { u: z, v: x, w: y },
            Self::Z => Local { u: x, v: y, w: z },
        }
    }

    /// Back from the face's own axes.
    fn global(self, Local { u, v, w }: Local) -> Point {
        match self {
            Self::X => [w, u, v],
            Self::Y => [v, w, u],
            Self::Z => [u, v, w],
        }
    }
}

/// A rectangular face of a box.
#[derive(Clone, Copy, Debug)]
pub(super) struct Face {
    pub turn: Turn,
    /// +1 where the outward normal runs along the axis, −1 against it.
    pub outward: f64,
    /// Where the face lies along its normal (m).
    pub level: f64,
    /// Its extent along u (m).
    pub u: [f64; 2],
    /// Its extent along v (m).
    pub v: [f64; 2],
}

impl Face {
    /// Its area (m2).
    pub(super) fn area(&self) -> f64 {
        let ([u0, u1], [v0, v1]) = (self.u, self.v);
        (u1 - u0) * (v1 - v0)
    }

    /// Its centre (m).
    pub(super) fn centre(&self) -> Point {
        let ([u0, u1], [v0, v1]) = (self.u, self.v);
        self.turn.global(Local { u: f64::midpoint(u0, u1), v: f64::midpoint(v0, v1), w: self.level })
    }

    /// Whether its outward side looks toward the point.
    pub(super) fn looks_toward(&self, point: Point) -> bool {
        self.outward * (self.turn.local(point).w - self.level) > 0.0
    }
}

/// The scalar product.
fn dot([a, b, c]: Point, [x, y, z]: Point) -> f64 {
    a * x + b * y + c * z
}

/// The vector product.
fn cross([a, b, c]: Point, [x, y, z]: Point) -> Point {
    [b * z - c * y, c * x - a * z, a * y - b * x]
}

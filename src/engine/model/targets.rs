//! What the agent is sent to and how it is let go: nozzles, hazards, shields, pulls.

use serde_json::json;

use crate::diagnostic::{Diagnostic, Place};
/// Which way an exposed face looks.
pub use crate::physics::spray::Facing as Face;
use crate::source::{Reader, Word};
use crate::units::{Angle, Force, Given, Length, NozzleFactor, Ratio};

use super::Point;
use super::suppression::at;

/// A nozzle.
#[derive(Clone, Debug)]
pub struct Nozzle {
    /// Its id.
    pub id: String,
    /// Where its table stands.
    pub place: Place,
    /// Where it is, m.
    pub at: Option<Point>,
    /// Direction of its axis; any length.
    pub aim: Option<[f64; 3]>,
    /// Full included cone angle.
    pub cone: Option<Given<Angle>>,
    /// Farthest it is counted to wet anything.
    pub reach: Option<Given<Length>>,
    /// Orifice diameter.
    pub orifice: Option<Given<Length>>,
    /// Discharge coefficient.
    pub cd: Option<Given<Ratio>>,
    /// Nozzle factor, instead of orifice and coefficient.
    pub factor: Option<Given<NozzleFactor>>,
    /// Hazards it protects.
    pub protects: Vec<Word>,
}

/// A box that must be wetted on one face.
#[derive(Clone, Debug)]
pub struct Hazard {
    /// Its id.
    pub id: String,
    /// Lower and upper corner, m.
    pub corners: Option<[Point; 2]>,
    /// Its exposed face.
    pub face: Option<Face>,
}

/// A box that stops spray, or that must be kept clear.
#[derive(Clone, Debug)]
pub struct Shield {
    /// Its id.
    pub id: String,
    /// Lower and upper corner, m.
    pub corners: Option<[Point; 2]>,
}

/// A pull cable.
#[derive(Clone, Debug)]
pub struct Pull {
    /// Its id.
    pub id: String,
    /// Bottles it opens.
    pub works: Vec<Word>,
    /// Bends of the conduit: angle and radius; absent where the file is silent about them.
    pub bends: Option<Vec<Bend>>,
    /// Friction of cable in conduit.
    pub friction: Option<Given<Ratio>>,
    /// Force to open one valve.
    pub valve_force: Option<Given<Force>>,
    /// Travel to open the valve.
    pub valve_travel: Option<Given<Length>>,
    /// Travel the handle has.
    pub handle_travel: Option<Given<Length>>,
    /// Play before the valve moves.
    pub slack: Option<Given<Length>>,
    /// Cable length.
    pub length: Option<Given<Length>>,
    /// Stretch under the pull, as a share of the length.
    pub stretch: Option<Given<Ratio>>,
    /// Least bend radius the conduit's maker allows.
    pub min_bend_radius: Option<Given<Length>>,
}

/// A bend of a conduit.
#[derive(Clone, Copy, Debug)]
pub struct Bend {
    /// Angle turned.
    pub angle: Option<Given<Angle>>,
    /// Radius.
    pub radius: Option<Given<Length>>,
}

pub(super) fn corners(r: &Reader<'_>, scale: f64) -> Option<[Point; 2]> {
    let points = r.points("box", "Lower and upper corner, in the axes unit: [[x, y, z], [x, y, z]].");
    r.narrow("box", || json!({"minItems": 2, "maxItems": 2}));
    let points = points?;
    let ordered = match points.as_slice() {
        [low, high] if low.iter().zip(high).all(|(a, b)| a < b) => {
            Some([low, high].map(|p| p.map(|c| c * scale)))
        }
        _ => None,
    };
    if ordered.is_none() {
        let help = "two corners, the first one smaller in x, y and z: [[40, -12, 16], [62, 12, 32]]";
        r.report(Diagnostic::error(&r.place("box"), "the corners of this box are out of order", help));
    }
    ordered
}

pub(super) fn face(r: &Reader<'_>) -> Option<Face> {
    const FACES: &[(&str, Face)] = &[
        ("front", Face::Front),
        ("rear", Face::Rear),
        ("left", Face::Left),
        ("right", Face::Right),
        ("top", Face::Top),
        ("bottom", Face::Bottom),
    ];
    r.choice("face", "Which way its exposed face looks.", FACES)
}

impl Nozzle {
    pub(super) fn read(r: &Reader<'_>, scale: f64) -> Self {
        let nozzle = Self {
            id: r.id("id", "Name of the nozzle, unique in the file."),
            place: r.at.clone(),
            at: at(r, scale),
            aim: r.point("aim", "Direction of its axis; any length."),
            cone: r.quantity("cone", "Full included angle of its cone; default: 75 deg."),
            reach: r.positive("reach", "Farthest it is counted to wet anything; default: 24 in."),
            orifice: r.quantity("orifice", "Diameter of the orifice."),
            cd: r.quantity("cd", "Discharge coefficient; default: 0.80."),
            factor: r.quantity("factor", "Nozzle factor, instead of orifice and cd."),
            protects: r.words("protects", "Hazards it is there for.").unwrap_or_default(),
        };
        r.narrow("aim", || json!({"not": {"items": {"const": 0}}}));
        r.agree(|| vec![json!({"not": {"required": ["orifice", "factor"]}})]);
        nozzle.check(r);
        nozzle
    }

    fn check(&self, r: &Reader<'_>) {
        if self.aim.is_some_and(|aim| aim.iter().all(|c| *c == 0.0)) {
            let help = "give the direction it points: [-1, 0, 0] is straight back";
            r.report(Diagnostic::error(&r.place("aim"), "this direction points nowhere", help));
        }
        if self.cone.is_some_and(|cone| cone.si() <= 0.0 || cone.si() >= std::f64::consts::PI) {
            let help = "the full included angle, such as \"75 deg\"";
            r.report(Diagnostic::error(
                &r.place("cone"),
                "a cone is more than 0 and less than 180 degrees",
                help,
            ));
        }
        if self.factor.is_some() && self.orifice.is_some() {
            let help = "keep the one its maker states";
            r.report(Diagnostic::error(
                &r.place("factor"),
                "a nozzle has an orifice or a factor, not both",
                help,
            ));
        }
    }
}

impl Shield {
    pub(super) fn read(r: &Reader<'_>, scale: f64) -> Self {
        Self { id: r.id("id", "Name of the box, unique in the file."), corners: corners(r, scale) }
    }
}

impl Pull {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let has_bends = r.has("bends");
        let bends = r.tables("bends", "Bends of the conduit, one table each.", |r| Bend {
            angle: r.quantity("angle", "Angle that the conduit turns."),
            radius: r.positive("radius", "Radius of the bend."),
        });
        Self {
            id: r.id("id", "Name of the pull, unique in the file."),
            works: r.words("works", "Bottles it opens.").unwrap_or_default(),
            bends: has_bends.then_some(bends),
            friction: r.quantity("friction", "Friction of cable in conduit; default: 0.15."),
            valve_force: r.quantity("valve_force", "Force to open one valve."),
            valve_travel: r.quantity("valve_travel", "Travel that opens the valve."),
            handle_travel: r.quantity("handle_travel", "Travel the handle has."),
            slack: r.quantity("slack", "Play before the valve moves; default: 1/8 in."),
            length: r.positive("length", "Length of the cable."),
            stretch: r.share("stretch", "Stretch under the pull, of the length; default: 1 %."),
            min_bend_radius: r.positive("min_bend_radius", "Least bend radius the conduit's maker allows."),
        }
    }
}

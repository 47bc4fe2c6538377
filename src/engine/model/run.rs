//! One hard or flexible line on the car, brake or suppression: its tube and where it runs.

use crate::diagnostic::{Diagnostic, Place};
use crate::source::{Reader, Word};
use crate::units::{Given, Length};

use super::brakes::Corner;
use super::{Point, distance};

/// A tube as bought.
#[derive(Clone, Debug, Default)]
pub struct Tube {
    /// Outside diameter.
    pub od: Option<Given<Length>>,
    /// Nominal wall.
    pub wall: Option<Given<Length>>,
    /// Thinnest wall, where it was measured.
    pub min_wall: Option<Given<Length>>,
    /// Material name, as the material table has it.
    pub material: Option<Word>,
}

impl Tube {
    /// Inside diameter, m, where OD and wall are given.
    pub fn bore(&self) -> Option<f64> {
        Some(self.od?.si() - 2.0 * self.wall?.si())
    }

    pub(super) fn read(r: &Reader<'_>) -> Self {
        let tube = Self {
            od: r.positive("od", "Outside diameter of the tube."),
            wall: r.positive("wall", "Nominal wall thickness of the tube."),
            min_wall: r.positive("min_wall", "Thinnest wall measured; default: the tolerance of ASTM A269."),
            material: r.word("material", "Tube material as the material table names it: 316, 304 and so on."),
        };
        check_wall(r, tube.od, tube.wall);
        if let (Some(min), Some(wall)) = (tube.min_wall, tube.wall)
            && min.si() > wall.si()
        {
            let help = "give the thinnest wall measured, or leave min_wall out";
            r.report(Diagnostic::error(
                &r.place("min_wall"),
                "the thinnest wall is thicker than the wall",
                help,
            ));
        }
        tube
    }
}

/// A tube has to have a bore.
pub(super) fn check_wall(r: &Reader<'_>, od: Option<Given<Length>>, wall: Option<Given<Length>>) {
    if let (Some(od), Some(wall)) = (od, wall)
        && 2.0 * wall.si() >= od.si()
    {
        let help = "twice the wall must be less than the outside diameter: check both";
        r.report(Diagnostic::error(&r.place("wall"), "this wall leaves no bore", help));
    }
}

/// What every run of line has.
#[derive(Clone, Debug)]
pub struct Run {
    /// Its id.
    pub id: String,
    /// Where its table stands in the file.
    pub at: Place,
    /// Where its path stands, or its table.
    pub path_at: Place,
    /// Where its length stands, or its table.
    pub length_at: Place,
    /// The tube.
    pub tube: Tube,
    /// Corner points along it, m.
    pub path: Vec<Point>,
    /// How far each point of the path may lie from where the file has it.
    pub within: Option<Given<Length>>,
    /// Developed length, where it was measured; overrides the path's.
    pub length: Option<Given<Length>>,
    /// Smallest bend radius.
    pub bend_radius: Option<Given<Length>>,
    /// Longest distance between supports outside the frame tubes.
    pub support_gap: Option<Given<Length>>,
    /// Frame tubes it runs inside.
    pub inside: Vec<Word>,
    /// The corner whose checks it belongs to.
    pub corner: Option<Corner>,
}

impl Run {
    pub(super) fn read(r: &Reader<'_>, scale: f64) -> Self {
        let run = Self {
            id: r.id("id", "Name of the line, unique in the file."),
            at: r.at.clone(),
            path_at: r.place("path"),
            length_at: r.place("length"),
            tube: r.table("tube", "The tube it is made of.", Tube::read).unwrap_or_default(),
            path: r
                .points("path", "Corner points along the line, in the axes unit.")
                .map_or_else(Vec::new, |points| points.into_iter().map(|p| p.map(|c| c * scale)).collect()),
            within: r.positive("within", super::brakes::WITHIN),
            length: r.positive("length", "Developed length by tape; overrides the path's."),
            bend_radius: r.positive("bend_radius", "Smallest bend radius, to the center line."),
            support_gap: r
                .positive("support_gap", "Longest distance between supports outside the frame tubes."),
            inside: r.words("inside", "Frame tubes the line runs inside.").unwrap_or_default(),
            corner: r.choice("corner", "Corner whose checks it belongs to.", Corner::WORDS),
        };
        r.narrow("path", || serde_json::json!({"minItems": 2}));
        if r.len("path").is_some_and(|points| points < 2) {
            let help = "give at least its two ends: [[0, 0, 10], [40, 0, 10]]";
            r.report(Diagnostic::error(&r.place("path"), "a path needs two points or more", help));
        }
        if let (Some(length), [first, .., last]) = (run.length, run.path.as_slice()) {
            run.check_length(r, length, distance(*first, *last));
        }
        run
    }

    /// A line cannot be shorter than the straight way between its ends.
    pub(super) fn check_length(&self, r: &Reader<'_>, length: Given<Length>, straight: f64) {
        if length.si() < straight * (1.0 - 1e-6) {
            r.report(too_short(&r.place("length"), length, straight));
        }
    }
}

/// The mistake of a length below the straight distance.
pub(super) fn too_short(at: &Place, length: Given<Length>, straight: f64) -> Diagnostic {
    let inches = |si: f64| crate::units::show_in(si, crate::units::Kind::Length, "in").unwrap_or_default();
    let message = format!("a line of {} cannot span {}", inches(length.si()), inches(straight));
    Diagnostic::error(at, message, "measure along the line, or mend the points")
}

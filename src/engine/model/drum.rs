//! Drum brakes and the parking brake as the car file gives them.

use crate::diagnostic::Diagnostic;
use crate::source::Reader;
use crate::units::{Angle, Force, Given, Length, Ratio};

/// How the shoes of a drum brake work together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrumKind {
    /// Two shoes on pins, one wheel cylinder between their tips.
    LeadingTrailing,
    /// The first shoe floats and pushes the second through the adjuster.
    DuoServo,
}

/// The drum brake of one wheel.
#[derive(Clone, Debug)]
pub struct Drum {
    /// How its shoes work together.
    pub kind: Option<DrumKind>,
    /// Inside diameter of the drum.
    pub diameter: Option<Given<Length>>,
    /// Bore of the wheel cylinder.
    pub cylinder_bore: Option<Given<Length>>,
    /// From the hub center to the pin the shoes turn on.
    pub anchor: Option<Given<Length>>,
    /// From the pin, or from the adjuster of a duo-servo brake, to the wheel cylinder's line.
    pub arm: Option<Given<Length>>,
    /// From the hub center to the adjuster of a duo-servo brake.
    pub link: Option<Given<Length>>,
    /// Ends of the lining by the angle from the pin.
    pub lining: [Option<Given<Angle>>; 2],
    /// The same of the first shoe of a duo-servo brake, where it differs.
    pub primary: [Option<Given<Angle>>; 2],
    /// Force on a shoe's tip over the force in the wheel's parking cable.
    pub parking_ratio: Option<Given<Ratio>>,
}

/// The parking brake's lever.
#[derive(Clone, Debug)]
pub struct Parking {
    /// Pull that the numbers are worked at.
    pub pull: Option<Given<Force>>,
    /// From the hand to both cables together.
    pub ratio: Option<Given<Ratio>>,
    /// Share of the pull that arrives at the wheels.
    pub efficiency: Option<Given<Ratio>>,
}

const LINING: [&str; 2] = ["lining_from", "lining_to"];

impl Drum {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        const KINDS: &[(&str, DrumKind)] =
            &[("leading-trailing", DrumKind::LeadingTrailing), ("duo-servo", DrumKind::DuoServo)];
        let drum = Self {
            kind: r.choice(
                "kind",
                "How its shoes work: leading-trailing, each on its pin; duo-servo, the first pushes the second.",
                KINDS,
            ),
            diameter: r.positive("diameter", "Inside diameter of the drum."),
            cylinder_bore: r.positive("cylinder_bore", "Bore of the wheel cylinder."),
            anchor: r.positive("anchor", "From the hub center to the pin that the shoes turn on."),
            arm: r.positive(
                "arm",
                "Square to the wheel cylinder's line: from the pin; of a duo-servo brake from the adjuster.",
            ),
            link: r.positive("link", "Of a duo-servo brake: from the hub center to the adjuster."),
            lining: [
                r.quantity("lining_from", "Angle from the pin at which the lining begins."),
                r.quantity("lining_to", "Angle from the pin at which the lining ends."),
            ],
            primary: [
                r.quantity("primary_from", "Where the lining of a duo-servo brake's first shoe begins; default: as lining_from."),
                r.quantity("primary_to", "Where the lining of a duo-servo brake's first shoe ends; default: as lining_to."),
            ],
            parking_ratio: r
                .positive("parking_ratio", "Force on a shoe's tip over the force in the parking cable."),
        };
        drum.check(r);
        drum
    }

    fn check(&self, r: &Reader<'_>) {
        let radius = self.diameter.map(|diameter| 0.5 * diameter.si());
        for (key, given) in [("anchor", self.anchor), ("link", self.link)] {
            if let (Some(radius), Some(given)) = (radius, given)
                && given.si() >= radius
            {
                let help = "measure from the hub center, and the drum's inside diameter";
                r.report(Diagnostic::error(&r.place(key), "this is outside the drum", help));
            }
        }
        let half_turn = std::f64::consts::PI * (1.0 + 1e-9);
        for (ends, keys) in [(self.lining, LINING), (self.primary, ["primary_from", "primary_to"])] {
            let [from, to] = ends.map(|end| end.map(|end| end.si()));
            let outside = |end: Option<f64>| end.is_some_and(|end| !(0.0..=half_turn).contains(&end));
            let [first, last] = keys;
            let wrong = if outside(from) {
                Some(first)
            } else if outside(to) || matches!((from, to), (Some(from), Some(to)) if to <= from) {
                Some(last)
            } else {
                None
            };
            if let Some(key) = wrong {
                let help =
                    "count from the pin round the drum: lining_from = \"30 deg\", lining_to = \"140 deg\"";
                let message = "a lining begins before it ends, both between its pin and half a turn from it";
                r.report(Diagnostic::error(&r.place(key), message, help));
            }
        }
        if self.kind == Some(DrumKind::LeadingTrailing) {
            for key in ["link", "primary_from", "primary_to"] {
                if r.has(key) {
                    let help = "take it out, or say kind = \"duo-servo\"";
                    r.report(Diagnostic::error(&r.place(key), "only a duo-servo brake has this", help));
                }
            }
        }
    }
}

impl Parking {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        Self {
            pull: r.positive("pull", "Pull at the parking lever that the numbers are worked at."),
            ratio: r.positive("ratio", "From the hand to both cables together: force out over force in."),
            efficiency: r.share("efficiency", "Share of the pull that arrives at the wheels; default: 75 %."),
        }
    }
}

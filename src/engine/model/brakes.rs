//! The brake system as the car file gives it.

use crate::diagnostic::Diagnostic;
use crate::source::{Reader, Word};
use crate::units::{Force, Given, Length, Pressure, Ratio, Temperature, Volume};

use super::Point;
use super::drum::{Drum, Parking};
use super::duty::{Duty, Rotor};
use super::run::Run;

/// Which checks a part belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum Corner {
    LeftFront,
    RightFront,
    LeftRear,
    RightRear,
    Axle,
    Left,
    Right,
    Tail,
}

impl Corner {
    /// The words of the files.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("LF", Self::LeftFront),
        ("RF", Self::RightFront),
        ("LR", Self::LeftRear),
        ("RR", Self::RightRear),
        ("axle", Self::Axle),
        ("left", Self::Left),
        ("right", Self::Right),
        ("tail", Self::Tail),
    ];

    /// The corner a word names.
    pub fn named(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(name, _)| *name == word).map(|(_, corner)| *corner)
    }

    /// The word of the files.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, corner)| *corner == self).map_or("", |(name, _)| name)
    }

    /// Whether it stands at the front axle.
    pub fn is_front(self) -> bool {
        matches!(self, Self::LeftFront | Self::RightFront)
    }
}

/// `[brakes]` and everything under it.
#[derive(Clone, Debug, Default)]
pub struct Brakes {
    /// Fluid class, such as DOT 4.
    pub fluid: Option<Word>,
    /// Pedal lever ratio.
    pub pedal_ratio: Option<Given<Ratio>>,
    /// Force at the pedal that the numbers are worked at.
    pub pedal_force: Option<Given<Force>>,
    /// Force for strength.
    pub pedal_force_hard: Option<Given<Force>>,
    /// Booster gain; 1 without one.
    pub booster_ratio: Option<Given<Ratio>>,
    /// Front share of a balance bar over two single masters.
    pub bar_front_share: Option<Given<Ratio>>,
    /// Fluid bulk modulus.
    pub bulk_modulus: Option<Given<Pressure>>,
    /// Master cylinders.
    pub masters: Vec<Master>,
    /// Hard lines.
    pub lines: Vec<BrakeLine>,
    /// Flexible hoses.
    pub hoses: Vec<Hose>,
    /// Valves in the circuits.
    pub valves: Vec<Valve>,
    /// Wheel brakes.
    pub wheel_brakes: Vec<WheelBrake>,
    /// Axles that have no brake at all: `front`, `rear`.
    pub axles_without: Vec<Word>,
    /// The parking brake's lever.
    pub parking: Option<Parking>,
    /// What the brakes are asked to do.
    pub duty: Option<Duty>,
}

/// A master cylinder.
#[derive(Clone, Debug)]
pub struct Master {
    /// Its id.
    pub id: String,
    /// Bore.
    pub bore: Option<Given<Length>>,
    /// Full travel of the pushrod end.
    pub stroke: Option<Given<Length>>,
    /// Reservoir volume.
    pub reservoir: Option<Given<Volume>>,
    /// One port each of two singles, or the two of a tandem.
    pub ports: Vec<Port>,
}

/// A port of a master cylinder.
#[derive(Clone, Debug)]
pub struct Port {
    /// Its id.
    pub id: String,
    /// The circuit its maker means it for.
    pub feeds: Option<Word>,
    /// The circuit it is plumbed to on this car.
    pub plumbed_to: Option<Word>,
}

/// A brake hard line.
#[derive(Clone, Debug)]
pub struct BrakeLine {
    /// The run.
    pub run: Run,
    /// Its circuit.
    pub circuit: Option<Word>,
}

/// What `within` means, of a line as of a hose.
pub(super) const WITHIN: &str =
    "How far each of its points may lie from where the file has it; default: they are as given.";

/// What a hose's maker rates it for.
#[derive(Clone, Debug)]
pub struct HoseRating {
    /// Pressure it may work at.
    pub working: Option<Given<Pressure>>,
    /// Pressure it bursts at, at least.
    pub burst: Option<Given<Pressure>>,
}

/// A flexible brake hose.
#[derive(Clone, Debug)]
pub struct Hose {
    /// Its id.
    pub id: String,
    /// Its circuit.
    pub circuit: Option<Word>,
    /// Its corner.
    pub corner: Option<Corner>,
    /// Free length between fitting ends.
    pub length: Option<Given<Length>>,
    /// Bore.
    pub bore: Option<Given<Length>>,
    /// What it grows under pressure, of the most that 49 CFR 571.106 allows.
    pub growth: Option<Given<Ratio>>,
    /// Least bend radius its maker allows.
    pub min_bend_radius: Option<Given<Length>>,
    /// What its maker rates it for.
    pub rating: Option<HoseRating>,
    /// The end on the frame, m.
    pub inner_end: Option<Point>,
    /// How far each end may lie from where the file has it.
    pub within: Option<Given<Length>>,
    /// The moving end at each named position, m.
    pub outer_end: Vec<(String, Point)>,
}

/// A valve in a circuit.
#[derive(Clone, Debug)]
pub struct Valve {
    /// Its id.
    pub id: String,
    /// Its circuit.
    pub circuit: Option<Word>,
    /// What it does.
    pub kind: Option<ValveKind>,
    /// Knee pressure of a proportioning valve.
    pub knee: Option<Given<Pressure>>,
    /// Slope past the knee.
    pub slope: Option<Given<Ratio>>,
    /// Pressure a residual valve holds.
    pub holds: Option<Given<Pressure>>,
}

/// The kinds of valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum ValveKind {
    Proportioning,
    Residual,
    LineLock,
}

/// How a caliper's pistons sit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Caliper {
    /// Pistons on both sides.
    Fixed,
    /// Pistons on one side, the body slides.
    Floating,
}

/// A disc or drum brake at one wheel.
#[derive(Clone, Debug)]
pub struct WheelBrake {
    /// Its id: LF RF LR RR.
    pub id: String,
    /// Its circuit.
    pub circuit: Option<Word>,
    /// Caliper kind.
    pub caliper: Option<Caliper>,
    /// All pistons of one caliper.
    pub pistons: Option<u32>,
    /// Piston bore.
    pub piston_bore: Option<Given<Length>>,
    /// The drum brake, where it is none with discs.
    pub drum: Option<Drum>,
    /// Effective radius of the disc.
    pub effective_radius: Option<Given<Length>>,
    /// Friction of pads or linings.
    pub pad_friction: Option<Given<Ratio>>,
    /// Running clearance of one pad or lining.
    pub pad_gap: Option<Given<Length>>,
    /// Piston rollback.
    pub rollback: Option<Given<Length>>,
    /// Fluid behind its pistons.
    pub holds: Option<Given<Volume>>,
    /// Fluid it takes up by flexing, at 1 000 psi.
    pub flex: Option<Given<Volume>>,
    /// Pad thickness new.
    pub pad_new: Option<Given<Length>>,
    /// Pad thickness at its end.
    pub pad_min: Option<Given<Length>>,
    /// The rotor or drum.
    pub rotor: Option<Rotor>,
    /// Lowest temperature that the pad's maker states for it.
    pub pad_cold: Option<Given<Temperature>>,
    /// Highest one.
    pub pad_hot: Option<Given<Temperature>>,
    /// What of a rotor's rise arrives at the fluid.
    pub fluid_soak: Option<Given<Ratio>>,
}

impl WheelBrake {
    /// Which corner it is at, from its id.
    pub fn corner(&self) -> Option<Corner> {
        Corner::named(&self.id)
    }
}

impl Brakes {
    /// Whether both wheels of an axle are in the file with brakes of one kind: drums, or discs.
    pub fn axle_is(&self, front: bool, drums: bool) -> bool {
        let here = self
            .wheel_brakes
            .iter()
            .filter(|brake| brake.corner().is_some_and(|corner| corner.is_front() == front));
        here.clone().count() == 2 && here.into_iter().all(|brake| brake.drum.is_some() == drums)
    }

    /// Whether the car is said to have no brake at this axle.
    pub fn axle_without(&self, front: bool) -> bool {
        let axle = if front { "front" } else { "rear" };
        self.axles_without.iter().any(|word| word.text == axle)
    }

    pub(super) fn read(r: &Reader<'_>, scale: f64) -> Self {
        let brakes = Self {
            fluid: r.word("fluid", "Fluid class: DOT 3, DOT 4, DOT 5, DOT 5.1."),
            pedal_ratio: r.positive("pedal_ratio", "Pedal lever ratio, foot travel over rod travel."),
            pedal_force: r.positive("pedal_force", "Force at the pedal that the numbers are worked at."),
            pedal_force_hard: r
                .positive("pedal_force_hard", "Force at the pedal for strength, if it differs."),
            booster_ratio: r.positive("booster_ratio", "Booster gain; 1 without a booster."),
            bar_front_share: r
                .table("balance_bar", "Balance bar over two single masters.", |r| {
                    r.share("front_share", "Share of the pushrod force that the front master gets.")
                })
                .flatten(),
            bulk_modulus: r.positive("bulk_modulus", "Bulk modulus of the fluid; default: 1.4 GPa."),
            masters: r.tables("master", "One tandem, or two singles.", Master::read),
            lines: r.tables("line", "Brake hard lines.", |r| BrakeLine {
                run: Run::read(r, scale),
                circuit: r.word("circuit", "Circuit the line belongs to, such as front or rear."),
            }),
            hoses: r.tables("hose", "Flexible brake hoses.", |r| Hose::read(r, scale)),
            valves: r.tables("valve", "Valves in the circuits.", Valve::read),
            wheel_brakes: r.tables("wheel_brake", "Disc or drum brakes, one a wheel.", WheelBrake::read),
            axles_without: r
                .words("axles_without", "Axles that have no brake at all, not even drums: front, rear.")
                .unwrap_or_default(),
            parking: r.table("parking", "The parking brake.", Parking::read),
            duty: r.table(
                "duty",
                "Stops, or a descent, that the heat of the brakes is worked for.",
                Duty::read,
            ),
        };
        r.narrow("axles_without", || serde_json::json!({"items": {"enum": ["front", "rear"]}}));
        brakes.check_axles(r);
        brakes
    }

    fn check_axles(&self, r: &Reader<'_>) {
        for word in &self.axles_without {
            let front = word.text == "front";
            if !front && word.text != "rear" {
                let help = "an axle is named front or rear: axles_without = [\"rear\"]";
                r.report(Diagnostic::error(&word.at, format!("{} is not an axle", word.text), help));
            }
            let braked = self
                .wheel_brakes
                .iter()
                .find(|brake| brake.corner().is_some_and(|corner| corner.is_front() == front));
            if let Some(brake) = braked {
                let message = format!("the {} axle has a brake in this file: {}", word.text, brake.id);
                let help = "take the axle out of axles_without, or take its wheel brakes out";
                r.report(Diagnostic::error(&word.at, message, help));
            }
        }
    }
}

impl Master {
    fn read(r: &Reader<'_>) -> Self {
        let master = Self {
            id: r.id("id", "Name of the master cylinder, unique in the file."),
            bore: r.positive("bore", "Bore of the cylinder."),
            stroke: r.positive("stroke", "Full travel of the pushrod end."),
            reservoir: r.positive("reservoir", "Volume of fluid its reservoir holds."),
            ports: r.tables("ports", "Its ports: one of a single, two of a tandem.", |r| Port {
                id: r.id("id", "Name of the port, unique in the file."),
                feeds: r.word("feeds", "Circuit the maker means the port for."),
                plumbed_to: r.word("plumbed_to", "Circuit it is plumbed to on this car."),
            }),
        };
        r.narrow("ports", || serde_json::json!({"maxItems": 2}));
        if master.ports.len() > 2 {
            let help = "a tandem has two ports, a single one";
            r.report(Diagnostic::error(&r.place("ports"), "a master cylinder has at most two ports", help));
        }
        master
    }
}

impl HoseRating {
    fn read(r: &Reader<'_>) -> Self {
        let rating = Self {
            working: r.positive("working", "Pressure it may work at, by its maker."),
            burst: r.positive("burst", "Least pressure it bursts at, by its maker."),
        };
        if let (Some(working), Some(burst)) = (rating.working, rating.burst)
            && working.si() >= burst.si()
        {
            let help = "a hose bursts at some times its working pressure: look at which is which";
            r.report(Diagnostic::error(&r.place("burst"), "the hose bursts before it may work", help));
        }
        rating
    }
}

/// Droop, ride and bump at straight ahead and both locks are nine; each is worked for every case of a band.
const MOST_POSITIONS: usize = 20;

impl Hose {
    fn read(r: &Reader<'_>, scale: f64) -> Self {
        let outer = r.map(
            "outer_end",
            "The moving end at each named position, in the axes unit.",
            crate::source::FieldKind::Point,
            crate::source::point,
        );
        r.narrow("outer_end", || serde_json::json!({"maxProperties": MOST_POSITIONS}));
        if let Some((word, _)) = outer.as_ref().and_then(|positions| positions.get(MOST_POSITIONS)) {
            let message = format!("a hose has at most {MOST_POSITIONS} positions");
            r.report(Diagnostic::error(&word.at, message, "keep the ones that stretch it and bend it most"));
        }
        Self {
            id: r.id("id", "Name of the hose, unique in the file."),
            circuit: r.word("circuit", "Circuit the hose belongs to."),
            corner: r.choice("corner", "Corner whose checks it belongs to.", Corner::WORDS),
            length: r.positive("length", "Free length between fitting ends."),
            bore: r.positive("bore", "Bore of the hose."),
            growth: r.share(
                "growth",
                "What it grows under pressure, of the most that 49 CFR 571.106 allows; default: all of it.",
            ),
            min_bend_radius: r.positive("min_bend_radius", "Least bend radius its maker allows."),
            within: r.positive("within", WITHIN),
            rating: r.table("rating", "What its maker rates it for.", HoseRating::read),
            inner_end: r
                .point("inner_end", "End on the frame, in the axes unit.")
                .map(|p| p.map(|c| c * scale)),
            outer_end: outer
                .unwrap_or_default()
                .into_iter()
                .map(|(word, point)| (word.text, point.map(|c| c * scale)))
                .collect(),
        }
    }
}

impl Valve {
    fn read(r: &Reader<'_>) -> Self {
        const KINDS: &[(&str, ValveKind)] = &[
            ("proportioning", ValveKind::Proportioning),
            ("residual", ValveKind::Residual),
            ("line-lock", ValveKind::LineLock),
        ];
        Self {
            id: r.id("id", "Name of the valve, unique in the file."),
            circuit: r.word("circuit", "Circuit the valve is in."),
            kind: r.need_choice("kind", "What the valve does: proportioning, residual or line-lock.", KINDS),
            knee: r.quantity("knee", "Pressure at which a proportioning valve begins to hold back."),
            slope: r.share("slope", "Share of any further rise that it lets through."),
            holds: r.quantity("holds", "Pressure that a residual valve keeps in the line."),
        }
    }
}

/// Keys of a wheel brake that only one with discs has.
const OF_DISCS: [&str; 5] = ["caliper", "pistons", "piston_bore", "effective_radius", "rollback"];

impl WheelBrake {
    fn read(r: &Reader<'_>) -> Self {
        const CALIPERS: &[(&str, Caliper)] = &[("fixed", Caliper::Fixed), ("floating", Caliper::Floating)];
        let brake = Self {
            id: r.id("id", "The wheel: LF RF LR RR."),
            circuit: r.word("circuit", "Circuit that feeds it."),
            caliper: r.choice(
                "caliper",
                "Kind of caliper: fixed has pistons on both sides, floating on one.",
                CALIPERS,
            ),
            pistons: r.count("pistons", "All pistons of the caliper."),
            piston_bore: r.positive("piston_bore", "Bore of one piston."),
            drum: r.table(
                "drum",
                "A drum brake, instead of caliper, pistons and effective radius.",
                Drum::read,
            ),
            effective_radius: r.positive("effective_radius", "Radius at which the pads act."),
            pad_friction: r.positive("pad_friction", "Friction of pad on disc, or of lining on drum."),
            pad_gap: r.quantity("pad_gap", "Running clearance of one pad, or of a lining at its middle."),
            rollback: r
                .quantity("rollback", "Distance a piston seal draws its piston back; default: 0.010 in."),
            holds: r.positive("holds", "Fluid in the caliper behind its pistons, for hold tests."),
            flex: r.positive("flex", "Fluid the caliper takes up by flexing at 1,000 psi, for hold tests."),
            pad_new: r.positive("pad_new", "Lining thickness new."),
            pad_min: r.quantity("pad_min", "Lining thickness at which the pad is worn out."),
            rotor: r.table("rotor", "The rotor or drum, for its heat.", Rotor::read),
            pad_cold: r.positive("pad_cold", "Lowest temperature the pad's or lining's maker states for it."),
            pad_hot: r.positive("pad_hot", "Highest temperature the pad's or lining's maker states for it."),
            fluid_soak: r
                .share("fluid_soak", "What of the rotor's rise arrives at the fluid; default: 20 %."),
        };
        r.narrow("id", || serde_json::json!({"enum": ["LF", "RF", "LR", "RR"]}));
        r.narrow("pistons", || serde_json::json!({"minimum": 1}));
        let both = |key: &str| serde_json::json!({"not": {"required": ["drum", key]}});
        r.agree(|| OF_DISCS.into_iter().map(both).collect());
        brake.check(r);
        brake
    }

    fn check(&self, r: &Reader<'_>) {
        if !self.id.is_empty() && !matches!(self.id.as_str(), "LF" | "RF" | "LR" | "RR") {
            let help = "a wheel brake is named by its wheel: LF, RF, LR or RR";
            r.report(Diagnostic::error(&r.place("id"), format!("{} is not a wheel", self.id), help));
        }
        for key in OF_DISCS.into_iter().filter(|key| self.drum.is_some() && r.has(key)) {
            let help = "a drum brake has its sizes in drum = { … }; take this out, or take drum out";
            r.report(Diagnostic::error(&r.place(key), "a brake has discs or a drum, not both", help));
        }
        let wrong = match (self.caliper, self.pistons) {
            (_, Some(0)) => Some("a caliper has at least one piston"),
            (Some(Caliper::Fixed), Some(n)) if n % 2 == 1 => {
                Some("a fixed caliper has pistons in pairs, one a side")
            }
            _ => None,
        };
        if let Some(message) = wrong {
            r.report(Diagnostic::error(&r.place("pistons"), message, "count all pistons of one caliper"));
        }
        if let (Some(cold), Some(hot)) = (self.pad_cold, self.pad_hot)
            && cold.si() >= hot.si()
        {
            let help = "pad_cold is the low end of its range, pad_hot the high end";
            r.report(Diagnostic::error(&r.place("pad_cold"), "the pad has no range of temperature", help));
        }
        if let (Some(new), Some(min)) = (self.pad_new, self.pad_min)
            && min.si() >= new.si()
        {
            let help = "the worn-out thickness is less than the new one";
            r.report(Diagnostic::error(&r.place("pad_min"), "the pad is worn out when new", help));
        }
    }
}

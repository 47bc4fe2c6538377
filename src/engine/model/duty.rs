//! What the brakes are asked to do: stops, a series of them, a parachute, a descent; and the rotors that take the heat.

use crate::diagnostic::Diagnostic;
use crate::source::Reader;
use crate::units::{Given, Length, Mass, Ratio, SpecificHeat, Speed, Temperature, Time};

/// `[brakes.duty]`.
#[derive(Clone, Debug)]
pub struct Duty {
    /// Speed at the beginning of a stop.
    pub from: Option<Given<Speed>>,
    /// Speed at its end.
    pub to: Option<Given<Speed>>,
    /// Slowing by the brakes alone, in g.
    pub braking: Option<Given<Ratio>>,
    /// How many stops in a row.
    pub stops: Option<u32>,
    /// From the beginning of one to the beginning of the next.
    pub every: Option<Given<Time>>,
    /// Temperature of rotors and air before.
    pub start: Option<Given<Temperature>>,
    /// A parachute that helps.
    pub parachute: Option<Parachute>,
    /// A road down on the brakes.
    pub descent: Option<Descent>,
}

/// A parachute.
#[derive(Clone, Debug)]
pub struct Parachute {
    /// Across its cloth, laid flat.
    pub diameter: Option<Given<Length>>,
    /// Drag coefficient on that.
    pub drag: Option<Given<Ratio>>,
}

/// A road down on the brakes.
#[derive(Clone, Debug)]
pub struct Descent {
    /// Height lost.
    pub height: Option<Given<Length>>,
    /// Length along the road.
    pub length: Option<Given<Length>>,
    /// Speed held.
    pub speed: Option<Given<Speed>>,
}

/// The rotor or drum of one wheel, as far as heat goes.
#[derive(Clone, Debug)]
pub struct Rotor {
    /// Its mass.
    pub mass: Option<Given<Mass>>,
    /// Heat that a kilogram takes.
    pub specific_heat: Option<Given<SpecificHeat>>,
    /// Time in which what is above the air falls to 37 %.
    pub cooling_time: Option<Given<Time>>,
}

impl Duty {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let duty = Self {
            from: r.positive("from", "Speed at the beginning of a stop."),
            to: r.quantity("to", "Speed at the end of a stop; default: standing."),
            braking: r.positive(
                "braking",
                "What the brakes alone slow the car by, in g; only asked with a parachute.",
            ),
            stops: r.count("stops", "Like stops in a row; default: one."),
            every: r.positive("every", "Time from the beginning of one stop to that of the next."),
            start: r.positive("start", "Temperature of rotors and air before; default: 77 F."),
            parachute: r.table("parachute", "A parachute that slows the car beside its brakes.", |r| {
                Parachute {
                    diameter: r.positive("diameter", "Across its cloth, laid flat."),
                    drag: r.positive("drag", "Drag coefficient on the flat cloth; default: 0.55."),
                }
            }),
            descent: r.table("descent", "A road down that is driven on the brakes.", |r| Descent {
                height: r.positive("height", "Height from its top to its foot."),
                length: r.positive("length", "Its length, along the road."),
                speed: r.positive("speed", "Speed held on it."),
            }),
        };
        r.narrow("stops", || serde_json::json!({"minimum": 1, "maximum": MOST_STOPS}));
        duty.check(r);
        duty
    }

    fn check(&self, r: &Reader<'_>) {
        if self.stops.is_some_and(|stops| !(1..=MOST_STOPS).contains(&stops)) {
            let help = "count the stops of one run or session: stops = 12";
            r.report(Diagnostic::error(&r.place("stops"), "a series has 1 to 1000 stops", help));
        }
        if let (Some(from), Some(to)) = (self.from, self.to)
            && to.si() >= from.si()
        {
            let help = "from is the speed before the pedal is pushed, to the speed after";
            r.report(Diagnostic::error(&r.place("to"), "the stop does not slow the car", help));
        }
        if let Some(Descent { height: Some(height), length: Some(length), .. }) = &self.descent
            && height.si() >= length.si()
        {
            let help = "length goes along the road; height is how much lower its foot is";
            r.report(Diagnostic::error(
                &r.place("descent"),
                "the descent is no longer than it is high",
                help,
            ));
        }
    }
}

/// Far above any series.
const MOST_STOPS: u32 = 1000;

impl Rotor {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        Self {
            mass: r
                .positive("mass", "Mass of the rotor or drum, without its hat if that is of another metal."),
            specific_heat: r.positive(
                "specific_heat",
                "Heat that its metal takes; default: of gray iron, 0.13 Btu/lb/F.",
            ),
            cooling_time: r.positive(
                "cooling_time",
                "Time in which it loses 63 % of what it is above the air, the car rolling.",
            ),
        }
    }
}

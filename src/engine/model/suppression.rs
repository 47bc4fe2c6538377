//! The suppression system as the car file gives it.

use crate::diagnostic::{Diagnostic, Place};
use crate::source::{Dated, FieldKind, Reader, Word, parse_count};
use crate::units::{
    Density, Given, Length, Mass, Pressure, Quantity, Ratio, Span, Temperature, Time, Viscosity, Volume,
};

use super::Point;
use super::brakes::Corner;
use super::run::Run;
use super::targets::{Hazard, Nozzle, Pull, Shield, corners, face};

/// `[suppression]` and everything under it.
#[derive(Clone, Debug, Default)]
pub struct Suppression {
    /// Of the bottles when it is worked out.
    pub temperature: Option<Given<Temperature>>,
    /// Release heads fitted, one pin each.
    pub release_heads: Option<u32>,
    /// Polytropic exponent of the gas charge.
    pub gas_exponent: Option<Given<Ratio>>,
    /// Bottles.
    pub bottles: Vec<Bottle>,
    /// Tees.
    pub tees: Vec<Tee>,
    /// Lines.
    pub lines: Vec<SupplyLine>,
    /// Nozzles.
    pub nozzles: Vec<Nozzle>,
    /// What must be wetted.
    pub hazards: Vec<Hazard>,
    /// What stops spray.
    pub shields: Vec<Shield>,
    /// Where agent must not be aimed.
    pub keep_clear: Vec<Shield>,
    /// Pull cables.
    pub pulls: Vec<Pull>,
    /// The space that the agent goes into.
    pub space: Option<Space>,
}

/// The space that the agent goes into.
#[derive(Clone, Debug)]
pub struct Space {
    /// Its volume, less what stands in it.
    pub volume: Option<Given<Volume>>,
    /// The coldest it is worked for.
    pub temperature: Option<Given<Temperature>>,
}

/// A bottle.
#[derive(Clone, Debug)]
pub struct Bottle {
    /// Its id.
    pub id: String,
    /// Where its table stands.
    pub place: Place,
    /// Corner whose checks it belongs to.
    pub corner: Option<Corner>,
    /// Where it is, m.
    pub at: Option<Point>,
    /// What is in it.
    pub charge: Charge,
    /// What its papers say.
    pub papers: Papers,
    /// How it is held.
    pub mount: Option<Mount>,
}

/// What is in a bottle.
#[derive(Clone, Debug)]
pub struct Charge {
    /// Agent name, or `custom`.
    pub agent: Option<Word>,
    /// Density of a custom agent.
    pub density: Option<Given<Density>>,
    /// Viscosity of a custom agent.
    pub viscosity: Option<Given<Viscosity>>,
    /// Vapour pressure of a custom agent, where it has one that matters.
    pub vapour_pressure: Option<Given<Pressure>>,
    /// Mass of agent.
    pub agent_mass: Option<Given<Mass>>,
    /// Internal volume.
    pub volume: Option<Given<Volume>>,
    /// Charge pressure at the charge temperature.
    pub pressure: Option<Given<Pressure>>,
    /// Temperature the charge pressure is given at.
    pub charged_at: Option<Given<Temperature>>,
    /// The bottle's own temperature; default: the system's.
    pub temperature: Option<Given<Temperature>>,
    /// Loss of valve and dip tube on the first line's bore.
    pub outlet_k: Option<Given<Ratio>>,
    /// Whether it has a check valve.
    pub check_valve: Option<bool>,
    /// Time its valve takes to open.
    pub valve_opening: Option<Given<Time>>,
    /// Nitrogen dissolved in the agent, as Ostwald's coefficient.
    pub dissolved_nitrogen: Option<Given<Ratio>>,
    /// The maker's table: temperature against pressure.
    pub pressure_chart: Vec<(f64, f64)>,
}

/// What a bottle's papers say.
#[derive(Clone, Debug)]
pub struct Papers {
    /// Serial number.
    pub serial: Option<String>,
    /// Gross mass on the label.
    pub gross_mass: Option<Given<Mass>>,
    /// Last service.
    pub serviced: Option<Dated>,
    /// Service interval.
    pub service_every: Option<Span>,
    /// Last pressure test.
    pub tested: Option<Dated>,
    /// Test interval.
    pub test_every: Option<Span>,
}

/// How a bottle is held.
#[derive(Clone, Debug)]
pub struct Mount {
    /// Load it is worked for, in g.
    pub load_factor: Option<Given<Ratio>>,
    /// Bands.
    pub bands: Option<u32>,
    /// All bolts of the mount.
    pub bolts: Option<u32>,
    /// Bolt size, as stamped.
    pub bolt_size: Option<Word>,
    /// Bolt grade, as stamped.
    pub bolt_grade: Option<Word>,
    /// Between bolt rows along the bottle.
    pub span: Option<Given<Length>>,
    /// Between bolt rows across it.
    pub width: Option<Given<Length>>,
    /// Bottle axis to the mounting face.
    pub offset: Option<Given<Length>>,
}

/// A tee.
#[derive(Clone, Debug)]
pub struct Tee {
    /// Its id.
    pub id: String,
    /// Where it is, m.
    pub at: Option<Point>,
}

/// What a suppression line is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum Construction {
    Hard,
    Flexible,
}

/// How a line leaves the tee or nozzle at its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum LeavesBy {
    Run,
    Branch,
}

/// Fittings along a line, by kind.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Fittings {
    /// 90 degree elbows.
    pub elbow_90: u32,
    /// 45 degree elbows.
    pub elbow_45: u32,
    /// 90 degree bends.
    pub bend_90: u32,
    /// Unions.
    pub union: u32,
}

/// A suppression line.
#[derive(Clone, Debug)]
pub struct SupplyLine {
    /// The run.
    pub run: Run,
    /// Node it starts at.
    pub from: Word,
    /// Node it ends at.
    pub to: Word,
    /// Hard or flexible.
    pub construction: Option<Construction>,
    /// Fittings, where they were counted.
    pub fittings: Option<Fittings>,
    /// How it leaves its start.
    pub leaves_by: Option<LeavesBy>,
    /// An extra loss at its inlet.
    pub inlet_k: Option<Given<Ratio>>,
    /// Wall roughness.
    pub roughness: Option<Given<Length>>,
}

impl Suppression {
    pub(super) fn read(r: &Reader<'_>, scale: f64) -> Self {
        Self {
            temperature: r
                .quantity("temperature", "Temperature of the bottles when the discharge is worked out."),
            release_heads: r.count("release_heads", "Release heads fitted; each has one pin."),
            gas_exponent: exponent(r),
            bottles: r.tables("bottle", "Bottles of the system, with charge, papers and mount.", |r| {
                Bottle::read(r, scale)
            }),
            tees: r.tables("tee", "Tees where a line branches.", |r| Tee {
                id: r.id("id", "Name of the tee."),
                at: at(r, scale),
            }),
            lines: r.tables("line", "Lines from bottle to nozzle.", |r| SupplyLine::read(r, scale)),
            nozzles: r
                .tables("nozzle", "Nozzles, with where they stand and point.", |r| Nozzle::read(r, scale)),
            hazards: r.tables("hazard", "Boxes that must be wetted.", |r| Hazard {
                id: r.id("id", "Name of the hazard."),
                corners: corners(r, scale),
                face: face(r),
            }),
            shields: r.tables("shield", "Boxes that stop spray.", |r| Shield::read(r, scale)),
            keep_clear: r
                .tables("keep_clear", "Boxes that agent must not be aimed at.", |r| Shield::read(r, scale)),
            space: r.table("space", "The space the agent goes into, for its quantity.", |r| Space {
                volume: r.positive("volume", "Volume of engine bay or compartment, less what stands in it."),
                temperature: r.positive("temperature", "The coldest it has to work at."),
            }),
            pulls: r.tables("pull", "Pull cables that open the valves.", Pull::read),
        }
    }
}

fn exponent(r: &Reader<'_>) -> Option<Given<Ratio>> {
    let exponent = r.quantity(
        "gas_exponent",
        "Exponent of the gas charge, 1.0 isothermal to 1.4 adiabatic; default: 1.2 for a discharge of 3 s or less, 1.0 for 10 s or more.",
    );
    r.narrow("gas_exponent", || serde_json::json!({"minimum": 1.0, "maximum": 1.67}));
    let exponent = exponent?;
    if (1.0..=1.67).contains(&exponent.si()) {
        return Some(exponent);
    }
    let help = "1.0 is isothermal, 1.4 adiabatic for nitrogen";
    r.report(Diagnostic::error(&r.place("gas_exponent"), "a gas exponent lies between 1.0 and 1.67", help));
    None
}

pub(super) fn at(r: &Reader<'_>, scale: f64) -> Option<Point> {
    r.point("at", "Where it is, in the axes unit.").map(|p| p.map(|c| c * scale))
}

impl Bottle {
    fn read(r: &Reader<'_>, scale: f64) -> Self {
        let bottle = Self::read_keys(r, scale);
        let masses = bottle.charge.agent_mass.zip(bottle.papers.gross_mass);
        if masses.is_some_and(|(agent, gross)| agent.si() >= gross.si()) {
            let help = "gross_mass is shell, valve and agent together: check it and agent_mass";
            let message = format!("the bottle {} weighs no more than its agent", bottle.id);
            r.report(Diagnostic::error(&r.place("gross_mass"), message, help));
        }
        bottle
    }

    fn read_keys(r: &Reader<'_>, scale: f64) -> Self {
        Self {
            id: r.id("id", "Name of the bottle, unique in the file."),
            place: r.at.clone(),
            corner: r.choice("corner", "Corner whose checks it belongs to.", Corner::WORDS),
            at: at(r, scale),
            charge: Charge::read(r),
            papers: Papers {
                serial: r.text_or_number("serial", "Serial number on the shell.").map(|word| word.text),
                gross_mass: r.positive("gross_mass", "Gross mass on the label, charged."),
                serviced: r.date("serviced", "Date of the last service."),
                service_every: r.span("service_every", "Time between services, by its maker."),
                tested: r.date("tested", "Date of the last pressure test."),
                test_every: r.span("test_every", "Time between pressure tests."),
            },
            mount: r.table("mount", "How the bottle is held.", Mount::read),
        }
    }
}

impl Charge {
    fn read(r: &Reader<'_>) -> Self {
        Self {
            agent: r.word("agent", "Agent name as the agent table has it, or custom."),
            density: r.positive("density", "Liquid density of a custom agent."),
            viscosity: r.positive("viscosity", "Liquid viscosity of a custom agent."),
            vapour_pressure: r.quantity(
                "vapour_pressure",
                "Vapour pressure of a custom agent, where it has one that matters.",
            ),
            agent_mass: r.quantity("agent_mass", "Mass of agent in the bottle."),
            volume: r.positive("volume", "Internal volume of the shell."),
            pressure: r.quantity("charge_pressure", "Gauge pressure at the charge temperature."),
            charged_at: r.quantity("charge_temperature", "Temperature that the charge pressure is given at."),
            temperature: r.quantity("temperature", "The bottle's own temperature; default: the system's."),
            outlet_k: r.quantity(
                "outlet_k",
                "Loss of valve, dip tube and velocity head on the first line's bore; default: 2.5.",
            ),
            check_valve: r.flag("check_valve", "Whether the bottle has a check valve."),
            valve_opening: r.quantity("valve_opening", "Time the valve takes to open; default: 0.15 s."),
            dissolved_nitrogen: r.quantity(
                "dissolved_nitrogen",
                "Nitrogen dissolved in the agent, as Ostwald's coefficient; default: anything from 0 to 0.5.",
            ),
            pressure_chart: chart(r),
        }
    }
}

/// Pairs of temperature and pressure from the maker's table, rising in temperature.
fn chart(r: &Reader<'_>) -> Vec<(f64, f64)> {
    let pairs =
        r.pairs("pressure_chart", "The maker's table of pressure by temperature: [[\"40 F\", \"…\"], …].");
    let kinds = (Temperature::KIND, Pressure::KIND);
    r.narrow("pressure_chart", || {
        let row = serde_json::json!({
            "type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2
        });
        serde_json::json!({"type": "array", "items": row, "minItems": 2})
    });
    let Some(pairs) = pairs else { return Vec::new() };
    let rows = pairs.len();
    let chart: Vec<(f64, f64)> = pairs.into_iter().filter_map(|pair| r.pair(pair, kinds)).collect();
    if chart.len() < rows {
        return Vec::new();
    }
    if chart.len() < 2 || chart.windows(2).any(|two| matches!(two, [a, b] if a.0 >= b.0)) {
        let help = "give two rows or more, each warmer than the one before";
        r.report(Diagnostic::error(
            &r.place("pressure_chart"),
            "this table cannot be read between its rows",
            help,
        ));
        return Vec::new();
    }
    chart
}

impl Mount {
    fn read(r: &Reader<'_>) -> Self {
        let bolt = r.table("bolt", "One of the bolts: size and grade.", |r| {
            (
                r.word("size", "Thread as sold: 1/4-28 or M8x1.25."),
                r.word("grade", "Grade on its head: SAE 8 or 8.8."),
            )
        });
        let (bolt_size, bolt_grade) = bolt.unwrap_or_default();
        Self {
            load_factor: r.positive("load_factor", "Load the mount is worked for, in g; default: 25."),
            bands: r.count("bands", "Bands round the bottle."),
            bolts: r.count("bolts", "All bolts of the mount."),
            bolt_size,
            bolt_grade,
            span: r.positive("span", "Between bolt rows, along the bottle."),
            width: r.positive("width", "Between bolt rows, across the bottle."),
            offset: r.quantity("offset", "Bottle axis to the mounting face."),
        }
    }
}

impl SupplyLine {
    fn read(r: &Reader<'_>, scale: f64) -> Self {
        const MADE: &[(&str, Construction)] =
            &[("hard", Construction::Hard), ("flexible", Construction::Flexible)];
        const LEAVES: &[(&str, LeavesBy)] = &[("run", LeavesBy::Run), ("branch", LeavesBy::Branch)];
        Self {
            run: Run::read(r, scale),
            from: r.need_word("from", "The bottle, tee or nozzle it starts at."),
            to: r.need_word("to", "The tee or nozzle it ends at."),
            construction: r.choice("construction", "Whether the line is hard tube or flexible hose.", MADE),
            fittings: fittings(r),
            leaves_by: r.choice(
                "leaves_by",
                "How it leaves the tee or nozzle at its start; default: branch.",
                LEAVES,
            ),
            inlet_k: r.quantity("inlet_k", "An extra loss at its inlet, on its own bore."),
            roughness: r.quantity("roughness", "Wall roughness; default: 0.0015 mm."),
        }
    }
}

fn fittings(r: &Reader<'_>) -> Option<Fittings> {
    let counted = r.map(
        "fittings",
        "Fittings along it: elbow-90, elbow-45, bend-90, union; default: the path's turns.",
        FieldKind::Count,
        parse_count,
    );
    let known = ["elbow-90", "elbow-45", "bend-90", "union"];
    r.narrow("fittings", || serde_json::json!({"propertyNames": {"enum": known}}));
    let counted = counted?;
    let mut fittings = Fittings::default();
    for (word, count) in counted {
        match word.as_str() {
            "elbow-90" => fittings.elbow_90 = count,
            "elbow-45" => fittings.elbow_45 = count,
            "bend-90" => fittings.bend_90 = count,
            "union" => fittings.union = count,
            other => {
                let help = "fittings known here: elbow-90, elbow-45, bend-90, union";
                r.report(Diagnostic::error(&word.at, format!("unknown fitting {other}"), help));
            }
        }
    }
    Some(fittings)
}

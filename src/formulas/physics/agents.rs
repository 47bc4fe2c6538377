//! Suppression agents as liquids: density, viscosity and vapour pressure by temperature, each row with its source.

use crate::cite::{Basis, Cite};
use crate::units::{AMBIENT, Density, Temperature, Viscosity};

/// What an agent is in a bottle under nitrogen, which says how full it may be and what its gauge may be judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AgentKind {
    /// Water and what is dissolved in it: it expands as water, and next to no nitrogen goes into it.
    WaterBased,
    /// A liquid that takes up nitrogen and has little vapour of its own near room temperature.
    Liquid,
    /// A gas made liquid by pressure; its gauge follows its maker's chart only.
    LiquefiedGas,
}

/// One agent.
#[derive(Clone, Debug)]
pub struct Agent {
    /// The name in car files.
    pub name: &'static str,
    /// Other names it may be given.
    pub also: &'static [&'static str],
    /// What it is in a bottle.
    pub kind: AgentKind,
    /// Liquid density, kg/m3, by temperature, C.
    pub density: &'static [(f64, f64)],
    /// Liquid viscosity, mPa.s, by temperature, C.
    pub viscosity: &'static [(f64, f64)],
    /// Vapour pressure, bar absolute, by temperature, C.
    pub vapour: &'static [(f64, f64)],
    /// Where density and vapour pressure come from.
    pub density_cite: Cite,
    /// Where the viscosity comes from.
    pub viscosity_cite: Cite,
}

/// What is known of an agent at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Liquid {
    /// Saturated liquid density.
    pub density: Density,
    /// Dynamic viscosity.
    pub viscosity: Viscosity,
    /// Vapour pressure, Pa absolute.
    pub vapour_pressure: f64,
    /// Whether it boils at ambient pressure, so that working it as liquid is optimistic.
    pub boils_at_ambient: bool,
}

const PROPERTY_LIBRARY: Cite = Cite::new("CoolProp 8.0.0, saturated liquid", "", Basis::Computed);
const DATA_SHEETS: Cite = Cite::new("makers' data sheets", "", Basis::FromMemory);

/// Every agent known.
pub const AGENTS: &[Agent] = &[
    Agent {
        name: "FK-5-1-12",
        also: &[],
        kind: AgentKind::Liquid,
        density: &[
            (0.0, 1675.3),
            (20.0, 1617.2),
            (25.0, 1602.2),
            (40.0, 1556.0),
            (50.0, 1523.9),
            (55.0, 1507.3),
            (60.0, 1490.5),
        ],
        // Kinematic 0.56 and 0.39 mm2/s at 0 and 25 C; between and beyond by ln(viscosity) over 1/T.
        viscosity: &[(0.0, 0.94), (25.0, 0.62)],
        vapour: &[(0.0, 0.1246), (20.0, 0.3259), (25.0, 0.4040), (40.0, 0.7318), (60.0, 1.4594)],
        density_cite: PROPERTY_LIBRARY,
        viscosity_cite: DATA_SHEETS,
    },
    Agent {
        name: "HFC-227ea",
        also: &[],
        kind: AgentKind::LiquefiedGas,
        density: &[
            (0.0, 1486.0),
            (20.0, 1408.4),
            (25.0, 1387.7),
            (40.0, 1320.9),
            (50.0, 1271.4),
            (55.0, 1244.8),
            (60.0, 1216.5),
        ],
        viscosity: &[(0.0, 0.3346), (20.0, 0.2561), (25.0, 0.2394), (40.0, 0.1948), (60.0, 0.1450)],
        vapour: &[(0.0, 1.9536), (20.0, 3.8908), (25.0, 4.5473), (40.0, 7.0245), (60.0, 11.7591)],
        density_cite: PROPERTY_LIBRARY,
        viscosity_cite: PROPERTY_LIBRARY,
    },
    Agent {
        name: "HFC-236fa",
        also: &[],
        kind: AgentKind::LiquefiedGas,
        density: &[
            (0.0, 1441.4),
            (20.0, 1376.7),
            (25.0, 1359.8),
            (40.0, 1306.5),
            (50.0, 1268.6),
            (55.0, 1248.7),
            (60.0, 1228.0),
        ],
        viscosity: &[(0.0, 0.3963), (20.0, 0.3046), (25.0, 0.2860), (40.0, 0.2374), (60.0, 0.1851)],
        vapour: &[(0.0, 1.0776), (20.0, 2.2936), (25.0, 2.7194), (40.0, 4.3672), (60.0, 7.6301)],
        density_cite: PROPERTY_LIBRARY,
        viscosity_cite: PROPERTY_LIBRARY,
    },
    Agent {
        name: "water",
        also: &[],
        kind: AgentKind::WaterBased,
        density: WATER_DENSITY,
        viscosity: &[(0.0, 1.7914), (20.0, 1.0016), (25.0, 0.8900), (40.0, 0.6527), (60.0, 0.4660)],
        vapour: WATER_VAPOUR,
        density_cite: PROPERTY_LIBRARY,
        viscosity_cite: PROPERTY_LIBRARY,
    },
    Agent {
        name: "AFFF premix",
        also: &["AFFF 3 %", "AFFF 6 %", "AFFF"],
        kind: AgentKind::WaterBased,
        // 1005 at 20 C, expanding as water does.
        density: &[
            (0.0, 1006.6),
            (20.0, 1005.0),
            (25.0, 1003.8),
            (40.0, 999.0),
            (50.0, 994.7),
            (55.0, 992.4),
            (60.0, 989.9),
        ],
        // Water's, times 1.2.
        viscosity: &[(0.0, 2.150), (20.0, 1.202), (25.0, 1.068), (40.0, 0.783), (60.0, 0.559)],
        vapour: WATER_VAPOUR,
        density_cite: DATA_SHEETS,
        viscosity_cite: DATA_SHEETS,
    },
    Agent {
        name: "potassium-salt mix",
        also: &[],
        kind: AgentKind::WaterBased,
        // 1250 at 20 C, expanding as water does.
        density: &[
            (0.0, 1252.0),
            (20.0, 1250.0),
            (25.0, 1248.5),
            (40.0, 1242.5),
            (50.0, 1237.2),
            (55.0, 1234.3),
            (60.0, 1231.2),
        ],
        viscosity: &[(0.0, 3.5), (60.0, 3.5)],
        // Below water's; water's is the safe side.
        vapour: WATER_VAPOUR,
        density_cite: DATA_SHEETS,
        viscosity_cite: DATA_SHEETS,
    },
];

const WATER_DENSITY: &[(f64, f64)] =
    &[(0.0, 999.8), (20.0, 998.2), (25.0, 997.0), (40.0, 992.2), (50.0, 988.0), (55.0, 985.7), (60.0, 983.2)];
const WATER_VAPOUR: &[(f64, f64)] =
    &[(0.0, 0.0061), (20.0, 0.0234), (25.0, 0.0317), (40.0, 0.0738), (60.0, 0.1995)];

/// Coldest and warmest the tables are used at, C.
pub const RANGE: (f64, f64) = (0.0, 60.0);

/// An agent by name, whatever its capitals.
///
/// # Example
/// ```
/// use linewalk_formulas::physics::agents::agent;
/// assert_eq!(agent("fk-5-1-12").map(|agent| agent.name), Some("FK-5-1-12"));
/// assert_eq!(agent("AFFF 6 %").map(|agent| agent.name), Some("AFFF premix"));
/// ```
pub fn agent(name: &str) -> Option<&'static Agent> {
    let named = |known: &str| known.eq_ignore_ascii_case(name.trim());
    AGENTS.iter().find(|agent| named(agent.name) || agent.also.iter().any(|other| named(other)))
}

impl Agent {
    /// The liquid at a temperature; `None` outside 0 to 60 C, where no table was read.
    ///
    /// # Formula
    /// density straight between rows; ln(viscosity) and ln(vapour pressure) straight in 1/T between rows
    /// # Symbols
    /// T `temperature` (K)
    /// # Valid range
    /// 0 to 60 C; FK-5-1-12's viscosity is carried past 25 C by the same line.
    /// # Errors
    /// `None` outside the range.
    /// # Source
    /// Each row's own; the forms are the usual ones for liquids (Andrade, Clausius-Clapeyron; from memory).
    /// # Example
    /// ```
    /// use linewalk_formulas::physics::agents::agent;
    /// use linewalk_formulas::units::Temperature;
    /// let liquid = agent("FK-5-1-12").and_then(|agent| agent.at(Temperature::from_celsius(20.0)));
    /// assert!(liquid.is_some_and(|liquid| (liquid.density.si() - 1617.2).abs() < 1e-9));
    /// ```
    pub fn at(&self, temperature: Temperature) -> Option<Liquid> {
        let celsius = temperature.si() - 273.15;
        // A hundredth of a degree of grace: 32 F and 140 F are the ends.
        if !(RANGE.0 - 0.01..=RANGE.1 + 0.01).contains(&celsius) {
            return None;
        }
        let vapour_pressure = 1e5 * logarithmic(self.vapour, celsius);
        Some(Liquid {
            density: Density::from_si(straight(self.density, celsius)),
            viscosity: Viscosity::from_si(1e-3 * logarithmic(self.viscosity, celsius)),
            vapour_pressure,
            boils_at_ambient: vapour_pressure > AMBIENT,
        })
    }
}

/// The two rows about a temperature; the nearest two beyond an end.
fn rows(table: &[(f64, f64)], celsius: f64) -> ((f64, f64), (f64, f64)) {
    let mut pair = ((0.0, 0.0), (1.0, 0.0));
    for rows in table.windows(2) {
        if let [low, high] = rows {
            pair = (*low, *high);
            if celsius <= high.0 {
                break;
            }
        }
    }
    pair
}

fn straight(table: &[(f64, f64)], celsius: f64) -> f64 {
    let ((t1, y1), (t2, y2)) = rows(table, celsius);
    y1 + (y2 - y1) * (celsius - t1) / (t2 - t1)
}

fn logarithmic(table: &[(f64, f64)], celsius: f64) -> f64 {
    let ((t1, y1), (t2, y2)) = rows(table, celsius);
    let inverse = |celsius: f64| 1.0 / (celsius + 273.15);
    let share = (inverse(celsius) - inverse(t1)) / (inverse(t2) - inverse(t1));
    (y1.ln() + (y2.ln() - y1.ln()) * share).exp()
}

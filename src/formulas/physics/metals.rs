//! The metals lines are made of.

use crate::cite::{Basis, Cite};
use crate::units::{Density, Pressure};

/// Which column of a published support or bend table a metal belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Steel, plain or stainless.
    Steel,
    /// Aluminium alloys.
    Aluminium,
    /// Copper and its alloys: the published tables have no column of their own for it.
    Copper,
}

/// One tube metal, with the source of each kind of value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Metal {
    /// The name shown.
    pub name: &'static str,
    /// Other names it answers to, lower case, letters and digits only.
    pub also: &'static [&'static str],
    /// The column it belongs to.
    pub family: Family,
    /// Allowable stress near room temperature (Pa).
    pub allowable: Pressure,
    /// Least tensile strength (Pa).
    pub tensile: Pressure,
    /// Elastic modulus at 20 °C (Pa).
    pub elastic_modulus: Pressure,
    /// Density at 20 °C (kg/m³).
    pub density: Density,
    /// Where the allowable stress comes from.
    pub allowable_cite: Cite,
    /// Where the tensile strength comes from.
    pub tensile_cite: Cite,
    /// Where modulus and density come from.
    pub elastic_cite: Cite,
}

const MPA: f64 = 1e6;
const GPA: f64 = 1e9;
const A1: Cite = Cite::new("ASME B31.3", "Table A-1", Basis::FromMemory);
// Metals the code does not list for tube of this kind take its basis for unlisted ductile metals.
const UNLISTED: Cite = Cite::new(
    "a third of the least tensile or two thirds of the least yield, whichever is less",
    "",
    Basis::Computed,
);
const A213: Cite = Cite::new("ASTM A213", "tensile requirements", Basis::FromMemory);
const GENERAL: Cite = Cite::new("general metals data", "", Basis::FromMemory);
const HDBK5: Cite = Cite::new("MIL-HDBK-5", "design tables", Basis::FromMemory);
const COPPER: Cite = Cite::new("copper-alloy data sheets", "", Basis::FromMemory);

const fn memory(document: &'static str, clause: &'static str) -> Cite {
    Cite::new(document, clause, Basis::FromMemory)
}

/// Stress in MPa, modulus in GPa, density in kg/m³, as the tables print them.
#[expect(clippy::too_many_arguments, reason = "a table row")]
const fn row(
    name: &'static str,
    also: &'static [&'static str],
    family: Family,
    (allowable, allowable_cite): (f64, Cite),
    (tensile, tensile_cite): (f64, Cite),
    modulus: f64,
    density: f64,
    elastic_cite: Cite,
) -> Metal {
    Metal {
        name,
        also,
        family,
        allowable: Pressure::from_si(allowable * MPA),
        tensile: Pressure::from_si(tensile * MPA),
        elastic_modulus: Pressure::from_si(modulus * GPA),
        density: Density::from_si(density),
        allowable_cite,
        tensile_cite,
        elastic_cite,
    }
}

use Family::{Aluminium, Copper, Steel};

/// Every metal known by name. The unlisted allowables are worked from the least strengths: seamless 1010
/// (SAE J524, 172/310 MPa), brazed double wall (SAE J527, 172/290), 4130 N (517/655), 5052-O (69/172).
pub static METALS: &[Metal] = &[
    row(
        "316",
        &["316ss", "ss316", "stainless", "316316l"],
        Steel,
        (137.9, A1),
        (515.0, A213),
        193.0,
        8000.0,
        GENERAL,
    ),
    row("304", &["304ss", "ss304", "304304l"], Steel, (137.9, A1), (515.0, A213), 193.0, 8000.0, GENERAL),
    row("321", &["321ss", "ss321"], Steel, (137.9, A1), (515.0, A213), 193.0, 7900.0, GENERAL),
    row("316L", &["ss316l"], Steel, (115.1, A1), (485.0, A213), 193.0, 8000.0, GENERAL),
    row("304L", &["ss304l"], Steel, (115.1, A1), (485.0, A213), 193.0, 8000.0, GENERAL),
    row(
        "1010",
        &["steel", "mildsteel", "carbonsteel", "lowcarbonsteel", "1010steel", "saej524"],
        Steel,
        (103.4, UNLISTED),
        (310.0, memory("SAE J524", "mechanical properties")),
        205.0,
        7850.0,
        GENERAL,
    ),
    row(
        "brazed steel",
        &["doublewall", "brazed", "doublewallsteel", "saej527"],
        Steel,
        (96.5, UNLISTED),
        (290.0, memory("SAE J527", "mechanical properties")),
        205.0,
        7850.0,
        GENERAL,
    ),
    row(
        "4130",
        &["4130n", "chromemoly", "cromoly"],
        Steel,
        (218.3, UNLISTED),
        (655.0, HDBK5),
        200.0,
        7850.0,
        HDBK5,
    ),
    row(
        "copper-nickel",
        &["cuni", "9010", "cuni9010", "nickelcopper", "c70600"],
        Copper,
        (60.0, A1),
        (262.0, memory("ASTM B466", "soft temper")),
        124.0,
        8940.0,
        COPPER,
    ),
    row(
        "copper",
        &["c12200"],
        Copper,
        (41.4, A1),
        (207.0, memory("ASTM B75", "annealed")),
        117.0,
        8940.0,
        COPPER,
    ),
    row(
        "6061-T6",
        &["6061", "aluminium", "aluminum", "alloy"],
        Aluminium,
        (96.5, A1),
        (290.0, memory("ASTM B210", "tensile table")),
        68.9,
        2700.0,
        HDBK5,
    ),
    row(
        "5052-O",
        &["5052"],
        Aluminium,
        (46.0, UNLISTED),
        (172.0, memory("ASTM B210", "tensile table")),
        70.3,
        2680.0,
        HDBK5,
    ),
];

/// Finds a metal by any of its names; case, spaces and marks do not count.
///
/// # Example
/// ```
/// use linewalk_formulas::physics::metals::metal;
/// assert_eq!(metal("Copper Nickel").map(|m| m.name), Some("copper-nickel"));
/// assert!(metal("unobtainium").is_none());
/// ```
pub fn metal(name: &str) -> Option<&'static Metal> {
    let wanted = folded_name(name);
    METALS.iter().find(|m| folded_name(m.name) == wanted || m.also.contains(&wanted.as_str()))
}

/// Lower case, letters and digits only.
fn folded_name(name: &str) -> String {
    name.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_lowercase()).collect()
}

//! The units a person may write, each with its exact factor to SI.
//!
//! Factors are built from exact definitions only (NIST SP 811, appendix B): the inch is 25.4 mm, the pound
//! 0.453 592 37 kg, standard free fall 9.806 65 m/s2, the US gallon 231 cubic inches.

use super::{AMBIENT, INCH, Kind, PSI, STANDARD_GRAVITY, Units, default_unit};

/// The avoirdupois pound in kilograms, exactly.
const POUND: f64 = 0.453_592_37;
/// One pound-force in newtons.
const POUND_FORCE: f64 = POUND * STANDARD_GRAVITY;
/// One foot in metres.
const FOOT: f64 = 12.0 * INCH;
/// The US liquid gallon in cubic metres: 231 cubic inches.
const GALLON: f64 = 231.0 * INCH * INCH * INCH;
/// One litre in cubic metres.
const LITRE: f64 = 1e-3;
/// Mean days in a month of the Julian year, 365.25 / 12; only for showing a span of months as days.
pub(super) const DAYS_A_MONTH: f64 = 30.4375;

/// One unit: SI = (written + `before`) x `scale` / sqrt(`root`) + `after`.
#[derive(Debug)]
pub(super) struct Unit {
    pub kind: Kind,
    /// How it is shown.
    pub name: &'static str,
    /// How it may be written, after [`normalise`].
    pub spellings: &'static [&'static str],
    scale: f64,
    root: f64,
    before: f64,
    after: f64,
}

impl Unit {
    /// SI for one unit, without any shift of the zero.
    pub fn factor(&self) -> f64 {
        if self.root == 1.0 { self.scale } else { self.scale / self.root.sqrt() }
    }

    /// The SI value of a number written in this unit.
    pub fn to_si(&self, written: f64) -> f64 {
        (written + self.before) * self.factor() + self.after
    }

    /// The number to write in this unit for an SI value.
    pub fn in_unit(&self, si: f64) -> f64 {
        (si - self.after) / self.factor() - self.before
    }
}

/// A unit whose zero is the zero of the SI unit.
const fn unit(kind: Kind, name: &'static str, scale: f64, spellings: &'static [&'static str]) -> Unit {
    Unit { kind, name, spellings, scale, root: 1.0, before: 0.0, after: 0.0 }
}

/// A unit with a shifted zero.
const fn shifted(unit: Unit, before: f64, after: f64) -> Unit {
    Unit { before, after, ..unit }
}

/// A unit over the square root of a pressure in Pa.
const fn over_root(unit: Unit, pressure: f64) -> Unit {
    Unit { root: pressure, ..unit }
}

/// A plain number, for shares and other ratios.
pub(super) static PLAIN: Unit = unit(Kind::Ratio, "", 1.0, &["", "1"]);

/// Every unit that has a spelling.
pub(super) static UNITS: &[Unit] = &[
    unit(Kind::Length, "in", INCH, &["in", "inch", "inches", "\"", "''"]),
    unit(Kind::Length, "ft", FOOT, &["ft", "foot", "feet", "'"]),
    unit(Kind::Length, "mm", 1e-3, &["mm", "MM", "millimetre", "millimetres", "millimeter", "millimeters"]),
    unit(Kind::Length, "cm", 1e-2, &["cm", "centimetre", "centimetres", "centimeter", "centimeters"]),
    unit(Kind::Length, "m", 1.0, &["m", "metre", "metres", "meter", "meters"]),
    unit(Kind::Length, "um", 1e-6, &["um", "micron", "microns"]),
    unit(Kind::Length, "thou", INCH / 1000.0, &["thou", "mil", "mils"]),
    unit(Kind::Mass, "lb", POUND, &["lb", "lbs", "lbm", "pound", "pounds"]),
    unit(Kind::Mass, "oz", POUND / 16.0, &["oz", "ounce", "ounces"]),
    unit(Kind::Mass, "kg", 1.0, &["kg", "kgs", "kilogram", "kilograms"]),
    unit(Kind::Mass, "g", 1e-3, &["g", "gram", "grams"]),
    unit(Kind::Force, "lbf", POUND_FORCE, &["lbf"]),
    unit(Kind::Force, "N", 1.0, &["N", "newton", "newtons"]),
    unit(Kind::Force, "kN", 1e3, &["kN"]),
    unit(Kind::Force, "kgf", STANDARD_GRAVITY, &["kgf"]),
    unit(Kind::Torque, "lbf.ft", POUND_FORCE * FOOT, &["lbf.ft", "ft.lbf", "lbfft", "ftlbf"]),
    unit(Kind::Torque, "lbf.in", POUND_FORCE * INCH, &["lbf.in", "in.lbf", "lbfin", "inlbf"]),
    unit(Kind::Torque, "N.m", 1.0, &["N.m", "Nm"]),
    unit(Kind::Pressure, "psi", PSI, &["psi", "psig", "lbf/in2"]),
    unit(Kind::Pressure, "ksi", PSI * 1e3, &["ksi"]),
    unit(Kind::Pressure, "bar", 1e5, &["bar", "bars", "barg", "bar(g)"]),
    unit(Kind::Pressure, "Pa", 1.0, &["Pa"]),
    unit(Kind::Pressure, "kPa", 1e3, &["kPa"]),
    unit(Kind::Pressure, "MPa", 1e6, &["MPa", "Mpa", "MPA"]),
    unit(Kind::Pressure, "GPa", 1e9, &["GPa"]),
    shifted(unit(Kind::Pressure, "psia", PSI, &["psia", "psi abs"]), 0.0, -AMBIENT),
    shifted(unit(Kind::Pressure, "bara", 1e5, &["bara", "bar(a)", "bar abs"]), 0.0, -AMBIENT),
    shifted(unit(Kind::Temperature, "F", 1.0 / 1.8, &["F", "f", "fahrenheit"]), 459.67, 0.0),
    shifted(unit(Kind::Temperature, "C", 1.0, &["C", "c", "celsius"]), 273.15, 0.0),
    unit(Kind::Temperature, "K", 1.0, &["K", "kelvin", "kelvins"]),
    unit(Kind::TemperatureDifference, "F diff", 1.0 / 1.8, &["F diff", "Fdiff"]),
    unit(Kind::TemperatureDifference, "C diff", 1.0, &["C diff", "Cdiff"]),
    unit(Kind::TemperatureDifference, "K diff", 1.0, &["K diff", "Kdiff"]),
    unit(Kind::Volume, "in3", INCH * INCH * INCH, &["in3", "cuin", "cu in", "cubic inch", "cubic inches"]),
    unit(Kind::Volume, "ft3", FOOT * FOOT * FOOT, &["ft3", "cuft", "cu ft", "cubic foot", "cubic feet"]),
    unit(Kind::Volume, "L", LITRE, &["L", "l", "litre", "litres", "liter", "liters"]),
    unit(Kind::Volume, "mL", LITRE * 1e-3, &["mL", "ml", "millilitre", "millilitres"]),
    unit(Kind::Volume, "cm3", 1e-6, &["cm3", "cc"]),
    unit(Kind::Volume, "m3", 1.0, &["m3"]),
    unit(
        Kind::Volume,
        "gal",
        GALLON,
        &["gal", "gal(US)", "gal (US)", "US gal", "USgal", "gal US", "gallon", "gallons"],
    ),
    unit(
        Kind::Volume,
        "floz",
        GALLON / 128.0,
        &["floz", "fl oz", "fl.oz", "US floz", "US fl oz", "fluid ounce", "fluid ounces"],
    ),
    unit(Kind::Density, "kg/m3", 1.0, &["kg/m3"]),
    unit(Kind::Density, "g/mL", 1e3, &["g/mL", "g/cm3", "g/cc", "kg/L"]),
    unit(Kind::Viscosity, "mPa.s", 1e-3, &["mPa.s", "mPas", "cP"]),
    unit(Kind::Viscosity, "Pa.s", 1.0, &["Pa.s"]),
    unit(Kind::Angle, "deg", std::f64::consts::PI / 180.0, &["deg", "degree", "degrees"]),
    unit(Kind::Angle, "rad", 1.0, &["rad", "radian", "radians"]),
    unit(Kind::Ratio, "%", 1e-2, &["%", "percent", "per cent", "pct"]),
    unit(Kind::Time, "s", 1.0, &["s", "sec", "secs", "second", "seconds"]),
    unit(Kind::Time, "ms", 1e-3, &["ms"]),
    unit(Kind::Time, "min", 60.0, &["min", "mins", "minute", "minutes"]),
    unit(Kind::Time, "h", 3600.0, &["h", "hr", "hrs", "hour", "hours"]),
    unit(Kind::Span, "days", 1.0, &["days", "day"]),
    unit(Kind::Span, "weeks", 7.0, &["weeks", "week"]),
    unit(Kind::Span, "months", DAYS_A_MONTH, &["months", "month"]),
    unit(Kind::Span, "years", DAYS_A_MONTH * 12.0, &["years", "year", "yr", "yrs"]),
    unit(Kind::Rate, "rpm", 1.0 / 60.0, &["rpm", "rev/min", "r/min", "1/min"]),
    unit(Kind::Rate, "Hz", 1.0, &["Hz", "1/s", "rev/s"]),
    unit(Kind::Voltage, "V", 1.0, &["V", "v", "volt", "volts"]),
    unit(Kind::Voltage, "mV", 1e-3, &["mV"]),
    unit(Kind::Current, "A", 1.0, &["A", "a", "amp", "amps"]),
    unit(Kind::Current, "mA", 1e-3, &["mA"]),
    unit(Kind::Resistance, "ohm", 1.0, &["ohm", "ohms"]),
    unit(Kind::Resistance, "mohm", 1e-3, &["mohm", "milliohm", "milliohms"]),
    over_root(
        unit(
            Kind::NozzleFactor,
            "gpm/psi^0.5",
            GALLON / 60.0,
            &["gpm/psi^0.5", "gpm/sqrt(psi)", "gpm/psi^(1/2)"],
        ),
        PSI,
    ),
    over_root(
        unit(
            Kind::NozzleFactor,
            "L/min/bar^0.5",
            LITRE / 60.0,
            &["L/min/bar^0.5", "L/min/sqrt(bar)", "L/min/bar^(1/2)", "lpm/bar^0.5"],
        ),
        1e5,
    ),
    unit(Kind::NozzleFactor, "m3/s/Pa^0.5", 1.0, &["m3/s/Pa^0.5"]),
    unit(Kind::Flow, "gpm", GALLON / 60.0, &["gpm", "gal/min", "gpm(US)"]),
    unit(Kind::Flow, "L/min", LITRE / 60.0, &["L/min", "lpm"]),
    unit(Kind::Flow, "L/s", LITRE, &["L/s"]),
    unit(Kind::Flow, "mL/s", LITRE * 1e-3, &["mL/s"]),
    unit(Kind::Flow, "m3/s", 1.0, &["m3/s"]),
    unit(Kind::Speed, "mph", FOOT * 5280.0 / 3600.0, &["mph", "mi/h", "miles per hour"]),
    unit(Kind::Speed, "ft/s", FOOT, &["ft/s", "fps"]),
    unit(Kind::Speed, "km/h", 1.0 / 3.6, &["km/h", "kmh", "kph"]),
    unit(Kind::Speed, "m/s", 1.0, &["m/s"]),
    // The international table's: a pound of water by one degree Fahrenheit takes as much as a kilogram by one kelvin, 4186.8 J.
    unit(Kind::SpecificHeat, "Btu/lb/F", 4186.8, &["Btu/lb/F", "Btu/(lb.F)", "Btu/lb.F"]),
    unit(Kind::SpecificHeat, "J/kg/K", 1.0, &["J/kg/K", "J/(kg.K)", "J/kg.K"]),
    unit(Kind::SpecificHeat, "kJ/kg/K", 1e3, &["kJ/kg/K", "kJ/(kg.K)", "kJ/kg.K"]),
];

/// Spellings whose capitals carry meaning: M is a million and m a thousandth, and single letters mean too much.
pub(super) fn capitals_matter(spelling: &str) -> bool {
    let prefixed = ["mm", "ml", "mv", "ma", "ms", "mohm", "mpa", "mpa.s", "mpas", "ml/s"];
    spelling.chars().count() == 1 || prefixed.contains(&spelling.to_ascii_lowercase().as_str())
}

/// Brings the ways of typing a unit to one: typographic signs, spaces, trailing full stops.
pub(super) fn normalise(text: &str) -> String {
    let mut words = Vec::new();
    for word in text.split_whitespace() {
        let word = word.trim_end_matches('.');
        if !word.is_empty() {
            words.push(word);
        }
    }
    let mut out = String::new();
    for c in words.join(" ").chars() {
        match c {
            '·' | '⋅' | '*' | '-' | '‑' => out.push('.'),
            '²' => out.push('2'),
            '³' => out.push('3'),
            '°' | 'º' => out.push_str("deg "),
            'Ω' | '\u{2126}' => out.push_str("ohm"),
            'µ' | 'μ' => out.push('u'),
            '″' | '”' => out.push('"'),
            '′' | '’' => out.push('\''),
            '√' => out.push_str("sqrt"),
            _ => out.push(c),
        }
    }
    for (from, to) in [
        ("^3", "3"),
        ("^2", "2"),
        (" / ", "/"),
        (" /", "/"),
        ("/ ", "/"),
        ("  ", " "),
        ("difference", "diff"),
        ("sqrtpsi", "sqrt(psi)"),
        ("sqrtbar", "sqrt(bar)"),
    ] {
        out = out.replace(from, to);
    }
    let out = out.trim();
    // "deg F", "degF" and "°F" are all F; "deg" alone stays an angle.
    match out.strip_prefix("deg").map(str::trim_start) {
        Some(rest) if rest.starts_with(['F', 'f', 'C', 'c', 'K']) => rest.to_owned(),
        _ => out.to_owned(),
    }
}

/// The unit written so, of whatever kind: exactly, else with other capitals where those carry no meaning.
pub(super) fn find(text: &str) -> Option<&'static Unit> {
    let spelled = |matches: &dyn Fn(&str) -> bool| {
        UNITS.iter().find(|unit| unit.spellings.iter().any(|spelling| matches(spelling)))
    };
    // Nearly every unit is written as the table has it, which needs no normal form.
    if let Some(unit) = spelled(&|s| s == text) {
        return Some(unit);
    }
    let wanted = normalise(text);
    let dotted = wanted.replace(' ', ".");
    spelled(&|s| s == wanted || s == dotted).or_else(|| {
        spelled(&|s| {
            !capitals_matter(s) && (s.eq_ignore_ascii_case(&wanted) || s.eq_ignore_ascii_case(&dotted))
        })
    })
}

/// The unit of `kind` written so. A temperature's letter also names the unit of a difference here, because the
/// caller has said which of the two is meant.
pub(super) fn find_for(text: &str, kind: Kind) -> Option<&'static Unit> {
    if kind == Kind::Ratio && PLAIN.spellings.contains(&text.trim()) {
        return Some(&PLAIN);
    }
    let unit = find(text)?;
    if unit.kind == kind {
        Some(unit)
    } else if unit.kind == Kind::Temperature && kind == Kind::TemperatureDifference {
        find(&format!("{} diff", unit.name))
    } else {
        None
    }
}

/// The name of the unit of `kind` whose spelling is nearest, where one is near enough to be a slip.
pub(super) fn nearest(text: &str, kind: Kind) -> Option<&'static str> {
    let wanted = normalise(text).to_lowercase();
    let length = wanted.chars().count();
    if length > 20 {
        return None;
    }
    let allowed = if length <= 3 { 1 } else { 2 };
    UNITS
        .iter()
        .filter(|unit| unit.kind == kind)
        .flat_map(|unit| unit.spellings.iter().map(move |spelling| (unit.name, *spelling)))
        .filter(|(_, spelling)| length > 1 || spelling.eq_ignore_ascii_case(&wanted))
        .map(|(name, spelling)| {
            let spelling = spelling.to_lowercase();
            let distance = strsim::damerau_levenshtein(&spelling, &wanted);
            // Of two as near, the one with the same first letter is the likelier.
            (distance, spelling.chars().next() != wanted.chars().next(), spelling.len(), name)
        })
        // A spelling no longer than the slip itself would match almost anything.
        .filter(|(distance, _, length, _)| *distance <= allowed && distance < length)
        .min()
        .map(|(_, _, _, name)| name)
}

impl Unit {
    /// Whose unit it is, where the two systems show its kind in different ones.
    pub fn system(&self) -> Option<Units> {
        const US: &[&str] = &[
            "in",
            "ft",
            "thou",
            "lb",
            "oz",
            "lbf",
            "lbf.ft",
            "lbf.in",
            "psi",
            "ksi",
            "psia",
            "F",
            "F diff",
            "in3",
            "ft3",
            "gal",
            "floz",
            "gpm",
            "gpm/psi^0.5",
            "mph",
            "ft/s",
            "Btu/lb/F",
        ];
        let both = default_unit(self.kind, Units::Us) == default_unit(self.kind, Units::Metric);
        (!both).then_some(if US.contains(&self.name) { Units::Us } else { Units::Metric })
    }
}

/// The kind of quantity a unit is of: `in` is a length, `1` a plain number.
pub fn unit_kind(text: &str) -> Option<Kind> {
    if PLAIN.spellings.contains(&text.trim()) { Some(Kind::Ratio) } else { find(text).map(|unit| unit.kind) }
}

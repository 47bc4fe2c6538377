//! Heat of a stop, of a series of stops and of a descent, and how hot a rotor gets of it.

use crate::physics::refusal::{Refusal, not_negative, positive, share};
use crate::units::{
    Length, Mass, STANDARD_GRAVITY, SpecificHeat, Speed, Temperature, TemperatureDifference, Time,
};

/// Density of air at sea level and 15 °C (kg/m³): ISO 2533.
pub const AIR: f64 = 1.225;

/// Drag of an open parachute for each speed squared (kg/m).
///
/// # Formula
/// k = ½ ρ C π/4 D²
/// # Symbols
/// k (kg/m), so that the drag is k v² · ρ air 1.225 kg/m³ · C `drag` coefficient on the flat cloth (1) · D `diameter` of the
/// cloth laid flat (m)
/// # Valid range
/// Open and filled, in clean air at sea level.
/// # Errors
/// A coefficient or diameter that is not over zero.
/// # Source
/// Drag equation, any fluids text; air of ISO 2533.
/// # Example
/// 2 m across, coefficient 0.5, at 60 m/s: 3 464 N.
/// ```
/// use linewalk_formulas::physics::brakes::heat::parachute_drag;
/// use linewalk_formulas::units::Length;
/// let k = parachute_drag(Length::from_si(2.0), 0.5)?;
/// assert!((k * 60.0 * 60.0 - 3463.6).abs() < 0.1);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn parachute_drag(diameter: Length, drag: f64) -> Result<f64, Refusal> {
    let d = positive("the parachute's diameter", diameter.si())?;
    let c = positive("the parachute's drag coefficient", drag)?;
    Ok(0.5 * AIR * c * std::f64::consts::FRAC_PI_4 * d * d)
}

/// Energy that the brakes take in one stop (J).
///
/// # Formula
/// E = ½ m (v₁² − v₂²); with a drag k v² beside brakes that slow the car by a: E = m a s, s = m/(2k) ln((m a + k v₁²)/(m a + k v₂²))
/// # Symbols
/// E (J) · m `mass` (kg) · v₁ `from`, v₂ `to` (m/s) · k `drag` for each speed squared (kg/m) · a slowing by the brakes alone, in g
/// as `braking` (1)
/// # Valid range
/// Level ground, brakes steady over the stop; turning parts, rolling resistance and engine braking left out.
/// # Errors
/// A mass that is not over zero, a speed or drag below zero, an end that is not under the beginning, or with drag a braking
/// that is not over zero.
/// # Source
/// Kinetic energy; with drag dv/dt = −(a + k v²/m) in closed form. Example: How hot do brakes get, 3 000 lb from 60 mph.
/// # Example
/// 3 000 lb from 88 ft/s: 464.0 Btu (the paper prints 469.7, against its own data).
/// ```
/// use linewalk_formulas::physics::brakes::heat::stop_energy;
/// use linewalk_formulas::units::{Mass, Speed};
/// let (mass, from) = (Mass::from_si(3000.0 * 0.453_592_37), Speed::from_si(88.0 * 0.3048));
/// let e = stop_energy(mass, from, Speed::from_si(0.0), 0.0, None)?;
/// assert!((e / 1055.056 - 464.0).abs() < 0.1);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn stop_energy(
    mass: Mass,
    from: Speed,
    to: Speed,
    drag: f64,
    braking: Option<f64>,
) -> Result<f64, Refusal> {
    let m = positive("the car's mass", mass.si())?;
    let fast = positive("the speed before a stop", from.si())?;
    let slow = not_negative("the speed after a stop", to.si())?;
    let k = not_negative("the drag", drag)?;
    if slow >= fast {
        return Err(Refusal::NoStop);
    }
    if k == 0.0 {
        return Ok(0.5 * m * (fast * fast - slow * slow));
    }
    let a = STANDARD_GRAVITY * positive("the slowing by the brakes", braking.unwrap_or(0.0))?;
    // ln(1 + x) keeps its figures where the drag is small.
    let rise = k * (fast * fast - slow * slow) / (m * a + k * slow * slow);
    Ok(m * a * m / (2.0 * k) * rise.ln_1p())
}

/// How much warmer one stop makes a rotor that takes all of its share of the energy.
///
/// # Formula
/// ΔT = s E/(m c)
/// # Symbols
/// ΔT (K) · E `energy` of the stop (J) · s `part` of it that this wheel takes (1) · m `rotor` mass (kg) · c `heat` that a kilogram
/// takes by a kelvin (J/(kg·K))
/// # Valid range
/// The rotor warm all through; the faces are hotter for a second or two.
/// # Errors
/// A mass or specific heat that is not over zero, an energy below zero, or a share outside 0 to 1.
/// # Source
/// Heat balance. Example: How hot do brakes get, four rotors of 10 lb of iron at 0.130 Btu/(lb·°F).
/// # Example
/// A quarter of 464.0 Btu into 10 lb of iron: 89.2 °F (the paper prints 90.3, of its misprinted energy).
/// ```
/// use linewalk_formulas::physics::brakes::heat::rotor_rise;
/// use linewalk_formulas::units::{Mass, SpecificHeat};
/// let iron = SpecificHeat::from_si(0.130 * 4186.8);
/// let rise = rotor_rise(464.0 * 1055.056, 0.25, Mass::from_si(10.0 * 0.453_592_37), iron)?;
/// assert!((rise.si() * 1.8 - 89.2).abs() < 0.1);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn rotor_rise(
    energy: f64,
    part: f64,
    rotor: Mass,
    heat: SpecificHeat,
) -> Result<TemperatureDifference, Refusal> {
    let e = not_negative("the energy of a stop", energy)? * share("the share of one wheel", part)?;
    let takes = positive("the rotor's mass", rotor.si())? * positive("the specific heat", heat.si())?;
    Ok(TemperatureDifference::from_si(e / takes))
}

/// Rotor temperature at the end of the last of several like stops, cooling between them.
///
/// # Formula
/// T = T₀ + ΔT (1 − qⁿ)/(1 − q), q = e^(−t/τ)
/// # Symbols
/// T (K) · T₀ `start`, of rotor and air (K) · ΔT `rise` of one stop (K) · n `stops` (1) · t `every`, from stop to stop, τ `cooling`, in
/// which what is above the air falls to 37 % (s)
/// # Valid range
/// Each stop short beside the time between; cooling in proportion to what is above the air (no radiation, which cools more).
/// # Errors
/// A temperature or cooling time that is not over zero, a rise or time between stops below zero, or no stop at all.
/// # Source
/// Newton's law of cooling; the form for repeated stops in Limpert, Brake Design and Safety (from memory).
/// # Example
/// 100 K a stop, half of it lost between: 100, 150, 175 K.
/// ```
/// use linewalk_formulas::physics::brakes::heat::after_stops;
/// use linewalk_formulas::units::{Temperature, TemperatureDifference, Time};
/// let (cold, rise) = (Temperature::from_si(300.0), TemperatureDifference::from_si(100.0));
/// let half = Time::from_si(std::f64::consts::LN_2 * 60.0);
/// let hot = after_stops(cold, rise, 3, half, Time::from_si(60.0))?;
/// assert!((hot.si() - 475.0).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn after_stops(
    start: Temperature,
    rise: TemperatureDifference,
    stops: u32,
    every: Time,
    cooling: Time,
) -> Result<Temperature, Refusal> {
    let cold = positive("the temperature before the stops", start.si())?;
    let rise = not_negative("the rise of one stop", rise.si())?;
    let between = not_negative("the time from stop to stop", every.si())?;
    let rate = between / positive("the cooling time", cooling.si())?;
    let n = positive("the number of stops", f64::from(stops))?;
    let sum = if rate == 0.0 { n } else { (-n * rate).exp_m1() / (-rate).exp_m1() };
    Ok(Temperature::from_si(cold + rise * sum))
}

/// Power that the brakes take on a steady descent (W).
///
/// # Formula
/// P = m g h v/L
/// # Symbols
/// P (W) · m `mass` (kg) · g 9.806 65 m/s² · h `height` lost over L `length` of road (m) · v `speed` held (m/s)
/// # Valid range
/// Speed held by the brakes alone; air, tires and engine left out.
/// # Errors
/// A mass, height, length or speed that is not over zero, or a road that is shorter than its height.
/// # Source
/// Work of a weight.
/// # Example
/// 1 000 kg, 100 m down over 2 km at 20 m/s: 9.81 kW.
/// ```
/// use linewalk_formulas::physics::brakes::heat::descent_power;
/// use linewalk_formulas::units::{Length, Mass, Speed};
/// let m = Length::from_si;
/// let p = descent_power(Mass::from_si(1000.0), m(100.0), m(2000.0), Speed::from_si(20.0))?;
/// assert!((p - 9806.65).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn descent_power(mass: Mass, height: Length, length: Length, speed: Speed) -> Result<f64, Refusal> {
    let h = positive("the height of the descent", height.si())?;
    let l = positive("the length of the descent", length.si())?;
    if h >= l {
        return Err(Refusal::DescentTooSteep);
    }
    let weight = positive("the car's mass", mass.si())? * STANDARD_GRAVITY;
    Ok(weight * h / l * positive("the speed of the descent", speed.si())?)
}

/// Rotor temperature after a steady power for a time, cooling all the while.
///
/// # Formula
/// T = T₀ + s P τ/(m c) (1 − e^(−t/τ))
/// # Symbols
/// T (K) · T₀ `start`, of rotor and air (K) · P `power` (W) · s `part` of it that this wheel takes (1) · m `rotor` mass (kg) ·
/// c `heat` that a kilogram takes by a kelvin (J/(kg·K)) · t `time`, τ `cooling` (s)
/// # Valid range
/// As [`after_stops`].
/// # Errors
/// A temperature, mass, specific heat or cooling time that is not over zero, a power or time below zero, or a share outside
/// 0 to 1.
/// # Source
/// As [`after_stops`].
/// # Example
/// 1 kW into 5 kJ/K for one cooling time of 100 s: 12.64 K.
/// ```
/// use linewalk_formulas::physics::brakes::heat::after_dragging;
/// use linewalk_formulas::units::{Mass, SpecificHeat, Temperature, Time};
/// let (cold, t) = (Temperature::from_si(300.0), Time::from_si(100.0));
/// let hot = after_dragging(cold, 1000.0, 1.0, Mass::from_si(10.0), SpecificHeat::from_si(500.0), t, t)?;
/// assert!((hot.si() - 312.642).abs() < 1e-3);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn after_dragging(
    start: Temperature,
    power: f64,
    part: f64,
    rotor: Mass,
    heat: SpecificHeat,
    time: Time,
    cooling: Time,
) -> Result<Temperature, Refusal> {
    let tau = positive("the cooling time", cooling.si())?;
    let shrunk = -(-not_negative("the time of the descent", time.si())? / tau).exp_m1();
    let rise = rotor_rise(not_negative("the power", power)? * tau, part, rotor, heat)?;
    Ok(Temperature::from_si(positive("the temperature before", start.si())? + rise.si() * shrunk))
}

/// How hot the fluid in a caliper or wheel cylinder gets of its rotor.
///
/// # Formula
/// T_f = T₀ + s (T − T₀)
/// # Symbols
/// T_f (K) · T₀ `start`, of the air (K) · T rotor at its `hottest` (K) · s `soak`, what of the rotor's rise arrives at the fluid (1)
/// # Valid range
/// s is a figure of the trade, 0.1 to 0.35 with pads of middling thickness; a thermometer at the caliper is better.
/// # Errors
/// A temperature that is not over zero, or a share outside 0 to 1.
/// # Source
/// Common practice, no source.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::heat::fluid_at;
/// use linewalk_formulas::units::Temperature;
/// let hot = fluid_at(Temperature::from_si(300.0), Temperature::from_si(700.0), 0.2)?;
/// assert_eq!(hot.si(), 380.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn fluid_at(start: Temperature, hottest: Temperature, soak: f64) -> Result<Temperature, Refusal> {
    let cold = positive("the temperature before the stops", start.si())?;
    let hot = positive("the temperature of the rotor", hottest.si())?;
    Ok(Temperature::from_si(cold + share("what arrives at the fluid", soak)? * (hot - cold)))
}

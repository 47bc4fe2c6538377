//! Drum brakes: what two shoes make of the force at their tips, and how far a wheel cylinder opens.

use super::bore_area;
use crate::physics::refusal::{Refusal, not_negative, positive};
use crate::units::{Angle, Length, Pressure, Torque, Volume};

/// A lining, by the angles at which it begins and ends, counted round the drum from the shoe's pin (rad).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lining {
    /// Where it begins.
    pub from: Angle,
    /// Where it ends.
    pub to: Angle,
}

/// Integrals over a lining from `from` to `to`: sin, cos, sin², sin cos, cos².
#[derive(Clone, Copy)]
struct Integrals {
    s: f64,
    c: f64,
    ss: f64,
    sc: f64,
    cc: f64,
}

impl Integrals {
    fn over(from: f64, to: f64) -> Self {
        let (sum, twice) = (0.5 * (to - from), 0.25 * ((2.0 * to).sin() - (2.0 * from).sin()));
        Self {
            s: from.cos() - to.cos(),
            c: to.sin() - from.sin(),
            ss: sum - twice,
            sc: 0.5 * (to.sin().powi(2) - from.sin().powi(2)),
            cc: sum + twice,
        }
    }
}

impl Lining {
    fn ends(self) -> Result<(f64, f64), Refusal> {
        let (from, to) = (self.from.si(), self.to.si());
        let half_turn = std::f64::consts::PI * (1.0 + 1e-9);
        if from >= 0.0 && from < to && to <= half_turn { Ok((from, to)) } else { Err(Refusal::LiningArc) }
    }
}

/// A shoe that turns on a pin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shoe {
    /// Inside radius of the drum (m).
    pub radius: Length,
    /// From the middle of the drum to the pin (m).
    pub anchor: Length,
    /// From the pin, square to the line of the wheel cylinder's force (m).
    pub arm: Length,
    /// Its lining.
    pub lining: Lining,
}

/// Which way the drum turns past a shoe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turning {
    /// From the tip toward the pin: friction presses the shoe on.
    Leading,
    /// From the pin toward the tip: friction lifts it off.
    Trailing,
}

impl Shoe {
    /// Friction torque for each N·m of moment about the pin (1).
    fn torque_per_moment(self, friction: f64, turning: Turning) -> Result<f64, Refusal> {
        let r = positive("the drum radius", self.radius.si())?;
        let a = positive("the distance of the shoe's pin", self.anchor.si())?;
        let mu = positive("the lining friction", friction)?;
        if a >= r {
            return Err(Refusal::PinOutsideDrum);
        }
        let (from, to) = self.lining.ends()?;
        let over = Integrals::over(from, to);
        let normal = a * over.ss;
        let rubbing = mu * (r * over.s - a * over.sc);
        let left = match turning {
            Turning::Leading => normal - rubbing,
            Turning::Trailing => normal + rubbing,
        };
        if left <= 0.0 {
            return Err(Refusal::ShoeGrabs);
        }
        Ok(mu * r * over.s / left)
    }
}

/// Friction force at the drum that one shoe on a pin makes of the force at its tip.
///
/// # Formula
/// C = μ c (cos θ₁ − cos θ₂) / (a ∫sin²θ dθ ∓ μ ∫sin θ (r − a cos θ) dθ), − leading, + trailing
/// # Symbols
/// C (1) · μ lining `friction` (1) · r drum radius, a distance of the pin, c arm of the force about it (m) · θ₁, θ₂ ends of
/// the lining from the pin (rad)
/// # Valid range
/// Rigid shoe and drum, pressure over the lining as the sine of the angle from the pin; friction the same all over it.
/// # Errors
/// A size or friction that is not over zero, a pin outside the drum, a lining that does not lie within half a turn from
/// the pin, or a leading shoe that locks itself.
/// # Source
/// Shigley, Mechanical Engineering Design, internal expanding rim clutches and brakes.
/// # Example
/// The book's brake, r 150 mm, a 125 mm, c 216.5 mm, 0 to 120°, μ 0.28: 0.841 leading and 0.438 trailing.
/// ```
/// use linewalk_formulas::physics::brakes::drum::{Lining, Shoe, Turning, shoe_factor};
/// use linewalk_formulas::units::{Angle, Length};
/// let shoe = Shoe {
///     radius: Length::from_si(0.150),
///     anchor: Length::from_si(0.125),
///     arm: Length::from_si(0.21651),
///     lining: Lining { from: Angle::from_degrees(0.0), to: Angle::from_degrees(120.0) },
/// };
/// assert!((shoe_factor(shoe, 0.28, Turning::Leading)? - 0.841).abs() < 5e-4);
/// assert!((shoe_factor(shoe, 0.28, Turning::Trailing)? - 0.438).abs() < 5e-4);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn shoe_factor(shoe: Shoe, friction: f64, turning: Turning) -> Result<f64, Refusal> {
    let arm = positive("the arm of the wheel cylinder", shoe.arm.si())?;
    Ok(shoe.torque_per_moment(friction, turning)? * arm / shoe.radius.si())
}

/// The highest pressure on the lining of a shoe on a pin.
///
/// # Formula
/// p = T sin θ_a / (μ b r² (cos θ₁ − cos θ₂)), T = C F r; θ_a where the sine is highest on the lining
/// # Symbols
/// p (Pa) · F `force` at the tip (N) · b `width` of the lining (m) · the others as [`shoe_factor`]
/// # Valid range
/// As [`shoe_factor`].
/// # Errors
/// Those of [`shoe_factor`], a width that is not over zero, or a force below zero.
/// # Source
/// As [`shoe_factor`].
/// # Example
/// The book's brake, 40 mm wide, 2.2 kN at the tip: 734 kPa on the leading shoe.
/// ```
/// use linewalk_formulas::physics::brakes::drum::{Lining, Shoe, Turning, lining_pressure};
/// use linewalk_formulas::units::{Angle, Force, Length};
/// let shoe = Shoe {
///     radius: Length::from_si(0.150),
///     anchor: Length::from_si(0.125),
///     arm: Length::from_si(0.21651),
///     lining: Lining { from: Angle::from_degrees(0.0), to: Angle::from_degrees(120.0) },
/// };
/// let p = lining_pressure(shoe, 0.28, Turning::Leading, Force::from_si(2200.0), Length::from_si(0.040))?;
/// assert!((p.si() / 1e3 - 734.0).abs() < 0.5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn lining_pressure(
    shoe: Shoe,
    friction: f64,
    turning: Turning,
    force: crate::units::Force,
    width: Length,
) -> Result<Pressure, Refusal> {
    let factor = shoe_factor(shoe, friction, turning)?;
    let torque = factor * not_negative("the force at the shoe", force.si())? * shoe.radius.si();
    let (from, to) = shoe.lining.ends()?;
    let quarter = std::f64::consts::FRAC_PI_2;
    let highest = if from < quarter && to > quarter { 1.0 } else { from.sin().max(to.sin()) };
    let per_sine = friction
        * positive("the lining width", width.si())?
        * shoe.radius.si().powi(2)
        * (from.cos() - to.cos());
    Ok(Pressure::from_si(torque * highest / per_sine))
}

/// Friction force at the drum over the force of one piston, of a leading and a trailing shoe on one wheel cylinder.
///
/// # Formula
/// C = C_leading + C_trailing, [`shoe_factor`]
/// # Symbols
/// C (1) · `shoe`, both alike · lining `friction` (1)
/// # Valid range
/// As [`shoe_factor`]; the same forward and back.
/// # Errors
/// Those of [`shoe_factor`].
/// # Source
/// As [`shoe_factor`].
/// # Example
/// The book's brake: 0.841 + 0.438 = 1.279.
/// ```
/// use linewalk_formulas::physics::brakes::drum::{Lining, Shoe, leading_trailing_factor};
/// use linewalk_formulas::units::{Angle, Length};
/// let shoe = Shoe {
///     radius: Length::from_si(0.150),
///     anchor: Length::from_si(0.125),
///     arm: Length::from_si(0.21651),
///     lining: Lining { from: Angle::from_degrees(0.0), to: Angle::from_degrees(120.0) },
/// };
/// assert!((leading_trailing_factor(shoe, 0.28)? - 1.279).abs() < 1e-3);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn leading_trailing_factor(shoe: Shoe, friction: f64) -> Result<f64, Refusal> {
    Ok(shoe_factor(shoe, friction, Turning::Leading)? + shoe_factor(shoe, friction, Turning::Trailing)?)
}

/// A brake whose first shoe floats and pushes the second through a link: both shoes wind up, forward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DuoServo {
    /// Inside radius of the drum (m).
    pub radius: Length,
    /// From the middle of the drum to the anchor pin (m).
    pub anchor: Length,
    /// From the middle of the drum to the line of the link, on the other side (m).
    pub link: Length,
    /// From the line of the link to that of the wheel cylinder (m).
    pub arm: Length,
    /// The lining of the second shoe, from the anchor pin.
    pub secondary: Lining,
    /// The lining of the first shoe, from the anchor pin round the other way.
    pub primary: Lining,
}

/// Normal and tangential forces of a floating shoe, for a pressure of sin(φ − φ₀) and a drum of unit radius: outward along
/// the link, and round the drum.
fn floating(lining: (f64, f64), zero: f64, mu: f64) -> (f64, f64, f64) {
    let from = lining.0.max(zero);
    if from >= lining.1 {
        return (0.0, 0.0, 0.0);
    }
    let over = Integrals::over(from, lining.1);
    // sin(φ − φ₀) = cos φ₀ sin φ − sin φ₀ cos φ.
    let (sine, cosine) = zero.sin_cos();
    let across = cosine * (over.ss - mu * over.sc) - sine * (over.sc - mu * over.cc);
    let along = cosine * (over.sc + mu * over.ss) - sine * (over.cc + mu * over.sc);
    let round = mu * (cosine * over.s - sine * over.c);
    (across, along, round)
}

/// Friction force at the drum over the force of one piston, of a duo-servo brake.
///
/// # Formula
/// Primary: p ∝ sin(φ − φ₀) where it touches, φ₀ so that no force is left square to the link; Q = (F h + T₁)/l.
/// Secondary: a shoe on the anchor pin with the moment Q (l + a) + F (a − h). C = (T₁ + T₂)/(r F)
/// # Symbols
/// C (1) · φ angle from the anchor pin (rad) · p pressure · F force of one piston, Q of the link (N) · T₁, T₂ torque of the
/// shoes (N·m) · r drum radius, a distance of the anchor pin, l of the link, h = arm − l of the wheel cylinder (m) · lining
/// `friction` (1)
/// # Valid range
/// Forward; rigid shoes and drum; a link that only pushes, along its own line, without friction; lining that is not
/// pressed does not touch.
/// # Errors
/// A size or friction that is not over zero, a pin or link outside the drum, a lining outside half a turn, a shoe that
/// locks itself, or one that no pressure keeps in balance.
/// # Source
/// Balance of forces on each shoe; the pressure as Shigley, Mechanical Engineering Design, internal rim brakes. No
/// published example: the second route is numerical integration.
/// # Example
/// 11 in drum, μ 0.36, linings 30 to 140° and 40 to 130°: friction 5.08 times the force of a piston.
/// ```
/// use linewalk_formulas::physics::brakes::drum::{DuoServo, Lining, duo_servo_factor};
/// use linewalk_formulas::units::{Angle, Length};
/// let lining = |from, to| Lining { from: Angle::from_degrees(from), to: Angle::from_degrees(to) };
/// let brake = DuoServo {
///     radius: Length::from_inches(5.5),
///     anchor: Length::from_inches(4.4),
///     link: Length::from_inches(4.2),
///     arm: Length::from_inches(7.6),
///     secondary: lining(30.0, 140.0),
///     primary: lining(40.0, 130.0),
/// };
/// let factor = duo_servo_factor(brake, 0.36)?;
/// assert!((factor - 5.081).abs() < 5e-4);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn duo_servo_factor(brake: DuoServo, friction: f64) -> Result<f64, Refusal> {
    let r = positive("the drum radius", brake.radius.si())?;
    let mu = positive("the lining friction", friction)?;
    let link = positive("the distance of the link", brake.link.si())?;
    let arm = positive("the arm of the wheel cylinder", brake.arm.si())?;
    let anchor = positive("the distance of the shoe's pin", brake.anchor.si())?;
    let cylinder = arm - link;
    if link >= r || anchor >= r || cylinder.abs() >= r {
        return Err(Refusal::PinOutsideDrum);
    }
    let lining = brake.primary.ends()?;
    let zero = no_force_along(lining, mu)?;
    let (across, _, round) = floating(lining, zero, mu);
    let left = link * across - r * round;
    if left <= 0.0 {
        return Err(Refusal::ShoeGrabs);
    }
    // Torque of the first shoe, and the push of the link, for each newton at the tip.
    let first = r * round * arm / left;
    let push = (cylinder + first) / link;
    let shoe = Shoe { radius: brake.radius, anchor: brake.anchor, arm: brake.arm, lining: brake.secondary };
    let moment = push * (link + anchor) + (anchor - cylinder);
    let second = shoe.torque_per_moment(mu, Turning::Leading)? * moment;
    Ok((first + second) / r)
}

/// Where the pressure of a floating shoe is zero, so that nothing pushes it along the link's square.
fn no_force_along(lining: (f64, f64), mu: f64) -> Result<f64, Refusal> {
    let along = |zero: f64| floating(lining, zero, mu).1;
    // Between half a turn back from its end and its very end the force along changes its sign once.
    let (mut low, mut high) = (lining.1 - std::f64::consts::PI, lining.1);
    if along(low) <= 0.0 || high.cos() + mu * high.sin() >= 0.0 {
        return Err(Refusal::ShoeFloatsOff);
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if along(middle) > 0.0 { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high))
}

/// Braking torque of one drum brake.
///
/// # Formula
/// T = C p π/4 d² r
/// # Symbols
/// T (N·m) · C `factor` of the brake (1) · p `pressure` behind the valves (Pa) · d `bore` of the wheel cylinder, r `radius` of
/// the drum (m)
/// # Valid range
/// Return springs and the friction of cups left out.
/// # Errors
/// A factor, bore or radius that is not over zero, or a pressure below zero.
/// # Source
/// Pascal's law, and the factor's definition.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::drum::drum_torque;
/// use linewalk_formulas::units::{Length, Pressure};
/// let t = drum_torque(2.0, Pressure::from_si(1e6), Length::from_si(0.02), Length::from_si(0.125))?;
/// assert!((t.si() - 25.0 * std::f64::consts::PI).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn drum_torque(factor: f64, pressure: Pressure, bore: Length, radius: Length) -> Result<Torque, Refusal> {
    let p = not_negative("the pressure", pressure.si())?;
    let force = p * bore_area("the wheel cylinder's bore", bore)?;
    Ok(Torque::from_si(
        positive("the brake factor", factor)? * force * positive("the drum radius", radius.si())?,
    ))
}

/// How far apart the two pistons of a wheel cylinder go until both linings touch, shoes on pins.
///
/// # Formula
/// x = 2 g c / (a sin θ_m), θ_m = (θ₁ + θ₂)/2
/// # Symbols
/// x (m) · g `gap` between lining and drum at its middle, c arm, a distance of the pin (m) · θ₁, θ₂ ends of the lining (rad)
/// # Valid range
/// A small turn about the pin; both shoes alike.
/// # Errors
/// A size that is not over zero, a gap below zero, or a lining that does not lie within half a turn from the pin.
/// # Source
/// A small turn about the pin.
/// # Example
/// Pin and cylinder as far from the middle as each other, lining square to both: each piston goes twice the gap.
/// ```
/// use linewalk_formulas::physics::brakes::drum::{Lining, Shoe, leading_trailing_opening};
/// use linewalk_formulas::units::{Angle, Length};
/// let shoe = Shoe {
///     radius: Length::from_si(0.125),
///     anchor: Length::from_si(0.1),
///     arm: Length::from_si(0.2),
///     lining: Lining { from: Angle::from_degrees(40.0), to: Angle::from_degrees(140.0) },
/// };
/// let x = leading_trailing_opening(shoe, Length::from_si(0.0003))?;
/// assert!((x.si() - 0.0012).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn leading_trailing_opening(shoe: Shoe, gap: Length) -> Result<Length, Refusal> {
    let a = positive("the distance of the shoe's pin", shoe.anchor.si())?;
    let arm = positive("the arm of the wheel cylinder", shoe.arm.si())?;
    let (from, to) = shoe.lining.ends()?;
    Ok(Length::from_si(
        2.0 * not_negative("the lining gap", gap.si())? * arm / (a * (0.5 * (from + to)).sin()),
    ))
}

/// How far apart the two pistons of a duo-servo brake go until both linings touch.
///
/// # Formula
/// Second shoe: δ = g/(a sin θ_m), its lower end by δ (a + l), its upper by δ (a − h). First: the same moved by the link,
/// u = (g (h + l)/sin φ_m + δ (a + l) h)/l. x = u + δ (a − h)
/// # Symbols
/// x (m) · g `gap` at the middle of each lining (m) · a, l, h as [`duo_servo_factor`] · θ_m, φ_m middles of the linings (rad)
/// # Valid range
/// Small turns; the link stays between the shoes.
/// # Errors
/// Those of [`leading_trailing_opening`].
/// # Source
/// Small turns of two rigid shoes.
/// # Example
/// All as far from the middle as each other, linings square to them: four times the gap, as of two shoes on pins.
/// ```
/// use linewalk_formulas::physics::brakes::drum::{DuoServo, Lining, duo_servo_opening};
/// use linewalk_formulas::units::{Angle, Length};
/// let lining = Lining { from: Angle::from_degrees(40.0), to: Angle::from_degrees(140.0) };
/// let far = Length::from_si(0.1);
/// let brake = DuoServo {
///     radius: Length::from_si(0.125),
///     anchor: far,
///     link: far,
///     arm: Length::from_si(0.2),
///     secondary: lining,
///     primary: lining,
/// };
/// assert!((duo_servo_opening(brake, Length::from_si(0.0003))?.si() - 0.0012).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn duo_servo_opening(brake: DuoServo, gap: Length) -> Result<Length, Refusal> {
    let gap = not_negative("the lining gap", gap.si())?;
    let a = positive("the distance of the shoe's pin", brake.anchor.si())?;
    let link = positive("the distance of the link", brake.link.si())?;
    let cylinder = positive("the arm of the wheel cylinder", brake.arm.si())? - link;
    let middle = |lining: Lining| lining.ends().map(|(from, to)| (0.5 * (from + to)).sin());
    let turn = gap / (a * middle(brake.secondary)?);
    let first = (gap * (cylinder + link) / middle(brake.primary)? + turn * (a + link) * cylinder) / link;
    Ok(Length::from_si(first + turn * (a - cylinder)))
}

/// Fluid that a wheel cylinder takes to open so far.
///
/// # Formula
/// V = π/4 d² x
/// # Symbols
/// V (m³) · d `bore` of the wheel cylinder, x `opening` between its two pistons (m)
/// # Valid range
/// Two pistons in one bore; shoes adjusted.
/// # Errors
/// A bore that is not over zero, or an opening below zero.
/// # Source
/// Volume swept by a piston.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::drum::cylinder_volume;
/// use linewalk_formulas::units::Length;
/// let v = cylinder_volume(Length::from_si(0.02), Length::from_si(0.001))?;
/// assert!((v.si() - std::f64::consts::PI * 1e-7).abs() < 1e-18);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn cylinder_volume(bore: Length, opening: Length) -> Result<Volume, Refusal> {
    let x = not_negative("the opening of the wheel cylinder", opening.si())?;
    Ok(Volume::from_si(bore_area("the wheel cylinder's bore", bore)? * x))
}

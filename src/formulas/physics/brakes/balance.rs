//! Front against rear: shares, which axle locks first, and what is left with one circuit gone.

use super::pressure::{Valve, behind, knees};
use crate::physics::refusal::{Refusal, not_negative, positive, share};
use crate::units::{Force, Length, Pressure};

/// One of the two axles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axle {
    /// The front axle.
    Front,
    /// The rear axle.
    Rear,
}

impl Axle {
    /// The word in files and on screen.
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }
}

/// What of the car decides how its axles are loaded under braking.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Statics {
    /// Weight with driver (N).
    pub weight: Force,
    /// Share of the weight on the front axle, standing still.
    pub front_share: f64,
    /// Height of the centre of gravity (m).
    pub cg_height: Length,
    /// Distance between the axles (m).
    pub wheelbase: Length,
    /// Friction between tyres and ground, the same at both axles.
    pub tyre_friction: f64,
}

/// [`Statics`] checked and in plain numbers: weight, front share, h/L, friction.
struct Plain {
    weight: f64,
    front: f64,
    lever: f64,
    mu: f64,
}

impl Statics {
    fn plain(self) -> Result<Plain, Refusal> {
        Ok(Plain {
            weight: positive("the car's weight", self.weight.si())?,
            front: share("the static front share", self.front_share)?,
            lever: not_negative("the centre-of-gravity height", self.cg_height.si())?
                / positive("the wheelbase", self.wheelbase.si())?,
            mu: positive("the tyre friction", self.tyre_friction)?,
        })
    }
}

/// Weight that braking shifts from the rear axle to the front.
///
/// # Formula
/// ΔW = W z h / L
/// # Symbols
/// ΔW, W `car.weight` (N) · z `deceleration` in g (1) · h centre-of-gravity height, L wheelbase (m)
/// # Valid range
/// Level ground, no downforce, both axles on the ground.
/// # Errors
/// A part of the car that is not over zero, or a deceleration below zero.
/// # Source
/// Balance of moments, any vehicle-dynamics text.
/// # Example
/// A published exercise: 1 500 kg, 0.9 g, h 520 mm, L 2 700 mm shifts about 260 kg.
/// ```
/// use linewalk_formulas::physics::brakes::balance::{Statics, weight_shift};
/// use linewalk_formulas::units::{Force, Length, STANDARD_GRAVITY};
/// let car = Statics {
///     weight: Force::from_si(1500.0 * STANDARD_GRAVITY),
///     front_share: 0.55,
///     cg_height: Length::from_si(0.52),
///     wheelbase: Length::from_si(2.7),
///     tyre_friction: 0.9,
/// };
/// assert!((weight_shift(car, 0.9)?.si() / STANDARD_GRAVITY - 260.0).abs() < 0.5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn weight_shift(car: Statics, deceleration: f64) -> Result<Force, Refusal> {
    let plain = car.plain()?;
    Ok(Force::from_si(plain.weight * not_negative("the deceleration", deceleration)? * plain.lever))
}

/// Front axle's share of the braking force at the ground.
///
/// # Formula
/// share = F_f / (F_f + F_r)
/// # Symbols
/// F_f `front`, F_r `rear` braking force of the axle (N) · share (1)
/// # Valid range
/// No wheel locked.
/// # Errors
/// A force below zero, or none at all.
/// # Source
/// Definition.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::balance::front_share;
/// use linewalk_formulas::units::Force;
/// assert_eq!(front_share(Force::from_si(600.0), Force::from_si(400.0))?, 0.6);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn front_share(front: Force, rear: Force) -> Result<f64, Refusal> {
    let f = not_negative("the front braking force", front.si())?;
    let r = not_negative("the rear braking force", rear.si())?;
    Ok(f / positive("the braking force", f + r)?)
}

/// Front share that brings both axles to the limit of their tyres together.
///
/// # Formula
/// share = a + μ h / L, no more than 1
/// # Symbols
/// a static front share, μ tyre friction (1) · h centre-of-gravity height, L wheelbase (m)
/// # Valid range
/// At the deceleration the tyres allow, μ in g; 1 where the rear wheels leave the ground before that.
/// # Errors
/// A part of the car that is not over zero, or a share outside 0 to 1.
/// # Source
/// Balance of moments, any vehicle-dynamics text.
/// # Example
/// Half and half, μ 1.2, h 18 in, L 100 in: 0.716.
/// ```
/// use linewalk_formulas::physics::brakes::balance::{Statics, ideal_front_share};
/// use linewalk_formulas::units::{Force, Length};
/// let car = Statics {
///     weight: Force::from_si(10_675.7),
///     front_share: 0.5,
///     cg_height: Length::from_inches(18.0),
///     wheelbase: Length::from_inches(100.0),
///     tyre_friction: 1.2,
/// };
/// assert!((ideal_front_share(car)? - 0.716).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn ideal_front_share(car: Statics) -> Result<f64, Refusal> {
    let plain = car.plain()?;
    Ok((plain.front + plain.mu * plain.lever).min(1.0))
}

/// What one wheel, or several alike behind the same valves, makes of the pedal.
#[derive(Clone, Debug, PartialEq)]
pub struct Effort {
    /// Master pressure for each newton at the pedal (Pa/N).
    pub pressure_per_pedal: f64,
    /// Valves between master and wheel, in the order the fluid meets them.
    pub valves: Vec<Valve>,
    /// Braking force at the ground for each pascal at the wheel (N/Pa), all wheels meant together.
    pub ground_per_pressure: f64,
}

impl Effort {
    /// Braking force at the ground (N) for a pedal force (N).
    fn ground(&self, pedal: f64) -> Result<f64, Refusal> {
        let master =
            not_negative("the pressure for each newton at the pedal", self.pressure_per_pedal)? * pedal;
        let wheel = behind(&self.valves, Pressure::from_si(master))?;
        Ok(not_negative("the braking force for each pascal", self.ground_per_pressure)? * wheel.si())
    }

    /// Pedal forces (N) at which the line bends.
    fn kinks(&self) -> impl Iterator<Item = f64> {
        knees(&self.valves)
            .into_iter()
            .map(|p| p / self.pressure_per_pedal)
            .filter(|p| p.is_finite() && *p > 0.0)
    }
}

/// The moment the first axle locks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lockup {
    /// The axle that locks; the front where both do together.
    pub axle: Axle,
    /// Deceleration then, in g.
    pub deceleration: f64,
    /// Pedal force then (N).
    pub pedal: Force,
}

/// Which axle locks first as the pedal force rises from nothing, and at what deceleration.
///
/// # Formula
/// front locks where F_f = μ (a W + (F_f + F_r) h/L), rear where F_r = μ ((1 − a) W − (F_f + F_r) h/L);
/// z = (F_f + F_r)/W. F_f and F_r are straight between the knees of the valves, so each root is exact.
/// # Symbols
/// F_f, F_r braking force of the axles, sums over `front` and `rear` (N) · W weight (N) · a static front share,
/// μ tyre friction, z deceleration in g (1) · h centre-of-gravity height, L wheelbase (m)
/// # Valid range
/// Level ground, no downforce, no engine braking; each axle's wheels lock together.
/// # Errors
/// A part of the car that is not over zero, a gain below zero, a bad valve, or brakes that never lock a wheel.
/// # Source
/// Adhesion used by an axle, f = T/(P ± z h P/E), 49 CFR 571.135 S7.4.4(g) (form from memory), set equal to μ.
/// # Example
/// Brakes shared as the tyres want them lock at z = μ.
/// ```
/// use linewalk_formulas::physics::brakes::balance::{Effort, Statics, first_lockup};
/// use linewalk_formulas::units::{Force, Length};
/// let car = Statics {
///     weight: Force::from_si(10_000.0),
///     front_share: 0.5,
///     cg_height: Length::from_si(0.5),
///     wheelbase: Length::from_si(2.5),
///     tyre_friction: 1.0,
/// };
/// let axle = |part| Effort { pressure_per_pedal: 1e4, valves: vec![], ground_per_pressure: part };
/// let lock = first_lockup(car, &[axle(7e-4)], &[axle(3e-4)])?; // 0.5 + 1.0 × 0.5/2.5 = 0.7
/// assert!((lock.deceleration - 1.0).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn first_lockup(car: Statics, front: &[Effort], rear: &[Effort]) -> Result<Lockup, Refusal> {
    let plain = car.plain()?;
    let sum =
        |axle: &[Effort], pedal: f64| axle.iter().map(|effort| effort.ground(pedal)).sum::<Result<f64, _>>();
    let excess = |pedal: f64| -> Result<[f64; 2], Refusal> {
        let (f, r) = (sum(front, pedal)?, sum(rear, pedal)?);
        let shift = (f + r) * plain.lever;
        let rear_load = (1.0 - plain.front) * plain.weight;
        Ok([f - plain.mu * (plain.front * plain.weight + shift), r - plain.mu * (rear_load - shift)])
    };
    let mut kinks: Vec<f64> = front.iter().chain(rear).flat_map(Effort::kinks).collect();
    kinks.sort_by(f64::total_cmp);
    let mut start = 0.0;
    let mut at_start = excess(start)?;
    // Past the last knee the lines are straight for good: any second point on them will do.
    let unbounded = kinks.last().map_or(1.0, |last| last * 2.0);
    let ends = kinks.iter().map(|kink| (*kink, *kink)).chain([(unbounded, f64::INFINITY)]);
    for (end, reach) in ends {
        let at_end = excess(end)?;
        let [front_at, rear_at] = [0, 1].map(|axle| {
            let (g1, g2) = (at_start.get(axle).copied()?, at_end.get(axle).copied()?);
            root(start, g1, end, g2).filter(|pedal| *pedal <= reach)
        });
        let first = match (front_at, rear_at) {
            (Some(f), Some(r)) if r < f => Some((Axle::Rear, r)),
            (Some(f), _) => Some((Axle::Front, f)),
            (None, Some(r)) => Some((Axle::Rear, r)),
            (None, None) => None,
        };
        if let Some((axle, pedal)) = first {
            let deceleration = (sum(front, pedal)? + sum(rear, pedal)?) / plain.weight;
            return Ok(Lockup { axle, deceleration, pedal: Force::from_si(pedal) });
        }
        (start, at_start) = (end, at_end);
    }
    Err(Refusal::NeverLocks)
}

/// Where the straight line through two points rises through zero, at or after the first.
fn root(x1: f64, y1: f64, x2: f64, y2: f64) -> Option<f64> {
    if y1 >= 0.0 {
        return Some(x1);
    }
    (y2 > y1 && x2 > x1).then(|| x1 - y1 * (x2 - x1) / (y2 - y1))
}

/// Deceleration the tyres allow where only some wheels are still braked.
///
/// # Formula
/// z = μ (f a + r (1 − a)) / (1 − μ (f − r) h/L); μ f where the rear wheels leave the ground first
/// # Symbols
/// z in g, f `front`, r `rear` share of that axle's wheels still braked, a static front share, μ tyre friction
/// (1) · h centre-of-gravity height, L wheelbase (m)
/// # Valid range
/// f = 1, r = 0: only the front axle; 0, 1: only the rear; ½, ½: one wheel of each.
/// # Errors
/// A share outside 0 to 1, or a part of the car that is not over zero.
/// # Source
/// Balance of moments; the one-axle forms are in any vehicle-dynamics text.
/// # Example
/// Rear axle alone, half the weight on it, μ 1.0, h/L 0.2: 0.5/1.2 g.
/// ```
/// use linewalk_formulas::physics::brakes::balance::{Statics, tyre_limit};
/// use linewalk_formulas::units::{Force, Length};
/// let car = Statics {
///     weight: Force::from_si(10_000.0),
///     front_share: 0.5,
///     cg_height: Length::from_si(0.5),
///     wheelbase: Length::from_si(2.5),
///     tyre_friction: 1.0,
/// };
/// assert!((tyre_limit(car, 0.0, 1.0)? - 0.5 / 1.2).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn tyre_limit(car: Statics, front: f64, rear: f64) -> Result<f64, Refusal> {
    let plain = car.plain()?;
    let f = share("the share of front wheels braked", front)?;
    let r = share("the share of rear wheels braked", rear)?;
    let rest = 1.0 - plain.mu * (f - r) * plain.lever;
    let both_down = plain.mu * (f * plain.front + r * (1.0 - plain.front)) / rest;
    let rear_lifts = both_down * plain.lever > 1.0 - plain.front;
    Ok(if rest <= 0.0 || rear_lifts { plain.mu * f } else { both_down })
}

/// Deceleration with one circuit failed.
///
/// # Formula
/// z = min(F / W, z_t)
/// # Symbols
/// z in g (1) · F braking force `left` (N) · W weight (N) · z_t `tyres` allow, from [`tyre_limit`] (1)
/// # Valid range
/// As [`tyre_limit`].
/// # Errors
/// A weight that is not over zero, a force or limit below zero.
/// # Source
/// Newton's second law.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::balance::deceleration_left;
/// use linewalk_formulas::units::Force;
/// let z = deceleration_left(Force::from_si(4000.0), Force::from_si(10_000.0), 0.35)?;
/// assert_eq!(z, 0.35);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn deceleration_left(left: Force, weight: Force, tyres: f64) -> Result<f64, Refusal> {
    let force = not_negative("the braking force left", left.si())?;
    let z = force / positive("the car's weight", weight.si())?;
    Ok(z.min(not_negative("the tyre limit", tyres)?))
}

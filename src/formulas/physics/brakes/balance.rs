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
    /// Friction between front tires and ground.
    pub front_friction: f64,
    /// Friction between rear tires and ground.
    pub rear_friction: f64,
}

/// [`Statics`] checked and in plain numbers: weight, front share, h/L, friction front and rear.
struct Plain {
    weight: f64,
    front: f64,
    lever: f64,
    mu: [f64; 2],
}

impl Statics {
    fn plain(self) -> Result<Plain, Refusal> {
        Ok(Plain {
            weight: positive("the car's weight", self.weight.si())?,
            front: share("the static front share", self.front_share)?,
            lever: not_negative("the center-of-gravity height", self.cg_height.si())?
                / positive("the wheelbase", self.wheelbase.si())?,
            mu: [
                positive("the front tire friction", self.front_friction)?,
                positive("the rear tire friction", self.rear_friction)?,
            ],
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
///     front_friction: 0.9,
///     rear_friction: 0.9,
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
/// share = μ_f (a + z h/L)/z with z = (μ_f a + μ_r (1 − a))/(1 − (μ_f − μ_r) h/L), no more than 1; with tires alike it
/// is a + μ h/L
/// # Symbols
/// a static front share, μ_f, μ_r tire friction front and rear, z deceleration in g (1) · h centre-of-gravity height,
/// L wheelbase (m)
/// # Valid range
/// At the deceleration the tires allow; 1 where the rear wheels leave the ground before that.
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
///     front_friction: 1.2,
///     rear_friction: 1.2,
/// };
/// assert!((ideal_front_share(car)? - 0.716).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn ideal_front_share(car: Statics) -> Result<f64, Refusal> {
    let plain = car.plain()?;
    let [f, r] = plain.mu;
    let rest = 1.0 - (f - r) * plain.lever;
    let z = (f * plain.front + r * (1.0 - plain.front)) / rest;
    let share = f * (plain.front / z + plain.lever);
    Ok(if rest <= 0.0 { 1.0 } else { share.min(1.0) })
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
/// front locks where F_f = μ_f (a W + (F_f + F_r) h/L), rear where F_r = μ_r ((1 − a) W − (F_f + F_r) h/L);
/// z = (F_f + F_r)/W. F_f and F_r are straight between the knees of the valves, so each root is exact.
/// # Symbols
/// F_f, F_r braking force of the axles, sums over `front` and `rear` (N) · W weight (N) · a static front share,
/// μ_f, μ_r tire friction front and rear, z deceleration in g (1) · h centre-of-gravity height, L wheelbase (m)
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
///     front_friction: 1.0,
///     rear_friction: 1.0,
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
        let [at_front, at_rear] = plain.mu;
        Ok([f - at_front * (plain.front * plain.weight + shift), r - at_rear * (rear_load - shift)])
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

/// A stretch of tire friction over which one axle locks first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Friction of the front tires at both ends.
    pub friction: [f64; 2],
    /// The axle that locks first between them.
    pub axle: Axle,
}

/// Points of friction that [`lockup_over`] looks at before it closes in on each change.
const LOOKS: u32 = 200;

/// Which axle locks first over a range of grip: from a wet road to the best the tires give.
///
/// # Formula
/// [`first_lockup`] at μ_f from `from` to `to`, μ_r in proportion; each change found by halving
/// # Symbols
/// μ_f, μ_r tire friction front and rear (1); their ratio is that of `car`
/// # Valid range
/// That of [`first_lockup`]. A change and back again within 1/200 of the range may be passed over.
/// # Errors
/// Those of [`first_lockup`], or a range that does not rise.
/// # Source
/// As [`first_lockup`]. Without valves and with tires alike the change is at μ = (β − a) L/h, β the front share of the
/// braking force: where β is what [`ideal_front_share`] asks.
/// # Example
/// β 0.7, a 0.5, h/L 0.2: the rear locks first above μ = 1.
/// ```
/// use linewalk_formulas::physics::brakes::balance::{Axle, Effort, Statics, lockup_over};
/// use linewalk_formulas::units::{Force, Length};
/// let car = Statics {
///     weight: Force::from_si(10_000.0),
///     front_share: 0.5,
///     cg_height: Length::from_si(0.5),
///     wheelbase: Length::from_si(2.5),
///     front_friction: 1.0,
///     rear_friction: 1.0,
/// };
/// let axle = |part| Effort { pressure_per_pedal: 1e4, valves: vec![], ground_per_pressure: part };
/// let stretches = lockup_over(car, &[axle(7e-4)], &[axle(3e-4)], 0.3, 1.4)?;
/// assert_eq!(stretches.len(), 2);
/// assert!(stretches[0].axle == Axle::Front && (stretches[0].friction[1] - 1.0).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn lockup_over(
    car: Statics,
    front: &[Effort],
    rear: &[Effort],
    from: f64,
    to: f64,
) -> Result<Vec<Stretch>, Refusal> {
    let ratio = positive("the rear tire friction", car.rear_friction)?
        / positive("the front tire friction", car.front_friction)?;
    positive("the range of friction", to - positive("the least friction", from)?)?;
    let first = |mu: f64| {
        let here = Statics { front_friction: mu, rear_friction: mu * ratio, ..car };
        first_lockup(here, front, rear).map(|lock| lock.axle)
    };
    let (mut start, mut axle, mut before) = (from, first(from)?, from);
    let mut stretches = Vec::new();
    for look in 1..=LOOKS {
        let mu = from + (to - from) * f64::from(look) / f64::from(LOOKS);
        let here = first(mu)?;
        if here != axle {
            let (mut low, mut high) = (before, mu);
            for _ in 0..50 {
                let middle = 0.5 * (low + high);
                if first(middle)? == axle { low = middle } else { high = middle }
            }
            stretches.push(Stretch { friction: [start, high], axle });
            (start, axle) = (high, here);
        }
        before = mu;
    }
    stretches.push(Stretch { friction: [start, to], axle });
    Ok(stretches)
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
/// z = (μ_f f a + μ_r r (1 − a)) / (1 − (μ_f f − μ_r r) h/L); μ_f f where the rear wheels leave the ground first
/// # Symbols
/// z in g, f `front`, r `rear` share of that axle's wheels still braked, a static front share, μ_f, μ_r tire friction
/// front and rear (1) · h centre-of-gravity height, L wheelbase (m)
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
///     front_friction: 1.0,
///     rear_friction: 1.0,
/// };
/// assert!((tyre_limit(car, 0.0, 1.0)? - 0.5 / 1.2).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn tyre_limit(car: Statics, front: f64, rear: f64) -> Result<f64, Refusal> {
    let plain = car.plain()?;
    let f = plain.mu[0] * share("the share of front wheels braked", front)?;
    let r = plain.mu[1] * share("the share of rear wheels braked", rear)?;
    let rest = 1.0 - (f - r) * plain.lever;
    let both_down = (f * plain.front + r * (1.0 - plain.front)) / rest;
    let rear_lifts = both_down * plain.lever > 1.0 - plain.front;
    Ok(if rest <= 0.0 || rear_lifts { f } else { both_down })
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
    Ok(z.min(not_negative("the tire limit", tyres)?))
}

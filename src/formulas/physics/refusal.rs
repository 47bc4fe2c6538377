//! Why a number was not worked out.

/// A reason not to give a number. Shown as one sentence; nothing is guessed in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The named input has to be a finite number over zero.
    #[error("{0} must be over zero")]
    NotPositive(&'static str),
    /// The named input has to be a finite number, zero or more.
    #[error("{0} must be zero or more")]
    Negative(&'static str),
    /// The named input is not a finite number.
    #[error("{0} is not a finite number")]
    NotFinite(&'static str),
    /// The named input has to be a share from 0 to 1.
    #[error("{0} must be from 0 % to 100 %")]
    NotAShare(&'static str),
    /// Twice the wall leaves no bore.
    #[error("twice the wall leaves no bore")]
    NoBore,
    /// The wall is a sixth of the outside diameter or more, past the thin-wall form of the code.
    #[error("the wall is a sixth of the outside diameter or more, past the code's thin-wall formula")]
    ThickWall,
    /// The bend is no larger than half the tube's diameter.
    #[error("the bend radius is no more than half the tube's outside diameter")]
    BendInsideTube,
    /// A bend needs more straight tube than its legs have.
    #[error("a bend of that radius needs more straight tube than the path has beside it")]
    BendDoesNotFit,
    /// The path has fewer than two points, or two of them in one place.
    #[error("the path needs at least two points, no two neighbours in one place")]
    NoPath,
    /// The path turns straight back on itself.
    #[error("the path turns straight back on itself")]
    PathTurnsBack,
    /// The hose is shorter than the distance between its ends.
    #[error("the hose is shorter than the distance between its ends")]
    OutOfReach,
    /// The hose is over 30 % longer than its chord, where the shallow arc no longer holds.
    #[error("the hose is over 30 % longer than its chord, too slack for the shallow-arc formula")]
    TooSlack,
    /// The elliptic modulus has to be from 0 up to, but not including, 1.
    #[error("the elliptic modulus must be from 0 to under 1")]
    Modulus,
    /// A fixed caliper has the same number of pistons each side.
    #[error("a fixed caliper needs an even number of pistons, half on each side")]
    OddPistons,
    /// The lining has to lie between its pin and half a turn from it, its beginning before its end.
    #[error("a lining begins before it ends, both between its pin and half a turn from it")]
    LiningArc,
    /// The pin, link or wheel cylinder of a shoe is outside the drum.
    #[error("the pin, the link and the wheel cylinder must be inside the drum")]
    PinOutsideDrum,
    /// The leading shoe locks itself.
    #[error("a shoe of this shape locks itself at this friction: the brake would grab")]
    ShoeGrabs,
    /// No pressure over the lining keeps a floating shoe in balance.
    #[error(
        "no pressure over its lining keeps the first shoe in balance; look at where the lining begins and ends"
    )]
    ShoeFloatsOff,
    /// A stop that does not slow the car.
    #[error("a stop ends slower than it begins")]
    NoStop,
    /// A road no longer than the height it loses.
    #[error("the descent is no longer than it is high: length is along the road")]
    DescentTooSteep,
    /// Too cold or too hot for the table of vapor volumes.
    #[error("the vapor volume of FK-5-1-12 is known from -4 F to 212 F (-20 C to 100 C) only")]
    OutsideVaporTable,
    /// The pressure is past the last column of the hose table for that bore.
    #[error("the pressure is past 4,000 psi (27.6 MPa), which is all that a brake hose is tested to hold")]
    PastHoseTable,
    /// No pedal force locks a wheel: the brakes make no force that grows.
    #[error("no wheel locks however hard the pedal is pushed")]
    NeverLocks,
    /// Circles whose best layout has no closed form: more than three of different sizes, or more than seven alike.
    #[error(
        "more than three lines of different sizes, or more than seven alike, in one sleeve have no exact fit worked out"
    )]
    UnlikeCircles,
    /// The lower limit is above the upper one, or there is no limit at all.
    #[error("a lower or an upper limit is needed, the lower no more than the upper")]
    NoLimits,
}

/// Passes a finite value over zero.
pub(crate) fn positive(what: &'static str, value: f64) -> Result<f64, Refusal> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(Refusal::NotPositive(what)) }
}

/// Passes a finite value of zero or more.
pub(crate) fn not_negative(what: &'static str, value: f64) -> Result<f64, Refusal> {
    if value.is_finite() && value >= 0.0 { Ok(value) } else { Err(Refusal::Negative(what)) }
}

/// Passes a share, 0 to 1.
pub(crate) fn share(what: &'static str, value: f64) -> Result<f64, Refusal> {
    if (0.0..=1.0).contains(&value) { Ok(value) } else { Err(Refusal::NotAShare(what)) }
}

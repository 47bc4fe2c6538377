//! How far each input of a number may be off, and which of them go up and down together.

use std::collections::BTreeMap;

use crate::model::keys::without_id;
use crate::units::{INCH, Kind};

use super::answer::Input;
use super::brake_balance::TIRE_FRICTION;
use super::defaults::default_of;

/// Half-widths where none is stated: common practice, no source.
pub(super) const LENGTH_OF_A_LEG: f64 = INCH / 16.0;
const WALL: f64 = 0.10;
const DISCHARGE_COEFFICIENT: f64 = 0.05;
const PULL_FRICTION: [f64; 2] = [0.10, 0.25];

/// The interval an input may lie in, SI; none where it is taken as it is.
///
/// - A default of the program: its own spread, [`super::defaults::DEFAULTS`].
/// - Stated with `+/-`, or a reading with its instrument: that half-width, though nothing that cannot be negative is
///   taken below zero.
/// - A `length` as typed: 1/16 in either way, as one leg; the length of a path: 1/16 in for each straight leg of it.
/// - `wall`: 10 % of it, whether of a tube or a sleeve. A measured `min_wall` is taken as it is; a default one follows
///   the wall.
/// - `cd`: 5 % of it.
/// - `tyre_friction`, `tire_friction` of the car: 15 % of it.
/// - `friction` of a pull: 0.10 to 0.25, widened to a value outside that.
pub fn spread(input: &Input) -> Option<[f64; 2]> {
    let si = input.si;
    let default = if input.assumed { default_of(&without_id(&input.path)) } else { None };
    let around = |half: f64| [si - half, si + half];
    let [low, high] = match input.half_width {
        Some(half) => around(half),
        None if default.is_some() => default.and_then(|default| default.ends(si))?,
        None => match input.path.rsplit('.').next()? {
            // What is only assumed is not known to a tape's reading.
            "length" if input.way.is_assumed() && input.legs == 0 => return None,
            #[expect(clippy::cast_precision_loss, reason = "a path has a handful of legs")]
            "length" if input.kind == Kind::Length => around(LENGTH_OF_A_LEG * input.legs.max(1) as f64),
            "wall" => around(WALL * si),
            "tyre_friction" => around(TIRE_FRICTION * si),
            "front" | "rear" if input.path.starts_with("car.tire_friction.") => around(TIRE_FRICTION * si),
            "cd" => around(DISCHARGE_COEFFICIENT * si),
            "friction" if input.path.starts_with("suppression.pull.") => {
                [PULL_FRICTION[0].min(si), PULL_FRICTION[1].max(si)]
            }
            _ => return None,
        },
    };
    let signed = matches!(input.kind, Kind::Pressure | Kind::TemperatureDifference | Kind::Voltage);
    // Ends within so much of their places make a reach longer or shorter.
    let signed = signed || input.path.ends_with(".within");
    let low = if signed || si < 0.0 { low } else { low.max(0.0) };
    (high > low).then_some([low, high])
}

/// An uncertain input; or one default of the program, or one assumption of the file, at every part that rests on it: what is
/// not known of one seal or nozzle is not known of the next either, so they go up and down together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spread {
    /// Its path, without ids where it stands for several.
    pub(super) name: String,
    /// Whether the car file only assumes it.
    pub(super) guessed: bool,
    /// Paths and the ends between which each lies.
    of: Vec<(String, [f64; 2])>,
}

impl Spread {
    /// The uncertain ones among some inputs.
    pub(super) fn all(inputs: &[Input]) -> Group {
        let (mut typed, mut shared) = (Group::new(), BTreeMap::<Like, Vec<(String, [f64; 2])>>::new());
        for input in inputs {
            let Some(ends) = spread(input) else { continue };
            let one = (input.path.clone(), ends);
            if input.way.is_assumed() {
                // As wide as each other to a millionth: half-widths worked from two ends differ in their last digits.
                let width = format!("{:.6e}", ends[1] - ends[0]);
                let like = (without_id(&input.path), format!("{} {width}", input.way.word()));
                shared.entry(like).or_default().push(one);
            } else if input.assumed {
                shared.entry((without_id(&input.path), String::new())).or_default().push(one);
            } else {
                typed.push(Self { name: input.path.clone(), guessed: false, of: vec![one] });
            }
        }
        typed.extend(shared.into_iter().map(|((key, like), mut of)| {
            of.sort_by(|one, other| one.0.cmp(&other.0));
            let name = if let [(path, _)] = of.as_slice() { path.clone() } else { key };
            Self { name, guessed: !like.is_empty(), of }
        }));
        typed
    }

    /// Every value that is this share of the way from its low end to its high end.
    pub(super) fn at(&self, share: f64) -> impl Iterator<Item = (String, f64)> {
        self.of.iter().map(move |(path, [low, high])| (path.clone(), low + (high - low) * share))
    }

    /// The ends between which the value at a path lies, where it is one of these.
    pub(super) fn ends(&self, path: &str) -> Option<[f64; 2]> {
        self.of.iter().find(|(known, _)| known == path).map(|(_, ends)| *ends)
    }

    pub(super) fn meets(&self, other: &Self) -> bool {
        self.of.iter().any(|(path, _)| other.of.iter().any(|(known, _)| known == path))
    }
}

/// What values share that go up and down together: their key path without ids, and how the file says that they are known.
type Like = (String, String);

/// The uncertain inputs of one number or of several, the ones that move them most first.
pub(super) type Group = Vec<Spread>;

//! What working out a quantity gives: a number with what it rests on, or a refusal that names what is missing.

use std::sync::Arc;

use serde::Serialize;

use super::draws::Draws;
use super::spread::Spread;
use crate::model::known::Way;
use crate::physics::hold::HoldDrop;
use crate::units::{Given, Kind, Quantity as QuantityType, Units, show};

use super::registry::{Quantity, Shown};

/// The value of a number.
#[derive(Clone, Debug, PartialEq)]
pub enum NumberValue {
    /// In SI.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// One word.
    Word(String),
}

/// Whether a number is what it says, or only an end of what it can be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bound {
    /// It is the value.
    #[default]
    Value,
    /// The true value is this or more.
    AtLeast,
    /// The true value is this or less.
    AtMost,
}

/// One input that a number was worked from.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Its key path, ids included.
    pub path: String,
    /// Its kind.
    pub kind: Kind,
    /// Its value in SI.
    pub si: f64,
    /// Stated half-width in SI.
    pub half_width: Option<f64>,
    /// Whether it is a default of the program rather than the car's own.
    pub assumed: bool,
    /// Straight legs of the path that it was added up over; 0 where it was typed as it is.
    pub legs: usize,
    /// How the car file says that it is known; as typed where it is silent.
    pub way: Way,
}

impl Input {
    /// A value as given.
    pub(super) fn of<Q: QuantityType>(path: String, given: Given<Q>) -> Self {
        Self::of_kind(path, Q::KIND, given.si(), given.half_width)
    }

    /// A value of a kind as given.
    pub(super) fn of_kind(path: impl Into<String>, kind: Kind, si: f64, half_width: Option<f64>) -> Self {
        Self { path: path.into(), kind, si, half_width, assumed: false, legs: 0, way: Way::default() }
    }
}

/// A quantity that could be worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// The quantity's name.
    pub quantity: &'static str,
    /// What it is of: an id, or the car's.
    pub of: String,
    /// The value.
    pub value: NumberValue,
    /// How it is shown.
    pub shown_as: Shown,
    /// Whether it is the value, or only an end of it.
    pub bound: Bound,
    /// What it hangs on and nothing is known of, so that its band has no end on that side.
    pub unknown: Option<&'static str>,
    /// Lower end of its band, SI.
    pub low: Option<f64>,
    /// Upper end of its band, SI.
    pub high: Option<f64>,
    /// What its band was taken from, rising, SI; of a word, or of yes and no, 1 for each case that comes out as the inputs
    /// as given do, and 0 for any other.
    pub samples: Arc<[f64]>,
    /// Where a limit of it is worked out: the number and the terms of that limit in the same draws.
    pub draws: Option<Arc<Draws>>,
    /// Largest move of either end when the sample points double, as a share of the band.
    pub convergence: Option<f64>,
    /// Share of the band's variance by input, largest first.
    pub drivers: Vec<(String, f64)>,
    /// What was assumed: key paths of defaults, and assumptions in words.
    pub assumed: Vec<String>,
    /// What the reader should know beside it.
    pub notes: Vec<String>,
    /// What went in.
    pub inputs: Vec<Input>,
    /// What else went in, points, words and dates: key path, and whether it is a default of the program.
    pub others: Vec<(String, bool)>,
    /// Words, counts, joints and places that are only assumed, and sizes whose spread nobody gave: until somebody has looked at
    /// them the number decides nothing.
    pub unseen: Vec<String>,
    /// The share of the variance that assumed values make together, and the one that makes most; none where no band was worked.
    pub guessed: Option<(f64, String)>,
    /// Formula and source.
    pub source: String,
    /// The hold test behind it, whose temperature decides whether it is judged.
    pub hold: Option<HoldDrop>,
}

impl Number {
    /// A value given from outside, resting on nothing: for the rules' own tests.
    pub fn given(quantity: &Quantity, value: NumberValue) -> Self {
        Self {
            quantity: quantity.id,
            of: String::new(),
            value,
            shown_as: quantity.shown,
            bound: Bound::Value,
            unknown: None,
            low: None,
            high: None,
            samples: Arc::default(),
            draws: None,
            convergence: None,
            drivers: Vec::new(),
            assumed: Vec::new(),
            notes: Vec::new(),
            inputs: Vec::new(),
            others: Vec::new(),
            unseen: Vec::new(),
            guessed: None,
            source: format!("{}; {}", quantity.formula, quantity.source),
            hold: None,
        }
    }

    /// The value as a plain number in SI, where it is one.
    pub fn si(&self) -> Option<f64> {
        match self.value {
            NumberValue::Number(si) => Some(si),
            _ => None,
        }
    }

    /// The share of all cases in which a word, or yes and no, comes out as it does with the inputs as given; one where every
    /// input is exact. `None` where an input is uncertain and nothing was sampled.
    pub fn alike(&self) -> Option<f64> {
        if self.samples.is_empty() {
            return Spread::all(&self.inputs).is_empty().then_some(1.0);
        }
        #[expect(clippy::cast_precision_loss, reason = "a band has a thousand samples at most")]
        let count = self.samples.len() as f64;
        Some(self.samples.iter().sum::<f64>() / count)
    }

    /// The ends between which it lies, SI, infinite where nothing is known of one: its band, or the value itself where
    /// every input is exact. `None` where an input is uncertain and no band was worked, and where it is no number.
    pub fn range(&self) -> Option<[f64; 2]> {
        let si = self.si()?;
        let [low, high] = match (self.low, self.high) {
            (None, None) if self.unknown.is_some() || !Spread::all(&self.inputs).is_empty() => return None,
            (low, high) => [low.unwrap_or(si), high.unwrap_or(si)],
        };
        Some(match self.bound {
            Bound::Value => [low, high],
            Bound::AtLeast => [low, f64::INFINITY],
            Bound::AtMost => [f64::NEG_INFINITY, high],
        })
    }

    /// Whether more than half of its inputs are defaults.
    pub fn rough(&self) -> bool {
        let others = self.others.iter().map(|(_, assumed)| *assumed);
        let (mut assumed, mut all) = (0, 0);
        for one in self.inputs.iter().map(|input| input.assumed).chain(others) {
            assumed += usize::from(one);
            all += 1;
        }
        assumed * 2 > all
    }

    /// `true`, `false` or the word, where it is no number.
    pub(super) fn shown_as_word(&self) -> String {
        match &self.value {
            NumberValue::Number(_) => String::new(),
            NumberValue::Flag(flag) => flag.to_string(),
            NumberValue::Word(word) => word.clone(),
        }
    }

    /// The value as people read it.
    pub fn shown(&self, units: Units) -> String {
        let text = match &self.value {
            NumberValue::Number(si) => self.shown_as.show(*si, units),
            NumberValue::Flag(true) => "yes".to_owned(),
            NumberValue::Flag(false) => "no".to_owned(),
            NumberValue::Word(word) => word.clone(),
        };
        if self.rough() { format!("{text} (rough)") } else { text }
    }
}

/// A quantity that could not be worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// The quantity's name.
    pub quantity: &'static str,
    /// What it would be of; none where the table is absent.
    pub of: Option<String>,
    /// Key paths of what is missing.
    pub needs: Vec<String>,
    /// Why, in one sentence.
    pub reason: String,
}

/// What the limit that speaks for a number makes of it: said beside the number, by whoever knows the limits.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Against {
    /// The check whose limit it is.
    pub check: String,
    /// The limit in words.
    pub limit: String,
    /// accept, reject, undecided or refused.
    pub verdict: &'static str,
    /// Outside the limit, but only by what the car file assumes.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub looks_wrong: bool,
}

impl Against {
    /// "REJECT, at least 1", as a table has it.
    pub(super) fn words(&self) -> String {
        let word = match self.verdict {
            _ if self.looks_wrong => "LOOKS WRONG".to_owned(),
            "accept" => "inside".to_owned(),
            "refused" => "not worked".to_owned(),
            word => word.to_uppercase(),
        };
        format!("{word}, {}", self.limit)
    }
}

/// A number or a refusal.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// It could be worked out.
    Number(Box<Number>),
    /// It could not.
    Refused(Refused),
}

impl Answer {
    /// The refusal, where it could not be worked out.
    pub fn refused(&self) -> Option<&Refused> {
        match self {
            Self::Number(_) => None,
            Self::Refused(refused) => Some(refused),
        }
    }

    /// What it is of.
    pub fn of(&self) -> Option<&str> {
        match self {
            Self::Number(number) => Some(&number.of),
            Self::Refused(refused) => refused.of.as_deref(),
        }
    }

    /// The quantity's name.
    pub fn quantity(&self) -> &'static str {
        match self {
            Self::Number(number) => number.quantity,
            Self::Refused(refused) => refused.quantity,
        }
    }

    /// The number, where it is one.
    pub fn number(&self) -> Option<&Number> {
        match self {
            Self::Number(number) => Some(number),
            Self::Refused(_) => None,
        }
    }
}

/// A value of a kind, as people read it.
pub(super) fn show_kind(si: f64, kind: Kind, units: Units) -> String {
    show(si, kind, units)
}

//! Gathers the inputs of one number: what was given, what was assumed, what is missing.

use std::collections::BTreeSet;
use std::fmt::Display;
use std::rc::Rc;
use std::sync::Arc;

use crate::diagnostic::near_or;
use crate::model::keys::without_id;
use crate::model::known::Known;
use crate::physics::hold::HoldDrop;
use crate::units::{Given, Length, Quantity as QuantityType, Ratio};

use super::answer::{Answer, Bound, Input, Number, NumberValue, Refused};
use super::readings::{ReadingValue, Readings, reading_kind};
use super::registry::Quantity;
use super::situation::Swaps;

/// Asks for inputs on behalf of one quantity of one thing.
#[derive(Clone, Debug)]
pub struct Inputs<'a> {
    quantity: &'a Quantity,
    of: String,
    inputs: Vec<Input>,
    words: Vec<String>,
    notes: Vec<String>,
    needs: Vec<String>,
    remedies: Vec<String>,
    bound: Bound,
    unknown: Option<&'static str>,
    others: Vec<(String, bool)>,
    /// How the car file says that its values are known; none while bands are sampled.
    known: Option<Arc<Known>>,
    unseen: Vec<String>,
    /// Values that stand in for the inputs'; with any, only the value itself is worked, and nothing is written down.
    swaps: Option<Rc<Swaps>>,
}

/// Why a number stops short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoValue {
    /// Inputs are missing; the asking has their names.
    MissingInput,
    /// Nothing is missing, and yet: one sentence.
    Because(String),
}

/// A value, or why there is none.
pub type Worked<T> = Result<T, NoValue>;

impl<E: std::error::Error> From<E> for NoValue {
    fn from(error: E) -> Self {
        Self::Because(error.to_string())
    }
}

impl NoValue {
    /// A stop for a reason of its own.
    pub fn because(reason: impl Into<String>) -> Self {
        Self::Because(reason.into())
    }
}

impl<'a> Inputs<'a> {
    /// A new asking.
    pub fn new(quantity: &'a Quantity, of: &str) -> Self {
        Self {
            quantity,
            of: of.to_owned(),
            inputs: Vec::new(),
            words: Vec::new(),
            notes: Vec::new(),
            needs: Vec::new(),
            remedies: Vec::new(),
            bound: Bound::Value,
            unknown: None,
            others: Vec::new(),
            known: None,
            unseen: Vec::new(),
            swaps: None,
        }
    }

    /// As [`Self::new`], with how the car's values are known, or with values that stand in for them.
    pub(super) fn with(
        quantity: &'a Quantity,
        of: &str,
        known: &Arc<Known>,
        swaps: Option<Rc<Swaps>>,
    ) -> Self {
        let known = (swaps.is_none() && !known.is_empty()).then(|| Arc::clone(known));
        Self { swaps, known, ..Self::new(quantity, of) }
    }

    /// Writes an input down and gives the value to work with.
    fn take(&mut self, input: Input) -> f64 {
        if let Some(swaps) = &self.swaps {
            return swaps.get(&input.path).copied().unwrap_or(input.si);
        }
        let si = input.si;
        let way =
            self.known.as_ref().and_then(|known| known.of(&input.path)).map(|origin| origin.way.clone());
        let way = way.filter(|_| !input.assumed).unwrap_or_default();
        self.push(Input { assumed: input.assumed || way.is_assumed(), way, ..input });
        si
    }

    /// Whether the file says that a word, a count, a joint or a place is only assumed; then the number waits for a look.
    fn is_unseen(&mut self, path: &str) -> bool {
        let known = self.known.as_ref().and_then(|known| known.of_word(path));
        let unseen = known.is_some_and(|origin| origin.way.is_assumed());
        if unseen {
            add(&mut self.unseen, path.to_owned());
        }
        unseen
    }

    fn push(&mut self, input: Input) {
        if self.inputs.iter().all(|known| known.path != input.path) {
            self.inputs.push(input);
        }
    }

    /// Whether this is one sampled case of a band.
    pub(super) fn sampling(&self) -> bool {
        self.swaps.is_some()
    }

    /// What stands in for an input that is worked out rather than typed, while bands are sampled.
    pub(super) fn stands_in(&self, path: &str) -> Option<f64> {
        self.swaps.as_ref().and_then(|swaps| swaps.get(path).copied())
    }

    /// An input that is never guessed; missing ones are remembered by name.
    pub fn need<Q: QuantityType>(&mut self, path: impl Into<String>, given: Option<Given<Q>>) -> Option<f64> {
        let path = path.into();
        let Some(given) = given else {
            self.miss(path);
            return None;
        };
        Some(self.take(Input::of(path, given)))
    }

    /// An input with a default; using the default is listed as assumed.
    pub fn or_default<Q: QuantityType>(
        &mut self,
        path: impl Into<String>,
        given: Option<Given<Q>>,
        default: f64,
    ) -> f64 {
        let assumed = given.is_none();
        let given = given.unwrap_or_else(|| Given::exact(Q::from_si(default)));
        self.take(Input { assumed, ..Input::of(path.into(), given) })
    }

    /// A whole number that is never guessed.
    pub fn need_count(&mut self, path: impl Into<String>, count: Option<u32>) -> Option<u32> {
        let path = path.into();
        let Some(count) = count else {
            self.miss(path);
            return None;
        };
        self.is_unseen(&path);
        self.take(Input::of(path, Given::exact(Ratio::from_si(f64::from(count)))));
        Some(count)
    }

    /// Anything else that is never guessed: a word, a point, a list.
    pub fn need_some<T>(&mut self, path: impl Into<String>, value: Option<T>) -> Option<T> {
        match value {
            Some(_) => self.other(path.into(), false),
            None => self.miss(path.into()),
        }
        value
    }

    /// A place that is never guessed, and whose own spread is counted.
    pub(super) fn need_place<T>(&mut self, path: impl Into<String>, value: Option<T>) -> Option<T> {
        let path = path.into();
        match value {
            Some(_) if self.swaps.is_none() && self.others.iter().all(|(known, _)| *known != path) => {
                self.others.push((path, false));
            }
            Some(_) => {}
            None => self.miss(path),
        }
        value
    }

    /// A word with a default; using the default is listed as assumed.
    pub fn some_or<T>(&mut self, path: impl Into<String>, value: Option<T>, default: T) -> T {
        self.other(path.into(), value.is_none());
        value.unwrap_or(default)
    }

    fn other(&mut self, path: String, assumed: bool) {
        let assumed = assumed || self.is_unseen(&path);
        if self.swaps.is_none() && self.others.iter().all(|(known, _)| *known != path) {
            self.others.push((path, assumed));
        }
    }

    /// An input that was given where it may be left out.
    pub fn given<Q: QuantityType>(
        &mut self,
        path: impl Into<String>,
        given: Option<Given<Q>>,
    ) -> Option<f64> {
        Some(self.take(Input::of(path.into(), given?)))
    }

    /// A length added up over the straight legs of a path, under the key that would overrule it.
    pub(super) fn along(&mut self, path: impl Into<String>, length: Length, legs: usize) -> f64 {
        self.take(Input { legs, ..Input::of(path.into(), Given::exact(length)) })
    }

    /// As [`Self::along`], of points that lie within so much of where the file has them, and without that of points that
    /// may be assumed.
    pub(super) fn along_within(
        &mut self,
        part: &str,
        length: Length,
        legs: usize,
        within: Option<Given<Length>>,
    ) -> f64 {
        let path = format!("{part}.length");
        let Some(within) = within else {
            self.is_unseen(&format!("{part}.path"));
            return self.along(path, length, legs);
        };
        #[expect(clippy::cast_precision_loss, reason = "a path has a handful of legs")]
        let legs_count = legs.max(1) as f64;
        let half = (within.si() * (2.0 * legs_count).sqrt()).max(super::spread::LENGTH_OF_A_LEG * legs_count);
        self.take(Input { legs, half_width: Some(half), ..Input::of(path, Given::exact(length)) })
    }

    /// How much longer every reach between two ends may be, where each lies within so much of where the file has it; without
    /// that the ends may be assumed.
    pub(super) fn reach_within(&mut self, part: &str, within: Option<Given<Length>>) -> f64 {
        let Some(within) = within else { return 0.0 };
        let half_width = Some(within.si() * std::f64::consts::SQRT_2);
        let path = format!("{part}.within");
        self.take(Input { half_width, ..Input::of(path, Given::exact(Length::from_si(0.0))) })
    }

    /// A word that a table has to know; an unknown one stops with the nearest known name.
    ///
    /// # Errors
    /// [`NoValue::MissingInput`] where the word is missing, [`NoValue::Because`] where the table does not know it.
    pub fn need_known<T>(
        &mut self,
        path: impl Into<String>,
        word: Option<&str>,
        what: &str,
        find: impl Fn(&str) -> Option<T>,
        names: &[&str],
    ) -> Worked<T> {
        let word = self.need_some(path, word).ok_or(NoValue::MissingInput)?;
        find(word).ok_or_else(|| {
            let help = near_or(word, names.iter().copied(), || format!("known are {}", names.join(", ")));
            NoValue::Because(format!("{word} is not {what} known here; {help}"))
        })
    }

    /// A reading of the day.
    pub fn reading(&mut self, readings: &Readings, key: impl Into<String>) -> Option<f64> {
        let key = key.into();
        let Some(reading) = readings.get(&key) else {
            self.miss(key);
            return None;
        };
        let ReadingValue { kind, si, half_width, .. } = *reading;
        Some(self.take(Input::of_kind(key, kind, si, half_width)))
    }

    /// Remembers a missing input.
    pub fn miss(&mut self, path: impl Into<String>) {
        let path = path.into();
        if !self.needs.contains(&path) {
            self.needs.push(path);
        }
    }

    /// The number is only an end of what it can be: why, in a sentence that is listed among the assumptions.
    pub(super) fn only(&mut self, bound: Bound, why: &'static str) {
        self.bound = bound;
        self.assume(why);
    }

    /// What the number hangs on most, and nothing is known of: its band has no end on that side.
    pub(super) fn unknown(&mut self, what: &'static str) {
        self.unknown = Some(what);
    }

    /// What to do about missing inputs, said after their names where more than their values is wanted.
    pub fn remedy(&mut self, words: impl Display) {
        add(&mut self.remedies, words.to_string());
    }

    /// The same inputs for another quantity of something else.
    pub(super) fn for_another<'q>(self, quantity: &'q Quantity, of: &str) -> Inputs<'q> {
        Inputs { quantity, of: of.to_owned(), ..self }
    }

    /// An assumption in words; put into words only where they are kept.
    pub fn assume(&mut self, words: impl Display) {
        if self.swaps.is_none() {
            add(&mut self.words, words.to_string());
        }
    }

    /// Something the reader should know.
    pub fn note(&mut self, words: impl Display) {
        if self.swaps.is_none() {
            add(&mut self.notes, words.to_string());
        }
    }

    /// Whether anything is missing so far.
    pub fn is_short(&self) -> bool {
        !self.needs.is_empty()
    }

    /// The number, or the refusal that names what is missing.
    pub fn give(self, value: Option<f64>) -> Answer {
        self.give_value(value.map(NumberValue::Number))
    }

    /// As [`Self::give`], for any value.
    pub fn give_value(self, value: Option<NumberValue>) -> Answer {
        let finite = !matches!(value, Some(NumberValue::Number(si)) if !si.is_finite());
        match value {
            Some(value) if self.needs.is_empty() && finite => Answer::Number(Box::new(self.number(value))),
            _ if self.needs.is_empty() => self.refuse("the inputs give no finite number"),
            _ => {
                let said = std::iter::once(missing(&self.needs)).chain(self.remedies.iter().cloned());
                let reason = said.collect::<Vec<_>>().join("; ");
                self.refuse(reason)
            }
        }
    }

    /// What was worked out, or the refusal: what is missing comes before any other reason.
    pub fn finish(self, worked: Worked<f64>) -> Answer {
        self.finish_value(worked.map(NumberValue::Number))
    }

    /// As [`Self::finish`], for any value.
    pub fn finish_value(self, worked: Worked<NumberValue>) -> Answer {
        match worked {
            Ok(value) => self.give_value(Some(value)),
            Err(NoValue::Because(reason)) if self.needs.is_empty() => self.refuse(reason),
            Err(_) => self.give_value(None),
        }
    }

    /// The fall of a hold test, with the band its temperatures leave; the rules judge it by those.
    pub fn give_hold(self, worked: Worked<HoldDrop>) -> Answer {
        let drop = worked.clone().map(|hold| hold.drop);
        match (self.finish(drop), worked) {
            (Answer::Number(mut number), Ok(hold)) => {
                (number.low, number.high, number.hold) = (Some(hold.low), Some(hold.high), Some(hold));
                Answer::Number(number)
            }
            (answer, _) => answer,
        }
    }

    /// As [`Self::give`], with the ends of its own band.
    pub fn give_band(self, value: f64, low: f64, high: f64) -> Answer {
        match self.give(Some(value)) {
            Answer::Number(mut number) => {
                (number.low, number.high) = (Some(low), Some(high));
                Answer::Number(number)
            }
            refused @ Answer::Refused(_) => refused,
        }
    }

    /// A refusal for a reason of its own.
    pub fn refuse(self, reason: impl Into<String>) -> Answer {
        // What is missing of the very thing the number is of is named without its id: `of` says it already.
        let own = format!(".{}.", self.of);
        let needs = self.needs.iter().map(|path| match reading_kind(path) {
            Some(_) => path.clone(),
            None => path.replacen(&own, ".", 1),
        });
        let needs = needs.collect();
        Answer::Refused(Refused {
            quantity: self.quantity.id,
            of: Some(self.of),
            needs,
            reason: reason.into(),
        })
    }

    fn number(self, value: NumberValue) -> Number {
        let quantities = self.inputs.iter().map(|input| (input.path.as_str(), input.assumed));
        let used = quantities.chain(self.others.iter().map(|(path, assumed)| (path.as_str(), *assumed)));
        let used: Vec<(&str, String, bool)> =
            used.map(|(path, assumed)| (path, without_id(path), assumed)).collect();
        // Where every element in use is assumed alike, one line without an id says it for all.
        let given: BTreeSet<&str> =
            used.iter().filter(|u| !u.2).map(|(_, generic, _)| generic.as_str()).collect();
        let mut said = BTreeSet::new();
        let mut assumed: Vec<String> = Vec::new();
        for (path, generic, _) in used.iter().filter(|(.., assumed)| *assumed) {
            let word = if given.contains(generic.as_str()) { *path } else { generic };
            if said.insert(word) {
                assumed.push(word.to_owned());
            }
        }
        assumed.extend(self.words);
        let (of, notes, inputs, others) = (self.of, self.notes, self.inputs, self.others);
        let (bound, unknown) = (self.bound, self.unknown);
        let unseen = unseen(self.known.as_deref(), self.unseen, &inputs, &others);
        let given = Number::given(self.quantity, value);
        Number { of, bound, unknown, assumed, notes, inputs, others, unseen, ..given }
    }
}

/// What a number waits for: what was met, the joints of the lines it goes along, and assumed sizes without a spread.
fn unseen(
    known: Option<&Known>,
    mut found: Vec<String>,
    inputs: &[Input],
    others: &[(String, bool)],
) -> Vec<String> {
    let Some(known) = known else { return found };
    let is_assumed = |path: &str| known.of_word(path).is_some_and(|origin| origin.way.is_assumed());
    for input in inputs {
        if input.way.is_assumed() && super::spread::spread(input).is_none() {
            add(&mut found, input.path.clone());
        }
    }
    let others = others.iter().map(|(path, _)| path.as_str());
    for path in inputs.iter().map(|input| input.path.as_str()).chain(others) {
        let Some(id) = path.strip_prefix("suppression.line.").and_then(|rest| rest.split('.').next()) else {
            continue;
        };
        for end in ["from", "to"].map(|end| format!("suppression.line.{id}.{end}")) {
            if is_assumed(&end) {
                add(&mut found, end);
            }
        }
    }
    found
}

/// Adds a line that is not there yet.
fn add(lines: &mut Vec<String>, line: String) {
    if !lines.contains(&line) {
        lines.push(line);
    }
}

/// "x, y and z are not given": what is missing, in one sentence.
pub(super) fn missing(needs: &[String]) -> String {
    match needs {
        [one] => format!("{one} is not given"),
        [first @ .., last] if first.len() < 4 => format!("{} and {last} are not given", first.join(", ")),
        [first, second, rest @ ..] => format!("{first}, {second} and {} more are not given", rest.len()),
        [] => "an input is not given".to_owned(),
    }
}

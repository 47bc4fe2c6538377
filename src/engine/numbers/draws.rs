//! Numbers and the terms of the limits that they are held to, in the same draws: where one unknown moves both, what is left
//! between them is known better than either.

use std::sync::Arc;

use crate::physics::halton::{primes, radical_inverse};

use super::answer::{Answer, Input};
use super::bands::{Plan, Sweep, Target, shift};
use super::readings::Readings;
use super::spread::{Group, Spread};

/// A number with a limit that is worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limited {
    /// Its place among the answers.
    pub answer: usize,
    /// What its limit is worked out of: each name, with everything that it stands for there.
    pub terms: Vec<(String, Vec<Term>)>,
}

/// One thing that a name in a limit stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Term {
    /// Another number, by its place among the answers.
    Answer(usize),
    /// A reading, or an input of the car file, by its key path.
    Key(String),
}

/// A number draw by draw, with the terms of its limit in the same draws.
#[derive(Clone, Debug, PartialEq)]
pub struct Draws {
    /// The number; none where a draw could not be worked.
    pub value: Vec<Option<f64>>,
    /// Each name of its limit, with everything that it stands for, draw by draw.
    pub terms: Vec<(String, Vec<Vec<Option<f64>>>)>,
}

/// Where the draws of one number are found once they are run.
#[derive(Clone, Debug)]
pub(super) struct Drawn {
    answer: usize,
    target: usize,
    terms: Vec<(String, Vec<Source>)>,
}

/// Where one term comes from.
#[derive(Clone, Debug)]
enum Source {
    /// A target of the plan.
    Target(usize),
    /// An input that varies.
    Varies(String),
    /// A value that does not; none where it is not known.
    Still(Option<f64>),
}

impl Plan {
    /// Adds what has to be drawn together, each number with its terms over all their inputs.
    pub(super) fn draw(
        &mut self,
        answers: &[Answer],
        readings: &Readings,
        limited: &[Limited],
    ) -> Vec<Drawn> {
        let drawn = limited.iter().filter_map(|one| self.draw_with(answers, readings, one)).collect();
        self.set_rounds();
        drawn
    }

    fn draw_with(&mut self, answers: &[Answer], readings: &Readings, one: &Limited) -> Option<Drawn> {
        let number = answers.get(one.answer)?.number().filter(|number| number.hold.is_none())?;
        number.si()?;
        let terms = || one.terms.iter().flat_map(|(_, terms)| terms);
        let others = terms().filter_map(|term| match term {
            Term::Answer(place) => Some(answers.get(*place)?.number()?.inputs.clone()),
            Term::Key(path) => Some(input(answers, readings, path).into_iter().collect()),
        });
        let mut inputs = number.inputs.clone();
        for input in others.flatten() {
            if inputs.iter().all(|known| known.path != input.path) {
                inputs.push(input);
            }
        }
        let mut group: Group = Spread::all(&inputs);
        if group.is_empty() || group.len() > super::bands::MOST_INPUTS {
            return None;
        }
        group.sort_by(|one, other| one.name.cmp(&other.name));
        let target = self.draw_one(one.answer, number, &group)?;
        let mut source = |term: &Term| match term {
            Term::Answer(place) => {
                let number = answers.get(*place).and_then(Answer::number);
                let target = number.and_then(|number| self.draw_one(*place, number, &group));
                target.map_or(Source::Still(None), Source::Target)
            }
            Term::Key(path) if group.iter().any(|spread| spread.ends(path).is_some()) => {
                Source::Varies(path.clone())
            }
            Term::Key(path) => Source::Still(input(answers, readings, path).map(|input| input.si)),
        };
        let terms =
            one.terms.iter().map(|(name, terms)| (name.clone(), terms.iter().map(&mut source).collect()));
        Some(Drawn { answer: one.answer, target, terms: terms.collect() })
    }
}

/// A reading or an input of any number by its key path.
fn input(answers: &[Answer], readings: &Readings, path: &str) -> Option<Input> {
    if let Some(reading) = readings.get(path) {
        return Some(Input::of_kind(path, reading.kind, reading.si, reading.half_width));
    }
    let inputs = answers.iter().filter_map(Answer::number).flat_map(|number| &number.inputs);
    inputs.into_iter().find(|input| input.path == path).cloned()
}

/// A plan that was run.
pub(super) struct Ran<'a> {
    pub(super) targets: &'a [Target],
    pub(super) groups: &'a [Group],
    pub(super) sweeps: &'a [Sweep],
    pub(super) samples: &'a [Vec<Option<f64>>],
    pub(super) points: usize,
}

impl Ran<'_> {
    /// Puts the draws beside their numbers.
    pub(super) fn put(&self, drawn: &[Drawn], answers: &mut [Answer]) {
        for one in drawn {
            let draws = self.draws(one, answers);
            if let (Some(draws), Some(Answer::Number(number))) = (draws, answers.get_mut(one.answer)) {
                number.draws = Some(Arc::new(draws));
            }
        }
    }

    fn draws(&self, one: &Drawn, answers: &[Answer]) -> Option<Draws> {
        let group = self.groups.get(self.targets.get(one.target)?.group)?;
        let values = |source: &Source| match source {
            Source::Target(target) => self.moved(*target, answers),
            Source::Varies(path) => Some(self.inputs(group, path)),
            Source::Still(si) => Some(vec![*si; self.points]),
        };
        let terms = one.terms.iter().map(|(name, sources)| {
            Some((name.clone(), sources.iter().map(values).collect::<Option<Vec<_>>>()?))
        });
        Some(Draws { value: self.moved(one.target, answers)?, terms: terms.collect::<Option<Vec<_>>>()? })
    }

    /// The samples of a target, moved by what the quick run of the inputs as given differs from the close one.
    fn moved(&self, target: usize, answers: &[Answer]) -> Option<Vec<Option<f64>>> {
        let number = answers.get(self.targets.get(target)?.answer)?.number()?;
        let shift = shift(number, self.sweeps.get(target)?.plain);
        let samples = self.samples.get(target)?.iter().take(self.points);
        Some(samples.map(|value| value.map(|value| value + shift)).collect())
    }

    /// An input, draw by draw.
    fn inputs(&self, group: &Group, path: &str) -> Vec<Option<f64>> {
        let bases = primes(group.len());
        let found = group.iter().zip(&bases).find_map(|(spread, base)| Some((spread.ends(path)?, *base)));
        let at = |case: usize| {
            found.map(|([low, high], base)| low + (high - low) * radical_inverse(case + 1, base))
        };
        (0..self.points).map(at).collect()
    }
}

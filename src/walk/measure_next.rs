//! What to measure next: the uncertain values that verdicts hang on, by what they settle.
//!
//! A value's score is the sum over the numbers it moves, of the weight of the check, the value's share of the variance, and
//! how doubtful the number is: twice the smaller of the chances of being inside and outside. A number that only looks wrong,
//! that rests on what nobody has looked at, or that lacks the value, is as doubtful as can be.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::diagnostic::SourceFile;
use crate::model::entry::{Outcome, Severity};
use crate::model::keys::{field_of, in_list, quantity_kind, with_id, without_id};
use crate::model::read_car;
use crate::model::tape_words::{Measured, measured};
use crate::numbers::{Answer, Number, Quantity, Situation, quantity, spread, work};
use crate::rules::{Check, Held, Terms, judge};
use crate::source::{FieldKind, Override, Overrides};
use crate::units::{INCH, Kind, Units};

/// The most rows of a list.
pub const MOST: usize = 10;
/// The steps down by halves that are tried for how close is close enough: of a length from 2 in to 1/64 in.
const STEPS: u32 = 8;

/// A verdict that a value bears upon.
#[derive(Clone, Debug, PartialEq)]
pub struct Settles {
    /// The check.
    pub check: String,
    /// Its severity.
    pub severity: Severity,
    /// The quantity and what it is of.
    pub quantity: &'static str,
    /// What it is of.
    pub of: String,
    /// The limit in words.
    pub limit: String,
    /// The band, SI, where there is one.
    pub band: Option<[f64; 2]>,
    /// Whether the number is outside already, but only by what is assumed.
    pub looks_wrong: bool,
}

/// One value to measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// Its key path, and those of the parts that share the assumption: measuring one is measuring one of them.
    pub keys: Vec<String>,
    /// The value, SI; none where it is missing, or is a word.
    pub si: Option<f64>,
    /// How far it may be off, SI.
    pub half_width: Option<f64>,
    /// Its kind.
    pub kind: Option<Kind>,
    /// How close is close enough, SI.
    pub enough: Option<f64>,
    /// Whether the file has no value.
    pub missing: bool,
    /// The tool, the place on the car, and the value in words.
    pub measured: Measured,
    /// What hangs on it, the severest first.
    pub settles: Vec<Settles>,
    /// What it is ranked by.
    pub score: f64,
}

/// What to measure next, and how much stands beside it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NextList {
    /// The rows, those of one place together, the best place first.
    pub rows: Vec<Next>,
    /// Numbers that no limit can decide yet.
    pub undecided: usize,
    /// Of those, how many a row bears upon.
    pub settled: usize,
    /// Assumed values that are not on the list: they change no verdict, or too little.
    pub left: usize,
}

/// What the list is worked from.
#[derive(Clone, Copy, Debug)]
pub struct Basis<'a> {
    /// The car's file.
    pub file: &'a Arc<SourceFile>,
    /// Values that stand in for the file's.
    pub overrides: &'a Overrides,
    /// The car, its readings and the day.
    pub situation: &'a Situation<'a>,
    /// Every number with its band.
    pub answers: &'a [Answer],
    /// The checks asked.
    pub checks: &'a [&'a Check],
    /// Units shown.
    pub units: Units,
}

impl Basis<'_> {
    /// What limits that are worked out take their terms from.
    fn terms(&self) -> Terms<'_> {
        Terms { car: self.situation.car, numbers: self.answers, readings: &self.situation.readings }
    }
}

fn weight(severity: Severity) -> f64 {
    match severity {
        Severity::Stop => 9.0,
        Severity::Fix => 3.0,
        Severity::Note => 1.0,
    }
}

/// A value on its way to the list.
#[derive(Default)]
struct Candidate {
    keys: BTreeSet<String>,
    input: Option<(f64, Option<f64>, Kind)>,
    missing: bool,
    settles: Vec<Settles>,
    score: f64,
    /// Worked numbers it moves, with the place of their limit.
    moves: Vec<(&'static Quantity, String)>,
}

/// The list.
pub fn measure_next(basis: &Basis<'_>, most: usize) -> NextList {
    let mut all: BTreeMap<String, Candidate> = BTreeMap::new();
    let mut undecided: BTreeSet<(String, String, String)> = BTreeSet::new();
    let terms = basis.terms();
    for answer in basis.answers {
        for held in judge(basis.checks.iter().copied(), &terms, answer, basis.units) {
            // A number that is only an end of what it can be is refused by its kind: no measurement makes it decide.
            let refused = answer.number().is_none() && held.outcome() == Outcome::Refused;
            if held.outcome() != Outcome::Undecided && !refused {
                continue;
            }
            let found = match answer {
                Answer::Number(number) => of_number(basis, answer, number, &held, &mut all),
                Answer::Refused(refused) => {
                    let needs: Vec<String> = refused
                        .needs
                        .iter()
                        .map(|need| with_id(basis.situation.car, need, answer.of()))
                        .collect();
                    of_refused(basis, &needs, answer, &held, &mut all)
                }
            };
            if found {
                let of = answer.of().unwrap_or_default().to_owned();
                undecided.insert((held.check.id.clone(), answer.quantity().to_owned(), of));
            }
        }
    }
    let mut rows: Vec<Candidate> = all.into_values().filter(|candidate| candidate.score > 0.0).collect();
    rows.sort_by(|one, other| other.score.total_cmp(&one.score).then_with(|| one.keys.cmp(&other.keys)));
    rows.truncate(most);
    let rows: Vec<Next> = rows.into_iter().map(|row| finished(basis, row)).collect();
    let settled: BTreeSet<(&str, &str, &str)> = rows
        .iter()
        .flat_map(|row| &row.settles)
        .map(|s| (s.check.as_str(), s.quantity, s.of.as_str()))
        .collect();
    let (count, settled) = (undecided.len(), settled.len());
    let left = assumed(basis).iter().filter(|key| rows.iter().all(|row| !row.keys.contains(key))).count();
    NextList { rows: by_place(rows), undecided: count, settled, left }
}

/// Every assumed value that a number rests on.
fn assumed(basis: &Basis<'_>) -> BTreeSet<String> {
    let numbers = basis.answers.iter().filter_map(Answer::number);
    let inputs = numbers.flat_map(|number| {
        let sizes =
            number.inputs.iter().filter(|input| input.way.is_assumed()).map(|input| input.path.clone());
        sizes.chain(number.unseen.iter().cloned())
    });
    inputs.collect()
}

fn settles(basis: &Basis<'_>, answer: &Answer, held: &Held<'_>) -> Settles {
    let number = answer.number();
    let of = answer.of().unwrap_or_default();
    let limit = held.row.limit(basis.units, Some((&basis.terms(), of)));
    Settles {
        check: held.check.id.clone(),
        severity: held.check.severity,
        quantity: answer.quantity(),
        of: of.to_owned(),
        limit: limit.unwrap_or_default(),
        band: number.and_then(|number| Some([number.low?, number.high?])),
        looks_wrong: held.looks_wrong(),
    }
}

/// How doubtful a worked number is.
fn doubt(held: &Held<'_>) -> f64 {
    let chance = held.judged.as_ref().and_then(|judged| judged.chance);
    match chance {
        _ if held.looks_wrong() => 1.0,
        Some(inside) => 2.0 * inside.min(1.0 - inside),
        None => 1.0,
    }
}

fn of_number(
    basis: &Basis<'_>,
    answer: &Answer,
    number: &Number,
    held: &Held<'_>,
    all: &mut BTreeMap<String, Candidate>,
) -> bool {
    let settled = settles(basis, answer, held);
    let worth = weight(held.check.severity) * doubt(held);
    for path in &number.unseen {
        let own = number.inputs.iter().find(|input| input.path == *path && quantity_kind(path).is_some());
        // One look at a part confirms all its words.
        let row = if own.is_some() { path.clone() } else { format!("{} seen", part_of(path)) };
        let candidate = all.entry(row).or_default();
        candidate.keys.insert(path.clone());
        candidate.input = own.map(|input| (input.si, input.half_width, input.kind));
        #[expect(clippy::cast_precision_loss, reason = "a number rests on a handful of words")]
        let share = 1.0 / number.unseen.len() as f64;
        candidate.add(&settled, worth * share);
    }
    for (name, share) in &number.drivers {
        let inputs = number
            .inputs
            .iter()
            .filter(|input| input.path == *name || (input.assumed && without_id(&input.path) == *name));
        let inputs: Vec<_> = inputs.collect();
        let Some(first) = inputs.first() else { continue };
        // One assumption is one row, at whatever parts a number meets it.
        let like = if first.way.is_assumed() {
            format!("{} {}", without_id(&first.path), first.way.word())
        } else if first.assumed {
            without_id(&first.path)
        } else {
            first.path.clone()
        };
        let candidate = all.entry(like).or_default();
        candidate.keys.extend(inputs.iter().map(|input| input.path.clone()));
        let half = spread(first).map(|[low, high]| (high - low) / 2.0);
        candidate.input = Some((first.si, half, first.kind));
        if let Some(quantity) = quantity(number.quantity) {
            candidate.moves.push((quantity, number.of.clone()));
        }
        candidate.add(&settled, worth * share);
    }
    !(number.unseen.is_empty() && number.drivers.is_empty())
}

/// The part that a key is of; the key itself where it is of none.
fn part_of(key: &str) -> &str {
    let part = in_list(key).and_then(|(list, rest)| {
        let id = rest.split('.').next()?;
        key.get(..list.len() + 1 + id.len())
    });
    part.unwrap_or(key)
}

fn of_refused(
    basis: &Basis<'_>,
    needs: &[String],
    answer: &Answer,
    held: &Held<'_>,
    all: &mut BTreeMap<String, Candidate>,
) -> bool {
    // A reading of the day, or a whole table, is asked for elsewhere.
    let one_value = |need: &&String| {
        let field = field_of(need);
        field.is_some_and(|field| !matches!(field.kind, FieldKind::Table(_) | FieldKind::Tables(_)))
    };
    let keys: Vec<&String> = needs.iter().filter(one_value).collect();
    if keys.len() < needs.len() || keys.is_empty() {
        return false;
    }
    let settled = settles(basis, answer, held);
    #[expect(clippy::cast_precision_loss, reason = "a number lacks a handful of keys")]
    let share = 1.0 / keys.len() as f64;
    for key in keys {
        let candidate = all.entry(key.clone()).or_default();
        candidate.keys.insert(key.clone());
        candidate.missing = true;
        candidate.add(&settled, weight(held.check.severity) * share);
    }
    true
}

impl Candidate {
    fn add(&mut self, settled: &Settles, score: f64) {
        self.score += score;
        if !self.settles.contains(settled) {
            self.settles.push(settled.clone());
        }
    }
}

fn finished(basis: &Basis<'_>, mut row: Candidate) -> Next {
    row.settles.sort_by_key(|settled| (settled.severity, !settled.looks_wrong));
    let keys: Vec<String> = row.keys.iter().cloned().collect();
    let first = keys.first().map_or("", String::as_str);
    let (si, half_width) = (row.input.map(|input| input.0), row.input.and_then(|input| input.1));
    let kind =
        row.input.map(|input| input.2).filter(|_| quantity_kind(first).is_some()).or(quantity_kind(first));
    let measured = measured(basis.situation.car, first, basis.units);
    let enough = enough(basis, &keys, &row);
    Next {
        si,
        half_width,
        kind,
        enough,
        missing: row.missing,
        measured,
        settles: row.settles,
        score: row.score,
        keys,
    }
}

/// The largest half-width, by halves, at which the value alone leaves every number it moves on one side of its limit.
fn enough(basis: &Basis<'_>, keys: &[String], row: &Candidate) -> Option<f64> {
    let (si, half, kind) = row.input?;
    let half = half?;
    let largest = if kind == Kind::Length && half > INCH / 32.0 { 2.0 * INCH } else { half };
    let sides = |value: f64| -> Vec<Option<bool>> {
        let mut overrides = basis.overrides.clone();
        overrides.extend(keys.iter().map(|key| (key.clone(), Override::Si(value))));
        let car = read_car(basis.file, &overrides).car;
        let situation = Situation::new(&car, basis.situation.readings.clone(), basis.situation.on);
        let side = |(quantity, of): &(&'static Quantity, String)| {
            let answers = work(quantity, &situation);
            let answer = answers.iter().find(|answer| answer.of() == Some(of))?;
            let si = answer.number()?.si()?;
            let rows = basis.checks.iter().flat_map(|check| &check.compute);
            let mut rows = rows.filter(|row| row.judges() && row.is_about(&car, quantity.id, Some(of)));
            let inside =
                |limit: &crate::rules::Limit, most: bool| if most { si <= limit.si } else { si >= limit.si };
            Some(rows.all(|row| {
                row.min.as_ref().is_none_or(|min| inside(min, false))
                    && row.max.as_ref().is_none_or(|max| inside(max, true))
            }))
        };
        row.moves.iter().map(side).collect()
    };
    let given = sides(si);
    let mut step = largest;
    for _ in 0..STEPS {
        if step < 0.99 * half && sides(si - step) == given && sides(si + step) == given {
            return Some(step);
        }
        step /= 2.0;
    }
    None
}

/// Rows of one place together, places by their best row.
fn by_place(rows: Vec<Next>) -> Vec<Next> {
    let mut places: Vec<String> = Vec::new();
    for row in &rows {
        if !places.contains(&row.measured.place) {
            places.push(row.measured.place.clone());
        }
    }
    let mut rows = rows;
    rows.sort_by_key(|row| places.iter().position(|place| *place == row.measured.place));
    rows
}

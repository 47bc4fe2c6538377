//! A number against a limit that is worked out: both in the same draws, so that one unknown that moves both does not stand
//! between them twice.

use std::sync::Arc;

use crate::diagnostic::SourceFile;
use crate::model::entry::Outcome;
use crate::numbers::{Answer, Bound, Draws, Limited, Number, Situation, WorkedLimits, worked, worked_before};
use crate::physics::quantile::point;
use crate::source::Overrides;
use crate::units::Units;

use super::expression::{Expression, Terms, hull};
use super::limits::{ComputeRow, WordOrFlag};
use super::ruleset::Ruleset;
use super::verdict::{
    GRACE, HIGH, Judged, LOW, assumptions_counted, between, chance_words, judge_compute, judged_as_known,
};

impl Ruleset {
    /// Every number of a car with its band, those that these rules hold to worked limits with the terms of these.
    pub fn numbers_of(
        &self,
        file: &Arc<SourceFile>,
        overrides: &Overrides,
        situation: &Situation<'_>,
    ) -> Arc<Vec<Answer>> {
        worked(
            file,
            overrides,
            situation,
            &self.held_to(&|answers| {
                let terms = Terms { car: situation.car, numbers: answers, readings: &situation.readings };
                self.limited(&terms)
            }),
        )
    }

    /// The same where they are worked out already.
    pub fn numbers_known(
        &self,
        file: &SourceFile,
        overrides: &Overrides,
        situation: &Situation<'_>,
    ) -> Option<Arc<Vec<Answer>>> {
        worked_before(file, overrides, situation, &self.held_to(&|_| Vec::new()))
    }

    fn held_to<'f>(&self, of: &'f dyn Fn(&[Answer]) -> Vec<Limited>) -> WorkedLimits<'f> {
        WorkedLimits { mark: self.worked_limits(), of }
    }

    /// Whether a quantity is held to a limit that is worked out.
    pub fn works_limits_of(&self, quantity: &str) -> bool {
        self.rows_worked().any(|row| row.quantity.id == quantity)
    }

    /// What every worked limit of a number says.
    fn worked_limits(&self) -> String {
        let rows = self.rows_worked();
        let said = rows.flat_map(|row| row.worked.iter().map(move |(key, limit)| (row, key, limit)));
        said.map(|(row, key, limit)| format!("{} {key} {}\n", row.quantity.id, limit.text)).collect()
    }

    fn rows_worked(&self) -> impl Iterator<Item = &ComputeRow> {
        let rows = self.checks.iter().flat_map(|check| &check.compute);
        rows.filter(|row| !row.worked.is_empty())
    }

    /// Which numbers are held to limits that are worked out, and what these are worked out of.
    pub fn limited(&self, terms: &Terms<'_>) -> Vec<Limited> {
        let mut found: Vec<Limited> = Vec::new();
        for row in self.rows_worked() {
            let answers = terms.numbers.iter().enumerate();
            for (answer, of) in
                answers.filter(|(_, answer)| row.is_about(terms.car, answer.quantity(), answer.of()))
            {
                let names = row.worked.iter().flat_map(|(_, limit)| limit.all_names());
                let all = names.map(|name| (name.clone(), terms.all(&name, of.of())));
                match found.iter_mut().find(|known| known.answer == answer) {
                    Some(known) => known.terms.extend(all),
                    None => found.push(Limited { answer, terms: all.collect() }),
                }
            }
        }
        found
    }
}

/// What a row whose limits are worked out makes of a number.
pub(super) fn judge_drawn(row: &ComputeRow, number: &Number, terms: &Terms<'_>, units: Units) -> Judged {
    let of = Some(number.of.as_str());
    let given = row.settled(|limit| limit.range_by(&|name| terms.given(name, of)), units);
    let drawn = number.draws.as_ref().filter(|_| number.range().is_some());
    let margins = drawn.and_then(|draws| Margins::of(row, number, draws, &given, units));
    if let Some(margins) = margins {
        return margins.judge(&given, number, row, terms, units);
    }
    let settled = row.settled(|limit| limit.range(terms, of), units);
    between(settled.map(|row| judge_compute(&row, number, units)), || row.needs(terms, of))
}

impl ComputeRow {
    /// Keys that its worked limits lack for an item.
    fn needs(&self, terms: &Terms<'_>, of: Option<&str>) -> Vec<String> {
        self.worked.iter().flat_map(|(_, limit)| limit.needs(terms, of)).collect()
    }
}

/// How far a number stays inside its limits: over the least and under the most, where the limits are as strict as what is
/// not known leaves them, and where they are as loose.
#[derive(Clone, Copy, Debug)]
struct Margin {
    strict: [f64; 2],
    loose: [f64; 2],
}

impl Margin {
    fn of([loose, strict]: &[ComputeRow; 2], value: f64) -> Self {
        let inside = |row: &ComputeRow| {
            let equal = match &row.equals {
                Some(WordOrFlag::Number(limit)) => Some(limit),
                _ => None,
            };
            let least = equal.or(row.min.as_ref()).map_or(f64::INFINITY, |limit| value - limit.si);
            let most = equal.or(row.max.as_ref()).map_or(f64::INFINITY, |limit| limit.si - value);
            [least, most]
        };
        Self { strict: inside(strict), loose: inside(loose) }
    }

    fn is_inside(&self, grace: f64) -> bool {
        self.strict.iter().all(|margin| *margin >= -grace)
    }
}

/// The margins of every draw, and of the inputs as given.
struct Margins {
    given: Margin,
    draws: Vec<Margin>,
    grace: f64,
}

impl Margins {
    fn of(
        row: &ComputeRow,
        number: &Number,
        draws: &Draws,
        given: &[ComputeRow; 2],
        units: Units,
    ) -> Option<Self> {
        let si = number.si()?;
        let mut all = Vec::with_capacity(draws.value.len());
        for (case, value) in draws.value.iter().enumerate() {
            let Some(value) = *value else { continue };
            let known = |name: &str| {
                let named = draws.terms.iter().find(|(known, _)| known == name).map(|(_, terms)| terms);
                let values = named.into_iter().flatten().map(|term| term.get(case).copied().flatten());
                hull(values.map(|si| si.map(|si| [si, si])))
            };
            let settled = row.settled(|limit: &Expression| limit.range_by(&known), units);
            all.push(Margin::of(&settled, value));
        }
        let ends = given.iter().flat_map(|row| [&row.min, &row.max]).flatten().map(|limit| limit.si.abs());
        let size = ends.filter(|si| si.is_finite()).fold(1e-6, f64::max);
        (!all.is_empty()).then_some(Self { given: Margin::of(given, si), draws: all, grace: GRACE * size })
    }

    /// The point of a margin below which a share of the draws lies, the inputs as given counted in.
    fn end(&self, share: f64, margin: impl Fn(&Margin) -> f64) -> f64 {
        let mut all: Vec<f64> = self.draws.iter().map(&margin).collect();
        all.sort_by(f64::total_cmp);
        let (at, given) = (point(&all, share), margin(&self.given));
        if share < 0.5 { at.min(given) } else { at.max(given) }
    }

    fn outcome(&self, bound: Bound) -> Outcome {
        // What is only an end of the true value says nothing of the other side.
        let sure = |side: usize| match bound {
            Bound::Value => true,
            Bound::AtLeast => side == 0,
            Bound::AtMost => side == 1,
        };
        let least =
            |side: usize| self.end(LOW, |margin| margin.strict.get(side).copied().unwrap_or_default());
        let most = |side: usize| self.end(HIGH, |margin| margin.loose.get(side).copied().unwrap_or_default());
        let limits = |side: usize| least(side) < f64::INFINITY;
        let inside = |side: usize| !limits(side) || (sure(side) && least(side) >= -self.grace);
        let outside = |side: usize| (bound == Bound::Value || !sure(side)) && most(side) < -self.grace;
        match () {
            () if outside(0) || outside(1) => Outcome::Reject,
            () if inside(0) && inside(1) => Outcome::Accept,
            () if bound == Bound::Value => Outcome::Undecided,
            () => Outcome::Refused,
        }
    }

    fn judge(
        &self,
        given: &[ComputeRow; 2],
        number: &Number,
        row: &ComputeRow,
        terms: &Terms<'_>,
        units: Units,
    ) -> Judged {
        let [loose, _] = given;
        let outcome = self.outcome(number.bound);
        let needs = row.needs(terms, Some(&number.of));
        // As the limits stand with the inputs as given; only the answer is that of all draws.
        let mut judged = Judged { outcome, ..judged_as_known(loose, number, units) };
        judged.says = chance_words(loose, number, outcome, units);
        judged.near = outcome == Outcome::Accept && self.is_near();
        judged.short_of_aim &= outcome == Outcome::Accept;
        judged.chance = (outcome == Outcome::Undecided && needs.is_empty()).then(|| self.chance());
        judged.remedy = super::verdict::to_decide(number, &needs).filter(|_| outcome == Outcome::Undecided);
        assumptions_counted(judged, number)
    }

    #[expect(clippy::cast_precision_loss, reason = "a band has a thousand draws at most")]
    fn chance(&self) -> f64 {
        let inside = self.draws.iter().filter(|margin| margin.is_inside(self.grace)).count();
        inside as f64 / self.draws.len() as f64
    }

    /// Whether margins that range twice as far would cross a limit.
    fn is_near(&self) -> bool {
        (0..2).any(|side| {
            let at = |margin: &Margin| margin.strict.get(side).copied().unwrap_or_default();
            2.0 * self.end(LOW, at) - at(&self.given) < -self.grace
        })
    }
}

//! What the program can say of a check: every row of it against its limit.

use std::cell::OnceCell;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::SourceFile;
use crate::model::entry::Outcome;
use crate::model::letters::Letters;
use crate::model::{Car, keys};
use crate::numbers::{Answer, Readings, Situation, work_all};
use crate::rules::{
    Check, ComputeRow, CountEquals, CountRow, DateRow, Ends, Judged, Limit, MeasureRow, Ruleset, Terms,
    Typed, code, element, items, judge_count, judge_date, judge_measure, judge_worked, worst,
};
use crate::source::{Overrides, date_help, parse_date};
use crate::units::{Kind, Refusal, Units, parse_bare};

/// Everything a check is judged with.
#[derive(Clone, Copy, Debug)]
pub struct Evaluator<'a> {
    /// The rules in force.
    pub rules: &'a Ruleset,
    /// The car.
    pub car: &'a Car,
    /// The car's file.
    pub car_file: &'a Arc<SourceFile>,
    /// Values that were measured, in place of the file's.
    pub measured: &'a Overrides,
    /// Every number, once one was asked for.
    pub numbers: &'a OnceCell<Arc<Vec<Answer>>>,
    /// The same without their bands, which say what a check is about and take no time.
    pub plain: &'a OnceCell<Vec<Answer>>,
    /// Readings of the day.
    pub readings: &'a Readings,
    /// The day that dates count to.
    pub on: NaiveDate,
    /// Units people read.
    pub units: Units,
}

/// Where a row's value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Typed just now.
    Typed,
    /// What the car file or a reading says.
    File,
    /// Worked out.
    Computed,
}

/// Said where the rule has a limit and the car does not tell it.
pub const LIMIT_UNKNOWN: &str = "no limit known: you decide";

/// One row of a check with its verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct RowJudged {
    /// Its id; empty where the check has one row.
    pub id: String,
    /// What it is.
    pub label: String,
    /// The item it is of.
    pub of: Option<String>,
    /// The value as read.
    pub shown: String,
    /// In SI.
    pub si: Option<f64>,
    /// Its SI unit.
    pub unit: &'static str,
    /// Lower end of its band.
    pub low: Option<f64>,
    /// Upper end of its band.
    pub high: Option<f64>,
    /// Where it comes from.
    pub origin: Origin,
    /// Whether it has a limit at all.
    pub judges: bool,
    /// Whether its rule has a limit that this car does not tell.
    pub limit_unknown: bool,
    /// The limit of a worked-out number, in SI, to tell it from another.
    pub limit: Option<String>,
    /// The ends of that limit, SI.
    pub ends: Ends,
    /// The verdict.
    pub judged: Judged,
}

/// A number that lacks an input.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// What it would tell.
    pub label: String,
    /// The item it would be of.
    pub of: Option<String>,
    /// Key paths of what is missing.
    pub needs: Vec<String>,
    /// Why, in one sentence.
    pub reason: String,
    /// Whether it has a limit.
    pub judges: bool,
}

/// What the program can say of a check.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Assessment {
    /// Rows with a value.
    pub rows: Vec<RowJudged>,
    /// Numbers that lack an input.
    pub missing: Vec<Missing>,
    /// Typed texts that cannot be read, by row id.
    pub unread: Vec<(String, Refusal)>,
    /// Typed rows without a value: id and label.
    pub waiting: Vec<(String, String)>,
    /// Whether the numbers it needs are still to be worked out: nothing is said of it until then.
    pub being_worked: bool,
}

impl Assessment {
    /// The verdict over every row that has a limit; one that lacks an input is refused, and not passed over.
    pub fn verdict(&self) -> Option<Outcome> {
        let judged = self.rows.iter().filter(|row| row.judges).map(|row| row.judged.outcome);
        let refused = self.missing.iter().filter(|missing| missing.judges).map(|_| Outcome::Refused);
        worst(judged.chain(refused))
    }

    /// The row that decides: of several with the verdict the oldest date, the least chance.
    pub fn deciding(&self) -> Option<&RowJudged> {
        let verdict = self.verdict()?;
        let with_it = self.rows.iter().filter(|row| row.judges && row.judged.outcome == verdict);
        with_it.min_by(|a, b| match (a.origin, b.origin, a.judged.chance, b.judged.chance) {
            (Origin::File, Origin::File, ..) => a.shown.cmp(&b.shown),
            (_, _, Some(a), Some(b)) => a.total_cmp(&b),
            _ => Ordering::Equal,
        })
    }

    /// Whether its rows are of more than one item.
    pub fn has_several_items(&self) -> bool {
        let mut items = self.rows.iter().filter_map(|row| row.of.as_deref());
        items.next().is_some_and(|first| items.any(|other| other != first))
    }

    /// What it says of one item, and of the check as a whole.
    pub fn of_item(mut self, item: &str) -> Self {
        self.rows.retain(|row| row.of.as_deref().is_none_or(|of| of == item));
        self.missing.retain(|missing| missing.of.as_deref().is_none_or(|of| of == item));
        self
    }

    /// What it says without some items.
    pub fn without(mut self, items: &BTreeSet<&str>) -> Self {
        self.rows.retain(|row| row.of.as_deref().is_none_or(|of| !items.contains(of)));
        self.missing.retain(|missing| missing.of.as_deref().is_none_or(|of| !items.contains(of)));
        self
    }

    /// Whether a person typed any of it, or it is confirmed from the file.
    pub fn has_typed(&self) -> bool {
        self.rows.iter().any(|row| row.origin != Origin::Computed)
    }

    /// Typed rows whose limit this car does not tell: only a person decides them.
    pub fn without_limit(&self) -> impl Iterator<Item = &RowJudged> {
        self.rows.iter().filter(|row| row.limit_unknown && !row.judges)
    }

    /// Whether only worked-out numbers decide.
    pub fn is_computed(&self) -> bool {
        self.deciding().is_some_and(|row| row.origin == Origin::Computed)
    }
}

impl<'a> Evaluator<'a> {
    /// Every number, worked out.
    pub fn numbers(&self) -> &'a [Answer] {
        self.numbers.get_or_init(|| self.rules.numbers_of(self.car_file, self.measured, &self.situation()))
    }

    fn situation(&self) -> Situation<'a> {
        Situation::new(self.car, self.readings.clone(), self.on)
    }

    /// What a check is about: its items.
    pub fn items(&self, check: &Check) -> BTreeSet<&'a str> {
        let numbers = self.numbers.get().map_or_else(
            || self.plain.get_or_init(|| work_all(&self.situation())).as_slice(),
            |numbers| numbers.as_slice(),
        );
        items(check, self.car, numbers)
    }

    /// What can be said of a check now: where its numbers are still to be worked out, that they are.
    pub fn assess_now(&self, check: &Check) -> Assessment {
        if self.numbers.get().is_none() && check.needs_numbers() {
            return Assessment { being_worked: true, ..Assessment::default() };
        }
        self.assess(check, &BTreeMap::new(), None)
    }

    /// The code that a check, or one item of it, goes by.
    pub fn code(&self, check: &Check, of: Option<&str>, letters: &Letters) -> String {
        let items = of.map(|_| self.items(check)).unwrap_or_default();
        code(check, of, &items, letters)
    }

    /// Judges a check, with typed texts by row id (an empty id where it has one row).
    pub fn assess(
        &self,
        check: &Check,
        typed: &BTreeMap<String, String>,
        instrument: Option<&str>,
    ) -> Assessment {
        let mut out = Assessment::default();
        match &check.typed {
            Typed::None => {}
            Typed::Measure(rows) => {
                for row in rows {
                    self.measure(row, text(typed, &row.id, rows.len()), instrument, &mut out);
                }
            }
            Typed::Count(rows) => {
                for row in rows {
                    self.count(row, text(typed, &row.id, rows.len()), &mut out);
                }
            }
            Typed::Date(rows) => {
                for row in rows {
                    self.date(row, text(typed, &row.id, rows.len()), &mut out);
                }
            }
        }
        self.compute(check, &mut out);
        out
    }

    fn measure(&self, row: &MeasureRow, text: Option<&str>, instrument: Option<&str>, out: &mut Assessment) {
        let read = self.read(row);
        match text.map(|text| parse_bare(text, row.kind, &row.unit)) {
            None if read.is_empty() => out.waiting.push((row.id.clone(), row.label.clone())),
            None => {}
            Some(Err(refusal)) => out.unread.push((row.id.clone(), refusal)),
            Some(Ok((parsed, echo))) => {
                let shown = echo.unwrap_or_else(|| text.unwrap_or_default().trim().to_owned());
                let value = (parsed.si, parsed.half_width, instrument);
                let mut typed = self.measured(row, None, shown, value, Origin::Typed);
                if let Some(other) = unlike(&read, parsed.si) {
                    typed.judged = differs(&typed, other);
                }
                out.rows.push(typed);
            }
        }
        out.rows.extend(read);
    }

    /// A row by the readings that give its value, one for each part that has one.
    fn read(&self, row: &MeasureRow) -> Vec<RowJudged> {
        let Some(name) = &row.reading else { return Vec::new() };
        let readings =
            self.readings.iter().filter_map(|(path, value)| Some((element(name, path)?.to_owned(), value)));
        readings
            .map(|(of, value)| {
                let measured = (value.si, value.half_width, value.instrument.as_deref());
                self.measured(row, Some(of), value.text.clone(), measured, Origin::File)
            })
            .collect()
    }

    fn measured(
        &self,
        row: &MeasureRow,
        of: Option<String>,
        shown: String,
        (si, half_width, instrument): (f64, Option<f64>, Option<&str>),
        origin: Origin,
    ) -> RowJudged {
        let numbers = if row.worked.is_empty() { &[] } else { self.numbers() };
        let terms = Terms { car: self.car, numbers, readings: self.readings };
        let judged = judge_worked(row, (&terms, of.as_deref()), |row| {
            judge_measure(self.rules, row, si, half_width, instrument, self.units)
        });
        RowJudged {
            id: row.id.clone(),
            label: row.label.clone(),
            of,
            shown,
            si: Some(si),
            unit: row.kind.si_unit(),
            low: None,
            high: None,
            origin,
            judges: row.judges(),
            limit_unknown: false,
            limit: None,
            ends: ends_of(row),
            judged,
        }
    }

    fn count(&self, row: &CountRow, text: Option<&str>, out: &mut Assessment) {
        let Some(text) = text else {
            out.waiting.push((row.id.clone(), row.label.clone()));
            return;
        };
        let Ok(count) = text.trim().parse::<u32>() else {
            let help = "type a whole number, such as 2".to_owned();
            let refusal =
                Refusal { at: 0..text.len(), message: format!("\"{}\" is not a count", text.trim()), help };
            out.unread.push((row.id.clone(), refusal));
            return;
        };
        let equals = match &row.equals {
            Some(CountEquals::Number(number)) => Some(*number),
            Some(CountEquals::Key(key)) => keys::count(self.car, key),
            None => None,
        };
        let limit_unknown = row.equals.is_some() && equals.is_none();
        let judged = judge_count(count, row.min, row.max, equals);
        let judged = Judged {
            says: if limit_unknown && judged.outcome == Outcome::Accept {
                format!("{}, {LIMIT_UNKNOWN}", judged.says)
            } else {
                judged.says
            },
            ..judged
        };
        out.rows.push(RowJudged {
            id: row.id.clone(),
            label: row.label.clone(),
            of: None,
            shown: count.to_string(),
            si: Some(f64::from(count)),
            unit: "1",
            low: None,
            high: None,
            origin: Origin::Typed,
            // Outside the part of its limit that is known, it is outside all the same.
            judges: if limit_unknown {
                judged.outcome == Outcome::Reject
            } else {
                row.min.is_some() || row.max.is_some() || equals.is_some()
            },
            limit_unknown,
            limit: None,
            ends: Ends::default(),
            judged,
        });
    }

    fn date(&self, row: &DateRow, text: Option<&str>, out: &mut Assessment) {
        let spans = keys::dates(self.car, &row.field);
        if let Some(text) = text {
            let Some(date) = parse_date(text) else {
                let help = date_help(text);
                let refusal = Refusal {
                    at: 0..text.len(),
                    message: format!("\"{}\" is not a date", text.trim()),
                    help,
                };
                out.unread.push((row.id.clone(), refusal));
                return;
            };
            let every = spans.iter().filter_map(|of| of.every).min_by_key(|span| span.after(date));
            out.rows.push(dated(row, None, date, Origin::Typed, judge_date(row, date, every, self.on)));
            return;
        }
        let before = out.rows.len();
        let any = spans.iter().any(|of| of.date.is_some());
        for of in spans {
            match of.date {
                Some(date) => {
                    let judged = judge_date(row, date, of.every, self.on);
                    out.rows.push(dated(row, Some(of.of.to_owned()), date, Origin::File, judged));
                }
                // Where some have a date, one without is refused by name.
                None if any => out.missing.push(undated(row, of.of)),
                None => {}
            }
        }
        let read = self.readings.get(&row.field).and_then(|reading| parse_date(&reading.text));
        if let Some(date) = read {
            out.rows.push(dated(row, None, date, Origin::File, judge_date(row, date, None, self.on)));
        }
        if out.rows.len() == before {
            out.waiting.push((row.id.clone(), row.label.clone()));
        }
    }

    /// Row by row of the check, each over every part that it speaks of.
    fn compute(&self, check: &Check, out: &mut Assessment) {
        for row in &check.compute {
            let about = |answer: &&Answer| row.is_about(self.car, answer.quantity(), answer.of());
            for answer in self.numbers().iter().filter(about) {
                self.computed(row, answer, out);
            }
        }
    }

    fn computed(&self, row: &ComputeRow, answer: &Answer, out: &mut Assessment) {
        let terms = Terms { car: self.car, numbers: self.numbers(), readings: self.readings };
        let (label, of) = (row.label.clone(), answer.of().map(str::to_owned));
        match (answer, row.judge(&terms, answer, self.units)) {
            (Answer::Number(number), Some(judged)) => out.rows.push(RowJudged {
                id: row.id.clone(),
                label,
                of,
                shown: number.shown(self.units),
                si: number.si(),
                unit: number.shown_as.unit(),
                low: number.low,
                high: number.high,
                origin: Origin::Computed,
                judges: row.judges(),
                limit_unknown: false,
                limit: row.limit_si(&terms, &number.of),
                ends: row.gauge_ends(&terms, &number.of, self.units),
                judged,
            }),
            (Answer::Refused(refused), _) => out.missing.push(Missing {
                label,
                of,
                needs: refused.needs.clone(),
                reason: refused.reason.clone(),
                judges: row.judges(),
            }),
            (Answer::Number(_), None) => {}
        }
    }
}

/// The reading that a typed value is unlike: none where there is none, or one agrees with it to a hundredth.
fn unlike(read: &[RowJudged], typed: f64) -> Option<&RowJudged> {
    let agrees = |row: &&RowJudged| row.si.is_some_and(|si| (si - typed).abs() <= 0.01 * si.abs());
    if read.iter().any(|row| agrees(&row)) { None } else { read.first() }
}

fn differs(typed: &RowJudged, read: &RowJudged) -> Judged {
    let of = read.of.as_deref().unwrap_or("the car");
    let says = format!("{} was typed, and the reading of {of} is {}", typed.shown, read.shown);
    let outcome = if typed.judged.outcome == Outcome::Reject { Outcome::Reject } else { Outcome::Undecided };
    let remedy = Some("mend the value typed, or take the reading again".to_owned());
    Judged { outcome, says, remedy, chance: None, ..typed.judged.clone() }
}

fn undated(row: &DateRow, of: &str) -> Missing {
    let key = match row.field.rsplit_once('.') {
        Some((table, key)) => format!("{table}.{of}.{key}"),
        None => row.field.clone(),
    };
    Missing {
        label: row.label.clone(),
        of: Some(of.to_owned()),
        reason: format!("{key} is not given"),
        needs: vec![key],
        judges: true,
    }
}

fn dated(row: &DateRow, of: Option<String>, date: NaiveDate, origin: Origin, judged: Judged) -> RowJudged {
    RowJudged {
        id: row.id.clone(),
        label: row.label.clone(),
        of,
        shown: date.to_string(),
        si: None,
        unit: "day",
        low: None,
        high: None,
        origin,
        judges: true,
        limit_unknown: false,
        limit: None,
        ends: Ends::default(),
        judged,
    }
}

/// Limits that a gauge can show: a temperature has no zero that means anything.
fn ends_of(row: &MeasureRow) -> Ends {
    let si = |limit: &Option<Limit>| {
        limit.as_ref().map(|limit| limit.si).filter(|_| row.kind != Kind::Temperature)
    };
    Ends { min: si(&row.min), max: si(&row.max) }
}

/// The text typed for a row: by its id, or the only one.
fn text<'t>(typed: &'t BTreeMap<String, String>, id: &str, rows: usize) -> Option<&'t str> {
    let by_id = typed.get(id).filter(|_| !id.is_empty());
    by_id.or(typed.get("").filter(|_| rows == 1)).map(String::as_str).filter(|text| !text.trim().is_empty())
}

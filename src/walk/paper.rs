//! Answers from paper: a file checked whole, then kept by the same machine as on screen.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{NaiveDate, NaiveTime, TimeDelta};

use crate::diagnostic::{self, Diagnostic, Place, SourceFile};
use crate::model::entry::{Entry, Finding, Kept, Moment, Outcome, Reading, Severity};
use crate::model::letters::Letters;
use crate::rules::Typed;
use crate::source::{self, FieldKind, Overrides, ReadState, Reader, TimeTyped, Word, text_or_number};
use crate::units::{parse, parse_bare};

use super::action::{Objection, Wants};
use super::decide::{Decided, NewId, known_instrument, read};
use super::paper_rest::{PlainRows, plain_rows};
use super::reply::{Reply, known_item, settle};
use super::state::Walk;

/// The value by which a sheet says that it was judged by eye. It is read here; the record has a field of its own.
const BY_EYE: &str = "by eye";

/// An answers file as read.
#[derive(Clone, Debug, Default)]
pub struct PaperAnswers {
    /// The car it is for.
    pub car: Option<Word>,
    /// The number of the car it is for: makes the car where none has it.
    pub number: Option<Word>,
    /// Who.
    pub by: Option<String>,
    /// The profile walked.
    pub profile: Option<Word>,
    /// The stage of a build.
    pub stage: Option<Word>,
    /// The edition of the car file that the sheet was printed from: the first digits of its checksum.
    pub edition: Option<String>,
    /// The rulebook noted on the sheet.
    pub rulebook: Option<String>,
    /// The day of the walk, for times that stand alone.
    pub date: Option<NaiveDate>,
    /// Whether it ends the walk.
    pub end: bool,
    /// Rows without a table of their own.
    pub plain: PlainRows,
    /// Its answers, in order.
    pub answers: Vec<PaperAnswer>,
    /// Its readings, in order.
    pub readings: Vec<PaperReading>,
    /// SHA-256 of the file.
    pub sha256: String,
}

/// One answer as written.
#[derive(Clone, Debug)]
pub struct PaperAnswer {
    /// Where it stands.
    pub place: Place,
    /// Where its check, item, value and instrument stand; its table where one is left out.
    pub places: AnswerPlaces,
    /// The reply it makes.
    pub reply: Reply,
    /// The time on the paper.
    pub at: Option<TimeTyped>,
    /// A photo beside the file.
    pub photo: Option<Word>,
}

/// Where the parts of an answer stand.
#[derive(Clone, Debug)]
pub struct AnswerPlaces {
    check: Place,
    of: Place,
    value: Place,
    instrument: Place,
    at: Place,
}

/// One reading as written.
#[derive(Clone, Debug)]
pub struct PaperReading {
    /// Where it stands.
    pub place: Place,
    /// Its key.
    pub key: Word,
    /// As written.
    pub value: String,
    /// Where the value stands.
    pub value_at: Place,
    /// Instrument used.
    pub instrument: Option<String>,
    /// The time on the paper.
    pub at: Option<TimeTyped>,
    /// Where the time stands.
    pub time_at: Place,
}

/// Reads an answers file; every mistake in it at once.
pub fn read_paper(file: &Arc<SourceFile>) -> (PaperAnswers, Vec<Diagnostic>) {
    let (root, mut diagnostics) = source::parse(file);
    let state = ReadState::of_part(Overrides::new(), !diagnostics.is_empty());
    let mut paper = Reader::document(&root, &state, |r| {
        r.format_number();
        PaperAnswers {
            car: r.word("car", "Id of the car the sheet is for."),
            number: r.text_or_number(
                "number",
                "Number of the car the sheet is for; where none has it, the car is made.",
            ),
            by: r.text("by", "Who answered."),
            profile: r.word("profile", "Profile walked."),
            stage: r.word("stage", "Stage of a build."),
            edition: r.text("edition", "Edition of the car file that the sheet was printed from."),
            rulebook: r.text("rulebook", "Rulebook edition noted on the sheet."),
            date: r
                .date("date", "Day of the walk: a time may then stand alone, at = \"10:15\".")
                .map(|dated| dated.day),
            end: r.flag("end", "Ends the walk.").unwrap_or(false),
            plain: plain_rows(r),
            answers: r.tables("answer", "Answers, in order.", answer),
            readings: r.tables("reading", "Readings of the day.", |r| PaperReading {
                place: r.at.clone(),
                key: r.need_word("key", "Key of the reading: suppression.bottle.b1.gauge."),
                value_at: r.place("value"),
                value: r.need_text_or_number("value", "The reading with its unit."),
                instrument: r.text("instrument", "Instrument used."),
                at: r.time("at", "The time written on the paper."),
                time_at: r.place("at"),
            }),
            sha256: String::new(),
        }
    });
    paper.sha256 = file.sha256();
    diagnostics.extend(source::beside(&diagnostics, state.finish()));
    diagnostic::sort(&mut diagnostics);
    (paper, diagnostics)
}

fn answer(r: &Reader<'_>) -> PaperAnswer {
    let mut values: BTreeMap<String, String> = BTreeMap::new();
    let check = r.need_text("check", "The check by its code, TL12 or TL12-b, or by its id.");
    let of = r.text("of", "The item, where it is about one.");
    let result = r.choice(
        "result",
        "accept, reject, not-fitted, not-yet, not-seen, repaired; default: the value decides.",
        Outcome::WORDS,
    );
    let value = r.text_or_number("value", "The value with its unit, or \"by eye\".").map(|word| word.text);
    let by_eye = value.as_deref() == Some(BY_EYE);
    if let Some(value) = value.filter(|_| !by_eye) {
        values.insert(String::new(), value);
    }
    let several =
        r.map("values", "Values by row name.", FieldKind::TextOrNumber, text_or_number).unwrap_or_default();
    values.extend(several.into_iter().map(|(word, text)| (word.text, text)));
    let value_key = if r.has("value") { "value" } else { "values" };
    PaperAnswer {
        place: r.at.clone(),
        places: AnswerPlaces {
            check: r.place("check"),
            of: r.place("of"),
            value: r.place(value_key),
            instrument: r.place("instrument"),
            at: r.place("at"),
        },
        reply: Reply {
            check,
            of,
            result,
            values,
            by_eye,
            instrument: r.text("instrument", "Instrument used."),
            note: r.text("note", "Free words."),
            photos: Vec::new(),
            severity: r.choice("severity", "Severity, where it is not the check's.", Severity::WORDS),
            seen_at: None,
            by_station: false,
            by: r.text("by", "Who, where it is not the sheet's."),
        },
        at: r.time("at", "The time written on the paper; \"10:15\" under a date at the top."),
        photo: r.word("photo", "A photo, by its path from the answers file."),
    }
}

/// What keeping an answers file takes: entries in order, each with the photo to copy before it.
#[derive(Clone, Debug, Default)]
pub struct PaperPlan {
    /// Entries and, for a finding with a photo, the photo's path.
    pub entries: Vec<(Decided, Option<Word>)>,
    /// How many rows of the file were kept before, where it was cut off and goes on.
    pub before: usize,
}

/// Plays a whole answers file against a copy of the walk. Nothing is kept where anything is wrong.
///
/// # Errors
/// Every mistake in the file.
pub fn plan_paper(
    walk: &Walk,
    paper: &PaperAnswers,
    again: bool,
    now: Moment,
    new_id: NewId<'_>,
) -> Result<PaperPlan, Vec<Diagnostic>> {
    let letters = Letters::of(&walk.history);
    let mut play = Play {
        walk: walk.clone(),
        plan: PaperPlan::default(),
        diagnostics: Vec::new(),
        now,
        new_id,
        letters,
        done: BTreeSet::new(),
        begun: None,
    };
    play.right_car(paper);
    play.take_up(paper, again);
    play.begin(paper);
    let mut row = 0;
    for reading in &paper.readings {
        row += 1;
        if !play.done.contains(&row) {
            play.reading(paper, reading, row);
        }
    }
    for answer in &paper.answers {
        row += 1;
        if !play.done.contains(&row) {
            play.answer(paper, answer, row);
        }
    }
    play.plain_rows(paper, row);
    if !play.diagnostics.is_empty() {
        diagnostic::sort(&mut play.diagnostics);
        return Err(play.diagnostics);
    }
    play.finish(paper);
    Ok(play.plan)
}

pub(super) struct Play<'i> {
    pub(super) walk: Walk,
    pub(super) plan: PaperPlan,
    pub(super) diagnostics: Vec<Diagnostic>,
    pub(super) now: Moment,
    pub(super) new_id: NewId<'i>,
    /// Letters of items as they stood before this file.
    pub(super) letters: Letters,
    /// Rows of the file that were kept before it was cut off.
    pub(super) done: BTreeSet<u32>,
    /// The walk of the file, where its keeping was begun before.
    pub(super) begun: Option<String>,
}

impl Play<'_> {
    pub(super) fn refuse(&mut self, at: &Place, objection: &Objection) {
        let help = match objection.wants {
            Wants::Note => "add note = \"…\"",
            Wants::Value => {
                "give value = \"…\" with its unit, values = { row = \"…\" } for several, or value = \"by eye\" where the rule allows it"
            }
            Wants::Result => "add result = \"accept\" or \"reject\"",
            Wants::Nothing => "mend the answer, then give the file again: nothing of it was kept",
        };
        self.diagnostics.push(Diagnostic::error(at, objection.message.clone(), help));
    }

    /// Puts an entry into the plan and applies it to the copy, so that later answers see it.
    pub(super) fn keep(&mut self, entry: Entry, photo: Option<Word>) {
        let id = (self.new_id)();
        self.keep_as(id, entry, photo);
    }

    pub(super) fn keep_as(&mut self, id: String, entry: Entry, photo: Option<Word>) {
        let decided = Decided { id, entry };
        self.plan.entries.push((decided.clone(), photo));
        let seq = u64::try_from(self.plan.entries.len()).unwrap_or(u64::MAX);
        let Decided { id, entry } = decided;
        self.walk.apply(Kept { id, writer: String::new(), seq, at: self.now, entry });
    }

    /// The sheet has to be for this car and this walk.
    fn right_car(&mut self, paper: &PaperAnswers) {
        let start = &self.walk.start;
        let wrong = |word: &Option<Word>, what: &str, actual: &str| {
            let word = word.as_ref().filter(|word| word.text != actual)?;
            let message = format!("this sheet is for the {what} {}, and this is {actual}", word.text);
            Some(Diagnostic::error(&word.at, message, format!("give the sheet with its own {what}")))
        };
        let found =
            [wrong(&paper.car, "car", &start.car.id), wrong(&paper.profile, "profile", &start.profile)];
        self.diagnostics.extend(found.into_iter().flatten());
    }

    /// A time after today is a slip of the pen, and would outweigh whatever is seen until then.
    fn by_now(&self, paper: &PaperAnswers, at: Option<TimeTyped>) -> Result<Option<Moment>, Objection> {
        let of_day = |time: NaiveTime| {
            let Some(day) = paper.date else {
                let message = format!(
                    "{} has no day: add date = {} above the first answer, or write date, time and offset",
                    time.format("%H:%M"),
                    self.now.format("%Y-%m-%d")
                );
                return Err(Objection::new(Wants::Nothing, message));
            };
            // The day's own clock, as this machine has it.
            day.and_time(time)
                .and_local_timezone(*self.now.offset())
                .single()
                .map(Some)
                .ok_or_else(|| Objection::new(Wants::Nothing, format!("there is no {time} on {day}")))
        };
        let at = match at {
            None => None,
            Some(TimeTyped::Whole(at)) => Some(at),
            Some(TimeTyped::OfDay(time)) => of_day(time)?,
        };
        match at {
            Some(at) if at > self.now + TimeDelta::days(1) => Err(Objection::new(
                Wants::Nothing,
                format!(
                    "{} is not yet: this clock says {}",
                    at.format("%Y-%m-%d"),
                    self.now.format("%Y-%m-%d")
                ),
            )),
            _ => Ok(at),
        }
    }

    fn reading(&mut self, paper: &PaperAnswers, written: &PaperReading, row: u32) {
        let seen_at = match self.by_now(paper, written.at) {
            Ok(seen_at) => seen_at,
            Err(objection) => return self.refuse(&written.time_at, &objection),
        };
        match read(&self.walk, &written.key.text, &written.value, written.instrument.clone()) {
            Ok(found) => {
                let by = paper.by.clone().or(found.by);
                let sheet = Some(paper.row(row));
                self.keep(Entry::Reading(Reading { seen_at, by, sheet, ..found }), None);
            }
            Err(objection) if objection.wants == Wants::Value => self.refuse(&written.value_at, &objection),
            Err(objection) => self.refuse(&written.key.at, &objection),
        }
    }

    fn answer(&mut self, paper: &PaperAnswers, written: &PaperAnswer, row: u32) {
        let mut reply = written.reply.clone();
        if let Err(objection) = self.by_code(paper, &mut reply) {
            return self.refuse(&written.places.check, &objection);
        }
        reply.by = reply.by.or_else(|| paper.by.clone()).or_else(|| self.walk.start.by.clone());
        let places = &written.places;
        let at = self.by_now(paper, written.at);
        reply.seen_at = at.as_ref().ok().copied().flatten();
        let found = [
            (&places.check, self.known_check(&reply)),
            (&places.of, known_item(&self.walk.evaluator(), &reply)),
            (&places.instrument, known_instrument(&self.walk, reply.instrument.as_deref())),
            (&places.at, at.map(|_| ())),
            (&places.value, self.with_units(&reply)),
        ];
        let wrong: Vec<_> = found.into_iter().filter_map(|(at, found)| Some((at, found.err()?))).collect();
        if !wrong.is_empty() {
            wrong.iter().for_each(|(at, objection)| self.refuse(at, objection));
            return;
        }
        match self.settled(&mut reply) {
            Ok(finding) => {
                let finding = Finding { sheet: Some(paper.row(row)), ..finding };
                self.keep(Entry::Finding(Box::new(finding)), written.photo.clone());
            }
            Err(objection) if objection.wants == Wants::Value && !reply.values.is_empty() => {
                self.refuse(&places.value, &objection);
            }
            Err(objection) => self.refuse(&places.check, &objection),
        }
    }

    /// A reply as a finding of this walk. A tick on paper beside an empty value field is an accept by eye, and is kept as one.
    pub(super) fn settled(&self, reply: &mut Reply) -> Result<Finding, Objection> {
        let id = self.walk.id.clone().unwrap_or_default();
        let settled = settle(&self.walk.evaluator(), &self.walk.history, &id, reply);
        let plain_accept = reply.result == Some(Outcome::Accept) && reply.values.is_empty() && !reply.by_eye;
        match settled {
            Err(objection) if plain_accept && objection.wants == Wants::Value => {
                reply.by_eye = true;
                settle(&self.walk.evaluator(), &self.walk.history, &id, reply)
            }
            settled => settled,
        }
    }

    /// On paper nothing stands beside a number to say what a bare one means.
    fn with_units(&self, reply: &Reply) -> Result<(), Objection> {
        let check = self.walk.start.rules.check(&reply.check);
        let Some(Typed::Measure(rows)) = check.map(|check| &check.typed) else { return Ok(()) };
        for row in rows {
            let Some(text) = reply.values.get(&row.id).or(reply.values.get("")) else { continue };
            if let (Err(refusal), Ok((_, Some(_)))) =
                (parse(text, row.kind), parse_bare(text, row.kind, &row.unit))
            {
                return Err(Objection::new(Wants::Value, refusal.to_string()));
            }
        }
        Ok(())
    }

    /// A check that the rules have.
    fn known_check(&self, reply: &Reply) -> Result<(), Objection> {
        let rules = &self.walk.start.rules;
        let open = || self.walk.history.standings_of(&reply.check).iter().any(|standing| standing.is_open());
        if rules.check(&reply.check).is_some() || reply.check.is_empty() || open() {
            return Ok(());
        }
        let near = diagnostic::did_you_mean(&reply.check, rules.checks.iter().map(|check| check.id.as_str()));
        let near = near.map_or_else(String::new, |near| format!(": did you mean {near}?"));
        Err(Objection::new(Wants::Nothing, format!("there is no check {}{near}", reply.check)))
    }
}

/// Where to point for a mistake of the whole file.
pub(super) fn first_place(paper: &PaperAnswers) -> Option<Place> {
    let place = paper
        .answers
        .first()
        .map(|answer| &answer.place)
        .or(paper.readings.first().map(|reading| &reading.place))
        .or(paper.plain.accept.as_ref().map(|word| &word.at))
        .or(paper.plain.rest.as_ref())?;
    Some(Place { file: Arc::clone(&place.file), range: 0..0 })
}

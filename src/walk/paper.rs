//! Answers from paper: a file checked whole, then kept by the same machine as on screen.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::TimeDelta;

use crate::mistake::{self, Mistake, Place, SourceFile};
use crate::model::entry::{Entry, Finding, Kept, Moment, Outcome, Reading, Severity};
use crate::model::letters::Letters;
use crate::rules::Typed;
use crate::source::{self, FieldKind, Overrides, ReadState, Reader, Word, text_or_number};
use crate::units::{parse, parse_bare};

use super::action::{Objection, Wants};
use super::decide::{Decided, NewId, computed_rejects, known_instrument, opening, read};
use super::reply::{Reply, known_item, settle};
use super::state::Walk;

/// The value by which a sheet says that it was judged by eye. It is read here; the record has a field of its own.
const BY_EYE: &str = "by eye";

/// What a remark that names an answers file is about.
const ANSWERS_FILE: &str = "answers-file";

/// An answers file as read.
#[derive(Clone, Debug, Default)]
pub struct PaperAnswers {
    /// The car it is for.
    pub car: Option<Word>,
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
    /// Whether it ends the walk.
    pub end: bool,
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
    pub at: Option<Moment>,
    /// Where the time stands.
    pub time_at: Place,
}

/// Reads an answers file; every mistake in it at once.
pub fn read_paper(file: &Arc<SourceFile>) -> (PaperAnswers, Vec<Mistake>) {
    let (root, mut mistakes) = source::parse(file);
    let state = ReadState::of_part(Overrides::new(), !mistakes.is_empty());
    let mut paper = Reader::document(&root, &state, |r| {
        r.format_number();
        PaperAnswers {
            car: r.word("car", "Id of the car the sheet is for."),
            by: r.text("by", "Who answered."),
            profile: r.word("profile", "Profile walked."),
            stage: r.word("stage", "Stage of a build."),
            edition: r.text("edition", "Edition of the car file that the sheet was printed from."),
            rulebook: r.text("rulebook", "Rulebook edition noted on the sheet."),
            end: r.flag("end", "Ends the walk.").unwrap_or(false),
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
    mistakes.extend(source::beside(&mistakes, state.finish()));
    mistake::sort(&mut mistakes);
    (paper, mistakes)
}

fn answer(r: &Reader<'_>) -> PaperAnswer {
    let mut values: BTreeMap<String, String> = BTreeMap::new();
    let check = r.need_text("check", "The check by its code, TL12 or TL12-b, or by its id.");
    let of = r.text("of", "The item, where it is about one.");
    let result = r.choice(
        "result",
        "accept, reject, not-fitted, not-yet, not-seen, repaired; silent: the value decides.",
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
            seen_at: r.time("at", "The time written on the paper."),
            by_station: false,
            by: r.text("by", "Who, where it is not the sheet's."),
        },
        photo: r.word("photo", "A photo, by its path from the answers file."),
    }
}

/// What keeping an answers file takes: entries in order, each with the photo to copy before it.
#[derive(Clone, Debug, Default)]
pub struct PaperPlan {
    /// Entries and, for a finding with a photo, the photo's path.
    pub entries: Vec<(Decided, Option<Word>)>,
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
) -> Result<PaperPlan, Vec<Mistake>> {
    let letters = Letters::of(&walk.history);
    let mut play =
        Play { walk: walk.clone(), plan: PaperPlan::default(), mistakes: Vec::new(), now, new_id, letters };
    play.right_car(paper);
    play.seen_before(paper, again);
    play.begin(paper);
    for reading in &paper.readings {
        play.reading(paper, reading);
    }
    for answer in &paper.answers {
        play.answer(paper, answer);
    }
    if !play.mistakes.is_empty() {
        mistake::sort(&mut play.mistakes);
        return Err(play.mistakes);
    }
    play.finish(paper);
    Ok(play.plan)
}

pub(super) struct Play<'i> {
    pub(super) walk: Walk,
    plan: PaperPlan,
    mistakes: Vec<Mistake>,
    now: Moment,
    new_id: NewId<'i>,
    /// Letters of items as they stood before this file.
    pub(super) letters: Letters,
}

impl Play<'_> {
    fn refuse(&mut self, at: &Place, objection: &Objection) {
        let help = match objection.wants {
            Wants::Note => "add note = \"…\"",
            Wants::Value => {
                "give value = \"…\" with its unit, values = { row = \"…\" } for several, or value = \"by eye\" where the rule allows it"
            }
            Wants::Result => "add result = \"accept\" or \"reject\"",
            Wants::Nothing => "mend the answer, then give the file again: nothing of it was kept",
        };
        self.mistakes.push(Mistake::error(at, objection.message.clone(), help));
    }

    /// Puts an entry into the plan and applies it to the copy, so that later answers see it.
    fn keep(&mut self, entry: Entry, photo: Option<Word>) {
        let decided = Decided { id: (self.new_id)(), entry };
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
            Some(Mistake::error(&word.at, message, format!("give the sheet with its own {what}")))
        };
        let found =
            [wrong(&paper.car, "car", &start.car.id), wrong(&paper.profile, "profile", &start.profile)];
        self.mistakes.extend(found.into_iter().flatten());
    }

    fn seen_before(&mut self, paper: &PaperAnswers, again: bool) {
        let seen = self.walk.history.standing_entries().any(|kept| match &kept.entry {
            Entry::WalkStarted(started) => started.answers_sha256.as_deref() == Some(paper.sha256.as_str()),
            Entry::Remark { about, text, .. } => {
                about.as_deref() == Some(ANSWERS_FILE) && *text == paper.sha256
            }
            _ => false,
        });
        if let (true, false, Some(place)) = (seen, again, first_place(paper)) {
            let help = "it would stand twice: give --again if that is meant";
            self.mistakes.push(Mistake::error(&place, "this very file was kept before", help));
        }
    }

    fn begin(&mut self, paper: &PaperAnswers) {
        if self.walk.id.is_some() {
            let text = paper.sha256.clone();
            let entry = Entry::Remark {
                record: None,
                about: Some(ANSWERS_FILE.to_owned()),
                text,
                by: paper.by.clone(),
            };
            self.keep(entry, None);
            return;
        }
        let mut started = opening(&self.walk);
        started.answers_sha256 = Some(paper.sha256.clone());
        started.rulebook.clone_from(&paper.rulebook);
        started.by = paper.by.clone().or(started.by);
        self.keep(Entry::WalkStarted(started), None);
    }

    /// A time after today is a slip of the pen, and would outweigh whatever is seen until then.
    fn by_now(&self, at: Option<Moment>) -> Result<(), Objection> {
        match at {
            Some(at) if at > self.now + TimeDelta::days(1) => Err(Objection::new(
                Wants::Nothing,
                format!(
                    "{} is not yet: this clock says {}",
                    at.format("%Y-%m-%d"),
                    self.now.format("%Y-%m-%d")
                ),
            )),
            _ => Ok(()),
        }
    }

    fn reading(&mut self, paper: &PaperAnswers, written: &PaperReading) {
        if let Err(objection) = self.by_now(written.at) {
            return self.refuse(&written.time_at, &objection);
        }
        match read(&self.walk, &written.key.text, &written.value, written.instrument.clone()) {
            Ok(found) => {
                let by = paper.by.clone().or(found.by);
                self.keep(Entry::Reading(Reading { seen_at: written.at, by, ..found }), None);
            }
            Err(objection) if objection.wants == Wants::Value => self.refuse(&written.value_at, &objection),
            Err(objection) => self.refuse(&written.key.at, &objection),
        }
    }

    fn answer(&mut self, paper: &PaperAnswers, written: &PaperAnswer) {
        let mut reply = written.reply.clone();
        if let Err(objection) = self.by_code(paper, &mut reply) {
            return self.refuse(&written.places.check, &objection);
        }
        reply.by = reply.by.or_else(|| paper.by.clone()).or_else(|| self.walk.start.by.clone());
        let places = &written.places;
        let found = [
            (&places.check, self.known_check(&reply)),
            (&places.of, known_item(&self.walk.desk(), &reply)),
            (&places.instrument, known_instrument(&self.walk, reply.instrument.as_deref())),
            (&places.at, self.by_now(reply.seen_at)),
            (&places.value, self.with_units(&reply)),
        ];
        let wrong: Vec<_> = found.into_iter().filter_map(|(at, found)| Some((at, found.err()?))).collect();
        if !wrong.is_empty() {
            wrong.iter().for_each(|(at, objection)| self.refuse(at, objection));
            return;
        }
        let id = self.walk.id.clone().unwrap_or_default();
        let mut settled = settle(&self.walk.desk(), &self.walk.history, &id, &reply);
        let plain_accept = reply.result == Some(Outcome::Accept) && reply.values.is_empty() && !reply.by_eye;
        if plain_accept && settled.as_ref().is_err_and(|objection| objection.wants == Wants::Value) {
            // A tick on paper beside an empty value field is an accept by eye, and is kept as one.
            reply.by_eye = true;
            settled = settle(&self.walk.desk(), &self.walk.history, &id, &reply);
        }
        match settled {
            Ok(finding) => self.keep(Entry::Finding(Box::new(finding)), written.photo.clone()),
            Err(objection) if objection.wants == Wants::Value && !reply.values.is_empty() => {
                self.refuse(&places.value, &objection);
            }
            Err(objection) => self.refuse(&places.check, &objection),
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
        if rules.check(&reply.check).is_some() || reply.check.is_empty() {
            return Ok(());
        }
        let near = mistake::did_you_mean(&reply.check, rules.checks.iter().map(|check| check.id.as_str()));
        let near = near.map_or_else(String::new, |near| format!(": did you mean {near}?"));
        Err(Objection::new(Wants::Nothing, format!("there is no check {}{near}", reply.check)))
    }

    fn finish(&mut self, paper: &PaperAnswers) {
        let id = self.walk.id.clone().unwrap_or_default();
        let rejects: Vec<Finding> = computed_rejects(&self.walk, &id);
        for finding in rejects {
            self.keep(Entry::Finding(Box::new(finding)), None);
        }
        if paper.end {
            self.keep(Entry::WalkEnded { walk: id, by: paper.by.clone() }, None);
        }
    }
}

/// Where to point for a mistake of the whole file.
fn first_place(paper: &PaperAnswers) -> Option<Place> {
    let place = paper
        .answers
        .first()
        .map(|answer| &answer.place)
        .or(paper.readings.first().map(|reading| &reading.place))?;
    Some(Place { file: Arc::clone(&place.file), range: 0..0 })
}

//! A blank sheet for a clipboard: the checks of a walk in its order, with boxes to tick and fields to write in.

use chrono::NaiveDate;

use crate::model::Car;
use crate::model::entry::Severity;
use crate::model::history::History;
use crate::model::letters::Letters;
use crate::numbers::Answer;
use crate::rules::{CLOSING, Check, NOTICE, Profile, Ruleset, items};
use crate::units::Units;

use super::document::{Blank, Block, Document, Pair, Section, Signature};
use super::facts::Facts;
use super::fields;
use super::head;
use super::input::Shop;
use super::keying;
use super::record::count;

/// A line to write a word on.
pub(super) const LINE: &str = "________";

/// What a sheet is made from.
#[derive(Clone, Debug)]
pub struct SheetInput<'a> {
    /// The rules in force.
    pub rules: &'a Ruleset,
    /// The way round the car.
    pub profile: &'a Profile,
    /// The car; none for a sheet that fits any.
    pub car: Option<&'a Car>,
    /// The edition of its file: the first digits of its checksum.
    pub edition: Option<String>,
    /// Its numbers, whose parts have letters.
    pub numbers: &'a [Answer],
    /// Its record, for what was open last time.
    pub history: &'a History,
    /// Ids of the checks, in the order of the walk.
    pub asked: &'a [&'a str],
    /// The day that dates count to.
    pub on: NaiveDate,
    /// Units of bare numbers in the readings.
    pub units: Units,
    /// Whose sheet it is.
    pub shop: Option<Shop>,
    /// What is wrong with the record or the rules behind it, in full sentences.
    pub trouble: Vec<String>,
}

impl<'a> SheetInput<'a> {
    /// The checks asked, in order.
    pub(super) fn checks(&self) -> impl Iterator<Item = &'a Check> {
        self.asked.iter().filter_map(|id| self.rules.check(id))
    }
}

/// Builds the sheet. The same input gives the same document, to the letter.
pub fn sheet(input: &SheetInput<'_>) -> Document {
    let mut sections = groups(input);
    sections.push(fields::readings(input));
    sections.push(signatures(input));
    sections.push(keying::section(input));
    let newest = input.history.all().iter().max_by_key(|kept| (kept.at, kept.seq));
    let mut document = Document {
        word: "sheet",
        narrow: false,
        title: format!("Sheet: {}", input.profile.title),
        subject: subject(input.car),
        shop: input.shop.clone(),
        warnings: input
            .rules
            .sentences_of_day(input.on)
            .into_iter()
            .chain(input.trouble.iter().cloned())
            .collect(),
        notices: head::notices(input.rules),
        head: pairs(input),
        sections: sections.into_iter().filter(|section| !section.blocks.is_empty()).collect(),
        closing: vec![NOTICE.to_owned(), CLOSING.to_owned()],
        record: newest.map(|kept| kept.id.clone()),
        record_at: newest.map(|kept| kept.at),
        car: input.car.map_or_else(|| "any car".to_owned(), |car| car.id.clone()),
        on: input.on,
        facts: Facts::default(),
    };
    document.make_harmless();
    document
}

fn subject(car: Option<&Car>) -> String {
    car.map_or_else(|| format!("Car {LINE}"), head::subject)
}

fn pairs(input: &SheetInput<'_>) -> Vec<Pair> {
    let car = match input.car {
        Some(car) => format!("number {}, id {}", car.number, car.id),
        None => format!("number {LINE}, id {LINE}{LINE}"),
    };
    let mut pairs = vec![
        Pair::new("Car", car),
        Pair::new("Profile", format!("{} ({})", input.profile.title, input.profile.id)),
        Pair::new("Rules", head::editions(input.rules)),
        Pair::new("Checks", tally(input)),
        Pair::new("Date", format!("{LINE}{LINE}, by {LINE}{LINE}{LINE}")),
        Pair::new("Rulebook", format!("edition {LINE}{LINE}, bulletins {LINE}{LINE}")),
    ];
    if !input.profile.stages.is_empty() {
        let boxes: Vec<String> = input.profile.stages.iter().map(|stage| format!("[ ] {stage}")).collect();
        pairs.push(Pair::new("Stage", boxes.join(", ")));
    }
    pairs.push(Pair::new(
        "Filling in",
        "Tick one box a check. Not seen: you could not look at it; it never counts as accepted. A check without a tick \
         counts as not reached. At and by are the time and your initials; a value wants its unit.",
    ));
    pairs
}

/// "38 checks, 38 of them stops, about 12 min".
fn tally(input: &SheetInput<'_>) -> String {
    let checks: Vec<&Check> = input.checks().collect();
    let stops = checks.iter().filter(|check| check.severity == Severity::Stop).count();
    let seconds: u32 = checks.iter().filter_map(|check| check.seconds).sum();
    let about = match seconds {
        0 => String::new(),
        seconds => format!(", about {} min", seconds.div_ceil(60)),
    };
    format!("{}, {stops} of severity stop{about}", count(checks.len(), "check", "checks"))
}

/// Why a stretch of checks stands together.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Group<'a> {
    First,
    OpenLastTime,
    Station(&'a str),
}

/// Checks in the order of the walk, a section for each stretch that belongs together.
fn groups(input: &SheetInput<'_>) -> Vec<Section> {
    let open = input.history.open();
    let mut sections: Vec<(Group<'_>, Section)> = Vec::new();
    for check in input.checks() {
        let was_open = open.iter().any(|standing| standing.finding.check == check.id);
        let group = match (check.first, was_open) {
            (true, _) => Group::First,
            (false, true) => Group::OpenLastTime,
            (false, false) => Group::Station(&check.station),
        };
        if sections.last().is_none_or(|(known, _)| *known != group) {
            sections.push((group, opening(input, group)));
        }
        if let Some((_, section)) = sections.last_mut() {
            section.blocks.push(Block::Blank(blank(input, check, group)));
        }
    }
    sections.into_iter().map(|(_, section)| section).collect()
}

/// A section with its heading and what holds for all of it.
fn opening(input: &SheetInput<'_>, group: Group<'_>) -> Section {
    let id = match group {
        Group::First => return Section::new("Before anything else"),
        Group::OpenLastTime => return Section::new("Open last time"),
        Group::Station(id) => id,
    };
    let Some(station) = input.rules.station(id) else { return Section::new(id) };
    let mut section = Section::new(&station.title);
    let said = [("Caution", &station.caution), ("Stand", &station.stand), ("In hand", &station.hold)];
    let said: Vec<Pair> =
        said.into_iter().filter_map(|(label, text)| Some(Pair::new(label, text.as_ref()?))).collect();
    if !said.is_empty() {
        section.blocks.push(Block::Pairs(said));
    }
    section
}

fn blank(input: &SheetInput<'_>, check: &Check, group: Group<'_>) -> Blank {
    let mut lines: Vec<String> = Vec::new();
    if group == Group::OpenLastTime {
        let station = input.rules.station(&check.station);
        lines.push(format!("Where: {}.", station.map_or(check.station.as_str(), |station| &station.title)));
    }
    lines.extend(fields::last_time(input.history, check));
    lines.extend(check.words.caution.iter().map(|caution| format!("Caution: {caution}")));
    lines.extend(lettered(input, check));
    lines.extend(fields::values(input, check));
    let code = check.code.clone().unwrap_or_else(|| check.id.clone());
    Blank { check: check.id.clone(), code, severity: check.severity, heading: check.title.clone(), lines }
}

/// Which item of a check goes by which letter, where there are several.
fn lettered(input: &SheetInput<'_>, check: &Check) -> Option<String> {
    let items = items(check, input.car?, input.numbers);
    let lettered = Letters::of(input.history).of_check(&check.id, &items);
    let code = check.code.as_deref().unwrap_or(&check.id);
    let named: Vec<String> = lettered.iter().map(|(of, letter)| format!("{code}-{letter} is {of}")).collect();
    (!named.is_empty()).then(|| format!("Items: {}.", named.join(", ")))
}

fn signatures(input: &SheetInput<'_>) -> Section {
    let mut section = Section::new("Signatures");
    let lines: Vec<Signature> =
        input.profile.signatures.iter().map(|role| Signature { role: role.clone(), signed: None }).collect();
    if !lines.is_empty() {
        section.blocks.push(Block::Signatures(lines));
    }
    section
}

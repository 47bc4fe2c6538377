//! What is done with bytes that nobody foresaw: the fuzz targets call these, and so do the property tests.
//! Each returns only if nothing panicked and every promise held.

use std::collections::BTreeMap;

use crate::memory_storage::MemoryStorage;

use linewalk::diagnostic::{SourceFile, any_error, needs_escape, render_all};
use linewalk::logbook::reader::read_writer;
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::{LogError, LogWriter};
use linewalk::logbook::{hash::Hex, record};
use linewalk::model::entry::{Entry, Kept, Moment, Outcome, Severity};
use linewalk::model::history::History;
use linewalk::model::read_car;
use linewalk::numbers::{Readings, Situation, to_csv, work_all};
use linewalk::physics::discharge::Settings;
use linewalk::rules::{Lookup, built_in, load, run_cases, warnings};
use linewalk::source::Overrides;
use linewalk::units::{KINDS, Units, parse, parse_signed, show};
use linewalk::walk::{
    Action, Journal, MemoryJournal, Reply, Start, Walk, decide, keep_all, keep_paper, plan_paper, read_paper,
};

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A day and a moment that never change.
fn now() -> Moment {
    "2026-11-25T10:00:00-05:00".parse().expect("a moment")
}

/// Nothing that could steer a terminal, but ends of lines.
fn expect_inert(text: &str) {
    let bad = text.chars().find(|c| needs_escape(*c) && *c != '\n');
    assert_eq!(bad, None, "a harmful character came through");
}

/// A quantity as typed: read as each kind; what is read is finite, and what is shown of it is inert.
pub fn quantity(bytes: &[u8]) {
    let text = text(bytes);
    for kind in KINDS.iter().copied() {
        for read in [parse(&text, kind), parse_signed(&text, kind)] {
            match read {
                Ok(parsed) => {
                    assert!(parsed.si.is_finite(), "{text}");
                    for units in [Units::Us, Units::Metric] {
                        expect_inert(&show(parsed.si, kind, units));
                    }
                }
                Err(refusal) => expect_inert(&linewalk::diagnostic::escape_control(&refusal.to_string())),
            }
        }
    }
}

/// A car file: read, every number worked out where it can be used, every mistake printed.
pub fn car(bytes: &[u8]) {
    let file = SourceFile::new("car.toml", text(bytes));
    let read = read_car(&file, &Overrides::new());
    expect_inert(&render_all(&read.diagnostics));
    if any_error(&read.diagnostics) {
        return;
    }
    let situation = Situation::with(&read.car, Readings::default(), now().date_naive(), Settings::QUICK);
    let answers = work_all(&situation);
    let _ = to_csv(&answers, Units::Us, |_| None);
}

/// A rule file over ten checks of every kind: read, doubted, its cases run.
///
/// They stand in for the base rules, which take a thousand times longer to read than what a fuzzer changes in a file.
pub fn rules(bytes: &[u8]) {
    let ten = || SourceFile::new("base.toml", RULES.replacen("id = \"ten\"", "id = \"base\"", 1));
    rules_over(bytes, &|id, _| if id == "base" { Some(ten()) } else { built_in(id) });
}

/// The same over the rules that the program brings along.
pub fn rules_over_base(bytes: &[u8]) {
    rules_over(bytes, &|id, _| built_in(id));
}

fn rules_over(bytes: &[u8], lookup: Lookup<'_>) {
    let file = SourceFile::new("rules.toml", text(bytes));
    let loaded = load(&[file], lookup);
    expect_inert(&render_all(&loaded.diagnostics));
    let _ = warnings(&loaded.rules, now().date_naive());
    if !any_error(&loaded.diagnostics) {
        let outcomes = run_cases(&loaded.rules);
        let failed: Vec<_> = outcomes
            .iter()
            .filter(|outcome| !outcome.passed())
            .filter_map(|outcome| Some(outcome.diagnostic(loaded.rules.check(&outcome.check)?)))
            .collect();
        expect_inert(&render_all(&failed));
    }
}

/// A log and its head, divided by the first zero byte: read, verified, opened, gone on with. Nothing that could
/// be read before is lost by opening, and nothing wrong is hidden by it.
///
/// Bytes that begin with `!` are what somebody wrote who knows how to make sums and chain fit.
pub fn log(bytes: &[u8]) {
    let fitted = bytes.strip_prefix(b"!").map(fitted);
    let bytes = fitted.as_deref().unwrap_or(bytes);
    let at = bytes.iter().position(|byte| *byte == 0);
    let (log, head) = at.map_or((bytes, None), |at| (&bytes[..at], Some(&bytes[at + 1..])));
    let mut folder = MemoryStorage::new().with("pit.jsonl", log);
    if let Some(head) = head {
        folder = folder.with("pit.head", head);
    }
    let before = read_writer(&folder, "pit").expect("memory never fails");
    let verdict = verify(&folder).expect("memory never fails");
    expect_inert(&linewalk::diagnostic::escape_control(&verdict.text()).replace("\\u{a}", "\n"));
    let _ = linewalk::logbook::export::csv(&before.kept);
    let _ = linewalk::logbook::export::json(&before.kept, &before.problems);
    let _ = History::fold(before.kept.clone()).standings();
    let sound = |text: &str| text.matches("WRONG").count();
    match LogWriter::open(folder.clone(), "pit") {
        Ok(mut writer) => {
            let entry = Entry::Signed { walk: "w".into(), role: "inspector".into(), by: "R.N.".into() };
            let added = writer.append(now(), "added".into(), entry);
            assert!(added.is_ok() || writer.last_seq() == u64::MAX, "{added:?}");
            drop(writer);
            let after = read_writer(&folder, "pit").expect("memory never fails");
            assert!(after.kept.starts_with(&before.kept), "opening lost a record");
            let torn = verdict.text().matches("unfinished record").count();
            let after = verify(&folder).expect("memory never fails");
            assert!(sound(&after.text()) + torn >= sound(&verdict.text()), "opening hid damage");
        }
        Err(LogError::Damaged(_)) => {
            let files = folder.files();
            assert_eq!(files["pit.jsonl"], log, "a damaged log was changed");
        }
        Err(error) => panic!("{error}"),
    }
}

/// The lines with their sums and links made to fit.
fn fitted(bytes: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    let mut before = Hex::ZEROS.to_string();
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        let line = text(line.strip_suffix(b"\n").unwrap_or(line));
        let body = line.rsplit_once(",\"sum\":\"").map_or(line.as_str(), |(body, _)| body);
        let body = match (body.split_once("\"prev\":\""), body.split_once("\",\"at\":")) {
            (Some((start, _)), Some((_, end))) => format!("{start}\"prev\":\"{before}\",\"at\":{end}"),
            _ => body.to_owned(),
        };
        let line = format!("{body},\"sum\":\"{}\"}}", Hex::of(body.as_bytes()));
        before = Hex::of(line.as_bytes()).to_string();
        whole.extend_from_slice(line.as_bytes());
        whole.push(b'\n');
    }
    whole
}

/// Ten checks of every kind.
const RULES: &str = include_str!("../fixtures/walk/rules.toml");

fn start() -> Start {
    let rules = load(&[SourceFile::new("rules.toml", RULES)], &|_, _| None);
    let car_file = SourceFile::new("car.toml", include_str!("../fixtures/walk/car.toml"));
    Start {
        car: read_car(&car_file, &Overrides::new()).car,
        car_file,
        rules: rules.rules,
        rule_files: Vec::new(),
        profile: "owner".to_owned(),
        stage: None,
        station: None,
        lap: None,
        on: now().date_naive(),
        units: Units::Us,
        by: Some("A.B.".to_owned()),
    }
}

/// The walk before anything is kept; laid out once a thread, since that is what takes long.
fn fresh() -> Walk {
    thread_local! {
        static FRESH: Walk = Walk::new(start(), History::default()).expect("the profile is there");
    }
    FRESH.with(Clone::clone)
}

fn keeper() -> MemoryJournal {
    MemoryJournal { clock: Some(now()), ..MemoryJournal::default() }
}

/// Whatever was kept can be written as a record and read back, and folding it gives the walk that is there.
fn expect_kept(walk: &Walk, kept: &[Kept]) {
    for one in kept {
        let written = record::write(one.clone(), Hex::ZEROS).expect("what is decided can be kept");
        let line = &written.bytes[..written.bytes.len() - 1];
        assert_eq!(record::read(line).record.expect("it reads back").kept.entry, one.entry);
    }
    let again = Walk::new(walk.start.clone(), History::fold(kept.to_vec())).expect("the profile is there");
    let results = |walk: &Walk| -> Vec<(String, Option<String>, Outcome)> {
        let standings = walk.history.standings();
        standings
            .iter()
            .map(|standing| {
                (standing.finding.check.clone(), standing.of.map(str::to_owned), standing.finding.result)
            })
            .collect()
    };
    assert_eq!(results(&again), results(walk), "taken up again");
}

/// An answers file: read, planned, kept.
pub fn answers(bytes: &[u8]) {
    let file = SourceFile::new("answers.toml", text(bytes));
    let (paper, diagnostics) = read_paper(&file);
    expect_inert(&render_all(&diagnostics));
    if any_error(&diagnostics) {
        return;
    }
    let mut walk = fresh();
    let mut keeper = keeper();
    match plan_paper(&walk, &paper, false, now(), &mut || keeper.new_id()) {
        Ok(plan) => {
            if keep_paper(&mut walk, &mut keeper, plan).is_ok() {
                expect_kept(&walk, &keeper.kept);
            }
        }
        Err(diagnostics) => expect_inert(&render_all(&diagnostics)),
    }
}

/// Bytes read as choices.
struct Choices<'a>(&'a [u8]);

impl Choices<'_> {
    fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        *first
    }

    fn of<T: Clone>(&mut self, all: &[T]) -> Option<T> {
        let at = usize::from(self.byte()) % all.len().max(1);
        all.get(at).cloned()
    }

    fn word(&mut self) -> String {
        let length = usize::from(self.byte() % 24).min(self.0.len());
        let (word, rest) = self.0.split_at(length);
        self.0 = rest;
        text(word)
    }

    fn maybe(&mut self) -> Option<String> {
        self.byte().is_multiple_of(3).then(|| self.word())
    }
}

const OUTCOMES: [Outcome; 8] = [
    Outcome::Accept,
    Outcome::Reject,
    Outcome::Undecided,
    Outcome::NotFitted,
    Outcome::NotYet,
    Outcome::NotSeen,
    Outcome::Repaired,
    Outcome::Refused,
];

const VALUES: [&str; 8] = ["3/8 in", "14 in", "0", "-1 in", "330 psi", "2", "2026-11-01", "1e308 m"];

fn reply(choices: &mut Choices<'_>, walk: &Walk) -> Reply {
    let checks: Vec<String> = walk.start.rules.checks.iter().map(|check| check.id.clone()).collect();
    let items = ["axle-hose", "right", "left", "b1", "LF"].map(str::to_owned);
    let mut values = BTreeMap::new();
    for _ in 0..choices.byte() % 3 {
        let id = if choices.byte().is_multiple_of(2) { String::new() } else { choices.word() };
        let value = if choices.byte().is_multiple_of(4) {
            choices.word()
        } else {
            choices.of(&VALUES).unwrap_or_default().to_owned()
        };
        values.insert(id, value);
    }
    let odd = choices.byte();
    Reply {
        check: if odd == 0 { choices.word() } else { choices.of(&checks).unwrap_or_default() },
        of: if odd.is_multiple_of(5) { choices.of(&items) } else { None },
        result: if odd.is_multiple_of(7) { None } else { choices.of(&OUTCOMES) },
        values,
        by_eye: odd.is_multiple_of(11),
        instrument: if odd.is_multiple_of(13) { choices.maybe() } else { None },
        note: choices.maybe(),
        seen_at: odd.is_multiple_of(17).then(|| now() - chrono::TimeDelta::hours(i64::from(choices.byte()))),
        ..Reply::default()
    }
}

fn action(choices: &mut Choices<'_>, walk: &Walk, kept: &[Kept]) -> Action {
    let ids: Vec<String> = kept.iter().map(|kept| kept.id.clone()).collect();
    let stations: Vec<String> = walk.start.rules.stations.iter().map(|station| station.id.clone()).collect();
    let keys = ["suppression.bottle.b1.gauge", "brakes.fluid_hottest", "brakes.circuit.rear.hold.time", ""];
    match choices.byte() % 12 {
        0..=5 => Action::Answer(Box::new(reply(choices, walk))),
        6 => Action::AcceptStation(choices.of(&stations).unwrap_or_default()),
        7 => Action::Read {
            key: choices.of(&keys).unwrap_or_default().to_owned(),
            value: choices.of(&VALUES).unwrap_or_default().to_owned(),
            instrument: choices.maybe(),
        },
        8 => Action::Withdraw { record: choices.of(&ids).unwrap_or_default(), note: choices.maybe() },
        9 => Action::Weigh {
            record: choices.of(&ids).unwrap_or_default(),
            severity: choices.of(&[Severity::Stop, Severity::Fix, Severity::Note]).unwrap_or(Severity::Fix),
            note: choices.maybe(),
        },
        10 => Action::Remark { record: choices.of(&ids), about: choices.maybe(), text: choices.word() },
        _ if choices.byte().is_multiple_of(2) => {
            Action::Sign { role: choices.maybe().unwrap_or("inspector".into()), by: choices.word() }
        }
        _ => Action::End,
    }
}

/// A walk of arbitrary actions: each is refused or kept, and what is kept is the walk.
pub fn walk(bytes: &[u8]) {
    let mut choices = Choices(bytes);
    let mut walk = fresh();
    let mut keeper = keeper();
    for _ in 0..32 {
        if choices.0.is_empty() {
            break;
        }
        // A clock that jumps: the order of the answers is that of the keys.
        if choices.byte().is_multiple_of(16) {
            keeper.clock = Some(now() - chrono::TimeDelta::days(i64::from(choices.byte())));
        }
        let action = action(&mut choices, &walk, &keeper.kept);
        match decide(&walk, &action, &mut || keeper.new_id()) {
            Ok(entries) => {
                keep_all(&mut walk, &mut keeper as &mut dyn Journal, entries).expect("memory keeps")
            }
            Err(objection) => assert!(!objection.message.is_empty()),
        }
    }
    expect_kept(&walk, &keeper.kept);
}

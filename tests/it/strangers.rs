//! What comes from strangers, their folders, files, names and records, is material: it works no terminal, has no file
//! opened, and writes over nothing.
#![cfg(unix)]

use std::collections::BTreeSet;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::os::unix::ffi::OsStringExt;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

use linewalk::diagnostic::needs_escape;
use linewalk::logbook::reader::read_car;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::{Entry, RulesMark, WalkStarted};
use linewalk::shell::disk::DiskStorage;
use tempfile::TempDir;

use super::logbook::moment;

/// What a terminal would obey, what turns the direction of reading, what leaves no mark, and a line of its own.
pub const HOSTILE: &str = "\u{1b}]0;title\u{7}\u{1b}[2J\u{9b}31m\u{202e}\u{200b}\r\nFORGED line";

/// Data and settings of one machine.
pub struct Machine {
    folder: TempDir,
}

impl Machine {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, inside: impl AsRef<Path>) -> PathBuf {
        self.folder.path().join(inside)
    }

    pub fn write(&self, inside: &str, text: &str) -> PathBuf {
        let path = self.path(inside);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, text).unwrap();
        path
    }

    pub fn command<A: AsRef<OsStr>>(&self, arguments: &[A]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
        command.args(arguments).current_dir(self.folder.path()).stdin(Stdio::null());
        command.env("LINEWALK_DATA_DIR", self.path("data")).env("XDG_CONFIG_HOME", self.path("config"));
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    pub fn run<A: AsRef<OsStr>>(&self, arguments: &[A]) -> Output {
        self.command(arguments).output().unwrap()
    }

    /// Car 7, with one answer from paper.
    pub fn walked() -> Self {
        let machine = Self::new();
        machine.write("seven.toml", SEVEN);
        machine.write("answers.toml", ANSWERS);
        let out = machine.run(&["walk", "seven.toml", "--answers", "answers.toml"]);
        assert!(out.status.code().unwrap() < 2, "{}", words(&out));
        machine
    }

    pub fn writer(&self) -> String {
        fs::read_to_string(self.path("config/linewalk/writer")).unwrap()
    }
}

pub const SEVEN: &str = "format = 1\n[car]\nid = \"seven\"\nnumber = \"7\"\n";

pub const ANSWERS: &str = "format = 1\ncar = \"seven\"\nby = \"R.N.\"\nprofile = \"scales-short\"\n\
                           [[answer]]\ncheck = \"pins-in-before-hands-in\"\nresult = \"accept\"\n";

pub fn words(out: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr))
}

pub fn expect(out: &Output, status: i32, text: &str) {
    assert_eq!(out.status.code(), Some(status), "{}", words(out));
    // A report breaks its lines where words end.
    let said = words(out).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains(text), "{text} is not in: {}", words(out));
}

/// Nothing in it works a terminal, and no line was begun by a stranger.
fn expect_escaped(out: &Output, what: &str) {
    for bytes in [&out.stdout, &out.stderr] {
        let text = String::from_utf8(bytes.clone()).unwrap_or_else(|_| panic!("{what}: no UTF-8"));
        let text = text.replace("\r\n", "\n");
        let found = text.chars().find(|c| needs_escape(*c) && !matches!(c, '\n' | '\t'));
        assert_eq!(found, None, "{what} prints {:?} in {text:?}", found.unwrap_or_default());
        // A cell of a table may have several lines, in quotes, and a report breaks its lines where words end.
        let broken = ["csv", "report", "sheet"].iter().any(|whole| what.contains(whole));
        let forged = text.lines().find(|line| line.trim_start().starts_with("FORGED") && !broken);
        assert_eq!(forged, None, "{what} begins a line: {text}");
    }
}

/// Where the texts of a document stand.
pub fn texts(document: &toml::Value) -> Vec<Vec<String>> {
    fn leaves(value: &toml::Value, path: &[String], found: &mut Vec<Vec<String>>) {
        let mut below = |key: String, value: &toml::Value| leaves(value, &[path, &[key]].concat(), found);
        match value {
            toml::Value::Table(table) => table.iter().for_each(|(key, value)| below(key.clone(), value)),
            toml::Value::Array(rows) => {
                rows.iter().enumerate().for_each(|(at, row)| below(at.to_string(), row));
            }
            toml::Value::String(_) => found.push(path.to_vec()),
            _ => {}
        }
    }
    let mut found = Vec::new();
    leaves(document, &[], &mut found);
    found
}

/// A document with the text at one place hostile.
pub fn hostile_at(document: &toml::Value, path: &[String]) -> toml::Value {
    fn put(value: &mut toml::Value, path: &[String]) {
        match (value, path) {
            (value, []) => *value = toml::Value::String(HOSTILE.to_owned()),
            (toml::Value::Table(table), [key, rest @ ..]) => put(table.get_mut(key).unwrap(), rest),
            (toml::Value::Array(rows), [at, rest @ ..]) => put(&mut rows[at.parse::<usize>().unwrap()], rest),
            (other, _) => panic!("{other}"),
        }
    }
    let mut changed = document.clone();
    put(&mut changed, path);
    changed
}

/// A document once for each text in it, that text being hostile.
fn each_text(document: &toml::Value) -> Vec<(String, toml::Value)> {
    texts(document).iter().map(|path| (path.join("."), hostile_at(document, path))).collect()
}

/// A document as a file has it, and not on one line as a value is shown.
pub fn written(document: &toml::Value) -> String {
    toml::to_string(document).unwrap()
}

pub fn document(text: &str) -> toml::Value {
    toml::Value::Table(text.parse().unwrap())
}

#[test]
fn no_text_of_a_car_file_works_the_terminal() {
    let machine = Machine::new();
    let heron = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-cars/heron.toml"));
    let texts = each_text(&document(&heron.unwrap()));
    assert!(texts.len() > 100, "{}", texts.len());
    for (key, car) in texts {
        let path = machine.write("car.toml", &written(&car));
        let out = machine.run(&["numbers", path.to_str().unwrap(), "--only", "brake.pressure"]);
        expect_escaped(&out, &format!("numbers with {key}"));
    }
    // What a report prints of a car, all at once.
    let named = format!("{SEVEN}name = {0}\nkeeper = {0}\n", toml::Value::String(HOSTILE.to_owned()));
    machine.write("seven.toml", &named);
    for what in ["report", "sheet", "numbers"] {
        expect_escaped(&machine.run(&[what, "seven.toml"]), what);
    }
    for kind in ["full", "slip", "delivery", "due", "fix-first"] {
        for format in ["text", "json", "html"] {
            let out = machine.run(&["report", "seven.toml", "--kind", kind, "--format", format]);
            expect_escaped(&out, &format!("report {kind} {format}"));
        }
    }
    expect_escaped(&machine.run(&["report", "seven.toml", "--kind", "due", "--format", "ics"]), "report ics");
}

#[test]
fn no_text_of_an_answers_rule_or_settings_file_works_the_terminal() {
    let machine = Machine::new();
    machine.write("seven.toml", SEVEN);
    let answers = format!(
        "{ANSWERS}note = \"n\"\nphoto = \"p.jpg\"\n[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"330 psi\"\n"
    );
    for (key, answers) in each_text(&document(&answers)) {
        machine.write("a.toml", &written(&answers));
        let out = machine.run(&["walk", "seven.toml", "--answers", "a.toml", "--again"]);
        expect_escaped(&out, &format!("answers with {key}"));
    }
    let rules = "format = 1\n[ruleset]\nid = \"club\"\ntitle = \"Club\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
                 review_every = \"1 year\"\nextends = [\"base\"]\nnotice = \"Ours.\"\n\
                 [[check]]\nid = \"pins-in-before-hands-in\"\ntitle = \"Pins\"\nlook = \"look\"\nreject = \"none\"\n\
                 why = \"so\"\nremedy = \"put in\"\nparts = [\"pin\"]\nunless = { equipment = [\"booster\"] }\n\
                 [[check]]\nid = \"lf-hose-at-steer-lock\"\noff = true\nreason = \"ours\"\n";
    for (key, rules) in each_text(&document(rules)) {
        machine.write("club.toml", &written(&rules));
        for arguments in [
            &["rules", "check", "club.toml"][..],
            &["rules", "list", "club.toml"],
            &["rules", "explain", "pins-in-before-hands-in", "--rules", "club.toml"],
        ] {
            expect_escaped(&machine.run(arguments), &format!("{arguments:?} with {key}"));
        }
    }
    let settings = "units = \"us\"\ntheme = \"sun\"\nhand = \"left\"\nby = \"R.N.\"\nperson = \"shop\"\npictures = \"half\"\n\
                    [shop]\nname = \"n\"\naddress = \"a\"\n[keys]\naccept = \"a\"\n";
    for (key, settings) in each_text(&document(settings)) {
        machine.write("config/linewalk/config.toml", &written(&settings));
        expect_escaped(
            &machine.run(&["report", "seven.toml", "--kind", "slip"]),
            &format!("report, settings with {key}"),
        );
    }
}

/// Every text of every kind of record, each hostile once, in the log of a stranger.
fn hostile_log(machine: &Machine) {
    let car = machine.path("data/cars/seven");
    let mut log = LogWriter::open(DiskStorage::create(car).unwrap(), "w-stranger").unwrap();
    let mut kept = 0;
    for entry in every_kind() {
        let whole = serde_json::to_value(&entry).unwrap();
        for hostile in each_string(&whole) {
            let Ok(entry) = serde_json::from_value::<Entry>(hostile) else { continue };
            log.append(moment(kept), format!("id-{kept}"), entry).unwrap();
            kept += 1;
        }
    }
    assert!(kept > 40, "{kept}");
}

/// One entry of each kind that format 1 has, full.
pub fn every_kind() -> Vec<Entry> {
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/logs/v1-heron");
    let all = read_car(&DiskStorage::at(fixture)).unwrap().kept;
    all.into_iter().map(|kept| kept.entry).collect()
}

pub fn each_string(whole: &serde_json::Value) -> Vec<serde_json::Value> {
    fn pointers(value: &serde_json::Value, at: &str, found: &mut Vec<String>) {
        match value {
            serde_json::Value::Object(members) => {
                members.iter().for_each(|(key, value)| pointers(value, &format!("{at}/{key}"), found));
            }
            serde_json::Value::Array(rows) => {
                rows.iter()
                    .enumerate()
                    .for_each(|(row, value)| pointers(value, &format!("{at}/{row}"), found));
            }
            serde_json::Value::String(_) => found.push(at.to_owned()),
            _ => {}
        }
    }
    let mut found = Vec::new();
    pointers(whole, "", &mut found);
    let with = |pointer: &String| {
        let mut changed = whole.clone();
        *changed.pointer_mut(pointer).unwrap() = HOSTILE.into();
        changed
    };
    found.iter().map(with).collect()
}

#[test]
fn no_text_of_a_record_works_the_terminal() {
    let machine = Machine::walked();
    hostile_log(&machine);
    machine.write(&format!("data/cars/seven/{HOSTILE}.jsonl"), HOSTILE);
    symlink(machine.path(HOSTILE), machine.path("data/cars/seven/link")).unwrap();
    for arguments in [
        &["log", "show", "seven"][..],
        &["log", "verify", "seven"],
        &["log", "export", "seven", "--format", "csv"],
        &["log", "export", "seven", "--format", "json"],
        &["numbers", "seven"],
        &["numbers", "seven", "--format", "json"],
        &["numbers", "seven", "--format", "csv"],
        &["sheet", "seven"],
        &["walk", "seven", "--answers", "answers.toml"],
        &["event", "status"],
    ] {
        expect_escaped(&machine.run(arguments), &format!("{arguments:?}"));
    }
    for kind in ["deficiency", "full", "slip", "delivery", "due", "fix-first"] {
        for format in ["text", "json", "html", "ics"] {
            let out = machine.run(&["report", "seven", "--kind", kind, "--format", format]);
            expect_escaped(&out, &format!("report {kind} {format}"));
        }
    }
}

#[test]
fn no_argument_or_file_name_works_the_terminal() {
    let machine = Machine::walked();
    let named = machine.write(&format!("{HOSTILE}/{HOSTILE}.toml"), "what = 1\n");
    let named = named.to_str().unwrap();
    let folder = machine.path(HOSTILE);
    let folder = folder.to_str().unwrap();
    for text in [HOSTILE, named, folder] {
        for arguments in [
            vec![text],
            vec!["walk", text],
            vec!["walk", "seven", "--answers", text],
            vec!["walk", "seven", "--stage", text, "--profile", text],
            vec!["walk", "seven", "--profile", text, "--answers", "answers.toml"],
            vec!["numbers", text],
            vec!["numbers", "seven", "--set", text],
            vec!["numbers", "seven", "--only", text],
            vec!["report", text],
            vec!["report", "seven", "--kind", text],
            vec!["report", "seven", "--profile", text],
            vec!["report", "seven", "--rules", text],
            vec!["report", "seven", "--on", text],
            vec!["report", "seven", "-o", text],
            vec!["report", "seven", "--data-dir", text],
            vec!["sheet", text],
            vec!["sheet", "--profile", text],
            vec!["rules", "check", text],
            vec!["rules", "list", text],
            vec!["rules", "list", "--station", text],
            vec!["rules", "explain", text],
            vec!["rules", "explain", "lf-hose-at-steer-lock", text],
            vec!["rules", "test", text],
            vec!["log", "show", text],
            vec!["log", "verify", text],
            vec!["log", "export", text],
            vec!["log", "merge", text, text],
            vec!["log", "merge", "seven", text],
            vec!["event", "join", text],
            vec!["event", "watch", text],
            vec!["schema", text],
            vec!["completions", text],
            vec!["--data-dir", text, "log", "show", "seven"],
        ] {
            expect_escaped(&machine.run(&arguments), &format!("{arguments:?}"));
        }
    }
}

/// A walk-started record of another machine that names rule files of this one.
fn foreign_start(machine: &Machine, files: &[&Path], layer: RulesMark) {
    let car = machine.path("data/cars/seven");
    let mut log = LogWriter::open(DiskStorage::create(car).unwrap(), "w-stranger").unwrap();
    let started: WalkStarted = serde_json::from_value(serde_json::json!({
        "profile": "scales-short",
        "rules": {"id": layer.id, "edition": layer.edition, "sha256": layer.sha256},
        "layers": [{"id": layer.id, "edition": layer.edition, "sha256": layer.sha256}],
        "files": files,
        "number": "7",
    }))
    .unwrap();
    log.append(moment(400_000_000), "id-start".to_owned(), Entry::WalkStarted(started)).unwrap();
}

#[test]
fn a_rule_file_named_by_another_machine_is_not_opened() {
    let machine = Machine::walked();
    let secret = machine.write("secret", "the combination is 4711\n");
    let mark =
        |id: &str, sha256: &str| RulesMark { id: id.into(), edition: "1".into(), sha256: sha256.into() };
    foreign_start(&machine, &[&secret], mark("theirs", "00"));
    let out = machine.run(&["report", "seven"]);
    assert!(!words(&out).contains("4711"), "{}", words(&out));
    expect(&out, 0, "base is used");
}

#[test]
fn rules_of_another_machine_are_those_in_the_rules_folder_of_the_same_checksum() {
    let drops = "format = 1\n[ruleset]\nid = \"lax\"\ntitle = \"Lax\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
                 review_every = \"1 year\"\nextends = [\"base\"]\n\
                 [[check]]\nid = \"pins-in-before-hands-in\"\noff = true\nreason = \"so\"\n";
    let sum = linewalk::diagnostic::SourceFile::new("", drops).sha256();
    let lists = |machine: &Machine| words(&machine.run(&["report", "seven", "--kind", "full"]));
    for (place, sha256, taken) in [
        ("elsewhere/lax.toml", sum.as_str(), false),
        ("data/rulesets/lax.toml", "00", false),
        ("data/rulesets/lax.toml", sum.as_str(), true),
    ] {
        let machine = Machine::walked();
        let file = machine.write(place, drops);
        let layer = RulesMark { id: "lax".into(), edition: "1".into(), sha256: sha256.into() };
        foreign_start(&machine, &[&file], layer);
        let text = lists(&machine);
        assert_eq!(!text.contains("base is used"), taken, "{place} {sha256}: {text}");
    }
}

/// Waits for all of them and gives what each said.
fn all(children: Vec<Child>) -> Vec<Output> {
    children.into_iter().map(|child| child.wait_with_output().unwrap()).collect()
}

#[test]
fn one_writer_id_is_made_whatever_starts_at_once() {
    let machine = Machine::new();
    machine.write("seven.toml", SEVEN);
    machine.write("answers.toml", ANSWERS);
    let start = |count: usize| {
        let data = machine.path(format!("data-{count}"));
        let mut command = machine.command(&["walk", "seven.toml", "--answers", "answers.toml"]);
        command.env("LINEWALK_DATA_DIR", data).spawn().unwrap()
    };
    for out in all((0..12).map(start).collect()) {
        assert!(out.status.code().unwrap() < 2, "{}", words(&out));
    }
    let mut logs = BTreeSet::new();
    for count in 0..12 {
        for entry in fs::read_dir(machine.path(format!("data-{count}/cars/seven"))).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            logs.extend(name.strip_suffix(".jsonl").map(str::to_owned));
        }
    }
    assert_eq!(logs, BTreeSet::from([machine.writer()]));
}

#[test]
fn a_report_is_not_written_over_what_it_is_made_from() {
    let machine = Machine::walked();
    let before = fs::read_to_string(machine.path("seven.toml")).unwrap();
    fs::hard_link(machine.path("seven.toml"), machine.path("same.txt")).unwrap();
    symlink(machine.path("data/cars/seven"), machine.path("link")).unwrap();
    symlink(machine.path("seven.toml"), machine.path("sym.txt")).unwrap();
    machine.write(
        "club.toml",
        "format = 1\n[ruleset]\nid = \"club\"\ntitle = \"C\"\nedition = \"1\"\n\
                                reviewed = 2026-11-01\nreview_every = \"1 year\"\nextends = [\"base\"]\n",
    );
    let log = format!("data/cars/seven/{}.jsonl", machine.writer());
    let kept = fs::read(machine.path(&log)).unwrap();
    for target in [
        "seven.toml",
        "./seven.toml",
        "same.txt",
        "sym.txt",
        "club.toml",
        log.as_str(),
        "data/new.txt",
        "data/cars/seven/photos/new/a.txt",
        "link/a.txt",
        "data/cars/none/../seven/a.txt",
        "config/linewalk/writer",
        "config/linewalk/config.toml",
    ] {
        let out = machine.run(&["report", "seven", "--rules", "club.toml", "-o", target]);
        assert_eq!(out.status.code(), Some(2), "{target}: {}", words(&out));
    }
    assert_eq!(fs::read_to_string(machine.path("seven.toml")).unwrap(), before);
    assert_eq!(fs::read(machine.path(&log)).unwrap(), kept);
    let out = machine.run(&["report", "seven", "-o", "report.txt"]);
    assert!(out.status.code().unwrap() < 2 && machine.path("report.txt").is_file(), "{}", words(&out));
}

#[test]
fn a_car_file_and_rules_are_found_again_whatever_their_path() {
    let machine = Machine::new();
    machine.write("answers.toml", ANSWERS);
    for folder in [OsString::from_vec(b"caf\xe9 %41".to_vec()), "ends with a blank ".into(), "bytes:".into()]
    {
        let folder = machine.path(folder);
        fs::create_dir_all(&folder).unwrap();
        let car = folder.join("seven ");
        fs::write(&car, SEVEN).unwrap();
        let rules = folder.join("club.toml");
        fs::write(&rules, "format = 1\n[ruleset]\nid = \"club\"\ntitle = \"C\"\nedition = \"1\"\n\
                           reviewed = 2026-11-01\nreview_every = \"1 year\"\nextends = [\"base\"]\nnotice = \"Ours.\"\n")
            .unwrap();
        let mut arguments: Vec<&OsStr> =
            vec!["walk".as_ref(), car.as_ref(), "--rules".as_ref(), rules.as_ref()];
        arguments.extend(["--answers", "answers.toml", "--again"].map(AsRef::<OsStr>::as_ref));
        let out = machine.run(&arguments);
        assert!(out.status.code().unwrap() < 2, "{}", words(&out));
        // By its id alone, with the rules of the walk.
        let out = machine.run(&["report", "seven"]);
        assert!(words(&out).contains("Ours."), "{folder:?}: {}", words(&out));
        fs::remove_file(&car).unwrap();
        expect(&machine.run(&["report", "seven"]), 2, "is not there now");
    }
}

/// Paths are printed by `diagnostic::shown`, and what is printed goes out in `cli::output` or as cells of a screen.
#[test]
fn one_place_escapes_and_one_place_prints() {
    fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                sources(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    sources(&root, &mut found);
    for (word, allowed) in [
        (".display()", &["record/escape.rs"][..]),
        ("stdout()", &["cli/output.rs", "cli/walk.rs", "cli/watch.rs", "tui/run.rs", "tui/terminal.rs"]),
        ("stderr()", &["cli/output.rs", "cli/run.rs"]),
        ("println!(", &[]),
    ] {
        for path in &found {
            let name = path.strip_prefix(&root).unwrap().to_str().unwrap();
            let text = fs::read_to_string(path).unwrap();
            assert!(allowed.contains(&name) || !text.contains(word), "{name} has {word}");
        }
    }
}

//! Rule files over rule files: what merges, what is replaced, what is dropped, and which file each key came from.

use std::sync::Arc;

use linewalk::diagnostic::{SourceFile, any_error};
use linewalk::model::entry::Severity;
use linewalk::rules::{Loaded, Ruleset, Typed, load, run_cases, warnings};
use linewalk::source::{Node, Table, Value};

use crate::shipped::{day, repo_ruleset, shipped};

const GROUND: &str = include_str!("../bad/rules/ground.toml");

fn head(id: &str, extends: &str) -> String {
    format!(
        "format = 1\n[ruleset]\nid = \"{id}\"\ntitle = \"{id}\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
         review_every = \"1 year\"\nextends = [{extends}]\n"
    )
}

fn file(id: &str, extends: &str, rest: &str) -> Arc<SourceFile> {
    SourceFile::new(format!("{id}.toml"), head(id, extends) + rest)
}

/// Loads files with others to be found by id; `ground` is always there.
fn loaded(files: &[Arc<SourceFile>], beside: &[Arc<SourceFile>]) -> Loaded {
    let ground = SourceFile::new("ground.toml", GROUND);
    load(files, &|id, _| {
        let name = format!("{id}.toml");
        beside.iter().chain([&ground]).find(|file| file.name == name).cloned()
    })
}

fn sound(files: &[Arc<SourceFile>], beside: &[Arc<SourceFile>]) -> Ruleset {
    let loaded = loaded(files, beside);
    assert!(!any_error(&loaded.diagnostics), "{:?}", loaded.diagnostics);
    Arc::unwrap_or_clone(loaded.rules)
}

fn child(table: &Table, key: &str) -> Arc<Table> {
    match &table.get(key).unwrap().value {
        Value::Table(inner) => inner.clone(),
        other => panic!("{key} is {}", other.name()),
    }
}

/// The file a key of a check was set in.
fn origin(rules: &Ruleset, check: &str, path: &[&str]) -> String {
    let mut table = rules.check(check).unwrap().table.clone();
    for key in &path[..path.len() - 1] {
        table = child(&table, key);
    }
    let node: &Node = table.get(path[path.len() - 1]).unwrap();
    node.at.file.name.clone()
}

fn least(rules: &Ruleset) -> String {
    match &rules.check("hose-gap").unwrap().typed {
        Typed::Measure(rows) => rows[0].min.as_ref().unwrap().text.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn tables_merge_to_any_depth_and_keys_know_their_file() {
    let club = file("club", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nmeasure = { min = \"5/8 in\" }\n");
    let rules = sound(&[club], &[]);
    assert_eq!(least(&rules), "5/8 in");
    assert_eq!(origin(&rules, "hose-gap", &["measure", "min"]), "club.toml");
    assert_eq!(origin(&rules, "hose-gap", &["measure", "unit"]), "ground.toml");
    assert_eq!(origin(&rules, "hose-gap", &["severity"]), "ground.toml");
    let measure = child(&rules.check("hose-gap").unwrap().table, "measure");
    assert_eq!(measure.text("instrument"), Some("tape"), "what the club does not say stays");
}

#[test]
fn conditions_and_stations_merge_too() {
    let first = file(
        "first",
        "\"ground\"",
        "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nwhen = { all = [\"suppression\"], fuel = [\"methanol\"] }\n\
         [[station]]\nid = \"nose\"\nat = { along = 0.9 }\ncaution = \"Hot.\"\n",
    );
    let second = file(
        "second",
        "\"first\"",
        "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nwhen = { fuel = [\"ethanol\"] }\n",
    );
    let rules = sound(&[second], &[first]);
    let when = rules.check("hose-gap").unwrap().when.clone().unwrap();
    assert_eq!(when.fuel, ["ethanol"], "an array is replaced whole");
    assert_eq!(when.all.len(), 1, "and the key beside it stays");
    let nose = rules.station("nose").unwrap();
    assert_eq!((nose.along, nose.caution.as_deref()), (0.9, Some("Hot.")));
    assert_eq!(nose.side, linewalk::rules::Side::Middle, "at.side is still the ground's");
    let ids: Vec<&str> = rules.layers.iter().map(|layer| layer.id.as_str()).collect();
    assert_eq!(ids, ["ground", "first", "second"]);
}

#[test]
fn arrays_are_replaced_whole() {
    let club = file(
        "club",
        "\"ground\"",
        "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nprofiles = [\"scales\"]\nsource = [{ for = \"club\", basis = \"common-practice\" }]\n\
         [[check.case]]\ngiven = { value = \"1 in\", result = \"accept\" }\nexpect = \"accept\"\n\
         [[lap]]\nid = \"round\"\nstations = [\"tail\", \"nose\"]\n",
    );
    let rules = sound(&[club], &[]);
    let check = rules.check("hose-gap").unwrap();
    assert_eq!(check.profiles, ["scales"]);
    assert_eq!(check.sources.len(), 1);
    assert_eq!(check.cases.len(), 1, "a file that gives a case replaces that check's cases");
    assert_eq!(rules.laps[0].stations, ["tail", "nose"]);
}

#[test]
fn a_table_over_an_array_of_tables_replaces_it() {
    let club = file(
        "club",
        "\"ground\"",
        "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nmeasure = [{ id = \"a\", unit = \"in\", min = \"1 in\" }]\n",
    );
    let rules = sound(&[club], &[]);
    match &rules.check("hose-gap").unwrap().typed {
        Typed::Measure(rows) => assert_eq!((rows.len(), rows[0].instrument.as_deref()), (1, None)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn clear_takes_a_key_out_before_the_new_ones_go_in() {
    let club = file(
        "club",
        "\"ground\"",
        "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nclear = [\"measure.min\", \"measure.instrument\", \"look\"]\n\
         measure = { max = \"2 in\" }\n\
         [[check.case]]\ngiven = { value = \"1 in\" }\nexpect = \"accept\"\n",
    );
    let rules = sound(&[club], &[]);
    let check = rules.check("hose-gap").unwrap();
    assert!(check.words.look.is_none());
    match &check.typed {
        Typed::Measure(rows) => {
            assert!(rows[0].min.is_none() && rows[0].instrument.is_none());
            assert_eq!(rows[0].max.as_ref().unwrap().text, "2 in");
        }
        other => panic!("{other:?}"),
    }
    assert!(check.table.get("clear").is_none(), "clear itself does not stay behind");
}

#[test]
fn off_drops_a_check_and_keeps_its_reason() {
    let club = file(
        "club",
        "\"ground\"",
        "[[check]]\nid = \"hose-gap\"\noff = true\nreason = \"Nobody here has hoses.\"\n",
    );
    let rules = sound(&[club], &[]);
    assert!(rules.check("hose-gap").is_none());
    let dropped = &rules.dropped[0];
    assert_eq!(
        (dropped.id.as_str(), dropped.title.as_str(), dropped.reason.as_str(), dropped.layer.as_str()),
        ("hose-gap", "Hose clear of the wheel", "Nobody here has hoses.", "club")
    );
}

#[test]
fn later_parents_win_and_it_is_said() {
    let a = file("a", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nmeasure = { min = \"5/8 in\" }\n");
    let b = file(
        "b",
        "\"ground\"",
        "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nmeasure = { min = \"1/4 in\" }\n",
    );
    for (order, wins) in [("\"a\", \"b\"", "1/4 in"), ("\"b\", \"a\"", "5/8 in")] {
        let club = file("club", order, "");
        let loaded = loaded(&[club], &[a.clone(), b.clone()]);
        assert_eq!(least(&loaded.rules), wins);
        let said: Vec<&str> =
            loaded.diagnostics.iter().map(|diagnostic| diagnostic.message.as_str()).collect();
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].starts_with("measure.min of the check hose-gap is set by"), "{said:?}");
    }
}

#[test]
fn two_parents_with_different_keys_of_one_table_do_not_clash() {
    let a = file("a", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nmeasure = { min = \"5/8 in\" }\n");
    let b = file("b", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nmeasure = { aim_min = \"3/4 in\" }\n");
    let loaded = loaded(&[file("club", "\"a\", \"b\"", "")], &[a, b]);
    assert!(loaded.diagnostics.is_empty(), "{:?}", loaded.diagnostics);
}

#[test]
fn a_file_on_the_command_line_is_the_last_layer() {
    let club =
        file("club", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nseverity = \"fix\"\n");
    let bulletin =
        file("bulletin", "", "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nseverity = \"note\"\n");
    let rules = sound(&[club, bulletin], &[]);
    assert_eq!(rules.check("hose-gap").unwrap().severity, Severity::Note);
    assert_eq!(rules.mark().id, "bulletin");
    assert_eq!(rules.marks().len(), 3);
}

#[test]
fn two_files_of_one_name_are_refused_unless_they_are_the_same() {
    let one =
        file("club", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nseverity = \"fix\"\n");
    let other = SourceFile::new("elsewhere.toml", head("club", "\"ground\""));
    let same = SourceFile::new("copy.toml", one.text.clone());
    assert!(!any_error(&loaded(&[one.clone(), same], &[]).diagnostics));
    let refused = loaded(&[one, other], &[]).diagnostics;
    assert_eq!(refused.len(), 1);
    assert_eq!(refused[0].message, "two rule files are called club");
    assert_eq!((refused[0].at.shown().as_str(), refused[0].at.line()), ("elsewhere.toml:3:6", 3));
}

#[test]
fn a_parent_shared_by_two_parents_counts_once() {
    let a = file("a", "\"ground\"", "");
    let b = file("b", "\"ground\"", "");
    let rules = sound(&[file("club", "\"a\", \"b\"", "")], &[a, b]);
    let ids: Vec<&str> = rules.layers.iter().map(|layer| layer.id.as_str()).collect();
    assert_eq!(ids, ["ground", "a", "b", "club"]);
}

/// A club's limit speaks against the cases of the file it stands on, and that is what it is for.
#[test]
fn inherited_cases_that_a_new_limit_replaces_are_no_mistakes() {
    let club = file("club", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nmeasure = { min = \"7/8 in\" }\n");
    let rules = sound(&[club], &[]);
    let not: Vec<_> = run_cases(&rules).into_iter().filter(|outcome| !outcome.passed()).collect();
    let [replaced] = not.as_slice() else { panic!("{not:?}") };
    assert!(!replaced.failed());
    let said = replaced.replaced().unwrap();
    assert!(said.starts_with("ground.toml:57:1: ") && said.contains("measure.min at club.toml:"), "{said}");
}

/// What decides is not what was changed: the case is as wrong as ever.
#[test]
fn a_failing_case_is_replaced_by_a_change_of_what_decides_only() {
    let wrong = GROUND.replacen("expect = \"accept\"", "expect = \"reject\"", 1);
    let ground = SourceFile::new("ground.toml", wrong);
    let other =
        file("club", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nseverity = \"stop\"\nseconds = 9\n");
    let loaded = load(&[other], &|_, _| Some(Arc::clone(&ground)));
    let failed = run_cases(&loaded.rules).into_iter().filter(|outcome| outcome.failed()).count();
    assert_eq!(failed, 1);
}

#[test]
fn a_mistake_of_a_parent_stands_in_the_parent() {
    let parent = file("parent", "\"ground\"", "[[check]]\nid = \"hose-gap\"\nsevrity = \"fix\"\n");
    let old = SourceFile::new("old.toml", head("old", "\"ground\"").replace("format = 1", "format = 7"));
    let found = loaded(&[file("club", "\"parent\", \"old\"", "")], &[parent, old]).diagnostics;
    let said: Vec<String> =
        found.iter().map(|diagnostic| format!("{} {}", diagnostic.at.shown(), diagnostic.message)).collect();
    assert_eq!(said, ["old.toml:1:10 this file format is not known", "parent.toml:11:1 unknown key sevrity"]);
}

#[test]
fn the_example_bulletin_stands_on_the_club_on_circuit_on_base() {
    let rules = shipped("example-bulletin").rules;
    let ids: Vec<&str> = rules.layers.iter().map(|layer| layer.id.as_str()).collect();
    assert_eq!(ids, ["base", "circuit", "example-club", "example-bulletin"]);
    match &rules.check("ec-drawings-on-board").unwrap().typed {
        Typed::Count(rows) => assert_eq!((rows[0].min, rows[0].id.as_str()), (Some(3), "copies")),
        other => panic!("{other:?}"),
    }
    assert_eq!(
        rules.check("ec-drawings-on-board").unwrap().cases.len(),
        2,
        "the bulletin brings its own cases"
    );
    assert!(rules.check("rf-pressure-sensor-port").is_none());
    assert_eq!(
        rules.layers.iter().filter(|layer| layer.notice.is_some()).count(),
        4,
        "every notice is printed"
    );
    let hold = &rules.check("un-gauge-hold-high").unwrap().compute[0];
    assert_eq!(hold.max.as_ref().map(|limit| limit.si), Some(0.01));
}

#[test]
fn stale_rules_are_said_from_the_day_after() {
    let rules = sound(&[file("club", "\"ground\"", "")], &[]);
    // Reviewed 2026-11-01, every year: it holds up to and on 2027-11-01.
    assert_eq!(rules.stale(day("2027-11-01")).count(), 0);
    assert_eq!(rules.stale(day("2027-11-02")).count(), 2);
    let said = warnings(&rules, day("2027-11-02"));
    let places: Vec<String> = said.iter().map(|diagnostic| diagnostic.at.shown()).collect();
    assert_eq!(places, ["club.toml:6:12", "ground.toml:9:12"]);
}

#[test]
fn the_sum_of_a_layer_is_that_of_its_text() {
    // SHA-256 of the empty text, FIPS 180-4 example values.
    let rules = loaded(&[SourceFile::new("empty.toml", "")], &[]).rules;
    let sum = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
    assert_eq!(rules.layers[0].sum(), sum);
    let base = repo_ruleset("base");
    let mut parts = base.parts.clone();
    let last = parts.pop().unwrap();
    parts.push(SourceFile::new("last.toml", format!("{}\n", last.text)));
    let changed = SourceFile::with_parts(base.clone(), parts);
    let mark = |file| load(&[file], &|_, _| None).rules.mark().sha256;
    assert_ne!(mark(base), mark(changed));
}

/// A case may fail by any row of its check: each row's limit is named, with its line.
#[test]
fn a_failing_case_names_every_limit_of_its_check() {
    let base = repo_ruleset("base");
    let asked = "asks = [\"frame.sleeve.od\"";
    let (from, to) = (format!("min = \"1/8 in\", {asked}"), format!("min = \"1/4 in\", {asked}"));
    let at = base.parts.iter().position(|part| part.text.contains(&from)).unwrap();
    let tight = base.parts[at].text.replace(&from, &to);
    let mut parts = base.parts.clone();
    parts[at] = SourceFile::new("tight.toml", tight.as_str());
    let rules = load(&[SourceFile::with_parts(base, parts)], &|_, _| None).rules;
    let failed: Vec<_> = run_cases(&rules).into_iter().filter(|outcome| !outcome.passed()).collect();
    let [failed] = failed.as_slice() else { panic!("{failed:?}") };
    let said = failed.diagnostic(rules.check("lk-sleeve-present").unwrap()).render();
    for row in ["label = \"Sleeve length\"", "label = \"Sleeve bore less the lines"] {
        let line = 1 + tight.lines().position(|line| line.contains(row)).unwrap();
        assert!(said.contains(&format!("tight.toml:{line}:")), "{said}");
    }
}

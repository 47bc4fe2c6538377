//! The code that everything about a check goes by: fixed in the rules, one for each, with a letter that stays an item's own.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, SourceFile, Weight};
use linewalk::model::entry::{Entry, Kept, Outcome};
use linewalk::model::history::History;
use linewalk::model::letters::{Lettered, Letters};
use linewalk::rules::{BUILT_IN, built_in, code, load, warnings};
use linewalk::walk::{Journal, Walk, plan_paper, read_paper};

use crate::bench::{Bench, CAR, start};
use crate::logbook::{finding, moment};
use crate::shipped::day;

/// Two letters of the station, as they are read aloud.
const STATIONS: [(&str, &str); 14] = [
    ("nose", "NS"),
    ("left-front", "LF"),
    ("footwell", "FT"),
    ("driver-seat", "DS"),
    ("left-flank", "LS"),
    ("engine-left", "EL"),
    ("left-rear", "LR"),
    ("tail", "TL"),
    ("right-rear", "RR"),
    ("engine-right", "ER"),
    ("right-flank", "RS"),
    ("right-front", "RF"),
    ("underneath", "UN"),
    ("final-line", "LN"),
];

#[test]
fn every_shipped_check_has_a_code_of_its_own() {
    let all: Vec<Arc<SourceFile>> = BUILT_IN.iter().map(|(id, _)| built_in(id).unwrap()).collect();
    let loaded = load(&all, &|id, _| built_in(id));
    assert!(
        loaded.diagnostics.iter().all(|diagnostic| diagnostic.weight != Weight::Error),
        "{:?}",
        loaded.diagnostics
    );
    let rules = &loaded.rules;
    let stations: BTreeMap<&str, &str> =
        rules.stations.iter().map(|one| (one.id.as_str(), one.code.as_deref().unwrap())).collect();
    assert_eq!(stations, BTreeMap::from(STATIONS));
    let mut seen = BTreeSet::new();
    for check in &rules.checks {
        let code = check.code.as_deref().unwrap_or_else(|| panic!("{} has no code", check.id));
        assert_eq!(&code[..2], stations[check.station.as_str()], "{}", check.id);
        assert!((1..=59).contains(&code[2..].parse::<u32>().unwrap()), "{}", check.id);
        assert!(seen.insert(code), "{code} stands twice");
    }
}

fn club(id: &str, check: &str) -> Arc<SourceFile> {
    let text = format!(
        "format = 1\n[ruleset]\nid = \"{id}\"\ntitle = \"Club\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
         review_every = \"1 year\"\nextends = [\"base\"]\n{check}"
    );
    SourceFile::new(format!("{id}.toml"), text)
}

fn new_check(id: &str, code: &str) -> String {
    format!(
        "[[check]]\nid = \"{id}\"\n{code}\nstation = \"tail\"\ntopic = \"bottles\"\ntitle = \"T\"\nlook = \"L\"\naccept = \"A\"\n\
         reject = \"R\"\nwhy = \"W\"\nremedy = \"M\"\nmethod = \"look\"\nseverity = \"stop\"\nprofiles = [\"scales\"]\n\
         source = [ {{ for = \"it\", basis = \"common-practice\" }} ]\n"
    )
}

fn errors(files: &[Arc<SourceFile>]) -> Vec<Diagnostic> {
    let loaded = load(files, &|id, _| built_in(id));
    loaded.diagnostics.into_iter().filter(|diagnostic| diagnostic.weight == Weight::Error).collect()
}

#[test]
fn two_layers_with_one_code_are_both_named() {
    let one = club("north", &new_check("tag-here", "code = \"TL60\""));
    let other = club("south", &new_check("tag-there", "code = \"TL60\""));
    assert!(errors(std::slice::from_ref(&one)).is_empty());
    let found = errors(&[one, other]);
    let [clash] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(clash.message, "TL60 is the code of tag-here in north too, and of tag-there in south");
    assert_eq!(clash.at.shown(), "south.toml:11:8");
    assert!(clash.help.contains("TL61"), "{}", clash.help);
}

#[test]
fn a_code_is_of_its_station_and_its_layer_and_stays() {
    let said = |check: &str| -> Vec<String> {
        errors(&[club("north", check)]).into_iter().map(|diagnostic| diagnostic.message).collect()
    };
    assert_eq!(
        said(&new_check("t", "code = \"TL40\"")),
        ["TL40 is not a code for north, which has 60 to 99"]
    );
    assert_eq!(
        said(&new_check("t", "code = \"NS60\"")),
        ["the code of t begins with NS, and its station's with TL"]
    );
    assert!(said(&new_check("t", "code = \"tail 1\""))[0].contains("is not a code"), "letters and digits");
    let changed = said("[[check]]\nid = \"car-made-safe\"\ncode = \"NS61\"\n");
    assert!(
        changed.iter().any(|message| message.contains("has the code NS02, and a code stays")),
        "{changed:?}"
    );
    // Without one the file still works, and its check says which it may have.
    let without = club("north", &new_check("t", ""));
    assert!(errors(std::slice::from_ref(&without)).is_empty());
    let rules = load(&[without], &|id, _| built_in(id)).rules;
    let doubt = warnings(&rules, day("2026-11-25"));
    assert!(
        doubt.iter().any(
            |diagnostic| diagnostic.message.contains("t has no code") && diagnostic.help.contains("TL60")
        )
    );
    assert_eq!(code(rules.check("t").unwrap(), None, &BTreeSet::new(), &Letters::default()), "t");
}

fn kept(seq: u64, entry: Entry) -> Kept {
    Kept { id: format!("k{seq}"), writer: "w".into(), seq, at: moment(seq.try_into().unwrap()), entry }
}

fn of_item(seq: u64, of: &str, code: Option<&str>) -> Kept {
    let Entry::Finding(mut one) = finding(0.1, "") else { panic!("no finding") };
    (one.check, one.of, one.code) = ("dust".into(), Some(of.into()), code.map(str::to_owned));
    kept(seq, Entry::Finding(one))
}

/// The letter belongs to the item: whatever the car file has later, it is neither moved nor given to another.
#[test]
fn a_letter_stays_with_its_item() {
    let letters = |kept: Vec<Kept>, items: &[&str]| {
        let items: BTreeSet<&str> = items.iter().copied().collect();
        let mut found = Letters::of(&History::fold(kept)).of_check("dust", &items);
        found.sort();
        found.into_iter().map(|(of, letter)| format!("{letter} {of}")).collect::<Vec<_>>()
    };
    assert!(letters(Vec::new(), &["b1"]).is_empty(), "one item needs no letter");
    assert_eq!(letters(Vec::new(), &["b1", "b2"]), ["a b1", "b b2"]);
    // b2 was the only one when it was answered; b1 comes later and stands before it in the file.
    assert_eq!(letters(vec![of_item(1, "b2", Some("DU01"))], &["b1", "b2"]), ["b b1", "a b2"]);
    // b1 has gone from the car: its letter is not given again.
    let gone = vec![of_item(1, "b1", Some("DU01-a")), of_item(2, "b2", Some("DU01-b"))];
    assert_eq!(letters(gone, &["b2", "b3"]), ["a b1", "b b2", "c b3"]);
    // Two machines gave one letter to two items: the earlier keeps it.
    let two = vec![of_item(1, "b2", Some("DU01-b")), of_item(2, "b3", Some("DU01-b"))];
    assert_eq!(letters(two, &[]), ["b b2", "a b3"]);
    // A walk that began gave the letters, before anything was answered.
    let Ok(Entry::WalkStarted(mut started)) = serde_json::from_value(serde_json::json!({
        "kind": "walk-started", "profile": "scales", "rules": { "id": "base", "edition": "1", "sha256": "0" }
    })) else {
        panic!("no walk")
    };
    let given =
        |of: &str, letter: &str| Lettered { check: "dust".into(), of: of.into(), letter: letter.into() };
    started.letters = vec![given("b2", "a"), given("b1", "b")];
    assert_eq!(
        letters(vec![kept(1, Entry::WalkStarted(started))], &["b0", "b1", "b2"]),
        ["c b0", "b b1", "a b2"]
    );
}

#[test]
fn a_record_carries_the_codes_it_was_kept_under() {
    let mut bench = Bench::fresh(CAR);
    bench.say("pins", Outcome::Accept).unwrap();
    let Entry::WalkStarted(started) = &bench.keeper.kept[0].entry else { panic!("no walk") };
    let lettered: Vec<_> = started.letters.iter().map(|one| (one.check.as_str(), one.of.as_str())).collect();
    assert!(lettered.contains(&("hose-look", "left-hose")), "{lettered:?}");
    let reject = linewalk::walk::Reply {
        of: Some("right-hose".into()),
        ..linewalk::walk::Reply::plain("hose-look", Outcome::Reject)
    };
    bench.say("safe", Outcome::Accept).unwrap();
    assert_eq!(bench.reply(reject).unwrap().code.as_deref(), Some("NS62-b"));
}

/// An answers file names a check by its code, and one of several items by its letter.
#[test]
fn an_answers_file_goes_by_codes() {
    let give = |check: &str, edition: &str| {
        let bench = Bench::sound();
        give(bench, check, edition)
    };
    let right = || Ok(("hose-look".to_owned(), Some("right-hose".to_owned())));
    assert_eq!(give("NS62-b", ""), right());
    assert_eq!(give("ns62-B", ""), right());
    assert_eq!(give("NS60", ""), Ok(("pins".to_owned(), None)));
    let several = "NS62 has several items, and this names none: NS62-a is left-hose, NS62-b is right-hose";
    assert_eq!(give("NS62", ""), Err(several.to_owned()));
    assert!(give("NS62-c", "").unwrap_err().contains("NS62 has no item c: NS62-a is left-hose"));
    assert_eq!(
        give("NS60-a", ""),
        Err("NS60 is about one part or the whole car, and has no letters: write NS60".to_owned())
    );
}

/// What an answers file with one reject comes to: the check and the item, or why it was refused.
fn give(mut bench: Bench, check: &str, edition: &str) -> Result<(String, Option<String>), String> {
    let text = format!(
        "format = 1\n{edition}[[answer]]\ncheck = \"{check}\"\nresult = \"reject\"\nnote = \"chafed\"\n"
    );
    let (paper, diagnostics) = read_paper(&SourceFile::new("sheet.toml", text));
    assert!(diagnostics.is_empty());
    let now = "2026-11-25T12:00:00Z".parse().unwrap();
    let plan = plan_paper(&bench.walk, &paper, false, now, &mut || bench.keeper.new_id());
    let plan = plan.map_err(|diagnostics| diagnostics[0].message.clone())?;
    let found = plan.entries.into_iter().find_map(|(decided, _)| match decided.entry {
        Entry::Finding(finding) => Some((finding.check, finding.of)),
        _ => None,
    });
    Ok(found.unwrap())
}

/// On a sheet printed from an edition of the car file that is not in use any more, a letter is the part that it was then.
#[test]
fn a_letter_of_an_old_sheet_goes_to_no_other_part() {
    let edition = |car: &str| format!("edition = \"{}\"\n", &SourceFile::new("car.toml", car).sha256()[..12]);
    let renamed = CAR.replace("\"left-hose\"", "\"upper-hose\"");
    // The record knows the parts of the edition in use only: whose letter stood on the sheet cannot be known.
    let refused = give(Bench::on(&renamed), "NS62-a", &edition(CAR)).unwrap_err();
    assert!(refused.contains("NS62-a is right-hose now, and may have been another part then"), "{refused}");
    // A walk began with the sheet's edition: its letters hold, also those of parts that have gone.
    let both = || {
        let before = Bench::sound();
        let history = History::fold(before.records().iter().cloned());
        let walk = Walk::new(start(&renamed, "owner"), history).unwrap();
        let mut bench = Bench { walk, ..before };
        bench.say("pins", Outcome::Accept).unwrap();
        bench.say("safe", Outcome::Accept).unwrap();
        bench
    };
    let right = Ok(("hose-look".to_owned(), Some("right-hose".to_owned())));
    assert_eq!(give(both(), "NS62-b", &edition(CAR)), right);
    assert_eq!(give(both(), "NS62-b", &edition(&renamed)), right);
    let refused = give(both(), "NS62-c", &edition(CAR)).unwrap_err();
    assert!(refused.contains("NS62-c is upper-hose now"), "{refused}");
    let gone = give(both(), "NS62-a", &edition(CAR));
    assert_eq!(gone, Err("the car file has nothing called left-hose".to_owned()));
}

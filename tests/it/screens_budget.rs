//! How many keys and how much time a lap takes, pressed by a script that sees only what the screen shows. The table is
//! printed by `cargo test -- --nocapture budgets`.

use std::time::Instant;

use linewalk::model::entry::{Entry, Outcome, Severity};
use linewalk::rules::{Check, Method};
use linewalk::tui::{Options, Person, Place};
use linewalk::walk::{Step, Walk};

use crate::screens::{Script, options};
use crate::screens_workspace::TestWorkspace;

/// Most keys for a clean lap at the scales, from the list of cars to the signed end, beside the characters of typed values,
/// a key for each stop that is answered by itself, and one for each list of a station that is confirmed.
const CLEAN_LAP: usize = 30;
/// Most keys for each reject more.
const REJECT: usize = 4;
/// Most keys from the end of one walk to the first check of the next car.
const NEXT_CAR: usize = 4;

fn text_of(car: &str) -> String {
    std::fs::read_to_string(format!("{}/sample-cars/{car}.toml", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn walk(script: &Script) -> &Walk {
    script.app.state().walk.as_ref().unwrap()
}

/// An inspector at the list of cars, with a queue of two under the shipped rules.
fn inspector() -> Script {
    let mut workspace = TestWorkspace::shipped(&text_of("plover"));
    workspace.cars.push(linewalk::diagnostic::SourceFile::new("next.toml", text_of("bittern")));
    Script::with(workspace, Options { person: Some(Person::Inspector), ..options() })
}

/// The last check of its station that stops the car, of several stations, so that each has to be looked for.
fn bad_ones(script: &Script, count: usize) -> Vec<String> {
    let walk = walk(script);
    let is_look = |step: &&Step| {
        let check = walk.start.rules.check(&step.check).unwrap();
        check.method == Method::Look && !check.first && check.severity == Severity::Stop
    };
    let last = |id: &String| walk.plan.at_station(id).filter(is_look).last().map(|step| step.check.clone());
    walk.plan.stations.iter().filter_map(last).take(count).collect()
}

/// The letters of a check's id that find it and nothing else.
fn letters(walk: &Walk, id: &str) -> String {
    let fits =
        |check: &Check, typed: &str| format!("{} {}", check.title, check.id).to_lowercase().contains(typed);
    let checks: Vec<&Check> =
        walk.plan.steps.iter().filter_map(|step| walk.start.rules.check(&step.check)).collect();
    let stations = |typed: &str| {
        let rules = &walk.start.rules;
        walk.plan.stations.iter().any(|id| rules.station(id).unwrap().title.to_lowercase().contains(typed))
    };
    let only =
        |typed: &&str| !stations(typed) && checks.iter().filter(|check| fits(check, typed)).count() == 1;
    let cuts = (1..=id.len()).flat_map(|long| (0..=id.len() - long).map(move |from| &id[from..from + long]));
    cuts.into_iter().find(|typed| only(typed)).unwrap_or(id).to_owned()
}

/// A check that a whole station does not take with it: a number speaks against it, the rule wants a value, or it is a
/// stop that is measured, counted, dated or computed.
fn single(script: &mut Script) {
    let sheet = &script.app.state().sheet;
    let confirms = sheet.assessment.has_typed() || !sheet.typed;
    if sheet.assessment.verdict() == Some(Outcome::Reject) {
        script.press("r");
    } else if sheet.by_eye {
        script.press("e");
    } else if confirms {
        script.press("a");
    } else {
        // The pins counted at the last stop: as many as the car has release heads.
        let heads = walk(script).start.car.suppression.release_heads.as_ref().unwrap().to_string();
        script.text(&heads).press("<enter>");
        if script.app.state().place() == Place::Decide {
            script.press("a");
        }
    }
}

/// One lap from the list of cars to the signed end: rejects the bad ones, accepts the rest.
fn lap(script: &mut Script, number: &str, rejects: usize) -> usize {
    script.text(number).press("<enter> <enter>");
    let mut bad = bad_ones(script, rejects);
    for _ in 0..300 {
        if script.app.state().place() == Place::Words {
            script.press("<enter>");
        }
        if script.app.state().place() != Place::Walk {
            break;
        }
        let step = walk(script).current().cloned().unwrap();
        if walk(script).check().unwrap().first {
            script.press("a");
            continue;
        }
        let at =
            bad.iter().position(|id| walk(script).plan.at_station(&step.station).any(|one| one.check == *id));
        if let Some(at) = at {
            let id = bad.remove(at);
            let typed = letters(walk(script), &id);
            script.press("j").text(&typed).press("<enter> r");
            continue;
        }
        // The screen says STOP and how it is checked: one with a value is never taken with its station.
        let check = walk(script).check().unwrap();
        if check.severity == Severity::Stop && !check.method.by_answer() {
            single(script);
            continue;
        }
        let before = walk(script).left().len();
        script.press("g");
        if script.app.state().place() == Place::Ask {
            script.press("<enter>");
        }
        if walk(script).left().len() == before {
            single(script);
        }
    }
    assert_eq!(script.app.state().place(), Place::End, "{}", script.screen(80, 24));
    script.text(number).press("<enter> <enter>");
    assert_eq!(script.app.state().place(), Place::Ended, "{}", script.screen(80, 24));
    script.keys
}

fn rejected(script: &Script, car: &str) -> usize {
    let is_reject =
        |entry: &Entry| matches!(entry, Entry::Finding(finding) if finding.result == Outcome::Reject);
    script.app.workspace().kept[car].iter().filter(|kept| is_reject(&kept.entry)).count()
}

/// Stops that are measured, counted, dated or computed, and that no number rejected: each is answered by itself.
fn answered_alone(script: &Script) -> usize {
    let rules = &script.app.workspace().rules;
    let accepted = script.app.workspace().kept["plover"].iter().filter(|kept| match &kept.entry {
        Entry::Finding(finding) => {
            let check = rules.check(&finding.check).unwrap();
            let alone = check.severity == Severity::Stop && !check.method.by_answer();
            alone && finding.result == Outcome::Accept
        }
        _ => false,
    });
    accepted.count()
}

/// Lists of a station that were confirmed.
fn confirmed(script: &Script) -> usize {
    script.trace.windows(2).filter(|pair| pair[0] == "g" && pair[1] == "<enter>").count()
}

/// A table as it is printed: what, found, most.
struct Table(String);

impl Table {
    fn row(&mut self, what: &str, found: impl std::fmt::Display, most: impl std::fmt::Display) {
        self.0.push_str(&format!("{what:<58} {found:>6} {most:>6}\n"));
    }
}

/// Keys from the end of one walk to the first check of the next car.
fn next_car(script: &mut Script) -> usize {
    let before = script.keys;
    script.press("<enter> <down> <enter> <enter>");
    assert_eq!(script.app.state().place(), Place::Walk, "{}", script.screen(80, 24));
    assert_eq!(walk(script).start.car.id, "bittern", "the next car of the queue, not the same again");
    script.keys - before
}

/// Keys of a recheck of what stops the car, from the list of cars to the signed end, and how many checks it asked.
fn recheck(script: &mut Script, number: &str) -> (usize, usize) {
    let before = script.keys;
    script.press("<esc>").text(number).press("<enter> r <enter>");
    let asked = walk(script).plan.steps.len();
    for _ in 0..asked {
        script.press("a");
        if script.app.state().place() == Place::Words {
            script.text("mended").press("<enter>");
        }
    }
    assert_eq!(script.app.state().place(), Place::End, "{}", script.screen(80, 24));
    script.text(number).press("<enter> <enter>");
    (script.keys - before, asked)
}

#[test]
#[expect(clippy::print_stdout, reason = "the budgets are read by people")]
fn budgets_of_a_lap_at_the_scales() {
    let mut table = Table(String::new());
    let mut clean = inspector();
    let begun = Instant::now();
    let keys = lap(&mut clean, "318", 0);
    let (typed, each) = (clean.typed, begun.elapsed() / u32::try_from(clean.keys + clean.typed).unwrap());
    let by_number = rejected(&clean, "plover");
    let fresh = {
        let mut script = inspector();
        script.text("318").press("<enter> <enter>");
        script
    };
    // What a number of this car rejects is one key more for each, and no part of a clean lap.
    // What a station never takes with it, and what confirms what it takes, is asked of a person for every car.
    let (alone, lists) = (answered_alone(&clean), confirmed(&clean));
    let clean_keys = keys - by_number - alone - lists;
    let (checks, seconds) = (walk(&fresh).plan.steps.len(), walk(&fresh).seconds_left());
    table.row(&format!("clean lap, {checks} checks, {typed} characters typed: keys"), clean_keys, CLEAN_LAP);
    table.row("stops with a value or a number, a key each; lists confirmed", alone, lists);
    let mut bad = inspector();
    let more = lap(&mut bad, "318", 3) - keys;
    assert_eq!(rejected(&bad, "plover"), by_number + 3);
    let characters = bad.typed - typed;
    table.row(
        &format!("each reject more, {} letters of search: keys", characters / 3),
        more.div_ceil(3),
        REJECT,
    );
    let next = next_car(&mut bad);
    table.row("next car of the queue to its first check: keys", next, NEXT_CAR);
    let (again, asked) = recheck(&mut bad, "318");
    let (first, signing) = (2, 5);
    table.row(
        &format!("recheck, {asked} of {checks} checks asked, to the signed end: keys"),
        again,
        asked + signing + 2,
    );
    table.row("looking, as the checks say how long: seconds", seconds, 300);
    table.row("the program at one key, this build: ms", each.as_millis(), 250);
    println!("{:<58} {:>6} {:>6}\n{}", "", "found", "most", table.0);
    assert!(clean_keys <= CLEAN_LAP, "{keys}\n{:?}", clean.trace);
    assert!(more.div_ceil(3) <= REJECT && next <= NEXT_CAR);
    assert!(
        asked >= first && asked <= by_number + 3 + first && again <= asked + signing + 2,
        "{again} for {asked}"
    );
    assert!(seconds <= 300, "three to five minutes a car");
}

/// What the recheck did not ask keeps its answer of the whole walk, and nothing that stops the car is left.
#[test]
fn a_recheck_asks_only_what_is_open_and_stops_the_car() {
    let mut script = inspector();
    lap(&mut script, "318", 2);
    script.press("<enter>").text("318").press("<enter>");
    let whole = walk(&script).plan.steps.len();
    script.press("r");
    let asked: Vec<String> = walk(&script).plan.steps.iter().map(|step| step.check.clone()).collect();
    assert!(asked.len() < whole / 2, "{asked:?}");
    for id in &asked {
        let check = walk(&script).start.rules.check(id).unwrap();
        let open = walk(&script).history.standing_of(id).is_some_and(|standing| standing.is_open());
        assert!(check.first || open, "{id}");
    }
    let first = asked.iter().filter(|id| walk(&script).start.rules.check(id).unwrap().first).count();
    let heading = format!("Open from before, asked first: {}", asked.len() - first);
    assert!(script.shows(&heading), "{}", script.screen(120, 60));
    script.press("r");
    assert_eq!(walk(&script).plan.steps.len(), whole, "the same key brings the whole walk back");
    script.press("r <enter> a");
    let started = script.app.workspace().kept["plover"].iter().rev().find_map(|kept| match &kept.entry {
        Entry::WalkStarted(started) => Some(started.recheck),
        _ => None,
    });
    assert_eq!(started, Some(true));
}

//! How many keys a lap takes, pressed by a script that sees only what the screen shows.

use linewalk::model::entry::{Entry, Outcome};
use linewalk::rules::{Check, Method};
use linewalk::tui::Place;
use linewalk::walk::{Step, Walk};

use crate::screens::Script;
use crate::screens_garage::TestGarage;

/// Most keys for a full lap with three rejects, beside the characters of typed values.
const MOST_KEYS: usize = 45;

fn walk(script: &Script) -> &Walk {
    script.app.state().walk.as_ref().unwrap()
}

/// At the first check of plover at the scales, under the shipped rules.
fn plover_at_the_scales() -> Script {
    let plover = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-cars/plover.toml");
    let mut script = Script::new(TestGarage::shipped(&std::fs::read_to_string(plover).unwrap()));
    script.text("318").press("<enter>");
    let scales =
        script.app.garage().rules.profiles.iter().position(|profile| profile.id == "scales").unwrap();
    script.press(&(scales + 1).to_string()).press("<enter>");
    script
}

/// Three checks to reject, near the beginning, the middle and the end.
fn bad_ones(script: &Script) -> Vec<String> {
    let walk = walk(script);
    let checks = walk.plan.steps.iter().filter_map(|step| walk.start.rules.check(&step.check));
    let looks: Vec<&Check> = checks.filter(|check| check.method == Method::Look && !check.first).collect();
    [3, looks.len() / 2, looks.len() - 4].iter().map(|at| looks[*at].id.clone()).collect()
}

/// Rejects a bad check of the station at hand, found by letters; then the rest of the station by one key.
fn station_keys(script: &mut Script, step: &Step, bad: &mut Vec<String>, done: &mut Vec<String>) -> bool {
    let here =
        bad.iter().position(|id| walk(script).plan.at_station(&step.station).any(|one| one.check == *id));
    if let Some(at) = here {
        let id = bad.remove(at);
        if step.check != id {
            script.press("j").text(&id).press("<enter>");
        }
        script.press("r");
        return true;
    }
    if done.contains(&step.station) {
        return false;
    }
    done.push(step.station.clone());
    let rules = &walk(script).start.rules;
    let by_answer = |one: &&Step| rules.check(&one.check).is_some_and(|check| check.method.by_answer());
    let left =
        walk(script).left().into_iter().filter(|one| one.station == step.station).filter(by_answer).count();
    if left > 0 {
        script.press("g");
    }
    left > 0
}

/// The key for one check by itself.
fn single_key(script: &mut Script) {
    let sheet = &script.app.state().sheet;
    let check = walk(script).check().unwrap();
    let measured = matches!(check.method, Method::Measure | Method::Count | Method::Date);
    let computed = check.method == Method::Compute && check.words.look.is_none();
    let key = match (sheet.assessment.verdict(), check.first, measured) {
        (Some(Outcome::Reject), ..) => "r",
        (_, true, true) => {
            script.text("1").press("<enter>");
            "a"
        }
        (_, false, true) if sheet.assessment.has_typed() => "a",
        (_, false, true) if sheet.by_eye => "e",
        (_, false, true) => "s",
        _ if computed => "s",
        _ => "a",
    };
    script.press(key);
}

#[test]
#[expect(clippy::print_stdout, reason = "the budget is read by people")]
fn a_full_lap_at_the_scales_takes_few_keys() {
    let mut script = plover_at_the_scales();
    let checks = walk(&script).plan.steps.len();
    let wanted = bad_ones(&script);
    let (mut bad, mut done) = (wanted.clone(), Vec::new());
    for _ in 0..200 {
        let Some(step) = walk(&script).current().cloned() else { break };
        let first = walk(&script).check().unwrap().first;
        if first || !station_keys(&mut script, &step, &mut bad, &mut done) {
            single_key(&mut script);
        }
    }
    assert_eq!(script.app.state().place(), Place::End, "{}", script.screen(80, 24));
    script.press("<enter>").text("318").press("<enter> <enter>");
    assert_eq!(script.app.state().place(), Place::Ended, "{}", script.screen(80, 24));
    for id in &wanted {
        let rejected = script.app.garage().kept["plover"].iter().any(|kept| {
            matches!(&kept.entry, Entry::Finding(finding) if finding.check == *id && finding.result == Outcome::Reject)
        });
        assert!(rejected, "{id}");
    }
    println!("{checks} checks: {} keys and {} characters", script.keys, script.typed);
    assert!(script.keys <= MOST_KEYS, "{checks} checks took {} keys", script.keys);
}

//! Keys for either hand and of the person's own, codes called out, and what is asked once.

use crossterm::event::KeyCode;
use linewalk::model::entry::{Entry, Outcome};
use linewalk::tui::{Hand, Keymap, Options, Person, Place, UiAction};

use crate::screens::{Script, at_first_check, options};
use crate::screens_workspace::{TestWorkspace, day};

#[test]
fn the_right_hand_answers_with_its_own_keys_and_the_foot_says_so() {
    let keys = Keymap::of(Hand::Right);
    let (accept, reject) = (keys.word(UiAction::Accept), keys.word(UiAction::Reject));
    let mut script = Script::with(TestWorkspace::small(), Options { keys, ..options() });
    script.text("318").press("<enter> <enter> <enter>");
    assert!(script.shows(&format!(" {accept} accept  {reject} reject")));
    script.press(&accept).press(&reject);
    let results: Vec<Outcome> = script.findings().iter().map(|finding| finding.result).collect();
    assert_eq!(results, [Outcome::Accept, Outcome::Reject]);
    script.press("<enter> ?");
    assert!(script.shows(&format!("{accept}           Accept: it is as it should be.")));
}

#[test]
fn space_goes_on_for_the_left_hand_and_is_text_where_text_is_typed() {
    let mut script = at_first_check();
    let before = script.check();
    script.code(KeyCode::Char(' '));
    assert_ne!(script.check(), before);
    script.press("<left> n").text("two words").press("<enter>");
    assert!(script.shows("two words"));
}

/// The settings as the person wrote them, read into keys; or every mistake as it is shown.
fn own(text: &str) -> Result<Keymap, String> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("config.toml"), text).unwrap();
    let paths =
        linewalk::shell::paths::Paths { data: folder.path().to_owned(), config: folder.path().to_owned() };
    let config = linewalk::shell::config::read_config(&paths)?;
    Keymap::default()
        .with_own(&config.keys)
        .map_err(|diagnostics| diagnostics.iter().map(|one| one.render()).collect::<Vec<_>>().join("\n"))
}

#[test]
fn own_keys_take_the_place_of_the_usual_ones() {
    let keymap = own("[keys]\naccept = \"b\"\nplan = [\"F5\", \"F6\"]\n").unwrap();
    assert_eq!(keymap.word(UiAction::Accept), "b");
    let mut script = Script::with(TestWorkspace::small(), Options { keys: keymap, ..options() });
    script.text("318").press("<enter> <enter> <enter> a");
    assert!(script.findings().is_empty() && script.shows("That key does nothing here. Keys: b accept"));
    script.press("b");
    assert_eq!(script.findings().len(), 1);
    script.code(KeyCode::F(5));
    assert_eq!(script.app.state().place(), Place::Plan);
}

#[test]
fn a_key_that_would_mean_two_things_is_refused_at_its_line_and_column() {
    let said = own("theme = \"light\"\n\n[keys]\naccept = \"r\"\n").unwrap_err();
    assert!(said.contains("config.toml:4:10"), "{said}");
    assert!(said.contains("r is the key of reject too, on the screen Walk"), "{said}");
    assert!(said.contains("choose another, or give reject one under [keys] as well"), "{said}");
    // Two that change places clash with nothing.
    own("[keys]\naccept = \"r\"\nreject = \"a\"\n").unwrap();
}

#[test]
fn every_mistake_of_the_keys_is_told_at_once() {
    let said =
        own("[keys]\nacept = \"k\"\nreject = \"Ctrl\"\nnote = \"7\"\ngo = \"y\"\njump = []\n").unwrap_err();
    for wanted in [
        "config.toml:2:1",
        "there is no action acept",
        "did you mean accept?",
        "config.toml:3:10",
        "Ctrl is no key",
        "config.toml:4:8",
        "7 cannot be a key: digits begin a value",
        "config.toml:5:6",
        "y would be taken as text on the screen Cars",
        "no key is given",
    ] {
        assert!(said.contains(wanted), "{wanted} is not in:\n{said}");
    }
}

#[test]
fn a_code_called_out_and_a_letter_answer_a_check_elsewhere() {
    let mut script = at_first_check();
    script.press("a z");
    let walk = script.app.state().walk.as_ref().unwrap();
    // The last check of the last station, counted on the plan.
    let stations: Vec<&String> =
        walk.plan.stations.iter().filter(|id| walk.plan.at_station(id).next().is_some()).collect();
    let steps: Vec<String> =
        walk.plan.at_station(stations[stations.len() - 1]).map(|step| step.check.clone()).collect();
    let code = format!("{:02}{:02}", stations.len(), steps.len());
    script.text(&code);
    assert_eq!(script.check(), "hose-reaches", "digits alone go nowhere");
    script.press("r");
    let last = script.findings().pop().unwrap();
    assert_eq!((&last.check, last.result), (steps.last().unwrap(), Outcome::Reject));
}

#[test]
fn two_digits_are_a_check_of_this_station() {
    let mut script = at_first_check();
    script.press("a z").text("03").press("r");
    let last = script.findings().pop().unwrap();
    assert_eq!(last.check, "bleeder-top");
}

#[test]
fn the_code_stands_on_every_check_large_and_in_words() {
    let mut script = at_first_check();
    script.press("a z");
    for (width, height) in [(60, 20), (80, 24), (120, 40), (200, 60)] {
        let screen = script.screen(width, height);
        assert!(screen.contains("CODE 01, station 02"), "{screen}");
        // A zero's top and foot, as large letters have them.
        assert!(screen.contains("█▀█") && screen.contains("▀▀▀"), "{screen}");
    }
}

#[test]
fn a_code_that_is_none_keeps_nothing() {
    let mut script = at_first_check();
    script.press("a z");
    let before = script.findings().len();
    script.text("9901").press("a");
    assert!(script.shows("there is no such check. Nothing was kept"));
    script.text("01");
    script.code(KeyCode::Backspace);
    script.press("<esc>");
    assert_eq!((script.findings().len(), script.app.state().place()), (before, Place::Walk));
    script.text("99").press("z");
    assert!(script.shows("Call-out has ended"), "its key ends it with digits pending too");
    script.text("2");
    assert!(!script.shows("CODE"), "outside call-out a digit is no code");
}

fn first_use() -> Script {
    let mut workspace = TestWorkspace::small();
    workspace.cars.clear();
    Script::with(workspace, Options { asks_person: true, ..options() })
}

#[test]
fn who_this_is_is_asked_once_and_the_sample_car_is_one_key_away() {
    let mut script = first_use();
    assert_eq!(script.app.state().place(), Place::Person);
    script.press("2");
    assert_eq!(script.app.workspace().person.as_deref(), Some("inspector"));
    assert!(script.shows("Try it on the sample car"));
    script.press("<enter>");
    assert_eq!(script.app.state().place(), Place::Start, "no way round is asked of an inspector");
    assert_eq!(script.app.state().walk.as_ref().unwrap().start.profile, "scales");
    script.press("w");
    assert_eq!(script.app.state().place(), Place::Profile);
}

/// Three doors as long as there is no car, whoever this is; the sample stands behind a fourth key.
#[test]
fn without_a_car_the_doors_are_shown_whoever_this_is() {
    let mut workspace = TestWorkspace::small();
    workspace.cars.clear();
    let known = Options { asks_person: true, person: Some(Person::Shop), ..options() };
    let mut script = Script::with(workspace, known.clone());
    for (columns, rows) in [(60, 20), (80, 24), (120, 40)] {
        let screen = script.screen(columns, rows);
        for door in ["1  Walk my car", "2  Check cars at an event", "3  Build or repair cars", "4  Play with"]
        {
            assert!(screen.contains(door), "{screen}");
        }
        assert!(screen.contains("linewalk export FILE"), "{screen}");
    }
    script.press("4 <enter>");
    assert!(script.app.state().walk.is_some(), "{}", script.screen(80, 24));
    let script = Script::with(TestWorkspace::small(), known);
    assert_eq!(script.app.state().place(), Place::Cars, "a garage with cars has no doors");
}

#[test]
fn once_said_who_this_is_is_not_asked() {
    let known = Options { asks_person: false, person: Some(Person::Owner), ..options() };
    let mut script = Script::with(TestWorkspace::small(), known);
    assert_eq!(script.app.state().place(), Place::Cars);
    assert!(!script.shows("sample car"), "a garage with cars offers none");
}

#[test]
fn a_clock_before_the_newest_record_is_asked_about_once() {
    let mut script = at_first_check();
    script.press("a");
    script.app.workspace().clock.set(day("2026-03-02T03:00:00-05:00"));
    script.press("<esc>").text("318").press("<enter> <enter>");
    assert_eq!(script.app.state().place(), Place::Clock, "{}", script.screen(80, 24));
    assert!(script.shows("This computer says 2026-03-02 03:00"));
    script.press("y <esc>").text("318").press("<enter> <enter>");
    assert_eq!(script.app.state().place(), Place::Start);
}

#[test]
fn a_wrong_clock_is_said_in_the_record_and_answers_carry_the_right_time() {
    let mut workspace = TestWorkspace::small();
    workspace.kept.clear();
    workspace.clock.set(day("2011-01-01T00:05:00-04:00"));
    let mut script = Script::new(workspace);
    script.text("318").press("<enter> <enter> n").text("14:30").press("<enter>");
    assert!(script.shows("write it as 2026-11-25 14:30"));
    for _ in 0..5 {
        script.code(KeyCode::Backspace);
    }
    script.text("2026-10-31 09:00").press("<enter> <enter> a");
    let kept = &script.app.workspace().kept["finch"];
    let Entry::WalkStarted(started) = &kept[0].entry else { panic!("{kept:?}") };
    // From 2011-01-01 00:05 to 2026-10-31 09:00 are 5782 days and 8 h 55 min.
    assert_eq!(started.clock_correction, Some(5782 * 86_400 + 8 * 3600 + 55 * 60));
    let Entry::Finding(finding) = &kept[1].entry else { panic!("{kept:?}") };
    assert_eq!(finding.seen_at.unwrap().date_naive().to_string(), "2026-10-31");
    assert_eq!(script.app.state().walk.as_ref().unwrap().start.on.to_string(), "2026-10-31");
}

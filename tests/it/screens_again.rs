//! Walks after walks: the same as last time, answers taken back, values put by.

use chrono::NaiveDate;
use linewalk::model::entry::{Entry, Outcome};
use linewalk::tui::Place;

use crate::screens::{Script, at_first_check};
use crate::screens_workspace::{FINCH, TestWorkspace};

const SECOND: &str = r#"
[[suppression.bottle]]
id = "b2"
serviced = 2025-01-10
service_every = "2 years"
"#;

/// At the check of the service date, of two bottles.
fn at_dates(workspace: TestWorkspace) -> Script {
    let mut script = Script::new(workspace);
    script.text("318").press("<enter> <enter> <enter> a j").text("service date").press("<enter>");
    script
}

#[test]
fn the_dates_of_two_bottles_are_kept_by_the_older_and_each_is_judged_anew() {
    let two = format!("{FINCH}{SECOND}");
    let mut workspace = TestWorkspace::small();
    workspace = TestWorkspace::new(workspace.rules.clone(), &[&two]);
    let mut script = at_dates(workspace);
    script.press("a");
    let kept = script.findings().pop().unwrap();
    assert_eq!((kept.result, kept.value.as_deref()), (Outcome::Accept, Some("2025-01-10 at b2")));
    script.press("x <enter>").text("318").press("<enter> <enter>");
    let mut workspace = script.app.into_workspace();
    // Two years and a day after the older one.
    workspace.on = NaiveDate::from_ymd_opt(2027, 1, 11).unwrap();
    let mut script = at_dates(workspace);
    let count = script.findings().len();
    script.press("=");
    assert!(script.shows("ran out 2027-01-10"), "{}", script.screen(80, 24));
    assert_eq!((script.findings().len(), script.app.state().place()), (count, Place::Words));
}

#[test]
fn an_answer_of_a_signed_walk_is_taken_back_with_its_reason_and_begins_no_walk() {
    let mut script = at_first_check();
    script.press("a r <enter> x <enter>").text("318").press("<enter> <enter>");
    script.press("o w");
    assert!(script.shows("locked, signed by T.W."), "{}", script.screen(80, 24));
    script.text("looked at the wrong wheel").press("<enter>");
    let kept = script.app.workspace().kept["finch"].last().unwrap().entry.clone();
    let Entry::Withdrawn { note, .. } = kept else { panic!("{kept:?}") };
    assert_eq!(note.as_deref(), Some("looked at the wrong wheel"));
    let begun = |kept: &&linewalk::model::entry::Kept| matches!(kept.entry, Entry::WalkStarted(_));
    assert_eq!(script.app.workspace().kept["finch"].iter().filter(begun).count(), 1);
}

#[test]
fn values_put_by_are_what_a_person_typed_and_older_than_a_hold() {
    let mut script = Script::new(TestWorkspace::small());
    script.text("318").press("<enter> 2 <enter> a j").text("both circuits").press("<enter> v <esc> q");
    assert!(script.shows("Everything shown as kept is kept"), "nothing was typed");
    script.press("v").text("900 psi").press("<esc> q");
    assert!(script.shows("Drafts stay with 1 check"), "{}", script.screen(80, 24));
    script.press("h <enter>").text("70").press("<enter>").text("1210").press("<enter> <enter>");
    script.text("1200").press("<enter>").text("70").press("<enter> <esc> v");
    assert!(script.shows("[1210 psi") && !script.shows("[900 psi"), "{}", script.screen(80, 24));
}

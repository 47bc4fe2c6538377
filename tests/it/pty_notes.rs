//! Notes, photos and drafts in a real pseudo-terminal: what was shown as kept is a record, whatever ends the program.
#![cfg(unix)]

use std::fs;

use linewalk::model::entry::Photo;

use crate::pty::wait_for_head;
use crate::pty_hands::{Home, RULES, leave};

impl Home {
    /// Notes and photos that stand: check, note, photos, and whether they are beside an answer.
    fn noted(&self) -> Vec<(String, Option<String>, Vec<Photo>, bool)> {
        let history = self.history();
        let found = history.observations().into_iter().map(|(_, one)| one.clone());
        found.map(|one| (one.check, one.note, one.photos, one.record.is_some())).collect()
    }
}

#[test]
fn a_note_is_a_record_the_moment_enter_is_pressed() {
    let home = Home::new();
    let mut screen = home.at_the_corner();
    screen.press("n");
    screen.wait_for("Note on Left front hose");
    screen.press("chafed at the tab\r");
    screen.wait_for("Note kept on \"Left front hose reaches through all travel\"");
    // Moving away and back does not lose it, and neither does the end of the program.
    screen.press("\u{1b}[C");
    screen.wait_for("Hose tab is welded on");
    screen.press("\u{1b}[D");
    screen.wait_for("chafed at the tab (");
    wait_for_head(home.path());
    screen.child.kill().unwrap();
    screen.child.wait().unwrap();
    let note = Some("chafed at the tab".to_owned());
    assert_eq!(home.noted(), [("hose-reaches".to_owned(), note, Vec::new(), false)]);
    assert_eq!(home.answers().len(), 1, "the check stays unanswered");
    for kind in ["deficiency", "full", "slip", "delivery", "due", "fix-first"] {
        let text = home.said(&["report", "minimal", "--kind", kind, "--rules", RULES]);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("chafed at the tab"), "{kind}\n{text}");
    }
    let mut screen = home.walk("scales", RULES);
    screen.press("\r");
    screen.wait_for("chafed at the tab (");
    leave(screen);
}

#[test]
fn a_photo_is_named_by_a_record_as_soon_as_it_is_copied() {
    let home = Home::new();
    let photo = home.path().join("hose.jpg");
    fs::write(&photo, b"not much of a photo").unwrap();
    let mut screen = home.at_the_corner();
    screen.press("r");
    screen.wait_for("(Enter: none)");
    screen.press("\r");
    screen.wait_for("Hose tab is welded on");
    screen.press("c");
    screen.wait_for("Photo file for Left front hose");
    screen.press(&format!("{}\r", photo.display()));
    screen.wait_for("Photo kept on");
    wait_for_head(home.path());
    screen.child.kill().unwrap();
    screen.child.wait().unwrap();
    let noted = home.noted();
    let [(check, None, photos, true)] = noted.as_slice() else { panic!("{noted:?}") };
    assert_eq!((check.as_str(), photos.len()), ("hose-reaches", 1));
    assert!(home.path().join("data/cars/minimal/photos").join(&photos[0].file).is_file());
    let text = home.said(&["report", "minimal", "--rules", RULES]);
    assert!(text.contains(&photos[0].file), "{text}");
}

#[test]
fn a_half_typed_text_stays_as_a_draft_when_the_program_is_killed() {
    let home = Home::new();
    let mut screen = home.at_the_corner();
    screen.press("n");
    screen.wait_for("Note on Left front hose");
    screen.press("chafed");
    screen.wait_for("[chafed");
    screen.press("\u{1b}");
    screen.wait_for("Put by as a draft on \"Left front hose");
    wait_for_head(home.path());
    screen.child.kill().unwrap();
    screen.child.wait().unwrap();
    assert!(home.noted().is_empty(), "a draft is in no record");
    let text = home.said(&["report", "minimal", "--rules", RULES]);
    assert!(!text.contains("chafed"), "{text}");
    let mut screen = home.walk("scales", RULES);
    screen.press("\r");
    screen.wait_for("chafed (not in the record)");
    screen.press("n");
    screen.wait_for("[chafed");
    screen.press(" hose\r");
    screen.wait_for("Note kept on");
    leave(screen);
    assert_eq!(home.noted().len(), 1);
    let drafts = fs::read_dir(home.path().join("data/cars/minimal")).unwrap().map(|one| one.unwrap().path());
    let drafts = drafts.into_iter().find(|path| path.to_string_lossy().contains("drafts-")).unwrap();
    assert_eq!(fs::read_to_string(drafts).unwrap(), "", "kept, it is no draft any more");
}

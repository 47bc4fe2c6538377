//! The page of a check, at every check of every sample car: what decides is in sight without a key.

use linewalk::tui::{Person, foot};

use crate::screens::{Script, options};
use crate::screens_workspace::TestWorkspace;
use crate::shipped::repo_file;

const CARS: [&str; 6] = ["bittern", "curlew", "dunlin", "heron", "minimal", "plover"];

/// The words of a screen, its lines run together.
fn words(screen: &str) -> String {
    let rows = screen.lines().map(|line| line.trim_matches('"').trim_end_matches('v'));
    rows.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn wish_fault_number_and_caution_are_in_sight_at_every_check() {
    for car in CARS {
        let file = repo_file(&format!("sample-cars/{car}.toml"));
        let scales = linewalk::tui::Options { person: Some(Person::Inspector), ..options() };
        let mut script = Script::with(TestWorkspace::shipped(&file.text), scales);
        let number = file.text.lines().find_map(|line| line.strip_prefix("number = ")).unwrap();
        script.text(number.trim_matches('"')).press("<enter> <enter> <enter>");
        script.wait_for_numbers();
        let steps = script.app.state().walk.as_ref().unwrap().plan.steps.len();
        assert!(steps > 30, "{car}: {steps}");
        for _ in 0..steps {
            in_sight(&mut script, car);
            script.press("<right>");
        }
    }
}

fn in_sight(script: &mut Script, car: &str) {
    for size in [(60, 20), (80, 24)] {
        let screen = script.screen(size.0, size.1);
        let (shown, sheet) = (words(&screen), &script.app.state().sheet);
        let walk = script.app.state().walk.as_ref().unwrap();
        let check = walk.check().unwrap();
        let mut wanted = vec![format!("Want {}", check.title)];
        match &sheet.wrong {
            Some((fault, _)) => wanted.push(format!("FAULT {fault}")),
            None => wanted.extend(check.fault.as_ref().map(|fault| format!("Else {fault}"))),
        }
        wanted.extend(sheet.caution.as_ref().map(|caution| format!("CAUTION {caution}")));
        let numbers = sheet.assessment.rows.iter().filter(|row| row.judges).count();
        if numbers > 0 {
            assert!(shown.contains("Number ") || shown.contains("File says "), "{car}\n{screen}");
        }
        for text in wanted {
            assert!(shown.contains(&flat(&text)), "{car} at {size:?}: {text}\n{screen}");
        }
    }
}

/// Eight keys at most, on one line from 80 columns up, on two below; and every one of them is taken.
#[test]
fn the_foot_is_short() {
    for (way, mut script) in crate::screens_modes::places() {
        for (width, height, lines) in [(60, 20, 2), (80, 24, 1), (120, 40, 1)] {
            let screen = script.screen(width, height);
            let rows: Vec<&str> = screen.lines().map(|line| line.trim_matches('"')).collect();
            let keys = foot(script.app.state(), width);
            assert!(keys.len() <= 8, "{way} at {width}: {keys:?}");
            let foot = rows.iter().rev().take(lines).rev().copied().collect::<Vec<_>>().join(" ");
            for key in keys {
                assert!(foot.contains(&key), "{way} at {width}: {key}\n{screen}");
            }
        }
    }
}

/// After a reject a digit picks one of the check's own ways to fail, with its remedy; words are a note; Enter is none.
#[test]
fn a_digit_says_why() {
    let file = repo_file("sample-cars/plover.toml");
    let picked = |typed: &str| {
        let mut script = Script::new(TestWorkspace::shipped(&file.text));
        script.text("318").press("<enter> <enter> <enter> a a");
        while script.check() != "lf-hose-at-steer-lock" {
            script.press("<right>");
        }
        script.press("r");
        let asked = script.screen(80, 24);
        assert!(asked.contains("REJECTED: Left front hose pulls or rubs at lock"), "{asked}");
        assert!(asked.contains("2 Polished patch on the hose"), "{asked}");
        script.text(typed).press("<enter>");
        script.notes()
    };
    let of = |text: &str| vec![("lf-hose-at-steer-lock".to_owned(), text.to_owned())];
    assert_eq!(picked("2"), of("Polished patch on the hose"));
    assert_eq!(picked("2 places"), of("2 places"));
    assert_eq!(picked("9"), of("9"), "no such way: the digit is the note");
    assert_eq!(picked(""), Vec::new());
}

/// The worst number of a car is what the page of numbers opens on, three keys from the car; lists go by pages.
#[test]
fn the_worst_number_is_first_and_lists_go_by_pages() {
    let file = repo_file("sample-cars/bittern.toml");
    let mut script = Script::new(TestWorkspace::shipped(&file.text));
    script.text("1107").press("<enter> <enter> m");
    let first = script.screen(80, 24);
    let rows: Vec<&str> = first.lines().collect();
    let outside = rows.iter().position(|row| row.contains("OUTSIDE")).unwrap();
    assert!(rows[outside + 1].contains("> x "), "{first}");
    // The maker's figure of the mount is 0.843 of what is wanted: the mark stands left of the limit.
    assert!(first.contains("::::::o:|---------------"), "{first}");
    let at = |script: &mut Script| {
        let screen = script.screen(80, 24);
        screen
            .lines()
            .position(|row| row.contains("\"> "))
            .map(|row| screen.lines().nth(row).unwrap().to_owned())
    };
    let top = at(&mut script);
    script.press("<pgdn>");
    let below = at(&mut script);
    assert!(below.is_some() && below != top);
    script.press("<end>");
    let last = at(&mut script);
    assert!(last.as_ref().is_some_and(|row| row.contains(": ")) && last != below, "{last:?}");
    script.press("<down>");
    assert_eq!(at(&mut script), last, "the last row is the last");
    script.press("<pgup>");
    assert_ne!(at(&mut script), last);
    script.press("<home>");
    assert_eq!(at(&mut script), top);
}

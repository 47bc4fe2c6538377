//! Every screen at three sizes, without colour, as text.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use linewalk::model::entry::{Finding, Moment};
use linewalk::tui::{App, Options, Theme, draw};
use linewalk::walk::Walk;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::screens_workspace::TestWorkspace;

/// The app with keys pressed by a script.
pub struct Script {
    pub app: App<TestWorkspace>,
    /// Keys that are commands.
    pub keys: usize,
    /// Characters of typed values and words.
    pub typed: usize,
    /// What was pressed, for a look.
    pub trace: Vec<String>,
}

fn preview(walk: &Walk, now: Moment) -> String {
    let open: Vec<String> =
        walk.history.open().iter().map(|one| format!("- {}", one.finding.title)).collect();
    format!("DEFICIENCIES of car {} on {}\n\n{}\n", walk.start.car.number, now.date_naive(), open.join("\n"))
}

pub fn options() -> Options {
    Options { theme: Theme::Mono, ..Options::new(preview) }
}

impl Script {
    pub fn new(workspace: TestWorkspace) -> Self {
        Self { app: App::new(workspace, options()), keys: 0, typed: 0, trace: Vec::new() }
    }

    /// With other options than the usual ones.
    pub fn with(workspace: TestWorkspace, options: Options) -> Self {
        Self { app: App::new(workspace, options), keys: 0, typed: 0, trace: Vec::new() }
    }

    /// The findings of the car, by the time they were seen.
    pub fn findings(&self) -> Vec<Finding> {
        let walk = self.app.state().walk.as_ref().unwrap();
        walk.history.findings().into_iter().map(|(_, finding)| finding.clone()).collect()
    }

    /// Notes that stand, by check.
    pub fn notes(&self) -> Vec<(String, String)> {
        let walk = self.app.state().walk.as_ref().unwrap();
        let found = walk.history.observations().into_iter();
        found.filter_map(|(_, one)| Some((one.check.clone(), one.note.clone()?))).collect()
    }

    /// The id of the check at hand; empty past the last.
    pub fn check(&self) -> String {
        let walk = self.app.state().walk.as_ref().unwrap();
        walk.check().map(|check| check.id.clone()).unwrap_or_default()
    }

    /// The same workspace in a new run of the program.
    pub fn again(self) -> Self {
        Self::new(self.app.into_workspace())
    }

    pub fn code(&mut self, code: KeyCode) {
        self.app.press(KeyEvent::new(code, KeyModifiers::NONE));
    }

    /// Keys by name: `a`, `<enter>`, `<esc>`, `<down>` …; each counts as one.
    pub fn press(&mut self, keys: &str) -> &mut Self {
        for word in keys.split_whitespace() {
            let code = match word {
                "<enter>" => KeyCode::Enter,
                "<esc>" => KeyCode::Esc,
                "<tab>" => KeyCode::Tab,
                "<up>" => KeyCode::Up,
                "<down>" => KeyCode::Down,
                "<left>" => KeyCode::Left,
                "<right>" => KeyCode::Right,
                "<pgdn>" => KeyCode::PageDown,
                "<pgup>" => KeyCode::PageUp,
                "<home>" => KeyCode::Home,
                "<end>" => KeyCode::End,
                one => KeyCode::Char(one.chars().next().unwrap()),
            };
            self.code(code);
            self.trace.push(word.to_owned());
            self.keys += 1;
        }
        self
    }

    /// Characters of a value or of words.
    pub fn text(&mut self, text: &str) -> &mut Self {
        self.trace.push(format!("\"{text}\""));
        for c in text.chars() {
            self.code(KeyCode::Char(c));
            self.typed += 1;
        }
        self
    }

    pub fn wait_for_numbers(&mut self) {
        self.app.work_ahead();
        while self.app.is_working_ahead() {
            std::thread::sleep(std::time::Duration::from_millis(1));
            self.app.work_ahead();
        }
    }

    pub fn screen(&mut self, width: u16, height: u16) -> String {
        // As a person sees it who waited half a second.
        self.wait_for_numbers();
        self.app.resize(width, height);
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| draw(self.app.state(), self.app.theme(), frame)).unwrap();
        terminal.backend().to_string()
    }

    /// The screen at 80x24, for a look for words.
    pub fn shows(&mut self, words: &str) -> bool {
        self.screen(120, 60).contains(words)
    }
}

pub fn shot(name: &str, script: &mut Script) {
    for (width, height) in [(60, 20), (80, 24), (120, 40)] {
        insta::assert_snapshot!(format!("{name}-{width}x{height}"), script.screen(width, height));
    }
}

fn small() -> Script {
    Script::new(TestWorkspace::small())
}

/// At the first check of a walk of car 318.
pub fn at_first_check() -> Script {
    let mut script = small();
    script.text("318").press("<enter> <enter> <enter>");
    script
}

#[test]
fn cars_and_a_number_typed() {
    let mut script = at_first_check();
    script.press("a r <enter> <esc>");
    shot("cars", &mut script);
    script.text("4");
    shot("cars-typed", &mut script);
}

#[test]
fn a_new_car() {
    let mut script = small();
    script.text("77").press("+ <enter> y y n");
    shot("new-car", &mut script);
}

#[test]
fn ways_round_and_start() {
    let mut script = small();
    script.text("318").press("<enter>");
    shot("profile", &mut script);
    script.press("<enter>");
    shot("start", &mut script);
}

#[test]
fn start_with_open_items() {
    let mut script = at_first_check();
    script.press("a r <enter> <esc>");
    script.text("318").press("<enter> <enter>");
    shot("start-resumed", &mut script);
}

#[test]
fn a_first_check_and_a_pause() {
    let mut script = at_first_check();
    shot("walk-first", &mut script);
    script.press("r");
    shot("walk-paused", &mut script);
}

#[test]
fn a_check_with_numbers() {
    let mut script = at_first_check();
    script.press("a");
    shot("walk-numbers", &mut script);
    script.press("r");
    shot("walk-rejected", &mut script);
}

#[test]
fn a_value_while_it_is_typed() {
    let mut script = at_first_check();
    script.press("a g <enter>").text("17/32");
    shot("typing-undecided", &mut script);
    script.press("<tab> <enter>");
    shot("typing-decide", &mut script);
}

#[test]
fn a_value_that_cannot_be_read() {
    let mut script = at_first_check();
    script.press("a g <enter>").text("1,5 in").press("<enter>");
    shot("typing-unread", &mut script);
}

#[test]
fn several_values_in_turn() {
    let mut script = at_first_check();
    script.press("a g <enter> e a").text("4").press("<enter>").text("1");
    shot("typing-several", &mut script);
}

#[test]
fn what_the_file_says() {
    let mut script = at_first_check();
    script.press("a g <enter> e");
    shot("walk-file-says", &mut script);
}

#[test]
fn words_are_asked_for() {
    let mut script = at_first_check();
    script.press("a r").text("polished patch at the tab");
    shot("note", &mut script);
}

#[test]
fn stations_and_checks() {
    let mut script = at_first_check();
    script.press("a g <enter> j");
    shot("jump", &mut script);
    script.text("hose");
    shot("jump-typed", &mut script);
}

#[test]
fn open_items() {
    let mut script = at_first_check();
    script.press("a r <enter> <right> r <enter> o");
    shot("open-items", &mut script);
}

#[test]
fn numbers() {
    let mut script = at_first_check();
    script.press("m");
    shot("numbers", &mut script);
    script.press("<enter>");
    shot("number-open", &mut script);
    script.press("n");
    shot("measure-next", &mut script);
    script.press("s");
    assert!(script.shows("Saved: cars/finch/measure-next-2026-10-31-0840.txt"));
    script.press("<esc>");
    assert!(script.shows("discharge"));
}

#[test]
fn the_report() {
    let mut script = at_first_check();
    script.press("a r <enter> p");
    shot("report", &mut script);
    script.press("s");
    assert!(script.shows("Saved: cars/finch/deficiencies-2026-10-31-0840.txt"));
}

#[test]
fn a_pressure_hold() {
    let mut script = small();
    script
        .text("318")
        .press("<enter> 2 <enter> a j")
        .text("both circuits")
        .press("<enter> h <enter>")
        .text("70");
    shot("hold-asks", &mut script);
    script.press("<enter>").text("1200").press("<enter>");
    let clock = script.app.workspace().clock.clone();
    clock.set(clock.get() + chrono::TimeDelta::seconds(312));
    assert!(script.app.is_ticking());
    script.app.tick();
    shot("hold-runs", &mut script);
}

#[test]
fn the_end_of_a_walk() {
    let mut script = at_first_check();
    script.press("a r <enter> s x");
    shot("end", &mut script);
    script.press("<enter>").text("313").press("<enter>");
    shot("end-wrong-car", &mut script);
    script.press("<esc> <enter>").text("318").press("<enter> <enter>");
    shot("ended", &mut script);
}

#[test]
fn help_and_a_wrong_key() {
    let mut script = at_first_check();
    script.press("z");
    shot("wrong-key", &mut script);
    script.press("?");
    shot("help", &mut script);
}

#[test]
fn text_from_files_cannot_move_the_cursor() {
    let car = "format = 1\n[car]\nid = \"evil\"\nnumber = \"6\"\nname = \"\\u001b[2Jgone\"\nkeeper = \"\\u202eback\"\n";
    let mut script = Script::new(TestWorkspace::new(TestWorkspace::small().rules, &[car]));
    for keys in ["", "<enter>", "<enter>", "<enter>"] {
        script.press(keys);
        let screen = script.screen(120, 40);
        assert!(!screen.contains(['\u{1b}', '\u{202e}']), "{screen}");
    }
}

#[test]
fn a_window_too_small_says_so_down_to_one_cell() {
    let mut script = at_first_check();
    assert!(script.screen(59, 20).contains("Too small: 59x20, needs 60x20. Nothing is lost."));
    for width in 1..70 {
        for height in [1, 2, 3, 19, 20] {
            script.screen(width, height);
        }
    }
}

//! The program killed at random moments of a walk, again and again: nothing that its screen showed as kept is
//! missing, the log verifies, and the walk goes on at the right check.
//!
//! `LINEWALK_KILLS` and `LINEWALK_MINUTES` say how often and how long at least, `LINEWALK_BIN` which program:
//!
//! ```text
//! LINEWALK_KILLS=1000 LINEWALK_MINUTES=30 LINEWALK_BIN=target/release/linewalk \
//!     cargo test --test it soak:: -- --ignored --nocapture
//! ```
#![cfg(unix)]

use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, Instant};

use linewalk::logbook::problem::{Fault, Problem};
use linewalk::logbook::reader::read_car;
use linewalk::logbook::verify::verify;
use linewalk::model::entry::Entry;
use linewalk::rules::built_in;
use linewalk::shell::disk::DiskStorage;
use portable_pty::CommandBuilder;
use rustix::process::{Pid, Signal, kill_process};

use crate::pty::{Screen, at_home};

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// Numbers that look random (xorshift); printed at the start, so that a run can be done again.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % most
    }
}

fn open(folder: &Path) -> Screen {
    let program = std::env::var("LINEWALK_BIN").unwrap_or(env!("CARGO_BIN_EXE_linewalk").to_owned());
    let program = std::fs::canonicalize(program).unwrap();
    let mut command = CommandBuilder::new(program);
    command.args(["walk", "sample-cars/minimal.toml", "--profile", "scales-short", "--by", "R.N."]);
    at_home(&mut command, folder);
    Screen::run(command, 24, 80)
}

/// How many checks the screen says are answered.
fn answered(screen: &vt100::Screen) -> Option<usize> {
    let text = screen.contents();
    let top = text.lines().next()?;
    let (before, _) = top.split_once(" of ")?;
    before.rsplit(' ').next()?.parse().ok()
}

/// The check on the screen, by its title.
fn shown(screen: &vt100::Screen, titles: &[String]) -> Option<String> {
    let text = screen.contents();
    let mut wishes = text.lines().filter_map(|line| line.strip_prefix("Want")).map(str::trim);
    wishes.find_map(|line| titles.iter().find(|title| line.starts_with(title.as_str())).cloned())
}

/// Ends the program at once, as a power cut does.
pub fn kill(screen: &mut Screen) {
    let pid = i32::try_from(screen.child.process_id().unwrap()).unwrap();
    // It may have ended by itself, which the checks afterwards would show.
    let _ = kill_process(Pid::from_raw(pid).unwrap(), Signal::KILL);
    screen.ends();
}

#[derive(Default)]
struct Soak {
    titles: Vec<String>,
    /// The check that is asked when so many are answered.
    order: BTreeMap<usize, String>,
    /// Keys that answer a check, where `a` does not.
    keys: BTreeMap<String, &'static str>,
    /// Ids on disk after the kill before.
    ids: Vec<String>,
    kills: u64,
    answers: u64,
    torn: u64,
    behind: u64,
    confirmed: u64,
}

impl Soak {
    /// Answers the check on the screen; gives the count after it.
    fn answer(&mut self, screen: &mut Screen, done: usize) -> usize {
        let title = self.expect_place(screen, done);
        let key = self.keys.get(&title).copied().unwrap_or("a");
        screen.press(key);
        screen.wait_until("one more answer", |shown| answered(shown) == Some(done + 1));
        self.answers += 1;
        done + 1
    }

    /// The walk asks the check that belongs after so many answers.
    fn expect_place(&mut self, screen: &mut Screen, done: usize) -> String {
        let titles = self.titles.clone();
        screen.wait_until(&format!("a check after {done} answers"), |screen| {
            answered(screen) == Some(done) && shown(screen, &titles).is_some()
        });
        let title = shown(screen.parser.screen(), &titles).unwrap();
        let known = self.order.entry(done).or_insert_with(|| title.clone());
        assert_eq!(*known, title, "after {done} answers");
        title
    }

    /// What is on disk, against what the screen had shown: gives how many answers there are.
    fn expect_kept(&mut self, folder: &Path, acknowledged: usize) -> usize {
        let car = folder.join("data/cars/minimal");
        if !car.is_dir() {
            assert_eq!(acknowledged, 0);
            return 0;
        }
        let storage = DiskStorage::at(car);
        let verdict = verify(&storage).unwrap();
        let one =
            |problem: &&Problem| matches!(problem.fault, Fault::Unconfirmed { from, to, .. } if from == to);
        let behind = verdict.problems.iter().filter(one).count();
        self.behind += behind as u64;
        let torn =
            verdict.problems.iter().filter(|problem| matches!(problem.fault, Fault::Torn { .. })).count();
        assert!(verdict.problems.len() == torn + behind && torn <= 1 && behind <= 1, "{}", verdict.text());
        self.torn += torn as u64;
        let kept = read_car(&storage).unwrap().kept;
        let ids: Vec<String> = kept.iter().map(|kept| kept.id.clone()).collect();
        assert!(ids.starts_with(&self.ids), "what was on disk is on disk");
        self.ids = ids;
        let found = kept.iter().filter(|kept| matches!(kept.entry, Entry::Finding(_))).count();
        assert!(found >= acknowledged, "{acknowledged} answers were shown as kept, {found} are");
        assert!(found <= acknowledged + 1, "{acknowledged} answers were given, {found} are kept");
        found
    }

    /// One run of the program, killed; gives how many answers are kept afterwards.
    fn round(&mut self, dice: &mut Dice, folder: &Path, done: usize, total: usize) -> usize {
        self.kills += 1;
        let mut screen = open(folder);
        if dice.below(8) == 0 {
            std::thread::sleep(Duration::from_micros(dice.below(300_000)));
            kill(&mut screen);
            return self.expect_kept(folder, done);
        }
        let at_start = |text: &str| text.contains("Enter walk") || text.contains("Enter resume");
        let asks = |text: &str| text.contains("was cut off while it kept");
        screen.wait_until("the start", |screen| at_start(&screen.contents()) || asks(&screen.contents()));
        if asks(&screen.parser.screen().contents()) {
            // Kept, and cut off before the head was written: it counts once it is confirmed.
            self.confirmed += 1;
            screen.press("\r");
            screen
                .wait_until("the start", |screen| at_start(&screen.contents()) && !asks(&screen.contents()));
        }
        screen.press("\r");
        let mut acknowledged = done;
        for _ in 0..dice.below(4) {
            if acknowledged + 2 < total {
                acknowledged = self.answer(&mut screen, acknowledged);
            }
        }
        let title = self.expect_place(&mut screen, acknowledged);
        // One more answer, and the end at a moment that is anywhere before, in or after keeping it.
        screen.press(self.keys.get(&title).copied().unwrap_or("a"));
        std::thread::sleep(Duration::from_micros(dice.below(25_000)));
        kill(&mut screen);
        let shown = answered(screen.parser.screen()).unwrap_or(acknowledged);
        self.expect_kept(folder, acknowledged.max(shown))
    }

    /// Walks once to the end of the lap to learn which key answers which check; gives how many checks there are.
    fn learn(&mut self) -> usize {
        let folder = tempfile::tempdir().unwrap();
        let mut screen = open(folder.path());
        screen.wait_for("Enter walk");
        screen.press("\r");
        let mut done = 0;
        loop {
            screen.wait_until("the walk", |screen| answered(screen) == Some(done));
            let top = screen.parser.screen().contents();
            let total: usize = top.split(" of ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
            let title = self.expect_place(&mut screen, done);
            for key in ["a", "\u{1b}s", "\u{1b}f"] {
                screen.press(key);
                if screen.shows_soon(|screen| answered(screen) == Some(done + 1)) {
                    self.keys.insert(title, key);
                    break;
                }
            }
            done += 1;
            if done + 1 == total {
                kill(&mut screen);
                return total;
            }
        }
    }
}

#[test]
#[ignore = "takes minutes; run by .ci/end-to-end with 50 kills"]
fn killed_at_random_moments() {
    let (kills, minutes) = (number("LINEWALK_KILLS", 50), number("LINEWALK_MINUTES", 0));
    let seed = number("LINEWALK_DICE", 0x2545_f491_4f6c_dd1d ^ u64::from(std::process::id())).max(1);
    let started = Instant::now();
    let base = built_in("base").unwrap();
    let loaded = linewalk::rules::load(&[base], &|id, _| built_in(id));
    let titles = loaded.rules.checks.iter().map(|check| check.title.chars().take(40).collect()).collect();
    let mut soak = Soak { titles, ..Soak::default() };
    let mut dice = Dice(seed);
    let total = soak.learn();
    println!("{total} checks; LINEWALK_DICE={seed}");
    let mut folder = tempfile::tempdir().unwrap();
    let mut done = 0;
    while soak.kills < kills || started.elapsed() < Duration::from_secs(60 * minutes) {
        done = soak.round(&mut dice, folder.path(), done, total);
        if done + 2 >= total {
            (folder, done) = (tempfile::tempdir().unwrap(), 0);
            soak.ids.clear();
        }
        if soak.kills.is_multiple_of(100) {
            println!("{} kills, {:?}", soak.kills, started.elapsed());
        }
    }
    println!(
        "{} kills, {} answers waited for, {} torn ends, {} heads one behind, {} confirmed, none lost, in {:?}",
        soak.kills,
        soak.answers,
        soak.torn,
        soak.behind,
        soak.confirmed,
        started.elapsed()
    );
}

//! Files, folders and disks that fail or lie: each is said in words, nothing hangs, nothing is lost.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// A data folder with one walk from paper kept in it.
struct Place {
    folder: TempDir,
}

impl Place {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn kept() -> Self {
        let place = Self::new();
        let out = place.walk();
        assert!(out.status.code().unwrap() < 2, "{}", words(&out));
        place
    }

    fn path(&self, inside: &str) -> PathBuf {
        self.folder.path().join(inside)
    }

    fn car(&self) -> PathBuf {
        self.path("data/cars/minimal")
    }

    /// The log, of the one writer there is.
    fn log(&self) -> PathBuf {
        let all = fs::read_dir(self.car()).unwrap().map(|entry| entry.unwrap().path());
        all.into_iter().find(|path| path.extension().is_some_and(|ending| ending == "jsonl")).unwrap()
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
        command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).stdin(Stdio::null());
        command.env("LINEWALK_DATA_DIR", self.path("data")).env("XDG_CONFIG_HOME", self.path("config"));
        command
    }

    /// Runs a command; none may take long, whatever it is given.
    fn run(&self, arguments: &[&str]) -> Output {
        self.within(Duration::from_secs(30), arguments)
    }

    fn within(&self, most: Duration, arguments: &[&str]) -> Output {
        let mut command = self.command(arguments);
        let started = Instant::now();
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // Nobody reads meanwhile: what these commands say fits into a pipe.
        while child.try_wait().unwrap().is_none() {
            if started.elapsed() > most {
                child.kill().unwrap();
                panic!("{arguments:?} hangs");
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        child.wait_with_output().unwrap()
    }

    fn answers(&self) -> PathBuf {
        let path = self.path("answers.toml");
        let text = "format = 1\ncar = \"minimal\"\nby = \"R.N.\"\nprofile = \"scales-short\"\n\
                    [[answer]]\ncheck = \"pins-in-before-hands-in\"\nresult = \"accept\"\n";
        fs::write(&path, text).unwrap();
        path
    }

    fn walk(&self) -> Output {
        let answers = self.answers();
        self.run(&["walk", "sample-cars/minimal.toml", "--answers", answers.to_str().unwrap(), "--again"])
    }

    /// Every command that reads the car.
    fn read_all(&self) -> Vec<Output> {
        let all: [&[&str]; 6] = [
            &["log", "verify", "minimal"],
            &["log", "show", "minimal"],
            &["log", "export", "minimal", "--format", "json"],
            &["report", "sample-cars/minimal.toml"],
            &["numbers", "sample-cars/minimal.toml"],
            &["log", "merge", "minimal", "/nonexistent"],
        ];
        all.iter().map(|arguments| self.run(arguments)).collect()
    }
}

fn words(out: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr))
}

fn expect(out: &Output, status: i32, text: &str) {
    assert_eq!(out.status.code(), Some(status), "{}", words(out));
    assert!(words(out).contains(text), "{text} is not in: {}", words(out));
}

#[test]
fn a_log_of_three_gigabytes_of_nothing() {
    let place = Place::kept();
    let own = place.log();
    let file = place.car().join("other.jsonl");
    fs::File::create(&file).unwrap().set_len(3 << 30).unwrap();
    let started = Instant::now();
    expect(&place.run(&["log", "verify", "minimal"]), 1, "the rest is not read");
    assert!(started.elapsed() < Duration::from_secs(5), "{:?}", started.elapsed());
    // In the place of the machine's own log: it stays as it is, and another is begun beside it.
    fs::rename(&file, &own).unwrap();
    let out = place.walk();
    assert!(out.status.code().unwrap() < 2 && words(&out).contains("begun beside it"), "{}", words(&out));
    assert_eq!(fs::metadata(&own).unwrap().len(), 3 << 30);
    // And a head of that size.
    fs::File::create(own.with_extension("head")).unwrap().set_len(3 << 30).unwrap();
    expect(&place.run(&["log", "verify", "minimal"]), 1, "this is no head");
}

#[test]
fn a_log_of_a_newer_format_is_left_alone() {
    let place = Place::kept();
    let log = place.log();
    let newer = fs::read_to_string(&log).unwrap().replace("\"format\":2", "\"format\":3");
    fs::write(&log, &newer).unwrap();
    expect(&place.run(&["log", "verify", "minimal"]), 1, "written by a newer program, or changed");
    let out = place.walk();
    assert!(words(&out).contains("begun beside it"), "{}", words(&out));
    assert_eq!(fs::read_to_string(&log).unwrap(), newer);
}

#[test]
fn devices_and_pipes_in_the_place_of_files() {
    let place = Place::kept();
    let pipe = place.path("pipe.toml");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let pipe = pipe.to_str().unwrap();
    expect(&place.run(&["numbers", pipe]), 2, "pipe.toml");
    expect(&place.run(&["numbers", "/dev/zero"]), 2, "/dev/zero");
    expect(&place.run(&["rules", "check", pipe]), 2, "pipe.toml");
    expect(&place.run(&["walk", "minimal", "--answers", pipe]), 2, "this is not a file");
    expect(&place.run(&["walk", "minimal", "--answers", "/dev/zero"]), 2, "this is not a file");
    expect(&place.run(&["walk", "minimal", "--answers", "/"]), 2, "is a folder");
    // As a log, a head, a note of where the car file is, and the settings.
    symlink("/dev/zero", place.car().join("zero.jsonl")).unwrap();
    expect(&place.run(&["log", "verify", "minimal"]), 2, "this is not a file");
    fs::remove_file(place.car().join("zero.jsonl")).unwrap();
    symlink("/dev/zero", place.car().join("zero.head")).unwrap();
    expect(&place.run(&["log", "verify", "minimal"]), 2, "this is not a file");
    fs::remove_file(place.car().join("zero.head")).unwrap();
    symlink("/dev/zero", place.path("config/linewalk/config.toml")).unwrap();
    expect(&place.run(&["numbers", "sample-cars/minimal.toml"]), 2, "this is not a file");
}

#[test]
fn rings_of_symbolic_links() {
    let place = Place::kept();
    for name in ["ring.toml", "ring.jsonl"] {
        symlink(name, place.car().join(name)).unwrap();
    }
    symlink(".", place.path("data/cars/round")).unwrap();
    let ring = place.car().join("ring.toml");
    expect(&place.run(&["numbers", ring.to_str().unwrap()]), 2, "ring.toml");
    for out in place.read_all() {
        assert!(out.status.code().is_some(), "{}", words(&out));
    }
}

/// Nothing is written through a symbolic link inside the data folder, and reading through one is said.
#[test]
fn symbolic_links_in_the_data_folder() {
    let outside = tempfile::tempdir().unwrap();
    let untouched = || assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 0);
    // The folder of the car.
    let place = Place::new();
    fs::create_dir_all(place.path("data/cars")).unwrap();
    symlink(outside.path(), place.car()).unwrap();
    expect(&place.walk(), 2, "is a symbolic link to");
    untouched();
    // The folder of all cars.
    let place = Place::new();
    fs::create_dir_all(place.path("data")).unwrap();
    symlink(outside.path(), place.path("data/cars")).unwrap();
    expect(&place.walk(), 2, "is a symbolic link to");
    untouched();
    // The log, its lock, and the folder of photos.
    let place = Place::kept();
    let log = place.log();
    let away = place.path("away.jsonl");
    fs::rename(&log, &away).unwrap();
    symlink(&away, &log).unwrap();
    let before = fs::read(&away).unwrap();
    expect(&place.walk(), 2, "is a symbolic link to");
    assert_eq!(fs::read(&away).unwrap(), before);
    expect(&place.run(&["log", "verify", "minimal"]), 0, "is a symbolic link to");
    let place = Place::kept();
    let lock = place.log().with_extension("lock");
    fs::remove_file(&lock).unwrap();
    symlink(outside.path().join("made"), &lock).unwrap();
    expect(&place.walk(), 2, "is a symbolic link to");
    untouched();
    // The data folder itself may be one: that is how it is moved to another disk.
    let place = Place::new();
    symlink(outside.path(), place.path("data")).unwrap();
    assert!(place.walk().status.code().unwrap() < 2);
    assert!(outside.path().join("cars/minimal").is_dir());
}

#[test]
fn a_photo_stays_in_the_folder_of_its_answers() {
    let place = Place::kept();
    fs::write(place.path("secret"), "of another person").unwrap();
    fs::create_dir(place.path("sheet")).unwrap();
    symlink(place.path("secret"), place.path("sheet/link.jpg")).unwrap();
    let absolute = place.path("secret");
    for photo in ["../secret", "sub/../../secret", absolute.to_str().unwrap(), "link.jpg"] {
        let text = format!(
            "format = 1\nby = \"R.N.\"\nprofile = \"scales-short\"\n[[answer]]\n\
             check = \"pins-in-before-hands-in\"\nresult = \"reject\"\nphoto = \"{photo}\"\n"
        );
        let sheet = place.path("sheet/answers.toml");
        fs::write(&sheet, text).unwrap();
        let out = place.run(&["walk", "minimal", "--answers", sheet.to_str().unwrap(), "--again"]);
        assert_eq!(out.status.code(), Some(2), "{photo}: {}", words(&out));
        assert!(!place.car().join("photos").exists(), "{photo}");
    }
}

#[test]
fn ids_that_are_paths() {
    let place = Place::kept();
    for id in ["../minimal", "..", ".", "/etc", "a/b", "a\\b", ""] {
        let out = place.run(&["log", "show", id]);
        assert_eq!(out.status.code(), Some(2), "{id}: {}", words(&out));
        let car = place.path("odd.toml");
        fs::write(&car, format!("format = 1\n[car]\nid = '{id}'\nnumber = \"1\"\n")).unwrap();
        assert_eq!(place.run(&["numbers", car.to_str().unwrap()]).status.code(), Some(2), "{id}");
        let rules = place.path("odd-rules.toml");
        let text = format!(
            "format = 1\n[ruleset]\nid = \"odd\"\ntitle = \"t\"\nedition = \"1\"\nreviewed = 2026-01-01\n\
             review_every = \"1 year\"\nextends = ['{id}']\n"
        );
        fs::write(&rules, text).unwrap();
        let out = place.run(&["rules", "check", rules.to_str().unwrap()]);
        assert_eq!(out.status.code(), Some(1), "{id}: {}", words(&out));
    }
}

/// Two rule files that extend each other under names that are not their ids.
#[test]
fn rule_files_in_a_ring() {
    let place = Place::new();
    for (name, id, parent) in [("a", "x", "b"), ("b", "y", "a")] {
        let text = format!(
            "format = 1\n[ruleset]\nid = \"{id}\"\ntitle = \"t\"\nedition = \"1\"\nreviewed = 2026-01-01\n\
             review_every = \"1 year\"\nextends = [\"{parent}\"]\n"
        );
        fs::write(place.path(&format!("{name}.toml")), text).unwrap();
    }
    expect(&place.run(&["rules", "check", place.path("a.toml").to_str().unwrap()]), 1, "extends itself");
}

#[test]
fn what_o_names_is_replaced_in_one_step_and_nothing_else_is() {
    let place = Place::kept();
    let report = |to: &Path| {
        place.run(&["report", "sample-cars/minimal.toml", "-o", to.to_str().unwrap()]).status.code()
    };
    let file = place.path("out.txt");
    fs::write(&file, "old").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    let before = fs::metadata(&file).unwrap();
    assert!(report(&file) < Some(2));
    let after = fs::metadata(&file).unwrap();
    assert_eq!(after.permissions().mode() & 0o777, 0o640, "permissions stay");
    assert_ne!(after.ino(), before.ino(), "it was replaced and not written over");
    assert!(after.len() > 100);
    // Through a link the file it leads to is replaced; the link stays.
    symlink(&file, place.path("link.txt")).unwrap();
    fs::write(&file, "old").unwrap();
    assert!(report(&place.path("link.txt")) < Some(2));
    assert!(fs::symlink_metadata(place.path("link.txt")).unwrap().is_symlink());
    assert!(fs::metadata(&file).unwrap().len() > 100);
    // A device is written to and stays one.
    assert!(report(Path::new("/dev/null")) < Some(2));
    assert!(!fs::metadata("/dev/null").unwrap().is_file());
    // A full device and a folder: said.
    expect(&place.run(&["report", "sample-cars/minimal.toml", "-o", "/dev/full"]), 2, "make room");
    expect(&place.run(&["report", "sample-cars/minimal.toml", "-o", "/"]), 2, "is a folder");
    let mut names: Vec<_> = fs::read_dir(place.folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, ["answers.toml", "config", "data", "link.txt", "out.txt"], "nothing else was left");
}

/// What a replacement cut short by a crash left behind is cleared away by its own writer.
#[test]
fn leftovers_are_cleared_away() {
    let place = Place::kept();
    let log = place.log();
    let writer = log.file_stem().unwrap().to_str().unwrap();
    let own = place.car().join(format!(".{writer}.head.0190.tmp"));
    let other = place.car().join(".somebody.head.0190.tmp");
    fs::write(&own, "half").unwrap();
    fs::write(&other, "half").unwrap();
    assert!(place.walk().status.code().unwrap() < 2);
    assert!(!own.exists() && other.exists());
    expect(&place.run(&["log", "verify", "minimal"]), 0, "The log verifies");
}

/// Files under a megabyte that are made to take long: each is refused, or worked out, in a time that is bounded.
/// Those over a megabyte are refused unread.
#[test]
fn files_that_are_made_to_take_long() {
    let place = Place::new();
    let car = "format = 1\n[car]\nid = \"x\"\nnumber = \"1\"\n";
    let rules = "format = 1\n[ruleset]\nid = \"h\"\ntitle = \"t\"\nedition = \"1\"\nreviewed = 2026-01-01\n\
                 review_every = \"1 year\"\n";
    let many = |count: usize, one: &dyn Fn(usize) -> String| -> String { (0..count).map(one).collect() };
    let nested =
        |count: usize, open: &str, close: &str| format!("{}1{}", open.repeat(count), close.repeat(count));
    let cars = [
        ("nested tables", format!("{car}a = {}", nested(50_000, "{a=", "}"))),
        ("nested arrays", format!("{car}a = {}", nested(100_000, "[", "]"))),
        ("a long path of keys", format!("{car}{}a = 1", "a.".repeat(60_000))),
        ("a long header", format!("{car}[{}a]", "a.".repeat(60_000))),
        ("a long key", format!("{car}{} = 1", "k".repeat(900_000))),
        ("a long text", format!("{car}name = \"{}\"", "n".repeat(900_000))),
        ("a long number", format!("{car}mass = \"{} lb\"", "9".repeat(900_000))),
        ("many keys", format!("{car}{}", many(20_000, &|at| format!("k{at} = 1\n")))),
        ("one key again and again", format!("{car}{}", "name = \"a\"\n".repeat(20_000))),
        ("no TOML at all", format!("{car}{}", "= = =\n".repeat(20_000))),
        ("open quotes", format!("{car}{}", "\n\"".repeat(40_000))),
        (
            "a number past all bounds",
            format!("{car}engine_rpm = {{ low = 1e999999999, high = {} }}", "9".repeat(5000)),
        ),
        ("a long path", format!("{car}[[brakes.line]]\nid=\"a\"\npath=[{}]", "[1,2,3],".repeat(30_000))),
        (
            "many bends",
            format!(
                "{car}[[suppression.pull]]\nid=\"p\"\nbends=[{}]",
                "{angle=\"90 deg\",radius=\"5 in\"},".repeat(20_000)
            ),
        ),
        ("nothing but zeros", "\0".repeat(200_000)),
        ("over a megabyte", "#".repeat(1_100_000)),
    ];
    for (what, text) in cars {
        let file = place.path("car.toml");
        fs::write(&file, text).unwrap();
        let out = place.within(Duration::from_secs(60), &["numbers", file.to_str().unwrap()]);
        assert_eq!(out.status.code(), Some(2), "{what}");
        assert!(out.stderr.len() < 65_536, "{what}: {} bytes of mistakes", out.stderr.len());
    }
    let parents = many(20_000, &|at| format!("\"x{at}\","));
    for (what, text) in [
        ("empty checks", format!("{rules}{}", "[[check]]\n".repeat(20_000))),
        ("many parents", format!("{rules}extends = [{parents}]\n")),
        ("one parent again and again", format!("{rules}extends = [{}]\n", "\"base\",".repeat(90_000))),
    ] {
        let file = place.path("rules.toml");
        fs::write(&file, text).unwrap();
        let out = place.within(Duration::from_secs(60), &["rules", "check", file.to_str().unwrap()]);
        assert_eq!(out.status.code(), Some(1), "{what}");
    }
}

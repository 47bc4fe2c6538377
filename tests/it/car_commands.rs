//! `linewalk car`: a car file changed, shown and put back without a terminal.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

struct Rig(tempfile::TempDir);

impl Rig {
    /// The heron, brought into a data folder of its own.
    fn with_heron() -> Self {
        let rig = Self(tempfile::tempdir().unwrap());
        let (status, said) = rig.run(&["car", "adopt", "sample-cars/heron.toml"], "");
        assert_eq!(status, 0, "{said}");
        rig
    }

    /// A command's status, and what it printed on both streams.
    fn run(&self, arguments: &[&str], input: &str) -> (i32, String) {
        let (status, error, said) = self.streams(arguments, input);
        (status, error + &said)
    }

    fn json(&self, arguments: &[&str]) -> Value {
        serde_json::from_str(&self.streams(arguments, "").2).unwrap()
    }

    /// The status, and what went to standard error and to standard output.
    fn streams(&self, arguments: &[&str], input: &str) -> (i32, String, String) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
        command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR"));
        command.env("LINEWALK_DATA_DIR", self.0.path().join("data"));
        command.env("XDG_CONFIG_HOME", self.0.path().join("config"));
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // A command that reads nothing may have closed its input by now.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let output = child.wait_with_output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (output.status.code().unwrap(), text(output.stderr), text(output.stdout))
    }

    fn done(&self, arguments: &[&str]) -> String {
        let (status, said) = self.run(arguments, "");
        assert_eq!(status, 0, "{arguments:?}: {said}");
        said
    }

    fn file(&self) -> String {
        fs::read_to_string(self.0.path().join("data/cars/heron/car.toml")).unwrap()
    }

    fn refused(&self, arguments: &[&str], said: &[&str]) {
        let before = self.file();
        let (status, text) = self.run(arguments, "");
        assert_eq!(status, 2, "{arguments:?}: {text}");
        said.iter().for_each(|word| assert!(text.contains(word), "{word}: {text}"));
        assert_eq!(self.file(), before);
    }
}

fn heron() -> String {
    fs::read_to_string("sample-cars/heron.toml").unwrap()
}

#[test]
fn values_are_set_all_or_none_and_every_edition_is_kept_and_named() {
    let rig = Rig::with_heron();
    let said = rig.done(&["car", "set", "62", "brakes.hose.lf-hose.length=13 1/2 in", "--by", "R.N."]);
    assert!(said.contains("brakes.hose.lf-hose.length: 13 5/8 in -> 13 1/2 in"), "{said}");
    let wanted = heron().replacen("length = \"13 5/8 in\"", "length = \"13 1/2 in\"", 1);
    assert_eq!(rig.file(), wanted);

    // One wrong value of two: neither is written.
    let both = ["car", "set", "heron", "car.mass=1600 lb", "brakes.hose.lf-hose.length=13 furlongs"];
    rig.refused(&both, &["furlongs", "^", "nothing was written"]);
    rig.refused(&["car", "set", "heron", "nonsense"], &["this sets nothing", "^"]);
    rig.refused(&["car", "set", "heron", "car.mas=1 lb"], &["did you mean mass?"]);

    // The same by a script, from standard input.
    let lines = "# from the shop\n\ncar.mass = 1600 lb\nbrakes.wheel_brake.pad_gap=\"0.006 in\"\n";
    let (status, said) = rig.run(&["car", "set", "heron", "--from", "-"], lines);
    assert_eq!((status, said.matches("0.005 in -> 0.006 in").count()), (0, 4), "{said}");
    let (status, said) = rig.run(&["car", "set", "heron", "--from", "-"], "car.mass = 1600 lb\nwhat\n");
    assert!(status == 2 && said.contains("-:2:1"), "{said}");

    let editions = rig.done(&["car", "editions", "heron"]);
    assert_eq!((editions.lines().count(), editions.matches("in use").count()), (3, 1), "{editions}");
    assert!(editions.contains("R.N."), "{editions}");
    let log = rig.done(&["log", "show", "heron"]);
    assert!(log.contains("13 5/8 in -> 13 1/2 in"), "{log}");
    let (status, said) = rig.run(&["car", "diff", "heron"], "");
    assert!(status == 1 && said.contains("car.mass: 1540 lb -> 1600 lb"), "{said}");

    // The first edition comes back byte for byte, as a new one.
    let first = editions.split_whitespace().next().unwrap();
    rig.done(&["car", "restore", "heron", first]);
    assert_eq!(rig.file(), heron());
    assert!(rig.done(&["log", "verify", "heron"]).contains("The log verifies"));
    rig.refused(&["car", "restore", "heron", "ffffffff"], &["there is no edition ffffffff", first]);
}

#[test]
fn nothing_is_written_where_only_asked_what_would_change() {
    let rig = Rig::with_heron();
    let records = rig.done(&["log", "show", "heron"]);
    let said = rig.done(&["car", "set", "heron", "car.mass=1600 lb", "--dry"]);
    assert!(said.contains("1540 lb -> 1600 lb") && said.contains("nothing was written"), "{said}");
    let said = rig.done(&["car", "set", "heron", "car.mass=1540 lb"]);
    assert!(said.contains("nothing changes"), "{said}");
    assert_eq!((rig.file(), rig.done(&["log", "show", "heron"])), (heron(), records));
}

#[test]
fn parts_come_go_and_change_their_ids() {
    let rig = Rig::with_heron();
    let nozzle = ["car", "add", "heron", "nozzle", "--id", "cabin", "orifice=0.078 in", "aim=[-1, 0, 0]"];
    rig.refused(&nozzle, &["nothing feeds the nozzle cabin", "add a line"]);
    rig.done(&[&nozzle[..], &["--from", "t2"]].concat());
    // Parts that need each other come in one script.
    let script = "add tee t9\nadd line spare from=join to=t9\nadd line spare-2 from=t9 to=spare-end\nadd nozzle spare-end\n\
                  suppression.line.spare.length = 16 in\n";
    assert_eq!(rig.run(&["car", "set", "heron", "--from", "-"], script).0, 0);
    let back = "takeout spare\ntakeout spare-2\ntakeout t9\ntakeout spare-end\n";
    assert_eq!(rig.run(&["car", "set", "heron", "--from", "-"], back).0, 0);
    rig.done(&["car", "rename", "heron", "main", "long-run"]);
    assert_eq!(rig.file().matches("\"long-run\"").count(), 3);
    rig.refused(&["car", "takeout", "heron", "t1"], &["still named by", "suppression.line.long-run.to"]);
    rig.refused(&["car", "add", "heron", "line", "--id", "x"], &["brakes.line or suppression.line"]);
    let shown = rig.done(&["car", "show", "heron", "cabin"]);
    assert!(shown.contains("suppression.nozzle.cabin.orifice") && !shown.contains("lf-hose"), "{shown}");
}

#[test]
fn an_id_that_answers_speak_of_stays() {
    let rig = Rig::with_heron();
    let sheet = rig.0.path().join("answers.toml");
    let answers = "format = 1\nprofile = \"scales\"\nby = \"R.N.\"\n[[answer]]\ncheck = \"tl-bottle-bands-steel\"\nof = \"b1\"\nresult = \"reject\"\nnote = \"no tag\"\n";
    fs::write(&sheet, answers).unwrap();
    let (status, said) = rig.run(&["walk", "heron", "--answers", sheet.to_str().unwrap()], "");
    assert!(status < 2, "{said}");
    rig.refused(&["car", "rename", "heron", "b1", "left-bottle"], &["answers in the record are about b1"]);
}

#[test]
fn what_the_file_holds_and_lacks_is_said_in_text_and_json() {
    let rig = Rig::with_heron();
    let shown = rig.json(&["car", "show", "heron", "lf-hose", "--format", "json"]);
    let mut length = shown["values"].as_array().unwrap().iter();
    let length = length.find(|value| value["key"] == "brakes.hose.lf-hose.length").unwrap();
    // 13 5/8 in by hand: 13.625 x 0.0254 m.
    assert_eq!((length["text"].as_str(), length["unit"].as_str()), (Some("13 5/8 in"), Some("m")));
    assert!((length["si"].as_f64().unwrap() - 0.346075).abs() < 1e-12);

    rig.done(&["car", "unset", "heron", "suppression.bottle.b1.volume"]);
    let missing = rig.json(&["car", "missing", "heron", "--format", "json"]);
    let first = &missing["missing"][0];
    assert_eq!(first["key"], "suppression.bottle.b1.volume");
    let numbers = rig.json(&["numbers", "heron", "--format", "json"]);
    let lack = numbers["refused"].as_array().unwrap().iter().filter(|refused| {
        refused["needs"].as_array().unwrap().iter().any(|need| {
            need == "suppression.bottle.b1.volume"
                || need == "suppression.bottle.volume" && refused["of"] == "b1"
        })
    });
    assert_eq!(first["numbers"].as_array().unwrap().len(), lack.count());
    assert!(rig.done(&["car", "check", "heron"]).contains("no mistake"));
}

#[test]
fn a_file_outside_the_data_folder_is_changed_only_by_its_path() {
    let rig = Rig::with_heron();
    let outside = rig.0.path().join("other.toml");
    let text =
        heron().replace("id = \"heron\"", "id = \"egret\"").replace("number = \"62\"", "number = \"63\"");
    fs::write(&outside, &text).unwrap();
    let path = outside.to_str().unwrap();
    rig.done(&["car", "set", path, "car.mass=1600 lb"]);
    let changed = text.replace("1540 lb", "1600 lb");
    assert_eq!(fs::read_to_string(&outside).unwrap(), changed);
    let (status, said) = rig.run(&["car", "set", "egret", "car.mass=1700 lb"], "");
    assert!(status == 2 && said.contains("outside the data folder"), "{said}");
    assert_eq!(fs::read_to_string(&outside).unwrap(), changed);
    // One that is no TOML, or that may not be written, is left as it is.
    fs::write(&outside, "format = 1\n[car]\nid = \"egret\"\nnumber = \"63\"\nmass = 1 lb\n").unwrap();
    let (status, said) = rig.run(&["car", "set", path, "car.mass=1600 lb"], "");
    assert!(status == 2 && said.contains("other.toml:5:"), "{said}");
}

#[test]
fn two_editors_at_once_lose_nothing_unsaid() {
    let rig = Rig::with_heron();
    let keys: Vec<String> =
        ["lf-hose", "rf-hose", "axle-hose"].map(|id| format!("brakes.hose.{id}.bore")).into();
    let at = |turn: usize| format!("0.{} in", 125 + turn);
    std::thread::scope(|scope| {
        for key in &keys {
            let rig = &rig;
            scope.spawn(move || {
                for turn in 1..=6 {
                    // Who comes too early is told so, and comes again.
                    while rig.run(&["car", "set", "heron", &format!("{key}={}", at(turn))], "").0 != 0 {}
                }
            });
        }
    });
    let shown = rig.done(&["car", "show", "heron"]);
    for key in &keys {
        let line = shown.lines().find(|line| line.starts_with(key)).unwrap();
        assert!(line.ends_with(&at(6)), "{line}");
    }
    // The first one and eighteen more.
    let editions = fs::read_dir(rig.0.path().join("data/cars/heron/editions")).unwrap().count();
    assert_eq!(editions, 19);
    assert!(Path::new(&rig.0.path().join("data/cars/heron/car.lock")).exists());
}

#[test]
fn how_values_are_known_is_written_beside_them_and_goes_along() {
    let rig = Rig::with_heron();
    let (day, by) = (["--on", "2026-11-30"], ["--by", "R.N."]);
    let with = |values: &[&str], way: &str| {
        rig.done(&[&["car", "set", "heron"], values, &["--with", way], &day, &by].concat())
    };
    with(&["brakes.hose.lf-hose.length=13 1/2 in"], "tape");
    with(&["brakes.wheel_brake.pad_friction=0.42 +/- 0.08"], "trade medium");
    with(&["suppression.line.main.support_gap=11 in"], "guess");
    let file = rig.file();
    assert!(
        file.contains("length = \"13 1/2 in +/- 1/16 in\"\n"),
        "the tape's accuracy stands beside the value"
    );
    for entry in [
        "\"brakes.hose.lf-hose.length\" = \"tape, 2026-11-30, R.N.\"\n",
        "\"brakes.wheel_brake.RR.pad_friction\" = \"trade medium\"\n",
        "\"suppression.line.main.support_gap\" = \"guess\"\n",
    ] {
        assert_eq!(file.matches(entry).count(), 1, "{entry}: {file}");
    }
    let shown = rig.json(&["car", "show", "heron", "lf-hose", "--format", "json"]);
    let all = shown["values"].as_array().unwrap();
    let length = all.iter().find(|value| value["key"] == "brakes.hose.lf-hose.length").unwrap();
    assert_eq!((length["way"].as_str(), length["by"].as_str()), (Some("tape"), Some("R.N.")));
    assert_eq!((length["assumed"].as_bool(), length["on"].as_str()), (Some(false), Some("2026-11-30")));
    // 1/16 in by hand.
    assert!((length["half_width"].as_f64().unwrap() - 0.0254 / 16.0).abs() < 1e-12);

    // The id changes there too, and what is taken out is not spoken of any more.
    rig.done(&["car", "rename", "heron", "main", "long-run"]);
    assert!(rig.file().contains("\"suppression.line.long-run.support_gap\" = \"guess\"\n"));
    rig.done(&["car", "unset", "heron", "suppression.line.long-run.support_gap"]);
    assert!(!rig.file().contains("long-run.support_gap"));
    // A value typed over a measured one is as typed.
    rig.done(&["car", "set", "heron", "brakes.hose.lf-hose.length=14 in"]);
    assert!(rig.file().contains("\"brakes.hose.lf-hose.length\" = \"typed\"\n"));
    rig.refused(
        &["car", "set", "heron", "car.mass=1 lb", "--with", "tapes"],
        &["no tool tapes", "did you mean tape?"],
    );
    rig.refused(&["car", "set", "heron", "car.mass=1 lb", "--with", "lable"], &["did you mean label?", "^"]);

    // A look confirms words, counts and joints, and measures nothing.
    rig.done(&[&["car", "seen", "heron", "cross"][..], &day, &by].concat());
    let file = rig.file();
    for key in ["from", "to", "tube.material", "construction", "fittings", "leaves_by"] {
        assert!(
            file.contains(&format!("\"suppression.line.cross.{key}\" = \"seen, 2026-11-30, R.N.\"\n")),
            "{key}: {file}"
        );
    }
    assert!(!file.contains("\"suppression.line.cross.length\""));
    // The whole file for a program that knows nothing of it.
    let (plain, heron) = (rig.done(&["car", "show", "heron", "--plain"]), heron());
    assert!(!plain.contains("[known]"));
    assert_eq!(plain.lines().count(), heron.lines().count() - 1);
}

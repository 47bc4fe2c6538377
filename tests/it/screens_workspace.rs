//! A workspace in memory, a small ruleset and a small car, for screens that stay the same when the shipped ones change.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::{Arc, LazyLock};

use chrono::{DateTime, NaiveDate, TimeDelta};
use linewalk::cite::{Basis, Cite};
use linewalk::diagnostic::{SourceFile, any_error, render_all};
use linewalk::model::entry::{Kept, Moment, Photo};
use linewalk::model::history::History;
use linewalk::model::{Tag, read_car};
use linewalk::numbers::{Answer, Input, Number, NumberValue, Quantity, Refused, Shown, Situation};
use linewalk::rules::{ComputeRow, OfFilter, Ruleset, built_in, load};
use linewalk::units::{Kind, Units};
use linewalk::walk::{CarLine, Decided, Draft, Journal, Offered, Start, Walk, Workspace};

/// A number that is worked out nowhere: the tests give it.
pub static SLACK: Quantity = Quantity {
    id: "test.slack",
    title: "Slack left in the worst position",
    of: "hose",
    table: "brakes.hose",
    shown: Shown::Kind(Kind::Length),
    formula: "free length less straight distance",
    source: Cite::new("common practice, no source", "", Basis::CommonPractice),
    work: nothing,
};

fn nothing(_: &Quantity, _: &Situation<'_>) -> Vec<Answer> {
    Vec::new()
}

/// Everything outside the app, in memory. Clones share it.
#[derive(Clone, Debug)]
pub struct TestWorkspace {
    pub rules: Arc<Ruleset>,
    pub cars: Vec<Arc<SourceFile>>,
    pub kept: BTreeMap<String, Vec<Kept>>,
    pub clock: Rc<Cell<Moment>>,
    pub numbers: Vec<Answer>,
    pub failing: Rc<Cell<bool>>,
    pub saved: Vec<(String, Vec<u8>)>,
    /// Texts put by, by car.
    pub drafts: BTreeMap<String, Vec<Draft>>,
    pub by: Option<String>,
    pub person: Option<String>,
    /// Units shown.
    pub units: Units,
    /// Why no car opens.
    pub trouble: Option<String>,
    /// The day that dates count to.
    pub on: NaiveDate,
    open: String,
    issued: u64,
}

pub fn day(text: &str) -> Moment {
    DateTime::parse_from_rfc3339(text).unwrap()
}

impl TestWorkspace {
    /// A workspace of some cars under some rules.
    pub fn new(rules: Arc<Ruleset>, cars: &[&str]) -> Self {
        Self {
            rules,
            cars: cars.iter().map(|text| SourceFile::new("car.toml", *text)).collect(),
            kept: BTreeMap::new(),
            clock: Rc::new(Cell::new(day("2026-10-31T08:40:00-04:00"))),
            numbers: Vec::new(),
            failing: Rc::new(Cell::new(false)),
            saved: Vec::new(),
            drafts: BTreeMap::new(),
            by: Some("T.W.".to_owned()),
            person: None,
            units: Units::Us,
            trouble: None,
            on: NaiveDate::from_ymd_opt(2026, 10, 31).unwrap(),
            open: String::new(),
            issued: 0,
        }
    }

    /// The small rules over the small cars.
    pub fn small() -> Self {
        let mut workspace = Self::new(Arc::new(small_rules()), &[FINCH, WREN]);
        workspace.numbers = small_numbers();
        workspace
    }

    /// The shipped rules over one shipped car.
    pub fn shipped(car: &str) -> Self {
        let base = load(&[built_in("base").unwrap()], &|_, _| None).rules;
        Self::new(base, &[car])
    }

    fn file(&self, id: &str) -> Option<Arc<SourceFile>> {
        self.cars.iter().find(|file| read_car(file, &BTreeMap::new()).car.id == id).cloned()
    }
}

impl Journal for TestWorkspace {
    fn new_id(&mut self) -> String {
        self.issued += 1;
        format!("{}-{}", self.open, self.issued)
    }

    fn keep(&mut self, decided: Decided) -> Result<Kept, String> {
        if self.failing.get() {
            return Err("the disk is full: nothing was kept".to_owned());
        }
        self.clock.set(self.clock.get() + TimeDelta::seconds(5));
        let at = self.clock.get();
        let records = self.kept.entry(self.open.clone()).or_default();
        let seq = records.len() as u64 + 1;
        let kept = Kept { id: decided.id, writer: "test".to_owned(), seq, at, entry: decided.entry };
        records.push(kept.clone());
        Ok(kept)
    }

    fn photo(&mut self, path: &str) -> Result<Photo, String> {
        if path.contains("missing") {
            return Err(format!("there is no file {path}"));
        }
        Ok(Photo { file: path.to_owned(), sha256: "0".repeat(64) })
    }
}

impl Workspace for TestWorkspace {
    fn now(&self) -> Moment {
        self.clock.get()
    }

    fn cars(&mut self) -> Result<Vec<CarLine>, String> {
        let lines = self.cars.iter().map(|file| {
            let car = read_car(file, &BTreeMap::new()).car;
            let history = History::fold(self.kept.get(&car.id).cloned().unwrap_or_default());
            let open = history.open();
            let count = |word: &str| open.iter().filter(|one| one.cause().severity.word() == word).count();
            let walking =
                history.walks().iter().find(|walk| walk.ended.is_none()).map(|w| w.started.profile.clone());
            CarLine {
                open: car.id.clone(),
                id: car.id.clone(),
                number: car.number.clone(),
                name: car.name.clone(),
                keeper: car.keeper.clone(),
                open_items: [count("stop"), count("fix"), count("note")],
                being_worked: false,
                state: None,
                last: history.all().last().map(|kept| kept.at),
                walking,
                trouble: None,
                put_away: false,
            }
        });
        Ok(lines.collect())
    }

    fn readable(&self, car: &str) -> Result<(), String> {
        let file = self.file(car).ok_or("there is no such car")?;
        let diagnostics = read_car(&file, &BTreeMap::new()).diagnostics;
        if any_error(&diagnostics) { Err(render_all(&diagnostics)) } else { Ok(()) }
    }

    fn open(&mut self, car: &str, profile: &str, stage: Option<&str>) -> Result<(Walk, Vec<String>), String> {
        if let Some(trouble) = &self.trouble {
            return Err(trouble.clone());
        }
        let file = self.file(car).ok_or("there is no such car")?;
        let read = read_car(&file, &BTreeMap::new()).car;
        self.open = read.id.clone();
        let history = History::fold(self.kept.get(&read.id).cloned().unwrap_or_default());
        let start = Start {
            rule_files: Vec::new(),
            car_file: file,
            car: read,
            rules: Arc::clone(&self.rules),
            profile: profile.to_owned(),
            stage: stage.map(str::to_owned),
            station: None,
            lap: None,
            on: self.on,
            units: self.units,
            by: self.by.clone(),
        };
        let mut walk = Walk::new(start, history).ok_or("there is no such profile")?;
        if !self.numbers.is_empty() {
            walk.numbers = Arc::new(self.numbers.clone()).into();
        }
        Ok((walk, Vec::new()))
    }

    fn create(&mut self, number: &str, has: &[Tag], without: &[Tag]) -> Result<String, String> {
        let words = |tags: &[Tag]| {
            tags.iter().map(|tag| format!("\"{}\"", tag.word())).collect::<Vec<_>>().join(", ")
        };
        let (has, without) = (words(has), words(without));
        let id = format!("car-{number}");
        let text = format!(
            "format = 1\n[car]\nid = \"{id}\"\nnumber = \"{number}\"\nequipment = [{has}]\nwithout = [{without}]\n"
        );
        self.cars.push(SourceFile::new("new.toml", text));
        Ok(id)
    }

    fn save_report(&mut self, name: &str, bytes: &[u8]) -> Result<String, String> {
        self.saved.push((name.to_owned(), bytes.to_vec()));
        Ok(format!("cars/finch/{name}"))
    }

    fn drafts(&mut self) -> Result<Vec<Draft>, String> {
        Ok(self.drafts.get(&self.open).cloned().unwrap_or_default())
    }

    fn keep_drafts(&mut self, drafts: &[Draft]) -> Result<(), String> {
        self.drafts.insert(self.open.clone(), drafts.to_vec());
        Ok(())
    }

    fn has_sample(&self) -> bool {
        true
    }

    fn play(&mut self) -> Result<String, String> {
        self.cars.push(SourceFile::new("car.toml", FINCH));
        Ok("finch".to_owned())
    }

    fn set_person(&mut self, word: &str) -> Result<(), String> {
        self.person = Some(word.to_owned());
        Ok(())
    }

    fn offered(&self) -> Offered {
        Offered::of(&self.rules, self.on)
    }

    fn by(&self) -> Option<String> {
        self.by.clone()
    }

    fn set_by(&mut self, by: &str) -> Result<(), String> {
        self.by = Some(by.to_owned());
        Ok(())
    }
}

fn small_rules() -> Ruleset {
    static SMALL: LazyLock<Ruleset> = LazyLock::new(read_small_rules);
    SMALL.clone()
}

/// The small rules, with a number beside the hose check and the readings of a hold beside the pressure check.
fn read_small_rules() -> Ruleset {
    let loaded = load(&[SourceFile::new("small.toml", SMALL_RULES)], &|_, _| None);
    assert!(!any_error(&loaded.diagnostics), "{:#?}", loaded.diagnostics);
    let mut rules = Arc::unwrap_or_clone(loaded.rules);
    let row = |id: &str, asks: &[&str], min: Option<&str>| ComputeRow {
        words: linewalk::rules::RowWords::default(),
        id: id.to_owned(),
        label: SLACK.title.to_owned(),
        quantity: &SLACK,
        of: OfFilter::All,
        min: min.map(|text| linewalk::rules::Limit { si: 0.0, text: text.to_owned() }),
        max: None,
        aim_min: None,
        aim_max: None,
        equals: None,
        asks: asks.iter().map(|key| (*key).to_owned()).collect(),
        worked: Vec::new(),
    };
    for check in &mut rules.checks {
        match check.id.as_str() {
            "hose-reaches" => {
                check.compute.push(row("slack", &["brakes.hose.length"], Some("0 in")));
            }
            "gauge-hold" => {
                let keys = ["brakes.circuit.hold.start_pressure", "brakes.circuit.hold.end_pressure"];
                check.compute.push(row("drop", &keys, None));
            }
            _ => {}
        }
    }
    rules
}

fn small_numbers() -> Vec<Answer> {
    let mut slack = Number::given(&SLACK, NumberValue::Number(0.0127));
    slack.of = "lf-hose".to_owned();
    (slack.low, slack.high) = (Some(0.009), Some(0.016));
    slack.inputs = vec![
        Input {
            legs: 0,
            way: Default::default(),
            path: "brakes.hose.lf-hose.length".to_owned(),
            kind: Kind::Length,
            si: 0.36,
            half_width: Some(0.0016),
            assumed: false,
        },
        Input {
            legs: 0,
            way: Default::default(),
            path: "brakes.hose.lf-hose.od".to_owned(),
            kind: Kind::Length,
            si: 0.0103,
            half_width: None,
            assumed: true,
        },
        Input {
            legs: 0,
            way: Default::default(),
            path: "brakes.hose.lf-hose.sag".to_owned(),
            kind: Kind::Ratio,
            si: 1.0,
            half_width: None,
            assumed: true,
        },
    ];
    slack.assumed = vec!["brakes.hose.od".to_owned()];
    slack.drivers = vec![("brakes.hose.lf-hose.length".to_owned(), 0.9)];
    let refused = Refused {
        quantity: "test.slack",
        of: Some("rf-hose".to_owned()),
        needs: vec!["brakes.hose.rf-hose.length".to_owned()],
        reason: "brakes.hose.rf-hose.length is not given".to_owned(),
    };
    vec![Answer::Number(Box::new(slack)), Answer::Refused(refused)]
}

pub const FINCH: &str = r#"format = 1
[car]
id = "finch"
number = "318"
name = "Finch"
keeper = "J. Aldous"
engine = "front"
driver = "left"

[[suppression.bottle]]
id = "b1"
at = [0, 0, 0]
serviced = 2026-02-20
service_every = "2 years"
"#;

pub const WREN: &str = r#"format = 1
[car]
id = "wren"
number = "42"
"#;

pub const SMALL_RULES: &str = include_str!("screens_rules.toml");

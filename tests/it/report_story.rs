//! A made-up record of one car that the report tests share: two walks, every kind of answer.

use std::sync::{Arc, LazyLock};

use chrono::NaiveDate;
use linewalk::cite::{Basis, Cite};
use linewalk::diagnostic::SourceFile;
use linewalk::drawing::Curves;
use linewalk::model::entry::{
    Entry, Finding, Kept, Moment, Outcome, Photo, Reading, RowTyped, RulesMark, Severity, WalkStarted,
};
use linewalk::model::history::History;
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Answer, Number, NumberValue, Quantity, Readings, Refused, Shown, Situation};
use linewalk::report::{Input, Shop};
use linewalk::rules::{ComputeRow, Limit, OfFilter, Ruleset, built_in, load};
use linewalk::source::Overrides;
use linewalk::units::{Kind, Units};

/// A car, rules, a record and numbers, owned.
pub struct Story {
    pub car: Car,
    pub rules: Ruleset,
    pub kept: Vec<Kept>,
    pub numbers: Vec<Answer>,
    pub curves: Vec<Curves>,
    pub on: NaiveDate,
    pub now: Moment,
    pub profile: Option<&'static str>,
    pub complete: bool,
    pub shop: Option<Shop>,
    pub trouble: Vec<String>,
}

pub fn time(text: &str) -> Moment {
    Moment::parse_from_rfc3339(&format!("{text}:00-05:00")).unwrap()
}

pub fn sample(name: &str) -> Car {
    let path = format!("{}/sample-cars/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let file = SourceFile::new(name, std::fs::read_to_string(path).unwrap());
    Arc::unwrap_or_clone(read_car(&file, &Overrides::new()).car)
}

/// The base rules, read once: reading them takes far longer than a report does.
pub fn base() -> Ruleset {
    static BASE: LazyLock<Arc<Ruleset>> =
        LazyLock::new(|| load(&[built_in("base").unwrap()], &|id, _| built_in(id)).rules);
    (**BASE).clone()
}

/// The mark of the rules in tests: the real text's sum would change every snapshot with each edit of the rules.
fn mark() -> RulesMark {
    RulesMark { id: "base".to_owned(), edition: "2026.1".to_owned(), sha256: "0".repeat(64) }
}

impl Story {
    /// A car with an empty log.
    pub fn empty(car: Car) -> Self {
        let mut rules = base();
        rules.layers.iter_mut().for_each(|layer| layer.sha256 = "0".repeat(64).into());
        Self {
            car,
            rules,
            kept: Vec::new(),
            numbers: Vec::new(),
            curves: Vec::new(),
            on: NaiveDate::from_ymd_opt(2026, 11, 26).unwrap(),
            now: time("2026-11-26T20:00"),
            profile: Some("scales"),
            complete: false,
            shop: None,
            trouble: Vec::new(),
        }
    }

    pub fn keep(&mut self, at: &str, entry: Entry) -> String {
        let seq = self.kept.len() as u64 + 1;
        let id = format!("0192{seq:04x}-0000-7000-8000-00000000{seq:04x}");
        self.kept.push(Kept { id: id.clone(), writer: "w1".to_owned(), seq, at: time(at), entry });
        id
    }

    pub fn walk(&mut self, at: &str, profile: &str, by: &str) -> String {
        let json = serde_json::json!({ "profile": profile, "rules": mark(), "by": by });
        let started: WalkStarted = serde_json::from_value(json).unwrap();
        self.keep(at, Entry::WalkStarted(started))
    }

    /// A plain finding of a check.
    pub fn finding(&self, walk: &str, check: &str, result: Outcome) -> Finding {
        let known = self.rules.check(check).unwrap_or_else(|| panic!("no check {check}"));
        let json = serde_json::json!({
            "walk": walk, "check": check, "title": known.title, "result": result, "severity": known.severity, "rules": mark(),
        });
        serde_json::from_value(json).unwrap()
    }

    pub fn answer(
        &mut self,
        at: &str,
        walk: &str,
        check: &str,
        result: Outcome,
        change: impl FnOnce(&mut Finding),
    ) -> String {
        let mut finding = self.finding(walk, check, result);
        change(&mut finding);
        self.keep(at, Entry::Finding(Box::new(finding)))
    }

    pub fn remark(&mut self, at: &str, record: Option<&str>, about: Option<&str>, text: &str) -> String {
        let owned = |text: Option<&str>| text.map(str::to_owned);
        let entry = Entry::Remark {
            record: owned(record),
            check: None,
            of: None,
            about: owned(about),
            text: text.to_owned(),
            by: Some("M. Vane".to_owned()),
        };
        self.keep(at, entry)
    }

    /// Hands the input of a report to `with`.
    pub fn with<T>(&self, with: impl FnOnce(&Input<'_>) -> T) -> T {
        let history = History::fold(self.kept.iter().cloned()).until(self.on);
        with(&Input {
            car: &self.car,
            rules: &self.rules,
            profile: self.profile.map(|id| self.rules.profile(id).unwrap()),
            history: &history,
            numbers: &self.numbers,
            readings: &Readings::default(),
            curves: &self.curves,
            on: self.on,
            now: self.now,
            units: Units::Us,
            complete: self.complete,
            unsettled: false,
            made_by: "linewalk 1.0.0".to_owned(),
            shop: self.shop.clone(),
            trouble: self.trouble.clone(),
        })
    }
}

/// A quantity of the tests' own: the registry has its own tests, and grows without changing these.
fn quantity(id: &'static str, title: &'static str, shown: Shown) -> &'static Quantity {
    let source = Cite::new("a test", "", Basis::Computed);
    let work = |_: &Quantity, _: &Situation<'_>| Vec::new();
    Box::leak(Box::new(Quantity {
        id,
        title,
        of: "",
        table: "",
        shown,
        formula: "worked by hand",
        source,
        work,
    }))
}

/// A number made by hand.
pub fn number(quantity: &Quantity, of: &str, value: f64, band: Option<(f64, f64)>) -> Answer {
    Answer::Number(Box::new(Number {
        of: of.to_owned(),
        low: band.map(|(low, _)| low),
        high: band.map(|(_, high)| high),
        assumed: vec!["suppression.line.roughness".to_owned()],
        ..Number::given(quantity, NumberValue::Number(value))
    }))
}

/// A row of a check that judges a quantity.
fn judge(quantity: &'static Quantity, label: &str, min: Option<Limit>, max: Option<Limit>) -> ComputeRow {
    ComputeRow {
        words: linewalk::rules::RowWords::default(),
        id: quantity.id.to_owned(),
        label: label.to_owned(),
        quantity,
        of: OfFilter::All,
        min,
        max,
        aim_min: None,
        aim_max: None,
        equals: None,
        asks: Vec::new(),
        worked: Vec::new(),
    }
}

/// Two walks of one car: at the scales in October, again in November.
pub fn heron() -> Story {
    let mut story = Story::empty(sample("heron"));
    let aim = first_walk(&mut story);
    second_walk(&mut story, aim);
    story.remark("2026-11-25T11:00", None, Some("tube-batch"), "316 tube, batch K-771");
    let reading = |key: &str, value: &str| {
        let json = serde_json::json!({ "key": key, "value": value, "by": "R. Noor" });
        Entry::Reading(serde_json::from_value::<Reading>(json).unwrap())
    };
    for (key, value) in [
        ("start_pressure", "1200 psi"),
        ("end_pressure", "1190 psi"),
        ("start_temperature", "70 F"),
        ("end_temperature", "70 F"),
        ("time", "10 min"),
    ] {
        story.keep("2026-11-25T11:10", reading(&format!("brakes.circuit.front.hold.{key}"), value));
    }
    add_numbers(&mut story);
    story
}

/// What was typed, by row and text.
pub fn typed(rows: &[(&str, &str)]) -> Vec<RowTyped> {
    let row = |(id, text): &(&str, &str)| RowTyped {
        id: (*id).to_owned(),
        text: (*text).to_owned(),
        ..RowTyped::default()
    };
    rows.iter().map(row).collect()
}

/// The first walk; gives the record of the nozzle's aim.
fn first_walk(story: &mut Story) -> String {
    let first = story.walk("2026-10-14T09:00", "scales", "R. Noor");
    let bow = story.answer("2026-10-14T09:10", &first, "lf-hose-at-steer-lock", Outcome::Reject, |f| {
        f.of = Some("lf-hose".to_owned());
        f.rows = typed(&[("", "3/8 in")]);
        (f.si, f.unit) = (Some(0.009_525), Some("m".to_owned()));
        f.verdict = Some(Outcome::Reject);
        f.instrument = Some("tape".to_owned());
        f.note = Some("touches the tyre at left lock".to_owned());
        f.photos = vec![Photo { file: "bow-1.jpg".to_owned(), sha256: "1".repeat(64) }];
        f.seen_at = Some(time("2026-10-14T09:05"));
    });
    let aim = story.answer("2026-10-14T09:20", &first, "el-nozzle-aim-hazards", Outcome::Reject, |f| {
        f.note = Some("left nozzle looks at the firewall".to_owned());
    });
    story.answer("2026-10-14T09:30", &first, "lf-bleeder-at-top", Outcome::Reject, |_| {});
    story.keep("2026-10-14T09:40", Entry::WalkEnded { walk: first, by: Some("R. Noor".to_owned()) });
    story.remark("2026-10-15T18:00", Some(&bow), Some("owner"), "a longer hose is on order");
    aim
}

/// The second walk, which closes the nozzle's aim.
fn second_walk(story: &mut Story, aim: String) {
    let second = story.walk("2026-11-25T10:00", "scales", "R. Noor");
    story.answer("2026-11-25T10:01", &second, "car-made-safe", Outcome::Accept, |_| {});
    story.answer("2026-11-25T10:05", &second, "lf-hose-at-steer-lock", Outcome::Repaired, |f| {
        f.of = Some("lf-hose".to_owned());
        f.note = Some("longer hose fitted".to_owned());
    });
    story.answer("2026-11-25T10:10", &second, "el-nozzle-aim-hazards", Outcome::Accept, |f| {
        f.closes = Some(aim)
    });
    story.answer("2026-11-25T10:15", &second, "rf-hose-at-steer-lock", Outcome::Undecided, |f| {
        f.rows = typed(&[("", "1/2 in")]);
        (f.si, f.unit) = (Some(0.0127), Some("m".to_owned()));
        (f.verdict, f.chance) = (Some(Outcome::Undecided), Some(0.5));
        f.instrument = Some("tape".to_owned());
    });
    story.answer("2026-11-25T10:20", &second, "lf-hose-droop-and-bump", Outcome::NotSeen, |f| {
        f.note = Some("no stands at the scales".to_owned());
    });
    story.answer("2026-11-25T10:25", &second, "papers-hold-test-sheet", Outcome::NotYet, |f| {
        f.note = Some("hold test is this afternoon".to_owned());
    });
    story.answer("2026-11-25T10:30", &second, "el-line-to-exhaust-gap", Outcome::Accept, |f| {
        f.verdict = Some(Outcome::Reject);
        f.rows = typed(&[("bare-tube", "2 in"), ("shielded", "1 1/4 in")]);
        f.note = Some("wrapped with a blanket since".to_owned());
    });
    story.answer("2026-11-25T10:35", &second, "pins-in-before-hands-in", Outcome::Reject, |f| {
        f.rows = typed(&[("", "1")]);
        f.verdict = Some(Outcome::Reject);
        f.severity = Severity::Fix;
        f.note = Some("second pin was in the driver's hand".to_owned());
    });
    story.keep(
        "2026-11-25T10:40",
        Entry::Signed { walk: second, role: "inspector".to_owned(), by: "R.N.".to_owned() },
    );
}

/// Numbers, and the checks that judge two of them: one under its limit, one that could not be worked out.
fn add_numbers(story: &mut Story) {
    let arrival = quantity("made.arrival", "Agent at the nozzle", Shown::Kind(Kind::Time));
    let margin = quantity("made.margin", "Strength of the bolts", Shown::Kind(Kind::Ratio));
    let ratio = quantity("made.ratio", "Hose over distance", Shown::Kind(Kind::Ratio));
    let limit = |si, text: &str| Some(Limit { si, text: text.to_owned() });
    for check in &mut story.rules.checks {
        let rows = match check.id.as_str() {
            "el-nozzle-aim-hazards" => vec![judge(arrival, "Arrival", None, limit(1.0, "1 s"))],
            "tl-bottle-bolts-structure" => vec![judge(margin, "Margin", limit(1.0, "1"), None)],
            _ => Vec::new(),
        };
        check.compute = rows;
    }
    let reason = "suppression.bottle.mount.bolt is not given".to_owned();
    let needs = vec!["suppression.bottle.mount.bolt".to_owned()];
    story.numbers = vec![
        number(ratio, "axle-hose", 1.021, Some((1.01, 1.03))),
        number(arrival, "engine-right", 1.31, Some((1.18, 1.42))),
        Answer::Refused(Refused { quantity: margin.id, of: Some("b1".to_owned()), needs, reason }),
    ];
}

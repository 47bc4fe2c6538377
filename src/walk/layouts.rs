//! Starting layouts: ordinary cars that a new one is begun from, moved to its own dimensions. What a layout fills in is an
//! assumption with a spread, marked so in the file. What nobody may assume it leaves out: agent, dates, serials, grades of bolts,
//! and what the car has not.

use std::sync::Arc;

use crate::diagnostic::SourceFile;
use crate::model::keys::{field_of, quantity_kind, without_id};
use crate::model::known::{Origin, Way};
use crate::model::values::values;
use crate::model::warp::{Marks, Warp, other_side};
use crate::model::{Car, Point, Seat, distance, read_car};
use crate::source::splice::{self, quoted};
use crate::source::{FieldKind, Overrides};
use crate::units::{INCH, Kind, parse, significant};

/// A starting layout.
#[derive(Debug)]
pub struct Layout {
    /// Its name.
    pub id: &'static str,
    /// What it is like, in trade words.
    pub words: &'static str,
    /// An ordinary car file.
    text: &'static str,
    /// Its main dimensions: wheelbase, firewall, engine, frame width and height, tracks, hubs, in.
    marks: [f64; 9],
    /// What is otherwise than in that file, which was given faults.
    mended: &'static [(&'static str, &'static str)],
}

/// Every layout.
pub const LAYOUTS: &[Layout] = &[
    Layout {
        id: "front-two-rear",
        words: "front engine, two bottles in the tail that meet at a tee, lines inside the lower frame tubes; tandem master, live axle",
        text: include_str!("../../sample-cars/heron.toml"),
        marks: [98.0, 36.0, 62.0, 30.0, 8.0, 50.0, 50.0, 11.0, 13.0],
        mended: &[],
    },
    Layout {
        id: "front-one-lock",
        words: "front engine, one bottle in the tail, line along the right sill; tandem master, line-lock on the front",
        text: include_str!("../../sample-cars/plover.toml"),
        marks: [104.0, 82.0, 101.0, 34.0, 10.0, 51.0, 51.0, 12.0, 14.5],
        mended: &[
            ("brakes.hose.lf-hose.length", "\"15 in\""),
            ("brakes.hose.rf-hose.length", "\"15 in\""),
            ("frame.sleeve.ls-front.od", "\"3/4 in\""),
        ],
    },
    Layout {
        id: "front-bar-travel",
        words: "front engine, long travel, one bottle behind the seat; two masters on a balance bar, live axle",
        text: include_str!("../../sample-cars/dunlin.toml"),
        marks: [122.0, 86.0, 118.0, 40.0, 16.0, 64.0, 64.0, 18.0, 18.0],
        mended: &[(
            "suppression.pull.cab-pull.bends",
            "[{ angle = \"90 deg\", radius = \"6 in\" }, { angle = \"60 deg\", radius = \"7 in\" }]",
        )],
    },
    Layout {
        id: "saloon-tunnel",
        words: "front-engine saloon, bottle on the floor, line through the tunnel; tandem master, independent rear; in metric units",
        text: include_str!("../../sample-cars/curlew.toml"),
        marks: [100.79, 75.6, 98.4, 39.4, 5.9, 51.2, 51.2, 11.6, 11.6],
        mended: &[
            ("brakes.master.tandem.ports.primary.plumbed_to", "\"front\""),
            ("brakes.master.tandem.ports.secondary.plumbed_to", "\"rear\""),
            ("brakes.valve.knee.circuit", "\"rear\""),
        ],
    },
    Layout {
        id: "rear-two-systems",
        words: "rear engine, driver ahead; engine bottle and cabin bottle apart; tandem master in the nose, independent rear",
        text: include_str!("../../sample-cars/bittern.toml"),
        marks: [140.0, 41.0, 22.0, 30.0, 8.0, 45.0, 45.0, 12.5, 14.0],
        mended: &[
            ("suppression.line.jumper.construction", "\"hard\""),
            ("suppression.line.jumper.tube.wall", "\"0.035 in\""),
            ("suppression.line.jumper.tube.material", "\"316\""),
            ("suppression.line.forward-run.tube.od", "\"1/4 in\""),
            ("suppression.line.forward-run.tube.wall", "\"0.035 in\""),
            ("suppression.bottle.b-tail.mount.span", "\"6 in\""),
            ("suppression.bottle.b-tail.mount.width", "\"3 1/2 in\""),
            ("suppression.bottle.b-tail.mount.offset", "\"2 1/2 in\""),
            ("suppression.bottle.b-tail.mount.bolt.size", "\"5/16-24\""),
        ],
    },
];

/// A layout by its name.
pub fn layout(id: &str) -> Option<&'static Layout> {
    LAYOUTS.iter().find(|layout| layout.id == id)
}

/// What a person was asked: main dimensions and a few words. What stays silent is as in the layout.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Key and answer as typed, with how the answer is known.
    pub answers: Vec<(String, String)>,
    /// How they are known.
    pub how: Origin,
}

/// Questions that give a dimension, with how many lengths each takes.
const LENGTHS: [(&str, usize); 7] = [
    ("wheelbase", 1),
    ("track", 2),
    ("hubs", 2),
    ("firewall", 1),
    ("engine", 1),
    ("frame-width", 1),
    ("frame-height", 1),
];
/// Questions that give a word.
pub const WORDS: [&str; 4] = ["driver", "agent", "fuel", "discipline"];

/// Keys that a layout never fills.
const NEVER: [&str; 13] = [
    "car.name",
    "car.keeper",
    "car.discipline",
    "car.fuel",
    "car.without",
    "suppression.bottle.agent",
    "suppression.bottle.serial",
    "suppression.bottle.serviced",
    "suppression.bottle.service_every",
    "suppression.bottle.tested",
    "suppression.bottle.test_every",
    "suppression.bottle.gross_mass",
    "suppression.bottle.mount.bolt.grade",
];

/// How far off a value of a layout may be: common practice, no source. Where nothing is said here, a size may be anything until
/// it is measured.
const SPREADS: &[(&str, &str)] = &[
    ("car.mass", "200 lb"),
    ("car.front_share", "6 %"),
    ("car.cg_height", "4 in"),
    ("car.tyre_friction", "0.2"),
    ("car.tyre_radius.front", "1 in"),
    ("car.tyre_radius.rear", "1 in"),
    ("frame.tube.od", "1/8 in"),
    ("frame.tube.wall", "0.02 in"),
    ("frame.sleeve.od", "1/8 in"),
    ("frame.sleeve.wall", "0.01 in"),
    ("frame.sleeve.length", "1/2 in"),
    ("brakes.pedal_ratio", "1"),
    ("brakes.pedal_force", "10 lbf"),
    ("brakes.pedal_force_hard", "20 lbf"),
    ("brakes.master.bore", "1/16 in"),
    ("brakes.master.stroke", "0.2 in"),
    ("brakes.master.reservoir", "2 floz"),
    ("brakes.line.tube.od", "1/64 in"),
    ("brakes.line.tube.wall", "0.003 in"),
    ("brakes.line.bend_radius", "1/4 in"),
    ("brakes.line.support_gap", "3 in"),
    ("brakes.line.length", "2 in"),
    ("brakes.hose.length", "1 in"),
    ("brakes.hose.bore", "0.010 in"),
    ("brakes.hose.min_bend_radius", "1/2 in"),
    ("brakes.valve.knee", "100 psi"),
    ("brakes.valve.slope", "0.1"),
    ("brakes.valve.holds", "1 psi"),
    ("brakes.wheel_brake.piston_bore", "1/8 in"),
    ("brakes.wheel_brake.effective_radius", "1/4 in"),
    ("brakes.wheel_brake.pad_friction", "0.08"),
    ("brakes.wheel_brake.pad_gap", "0.003 in"),
    ("brakes.wheel_brake.pad_new", "0.08 in"),
    ("brakes.wheel_brake.pad_min", "0.02 in"),
    ("suppression.bottle.agent_mass", "1 lb"),
    ("suppression.bottle.volume", "33 in3"),
    ("suppression.bottle.charge_pressure", "40 psi"),
    ("suppression.bottle.outlet_k", "1"),
    ("suppression.bottle.mount.span", "1 in"),
    ("suppression.bottle.mount.width", "1/2 in"),
    ("suppression.bottle.mount.offset", "1 in"),
    ("suppression.line.tube.od", "1/64 in"),
    ("suppression.line.tube.wall", "0.004 in"),
    ("suppression.line.bend_radius", "1/4 in"),
    ("suppression.line.support_gap", "3 in"),
    ("suppression.line.length", "2 in"),
    ("suppression.nozzle.orifice", "0.012 in"),
    ("suppression.nozzle.cd", "0.06"),
    ("suppression.nozzle.cone", "10 deg"),
    ("suppression.nozzle.reach", "6 in"),
    ("suppression.pull.valve_force", "6 lbf"),
    ("suppression.pull.valve_travel", "1/4 in"),
    ("suppression.pull.handle_travel", "1/2 in"),
    ("suppression.pull.slack", "1/8 in"),
    ("suppression.pull.length", "6 in"),
    ("suppression.pull.friction", "0.075"),
    ("suppression.pull.min_bend_radius", "1 in"),
];

/// How far a point of a layout may lie from where it is on the car.
const WITHIN: &str = "3 in";

/// A new car's file from a layout, moved to what was asked.
///
/// # Errors
/// What was asked in a way that cannot be used.
pub fn new_car(layout: &Layout, id: &str, number: &str, asked: &Asked) -> Result<String, String> {
    let mut text = without_remarks(layout.text);
    for (key, value) in layout.mended {
        text = set(&text, key, value)?;
    }
    let (from, to) = (layout.marks(), asked.marks(layout.marks())?);
    let warp = Warp::new(from, to)?;
    if asked.is_across(&read(&text))? {
        text = mirrored(&text)?;
    }
    let before = read(&text);
    text = warped(&text, &warp, before.point_unit)?;
    text = lengthened(&text, &before)?;
    text = emptied(&text)?;
    text = widened(&text)?;
    for (key, value) in [("car.id", id), ("car.number", number)] {
        text = set(&text, key, &quoted(value))?;
    }
    text = known(&text, layout, asked, to)?;
    let remark = format!(
        "# Car {}, begun from the starting layout {}: what [known] calls layout is assumed until it is measured or seen.\n",
        crate::diagnostic::escape_control(number),
        layout.id
    );
    Ok(format!("{remark}\n{}", text.trim_start()))
}

impl Layout {
    fn marks(&self) -> Marks {
        let [wheelbase, firewall, engine, width, height, front, rear, hub_front, hub_rear] =
            self.marks.map(|si| si * INCH);
        Marks {
            wheelbase,
            firewall,
            engine,
            frame_width: width,
            frame_height: height,
            track: [front, rear],
            hubs: [hub_front, hub_rear],
        }
    }
}

impl Asked {
    fn answer(&self, key: &str) -> Option<&str> {
        self.answers.iter().rev().find(|(known, _)| known == key).map(|(_, value)| value.as_str())
    }

    /// The dimensions asked, in place of a layout's.
    fn marks(&self, mut marks: Marks) -> Result<Marks, String> {
        for (key, _) in &self.answers {
            if !LENGTHS.iter().any(|(known, _)| known == key) && !WORDS.contains(&key.as_str()) {
                let known: Vec<&str> = LENGTHS.iter().map(|(known, _)| *known).chain(WORDS).collect();
                let help = crate::diagnostic::near_or(key, known.iter().copied(), || {
                    format!("questions are {}", known.join(", "))
                });
                return Err(format!("{key} is no question: {help}"));
            }
        }
        for (key, count) in LENGTHS {
            let Some(answer) = self.answer(key) else { continue };
            let lengths = lengths(key, answer)?;
            let (Some(first), Some(last)) = (lengths.first(), lengths.last()) else { continue };
            if lengths.len() > count {
                return Err(format!("{key} takes {count} and has {}: {answer}", lengths.len()));
            }
            match key {
                "wheelbase" => marks.wheelbase = *first,
                "track" => marks.track = [*first, *last],
                "hubs" => marks.hubs = [*first, *last],
                "firewall" => marks.firewall = *first,
                "engine" => marks.engine = *first,
                "frame-width" => marks.frame_width = *first,
                _ => marks.frame_height = *first,
            }
        }
        Ok(marks)
    }

    /// Whether the driver sits on the other side than in the layout.
    fn is_across(&self, car: &Car) -> Result<bool, String> {
        let asked = match self.answer("driver") {
            None => return Ok(false),
            Some("left") => Seat::Left,
            Some("right") => Seat::Right,
            Some("centre" | "center") => return Ok(false),
            Some(other) => return Err(format!("driver is left, right or center, not {other}")),
        };
        Ok(car.facts.driver.is_some_and(|seat| seat != Seat::Centre && seat != asked))
    }
}

/// One or two lengths: `50 in, 52 in`.
fn lengths(key: &str, answer: &str) -> Result<Vec<f64>, String> {
    let one = |text: &str| {
        let parsed = parse(text.trim(), Kind::Length);
        let parsed =
            parsed.map_err(|refusal| format!("{key}: {text}: {}; {}", refusal.message, refusal.help))?;
        if parsed.si > 0.0 { Ok(parsed.si) } else { Err(format!("{key} must be more than zero")) }
    };
    answer.split(',').map(one).collect()
}

fn file(text: &str) -> Arc<SourceFile> {
    SourceFile::new("layout", text)
}

fn read(text: &str) -> Arc<Car> {
    read_car(&file(text), &Overrides::new()).car
}

fn set(text: &str, key: &str, value: &str) -> Result<String, String> {
    splice::set(text, &key.split('.').collect::<Vec<_>>(), value)
}

/// A car file without its remarks: they speak of the car that it was.
fn without_remarks(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let mut in_text = false;
        let end = line.find(|letter| {
            in_text ^= letter == '"';
            letter == '#' && !in_text
        });
        let kept = line.get(..end.unwrap_or(line.len())).unwrap_or(line).trim_end();
        let follows_blank = out.is_empty() || out.ends_with("\n\n");
        if !kept.is_empty() || !(follows_blank || end.is_some()) {
            out.push_str(kept);
            out.push('\n');
        }
    }
    out
}

/// Every point of a text, by what moves it; directions are no points.
fn points(text: &str, each: &dyn Fn(&str, Point) -> Option<Point>) -> Result<String, String> {
    let mut out = text.to_owned();
    for written in values(&file(text)) {
        let is_points = matches!(
            field_of(&written.key).map(|field| &field.kind),
            Some(FieldKind::Point | FieldKind::Points)
        ) || written.key.contains(".outer_end.");
        if !is_points {
            continue;
        }
        let Ok(value) = format!("v = {}", written.text).parse::<toml::Table>() else { continue };
        let Some(value) = value.get("v") else { continue };
        if let Some(moved) = moved(&written.key, value, each) {
            out = set(&out, &written.key, &moved)?;
        }
    }
    Ok(out)
}

fn moved(key: &str, value: &toml::Value, each: &dyn Fn(&str, Point) -> Option<Point>) -> Option<String> {
    #[expect(clippy::cast_precision_loss, reason = "coordinates are small")]
    let number =
        |value: &toml::Value| value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64));
    let one = |value: &toml::Value| -> Option<Point> {
        let point: Option<Vec<f64>> = value.as_array()?.iter().map(number).collect();
        each(key, point?.try_into().ok()?)
    };
    let written =
        |point: &Point| format!("[{}]", point.map(|coordinate| significant(coordinate, 5)).join(", "));
    let items = value.as_array()?;
    if !items.iter().all(toml::Value::is_array) {
        return one(value).map(|point| written(&point));
    }
    let mut all = items.iter().map(one).collect::<Option<Vec<Point>>>()?;
    // The lower corner of a box comes first, on either side.
    if let ([low, high], true) = (all.as_mut_slice(), key.ends_with(".box")) {
        for (a, b) in low.iter_mut().zip(high.iter_mut()) {
            (*a, *b) = (a.min(*b), a.max(*b));
        }
    }
    Some(format!("[{}]", all.iter().map(written).collect::<Vec<_>>().join(", ")))
}

fn mirrored(text: &str) -> Result<String, String> {
    let flipped = points(text, &|_, [x, y, z]| Some([x, if y == 0.0 { 0.0 } else { -y }, z]))?;
    Ok(other_side(&flipped))
}

fn warped(text: &str, warp: &Warp, scale: f64) -> Result<String, String> {
    points(text, &|key, point| {
        (!key.ends_with(".aim"))
            .then(|| warp.point(point.map(|coordinate| coordinate * scale)).map(|moved| moved / scale))
    })
}

/// Hoses and taped lines keep what they have to spare where their ends came to lie otherwise.
fn lengthened(text: &str, before: &Car) -> Result<String, String> {
    let after = read(text);
    let mut out = text.to_owned();
    let reach = |car: &Car, id: &str| {
        let hose = car.brakes.hoses.iter().find(|hose| hose.id == id)?;
        let inner = hose.inner_end?;
        hose.outer_end.iter().map(|(_, end)| distance(inner, *end)).reduce(f64::max)
    };
    let place = |car: &Car, id: &str| {
        let suppression = &car.suppression;
        let bottles = suppression.bottles.iter().map(|part| (part.id.as_str(), part.at));
        let tees = suppression.tees.iter().map(|part| (part.id.as_str(), part.at));
        let nozzles = suppression.nozzles.iter().map(|part| (part.id.as_str(), part.at));
        bottles.chain(tees).chain(nozzles).find(|(known, _)| *known == id).and_then(|(_, at)| at)
    };
    for hose in &before.brakes.hoses {
        if let (Some(length), Some(then), Some(now)) =
            (hose.length, reach(before, &hose.id), reach(&after, &hose.id))
        {
            let key = format!("brakes.hose.{}.length", hose.id);
            out = set(&out, &key, &quoted(&inches(length.si() * now / then)))?;
        }
    }
    for line in before.suppression.lines.iter().filter(|line| line.run.path.is_empty()) {
        let ends = |car: &Car| Some(distance(place(car, &line.from.text)?, place(car, &line.to.text)?));
        if let (Some(length), Some(then), Some(now)) = (line.run.length, ends(before), ends(&after)) {
            let key = format!("suppression.line.{}.length", line.run.id);
            out = set(&out, &key, &quoted(&inches(length.si() * (now / then).max(0.2))))?;
        }
    }
    Ok(out)
}

/// In inches, to the eighth above.
fn inches(si: f64) -> String {
    format!("{} in", significant((8.0 * si / INCH - 1e-9).ceil() / 8.0, 6))
}

/// The text without what nobody may assume.
fn emptied(text: &str) -> Result<String, String> {
    let mut out = text.to_owned();
    for written in values(&file(text)) {
        if NEVER.contains(&without_id(&written.key).as_str()) {
            out = splice::unset(&out, &written.key.split('.').collect::<Vec<_>>())?;
        }
    }
    let held: Vec<String> = read(&out).hand_held.iter().map(|held| held.id.clone()).collect();
    for id in held {
        out = splice::take_out(&out, &["hand_held", &id])?;
    }
    Ok(out)
}

/// Every value with how far it may be off.
fn widened(text: &str) -> Result<String, String> {
    let mut out = text.to_owned();
    for written in values(&file(text)) {
        let (generic, Some(kind)) = (without_id(&written.key), quantity_kind(&written.key)) else { continue };
        let Some((_, spread)) = SPREADS.iter().find(|(key, _)| *key == generic) else { continue };
        let value = written.text.split("+/-").next().unwrap_or_default().trim().to_owned();
        let wide = format!("{value} +/- {spread}");
        if parse(&wide, kind).is_ok() {
            out = set(&out, &written.key, &quoted(&wide))?;
        }
    }
    let car = read(&out);
    let brake_lines = car.brakes.lines.iter().map(|line| format!("brakes.line.{}.within", line.run.id));
    let lines = car.suppression.lines.iter().map(|line| format!("suppression.line.{}.within", line.run.id));
    let hoses = car.brakes.hoses.iter().map(|hose| format!("brakes.hose.{}.within", hose.id));
    for key in brake_lines.chain(lines).chain(hoses) {
        let within = if key.starts_with("brakes.hose") { "1 in" } else { WITHIN };
        out = set(&out, &key, &quoted(within))?;
    }
    Ok(out)
}

/// What is known of it, and what was asked.
fn known(text: &str, layout: &Layout, asked: &Asked, marks: Marks) -> Result<String, String> {
    let mut out = text.to_owned();
    let assumed = Origin { way: Way::Layout(layout.id.to_owned()), ..Origin::default() };
    for table in ["car", "frame", "brakes", "suppression"] {
        out = splice::set(&out, &["known", table], &quoted(&assumed.text()))?;
    }
    let noted = |out: String, key: &str, value: &str, how: &Origin| -> Result<String, String> {
        let out = set(&out, key, value)?;
        splice::set(&out, &["known", key], &quoted(&how.text()))
    };
    // A word is said, whatever the lengths were measured with.
    let said = Origin { way: Way::Typed, ..asked.how.clone() };
    let measured = |out: String, key: &str, value: &str| noted(out, key, value, &asked.how);
    let typed = |out: String, key: &str, value: &str| noted(out, key, value, &said);
    out = splice::set(&out, &["known", "car.number"], &quoted(&said.text()))?;
    let length = |si: f64| quoted(&inches_exact(si));
    if asked.answer("wheelbase").is_some() {
        out = measured(out, "car.wheelbase", &length(marks.wheelbase))?;
    }
    if asked.answer("hubs").is_some() {
        let [front, rear] = marks.hubs;
        out = measured(out, "car.tyre_radius.front", &length(front))?;
        out = measured(out, "car.tyre_radius.rear", &length(rear))?;
    }
    for (question, key) in [("driver", "car.driver"), ("discipline", "car.discipline")] {
        if let Some(answer) = asked.answer(question) {
            let answer = if answer == "center" { "centre" } else { answer };
            out = typed(out, key, &quoted(answer))?;
        }
    }
    if let Some(fuel) = asked.answer("fuel") {
        let fuels: Vec<String> = fuel.split(',').map(|fuel| quoted(fuel.trim())).collect();
        out = typed(out, "car.fuel", &format!("[{}]", fuels.join(", ")))?;
    }
    if let Some(agent) = asked.answer("agent") {
        for bottle in &read(&out).suppression.bottles {
            out = typed(out, &format!("suppression.bottle.{}.agent", bottle.id), &quoted(agent))?;
        }
    }
    Ok(out)
}

fn inches_exact(si: f64) -> String {
    crate::units::fraction_inches(si).unwrap_or_else(|| format!("{} in", significant(si / INCH, 6)))
}

//! The car drawn to scale: positions worked out by hand for a small car, and pages that stay inert whatever a file says.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::drawing::{
    Bounds, Drawing, Figure, FindingAt, Op, Plan, Stroke, Style, View, chart_page, dashes, discharge_curves,
    fill_starts_at_end, filling, hull, plan, plan_page, svg,
};
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Readings, Situation, quantity, work};
use linewalk::physics::discharge::Settings;
use linewalk::rules::{Ruleset, Station, built_in, load};
use linewalk::units::Units;

/// Points in metres, so that they can be read off the drawing.
const SMALL: &str = r#"format = 1
[car]
id = "small"
number = "1"
wheelbase = "2 m"
tyre_radius = { front = "0.3 m", rear = "0.35 m" }
[axes]
unit = "m"
[[brakes.line]]
id = "rear-run"
circuit = "rear"
path = [[1, 0.5, 0.4], [0, 0.5, 0.2]]
[[brakes.hose]]
id = "lf-hose"
corner = "LF"
inner_end = [2, 0.5, 0.4]
outer_end = { droop = [2, 0.7, 0.2], ride = [2, 0.7, 0.3] }
[[suppression.bottle]]
id = "b1"
at = [0.2, 0, 0.4]
[[suppression.line]]
id = "stub"
from = "b1"
to = "n1"
[[suppression.nozzle]]
id = "n1"
at = [1.2, 0, 0.6]
aim = [1, 0, 0]
cone = "60 deg"
reach = "0.4 m"
[[suppression.hazard]]
id = "engine"
box = [[1.4, -0.2, 0.3], [1.8, 0.2, 0.7]]
face = "rear"
"#;

pub fn car(text: &str) -> Car {
    let read = read_car(&SourceFile::new("car.toml", text), &BTreeMap::new());
    assert!(!linewalk::diagnostic::any_error(&read.diagnostics), "{:#?}", read.diagnostics);
    Arc::unwrap_or_clone(read.car)
}

fn shipped(name: &str) -> Car {
    let path = format!("{}/sample-cars/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    car(&std::fs::read_to_string(path).unwrap())
}

fn base() -> Arc<Ruleset> {
    load(&[built_in("base").unwrap()], &|_, _| None).rules
}

fn drawn(car: &Car, rules: &Ruleset, findings: &[FindingAt], here: Option<&str>, view: View) -> Drawing {
    let stations: Vec<&Station> = rules.stations.iter().collect();
    plan(&Plan { car, stations, findings, here }, view)
}

fn stroke<'d>(drawing: &'d Drawing, id: &str, style: Style) -> &'d Stroke {
    drawing.strokes.iter().find(|stroke| stroke.id == id && stroke.style == style).unwrap()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn points_stand_where_the_file_says() {
    let car = car(SMALL);
    let top = drawn(&car, &base(), &[], None, View::Top);
    assert_eq!(stroke(&top, "rear-run", Style::BrakeRun).points, [[1.0, 0.5], [0.0, 0.5]]);
    let stub = stroke(&top, "stub", Style::SuppressionRun);
    assert!(stub.straight, "a line without a path is drawn straight between its ends");
    assert_eq!(stub.points, [[0.2, 0.0], [1.2, 0.0]]);
    assert_eq!(stroke(&top, "lf-hose", Style::Hose).points, [[2.0, 0.5], [2.0, 0.7]]);
    assert_eq!(
        stroke(&top, "engine", Style::Hazard).points,
        [[1.4, -0.2], [1.8, -0.2], [1.8, 0.2], [1.4, 0.2]]
    );
    let side = drawn(&car, &base(), &[], None, View::Side);
    assert_eq!(stroke(&side, "rear-run", Style::BrakeRun).points, [[1.0, 0.4], [0.0, 0.2]]);
    assert_eq!(stroke(&side, "lf-hose", Style::Hose).points, [[2.0, 0.4], [2.0, 0.3]], "at ride height");
    let wheels: Vec<([f64; 2], f64)> =
        side.circles.iter().map(|wheel| (wheel.centre, wheel.radius)).collect();
    assert_eq!(wheels, [([0.0, 0.35], 0.35), ([2.0, 0.3], 0.3)], "wheels stand on the ground");
}

/// A cone of 60 degrees reaching 0.4 m: its edge is 0.4 sin 30 = 0.2 m aside at 0.4 cos 30 ahead, its tip 0.4 m ahead.
#[test]
fn a_cone_is_as_wide_as_it_is() {
    let top = drawn(&car(SMALL), &base(), &[], None, View::Top);
    let cone = &stroke(&top, "n1", Style::Cone).points;
    let bounds = Bounds::around(cone.iter().copied()).unwrap();
    assert!(near(bounds.low[0], 1.2) && near(bounds.high[0], 1.6), "{bounds:?}");
    assert!(near(bounds.high[1], 0.2) && near(bounds.low[1], -0.2), "{bounds:?}");
    let edge = cone.iter().find(|point| near(point[1], 0.2)).unwrap();
    assert!(near(edge[0], 1.2 + 0.4 * (std::f64::consts::PI / 6.0).cos()), "{edge:?}");
}

/// `along` counts from the rear axle (0) to the front axle (1); left is up from above.
#[test]
fn stations_stand_by_along_and_side() {
    let rules = base();
    let top = drawn(&car(SMALL), &rules, &[], Some("footwell"), View::Top);
    for station in &rules.stations {
        let at = top.station(&station.id).unwrap().at;
        match station.side {
            linewalk::rules::Side::Left => assert!(near(at[0], station.along * 2.0) && at[1] > 0.7, "{at:?}"),
            linewalk::rules::Side::Right => assert!(near(at[0], station.along * 2.0) && at[1] < -0.7),
            linewalk::rules::Side::Middle => assert!(near(at[1], 0.0)),
        }
    }
    assert!(top.station("nose").unwrap().at[0] > 2.3, "in front of the front wheels");
    assert!(top.station("tail").unwrap().at[0] < -0.35, "behind the rear wheels");
    let here = top.marks.iter().find(|mark| mark.style == Style::Here).unwrap();
    assert_eq!(here.at, top.station("footwell").unwrap().at);
}

#[test]
fn findings_stand_at_what_they_are_of() {
    let found = |number: usize, of: Option<&str>, station: &str| FindingAt {
        code: number.to_string(),
        of: of.map(str::to_owned),
        station: station.to_owned(),
        label: String::new(),
    };
    let findings = [
        found(1, Some("b1"), "tail"),
        found(2, Some("rear-run"), "left-flank"),
        found(3, Some("engine"), "engine-left"),
        found(4, None, "tail"),
        found(5, Some("unheard-of"), "tail"),
        found(6, Some("b1"), "tail"),
        found(7, None, "no-such-station"),
        found(8, Some("LF"), "left-front"),
        found(9, Some("n1 -> engine"), "engine-left"),
    ];
    let top = drawn(&car(SMALL), &base(), &findings, None, View::Top);
    let at = |number: &str| {
        top.marks.iter().find(|mark| mark.style == Style::Finding && mark.text == number).map(|mark| mark.at)
    };
    assert_eq!(at("1"), Some([0.2, 0.0]));
    assert_eq!(at("2"), Some([0.5, 0.5]), "the middle of the run");
    assert_eq!(at("3").map(|[x, y]| [(x * 1e9).round() / 1e9, y]), Some([1.6, 0.0]), "the middle of the box");
    let tail = top.station("tail").unwrap().at;
    assert!(at("4").unwrap()[0] - tail[0] < 0.2 && at("5").unwrap() != at("4").unwrap());
    assert_ne!(at("6"), at("1"), "two at one place stand beside each other");
    assert_eq!(at("7"), None);
    assert_eq!(at("8"), Some([2.0, 0.7]), "a wheel brake is at the hose of its corner");
    assert_eq!(at("9"), Some([1.2, 0.0]));
}

/// Signs stand 0.12 m apart; the bottle is at 0.2 m, and the tail's signs run into its own.
#[test]
fn many_findings_at_one_place_stand_in_a_row() {
    let found = |number: usize, of: Option<&str>| FindingAt {
        code: number.to_string(),
        of: of.map(str::to_owned),
        station: "tail".to_owned(),
        label: String::new(),
    };
    let placed = |findings: &[FindingAt]| -> Vec<[f64; 2]> {
        let top = drawn(&car(SMALL), &base(), findings, None, View::Top);
        top.marks.iter().filter(|mark| mark.style == Style::Finding).map(|mark| mark.at).collect()
    };
    let bottle: Vec<FindingAt> = (1..=202).map(|number| found(number, Some("b1"))).collect();
    for (number, [x, y]) in placed(&bottle).into_iter().enumerate() {
        let step = if number < 200 { number as f64 } else { 0.0 };
        assert!(near(x, 0.2 + 0.12 * step) && near(y, 0.0), "{number}: {x} {y}");
    }
    let mixed: Vec<FindingAt> = (1..=150).map(|at| found(at, (at % 2 == 0).then_some("b1"))).collect();
    let mixed = placed(&mixed);
    for (at, one) in mixed.iter().enumerate() {
        let nearest = mixed[..at].iter().map(|other| (one[0] - other[0]).hypot(one[1] - other[1]));
        assert!(nearest.fold(f64::INFINITY, f64::min) > 0.1, "{at} covers another");
    }
}

#[test]
fn a_car_without_points_gives_the_ring_of_stations() {
    let bare = car("format = 1\n[car]\nid = \"bare\"\nnumber = \"9\"\n");
    for view in [View::Top, View::Side] {
        let drawing = drawn(&bare, &base(), &[], None, view);
        assert!(drawing.strokes.is_empty() && drawing.circles.is_empty());
        assert!(drawing.marks.iter().all(|mark| mark.style == Style::Station));
        assert!(drawing.notes.iter().any(|note| note.contains("not to scale")));
        assert!(drawing.bounds.size().iter().all(|side| *side > 0.5));
    }
    let nothing = plan(&Plan { car: &bare, stations: Vec::new(), findings: &[], here: None }, View::Top);
    assert!(nothing.marks.is_empty() && nothing.bounds.size()[0] > 0.5);
}

#[test]
fn both_sides_and_every_part_of_the_sample_cars_lie_inside_the_sheet() {
    for name in ["bittern", "curlew", "dunlin", "heron", "minimal", "plover"] {
        let car = shipped(name);
        for view in [View::Top, View::Side] {
            let drawing = drawn(&car, &base(), &[], None, view);
            let points = drawing.strokes.iter().flat_map(|stroke| stroke.points.clone());
            for [x, y] in points.chain(drawing.marks.iter().map(|mark| mark.at)) {
                let ([a, b], [c, d]) = (drawing.bounds.low, drawing.bounds.high);
                assert!(x > a && x < c && y > b && y < d, "{name} {view:?}");
            }
            let page = plan_page(&drawing, 720.0, Units::Us);
            well_formed(&svg(&page, name, "plan"));
            // To scale: a metre is as long across as it is up.
            let [across, up] = drawing.bounds.size();
            assert!(page.height >= 720.0 * up / across, "{name}");
        }
    }
}

#[test]
fn a_window_stays_inside() {
    let sheet = Bounds { low: [0.0, 0.0], high: [4.0, 2.0] };
    let window = sheet.window([0.1, 1.9], 0.5);
    assert_eq!((window.low, window.high), ([0.0, 1.0], [2.0, 2.0]));
    assert_eq!(sheet.window([2.0, 1.0], 1.0), sheet);
}

#[test]
fn hulls_and_dashes_by_hand() {
    let square = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.5], [0.5, 0.0]];
    assert_eq!(hull(&square), [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
    // On 2, off 1, round a corner: 0–2, 3–5, 6–7.
    let way = [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]];
    let cut = dashes(&way, &[2.0, 1.0]);
    assert_eq!(
        cut,
        [
            [[0.0, 0.0], [2.0, 0.0]],
            [[3.0, 0.0], [4.0, 0.0]],
            [[4.0, 0.0], [4.0, 1.0]],
            [[4.0, 2.0], [4.0, 3.0]]
        ]
    );
    assert_eq!(dashes(&way, &[]).len(), 2);
    assert_eq!(dashes(&way, &[0.0, 1.0]).len(), 2, "a pattern that never moves on is no pattern");
}

/// Tags close in the order they were opened, and no attribute or text holds a bare sign of markup.
pub fn well_formed(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = svg;
    while let Some(start) = rest.find('<') {
        let end = start + rest[start..].find('>').expect("a tag ends");
        let tag = &rest[start + 1..end];
        assert!(!tag.contains('<'), "{tag}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
            open.push(tag.split(' ').next().unwrap());
        }
        rest = &rest[end + 1..];
    }
    assert!(open.is_empty(), "{open:?}");
    for after in svg.split('&').skip(1) {
        let known = ["amp;", "lt;", "gt;", "quot;", "#39;"].iter().any(|word| after.starts_with(word));
        assert!(known, "&{}", &after[..after.len().min(12)]);
    }
    let names = ["svg", "title", "desc", "polyline", "polygon", "circle", "text"];
    for tag in svg.split('<').skip(1) {
        let name = tag.trim_start_matches('/').split([' ', '>']).next().unwrap();
        assert!(names.contains(&name), "{name}");
    }
    assert!(!svg.contains("href") && !svg.contains("url("));
}

#[test]
fn words_from_files_are_never_markup() {
    let mut drawing = drawn(&car(SMALL), &base(), &[], None, View::Top);
    let bad = "</text><script>alert(1)</script>\u{1b}[2J\u{202e}&\"'\u{0}\u{ffff}";
    for mark in &mut drawing.marks {
        bad.clone_into(&mut mark.label);
        bad.clone_into(&mut mark.text);
        bad.clone_into(&mut mark.id);
    }
    for stroke in &mut drawing.strokes {
        bad.clone_into(&mut stroke.label);
        bad.clone_into(&mut stroke.id);
    }
    drawing.notes.push(bad.to_owned());
    let text = svg(&plan_page(&drawing, 720.0, Units::Us), bad, bad);
    well_formed(&text);
    assert!(!text.contains("<script"));
    assert!(!text.contains(['\u{1b}', '\u{202e}', '\u{0}', '\u{ffff}']));
    assert!(text.contains("&lt;script&gt;"));
}

#[test]
fn the_same_car_gives_the_same_bytes() {
    let page = |view| plan_page(&drawn(&shipped("heron"), &base(), &[], None, view), 720.0, Units::Us);
    for view in [View::Top, View::Side] {
        assert_eq!(svg(&page(view), "Heron", "plan"), svg(&page(view), "Heron", "plan"));
    }
}

/// Signs with a code stand clear of each other and of the stations, however many are found at one place.
#[test]
fn codes_of_findings_never_lie_over_each_other() {
    let rules = base();
    let found: Vec<FindingAt> = (1..=40)
        .map(|number| FindingAt {
            code: format!("TL{number:02}-b"),
            of: (number % 4 == 0).then(|| "b1".to_owned()),
            station: ["footwell", "tail"][number % 2].to_owned(),
            label: format!("item {number}"),
        })
        .collect();
    for (name, view) in [("heron", View::Top), ("curlew", View::Side)] {
        let page = plan_page(&drawn(&shipped(name), &rules, &found, None, view), 500.0, Units::Us);
        // What is signed, and the box it takes: left, top, right, bottom.
        let signs: Vec<(&str, [f64; 4])> = page
            .ops
            .iter()
            .filter_map(|op| match op {
                Op::Circle { centre: [x, y], radius, title, .. } if *radius > 7.0 && *radius < 8.5 => {
                    Some((title.as_str(), [x - radius, y - radius, x + radius, y + radius]))
                }
                Op::Line { points, closed: true, title, .. } if title.starts_with("item") => {
                    let ([left, top], [right, bottom]) = (points[0], points[2]);
                    Some((title.as_str(), [left, top, right, bottom]))
                }
                _ => None,
            })
            .collect();
        let numbered = signs.iter().filter(|(title, ..)| title.starts_with("item"));
        // Ten at the bottle, ten at one station, twenty at the other: five each, and one sign for the rest.
        assert_eq!(numbered.clone().count(), 18, "{name}");
        let more = page.ops.iter().filter(|op| matches!(op, Op::Text { text, .. } if text == "+15"));
        assert_eq!(more.count(), 1, "{name}");
        for (title, [left, top, right, bottom]) in numbered {
            assert!(*left >= 0.0 && *right <= page.width, "{name}: {title} is off the page");
            let close = signs.iter().find(|(other, [a, b, c, d])| {
                other != title && left < c && right > a && top < d && bottom > b
            });
            assert_eq!(close, None, "{name}: {title}");
        }
    }
}

/// Brake and suppression are told apart with every colour taken away.
#[test]
fn black_and_white_says_the_same() {
    use linewalk::drawing::Pen;
    let grey = |style: Style| {
        let pen = Pen::of(style);
        (pen.width.to_bits(), pen.dash.to_vec().iter().map(|part| part.to_bits()).collect::<Vec<_>>())
    };
    let lines = [
        Style::BrakeRun,
        Style::SuppressionRun,
        Style::FlexibleRun,
        Style::Hose,
        Style::FrameTube,
        Style::Wet,
        Style::Hazard,
        Style::Shield,
        Style::KeepClear,
        Style::Cone,
    ];
    for (at, style) in lines.iter().enumerate() {
        assert!(lines[..at].iter().all(|other| grey(*other) != grey(*style)), "{style:?}");
    }
}

#[test]
fn lines_fill_from_the_bottles_outward() {
    let lines = [("n1", "t1"), ("b1", "t1"), ("t1", "n2"), ("n3", "n2")];
    assert_eq!(fill_starts_at_end(&["b1"], &lines), [true, false, false, true]);
    assert_eq!(fill_starts_at_end(&[], &lines), [false; 4], "nothing fills without a bottle");
}

fn with_curves(car: &Car) -> Situation<'_> {
    let on = NaiveDate::from_ymd_opt(2026, 10, 31).unwrap();
    Situation::with(car, Readings::default(), on, Settings::CLOSE.with_curves())
}

#[test]
fn curves_end_where_the_numbers_do() {
    for name in ["heron", "bittern", "plover"] {
        let car = shipped(name);
        let situation = with_curves(&car);
        let (all, refused) = discharge_curves(&situation);
        assert!(refused.is_empty(), "{refused:?}");
        let number = |id: &str, of: &str| {
            let answers = work(quantity(id).unwrap(), &situation);
            answers.iter().find(|answer| answer.of() == Some(of)).unwrap().number().unwrap().si().unwrap()
        };
        for curves in &all {
            assert!(curves.moments.windows(2).all(|pair| pair[0] < pair[1]));
            assert!(near(*curves.moments.last().unwrap(), curves.duration));
            let shares: f64 = curves.nozzles.iter().map(|one| one.share.last().unwrap()).sum();
            assert!(near(shares, 1.0));
            for nozzle in &curves.nozzles {
                assert!(near(nozzle.arrival.unwrap(), number("discharge.arrival", &nozzle.id)));
                // Trapezes over the solver's own steps against its own sums.
                let share = nozzle.share.last().unwrap();
                assert!((share - number("discharge.share", &nozzle.id)).abs() < 1e-4, "{name} {share}");
            }
            for line in &curves.lines {
                assert_eq!(line.wetted.len(), curves.times.len());
                assert!(curves.at(&line.wetted, 0.0) < 1e-3, "{}", line.id);
                assert!(curves.at(&line.wetted, curves.duration) > 0.99, "{}", line.id);
            }
        }
        for figure in Figure::ALL {
            let page = chart_page(&all[0], *figure, 640.0, Units::Us);
            well_formed(&svg(&page, "Discharge", "curves"));
        }
    }
}

/// Half of a line's length wet is half of its way on the drawing, from the end where agent comes in.
#[test]
fn a_wet_stretch_is_as_long_as_it_is() {
    let car = shipped("heron");
    let (all, _) = discharge_curves(&with_curves(&car));
    let base = drawn(&car, &base(), &[], None, View::Top);
    let late = filling(&base, &car, &all, all[0].duration);
    for line in &car.suppression.lines {
        let wet = stroke(&late, &line.run.id, Style::Wet);
        let dry = stroke(&late, &line.run.id, Style::SuppressionRun);
        let (a, b) = (wet.points.last().unwrap(), dry.points.last().unwrap());
        assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 1e-6, "{}", line.run.id);
    }
    let main = all[0].lines.iter().find(|line| line.id == "main").unwrap();
    let halfway = all[0].times.iter().copied().find(|t| all[0].at(&main.wetted, *t) > 0.5).unwrap();
    let share = all[0].at(&main.wetted, halfway);
    let early = filling(&base, &car, &all, halfway);
    let wet = stroke(&early, "main", Style::Wet);
    // By hand: 36,-15,8 to 68,-15,8 is the long leg; the legs before and after are sqrt 8 and sqrt 261 in.
    let (first, long, last) = (8.0_f64.sqrt(), 32.0, 261.0_f64.sqrt());
    let x = 36.0 + share * (first + long + last) - first;
    assert!((wet.points.last().unwrap()[0] / 0.0254 - x).abs() < 1e-6, "{x}");
    assert!(filling(&base, &car, &all, 0.0).marks.iter().all(|mark| mark.text != "*"));
    assert_eq!(late.marks.iter().filter(|mark| mark.text == "*").count(), 3);
}

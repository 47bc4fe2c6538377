//! How numbers leave the program, and how typed keys enter it.

use linewalk::diagnostic::SourceFile;
use linewalk::model::known::Way;
use linewalk::model::read_car;
use linewalk::numbers::{
    Answer, Input, Number, NumberValue, Readings, Refused, Situation, explain, quantity, reading_keys,
    reading_kind, registry, split_readings, split_sets, spread, strays, to_csv, to_json, to_text, work,
};
use linewalk::source::Overrides;
use linewalk::units::{Kind, Units};

use crate::numbers_rig::{RIG, answers, close, inches, psi, rig, value};

fn given(id: &str, of: &str, value: NumberValue) -> Number {
    Number { of: of.to_owned(), ..Number::given(quantity(id).unwrap(), value) }
}

#[test]
fn json_has_the_published_shape() {
    let mut rear = given("brake.pressure", "rear", NumberValue::Number(0.1 + 0.2));
    (rear.low, rear.high, rear.convergence) = (Some(0.25), Some(1.0 / 3.0), Some(0.004));
    rear.assumed = vec!["brakes.bulk_modulus".to_owned()];
    rear.source = "a \"quoted\" source".to_owned();
    let bulk = Input {
        path: "brakes.bulk_modulus".to_owned(),
        kind: Kind::Pressure,
        si: 1.4e9,
        half_width: None,
        assumed: true,
        legs: 0,
        way: Way::default(),
    };
    rear.inputs = vec![bulk];
    rear.others = vec![("brakes.line.a.to".to_owned(), false)];
    rear.unseen = vec!["brakes.line.a.to".to_owned()];
    rear.drivers = vec![("brakes.bulk_modulus".to_owned(), 0.75)];
    rear.notes = vec!["a note".to_owned()];
    let answers = [
        Answer::Number(Box::new(rear)),
        Answer::Number(Box::new(Number {
            source: "s".to_owned(),
            ..given("brake.port_match", "tandem", NumberValue::Flag(false))
        })),
        Answer::Number(Box::new(Number {
            source: "s".to_owned(),
            ..given("brake.locks_first", "rig", NumberValue::Word("front".to_owned()))
        })),
        Answer::Refused(Refused {
            quantity: "mount.bolt_margin",
            of: Some("b1".to_owned()),
            needs: vec!["suppression.bottle.b1.mount.bolt".to_owned()],
            reason: "none".to_owned(),
        }),
        Answer::Refused(Refused {
            quantity: "hose.bow",
            of: None,
            needs: Vec::new(),
            reason: "r".to_owned(),
        }),
    ];
    // The keys and their order as the command's documentation gives them; 0.1 + 0.2 shows full double precision.
    let expected = concat!(
        r#"{"format":1,"car":"rig","numbers":["#,
        r#"{"quantity":"brake.pressure","of":"rear","value":0.30000000000000004,"unit":"Pa","low":0.25,"high":0.3333333333333333,"convergence":0.004,"shown":"4.35e-5 psi","bound":"value","inputs":[{"key":"brakes.bulk_modulus","value":1400000000.0,"unit":"Pa","low":1000000000.0,"high":1900000000.0,"known":"default"},{"key":"brakes.line.a.to","value":null,"unit":null,"low":null,"high":null,"known":"assumed"}],"drivers":[{"key":"brakes.bulk_modulus","share":0.75}],"assumed":["brakes.bulk_modulus"],"notes":["a note"],"source":"a \"quoted\" source"},"#,
        r#"{"quantity":"brake.port_match","of":"tandem","value":false,"unit":"bool","low":null,"high":null,"shown":"no","bound":"value","inputs":[],"drivers":[],"assumed":[],"notes":[],"source":"s"},"#,
        r#"{"quantity":"brake.locks_first","of":"rig","value":"front","unit":"text","low":null,"high":null,"shown":"front","bound":"value","inputs":[],"drivers":[],"assumed":[],"notes":[],"source":"s"}"#,
        r#"],"refused":["#,
        r#"{"quantity":"mount.bolt_margin","of":"b1","needs":["suppression.bottle.b1.mount.bolt"],"reason":"none"},"#,
        r#"{"quantity":"hose.bow","of":null,"needs":[],"reason":"r"}]}"#,
    );
    assert_eq!(to_json("rig", &answers, Units::Us, |_| None), expected);
}

#[test]
fn csv_is_rfc_4180_without_formulas() {
    let mut loss = given("bottle.agent_loss", "=b1", NumberValue::Number(-0.02));
    loss.source = "label, \"tag\"".to_owned();
    loss.assumed = vec!["+one".to_owned(), "two".to_owned()];
    let refused =
        Refused { quantity: "hose.bow", of: None, needs: vec!["a".into(), "b".into()], reason: "-x".into() };
    let csv = to_csv(&[Answer::Number(Box::new(loss)), Answer::Refused(refused)], Units::Us, |_| None);
    let lines: Vec<&str> = csv.split("\r\n").collect();
    assert_eq!(
        lines[0],
        "quantity,of,value,unit,low,high,convergence,shown,rough,assumed,source,needs,reason,check,limit,verdict"
    );
    assert_eq!(lines[1], "bottle.agent_loss,'=b1,-0.02,1,,,,'-2 %,no,'+one; two,\"label, \"\"tag\"\"\",,,,,");
    assert_eq!(lines[2], "hose.bow,,,,,,,,,,,a; b,'-x,,,");
    assert_eq!(lines[3..], [""]);
}

#[test]
fn the_table_says_what_rows_share_once() {
    let car = rig(&[]);
    let mut all = answers(&car, "brake.pressure", &[]);
    all.extend(answers(&car, "hose.slack", &[]));
    let expected = "\
brake.pressure  rear       998 psi
brake.pressure  front      998 psi
    assumed: no losses in pedal, seals and lines
hose.slack      axle-hose  0.628 in
    the worst of 3 positions at droop

Not worked out:
hose.slack  lf-hose  brakes.hose.lf-hose.inner_end and brakes.hose.lf-hose.outer_end are not given
";
    assert_eq!(to_text(&all, Units::Us, |_| None), expected);
    let band = to_text(&answers(&car, "line.span_frequency", &[])[..1], Units::Us, |_| None);
    assert!(band.starts_with("line.span_frequency  rear-run  135.3 Hz  135.3 Hz to 307 Hz\n"), "{band}");
}

#[test]
fn one_quantity_laid_open() {
    let car = rig(&[("slack = \"1/4 in\"\n", "")]);
    let all = answers(&car, "pull.travel_left", &[]);
    let text = explain(quantity("pull.travel_left").unwrap(), &all, &Overrides::new(), Units::Us, |_| {
        vec!["pull-travel: accept".to_owned()]
    });
    let expected = "\
pull.travel_left: Handle travel left once the valve is open
  formula: handle travel - valve travel - slack - stretch x length
  source: sum of lengths (computed)

pull: 0.785 in
  band: none was worked
    suppression.pull.pull.handle_travel  2.5 in    car file
    suppression.pull.pull.valve_travel   0.75 in   car file
    suppression.pull.pull.slack          0.125 in  default, spread 0.125 in either way; common practice, no source
    suppression.pull.pull.length         84 in     car file, 83.94 in to 84.06 in
    suppression.pull.pull.stretch        0.01      default, spread 0 to 0.02; common practice, no source
  limit: pull-travel: accept
";
    assert_eq!(text, expected);
}

#[test]
fn typed_keys_are_readings_or_stand_in_for_the_file() {
    let sets = split_sets(&[
        "suppression.bottle.b1.gauge = 330 psi +/- 5 psi",
        "brakes.fluid_flushed=2026-03",
        "brakes.line.rear-run.length=100 in",
        "suppression.bottle.b1.gauge=331 psi",
    ])
    .unwrap();
    let mut readings = Readings::default();
    sets.apply(&mut readings);
    close(readings.get("suppression.bottle.b1.gauge").unwrap().si, psi(331.0), 1e-12);
    close(sets.readings[0].value.half_width.unwrap(), psi(5.0), 1e-12);
    // 1 March 2026 is day 20 513 of the count from 1 January 1970.
    assert_eq!(readings.get("brakes.fluid_flushed").unwrap().si, 20_513.0);
    assert_eq!(sets.overrides.keys().collect::<Vec<_>>(), ["brakes.line.rear-run.length"]);
    let read = read_car(&SourceFile::new("rig.toml", RIG), &sets.overrides);
    assert!(read.diagnostics.is_empty());
    close(value(&read.car, "line.length", "rear-run"), inches(100.0), 1e-12);
}

#[test]
fn a_logged_reading_of_a_car_key_stands_in_for_it_too() {
    let sets = split_readings([
        ("suppression.bottle.b1.charge_pressure", "350 psi"),
        ("electrics.coil.amps", "3 A"),
    ])
    .unwrap();
    let read = read_car(&SourceFile::new("rig.toml", RIG), &sets.overrides);
    close(value(&read.car, "bottle.expected_pressure", "b1"), psi(350.0), 1e-9);
    assert_eq!(sets.readings.len(), 1, "amps is a key of the log before it is one of the file");
}

#[test]
fn typed_keys_that_cannot_be_are_refused_where_they_stand() {
    let wrong = split_sets(&[
        "suppression.bottle.b1.gauge",
        "=3",
        "brakes.fluid_hottest=3 in",
        "brakes.fluid_flushed=soon",
    ]);
    let wrong = wrong.unwrap_err();
    assert_eq!(wrong.len(), 4);
    assert_eq!(wrong[2].at.range, 23..25, "{}", wrong[2].render());
    let sets =
        split_sets(&["suppression.bottle.b9.gauge=3 psi", "brakes.line.rear-run.lenght=3 in"]).unwrap();
    let stray = strays(&rig(&[]), &sets);
    assert_eq!(stray.len(), 1);
    assert_eq!(stray[0].help, "did you mean suppression.bottle.b1.gauge?");
    let read = read_car(&SourceFile::new("rig.toml", RIG), &sets.overrides);
    assert!(read.diagnostics[0].help.contains("brakes.line.rear-run.length"), "{}", read.diagnostics[0].help);
    assert_eq!(read_car(&SourceFile::new("rig.toml", RIG), &Overrides::new()).diagnostics.len(), 0);
}

#[test]
fn every_reading_key_of_a_car_has_its_kind() {
    let keys = reading_keys(&rig(&[]));
    // 3 of a bottle, 2 x 5 of each of two circuits, 1 of a master, 3 of the fluid, 4 pads, 3 of a part.
    assert_eq!(keys.len(), 3 + 20 + 1 + 3 + 4 + 3);
    for (key, kind) in &keys {
        assert_eq!(reading_kind(key), Some(*kind));
    }
    assert!(keys.contains(&("brakes.circuit.rear.hold_low.time".to_owned(), Kind::Time)));
}

/// Every quantity on every sample car: each number shows each input with where it comes from, each default its spread, and
/// what is refused says what it needs.
#[test]
fn every_quantity_can_be_explained_on_every_sample_car() {
    let mut explained = 0;
    for file in crate::shipped::files_in("sample-cars", ".toml") {
        if file.ends_with("-answers.toml") {
            continue;
        }
        let source = SourceFile::new("car.toml", std::fs::read_to_string(&file).unwrap());
        let car = read_car(&source, &Overrides::new()).car;
        let situation = Situation::new(&car, Readings::default(), crate::shipped::day("2026-11-25"));
        for quantity in registry() {
            let answers = work(quantity, &situation);
            let text = explain(quantity, &answers, &Overrides::new(), Units::Us, |_| Vec::new());
            assert!(text.contains("formula") && text.contains("source"), "{text}");
            for answer in &answers {
                explained += 1;
                match answer {
                    Answer::Number(number) => {
                        for input in &number.inputs {
                            let line = text.lines().find(|line| line.trim_start().starts_with(&input.path));
                            let line = line.unwrap_or_else(|| panic!("{} is not in {text}", input.path));
                            let spreads =
                                line.contains("spread") || line.contains("+/-") || line.contains(" to ");
                            assert!(!input.assumed || spread(input).is_none() || spreads, "{line}");
                        }
                    }
                    Answer::Refused(refused) => {
                        assert!(text.contains("not calculated") && !refused.reason.is_empty(), "{text}");
                    }
                }
            }
        }
    }
    println!("{explained} answers explained");
    assert!(explained > 500, "{explained}");
}

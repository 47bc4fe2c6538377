//! Discharge numbers of whole car files: against a second solver that reads the TOML by itself, and refusals by name.

use std::collections::BTreeMap;

use linewalk::model::Car;
use linewalk::numbers::{Answer, Refused, quantity, registry};

use crate::numbers_rig::{answers, car, close, number, refused, value};

/// tests/fixtures/cars/discharges.json, made by the script beside it.
#[derive(serde::Deserialize)]
struct Fixture {
    cars: BTreeMap<String, Vec<(String, String, Option<f64>)>>,
}

fn fixture() -> Fixture {
    serde_json::from_str(&std::fs::read_to_string("tests/fixtures/cars/discharges.json").unwrap()).unwrap()
}

fn file(name: &str) -> String {
    std::fs::read_to_string(format!("{name}.toml")).unwrap()
}

fn salt(changes: &[(&str, &str)]) -> Car {
    changed(&file("tests/fixtures/cars/salt"), changes)
}

fn twin(changes: &[(&str, &str)]) -> Car {
    changed(&file("tests/fixtures/cars/twin"), changes)
}

fn changed(text: &str, changes: &[(&str, &str)]) -> Car {
    let mut text = text.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    car(&text)
}

fn discharge() -> impl Iterator<Item = &'static str> {
    registry().map(|quantity| quantity.id).filter(|id| id.starts_with("discharge."))
}

/// The second solver's own error is about 1e-6; the model's numbers are promised to a thousandth.
#[test]
fn whole_cars_against_a_second_solver() {
    let fixture = fixture();
    assert_eq!(fixture.cars.len(), 6);
    for (name, rows) in fixture.cars {
        let car = car(&file(&name));
        let (mut worst, mut of_what) = (0.0_f64, String::new());
        for (id, of, expected) in &rows {
            let Some(expected) = expected else {
                assert!(refused(&car, id, of, &[]).reason.contains("empty before"), "{name} {id} {of}");
                continue;
            };
            let got = value(&car, id, of);
            // What is left where nothing is left: a tenth of a gram is nothing.
            let miss = (got - expected).abs()
                / if *expected < 1e-3 && id.ends_with("bottle") { 0.1 } else { *expected };
            if miss > worst {
                (worst, of_what) = (miss, format!("{id} of {of}: {got} against {expected}"));
            }
        }
        println!("{name}: {} numbers within {worst:.1e} ({of_what})", rows.len());
        assert!(worst < 1e-3, "{name} {of_what}");
        let all: usize = discharge().map(|id| answers(&car, id, &[]).len()).sum();
        assert_eq!(rows.len(), all, "{name}: every discharge number has its counterpart");
    }
}

#[test]
fn one_missing_input_refuses_its_whole_network_and_no_other() {
    for (line, key) in [
        ("agent_mass = \"9 lb\"\n", "suppression.bottle.big.agent_mass"),
        ("charge_pressure = \"350 psi\"\n", "suppression.bottle.big.charge_pressure"),
        ("length = \"52 in\"\n", "suppression.line.legs.length"),
        ("orifice = \"0.078 in\"\n", "suppression.nozzle.legs-nozzle.orifice"),
        ("tube = { od = \"3/16 in\", wall = \"0.028 in\" }\n", "suppression.line.legs.tube.od"),
        ("at = [60, -12, 12]\n", "suppression.tee.split.at"),
    ] {
        let car = twin(&[(line, "")]);
        for id in discharge() {
            for answer in answers(&car, id, &[]) {
                let of = answer.of().unwrap().to_owned();
                if ["lap", "seat", "cabin"].contains(&of.as_str()) {
                    assert!(answer.number().is_some(), "{id} {of} without {key}: {answer:?}");
                    continue;
                }
                let Answer::Refused(Refused { needs, .. }) = &answer else {
                    panic!("{id} {of} without {key}")
                };
                // What is missing of the thing itself is named without its id.
                let short = key.replacen(&format!(".{of}."), ".", 1);
                assert!(needs.contains(&short), "{id} {of}: {needs:?}");
            }
        }
    }
}

#[test]
fn everything_missing_is_named_at_once() {
    let car = salt(&[
        ("viscosity = \"4.1 mPa.s\"\n", ""),
        ("volume = \"3.4 L\"\n", ""),
        ("orifice = \"1.6 mm\"\n", ""),
        ("length = \"14 1/2 in\"\n", ""),
    ]);
    let needs = refused(&car, "discharge.duration", "salt", &[]).needs;
    let expected = [
        "suppression.bottle.b1.viscosity",
        "suppression.bottle.b1.volume",
        "suppression.line.right.length",
        "suppression.nozzle.n1.orifice",
    ];
    assert_eq!(needs, expected);
}

/// Every discharge number is refused with nothing missing, and for this reason.
fn cannot(car: &Car, of: &str, reason: &str) {
    let no = refused(car, "discharge.arrival", of, &[]);
    assert!(no.needs.is_empty() && no.reason.contains(reason), "{no:?}");
    for id in discharge() {
        assert!(work_refuses(car, id), "{id}");
    }
}

fn work_refuses(car: &Car, id: &str) -> bool {
    answers(car, id, &[]).iter().any(|answer| matches!(answer, Answer::Refused(_)))
}

#[test]
fn a_network_that_cannot_flow_says_why() {
    cannot(
        &salt(&[("orifice = \"1.6 mm\"\ncd", "orifice = \"0 mm\"\ncd")]),
        "n2",
        "the nozzle n1 is blocked",
    );
    cannot(
        &salt(&[("charge_pressure = \"14 bar\"", "charge_pressure = \"0 bar\"\ntemperature = \"20 C\"")]),
        "n1",
        "no pressure to push",
    );
    // 0.2 bar lifts this mix 1.6 m; these nozzles stand 2.5 m up.
    let high = salt(&[
        ("charge_pressure = \"14 bar\"", "charge_pressure = \"0.2 bar\"\ntemperature = \"20 C\""),
        ("at = [50, 14, 26]", "at = [50, 14, 110]"),
        ("at = [50, -14, 26]", "at = [50, -14, 110]"),
        ("path = [[44, -12, 20], [44, 0, 30], [50, 14, 26]]", "length = \"110 in\""),
        ("length = \"14 1/2 in\"", "length = \"100 in\""),
    ]);
    cannot(&high, "n1", "stands higher than the pressure lifts");
    // The liquid leaves 7 % of the bottle to a weak charge: it spreads out before the bottle is empty.
    let weak = salt(&[
        ("charge_pressure = \"14 bar\"", "charge_pressure = \"1 bar\""),
        ("volume = \"3.4 L\"", "volume = \"2.1 L\""),
    ]);
    cannot(&weak, "n1", "stops with agent left");
}

#[test]
fn bottles_of_one_network_hold_one_agent() {
    cannot(
        &twin(&[("agent = \"FK-5-1-12\"", "agent = \"HFC-236fa\"")]),
        "bay-nozzle",
        "different agents: FK-5-1-12 and HFC-236fa",
    );
}

#[test]
fn an_agent_whose_vapour_counts_needs_a_chart() {
    // HFC-227ea at 30 C: over 5 bar of vapour is over 10 % of 17.5 bar; worked 3.2 K from its charging, not 0.4.
    let car = |temperature: &str, chart: &str| {
        salt(&[
            (
                "agent = \"custom\"\ndensity = \"1260 kg/m3\"\nviscosity = \"4.1 mPa.s\"",
                "agent = \"HFC-227ea\"",
            ),
            ("temperature = \"10 C\"", temperature),
            ("charge_pressure = \"14 bar\"", &format!("charge_pressure = \"16.5 bar\"{chart}")),
        ])
    };
    cannot(&car("temperature = \"23.2 C\"", ""), "n1", "pressure_chart");
    let near = car("temperature = \"20.4 C\"", "");
    let notes = number(&near, "discharge.arrival", "n1", &[]).notes;
    assert!(notes.iter().any(|note| note.starts_with("liquid only: real flow is slower")), "{notes:?}");
    let chart =
        "\npressure_chart = [[\"10 C\", \"15 bar\"], [\"20 C\", \"16.5 bar\"], [\"30 C\", \"18.2 bar\"]]";
    number(&car("temperature = \"23.2 C\"", chart), "discharge.arrival", "n1", &[]);
}

#[test]
fn what_a_discharge_assumes_is_listed() {
    let assumed = |car: &Car, of: &str, id: &str| number(car, id, of, &[]).assumed;
    let plain = assumed(&salt(&[]), "n1", "discharge.arrival");
    // Roughness is given for one of three lines and inlet_k for one: the others are named one by one.
    for path in [
        "suppression.line.left.roughness",
        "suppression.line.right.roughness",
        "suppression.line.main.inlet_k",
        "suppression.line.left.fittings",
        "suppression.line.main.fittings",
        "suppression.line.right.leaves_by",
        "sharp corners where no bend_radius is given",
        "air ahead of the liquid vents freely at 101 325 Pa",
    ] {
        assert!(plain.iter().any(|words| words == path), "{path}: {plain:?}");
    }
    for path in ["suppression.gas_exponent", "suppression.bottle.outlet_k", "suppression.nozzle.cd"] {
        assert!(!plain.iter().any(|words| words == path), "{path}: {plain:?}");
    }
    // No line's roughness is given: one line says it for all.
    let smooth = assumed(&salt(&[("roughness = \"0.02 mm\"\n", "")]), "n1", "discharge.arrival");
    assert!(smooth.contains(&"suppression.line.roughness".to_owned()), "{smooth:?}");
}

/// The small bottle has no check valve. At 340 psi it flows from the first to the last; at 200 psi the big one's 350 psi
/// would push agent into it, and only a check valve keeps that out.
#[test]
fn a_bottle_that_agent_would_run_back_into_is_refused_by_name() {
    let weak = |valve: &str| {
        twin(&[
            ("charge_pressure = \"340 psi\"", "charge_pressure = \"200 psi\""),
            ("outlet_k = 1.5", &format!("outlet_k = 1.5{valve}")),
        ])
    };
    for id in discharge() {
        let of = |answer: &Answer| answer.of().is_some_and(|of| ["bay-nozzle", "small"].contains(&of));
        for answer in answers(&twin(&[]), id, &[]).iter().filter(|answer| of(answer)) {
            assert!(answer.number().is_some(), "{id}: {answer:?}");
        }
    }
    let silent = refused(&weak(""), "discharge.arrival", "bay-nozzle", &[]);
    assert_eq!(silent.needs, ["suppression.bottle.small.check_valve"]);
    let none = refused(&weak("\ncheck_valve = false"), "discharge.arrival", "bay-nozzle", &[]);
    assert!(none.needs.is_empty() && none.reason.contains("back into small"), "{none:?}");
    number(&weak("\ncheck_valve = true"), "discharge.arrival", "bay-nozzle", &[]);
    // The network without the weak bottle is worked all the same.
    number(&weak(""), "discharge.arrival", "lap", &[]);
}

/// 1.2 kg of water leave through wider nozzles in 5.7 s, the FK-5-1-12 in 20: each network has its own exponent.
#[test]
fn the_usual_gas_exponent_is_that_of_the_discharge() {
    let wide = twin(&[("\"1.5 mm\"", "\"3.2 mm\""), ("\"1.8 mm\"", "\"3.2 mm\""), ("1.8 kg", "1.2 kg")]);
    let exponent = |of: &str| {
        let number = number(&wide, "discharge.arrival", of, &[]);
        let input = number.inputs.iter().find(|input| input.path == "suppression.gas_exponent").unwrap();
        assert!(input.assumed && number.assumed.contains(&"suppression.gas_exponent".to_owned()));
        assert!(number.notes.iter().any(|note| note.starts_with("gas exponent 1")), "{:?}", number.notes);
        (input.si, linewalk::numbers::spread(input).unwrap())
    };
    // By the script that stands apart: its own runs at 1.1, and the law typed anew.
    for (of, script) in [("bay-nozzle", 1.0), ("lap", 1.096_023_746)] {
        let (si, [low, high]) = exponent(of);
        close(si, script, 1e-5);
        close(low, (script - 0.1).max(1.0), 1e-5);
        close(high, script + 0.1, 1e-5);
    }
}

#[test]
fn the_valve_counts_from_the_pull_alone() {
    let (plain, slow) = (salt(&[]), salt(&[("valve_opening = \"0.2 s\"", "valve_opening = \"0.5 s\"")]));
    for id in discharge() {
        for (one, other) in answers(&plain, id, &[]).iter().zip(answers(&slow, id, &[])) {
            let (one, other) = (one.number().unwrap().si().unwrap(), other.number().unwrap().si().unwrap());
            let later = if id == "discharge.arrival_from_pull" { 0.3 } else { 0.0 };
            assert!((other - one - later).abs() < 1e-12, "{id}: {one} {other}");
        }
    }
    let silent = salt(&[("valve_opening = \"0.2 s\"\n", "")]);
    let assumed = |id: &str| number(&silent, id, "n1", &[]).assumed;
    assert!(assumed("discharge.arrival_from_pull").contains(&"suppression.bottle.valve_opening".to_owned()));
    assert!(!assumed("discharge.arrival").iter().any(|words| words.contains("valve_opening")));
    // Of two bottles the slower valve counts: 0.25 s.
    let delay = value(&twin(&[]), "discharge.arrival_from_pull", "bay-nozzle")
        - value(&twin(&[]), "discharge.arrival", "bay-nozzle");
    close(delay, 0.25, 1e-9);
}

#[test]
fn of_two_networks_each_has_its_own_numbers() {
    let all = twin(&[]);
    // Each network by itself, the other taken out of the file.
    let text = file("tests/fixtures/cars/twin");
    let without = |ids: &[&str]| {
        let tables = text
            .split("\n[[")
            .enumerate()
            .filter(|(_, table)| !ids.iter().any(|id| table.contains(&format!("\nid = \"{id}\"\n"))));
        let mut kept = String::new();
        tables.for_each(|(n, table)| {
            kept.push_str(&if n == 0 { table.to_owned() } else { format!("\n[[{table}") })
        });
        car(&kept)
    };
    let cabin = without(&[
        "big",
        "small",
        "join",
        "split",
        "big-out",
        "small-out",
        "main",
        "bay",
        "legs",
        "bay-nozzle",
        "legs-nozzle",
    ]);
    let engine = without(&["cabin", "cabin-run", "cabin-link", "lap", "seat"]);
    // Together each goes by its bottles, and alone it is the car's.
    let of_network = discharge().filter(|id| quantity(id).unwrap().of == "network");
    let mut compared = 0;
    for id in of_network {
        close(value(&all, id, "big+small"), value(&engine, id, "twin"), 1e-12);
        close(value(&all, id, "cabin"), value(&cabin, id, "twin"), 1e-12);
        assert_eq!(answers(&all, id, &[]).len(), 2, "{id}");
        compared += 1;
    }
    assert_eq!(compared, 5);
    // Shares are of a nozzle's own network.
    let shares: f64 = ["lap", "seat"].iter().map(|of| value(&all, "discharge.share", of)).sum();
    close(shares, 1.0, 1e-12);
}

#[test]
fn a_bottle_too_small_to_fill_its_line_has_no_times_and_says_so() {
    // 0.04 lb at 1260 kg/m3 is 14.4 mL; a bore of 0.2425 in over the 57 in of the first line alone takes 43 mL.
    let dry = salt(&[("agent_mass = \"5 lb 8 oz\"", "agent_mass = \"0.04 lb\"")]);
    for id in ["discharge.time_to_90", "discharge.time_to_95"] {
        let refused = refused(&dry, id, "salt", &[]);
        assert!(
            refused.needs.is_empty() && refused.reason.contains("no agent comes out"),
            "{id}: {refused:?}"
        );
    }
    assert!(refused(&dry, "discharge.share", "n1", &[]).reason.contains("no agent comes out"));
    assert_eq!(value(&dry, "discharge.delivered", "n1"), 0.0);
}

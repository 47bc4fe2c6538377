//! Brake numbers against sums done apart, in inches and pounds, from the formulas beside them.

use linewalk::numbers::NumberValue;

use crate::numbers_rig::{LBF, answers, close, number, psi, refused, rig, value};

/// Hand sums carry all their digits; what differs is the order of arithmetic.
const SAME: f64 = 1e-9;

#[test]
fn pressure_is_force_by_lever_over_bore() {
    // 100 lbf x 6 / (pi/4 x 0.875^2) = 997.804 051 psi.
    for circuit in ["rear", "front"] {
        close(value(&rig(&[]), "brake.pressure", circuit), psi(997.804_051_384_290_9), SAME);
    }
    let boosted = rig(&[("pedal_ratio = 6", "pedal_ratio = 6\nbooster_ratio = 2.5")]);
    close(value(&boosted, "brake.pressure", "rear"), psi(2.5 * 997.804_051_384_290_9), SAME);
}

#[test]
fn a_silent_booster_is_refused_only_where_the_car_has_one() {
    let has = rig(&[("without = [\"booster\"]", "equipment = [\"booster\"]")]);
    assert_eq!(refused(&has, "brake.pressure", "front", &[]).needs, ["brakes.booster_ratio"]);
    let silent = rig(&[("without = [\"booster\"]", "")]);
    let assumed = number(&silent, "brake.pressure", "front", &[]).assumed;
    assert!(assumed.iter().any(|words| words.starts_with("no booster")), "{assumed:?}");
}

const TWO_SINGLES: [(&str, &str); 2] = [
    (
        "[[brakes.master]]\nid = \"tandem\"\nbore = \"7/8 in\"\nstroke = \"1.1 in\"\nreservoir = \"8 floz\"\nports = [{ id = \"A\", feeds = \"rear\", plumbed_to = \"rear\" }, { id = \"B\", feeds = \"front\", plumbed_to = \"front\" }]",
        "balance_bar = { front_share = \"58 %\" }\n[[brakes.master]]\nid = \"first\"\nbore = \"0.75 in\"\nstroke = \"1.4 in\"\nreservoir = \"6 floz\"\nports = [{ id = \"A\", feeds = \"rear\", plumbed_to = \"rear\" }]\n[[brakes.master]]\nid = \"second\"\nbore = \"0.625 in\"\nstroke = \"1.4 in\"\nreservoir = \"6 floz\"\nports = [{ id = \"B\", feeds = \"front\", plumbed_to = \"front\" }]",
    ),
    ("number = \"1\"", "number = \"2\""),
];

#[test]
fn a_balance_bar_gives_each_master_its_share() {
    let car = rig(&TWO_SINGLES);
    // 600 lbf x 0.58 / (pi/4 x 0.625^2) and 600 lbf x 0.42 / (pi/4 x 0.75^2).
    let area = |bore: f64| std::f64::consts::FRAC_PI_4 * bore * bore;
    close(value(&car, "brake.pressure", "front"), psi(348.0 / area(0.625)), SAME);
    close(value(&car, "brake.pressure", "rear"), psi(252.0 / area(0.75)), SAME);
    let silent = rig(&[TWO_SINGLES[0], ("balance_bar = { front_share = \"58 %\" }", "")]);
    assert_eq!(refused(&silent, "brake.pressure", "rear", &[]).needs, ["brakes.balance_bar.front_share"]);
    // The other master is what it was: the same as its own stroke.
    let left = value(&car, "brake.stroke_used_one_failed", "front");
    close(left, value(&car, "brake.stroke_used", "first"), 1e-15);
}

#[test]
fn the_front_master_is_told_by_the_wheels_it_feeds() {
    // Circuits named the wrong way round: what counts is which wheels they feed.
    let swapped = [
        TWO_SINGLES[0],
        ("circuit = \"front\"\ncaliper", "circuit = \"X\"\ncaliper"),
        ("circuit = \"rear\"\ncaliper", "circuit = \"front\"\ncaliper"),
        ("circuit = \"X\"\ncaliper", "circuit = \"rear\"\ncaliper"),
    ];
    let area = |bore: f64| std::f64::consts::FRAC_PI_4 * bore * bore;
    close(value(&rig(&swapped), "brake.pressure", "rear"), psi(348.0 / area(0.75)), SAME);
}

#[test]
fn tubes_against_the_piping_code_and_bursting() {
    let car = rig(&[]);
    // S = 137.9 MPa, D 0.1875, t = 0.85 x 0.028 in, 1995.608 psi: 2 S t/(D - 0.8 t)/p.
    close(value(&car, "brake.tube_margin", "rear-run"), 2.831_914_785_805_68, SAME);
    // I = (4R/D - 1)/(4R/D - 2) = 15/14 for R = 3/4 in.
    close(value(&car, "brake.bend_tube_margin", "rear-run"), 2.643_120_466_751_968, SAME);
    // S_u = 515 MPa: S_u (ro2 - ri2)/(ro2 + ri2)/p.
    close(value(&car, "brake.burst_margin", "rear-run"), 10.658_276_304_110_58, SAME);
    // A measured least wall of 0.025 in stands in for the default.
    close(value(&car, "brake.tube_margin", "front-run"), 2.991_749_434_446_412_6, SAME);
    let assumed = number(&car, "brake.tube_margin", "rear-run", &[]).assumed;
    assert!(assumed.contains(&"brakes.line.tube.min_wall".to_owned()), "{assumed:?}");
    let measured = number(&car, "brake.tube_margin", "front-run", &[]).assumed;
    assert!(!measured.iter().any(|words| words.contains("min_wall")), "{measured:?}");
    // Half an inch and up: 0.90 of the wall. 0.5 x 0.065: 2 S t/(D - 0.8 t), t = 0.0585 in.
    let wide = rig(&[(
        "od = \"3/16 in\", wall = \"0.028 in\", material = \"316\" }\nlength = \"88 in\"",
        "od = \"1/2 in\", wall = \"0.065 in\", material = \"316\" }\nlength = \"88 in\"",
    )]);
    let carries = 2.0 * 137.9e6 * 0.0585 / (0.5 - 0.8 * 0.0585);
    close(value(&wide, "brake.tube_margin", "rear-run"), carries / psi(1_995.608_102_768_581_8), SAME);
}

#[test]
fn tubes_that_cannot_be_worked_are_refused_by_name() {
    let silent = refused(&rig(&[]), "brake.bend_tube_margin", "front-run", &[]);
    // What is missing of the line itself is named without its id: `of` says it already.
    assert_eq!(silent.needs, ["brakes.line.bend_radius"]);
    let thick = rig(&[
        ("min_wall = \"0.025 in\"", "min_wall = \"0.028 in\""),
        (
            "od = \"3/16 in\", wall = \"0.028 in\", material = \"316\", min",
            "od = \"0.160 in\", wall = \"0.028 in\", material = \"316\", min",
        ),
    ]);
    let thick = refused(&thick, "brake.tube_margin", "front-run", &[]);
    assert!(thick.needs.is_empty() && thick.reason.contains("a sixth"), "{thick:?}");
    let odd = rig(&[("material = \"316\", min_wall", "material = \"cooper\", min_wall")]);
    let odd = refused(&odd, "brake.tube_margin", "front-run", &[]);
    assert!(odd.needs.is_empty() && odd.reason.contains("did you mean copper?"), "{odd:?}");
    let bare = rig(&[(
        "circuit = \"front\"\ntube = { od = \"3/16 in\", wall = \"0.028 in\", material = \"316\", min_wall = \"0.025 in\" }",
        "",
    )]);
    let needs = refused(&bare, "brake.burst_margin", "front-run", &[]).needs;
    assert_eq!(
        needs,
        ["tube.od", "tube.wall", "tube.material", "circuit"].map(|key| format!("brakes.line.{key}"))
    );
}

#[test]
fn clamp_and_torque_behind_the_valve() {
    let car = rig(&[]);
    // Two 1 3/8 in pistons a side at 997.804 psi; one a side at 600 + 0.4 x 397.804 psi.
    close(value(&car, "brake.clamp", "LF"), 2_963.265_306_122_449 * LBF, SAME);
    close(value(&car, "brake.clamp", "RR"), 1_127.214_686_186_878 * LBF, SAME);
    // 2 x 0.42 x clamp x radius: 10 952.228 571 and 4 355.557 547 lbf.in.
    close(value(&car, "brake.torque", "LF"), 10_952.228_571_428_574 * LBF * 0.0254, SAME);
    close(value(&car, "brake.torque", "LR"), 4_355.557_547_426_096 * LBF * 0.0254, SAME);
    let silent = rig(&[("slope = 0.4", "")]);
    assert_eq!(refused(&silent, "brake.clamp", "LR", &[]).needs, ["brakes.valve.knee.slope"]);
    close(value(&silent, "brake.clamp", "LF"), 2_963.265_306_122_449 * LBF, SAME);
    let adrift = rig(&[("id = \"knee\"\ncircuit = \"rear\"", "id = \"knee\"")]);
    assert_eq!(refused(&adrift, "brake.clamp", "LF", &[]).needs, ["brakes.valve.knee.circuit"]);
}

#[test]
fn balance_between_the_axles() {
    let car = rig(&[]);
    // Torque / tyre radius summed: 0.748 220 575.
    close(value(&car, "brake.front_share", "rig"), 0.748_220_575_315_250_1, SAME);
    // 0.44 + 1.2 x 15/98.
    close(value(&car, "brake.ideal_front_share", "rig"), 0.44 + 1.2 * 15.0 / 98.0, 1e-14);
    // Found by halving the pedal force until one axle reaches mu x its load: front, 1.035 985 g, 55.549 lbf.
    let first = number(&car, "brake.locks_first", "rig", &[]);
    assert_eq!(first.value, NumberValue::Word("front".to_owned()));
    close(value(&car, "brake.lock_deceleration", "rig"), 1.035_985_050_720_769, SAME);
    // Lost rear: mu a/(1 - mu h/L) = 0.6468; lost front: the braking force left / weight = 0.435 12.
    close(value(&car, "brake.decel_one_failed", "rear"), 0.528 / (1.0 - 1.2 * 15.0 / 98.0), 1e-12);
    close(value(&car, "brake.decel_one_failed", "front"), 0.435_120_634_108_501, SAME);
}

/// The rig without its rear wheel brakes, and other changes.
fn no_rear_discs(more: &[(&str, &str)]) -> linewalk::model::Car {
    let brake = |id: &str| {
        format!(
            "[[brakes.wheel_brake]]\nid = \"{id}\"\ncircuit = \"rear\"\ncaliper = \"fixed\"\npistons = 2\npiston_bore = \"1 3/8 in\"\neffective_radius = \"4.6 in\"\npad_friction = 0.42\npad_gap = \"0.005 in\"\npad_new = \"0.50 in\"\npad_min = \"0.12 in\"\n"
        )
    };
    let (left, right) = (brake("LR"), brake("RR"));
    let mut changes = vec![(left.as_str(), ""), (right.as_str(), "")];
    changes.extend(more);
    rig(&changes)
}

#[test]
fn rear_drums_are_not_the_same_as_no_rear_brakes() {
    let silent = no_rear_discs(&[]);
    let drums = no_rear_discs(&[("without = [\"booster\"]", "without = [\"booster\", \"disc-rear\"]")]);
    for car in [&silent, &drums] {
        for (id, of) in [
            ("brake.front_share", "rig"),
            ("brake.locks_first", "rig"),
            ("brake.lock_deceleration", "rig"),
            ("brake.decel_one_failed", "front"),
            ("brake.decel_one_failed", "rear"),
            ("brake.stroke_used", "tandem"),
            ("brake.stroke_used_one_failed", "front"),
            ("brake.reservoir_left", "tandem"),
        ] {
            let refused = refused(car, id, of, &[]);
            assert_eq!(refused.needs, ["brakes.wheel_brake.LR", "brakes.wheel_brake.RR"], "{id}");
            assert!(refused.reason.contains("axles_without"), "{id}: {}", refused.reason);
        }
    }
    // What hangs on the front circuit alone is worked all the same.
    value(&drums, "brake.stroke_used_one_failed", "rear");
    value(&drums, "brake.torque", "LF");
}

#[test]
fn an_axle_said_to_have_no_brake_is_taken_at_its_word() {
    let none = no_rear_discs(&[("[brakes]\n", "[brakes]\naxles_without = [\"rear\"]\n")]);
    assert_eq!(value(&none, "brake.front_share", "rig"), 1.0);
    assert_eq!(number(&none, "brake.locks_first", "rig", &[]).value, NumberValue::Word("front".to_owned()));
    // mu a/(1 - mu h/L): the front axle alone.
    close(value(&none, "brake.decel_one_failed", "rear"), 0.528 / (1.0 - 1.2 * 15.0 / 98.0), 1e-12);
    assert_eq!(value(&none, "brake.decel_one_failed", "front"), 0.0);
    // One wheel of an axle missing is missing, whatever is said of the other axle.
    let text = crate::numbers_rig::RIG.replace("[brakes]\n", "[brakes]\naxles_without = [\"rear\"]\n");
    let file = linewalk::diagnostic::SourceFile::new("rig.toml", &text);
    let read = linewalk::model::read_car(&file, &linewalk::source::Overrides::default());
    let said: Vec<String> = read.diagnostics.iter().map(|diagnostic| diagnostic.message.clone()).collect();
    assert_eq!(said, ["the rear axle has a brake in this file: LR"]);
}

#[test]
fn the_axle_that_locks_first_is_told_over_the_whole_range_of_grip() {
    let notes = |car: &linewalk::model::Car| number(car, "brake.locks_first", "rig", &[]).notes.join("; ");
    let word = |car: &linewalk::model::Car| number(car, "brake.locks_first", "rig", &[]).value;
    let rear = NumberValue::Word("rear".to_owned());
    let front = NumberValue::Word("front".to_owned());
    // Without the valve the front makes 0.8/(0.8 + 4.6/13) = 0.693 33 of the force: the rear is first above
    // (0.693 33 - 0.44) x 98/15 = 1.6551, out of reach of tires of 1.2 give or take 15 %, within it of tires of 1.5.
    let bare = ("kind = \"proportioning\"\nknee = \"600 psi\"\nslope = 0.4", "kind = \"line-lock\"");
    let ordinary = rig(&[bare]);
    assert_eq!(word(&ordinary), front);
    assert!(notes(&ordinary).contains("front first from 0.3 to 1.38"), "{}", notes(&ordinary));
    let sticky = rig(&[bare, ("tyre_friction = 1.2", "tyre_friction = 1.5")]);
    assert_eq!(word(&sticky), rear);
    assert!(
        notes(&sticky).contains("front first from 0.3 to 1.66, rear first from 1.66 to 1.73"),
        "{}",
        notes(&sticky)
    );
    // Where the given friction is stated, its own half-width is the end.
    let stated = rig(&[bare, ("tyre_friction = 1.2", "tyre_friction = \"1.5 +/- 0.1\"")]);
    assert_eq!(word(&stated), front);
    // Tires of their own at each axle: rear ones of half the grip lock first on every road.
    let split = rig(&[("tyre_friction = 1.2", "tire_friction = { front = 1.2, rear = 0.6 }")]);
    assert_eq!(word(&split), rear);
    let alike = rig(&[("tyre_friction = 1.2", "tire_friction = { front = 1.2, rear = 1.2 }")]);
    for (id, of) in [
        ("brake.lock_deceleration", "rig"),
        ("brake.ideal_front_share", "rig"),
        ("brake.decel_one_failed", "rear"),
    ] {
        close(value(&alike, id, of), value(&rig(&[]), id, of), 1e-12);
    }
}

#[test]
fn missing_inputs_of_the_balance_are_named_together() {
    let bare =
        rig(&[("mass = \"1540 lb\"", ""), ("cg_height = \"15 in\"", ""), (", rear = \"13 in\" }", " }")]);
    let needs = refused(&bare, "brake.locks_first", "rig", &[]).needs;
    assert_eq!(needs, ["car.mass", "car.cg_height", "car.tyre_radius.rear"]);
    assert_eq!(refused(&bare, "brake.ideal_front_share", "rig", &[]).needs, ["car.cg_height"]);
}

#[test]
fn stroke_used_by_pads_squeeze_and_hoses() {
    // Pads 0.015 in x 8 or 4 x pi/4 x 1.375^2 twice or twice; bores 0.1315 in x 70 and 88 in, 1/8 in x 27.25 and 13 in
    // at 997.804 psi / 1.4 GPa; hoses 0.66 cc/ft x 0.997 804; bore area x 1.1 in. One cc = 1/16.387 064 in3.
    let car = rig(&[]);
    close(value(&car, "brake.stroke_used", "tandem"), 0.627_478_782_777_039, SAME);
    close(value(&car, "brake.stroke_used_one_failed", "rear"), 0.916_901_727_098_053_6, SAME);
    close(value(&car, "brake.stroke_used_one_failed", "front"), 0.710_577_055_678_985_2, SAME);
    let assumed = number(&car, "brake.stroke_used", "tandem", &[]).assumed;
    for words in ["brakes.wheel_brake.rollback", "brakes.bulk_modulus"] {
        assert!(assumed.contains(&words.to_owned()), "{assumed:?}");
    }
    assert!(assumed.iter().any(|words| words.starts_with("at least: pedal and rod play")), "{assumed:?}");
    let short = rig(&[("length = \"88 in\"", ""), ("bore = \"1/8 in\"\ninner_end", "inner_end")]);
    let needs = refused(&short, "brake.stroke_used", "tandem", &[]).needs;
    assert_eq!(needs, ["brakes.line.rear-run.length", "brakes.hose.axle-hose.bore"]);
}

#[test]
fn reservoir_and_ports() {
    let car = rig(&[]);
    // 8 US fl oz = 14.4375 in3, less 12 pistons x pi/4 x 1.375^2 x 0.38 in: 7.666 386 in3.
    close(value(&car, "brake.reservoir_left", "tandem"), 7.666_386_083_809_749 * 0.0254_f64.powi(3), 1e-9);
    assert_eq!(number(&car, "brake.port_match", "tandem", &[]).value, NumberValue::Flag(true));
    let crossed = rig(&[("id = \"A\", feeds = \"rear\"", "id = \"A\", feeds = \"front\"")]);
    let crossed = number(&crossed, "brake.port_match", "tandem", &[]);
    assert_eq!(crossed.value, NumberValue::Flag(false));
    assert_eq!(crossed.notes, ["port A is made for front and plumbed to rear"]);
    let silent = rig(&[(
        "id = \"B\", feeds = \"front\", plumbed_to = \"front\"",
        "id = \"B\", plumbed_to = \"front\"",
    )]);
    assert_eq!(refused(&silent, "brake.port_match", "tandem", &[]).needs, ["brakes.master.ports.B.feeds"]);
}

#[test]
fn a_port_plumbed_nowhere_is_refused_by_its_own_name() {
    let car = rig(&[(", plumbed_to = \"rear\" }", " }"), ("circuit = \"rear\"", "circuit = \"front\"")]);
    assert_eq!(refused(&car, "brake.pressure", "A", &[]).needs, ["brakes.master.tandem.ports.plumbed_to"]);
    close(value(&car, "brake.pressure", "front"), psi(997.804_051_384_290_9), SAME);
}

const HOLD: [(&str, &str); 4] = [
    ("brakes.circuit.rear.hold.start_pressure", "1200 psi"),
    ("brakes.circuit.rear.hold.end_pressure", "1188 psi"),
    ("brakes.circuit.rear.hold.start_temperature", "20.5 C"),
    ("brakes.circuit.rear.hold.end_temperature", "20 C"),
];

#[test]
fn a_hold_carries_its_temperature_band() {
    // 12/1200 = 1 %; half a kelvin explains 5 to 35 psi: -23/1200 to 7/1200.
    let hold = number(&rig(&[]), "brake.hold_drop", "rear", &HOLD);
    close(hold.si().unwrap(), 0.01, 1e-12);
    close(hold.low.unwrap(), -23.0 / 1200.0, 1e-9);
    close(hold.high.unwrap(), 7.0 / 1200.0, 1e-9);
    let fall = hold.hold.unwrap();
    close(fall.cooled, 0.5, 1e-9);
    close(fall.temperature_part, 35.0 / 1200.0, 1e-9);
    let blind = refused(&rig(&[]), "brake.hold_drop", "rear", &HOLD[..2]);
    assert_eq!(blind.needs, [HOLD[2].0, HOLD[3].0]);
    let other = refused(&rig(&[]), "brake.hold_drop_low", "rear", &HOLD);
    assert_eq!(other.needs.len(), 4);
}

/// Summed apart, in cubic centimeters and psi: lines 88 in of 0.1315 in bore, hose 13 in of 1/8 in, calipers 30 each hold
/// 82.20; half of a chamber 7/8 in by 1.1 in 5.42 more. Hose by 49 CFR 571.106 Table I, (0.79 - 0.66)/500 a foot and psi,
/// a quarter to all of it; calipers 0.6 at 1,000 psi; 1.0 to 1.9 GPa; (7.5e-4 +/- 15 %) - 3 x 11.7e-6 a kelvin.
const LEAST: f64 = 34.187_041_4;
const MOST: f64 = 73.348_993_7;

#[test]
fn a_known_circuit_says_what_a_kelvin_does_to_it() {
    let known = [("pad_min = \"0.12 in\"", "pad_min = \"0.12 in\"\nholds = \"30 mL\"\nflex = \"0.3 mL\"")];
    let hold = number(&rig(&known), "brake.hold_drop", "rear", &HOLD);
    // 12 psi as read; half a kelvin explains half of what one does.
    close(hold.low.unwrap(), (12.0 - 0.5 * MOST) / 1200.0, 1e-6);
    close(hold.high.unwrap(), (12.0 - 0.5 * LEAST) / 1200.0, 1e-6);
    let said = |words: &[String], what: &str| words.iter().any(|words| words.contains(what));
    assert!(said(&hold.assumed, "one kelvin moves this circuit by 34.2 psi"), "{:?}", hold.assumed);
    // One caliper that is not known, or a line without its wall: the rough band, which says what would mend it.
    for (old, new) in [("flex = \"0.3 mL\"", ""), ("wall = \"0.028 in\", ", "")] {
        let text = [known[0], (old, new)];
        let rough = number(&rig(&text), "brake.hold_drop", "rear", &HOLD);
        close(rough.low.unwrap(), -23.0 / 1200.0, 1e-9);
        assert!(
            said(&rough.assumed, "10 to 70 psi/K") && said(&rough.assumed, "flex"),
            "{:?}",
            rough.assumed
        );
    }
}

#[test]
fn fluid_against_its_wet_boiling_point() {
    // DOT 4 boils wet at 155 C (49 CFR 571.116): 15 K over 140 C.
    let hot = [("brakes.fluid_hottest", "140 C")];
    close(number(&rig(&[]), "brake.fluid_margin", "rig", &hot).si().unwrap(), 15.0, 1e-9);
    assert_eq!(refused(&rig(&[]), "brake.fluid_margin", "rig", &[]).needs, ["brakes.fluid_hottest"]);
    let odd = refused(&rig(&[("DOT 4", "DOT 6")]), "brake.fluid_margin", "rig", &hot);
    assert!(odd.reason.contains("did you mean DOT"), "{odd:?}");
}

#[test]
fn every_circuit_and_wheel_has_its_answer() {
    let car = rig(&[]);
    let of = |id: &str| answers(&car, id, &[]).iter().map(|a| a.of().unwrap().to_owned()).collect::<Vec<_>>();
    assert_eq!(of("brake.pressure"), ["rear", "front"]);
    assert_eq!(of("brake.torque"), ["LF", "RF", "LR", "RR"]);
    assert_eq!(of("brake.tube_margin"), ["rear-run", "front-run"]);
}

/// Drums where the rig has rear discs; sizes as in no car in particular.
fn rear_drums(drum: &str) -> linewalk::model::Car {
    let wheel = |id: &str| {
        format!(
            "[[brakes.wheel_brake]]\nid = \"{id}\"\ncircuit = \"rear\"\npad_friction = 0.36\npad_gap = \"0.010 in\"\ndrum = {{ {drum} }}\n"
        )
    };
    let drums = format!("{}{}[suppression]\n", wheel("LR"), wheel("RR"));
    no_rear_discs(&[("[suppression]\n", drums.as_str())])
}

const SHOES: &str = "kind = \"leading-trailing\", diameter = \"9 in\", cylinder_bore = \"13/16 in\", anchor = \"3.6 in\", arm = \"6.8 in\", lining_from = \"25 deg\", lining_to = \"135 deg\"";

#[test]
fn rear_drums_are_worked_and_what_they_lack_is_named() {
    let car = rear_drums(SHOES);
    for (id, of) in [
        ("brake.front_share", "rig"),
        ("brake.lock_deceleration", "rig"),
        ("brake.decel_one_failed", "front"),
        ("brake.stroke_used", "tandem"),
        ("brake.stroke_used_one_failed", "front"),
        ("brake.torque", "LR"),
        ("brake.drum_factor", "RR"),
    ] {
        assert!(value(&car, id, of) > 0.0, "{id}");
    }
    assert_eq!(number(&car, "brake.locks_first", "rig", &[]).value, NumberValue::Word("front".to_owned()));
    let bare = rear_drums("kind = \"duo-servo\", diameter = \"9 in\"");
    let needs = refused(&bare, "brake.torque", "LR", &[]).needs;
    let named = ["anchor", "arm", "lining_from", "lining_to", "link", "cylinder_bore"];
    assert_eq!(needs, named.map(|key| format!("brakes.wheel_brake.drum.{key}")));
    // Friction at which the leading shoe locks itself.
    let sticky = rear_drums(&SHOES.replace("3.6 in", "1.5 in"));
    let refused = refused(&sticky, "brake.drum_factor", "LR", &[]);
    assert!(refused.needs.is_empty() && refused.reason.contains("would grab"), "{}", refused.reason);
}

#[test]
fn a_residual_valve_is_read_by_the_brakes_it_feeds() {
    let valve = "[[brakes.valve]]\nid = \"ten\"\ncircuit = \"front\"\nkind = \"residual\"\nholds = \"10 psi\"\n[suppression]\n";
    let discs = rig(&[("[suppression]\n", valve)]);
    close(value(&discs, "brake.residual_discs", "ten"), 10.0 * linewalk::units::PSI, SAME);
    let none = refused(&discs, "brake.residual_drums", "rig", &[]);
    assert!(none.reason.contains("no residual valve feeds drum brakes"), "{}", none.reason);
    let silent = rig(&[("[suppression]\n", &valve.replace("holds = \"10 psi\"\n", ""))]);
    assert_eq!(refused(&silent, "brake.residual_discs", "ten", &[]).needs, ["brakes.valve.holds"]);
}

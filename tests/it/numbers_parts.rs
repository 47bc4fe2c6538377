//! Hoses, lines, sleeves, nozzles, bottles, mounts, pulls and electrics against sums done apart.

use linewalk::numbers::Shown;
use linewalk::units::Units;

use crate::numbers_rig::{LBF, answers, close, inches, number, psi, refused, rig, value};

const SAME: f64 = 1e-9;

#[test]
fn a_hose_over_its_positions() {
    let car = rig(&[]);
    // Chords: droop and bump sqrt(144 + 4 + 2.25^2) = 12.371 843, ride sqrt(148.25) = 12.175 796 in; L = 13 in.
    close(value(&car, "hose.slack", "axle-hose"), inches(0.628_156_968_341_377_5), SAME);
    close(value(&car, "hose.length_ratio", "axle-hose"), 1.050_773_111_712_941_3, SAME);
    // sqrt(3 x 12.175 796 x 0.824 204 / 8).
    close(value(&car, "hose.bow", "axle-hose"), inches(1.939_910_784_467_641_3), SAME);
    // 2 E(k)/K(k) - 1 = 12.175 796/13 solved with mpmath 1.4, R = L/(4 k K): 8.118 016 in at ride.
    let bend = number(&car, "hose.bend_radius", "axle-hose", &[]);
    close(bend.si().unwrap(), inches(8.118_015_588_872_29), 1e-9);
    assert_eq!(bend.notes, ["the worst of 3 positions at ride"]);
    assert!(bend.assumed.iter().any(|words| words.contains("at most")), "{:?}", bend.assumed);
    let needs = refused(&car, "hose.slack", "lf-hose", &[]).needs;
    assert_eq!(needs, ["brakes.hose.inner_end", "brakes.hose.outer_end"]);
}

#[test]
fn a_hose_that_cannot_be_worked_says_why() {
    let short = rig(&[("length = \"13 in\"", "length = \"12 1/4 in\"")]);
    close(value(&short, "hose.slack", "axle-hose"), inches(12.25 - 12.371_843_031_658_623), 1e-7);
    let bend = refused(&short, "hose.bend_radius", "axle-hose", &[]);
    assert!(
        bend.needs.is_empty()
            && bend.reason.contains("shorter than the distance")
            && bend.reason.contains("droop"),
        "{bend:?}"
    );
    let slack = refused(&rig(&[("length = \"13 in\"", "length = \"16 in\"")]), "hose.bow", "axle-hose", &[]);
    assert!(slack.needs.is_empty() && slack.reason.contains("30 %"), "{slack:?}");
    let parked = refused(&rig(&[("ride = [4, 0, 9], ", "")]), "hose.bow", "axle-hose", &[]);
    assert_eq!(parked.needs, ["brakes.hose.outer_end.ride"]);
}

#[test]
fn lengths_of_lines() {
    let car = rig(&[]);
    // Legs 10 + 20 + 5 less two square bends of 3/4 in: 2 x (2 x 0.75 - 0.75 pi/2) = 34.356 194 in.
    close(value(&car, "line.length", "main"), inches(34.356_194_490_192_344), SAME);
    close(value(&car, "line.length", "rear-run"), inches(88.0), SAME);
    let of: Vec<_> = answers(&car, "line.length", &[]).iter().map(|a| a.of().unwrap().to_owned()).collect();
    assert_eq!(of, ["rear-run", "front-run", "main", "stub", "run"]);
    let sharp = rig(&[("[10, 20, 5]]\nbend_radius = \"3/4 in\"", "[10, 20, 5]]")]);
    let sharp = number(&sharp, "line.length", "main", &[]);
    close(sharp.si().unwrap(), inches(35.0), SAME);
    assert_eq!(sharp.assumed, ["sharp corners where no bend_radius is given"]);
}

#[test]
fn spans_sing_between_pinned_and_clamped() {
    let car = rig(&[]);
    // 3/16 x 0.028 in of 316 (193 GPa, 8000 kg/m3), 1060 kg/m3 inside, 11 in: pi/2 and (4.730 040 745)^2/2 pi.
    let brake = number(&car, "line.span_frequency", "rear-run", &[]);
    close(brake.si().unwrap(), 135.312_072_427_957_82, SAME);
    close(brake.low.unwrap(), 135.312_072_427_957_82, SAME);
    close(brake.high.unwrap(), 306.737_281_249_621_5, SAME);
    assert!(
        brake.notes.iter().any(|note| note.contains("the first order stays clear of it")),
        "{:?}",
        brake.notes
    );
    // 1/4 x 0.035 in with an agent of 1200 kg/m3: 179.393 and 406.663 Hz.
    let supply = number(&car, "line.span_frequency", "main", &[]);
    close(supply.si().unwrap(), 179.392_838_548_951_83, SAME);
    close(supply.high.unwrap(), 406.663_430_577_893_85, SAME);
    let of: Vec<_> =
        answers(&car, "line.span_frequency", &[]).iter().map(|a| a.of().unwrap().to_owned()).collect();
    assert_eq!(of, ["rear-run", "front-run", "main", "run"], "a flexible line has no span");
    let needs = refused(&car, "line.span_frequency", "front-run", &[]).needs;
    assert_eq!(needs, ["brakes.line.support_gap"]);
}

#[test]
fn published_spacings_and_bends() {
    let car = rig(&[]);
    // 14 in for 3/16 in steel (FAA-H-8083-30 Table 7-5) and 16 in for 1/4 in (MIL-H-8891A Table II), over 11 in.
    let brake = number(&car, "line.support_margin", "rear-run", &[]);
    close(brake.si().unwrap(), 14.0 / 11.0, SAME);
    assert!(brake.notes[0].starts_with("hydraulic-line table, row 3/16 in: 14 in"), "{:?}", brake.notes);
    assert!(brake.notes[1].contains("fuel-line table, row 3/16 in: 9 in"), "{:?}", brake.notes);
    close(value(&car, "line.support_margin", "main"), 16.0 / 11.0, SAME);
    // 21/32 in and 7/8 in (AC 43.13-1B Table 9-2) under 3/4 in.
    close(value(&car, "line.bend_margin", "rear-run"), 0.75 / 0.656_25, SAME);
    close(value(&car, "line.bend_margin", "main"), 0.75 / 0.875, SAME);
}

#[test]
fn room_in_a_sleeve() {
    // 5/8 in less two walls of 0.058 in, less two 3/16 in lines side by side: 0.134 in.
    close(value(&rig(&[]), "sleeve.clearance", "sleeve"), inches(0.134), 1e-9);
    // One line of each system: 0.509 - 0.1875 - 0.25 in.
    let mixed = rig(&[("\"rear-run\", \"front-run\"]", "\"rear-run\", \"main\"]")]);
    close(value(&mixed, "sleeve.clearance", "sleeve"), inches(0.0715), 1e-9);
    let empty = rig(&[("carries = [\"rear-run\", \"front-run\"]", "")]);
    assert_eq!(refused(&empty, "sleeve.clearance", "sleeve", &[]).needs, ["frame.sleeve.carries"]);
}

#[test]
fn ways_to_the_nozzles() {
    let car = rig(&[]);
    close(value(&car, "nozzle.flexible_length", "near"), inches(8.0), SAME);
    assert_eq!(value(&car, "nozzle.flexible_length", "far"), 0.0);
    // "stub" is silent and leaves its tee by the branch; "run" leaves by the run.
    let near = number(&car, "nozzle.branch_turns", "near", &[]);
    assert_eq!(near.si(), Some(1.0));
    assert_eq!(near.assumed, ["suppression.line.leaves_by"]);
    assert_eq!(value(&car, "nozzle.branch_turns", "far"), 0.0);
    let silent = rig(&[("construction = \"flexible\"", "")]);
    assert_eq!(
        refused(&silent, "nozzle.flexible_length", "near", &[]).needs,
        ["suppression.line.stub.construction"]
    );
}

#[test]
fn several_bottles_count_each_line_once() {
    let second = "[[suppression.bottle]]\nid = \"b2\"\n[[suppression.line]]\nid = \"second\"\nfrom = \"b2\"\nto = \"t1\"\nconstruction = \"flexible\"\nlength = \"5 in\"\n[[suppression.tee]]";
    let car = rig(&[("[[suppression.tee]]", second)]);
    close(value(&car, "nozzle.flexible_length", "near"), inches(13.0), SAME);
    close(value(&car, "nozzle.flexible_length", "far"), inches(5.0), SAME);
    assert_eq!(value(&car, "nozzle.branch_turns", "near"), 1.0);
}

#[test]
fn spray_in_closed_form() {
    let car = rig(&[]);
    // A 60 degree cone 10 in before a face of 30 x 40 in wets pi (10 tan 30)^2 / 1200.
    let share = std::f64::consts::PI * (10.0 * 30_f64.to_radians().tan()).powi(2) / 1200.0;
    let near = number(&car, "nozzle.coverage", "near -> bay", &[]);
    close(near.si().unwrap(), share, 1e-5);
    assert_eq!(near.assumed.len(), 1, "{:?}", near.assumed);
    close(value(&car, "hazard.coverage", "bay"), share, 1e-5);
    assert!(value(&car, "nozzle.off_axis", "near -> bay").abs() < 1e-12);
    // Straight up, 5 in above, 0.2 in wide: the underside is hit whole, and only it looks down.
    close(value(&car, "nozzle.hits", "far -> above"), 1.0, 1e-6);
    assert_eq!(value(&car, "nozzle.hits", "near -> above"), 0.0);
    let assumed = number(&car, "nozzle.hits", "far -> above", &[]).assumed;
    assert_eq!(
        assumed[..2],
        ["suppression.nozzle.far.cone", "suppression.nozzle.far.reach"].map(|path| path.replace(".far", ""))
    );
    let of: Vec<_> =
        answers(&car, "nozzle.coverage", &[]).iter().map(|a| a.of().unwrap().to_owned()).collect();
    assert_eq!(of, ["near -> bay"], "only pairs that protects names");
    // A right angle and a half: from 10 in above the centre, aimed back, 45 degrees down.
    let high = rig(&[("id = \"near\"\nat = [50, 0, 20]", "id = \"near\"\nat = [50, 0, 30]")]);
    close(value(&high, "nozzle.off_axis", "near -> bay"), 45_f64.to_radians(), 1e-12);
}

#[test]
fn spray_without_its_inputs() {
    let lost = rig(&[
        ("id = \"near\"\nat = [50, 0, 20]\naim = [-1, 0, 0]", "id = \"near\""),
        ("face = \"front\"", ""),
    ]);
    let needs = refused(&lost, "nozzle.coverage", "near -> bay", &[]).needs;
    assert_eq!(
        needs,
        ["suppression.nozzle.near.at", "suppression.nozzle.near.aim", "suppression.hazard.bay.face"]
    );
    let nothing = rig(&[("protects = [\"bay\"]", "")]);
    assert_eq!(refused(&nothing, "nozzle.off_axis", "", &[]).needs, ["suppression.nozzle.protects"]);
    assert_eq!(value(&nothing, "hazard.coverage", "bay"), 0.0);
    let shaded = rig(&[(
        "[[suppression.keep_clear]]",
        "[[suppression.shield]]\nid = \"wall\"\n[[suppression.keep_clear]]",
    )]);
    assert_eq!(refused(&shaded, "nozzle.hits", "far -> above", &[]).needs, ["suppression.shield.wall.box"]);
}

#[test]
fn pressure_carried_to_the_shell_temperature() {
    let car = rig(&[]);
    close(value(&car, "bottle.expected_pressure", "b1"), psi(360.0), SAME);
    // (360 + 14.696) x 523.67/529.67 - 14.696 = 355.756 psi; 330 psi is 7.24 % under it.
    let cool =
        [("suppression.bottle.b1.shell_temperature", "64 F"), ("suppression.bottle.b1.gauge", "330 psi")];
    close(
        number(&car, "bottle.expected_pressure", "b1", &cool).si().unwrap(),
        psi(355.755_516_278_714_9),
        SAME,
    );
    close(number(&car, "bottle.pressure_error", "b1", &cool).si().unwrap(), -0.072_396_674_401_903_91, 1e-8);
    // (200 + 14.696) x 589.67/529.67 - 14.696 = 224.32 psi.
    let letter = rig(&[("360 psi", "200 psi")]);
    let hot = [("suppression.bottle.b1.shell_temperature", "130 F")];
    close(number(&letter, "bottle.expected_pressure", "b1", &hot).si().unwrap(), psi(224.32), 1e-4);
    assert_eq!(refused(&car, "bottle.pressure_error", "b1", &[]).needs, ["suppression.bottle.b1.gauge"]);
    let silent = rig(&[("[suppression]\ntemperature = \"70 F\"", "[suppression]")]);
    let assumed = number(&silent, "bottle.expected_pressure", "b1", &[]).assumed;
    assert!(assumed.contains(&"suppression.bottle.temperature".to_owned()), "{assumed:?}");
}

#[test]
fn an_agent_with_its_own_vapour_needs_the_makers_chart() {
    let hot = [("suppression.bottle.b1.shell_temperature", "100 F")];
    let near = [("suppression.bottle.b1.shell_temperature", "70.5 F")];
    // 10 % of 374.7 psi is 37.5 psi absolute.
    let strong =
        rig(&[("density = \"1200 kg/m3\"", "density = \"1200 kg/m3\"\nvapour_pressure = \"38 psia\"")]);
    let no = refused(&strong, "bottle.expected_pressure", "b1", &hot);
    assert!(no.needs.is_empty() && no.reason.contains("pressure_chart"), "{no:?}");
    number(&strong, "bottle.expected_pressure", "b1", &near);
    let mild =
        rig(&[("density = \"1200 kg/m3\"", "density = \"1200 kg/m3\"\nvapour_pressure = \"37 psia\"")]);
    number(&mild, "bottle.expected_pressure", "b1", &hot);
    let chart = "density = \"1200 kg/m3\"\nvapour_pressure = \"60 psia\"\npressure_chart = [[\"40 F\", \"300 psi\"], [\"80 F\", \"380 psi\"], [\"120 F\", \"480 psi\"]]";
    let charted = rig(&[("density = \"1200 kg/m3\"", chart)]);
    close(number(&charted, "bottle.expected_pressure", "b1", &hot).si().unwrap(), psi(430.0), 1e-9);
    let outside = [("suppression.bottle.b1.shell_temperature", "130 F")];
    let out = refused(&charted, "bottle.expected_pressure", "b1", &outside);
    assert!(out.needs.is_empty() && out.reason.contains("outside the maker's pressure_chart"), "{out:?}");
}

#[test]
fn what_a_bottle_holds_and_lost() {
    let car = rig(&[]);
    // (17.2 - 16.9)/10 and 10 lb / 1200 kg/m3 / 330 in3.
    let weighed = [("suppression.bottle.b1.weighed", "16.9 lb")];
    close(number(&car, "bottle.agent_loss", "b1", &weighed).si().unwrap(), 0.03, 1e-9);
    close(value(&car, "bottle.fill", "b1"), 0.698_987_492_682_897_2, SAME);
    let thin = rig(&[("density = \"1200 kg/m3\"", "")]);
    assert_eq!(refused(&thin, "bottle.fill", "b1", &[]).needs, ["suppression.bottle.density"]);
    let unknown = refused(&rig(&[("\"custom\"", "\"zzz\"")]), "bottle.fill", "b1", &[]);
    assert!(unknown.needs.is_empty() && unknown.reason.contains("zzz"), "{unknown:?}");
}

#[test]
fn days_to_service_and_test() {
    let car = rig(&[]);
    // 25 Nov 2026 to 14 Mar 2028: 36 + 365 + 74 days; to 1 May 2028: 36 + 365 + 122.
    let service = number(&car, "bottle.service_left", "b1", &[]);
    assert_eq!((service.si(), service.shown(Units::Us).as_str()), (Some(475.0), "475 days"));
    assert_eq!(value(&car, "bottle.test_left", "b1"), 523.0);
    let today = rig(&[(
        "serviced = 2026-03-14\nservice_every = \"2 years\"",
        "serviced = 2025-11-25\nservice_every = \"1 year\"",
    )]);
    assert_eq!(value(&today, "bottle.service_left", "b1"), 0.0);
    let late = rig(&[(
        "serviced = 2026-03-14\nservice_every = \"2 years\"",
        "serviced = 2026-08-31\nservice_every = \"1 month\"",
    )]);
    // 31 August and one month is 30 September: 56 days gone.
    assert_eq!(value(&late, "bottle.service_left", "b1"), -56.0);
    let silent = rig(&[("serviced = 2026-03-14\nservice_every = \"2 years\"", "")]);
    let needs = refused(&silent, "bottle.service_left", "b1", &[]).needs;
    assert_eq!(needs, ["suppression.bottle.serviced", "suppression.bottle.service_every"]);
    assert_eq!(service.shown_as, Shown::Days);
}

#[test]
fn bolts_in_their_worst_direction() {
    // Every direction tried on a grid of 1500 x 1500: 16.5624 (1/4-28 SAE 8: 120 ksi, stress area 0.036 37 in2, 0.6 in shear).
    let margin = number(&rig(&[]), "mount.bolt_margin", "b1", &[]);
    close(margin.si().unwrap(), 16.562_4, 5e-6);
    assert_eq!(margin.assumed[0], "suppression.bottle.mount.load_factor");
    let scope = "bolts only: bands, tabs and what they are fixed to are not worked";
    assert_eq!(margin.assumed[1], scope);
    assert_eq!(margin.notes[0], scope);
}

#[test]
fn a_mount_that_cannot_be_worked() {
    let none = rig(&[("bolt = { size = \"1/4-28\", grade = \"SAE 8\" }\n", "")]);
    assert_eq!(refused(&none, "mount.bolt_margin", "b1", &[]).needs, ["suppression.bottle.mount.bolt"]);
    let single = refused(&rig(&[("bolts = 4", "bolts = 1")]), "mount.bolt_margin", "b1", &[]);
    assert!(single.needs.is_empty() && single.reason.contains("at least 2"), "{single:?}");
    let odd = refused(&rig(&[("SAE 8", "SAE 9")]), "mount.bolt_margin", "b1", &[]);
    assert!(odd.needs.is_empty() && odd.reason.contains("did you mean SAE"), "{odd:?}");
    let bare = rig(&[("span = \"9 in\"\nwidth = \"4 in\"\noffset = \"3 in\"\n", "")]);
    let needs = refused(&bare, "mount.bolt_margin", "b1", &[]).needs;
    assert_eq!(needs, ["span", "width", "offset"].map(|key| format!("suppression.bottle.mount.{key}")));
}

#[test]
fn pulls() {
    let car = rig(&[]);
    // e^(0.15 x 135 deg) x 12 lbf x 2 bottles.
    close(value(&car, "pull.handle_force", "pull"), 34.174_611_134_004_75 * LBF, SAME);
    close(value(&car, "pull.total_bend", "pull"), 135_f64.to_radians(), SAME);
    // 2.5 - 0.75 - 0.25 - 1 % of 84 in; (2.5 - 0.84)/(0.75 + 0.25); 4/3.
    close(value(&car, "pull.travel_left", "pull"), inches(0.66), 1e-9);
    close(value(&car, "pull.travel_ratio", "pull"), 1.66, 1e-9);
    close(value(&car, "pull.bend_margin", "pull"), 4.0 / 3.0, SAME);
    assert_eq!(number(&car, "pull.travel_left", "pull", &[]).assumed, ["suppression.pull.stretch"]);
    let silent = rig(&[("slack = \"1/4 in\"", ""), ("friction = 0.15", "")]);
    // An eighth of play where the file is silent: 2.5 - 0.75 - 0.125 - 0.84 in.
    close(value(&silent, "pull.travel_left", "pull"), inches(0.785), 1e-9);
    let slack = number(&silent, "pull.travel_left", "pull", &[]).inputs.into_iter();
    let slack = slack.into_iter().find(|input| input.path.ends_with("slack")).unwrap();
    assert_eq!(linewalk::numbers::spread(&slack), Some([0.0, inches(0.25)]));
    let assumed = number(&silent, "pull.handle_force", "pull", &[]).assumed;
    assert!(assumed.contains(&"suppression.pull.friction".to_owned()), "{assumed:?}");
    let bare = rig(&[(
        "bends = [{ angle = \"90 deg\", radius = \"5 in\" }, { angle = \"45 deg\", radius = \"4 in\" }]",
        "",
    )]);
    assert_eq!(refused(&bare, "pull.total_bend", "pull", &[]).needs, ["suppression.pull.bends"]);
    let straight = rig(&[(
        "bends = [{ angle = \"90 deg\", radius = \"5 in\" }, { angle = \"45 deg\", radius = \"4 in\" }]",
        "bends = []",
    )]);
    assert_eq!(value(&straight, "pull.total_bend", "pull"), 0.0);
    assert!(refused(&straight, "pull.bend_margin", "pull", &[]).needs.is_empty());
}

#[test]
fn the_ground_side_of_a_coil() {
    // 0.2 V at 4 A is 0.05 ohm; a current read on the day counts before the file's.
    let read = [("electrics.coil.ground_drop", "0.2 V")];
    let drop = number(&rig(&[]), "electrics.ground_drop", "coil", &read);
    close(drop.si().unwrap(), 0.2, 1e-12);
    assert_eq!(drop.notes, ["0.05 ohm in its ground at 4 A"]);
    let both = [read[0], ("electrics.coil.amps", "2 A")];
    assert_eq!(
        number(&rig(&[]), "electrics.ground_drop", "coil", &both).notes,
        ["0.1 ohm in its ground at 2 A"]
    );
    assert_eq!(
        refused(&rig(&[]), "electrics.ground_drop", "coil", &[]).needs,
        ["electrics.coil.ground_drop"]
    );
}

#[test]
fn which_order_of_the_engine_meets_a_span_and_where() {
    // The rear run sings at 135.3 Hz pinned to 307 Hz clamped; 2 500 to 7 800 rpm turn at 41.7 to 130 Hz.
    let notes = |changes: &[(&str, &str)]| {
        number(&rig(changes), "line.span_frequency", "rear-run", &[]).notes.join("; ")
    };
    let silent = notes(&[]);
    assert!(
        silent.contains("the half order stays clear of it, the first order stays clear of it"),
        "{silent}"
    );
    assert!(silent.contains("car.cylinders"), "{silent}");
    // Eight cylinders fire four times a turn: 4 x 2 500/60 = 166.7 Hz is within, 307 Hz is 4 605 rpm.
    let eight = notes(&[("mass = \"1540 lb\"", "cylinders = 8\nmass = \"1540 lb\"")]);
    assert!(eight.contains("the firing order 4 meets it at 2500 to 46"), "{eight}");
    // A two-stroke single fires once a turn, which is its first order.
    let two_stroke = notes(&[("mass = \"1540 lb\"", "firing = 1.5\nmass = \"1540 lb\"")]);
    assert!(two_stroke.contains("the firing order 1.5 meets it at 54"), "{two_stroke}");
}

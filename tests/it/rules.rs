//! The shipped rules: which checks there are, that each says all it has to, and that its own cases hold.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, any_error};
use linewalk::model::entry::Severity;
use linewalk::rules::{
    BUILT_IN, Check, RowWords, Ruleset, SourceBasis, Typed, built_in, run_cases, warnings,
};
use linewalk::source::{Node, Value};

use crate::shipped::{day, files_in, repo_file, repo_ruleset, rules_of, shipped};

/// The catalogue of checks by station and severity, in the order of the lap.
const CATALOGUE: &[(&str, &str, &str)] = &[
    (
        "nose",
        "stop",
        "\
         pins-in-before-hands-in car-made-safe",
    ),
    (
        "nose",
        "fix",
        "\
         papers-match-the-car ask-brake-opened ask-crash-fire-discharge papers-hold-test-sheet",
    ),
    (
        "nose",
        "note",
        "\
         rulebook-edition-noted",
    ),
    (
        "left-front",
        "stop",
        "\
         lf-hose-at-steer-lock lf-hose-droop-and-bump lf-hose-cover-and-ends",
    ),
    (
        "left-front",
        "fix",
        "\
         lf-hose-not-twisted lf-hose-tab-and-90-end lf-bleeder-at-top lf-banjo-and-washers",
    ),
    (
        "engine-left",
        "fix",
        "\
         el-nozzle-aim-hazards el-nozzle-obstructed el-nozzle-cap-and-lock
         el-line-to-exhaust-gap el-apart-from-fuel-and-loom el-bulkhead-fittings
         el-line-lock-block",
    ),
    (
        "engine-left",
        "note",
        "\
         el-cone-covers-hazard",
    ),
    (
        "engine-left",
        "stop",
        "\
         el-flare-37-45-mix el-line-lock-ports",
    ),
    (
        "footwell",
        "fix",
        "\
         fw-nozzle-above-pedal-shaft fw-nozzle-aims-at-legs fw-pushrod-free-play fw-pedal-ratio
         fw-pedal-stops fw-fluid-type-age-boil",
    ),
    (
        "footwell",
        "stop",
        "\
         fw-nozzle-and-pedals-clear fw-master-port-assignment fw-stroke-left fw-balance-bar
         fw-clevis-and-mount fw-reservoir-level-cap",
    ),
    (
        "driver-seat",
        "stop",
        "\
         ds-handle-reach-belted ds-cable-anchor-at-handle ds-inner-wire-sound
         ds-electric-trigger-safe ds-pedal-hold",
    ),
    (
        "driver-seat",
        "fix",
        "\
         ds-handle-marked-and-fixed ds-handle-travel-left ds-cable-bends-count ds-pull-effort
         ds-line-lock-button ds-cockpit-nozzle-aim ds-handheld-extinguisher",
    ),
    (
        "left-flank",
        "fix",
        "\
         lk-line-protected-run lk-sleeve-present lk-sleeve-welded-all-round lk-support-spacing
         lk-chafe-and-vibe lk-size-and-grade lk-no-tape-on-flares lk-residual-and-prop-valve",
    ),
    (
        "left-flank",
        "stop",
        "\
         lk-flare-quality",
    ),
    (
        "left-rear",
        "fix",
        "\
         lr-caliper-bleeder-and-line lr-axle-line-clipped lr-rotor-and-wheel-gap
         lr-parking-brake lr-match-line-end-dry",
    ),
    (
        "left-rear",
        "stop",
        "\
         lr-hose-slack",
    ),
    (
        "tail",
        "stop",
        "\
         tl-bottle-bands-steel tl-bottle-bolts-structure tl-bottle-dip-tube-way
         tl-bottle-label-shell tl-bottle-weight-vs-tag tl-gauge-for-temperature
         tl-service-date-on-bottle tl-hydro-stamp tl-cable-end-at-valve",
    ),
    (
        "tail",
        "fix",
        "\
         tl-bottle-clearance-heat tl-valve-relief-outlet tl-fuel-cell-nozzle",
    ),
    (
        "right-rear",
        "fix",
        "\
         rr-corner-matches-left rr-shared-line-checks rr-trigger-battery-and-wires",
    ),
    (
        "right-rear",
        "stop",
        "\
         rr-second-bottle-fires-too rr-parachute-kept-apart rr-outside-handle rr-master-cut-off",
    ),
    (
        "right-flank",
        "stop",
        "\
         rk-hard-line-only",
    ),
    (
        "right-flank",
        "fix",
        "\
         rk-size-and-fittings rk-sleeve-present rk-tee-order rk-low-spot-and-water
         rk-line-support rk-cable-run-heat-clamp",
    ),
    (
        "right-flank",
        "note",
        "\
         rk-other-side-from-brakes",
    ),
    (
        "engine-right",
        "fix",
        "\
         er-nozzle-aim-hazards er-nozzle-matches-left er-clear-with-hood-closed
         er-line-near-heat",
    ),
    (
        "engine-right",
        "note",
        "\
         er-extra-hazards er-agent-arrival-time",
    ),
    (
        "right-front",
        "stop",
        "\
         rf-hose-at-steer-lock rf-hose-droop-and-bump rf-hose-cover-tab-twist",
    ),
    (
        "right-front",
        "fix",
        "\
         rf-bleeder-at-top rf-crossover-line",
    ),
    (
        "right-front",
        "note",
        "\
         rf-pressure-sensor-port",
    ),
    (
        "underneath",
        "fix",
        "\
         un-axle-hose-centre un-axle-tee-mount un-driveline-and-ground un-line-lock-hold
         un-line-blow-through un-tube-and-sleeve-strength",
    ),
    (
        "underneath",
        "stop",
        "\
         un-axle-hose-travel un-weep-scan un-gauge-hold-high un-gauge-hold-low",
    ),
    (
        "final-line",
        "stop",
        "\
         fl-nothing-was-pulled fl-stop-items-closed fl-pins-out-counted fl-trigger-armed
         fl-pedal-and-rolling-test fl-line-lock-release",
    ),
    (
        "final-line",
        "fix",
        "\
         fl-loose-tools-rags-caps",
    ),
    (
        "final-line",
        "note",
        "\
         fl-report-final-line",
    ),
];

/// Stations with their counts: checks, owner, scales, shop, and seconds at the scales.
const STATIONS: [(&str, [usize; 5]); 14] = [
    ("nose", [7, 6, 5, 7, 25]),
    ("left-front", [7, 7, 4, 7, 18]),
    ("engine-left", [10, 10, 6, 10, 24]),
    ("footwell", [12, 11, 5, 12, 20]),
    ("driver-seat", [12, 11, 8, 12, 43]),
    ("left-flank", [9, 6, 5, 9, 19]),
    ("left-rear", [6, 6, 3, 6, 8]),
    ("tail", [12, 12, 11, 12, 42]),
    ("right-rear", [7, 6, 5, 7, 19]),
    ("right-flank", [8, 8, 4, 8, 17]),
    ("engine-right", [6, 6, 1, 6, 4]),
    ("right-front", [6, 6, 3, 6, 12]),
    ("underneath", [10, 5, 3, 10, 13]),
    ("final-line", [8, 8, 4, 4, 12]),
];

fn catalogue() -> Vec<(&'static str, &'static str, &'static str)> {
    let ids = |(station, severity, ids): &(&'static str, &'static str, &'static str)| {
        let (station, severity) = (*station, *severity);
        ids.split_whitespace().map(move |id| (id, station, severity)).collect::<Vec<_>>()
    };
    CATALOGUE.iter().flat_map(ids).collect()
}

/// Every shipped file as it is in force.
fn every_ruleset() -> Vec<(String, Arc<Ruleset>, Vec<Diagnostic>)> {
    let files = files_in("rulesets", ".toml").into_iter();
    let single = files.map(|path| repo_file(&path));
    [repo_ruleset("base")]
        .into_iter()
        .chain(single)
        .map(|file| {
            let loaded = rules_of(std::slice::from_ref(&file));
            (file.name.clone(), loaded.rules, loaded.diagnostics)
        })
        .collect()
}

/// Whether a check judges a value, by its table: a row of any kind with a limit.
fn judges_value(check: &Check) -> bool {
    ["measure", "count", "date", "compute"].iter().any(|key| check.table.get(key).is_some_and(has_limit))
}

fn has_limit(node: &Node) -> bool {
    match &node.value {
        Value::Array(rows) => rows.iter().any(has_limit),
        Value::Table(row) => ["min", "max", "equals", "every"].iter().any(|key| row.get(key).is_some()),
        _ => false,
    }
}

fn is_guarded(check: &Check) -> bool {
    matches!(&check.typed, Typed::Measure(rows) if rows.iter().any(|row| row.guarded))
}

#[test]
fn shipped_files_have_neither_mistakes_nor_doubts() {
    for (path, rules, diagnostics) in every_ruleset() {
        let text: String = diagnostics.iter().map(Diagnostic::render).collect();
        assert!(!any_error(&diagnostics) && diagnostics.is_empty(), "{path}: {text}");
        let doubtful: String = warnings(&rules, day("2026-11-25")).iter().map(Diagnostic::render).collect();
        assert!(doubtful.is_empty(), "{path}: {doubtful}");
    }
}

#[test]
fn every_case_comes_out_as_it_says() {
    let mut cases = 0;
    for (path, rules, _) in every_ruleset() {
        for outcome in run_cases(&rules) {
            cases += 1;
            let check = rules.check(&outcome.check).unwrap();
            assert!(outcome.passed(), "{path}: {}", outcome.diagnostic(check).render());
        }
    }
    assert!(cases > 1000, "{cases}");
}

#[test]
fn the_catalogue_is_whole() {
    let base = shipped("base").rules;
    let catalogue = catalogue();
    assert_eq!(catalogue.len(), 120);
    for (id, station, severity) in &catalogue {
        let check = base.check(id).unwrap_or_else(|| panic!("{id} is not shipped"));
        assert_eq!((check.station.as_str(), check.severity.word()), (*station, *severity), "{id}");
    }
    let count = |severity| catalogue.iter().filter(|(_, _, known)| *known == severity).count();
    assert_eq!([count("stop"), count("fix"), count("note")], [47, 66, 7]);
}

#[test]
fn stations_hold_as_many_checks_as_the_catalogue_says() {
    let base = shipped("base").rules;
    let catalogue = catalogue();
    let known: Vec<&Check> = catalogue.iter().map(|(id, _, _)| base.check(id).unwrap()).collect();
    let count = |station: &str, profile: &str| {
        let at = known.iter().filter(|check| check.station == station);
        at.filter(|check| check.profiles.iter().any(|named| named == profile)).count()
    };
    for (station, wanted) in STATIONS {
        let all = known.iter().filter(|check| check.station == station);
        let seconds = all.clone().filter(|check| check.profiles.iter().any(|named| named == "scales"));
        let got = [
            all.clone().count(),
            count(station, "owner"),
            count(station, "scales"),
            count(station, "shop"),
            seconds.map(|check| check.seconds.unwrap() as usize).sum(),
        ];
        assert_eq!(got, wanted, "{station}");
    }
    let total = |column: usize| STATIONS.iter().map(|(_, counts)| counts[column]).sum::<usize>();
    assert_eq!([0, 1, 2, 3, 4].map(total), [120, 108, 67, 116, 276]);
    let short = base.profile("scales-short").unwrap();
    let stops: Vec<_> = known.iter().filter(|check| check.in_profile(short)).collect();
    assert_eq!(stops.len(), 32);
    assert!(stops.iter().all(|check| check.severity == Severity::Stop));
    assert_eq!(stops.iter().map(|check| check.seconds.unwrap()).sum::<u32>(), 148, "the three-minute lap");
}

#[test]
fn every_lap_passes_every_station_once() {
    let base = shipped("base").rules;
    let mut stations: Vec<&str> = base.stations.iter().map(|station| station.id.as_str()).collect();
    assert_eq!(stations, STATIONS.map(|(id, _)| id), "in the order of the lap");
    stations.sort_unstable();
    for lap in &base.laps {
        let mut passed: Vec<&str> = lap.stations.iter().map(String::as_str).collect();
        passed.sort_unstable();
        assert_eq!(passed, stations, "{}", lap.id);
        assert_eq!(
            (lap.stations.first().unwrap().as_str(), lap.stations.last().unwrap().as_str()),
            ("nose", "final-line")
        );
    }
}

#[test]
fn every_check_says_all_it_has_to() {
    for (path, rules, _) in every_ruleset() {
        for check in &rules.checks {
            let at = format!("{path}: {}", check.id);
            let words = &check.words;
            for text in [&check.title, &words.accept, &words.reject, &words.why, &words.remedy] {
                assert!(!text.trim().is_empty(), "{at}");
            }
            for text in
                [&words.accept, &words.reject, &words.why, &words.remedy].into_iter().chain(&words.look)
            {
                assert!(text.ends_with(['.', '?']), "{at}: a full sentence: {text}");
            }
            assert!(!check.title.ends_with('.'), "{at}");
            assert!(!check.sources.is_empty(), "{at} has no source");
            for source in &check.sources {
                assert!(!source.supports.trim().is_empty(), "{at}: what does {source} support?");
                let seen = source.seen.is_some();
                assert_eq!(
                    seen,
                    source.basis == SourceBasis::Published,
                    "{at}: {source}: seen goes with published"
                );
                assert!(source.basis == SourceBasis::CommonPractice || !source.document.is_empty(), "{at}");
            }
        }
    }
}

#[test]
fn every_check_carries_the_cases_it_has_to() {
    for (path, rules, _) in every_ruleset() {
        for check in &rules.checks {
            let at = format!("{path}: {}", check.id);
            let mut expected: BTreeMap<&str, usize> = BTreeMap::new();
            check.cases.iter().for_each(|case| *expected.entry(case.expect.as_str()).or_default() += 1);
            if judges_value(check) {
                assert!(
                    expected.contains_key("accept") && expected.contains_key("reject"),
                    "{at}: {expected:?}"
                );
            }
            if is_guarded(check) {
                let undecided = check.cases.iter().filter(|case| case.expect == "undecided");
                assert!(undecided.clone().count() > 0, "{at}: guarded, and no undecided case");
                assert!(
                    undecided.clone().all(|case| case.given.instrument.is_some()),
                    "{at}: with which instrument?"
                );
            }
            if check.when.is_some() || check.unless.is_some() {
                assert!(
                    expected.contains_key("asked") && expected.contains_key("left-out"),
                    "{at}: {expected:?}"
                );
            }
        }
    }
}

#[test]
fn only_two_checks_come_first_and_they_walk_with_everybody() {
    let base = shipped("base").rules;
    let first: Vec<&str> =
        base.checks.iter().filter(|check| check.first).map(|check| check.id.as_str()).collect();
    assert_eq!(first, ["pins-in-before-hands-in", "car-made-safe"]);
    for profile in &base.profiles {
        assert!(first.iter().all(|id| base.check(id).unwrap().in_profile(profile)), "{}", profile.id);
    }
}

#[test]
fn what_is_built_in_is_what_stands_in_the_folder() {
    for (id, _) in BUILT_IN {
        let (compiled, shipped_file) = (built_in(id).unwrap(), repo_ruleset(id));
        assert_eq!(compiled.sha256(), shipped_file.sha256());
        let loaded = shipped(id);
        assert_eq!(loaded.rules.layers.last().unwrap().id, *id);
        assert_eq!(loaded.rules.layers.first().unwrap().id, "base");
    }
    let single = BUILT_IN.iter().filter(|(id, _)| *id != "base");
    let mut names: Vec<String> = single.map(|(id, _)| format!("rulesets/{id}.toml")).collect();
    names.extend(["rulesets/example-club.toml".to_owned(), "rulesets/example-bulletin.toml".to_owned()]);
    names.sort();
    assert_eq!(files_in("rulesets", ".toml"), names);
}

/// The limits of a check that can reject, with what they say of themselves.
fn rows_of(check: &Check) -> Vec<(&str, &RowWords)> {
    let computed = check.compute.iter().filter(|row| row.judges()).map(|row| (row.id.as_str(), &row.words));
    let typed: Vec<(&str, &RowWords)> = match &check.typed {
        Typed::Measure(rows) => rows.iter().map(|row| (row.id.as_str(), &row.words)).collect(),
        Typed::Count(rows) => rows.iter().map(|row| (row.id.as_str(), &row.words)).collect(),
        Typed::Date(rows) => rows.iter().map(|row| (row.id.as_str(), &row.words)).collect(),
        Typed::None => Vec::new(),
    };
    typed.into_iter().chain(computed).collect()
}

/// Each shipped check says in a few words what is wrong where it is rejected: what a list, a slip and a plan show. Said of a
/// part or a fault, never as the wanted state.
#[test]
fn every_shipped_check_says_its_fault() {
    let files = fs::read_dir("rulesets").unwrap().map(|entry| entry.unwrap().path());
    let mut count = 0;
    for file in files.chain([Path::new("rulesets/base").to_owned()]) {
        let id = file.file_stem().unwrap().to_str().unwrap();
        let Some(source) = built_in(id) else { continue };
        let loaded = linewalk::rules::load(&[source], &|id, _| built_in(id));
        for check in &loaded.rules.checks {
            let fault = check.fault.as_deref().unwrap_or_else(|| panic!("{} has no fault", check.id));
            let rows = rows_of(check);
            // Where limits are about several faults, each says its own; the check's stands in where all are about one.
            let silent = rows.iter().filter(|(_, words)| words.fault.is_none()).count();
            assert!(silent == 0 || silent == rows.len(), "{}: a limit says no fault", check.id);
            let faults = rows.iter().filter_map(|(_, words)| words.fault.as_deref()).chain([fault]);
            for fault in faults {
                assert!(
                    fault.chars().count() < 45 && fault != check.title && !fault.ends_with('.'),
                    "{fault}"
                );
                for word in ["safe", "ok", "approved", "certified", "pass"] {
                    let mut words = fault.split(|c: char| !c.is_alphanumeric());
                    assert!(words.all(|one| !one.eq_ignore_ascii_case(word)), "{}: {fault}", check.id);
                }
            }
            count += 1;
        }
    }
    assert!(count > 600, "{count}");
}

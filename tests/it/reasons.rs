//! Every key of a rule file either cannot make a car be asked or stopped less, or needs a reason where it does. The keys are
//! those of the schema, so that a new one has to be put into one of the two lists.

use std::collections::BTreeSet;
use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, SourceFile, Weight};
use linewalk::rules::{Loaded, load, schema};
use serde_json::Value;

/// A key, what the extended file has there, and a change by which less is asked or stopped.
struct Less {
    key: &'static str,
    before: &'static [(&'static str, &'static str)],
    after: &'static str,
    says: &'static str,
}

const fn less(
    key: &'static str,
    before: &'static [(&'static str, &'static str)],
    after: &'static str,
    says: &'static str,
) -> Less {
    Less { key, before, after, says }
}

const MEASURED: &str = "\"measure\"";
const ROW: &str = "{ unit = \"in\", min = \"1/2 in\", max = \"3 in\", instrument = \"tape\" }";
const GUARDED: &str = "{ unit = \"in\", min = \"1/2 in\", instrument = \"tape\", decision = \"guarded\" }";
const RATIO: &str = "{ quantity = \"hose.length_ratio\", min = 1.05, max = 1.5 }";
const RELATIVE: &str = "{ quantity = \"hose.bend_margin\", min = \"max(1, 2 * hose.length_ratio)\" }";
const DATED: &str = "{ field = \"suppression.bottle.serviced\", every = \"24 months\" }";

const OF_CHECKS: &[Less] = &[
    less("severity", &[], "severity = \"fix\"", "severity stop -> fix"),
    less("profiles", &[], "profiles = [\"owner\"]", "no longer part of"),
    less("stage", &[("stage", "[\"early\", \"late\"]")], "stage = [\"late\"]", "no longer asked at early"),
    less("stage", &[], "stage = [\"late\"]", "asked only at late"),
    less("first", &[("first", "true")], "first = false", "no longer asked before"),
    less("no_eye", &[("no_eye", "true"), ("method", MEASURED), ("measure", ROW)], "no_eye = false", "by eye"),
    less("method", &[("method", MEASURED), ("measure", ROW)], "method = \"look\"", "no value is needed"),
    less("caution", &[("caution", "\"Hot.\"")], "caution = \"\"", "caution is taken off"),
    less("caution_more", &[("caution_more", "\"Very hot.\"")], "caution_more = \"\"", "caution is taken off"),
    less("look", &[("compute", RATIO), ("method", "\"compute\"")], "clear = [\"look\"]", "nobody looking"),
    less("clear", &[("method", MEASURED), ("measure", ROW)], "clear = [\"measure.min\"]", "1/2 in -> none"),
    less("when.all", &[], "when = { all = [\"booster\"] }", "asked only of cars with"),
    less("when.equipment", &[], "when = { equipment = [\"booster\"] }", "asked only of cars with"),
    less("when.fuel", &[], "when = { fuel = [\"methanol\"] }", "asked only of cars with"),
    less("when.discipline", &[], "when = { discipline = [\"oval\"] }", "asked only of cars with"),
    less("when.class", &[], "when = { class = [\"sprint\"] }", "asked only of cars with"),
    less("when.engine", &[], "when = { engine = [\"mid\"] }", "asked only of cars with"),
    less("when.driver", &[], "when = { driver = [\"left\"] }", "asked only of cars with"),
    less("unless.all", &[], "unless = { all = [\"booster\"] }", "no longer asked of cars with"),
    less("unless.equipment", &[], "unless = { equipment = [\"booster\"] }", "no longer asked of cars with"),
    less("unless.fuel", &[], "unless = { fuel = [\"methanol\"] }", "no longer asked of cars with"),
    less("unless.discipline", &[], "unless = { discipline = [\"oval\"] }", "no longer asked of cars with"),
    less("unless.class", &[], "unless = { class = [\"sprint\"] }", "no longer asked of cars with"),
    less("unless.engine", &[], "unless = { engine = [\"mid\"] }", "no longer asked of cars with"),
    less("unless.driver", &[], "unless = { driver = [\"left\"] }", "no longer asked of cars with"),
    less("measure.min", &[("method", MEASURED), ("measure", ROW)], "measure = { min = \"1/4 in\" }", "least"),
    less("measure.max", &[("method", MEASURED), ("measure", ROW)], "measure = { max = \"4 in\" }", "most"),
    less(
        "measure.equals",
        &[("method", MEASURED), ("measure", "{ unit = \"in\", equals = \"1 in\" }")],
        "measure = { equals = \"2 in\" }",
        "only 1 in -> 2 in",
    ),
    less(
        "measure.unit",
        &[("method", MEASURED), ("measure", "{ unit = \"in\" }")],
        "measure = { unit = \"psi\" }",
        "another thing is measured",
    ),
    less(
        "measure.instrument",
        &[("method", MEASURED), ("measure", GUARDED)],
        "measure = { instrument = \"vernier\" }",
        "finer instrument",
    ),
    less(
        "measure.instrument",
        &[("method", MEASURED), ("measure", GUARDED)],
        "measure = { instrument = \"pace\" }",
        "coarser instrument",
    ),
    less(
        "measure.decision",
        &[("method", MEASURED), ("measure", GUARDED)],
        "measure = { decision = \"simple\" }",
        "accuracy counts no longer",
    ),
    less(
        "measure.decision",
        &[("method", MEASURED), ("measure", ROW)],
        "measure = { decision = \"guarded\" }",
        "near a limit nothing is rejected any more",
    ),
    less(
        "measure.of",
        &[("method", MEASURED), ("measure", "{ unit = \"in\", min = \"1 in\", of = \"*\" }")],
        "measure = { of = \"main\" }",
        "fewer parts",
    ),
    less(
        "measure.of.corner",
        &[("method", MEASURED), ("measure", "{ unit = \"in\", min = \"1 in\", of = \"*\" }")],
        "measure = { of = { corner = \"LF\" } }",
        "fewer parts",
    ),
    less(
        "measure.reading",
        &[
            ("method", MEASURED),
            (
                "measure",
                "{ unit = \"psi\", min = \"1 psi\", reading = \"brakes.circuit.hold.start_pressure\" }",
            ),
        ],
        "measure = { reading = \"brakes.circuit.hold.end_pressure\" }",
        "another reading",
    ),
    less(
        "measure.id",
        &[
            ("method", MEASURED),
            ("measure", "[{ id = \"a\", unit = \"in\" }, { id = \"b\", unit = \"in\" }]"),
        ],
        "measure = [{ id = \"a\", unit = \"in\" }, { id = \"c\", unit = \"in\" }]",
        "no longer asks for b",
    ),
    less(
        "count.min",
        &[("method", "\"count\""), ("count", "{ min = 2 }")],
        "count = { min = 1 }",
        "least 2 -> 1",
    ),
    less(
        "count.max",
        &[("method", "\"count\""), ("count", "{ max = 2 }")],
        "count = { max = 3 }",
        "most 2 -> 3",
    ),
    less(
        "count.equals",
        &[("method", "\"count\""), ("count", "{ equals = 2 }")],
        "count = { equals = \"suppression.release_heads\" }",
        "only 2 -> suppression.release_heads",
    ),
    less(
        "count.id",
        &[("method", "\"count\""), ("count", "[{ id = \"a\", min = 1 }, { id = \"b\", min = 1 }]")],
        "count = [{ id = \"a\", min = 1 }, { id = \"c\", min = 1 }]",
        "no longer asks for b",
    ),
    less(
        "date.every",
        &[("method", "\"date\""), ("date", DATED)],
        "date = { every = \"5 years\" }",
        "less often",
    ),
    less(
        "date.field",
        &[("method", "\"date\""), ("date", DATED)],
        "date = { field = \"hand_held.serviced\" }",
        "another date",
    ),
    less(
        "date.id",
        &[("method", "\"date\""), ("date", "[{ id = \"a\", label = \"A\" }, { id = \"b\", label = \"B\" }]")],
        "date = [{ id = \"a\", label = \"A\" }, { id = \"c\", label = \"C\" }]",
        "no longer asks for B",
    ),
    less("compute.min", &[("compute", RATIO)], "compute = { min = 1.01 }", "least 1.05 -> 1.01"),
    less("compute.min", &[("compute", RELATIVE)], "compute = { min = 0.1 }", "least max(1"),
    less("compute.max", &[("compute", RATIO)], "compute = { max = 2 }", "most 1.5 -> 2"),
    less(
        "compute.max",
        &[("compute", RATIO)],
        "compute = { max = \"2 * hose.bend_margin\" }",
        "most 1.5 -> 2 *",
    ),
    less(
        "compute.equals",
        &[("compute", "{ quantity = \"hose.length_ratio\", equals = 1.05 }")],
        "compute = { equals = 1.01 }",
        "only 1.05 -> 1.01",
    ),
    less(
        "compute.equals",
        &[("compute", "{ quantity = \"hose.length_ratio\", equals = \"2 * hose.bend_margin\" }")],
        "compute = { equals = \"hose.bend_margin\" }",
        "only 2 * hose.bend_margin -> hose.bend_margin",
    ),
    less(
        "compute.quantity",
        &[("compute", RATIO)],
        "compute = { quantity = \"hose.bend_margin\" }",
        "is judged no longer",
    ),
    less("compute.of", &[("compute", RATIO)], "compute = { of = \"main\" }", "fewer parts"),
    less("compute.of.corner", &[("compute", RATIO)], "compute = { of = { corner = \"LF\" } }", "fewer parts"),
    less(
        "compute.asks",
        &[("compute", "{ quantity = \"hose.length_ratio\", asks = [\"brakes.hose.length\"] }")],
        "compute = { asks = [] }",
        "fewer of the inputs",
    ),
    less(
        "compute.id",
        &[(
            "compute",
            "[{ id = \"a\", quantity = \"hose.length_ratio\", min = 1 }, { id = \"b\", quantity = \"hose.bend_margin\", min = 1 }]",
        )],
        "compute = [{ id = \"a\", quantity = \"hose.length_ratio\", min = 1 }]",
        "no longer asks for",
    ),
];

/// Changes of what is not a check, each with the heading it stands under.
const OF_OTHERS: &[(&str, &str, &str)] = &[
    ("profile.only", "[[profile]]\nid = \"owner\"\nonly = [\"fix\", \"note\"]\n", "walks no longer stop"),
    ("profile.from", "[[profile]]\nid = \"owner\"\nfrom = \"scales\"\n", "another checklist"),
    ("profile.signatures", "[[profile]]\nid = \"owner\"\nsignatures = []\n", "no longer signed by owner"),
    ("profile.stages", "[[profile]]\nid = \"owner\"\nstages = [\"late\"]\n", "without the stage early"),
    ("lap.stations", "[[lap]]\nid = \"round\"\nstations = [\"nose\"]\n", "passes no longer tail"),
    ("station.caution", "[[station]]\nid = \"nose\"\ncaution = \"\"\n", "caution is taken off"),
    ("instrument.accuracy", "[[instrument]]\nid = \"tape\"\naccuracy = \"1/64 in\"\n", "finer"),
    ("instrument.accuracy", "[[instrument]]\nid = \"tape\"\naccuracy = \"9 in\"\n", "coarser"),
    ("instrument.shape", "[[instrument]]\nid = \"tape\"\nshape = \"normal\"\n", "another shape"),
    ("instrument.repeat", "[[instrument]]\nid = \"gauge\"\nrepeat = \"1 psi\"\n", "repeat"),
    ("instrument.graduation", "[[instrument]]\nid = \"gauge\"\ngraduation = \"1 psi\"\n", "repeat"),
];

/// Keys by which nothing is asked or stopped less, each with the reason.
const NEVER: &[(&str, &[&str])] = &[
    (
        "a table or an array, whose keys are tried one by one",
        &[
            "check",
            "check.when",
            "check.unless",
            "check.measure",
            "check.count",
            "check.date",
            "check.compute",
            "check.source",
            "check.case",
            "profile",
            "lap",
            "lap.when",
            "instrument",
            "station",
            "station.at",
            "ruleset",
            "ruleset.words",
        ],
    ),
    (
        "the reason itself, and a check switched off, which never goes without it",
        &["check.reason", "check.off", "profile.reason", "lap.reason", "instrument.reason", "station.reason"],
    ),
    (
        "a name; another one is another thing",
        &["check.id", "profile.id", "lap.id", "instrument.id", "station.id", "ruleset.id"],
    ),
    (
        "words that a person reads, told by `rules diff`",
        &[
            "check.title",
            "check.subject",
            "check.fault",
            "check.brief",
            "check.do",
            "check.causes",
            "check.causes.fault",
            "check.causes.brief",
            "check.causes.remedy",
            "check.causes.parts",
            "check.accept",
            "check.reject",
            "check.why",
            "check.remedy",
            "check.parts",
            "check.rulebooks_differ",
            "check.topic",
            "profile.title",
            "lap.title",
            "instrument.title",
            "station.title",
            "station.stand",
            "station.hold",
            "ruleset.title",
            "ruleset.notice",
            "check.measure.label",
            "check.measure.part",
            "check.measure.fault",
            "check.measure.brief",
            "check.measure.remedy",
            "check.measure.parts",
            "check.count.label",
            "check.count.part",
            "check.count.fault",
            "check.count.brief",
            "check.count.remedy",
            "check.count.parts",
            "check.date.label",
            "check.date.part",
            "check.date.fault",
            "check.date.brief",
            "check.date.remedy",
            "check.date.parts",
            "check.compute.label",
            "check.compute.fault",
            "check.compute.brief",
            "check.compute.remedy",
            "check.compute.parts",
        ],
    ),
    (
        "where a check rests on, which decides nothing",
        &[
            "check.source.for",
            "check.source.document",
            "check.source.edition",
            "check.source.clause",
            "check.source.page",
            "check.source.basis",
            "check.source.seen",
        ],
    ),
    (
        "a test of the rules, which no car meets",
        &[
            "check.case.given",
            "check.case.expect",
            "check.case.given.value",
            "check.case.given.values",
            "check.case.given.readings",
            "check.case.given.instrument",
            "check.case.given.result",
            "check.case.given.on",
            "check.case.given.car",
            "check.case.given.car.equipment",
            "check.case.given.car.without",
            "check.case.given.car.fuel",
            "check.case.given.car.discipline",
            "check.case.given.car.class",
            "check.case.given.car.engine",
            "check.case.given.car.driver",
        ],
    ),
    (
        "days on which a layer's own change holds; without it the extended rules hold",
        &["check.effective", "check.expires", "ruleset.effective", "ruleset.expires"],
    ),
    (
        "order and time only: a check off the route is asked at its end",
        &[
            "check.station",
            "check.seconds",
            "profile.order",
            "lap.when.all",
            "lap.when.equipment",
            "lap.when.fuel",
            "lap.when.discipline",
            "lap.when.class",
            "lap.when.engine",
            "lap.when.driver",
            "station.at.along",
            "station.at.side",
        ],
    ),
    ("a code stays what it is: another is an error", &["check.code", "station.code"]),
    (
        "noted between aim and limit, and accepted all the same",
        &["check.measure.aim_min", "check.measure.aim_max", "check.compute.aim_min", "check.compute.aim_max"],
    ),
    ("said before it falls due, and judged on the day all the same", &["check.date.warn"]),
    (
        "what a file is and when it was read, of itself alone",
        &["format", "ruleset.edition", "ruleset.reviewed", "ruleset.review_every", "ruleset.extends"],
    ),
    (
        "a word made known by name, for conditions that ask for it",
        &["ruleset.words.fuel", "ruleset.words.equipment", "ruleset.words.discipline", "ruleset.words.class"],
    ),
];

/// Every key of a schema by its path, `check.measure.min`.
fn keys(schema: &Value, path: &str, found: &mut BTreeSet<String>) {
    for (key, inner) in schema["properties"].as_object().into_iter().flatten() {
        let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        found.insert(path.clone());
        keys(inner, &path, found);
    }
    keys_of_parts(schema, path, found);
}

fn keys_of_parts(schema: &Value, path: &str, found: &mut BTreeSet<String>) {
    for part in ["items", "then", "additionalProperties"] {
        if schema[part].is_object() {
            keys(&schema[part], path, found);
        }
    }
    for part in ["anyOf", "oneOf", "allOf"] {
        schema[part].as_array().into_iter().flatten().for_each(|one| keys(one, path, found));
    }
}

#[test]
fn every_key_is_in_one_of_the_two_lists() {
    let mut all = BTreeSet::new();
    keys(&schema(), "", &mut all);
    assert!(all.len() > 150, "{}", all.len());
    let of_checks = OF_CHECKS.iter().map(|one| format!("check.{}", one.key));
    let tried: BTreeSet<String> =
        of_checks.chain(OF_OTHERS.iter().map(|(key, _, _)| (*key).to_owned())).collect();
    let never: Vec<String> =
        NEVER.iter().flat_map(|(_, keys)| keys.iter().map(|key| (*key).to_owned())).collect();
    let both: Vec<&String> = never.iter().filter(|key| tried.contains(*key)).collect();
    assert!(both.is_empty(), "in both lists: {both:?}");
    let listed: BTreeSet<String> = tried.iter().chain(&never).cloned().collect();
    let forgotten: Vec<&String> = all.difference(&listed).collect();
    assert!(forgotten.is_empty(), "in none of the lists: {forgotten:?}");
    let gone: Vec<&String> = listed.difference(&all).collect();
    assert!(gone.is_empty(), "no key of a rule file: {gone:?}");
}

const HEAD: &str = "edition = \"1\"\nreviewed = 2026-11-01\nreview_every = \"1 year\"\n";

fn ground(own: &[(&str, &str)]) -> Arc<SourceFile> {
    let usual = [
        ("station", "\"nose\""),
        ("topic", "\"brake-lines\""),
        ("title", "\"T\""),
        ("look", "\"L\""),
        ("accept", "\"A\""),
        ("reject", "\"R\""),
        ("why", "\"W\""),
        ("remedy", "\"M\""),
        ("method", "\"look\""),
        ("severity", "\"stop\""),
        ("profiles", "[\"owner\", \"scales\"]"),
    ];
    let mut text = format!("format = 1\n[ruleset]\nid = \"ground\"\ntitle = \"Ground\"\n{HEAD}");
    text.push_str(
        "[[profile]]\nid = \"owner\"\nstages = [\"early\", \"late\"]\nsignatures = [\"owner\"]\n[[profile]]\nid = \"scales\"\n\
         [[lap]]\nid = \"round\"\nstations = [\"nose\", \"tail\"]\n\
         [[station]]\nid = \"nose\"\ncaution = \"Hot.\"\n[[station]]\nid = \"tail\"\n\
         [[instrument]]\nid = \"tape\"\naccuracy = \"1/16 in\"\n[[instrument]]\nid = \"vernier\"\naccuracy = \"0.001 in\"\n\
         [[instrument]]\nid = \"pace\"\naccuracy = \"6 in\"\n\
         [[instrument]]\nid = \"gauge\"\naccuracy = \"20 psi\"\ngraduation = \"20 psi\"\n[[check]]\nid = \"it\"\n",
    );
    for (key, value) in usual.iter().filter(|(key, _)| own.iter().all(|(other, _)| other != key)).chain(own) {
        text.push_str(&format!("{key} = {value}\n"));
    }
    SourceFile::new("ground.toml", text)
}

fn club(own: &[(&str, &str)], change: &str) -> Loaded {
    let ground = ground(own);
    let text = format!(
        "format = 1\n[ruleset]\nid = \"club\"\ntitle = \"Club\"\n{HEAD}extends = [\"ground\"]\n\
         words = {{ class = [\"sprint\"] }}\n{change}"
    );
    load(&[SourceFile::new("club.toml", text)], &|_, _| Some(Arc::clone(&ground)))
}

fn errors(loaded: &Loaded) -> Vec<&Diagnostic> {
    loaded.diagnostics.iter().filter(|one| one.weight == Weight::Error).collect()
}

fn needs_a_reason(key: &str, own: &[(&str, &str)], change: &str, says: &str) {
    let sound = club(own, "");
    assert!(errors(&sound).is_empty(), "{key}: {:?}", sound.diagnostics);
    let without = club(own, change);
    let found = errors(&without);
    let [one] = &found[..] else { panic!("{key}: {change}: {found:?}") };
    assert!(one.message.contains("without a reason") && one.message.contains(says), "{key}: {}", one.message);
    let with = club(own, &format!("{change}\nreason = \"Tried here.\"\n"));
    assert!(errors(&with).is_empty(), "{key}: {:?}", with.diagnostics);
    let [kept] = &with.rules.lessened[..] else { panic!("{key}: {:?}", with.rules.lessened) };
    assert_eq!((kept.reason.as_str(), kept.layer.as_str()), ("Tried here.", "club"), "{key}");
}

#[test]
fn every_key_of_a_check_that_asks_or_stops_less_needs_a_reason() {
    for one in OF_CHECKS {
        let change = format!("[[check]]\nid = \"it\"\n{}", one.after);
        needs_a_reason(one.key, one.before, &change, one.says);
    }
    let off = club(&[], "[[check]]\nid = \"it\"\noff = true\n");
    assert_eq!(errors(&off).len(), 1, "{:?}", off.diagnostics);
}

#[test]
fn every_other_key_that_asks_or_stops_less_needs_a_reason() {
    for (key, change, says) in OF_OTHERS {
        needs_a_reason(key, &[], change, says);
    }
}

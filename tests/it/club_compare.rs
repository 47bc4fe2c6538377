//! Two rulesets in words, limits without a case, citations, and every mistake of a file once.

use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, SourceFile, Weight};
use linewalk::rules::{Loaded, differences, load, warnings, without_case};

use crate::shipped::day;
use crate::strangers::{Machine, words};

const GROUND: &str = include_str!("../bad/rules/ground.toml");

fn ground() -> Arc<SourceFile> {
    SourceFile::new("ground.toml", GROUND)
}

fn club(rest: &str) -> Loaded {
    let text = format!(
        "format = 1\n[ruleset]\nid = \"club\"\ntitle = \"Club\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
         review_every = \"1 year\"\nextends = [\"ground\"]\n{rest}"
    );
    load(&[SourceFile::new("club.toml", text)], &|_, _| Some(ground()))
}

fn errors(loaded: &Loaded) -> Vec<&Diagnostic> {
    loaded.diagnostics.iter().filter(|one| one.weight == Weight::Error).collect()
}

/// What a change does to a check, as a person would say it.
#[test]
fn a_difference_says_what_comes_goes_tightens_and_loosens() {
    let first = load(&[ground()], &|_, _| None).rules;
    let gap = "[[check]]\nid = \"hose-gap\"\nreason = \"Tried.\"\n";
    for (change, what, way) in [
        ("measure = { min = \"5/8 in\" }\n", "tightens", "least 1/2 in -> 5/8 in"),
        ("measure = { min = \"1/4 in\" }\n", "loosens", "least 1/2 in -> 1/4 in"),
        ("severity = \"fix\"\n", "loosens", "severity stop -> fix"),
        ("title = \"Another\"\n", "changes", "title"),
        ("off = true\n", "goes", "off: Tried."),
    ] {
        let second = club(&format!("{gap}{change}"));
        assert!(errors(&second).is_empty(), "{change}: {:?}", second.diagnostics);
        let found = differences(&first, &second.rules);
        let [one] = &found[..] else { panic!("{change}: {found:?}") };
        assert_eq!(one.what, what, "{change}: {one:?}");
        assert!(one.ways.iter().any(|words| words.contains(way)), "{change}: {one:?}");
        // Seen from the other side it is the other way round.
        let back = differences(&second.rules, &first);
        let other = match what {
            "tightens" => "loosens",
            "loosens" => "tightens",
            "goes" => "comes",
            same => same,
        };
        assert_eq!(back[0].what, other, "{change}: {back:?}");
    }
    assert!(differences(&first, &first).is_empty());
}

#[test]
fn the_command_says_it_by_code() {
    let machine = Machine::new();
    assert_eq!(machine.run(&["rules", "new", "my-club"]).status.code(), Some(0));
    let change =
        ["rules", "change", "my-club", "LF01", "min=3/4 in", "--accepts", "7/8 in", "--rejects", "1/2 in"];
    assert_eq!(machine.run(&change).status.code(), Some(0));
    let told = words(&machine.run(&["rules", "diff", "base", "my-club.toml"]));
    assert!(told.contains("tightens: LF01 ") && told.contains("least 1/2 in -> 3/4 in"), "{told}");
    assert!(words(&machine.run(&["rules", "diff", "base", "base"])).contains("the two ask the same"));
}

/// A limit or condition that no case tries is named; cases that try it end that.
#[test]
fn what_no_case_tries_is_named() {
    let rest = "[[check]]\nid = \"hose-gap\"\nreason = \"Tried.\"\nwhen = { fuel = [\"methanol\"] }\n";
    let without = without_case(&club(rest).rules);
    assert_eq!(without, ["hose-gap, when: no case that expects asked, and none that expects left-out"]);
    let cases = "[[check.case]]\ngiven = { car = { fuel = [\"methanol\"] } }\nexpect = \"asked\"\n\
                 [[check.case]]\ngiven = { car = { fuel = [\"gasoline\"] } }\nexpect = \"left-out\"\n";
    let without = without_case(&club(&format!("{rest}{cases}")).rules);
    let said = without.join("\n");
    assert!(!said.contains("when") && said.contains("no case that expects accept"), "{said}");
    assert!(without_case(&load(&[ground()], &|_, _| None).rules).is_empty());
}

/// Each word of a condition has to decide a case by itself: one that was mistyped would not be seen else.
#[test]
fn each_word_of_a_condition_wants_a_case() {
    let rest = "[[check]]\nid = \"hose-gap\"\nreason = \"Tried.\"\n\
                when = { all = [\"booster\", \"line-lock\"], fuel = [\"methanol\", \"ethanol\"] }\n\
                unless = { engine = [\"rear\"] }\n";
    let case = |car: &str, expect: &str| {
        format!("[[check.case]]\ngiven = {{ car = {{ {car} }} }}\nexpect = \"{expect}\"\n")
    };
    let both = "equipment = [\"booster\", \"line-lock\"], fuel = [\"methanol\"]";
    let one = "equipment = [\"line-lock\"], without = [\"booster\"]";
    let cases = [case(both, "asked"), case(one, "left-out")].concat();
    let said = |cases: &str| -> Vec<String> {
        let found = without_case(&club(&format!("{rest}{cases}")).rules).into_iter();
        found.filter(|line| line.contains("when") || line.contains("unless")).collect()
    };
    assert_eq!(
        said(&cases),
        [
            "hose-gap, when: no case leaves it out for a car without a line-lock",
            "hose-gap, when: no case asks it of a car with fuel ethanol",
            "hose-gap, when: no case leaves it out for a car without fuel methanol or ethanol",
            "hose-gap, unless: no case leaves it out for a car with engine rear",
            "hose-gap, unless: no case asks it of a car without engine rear",
        ]
    );
    let more = [
        case("equipment = [\"booster\"], without = [\"line-lock\"]", "left-out"),
        case("equipment = [\"booster\", \"line-lock\"], fuel = [\"ethanol\"], engine = \"mid\"", "asked"),
        case("fuel = [\"diesel\"]", "left-out"),
        case("engine = \"rear\"", "left-out"),
    ];
    assert!(said(&[cases, more.concat()].concat()).is_empty());
}

#[test]
fn a_citation_has_document_edition_clause_and_page() {
    let source = "source = [{ for = \"limit\", document = \"Club rules\", edition = 2026, clause = \"4.2\", page = 17, \
                  basis = \"published\", seen = \"original\" }]\n";
    let loaded = club(&format!("[[check]]\nid = \"hose-gap\"\n{source}"));
    assert!(errors(&loaded).is_empty(), "{:?}", loaded.diagnostics);
    let check = loaded.rules.check("hose-gap").unwrap();
    assert_eq!(check.clause().as_deref(), Some("Club rules, edition 2026, 4.2, page 17"));
    let plain = load(&[ground()], &|_, _| None).rules;
    assert_eq!(plain.check("hose-gap").unwrap().clause(), None, "common practice has no place to name");
}

/// A changed limit whose published source was written for the old one is doubtful until the source is changed too.
#[test]
fn a_source_that_no_longer_fits_is_doubtful() {
    let change = "[[check]]\nid = \"line-support\"\ncompute = { min = 1.2 }\n";
    let doubts = |rest: &str| -> Vec<String> {
        let loaded = club(rest);
        assert!(errors(&loaded).is_empty(), "{:?}", loaded.diagnostics);
        let all = warnings(&loaded.rules, day("2026-11-02"));
        all.into_iter()
            .filter(|one| one.message.contains("its source still is"))
            .map(|one| one.at.shown())
            .collect()
    };
    assert_eq!(doubts(change), ["club.toml:11:19"]);
    let own = "source = [{ for = \"limit\", document = \"Club rules\", clause = \"4.2\", basis = \"published\", seen = \"original\" }]\n";
    assert!(doubts(&format!("{change}{own}")).is_empty());
}

/// After a double id the rest of that check is read too, and each mistake stands once.
#[test]
fn a_double_id_does_not_hide_what_else_is_wrong() {
    let check = GROUND.split("[[check]]").nth(1).unwrap();
    let twice = check.replace("severity = \"stop\"", "severity = \"stopp\"");
    let file = SourceFile::new("twice.toml", format!("{GROUND}\n[[check]]{twice}"));
    let loaded = load(&[file], &|_, _| None);
    let said: Vec<&str> = errors(&loaded).iter().map(|one| one.message.as_str()).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(
        said.iter().any(|one| one.contains("stands twice")) && said.iter().any(|one| one.contains("stopp")),
        "{said:?}"
    );
}

/// A ruleset that bears the name of a shipped one is said to be another, with its path and sum; a copy of it is not.
#[test]
fn a_file_in_the_place_of_shipped_rules_is_said() {
    let own = GROUND.replacen("id = \"ground\"", "id = \"base\"", 1);
    let file = SourceFile::new("here/base.toml", own);
    let rules = load(&[Arc::clone(&file)], &|_, _| None).rules;
    let said = rules.sentences_of_day(day("2026-11-02")).join(" ");
    assert!(said.contains("here/base.toml") && said.contains(&file.sha256()), "{said}");
    let short = rules.in_short_of_day(day("2026-11-02")).unwrap();
    assert!(short.contains("base IS NOT THE SHIPPED ONE"), "{short}");
    let shipped = linewalk::rules::built_in("hill-climb").unwrap();
    let copy = SourceFile::new("here/hill-climb.toml", shipped.text.to_string());
    let rules = load(&[copy], &|id, _| linewalk::rules::built_in(id)).rules;
    assert!(!rules.sentences_of_day(day("2026-11-02")).iter().any(|one| one.contains("not the shipped")));
}

/// A name that is not there is one mistake, however many places use it, and all of them are named.
#[test]
fn a_station_that_is_not_there_is_one_mistake() {
    let first = GROUND.replace("station = \"nose\"", "station = \"noze\"");
    let first = first.replace("station = \"tail\"", "station = \"noze\"");
    assert!(first.matches("\"noze\"").count() > 1);
    let loaded = load(&[SourceFile::new("ground.toml", first.clone())], &|_, _| None);
    let found = errors(&loaded);
    let [one] = &found[..] else { panic!("{found:?}") };
    assert_eq!(one.message, "there is no station noze");
    let line_of = |nth: usize| {
        let at = first.match_indices("station = \"noze\"").nth(nth).unwrap().0;
        first[..at].matches('\n').count() + 1
    };
    assert_eq!(one.at.line(), line_of(0));
    assert!(
        one.help.contains("did you mean nose?") && one.help.contains(&line_of(1).to_string()),
        "{}",
        one.help
    );
    // Seen from the other side: the station itself is called otherwise.
    let renamed = GROUND.replacen("id = \"nose\"", "id = \"noses\"", 1);
    let loaded = load(&[SourceFile::new("ground.toml", renamed)], &|_, _| None);
    assert_eq!(errors(&loaded).len(), 1, "{:?}", loaded.diagnostics);
}

/// Rules that build on each other in a ring, with checks in each of them.
#[test]
fn a_ring_of_rules_is_one_mistake() {
    let change = "[[check]]\nid = \"hose-gap\"\nmeasure = { min = \"5/8 in\" }\n[[check]]\nid = \"other\"\nstation = \"nose\"\n";
    let file = |id: &str, extends: &str| {
        let text = format!(
            "format = 1\n[ruleset]\nid = \"{id}\"\ntitle = \"T\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
             review_every = \"1 year\"\nextends = [\"{extends}\"]\n{change}"
        );
        SourceFile::new(format!("{id}.toml"), text)
    };
    let all = [file("one", "two"), file("two", "three"), file("three", "one")];
    let beside = |id: &str| all.iter().find(|file| file.name == format!("{id}.toml")).cloned();
    let loaded = load(&[Arc::clone(&all[0])], &|id, _| beside(id));
    let found = errors(&loaded);
    let [ring] = &found[..] else { panic!("{found:?}") };
    assert_eq!(
        (ring.message.as_str(), ring.at.shown().as_str()),
        ("one extends itself through this", "three.toml:8:12")
    );
}

//! Shipped rules whose checks are read only when somebody looks into them are the same rules.

use std::sync::Arc;

use linewalk::mistake::{SourceFile, any_error};
use linewalk::rules::{Loaded, Ruleset, Shelf, built_in, load, load_from};
use linewalk::source::{Node, Value, parse, parse_folded};

use crate::shipped::repo_file;

fn look_up(id: &str, _: &SourceFile) -> Option<Arc<SourceFile>> {
    built_in(id).or_else(|| (id == "example-club").then(|| repo_file("rulesets/example-club.toml")))
}

fn both(file: &Arc<SourceFile>) -> (Arc<Loaded>, Loaded) {
    let files = [Arc::clone(file)];
    (load_from(&Shelf::trusting(), &files, &look_up), load(&files, &look_up))
}

/// Everything of a ruleset in words, its checks unfolded.
fn in_words(rules: &Ruleset) -> String {
    let mut rules = rules.clone();
    rules.checks.iter_mut().for_each(|check| check.change(|_| ()));
    format!("{rules:#?}")
}

fn assert_same(file: &Arc<SourceFile>) -> Arc<Loaded> {
    let (folded, whole) = both(file);
    assert_eq!(folded.mistakes, whole.mistakes, "{}", file.name);
    let (folded_words, whole_words) = (in_words(&folded.rules), in_words(&whole.rules));
    assert!(!any_error(&whole.mistakes), "{:?}", whole.mistakes);
    let differs = folded_words.lines().zip(whole_words.lines()).find(|(a, b)| a != b);
    assert!(differs.is_none() && folded_words.len() == whole_words.len(), "{}: {differs:?}", file.name);
    folded
}

#[test]
fn what_is_read_late_is_what_is_read_at_once() {
    assert_same(&built_in("base").unwrap());
    // Over a club's file, over one for a kind of track, over base.
    let loaded = assert_same(&repo_file("rulesets/example-bulletin.toml"));
    assert!(!loaded.rules.changes.is_empty() && !loaded.rules.dropped.is_empty());
}

/// What a club's file gets wrong is told as soon as ever, also in the words of the check it changes.
#[test]
fn mistakes_over_folded_checks_are_all_told() {
    let head = "format = 1\n[ruleset]\nid = \"c\"\ntitle = \"c\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
                review_every = \"1 year\"\nextends = [\"base\"]\n";
    for (wrong, told) in [
        ("[[check]]\nid = \"car-made-safe\"\nstation = \"nowhere\"\n", 1),
        ("[[check]]\nid = \"car-made-safe\"\nmethod = \"guess\"\n", 1),
        ("[[check]]\nid = \"car-made-safe\"\nmeasure = { min = \"7 parsecs\", kind = 3 }\n", 2),
        ("[[check]]\nid = \"car-made-save\"\nremedy = \"x\"\n", 1),
        ("[[check]]\nid = \"car-made-safe\"\nclear = [\"look\", \"nothing\"]\n", 2),
    ] {
        let (folded, whole) = both(&SourceFile::new("c.toml", format!("{head}{wrong}")));
        assert_eq!(folded.mistakes, whole.mistakes, "{wrong}");
        assert!(whole.mistakes.len() >= told, "{wrong}: {:?}", whole.mistakes);
    }
}

/// What stands before the checks is read line by line too: what comes out is what the parser reads, in base and elsewhere.
#[test]
fn what_stands_before_the_checks_is_what_the_parser_reads() {
    let base = built_in("base").unwrap();
    let odd = [
        "a = 1\n# one\n\n[b]\nc = 0.95\nd = 2026-11-01\n[[e]]\nf = [1.5, \"x\"]\n\t\n[[e]]\n[g]\n[[e]]\nh = {}\n",
        "[b.c]\nd = 1\n[b]\ne = 2\n",
        "[[b]]\n[b.c]\nd = 1\n[[b]]\n[[b.e]]\nf = 1\n",
        "[ b ] # two\nc = 1 # three\n[\"d e\"]\nf.g = 1\n",
        "\u{feff}a = 1\r\nb = 1979-05-27T07:32:00Z\r\n",
        "a = 00.5\n",
        "a = 1.\n",
        "a = .5\n",
        "a = 2026-13-01\n",
        "a = 2026-11-01 07:32:00\n",
        "a = [{}]\n[[a]]\n",
        "a = {}\n[a]\n",
        "[a]\n[a]\n",
        "[a]\n[[a]]\n",
        "[[a]]\n[a]\n",
        "[a]b = 1\n",
        "[[a]\n",
        "[a\n]\n",
        "# \u{7}\n",
        "a = 1 2\n",
        "",
    ];
    let files = odd.map(|text| SourceFile::new("head.toml", format!("{text}\n[[check]]\nid = \"x\"\n")));
    for file in files.iter().chain([&base]) {
        let (whole, mistakes) = parse(file);
        let folded = parse_folded(file, "check", &FRONT);
        assert_eq!(folded.is_some(), mistakes.is_empty(), "{}: {mistakes:?}", file.text);
        let head = |node: &Node| {
            let table = node.value.as_table().unwrap().clone();
            let entries = table.entries.into_iter().filter(|(key, _)| key.text != "check");
            entries.collect::<Vec<_>>()
        };
        if let Some(folded) = folded {
            assert_eq!(head(&folded), head(&whole), "{}", file.text);
        }
    }
}

/// The keys with which a check may begin.
const FRONT: [&str; 11] = [
    "id", "station", "severity", "profiles", "seconds", "stage", "first", "when", "unless", "topic", "title",
];

/// The first lines are read by themselves: keys, values and places are those that the parser finds.
#[test]
fn first_lines_are_what_the_parser_reads() {
    let base = built_in("base").unwrap();
    let folded = parse_folded(&base, "check", &FRONT).unwrap();
    let Value::Array(checks) = &folded.value.as_table().unwrap().get("check").unwrap().value else {
        panic!()
    };
    assert!(checks.len() > 100);
    for check in checks.iter() {
        let Value::Folded(fold) = &check.value else { panic!("{check:?}") };
        let front = fold.front().unwrap().entries;
        assert_eq!(check.value.id(), Some(fold.id()));
        assert_eq!(front.first().map(|(_, node)| &node.value), Some(&Value::Text(fold.id().to_owned())));
        assert!(front.iter().any(|(key, _)| key.text == "title"), "{front:?}");
        assert_eq!(front, fold.whole().entries[..front.len()]);
    }
}

/// Lines that are not of the plainest kind, right ones and wrong ones, are left to the parser.
#[test]
fn other_first_lines_are_left_to_the_parser() {
    for (lines, folds) in [
        ("a = \"x\\ty\"\n", true),
        ("a = \"\"\"x\"\"\"\n", true),
        ("a = 'x'\n", true),
        ("a.b = 1\n", true),
        ("a = 1.5\n", true),
        ("a = -1\n", true),
        ("a = 1_000\n", true),
        ("a = 2026-11-28\n", true),
        ("a = [\n1]\n", false),
        ("a = [1, 2,]\n", true),
        ("a = 1 # one\n", true),
        ("a = \"\"\na-b_1 = []\n\n  c = { d = { e = [true, \"f\"] }, g = 0 }  \n", true),
        ("a = 1", true),
        ("a = 05\n", false),
        ("a = 1 b = 2\n", false),
        ("a = 1\na = 2\n", false),
        ("a = { b = 1, b = 2 }\n", false),
        ("a = [1 2]\n", false),
        ("a = [,]\n", false),
        ("a = \"x\n\"\n", false),
        ("a = \"\u{7}\"\n", false),
        ("a = 9223372036854775808\n", true),
        ("a = yes\n", false),
        ("a = \n", false),
        (" = 1\n", false),
    ] {
        let file = SourceFile::new("first.toml", format!("b = 1\n[[t]]\nid = \"x\"\n{lines}"));
        let folded = parse_folded(&file, "t", &["id", "a", "a-b_1", "c", "a.b"]).unwrap();
        let (whole, mistakes) = parse(&file);
        let first = |root: &Node| match &root.value.as_table().unwrap().get("t").unwrap().value {
            Value::Array(items) => items[0].clone(),
            other => panic!("{other:?}"),
        };
        let Value::Folded(fold) = first(&folded).value else { panic!("{lines}") };
        let front = fold.front();
        assert_eq!(front.is_some(), folds, "{lines}: {mistakes:?}");
        if let Some(front) = front {
            assert_eq!(Some(&front), first(&whole).value.as_table(), "{lines}");
        }
    }
}

/// A check that does not begin with the keys a start looks at makes every start slower, and none fails for it.
#[test]
fn the_checks_of_base_stay_folded() {
    let (folded, _) = both(&built_in("base").unwrap());
    for check in &folded.rules.checks {
        let words = format!("{check:?}");
        let folded = words.contains("body: Folded(") && words.contains("OnceLock(<uninit>)");
        assert!(folded, "{} begins with other keys than id, station and so on to title", check.id);
    }
}

/// The same text is read once, a changed one again.
#[test]
fn rules_are_read_once_until_they_change() {
    let shelf = Shelf::trusting();
    let club = |limit: &str| {
        let text = repo_file("rulesets/example-club.toml").text.replace("min = 2", limit);
        SourceFile::new("club.toml", text)
    };
    let first = load_from(&shelf, &[club("min = 2")], &look_up);
    assert!(Arc::ptr_eq(&first, &load_from(&shelf, &[club("min = 2")], &look_up)));
    let other = load_from(&shelf, &[club("min = 3")], &look_up);
    assert!(!Arc::ptr_eq(&first, &other));
    assert_ne!(first.rules.mark().sha256, other.rules.mark().sha256);
}

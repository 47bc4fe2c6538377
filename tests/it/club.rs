//! A club's rules by commands alone: shown, begun, changed, and tried before they are written.

use std::fs;

use crate::strangers::{Machine, words};

fn done(machine: &Machine, arguments: &[&str]) -> String {
    let out = machine.run(arguments);
    assert_eq!(out.status.code(), Some(0), "{arguments:?}: {}", words(&out));
    String::from_utf8(out.stdout).unwrap()
}

fn refused(machine: &Machine, arguments: &[&str]) -> String {
    let out = machine.run(arguments);
    assert_eq!(out.status.code(), Some(2), "{arguments:?}: {}", words(&out));
    String::from_utf8(out.stderr).unwrap()
}

fn club() -> Machine {
    let machine = Machine::new();
    done(&machine, &["rules", "new", "my-club", "--extends", "base"]);
    machine
}

fn text(machine: &Machine) -> String {
    fs::read_to_string(machine.path("my-club.toml")).unwrap()
}

/// What is printed of base is base: read again it has the same checks, and each check alone reads as it does there.
#[test]
fn base_printed_as_toml_is_base() {
    let machine = Machine::new();
    let whole = done(&machine, &["rules", "show", "base", "--format", "toml"]);
    machine.write("copy.toml", &whole);
    assert_eq!(done(&machine, &["rules", "list", "copy.toml"]), done(&machine, &["rules", "list", "base"]));
    let head = "format = 1\n[ruleset]\nid = \"over\"\ntitle = \"Over\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
                review_every = \"1 year\"\nextends = [\"base\"]\n";
    for code in ["LF01", "LF02", "TL01", "UN05", "FT01"] {
        let one = done(&machine, &["rules", "show", "base", code, "--format", "toml"]);
        let parsed: toml::Table = one.parse().unwrap();
        let whole: toml::Table = whole.parse().unwrap();
        let of_whole = whole["check"].as_array().unwrap().iter();
        let same = of_whole.filter(|check| check["code"].as_str() == Some(code)).collect::<Vec<_>>();
        assert_eq!(parsed["check"].as_array().unwrap().iter().collect::<Vec<_>>(), same);
        machine.write("over.toml", &format!("{head}{one}"));
        let told = done(&machine, &["rules", "check", "over.toml"]);
        assert!(told.contains(" 0 errors"), "{told}");
    }
}

#[test]
fn a_check_is_shown_in_words_without_a_text_cut() {
    let machine = Machine::new();
    let told = done(&machine, &["rules", "show", "base", "lf-hose-at-steer-lock"]);
    for part in [
        "LF01",
        "touches nothing, and comes back to the same shape with the wheel straight.",
        "min 1/2 in",
        "49 CFR 393.45",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
    let explained = done(&machine, &["rules", "explain", "LF01"]);
    assert!(!explained.contains('…'), "{explained}");
    assert!(
        refused(&machine, &["rules", "show", "base", "lf-hose-at-ster-lock"])
            .contains("did you mean lf-hose-at-steer-lock")
    );
}

#[test]
fn a_new_file_is_sound_and_every_remark_in_it_can_be_used() {
    let machine = club();
    let told = done(&machine, &["rules", "check", "my-club.toml"]);
    assert!(told.contains("0 errors, 0 doubtful"), "{told}");
    // Blocks of remarks that hold TOML, as the file says: take the # away.
    let used: String = text(&machine)
        .lines()
        .map(|line| {
            let inner = line.strip_prefix("# ").or(line.strip_prefix('#')).unwrap_or(line);
            let is_toml =
                inner.is_empty() || inner.starts_with('[') || (inner.contains(" = ") && !inner.contains('`'));
            format!("{}\n", if is_toml { inner } else { line })
        })
        .collect();
    machine.write("my-club.toml", &used);
    let told = done(&machine, &["rules", "check", "my-club.toml"]);
    assert!(told.contains("0 errors, 0 doubtful"), "{told}");
    assert!(done(&machine, &["rules", "list", "my-club.toml"]).contains("hose-age"));
    assert!(refused(&machine, &["rules", "new", "my-club"]).contains("is there already"));
    assert!(refused(&machine, &["rules", "new", "base"]).contains("shipped rules"));
}

#[test]
fn a_limit_is_changed_in_place_and_its_remarks_stay() {
    let machine = club();
    let told = done(
        &machine,
        &["rules", "change", "my-club", "LF01", "min=3/4 in", "--accepts", "7/8 in", "--rejects", "1/2 in"],
    );
    for part in
        ["1/2 in -> 3/4 in", "7/8 in is accepted, 1/2 in is rejected", "built in: base/02-left-front.toml"]
    {
        assert!(told.contains(part), "{part}: {told}");
    }
    let first = text(&machine);
    assert!(first.contains("# A line that begins with # is a remark."));
    assert!(done(&machine, &["rules", "test", "my-club.toml"]).contains(" 0 not"));
    // Once more: the same block is changed, and the club's cases with it.
    done(
        &machine,
        &["rules", "change", "my-club", "LF01", "min=1 in", "--accepts", "1 1/8 in", "--rejects", "7/8 in"],
    );
    let second = text(&machine);
    assert_eq!(second.matches("\nid = \"lf-hose-at-steer-lock\"").count(), 1, "{second}");
    assert!(
        !second.contains("\n[[check.case]]\ngiven = { value = \"1/2 in\"") && second.contains("1 1/8 in"),
        "{second}"
    );
    assert!(done(&machine, &["rules", "test", "my-club.toml"]).contains(" 0 not"));
}

/// One of several limits in a list: the list is written whole, and only that limit is another.
#[test]
fn one_limit_of_a_list_is_changed() {
    let machine = club();
    let change = ["rules", "change", "my-club", "LF02", "length-ratio.min=1.1"];
    done(&machine, &[&change[..], &["--accepts", "1.12", "--rejects", "1.07"]].concat());
    let told = done(&machine, &["rules", "explain", "LF02", "--rules", "my-club.toml"]);
    assert!(told.contains("min = 1.1") && told.contains("id = \"bend-margin\""), "{told}");
    assert!(
        refused(&machine, &["rules", "change", "my-club", "LF02", "min=1.1"]).contains("length-ratio.min")
    );
}

#[test]
fn nothing_is_written_where_limit_and_values_disagree_or_a_value_lacks() {
    let machine = club();
    let before = text(&machine);
    let change = ["rules", "change", "my-club", "LF01", "min=3/4 in"];
    let with = |more: &[&'static str]| [&change[..], more].concat();
    assert!(refused(&machine, &change).contains("--accepts"));
    assert!(refused(&machine, &with(&["--accepts", "1 in"])).contains("--rejects"));
    let told = refused(&machine, &with(&["--accepts", "5/8 in", "--rejects", "1/2 in"]));
    assert!(told.contains("5/8 in is to be accepted, and with this limit it is reject"), "{told}");
    // A rule reads to 1/32 in: on the limit nothing is decided.
    let told = refused(&machine, &with(&["--accepts", "3/4 in", "--rejects", "1/2 in"]));
    assert!(told.contains("undecided") && told.contains("further off"), "{told}");
    for (change, says) in [
        ("min=3/4 gallons", "volume"),
        ("min=0.75", "needs a unit"),
        ("least=3/4 in", "not a key"),
        ("severity=hard", "one of"),
        ("min", "key=value"),
    ] {
        let told = refused(
            &machine,
            &["rules", "change", "my-club", "LF01", change, "--accepts", "1 in", "--rejects", "1/4 in"],
        );
        assert!(told.contains(says), "{change}: {told}");
    }
    assert_eq!(text(&machine), before);
    assert!(
        refused(&machine, &["rules", "change", "base", "LF01", "severity=fix"]).contains("stays as it is")
    );
    assert!(
        refused(&machine, &["rules", "change", "other", "LF01", "severity=fix"]).contains("rules new other")
    );
}

#[test]
fn words_and_lists_are_changed_too() {
    let machine = club();
    done(&machine, &["rules", "change", "my-club", "LF03", "title=Ours", "seconds=9"]);
    let told = done(&machine, &["rules", "show", "my-club.toml", "LF03"]);
    assert!(told.starts_with("LF03  Ours\n"), "{told}");
    done(&machine, &["rules", "change", "my-club", "LF03", "--off", "--reason", "Not asked here."]);
    let told = refused(&machine, &["rules", "show", "my-club.toml", "LF03"]);
    assert!(told.contains("there is no check"), "{told}");
}

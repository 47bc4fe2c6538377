//! Values of a car file are changed in their places: whatever else stands in the file stays, byte for byte.

use std::fs;
use std::sync::Arc;

use linewalk::diagnostic::SourceFile;
use linewalk::model::edit::{Edit, LISTS, edited};
use linewalk::model::{Settable, settable};
use linewalk::source::FieldKind;
use linewalk::source::splice;
use proptest::prelude::*;
use proptest::sample::Index;

/// The sample cars, and each with other line ends, with a byte order mark, and without an end of the last line.
fn texts() -> Vec<(String, String)> {
    let mut texts = Vec::new();
    for name in ["bittern", "curlew", "dunlin", "heron", "plover"] {
        let text = fs::read_to_string(format!("sample-cars/{name}.toml")).unwrap();
        texts.push((format!("{name}, CRLF"), text.replace('\n', "\r\n")));
        texts.push((format!("{name}, byte order mark"), format!("\u{feff}{text}")));
        texts.push((format!("{name}, no last line end"), text.trim_end().to_owned()));
        texts.push((name.to_owned(), text));
    }
    texts
}

fn file(text: &str) -> Arc<SourceFile> {
    SourceFile::new("car.toml", text)
}

fn set(key: &str, value: &str) -> Edit {
    Edit::Set { key: key.to_owned(), value: value.to_owned(), how: None }
}

fn unset(key: &str) -> Edit {
    Edit::Unset { key: key.to_owned() }
}

/// That two texts have the same bytes; where not, the first line that differs.
fn assert_same(found: Result<String, String>, wanted: &str, what: &str) {
    let found = found.unwrap_or_else(|why| panic!("{what}: {why}"));
    let lines = || found.split_inclusive('\n').zip(wanted.split_inclusive('\n'));
    let differ = lines().find(|(one, other)| one != other);
    assert!(found == wanted, "{what}: {differ:?}, {} and {} bytes", found.len(), wanted.len());
}

fn is_free(settable: &Settable) -> bool {
    settable.path != "format"
}

/// A value that may stand at a key.
fn fitting(kind: &FieldKind) -> Option<String> {
    Some(match kind {
        FieldKind::Text => "a \"quoted\" text # not a remark".to_owned(),
        FieldKind::TextOrNumber => "62".to_owned(),
        FieldKind::Choice(words) => words.first()?.clone(),
        FieldKind::Quantity(kind) => {
            kind.examples().split([',', ';']).next()?.trim_matches('"').trim().to_owned()
        }
        FieldKind::Number | FieldKind::Rpm | FieldKind::Count => "1".to_owned(),
        FieldKind::Flag => "true".to_owned(),
        FieldKind::Date => "2026-03-14".to_owned(),
        FieldKind::Span => "2 years".to_owned(),
        _ => return None,
    })
}

#[test]
fn every_value_set_to_itself_leaves_the_same_bytes() {
    let mut count = 0;
    for (name, text) in texts() {
        for key in settable(&file(&text)).into_iter().filter(is_free) {
            let Some(value) = &key.text else { continue };
            if key.path.ends_with(".id") {
                continue;
            }
            let same = edited(&file(&text), &[set(&key.path, value)]);
            assert_same(same, &text, &format!("{name}: {}", key.path));
            count += 1;
        }
    }
    println!("{count} values of 5 cars in 4 forms each set to themselves: the same bytes");
    assert!(count > 4000);
}

#[test]
fn a_value_set_and_taken_out_again_leaves_the_same_bytes() {
    let mut count = 0;
    for (name, text) in texts() {
        for key in settable(&file(&text)).into_iter().filter(is_free) {
            let Some(value) = fitting(&key.kind).filter(|_| key.text.is_none()) else { continue };
            let parts: Vec<&str> = key.path.split('.').collect();
            let quoted = splice::quoted(&value);
            let with = splice::set(&text, &parts, &quoted)
                .unwrap_or_else(|why| panic!("{name}: {}: {why}", key.path));
            assert_ne!(with, text);
            let without =
                splice::unset(&with, &parts).unwrap_or_else(|why| panic!("{name}: {}: {why}", key.path));
            assert_same(Ok(without), &text, &format!("{name}: {}", key.path));
            count += 1;
        }
    }
    println!("{count} values set and taken out again: the same bytes");
    assert!(count > 1000);
}

#[test]
fn only_the_bytes_of_the_value_change() {
    for (name, text) in texts() {
        let nl = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let number = settable(&file(&text)).into_iter().find(|key| key.path == "car.number").unwrap();
        let old = format!("number = \"{}\"{nl}", number.text.unwrap());
        let wanted = text.replacen(&old, &format!("number = \"7 A\"{nl}"), 1);
        assert_same(edited(&file(&text), &[set("car.number", "7 A")]), &wanted, &name);
    }
}

#[test]
fn a_part_added_and_taken_out_again_leaves_the_same_bytes() {
    for (name, text) in texts() {
        for list in LISTS {
            let way: Vec<&str> = list.split('.').collect();
            let fields =
                vec![("id".to_owned(), "\"added-1\"".to_owned()), ("note".to_owned(), "[1, 2]".to_owned())];
            let with =
                splice::add(&text, &way, &fields).unwrap_or_else(|why| panic!("{name}: {list}: {why}"));
            let path: Vec<&str> = way.iter().copied().chain(["added-1"]).collect();
            assert_same(splice::take_out(&with, &path), &text, &format!("{name}: {list}"));
        }
    }
}

#[test]
fn a_part_renamed_there_and_back_leaves_the_same_bytes_and_every_reference_goes_along() {
    for (name, text) in texts() {
        for (list, id) in parts(&text).into_iter().filter(|(list, _)| *list != "brakes.wheel_brake") {
            let there = Edit::Rename { id: id.clone(), to: "renamed-1".to_owned() };
            let with =
                edited(&file(&text), &[there]).unwrap_or_else(|why| panic!("{name}: {list} {id}: {why}"));
            assert!(!named(&with, &id), "{name}: {id} is named still");
            let back = Edit::Rename { id: "renamed-1".to_owned(), to: id.clone() };
            assert_same(edited(&file(&with), &[back]), &text, &format!("{name}: {id}"));
        }
    }
}

/// The parts of a car, by another reader than the one under test.
fn parts(text: &str) -> Vec<(&'static str, String)> {
    let whole: toml::Table = text.trim_start_matches('\u{feff}').parse().unwrap();
    let mut found = Vec::new();
    for list in LISTS {
        let mut at = Some(&toml::Value::Table(whole.clone())).cloned();
        for part in list.split('.') {
            at = at.and_then(|value| value.get(part).cloned());
        }
        for item in at.iter().filter_map(toml::Value::as_array).flatten() {
            found.push((list, item.get("id").unwrap().as_str().unwrap().to_owned()));
        }
    }
    found
}

/// Whether a text stands anywhere among the values of a file.
fn named(text: &str, word: &str) -> bool {
    fn within(value: &toml::Value, word: &str) -> bool {
        match value {
            toml::Value::String(text) => text == word,
            toml::Value::Array(items) => items.iter().any(|item| within(item, word)),
            toml::Value::Table(table) => table.values().any(|value| within(value, word)),
            _ => false,
        }
    }
    // Circuits, corners and faces have names of their own kind that an id may share.
    let whole: toml::Table = text.trim_start_matches('\u{feff}').parse().unwrap();
    let mut whole = toml::Value::Table(whole);
    fn strip(value: &mut toml::Value) {
        match value {
            toml::Value::Array(items) => items.iter_mut().for_each(strip),
            toml::Value::Table(table) => {
                for key in ["circuit", "corner", "face", "feeds", "plumbed_to", "car", "kind", "part"] {
                    table.remove(key);
                }
                table.iter_mut().for_each(|(_, value)| strip(value));
            }
            _ => {}
        }
    }
    strip(&mut whole);
    within(&whole, word)
}

#[test]
fn remarks_between_every_two_lines_stay() {
    let heron = fs::read_to_string("sample-cars/heron.toml").unwrap();
    let remarked: String = heron
        .lines()
        .enumerate()
        .map(|(at, line)| format!("# before {at}\n  {line}   # behind {at}\n"))
        .collect();
    let edits = [
        set("brakes.hose.lf-hose.length", "13 1/2 in +/- 1/16 in"),
        set("brakes.wheel_brake.pad_gap", "0.006 in"),
        set("suppression.nozzle.engine-left.aim", "[-1, -0.3, -0.4]"),
        set("car.fuel", "methanol, gasoline"),
        Edit::Rename { id: "main".to_owned(), to: "long-run".to_owned() },
    ];
    let with = edited(&file(&remarked), &edits).unwrap();
    for at in 0..heron.lines().count() {
        assert!(
            with.contains(&format!("# before {at}\n")) && with.contains(&format!("# behind {at}\n")),
            "{at}"
        );
    }
    assert_eq!(with.matches("pad_gap = \"0.006 in\"").count(), 4);
    assert_eq!(with.matches("\"long-run\"").count(), 3);
    assert!(with.contains("fuel = [\"methanol\", \"gasoline\"]"));
    // A value taken out leaves its remark.
    let without = edited(&file(&remarked), &[unset("brakes.hose.lf-hose.bore")]).unwrap();
    for at in 0..heron.lines().count() {
        assert!(without.contains(&format!("# behind {at}\n")), "{at}");
    }
}

#[test]
fn what_cannot_be_changed_is_refused_with_its_place_and_remedy() {
    let heron = fs::read_to_string("sample-cars/heron.toml").unwrap();
    let refused = |edit: Edit| edited(&file(&heron), &[edit]).unwrap_err();
    let take_out = |id: &str| Edit::TakeOut { id: id.to_owned() };
    let add = |list: &str, id: &str, values: &[(&str, &str)]| Edit::Add {
        list: list.to_owned(),
        id: id.to_owned(),
        values: values.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect(),
    };
    for (edit, said) in [
        (set("brakes.hose.lf-hose.length", "13 furlongs"), &["set:1:", "^", "furlongs"][..]),
        (set("brakes.hose.lf-hose.lenght", "13 in"), &["^", "did you mean length?"]),
        (set("brakes.hose.lh-hose.length", "13 in"), &["^", "did you mean lf-hose?"]),
        (set("brakes.hose.lf-hose.id", "x"), &["an id is not set", "car rename"]),
        (set("brakes.hose.lf-hose", "x"), &["is a part, not a value"]),
        (set("electrics.pump.amps", "1 A"), &["the file has no electrics", "car add"]),
        (set("suppression.nozzle.engine-left.aim", "[1, 2]"), &["three numbers"]),
        (set("suppression.line.main.to", "t9"), &["there is no bottle, tee or nozzle t9", "t1, t2"]),
        (unset("car.number"), &["car has no number"]),
        (take_out("t1"), &["still named by", "suppression.line.main.to"]),
        (take_out("mian"), &["did you mean main?"]),
        (add("lines", "x", &[]), &["did you mean line?"]),
        (add("line", "x", &[]), &["brakes.line or suppression.line"]),
        (add("line", "main", &[("from", "t1")]), &["there is a part main already"]),
        (add("line", "a b", &[("from", "t1")]), &["cannot be an id"]),
        (add("tee", "t9", &[("colour", "red")]), &["there is no key colour"]),
        (Edit::Rename { id: "LF".to_owned(), to: "x".to_owned() }, &["LF, RF, LR and RR stay"]),
        (Edit::Rename { id: "t1".to_owned(), to: "t2".to_owned() }, &["there is a part t2 already"]),
    ] {
        let why = refused(edit);
        for word in said {
            assert!(why.contains(word), "{word}: {why}");
        }
    }
}

#[test]
fn parts_with_what_names_them_come_and_go() {
    let heron = fs::read_to_string("sample-cars/heron.toml").unwrap();
    let value = |key: &str, value: &str| (key.to_owned(), value.to_owned());
    let with = edited(
        &file(&heron),
        &[
            Edit::Add {
                list: "tee".to_owned(),
                id: "t3".to_owned(),
                values: vec![value("at", "[30, -14, 10]")],
            },
            Edit::Add {
                list: "line".to_owned(),
                id: "spare".to_owned(),
                values: vec![
                    value("from", "join"),
                    value("to", "t3"),
                    value("tube.od", "1/4 in"),
                    value("length", "16 in"),
                ],
            },
            Edit::Add {
                list: "line".to_owned(),
                id: "spare-2".to_owned(),
                values: vec![value("from", "t3"), value("to", "cabin")],
            },
            Edit::Add { list: "nozzle".to_owned(), id: "cabin".to_owned(), values: Vec::new() },
        ],
    )
    .unwrap();
    assert!(with.contains(
        "id = \"spare\"\nfrom = \"join\"\nto = \"t3\"\nlength = \"16 in\"\ntube = { od = \"1/4 in\" }\n"
    ));
    let without: Vec<Edit> =
        ["spare", "spare-2", "t3", "cabin"].map(|id| Edit::TakeOut { id: id.to_owned() }).into();
    assert_same(edited(&file(&with), &without), &heron, "parts taken out");
    // Lists that name a part lose its name.
    let without = edited(&file(&heron), &[Edit::TakeOut { id: "rear-run".to_owned() }]).unwrap();
    assert!(without.contains("carries = []"));
    assert!(!without.contains("rear-run"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A value of one key put at another of the same kind: the text reads as the tree with that value, by a reader that
    /// is not the one under test; and the old value gives the old bytes.
    #[test]
    fn any_value_goes_to_any_place_of_its_kind(car in 0..20usize, one in any::<Index>(), other in any::<Index>()) {
        let texts = texts();
        let (name, text) = &texts[car];
        let keys: Vec<Settable> = settable(&file(text)).into_iter()
            .filter(|key| is_free(key) && key.text.is_some() && !key.path.ends_with(".id")).collect();
        let to = one.get(&keys);
        let alike: Vec<&Settable> = keys.iter().filter(|key| key.kind == to.kind).collect();
        let (old, new) = (to.text.clone().unwrap(), other.get(&alike).text.clone().unwrap());
        let parts: Vec<&str> = to.path.split('.').collect();
        let whole = |text: &str| text.trim_start_matches('\u{feff}').parse::<toml::Table>().unwrap();
        let Ok(with) = edited(&file(text), &[set(&to.path, &new)]) else { return Ok(()) };
        let mut wanted = toml::Value::Table(whole(text));
        let new_value = value_at(&toml::Value::Table(whole(&with)), &parts);
        prop_assert!(put_at(&mut wanted, &parts, new_value), "{}: {}", name, to.path);
        prop_assert!(wanted == toml::Value::Table(whole(&with)), "{}: {}", name, to.path);
        assert_same(edited(&file(&with), &[set(&to.path, &old)]), text, &format!("{name}: {}", to.path));
    }
}

fn value_at(value: &toml::Value, parts: &[&str]) -> toml::Value {
    parts.iter().fold(value.clone(), |value, part| match &value {
        toml::Value::Array(items) => items
            .iter()
            .find(|item| item.get("id").and_then(toml::Value::as_str) == Some(part))
            .unwrap()
            .clone(),
        value => value.get(part).unwrap().clone(),
    })
}

fn put_at(value: &mut toml::Value, parts: &[&str], new: toml::Value) -> bool {
    let Some((head, rest)) = parts.split_first() else {
        *value = new;
        return true;
    };
    let next = match value {
        toml::Value::Array(items) => {
            items.iter_mut().find(|item| item.get("id").and_then(toml::Value::as_str) == Some(head))
        }
        value => value.get_mut(head),
    };
    next.is_some_and(|next| put_at(next, rest, new))
}

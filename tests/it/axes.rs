//! Which way the numbers of a point go is told everywhere in one text, and a place on the car in its words.

use std::fs;

use linewalk::model::axes::{AXES, in_words};
use linewalk::model::car_schema;
use linewalk::units::Units;

fn on_one_line(text: &str) -> String {
    text.lines().map(|line| line.trim_start_matches(['#', ' '])).collect::<Vec<_>>().join(" ")
}

#[test]
fn readme_schema_samples_and_help_tell_the_axes_in_one_text() {
    let read = |path: &str| on_one_line(&fs::read_to_string(path).unwrap());
    for name in ["heron", "bittern", "plover", "curlew", "dunlin"] {
        assert!(read(&format!("sample-cars/{name}.toml")).contains(AXES), "{name}");
    }
    assert!(read("README.md").contains(AXES));
    assert_eq!(car_schema()["properties"]["axes"]["description"], AXES);
    let help =
        std::process::Command::new(env!("CARGO_BIN_EXE_linewalk")).args(["help", "axes"]).output().unwrap();
    assert!(on_one_line(&String::from_utf8(help.stdout).unwrap()).contains(AXES));
}

#[test]
fn a_place_is_told_in_words() {
    let inch = 0.0254;
    for (point, words) in [
        (
            [34.0, -15.0, 10.0],
            "34 in ahead of the rear axle, 15 in right of the middle, 10 in above the ground",
        ),
        ([-18.0, 12.0, 30.0], "18 in behind the rear axle, 12 in left of the middle, 30 in above the ground"),
        ([0.0, 0.0, 9.0], "at the rear axle, in the middle, 9 in above the ground"),
    ] {
        assert_eq!(in_words(point.map(|c| c * inch), Units::Us), words);
    }
}

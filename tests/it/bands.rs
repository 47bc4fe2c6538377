//! Bands of numbers: Halton points against printed values, bands against closed forms, the largest sample car.

use std::rc::Rc;
use std::time::Instant;

use chrono::NaiveDate;
use linewalk::mistake::SourceFile;
use linewalk::model::read_car;
use linewalk::numbers::{
    Answer, Number, POINTS, Readings, Situation, quantity, split_readings, to_json, to_text, with_bands,
    work, work_all,
};
use linewalk::physics::halton::{primes, quantile, radical_inverse};
use linewalk::source::Overrides;
use linewalk::units::Units;

use crate::numbers_rig::{RIG, close, inches};

fn on() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

/// The numbers of a car file with their bands.
fn banded(text: &str, readings: &[(&str, &str)], only: Option<&str>, points: usize) -> Vec<Answer> {
    let (file, overrides) = (SourceFile::new("car.toml", text), Overrides::new());
    let read = read_car(&file, &overrides);
    assert!(read.mistakes.is_empty(), "{}", read.mistakes[0].render());
    let mut values = Readings::default();
    split_readings(readings.iter().copied()).unwrap().apply(&mut values);
    let situation = Situation::new(&read.car, values, on());
    let answers = only.map_or_else(|| work_all(&situation), |id| work(quantity(id).unwrap(), &situation));
    with_bands(&Rc::clone(&file), &overrides, &situation, answers, points)
}

fn of(answers: &[Answer], id: &str, of: &str) -> Number {
    let found = answers.iter().find(|answer| answer.quantity() == id && answer.of() == Some(of));
    found.and_then(Answer::number).unwrap_or_else(|| panic!("{id} of {of}: {found:?}")).clone()
}

/// The rig with some of its text replaced.
fn text(changes: &[(&str, &str)]) -> String {
    let mut text = RIG.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    text
}

/// The largest sample car: 512 points, and how far 4,096 move them.
#[test]
fn the_largest_sample_car() {
    let heron = std::fs::read_to_string("sample-cars/heron.toml").unwrap();
    let plain = Instant::now();
    let file = SourceFile::new("car.toml", &heron);
    let read = read_car(&file, &Overrides::new());
    let n = work_all(&Situation::new(&read.car, Readings::default(), on())).len();
    println!("{n} answers without bands in {:.3} s", plain.elapsed().as_secs_f64());
    let start = Instant::now();
    let few = banded(&heron, &[], None, POINTS);
    println!("with bands in {:.3} s", start.elapsed().as_secs_f64());
    println!("{}", to_text(&few, Units::Us));
}

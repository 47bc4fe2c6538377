//! Values that are hardly ever right are doubted, with what may be meant; the sample cars are not.

use std::collections::BTreeMap;
use std::fs;
use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, SourceFile, Weight};
use linewalk::model::edit::{Edit, edited};
use linewalk::model::keys::{quantity_kind, without_id};
use linewalk::model::plausible::{WINDOWS, plausible};
use linewalk::model::values::values;
use linewalk::model::{Car, read_car};
use linewalk::source::{Overrides, splice};
use linewalk::units::parse;

const CARS: [&str; 5] = ["heron", "bittern", "plover", "curlew", "dunlin"];

fn sample(name: &str) -> Arc<SourceFile> {
    let path = format!("sample-cars/{name}.toml");
    SourceFile::new(path.clone(), fs::read_to_string(path).unwrap())
}

fn doubts(file: &Arc<SourceFile>) -> Vec<Diagnostic> {
    plausible(file, &read_car(file, &Overrides::new()).car)
}

#[test]
fn every_window_is_of_a_key_and_its_ends_read_as_its_kind() {
    for (key, low, high) in WINDOWS {
        let kind = quantity_kind(key).unwrap_or_else(|| panic!("{key} is no quantity"));
        let (low, high) = (parse(low, kind).unwrap().si, parse(high, kind).unwrap().si);
        assert!(low < high, "{key}");
    }
}

#[test]
fn no_value_of_a_sample_car_is_doubted() {
    let mut count = 0;
    for name in CARS {
        let file = sample(name);
        count += values(&file)
            .iter()
            .filter(|value| WINDOWS.iter().any(|(key, ..)| *key == without_id(&value.key)))
            .count();
        let said: Vec<String> = doubts(&file).iter().map(|one| one.message.clone()).collect();
        // Dunlin's front hoses look wrong and are right: they differ for unequal travel. That is asked once.
        let wanted: &[&str] =
            if name == "dunlin" { &["lf-hose is 20 in and rf-hose is 19.12 in"] } else { &[] };
        assert_eq!(said, wanted, "{name}");
    }
    println!("{count} values of 5 cars, none doubted");
    assert!(count > 500);
}

/// Slips put into every value: how many the windows catch. The counts may only rise.
#[test]
fn slips_of_unit_and_point_are_caught() {
    let bare = Car::default();
    let mut counts: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for name in CARS {
        let file = sample(name);
        for value in values(&file)
            .into_iter()
            .filter(|value| WINDOWS.iter().any(|(key, ..)| *key == without_id(&value.key)))
        {
            let Some(kind) = quantity_kind(&value.key) else { continue };
            let text = value.text.split("+/-").next().unwrap().trim().to_owned();
            let unit =
                text.rsplit(|c: char| c.is_ascii_digit() || c == '.').next().unwrap().trim().to_owned();
            let number = text.strip_suffix(unit.as_str()).unwrap().trim().to_owned();
            let slip = |from: &str, to: &str| (unit == from).then(|| format!("{number} {to}"));
            let moved = |factor: f64| {
                let si = parse(&text, kind).unwrap().si;
                // Ten times the figure, whatever unit it is in, as a fraction cannot be written ten times.
                let plain = number.parse::<f64>().ok()?;
                (si > 0.0).then(|| format!("{} {unit}", plain * factor).trim().to_owned())
            };
            for (slip, text) in [
                ("mm for in", slip("in", "mm")),
                ("in for mm", slip("mm", "in")),
                ("bar for psi", slip("psi", "bar")),
                ("ten times", moved(10.0)),
            ] {
                let Some(text) = text else { continue };
                let parts: Vec<&str> = value.key.split('.').collect();
                let Ok(with) = splice::set(&file.text, &parts, &splice::quoted(&text)) else { continue };
                let (caught, all) = counts.entry(slip).or_default();
                *all += 1;
                *caught += usize::from(!plausible(&SourceFile::new(name, with), &bare).is_empty());
            }
        }
    }
    println!("{counts:?}");
    for (slip, least) in [("mm for in", 0.99), ("in for mm", 1.0), ("bar for psi", 1.0), ("ten times", 0.97)]
    {
        let (caught, all) = counts[slip];
        assert!(all > 5 && caught as f64 >= least * all as f64, "{slip}: {caught} of {all}");
    }
}

#[test]
fn the_remedy_is_the_one_that_fits() {
    let heron = sample("heron");
    let said = |key: &str, value: &str| {
        let edit = Edit::Set { key: key.to_owned(), value: value.to_owned(), how: None };
        let text = edited(&heron, &[edit]).unwrap();
        let found = doubts(&SourceFile::new("car.toml", text));
        assert!(found.iter().all(|one| one.weight == Weight::Warning));
        found.iter().map(|one| format!("{} ({})", one.message, one.help)).collect::<Vec<_>>().join("\n")
    };
    for (key, value, wanted) in [
        ("brakes.hose.lf-hose.bore", "1/8 mm", "did you mean 1/8 in?"),
        ("brakes.pedal_ratio", "60", "did you mean 6?"),
        ("suppression.bottle.b1.charge_pressure", "25 psi", "did you mean 25 bar?"),
        ("car.mass", "700 lb", "did you mean 700 kg?"),
        ("suppression.nozzle.engine-left.orifice", "0.94 in", "did you mean 0.094 in?"),
        ("brakes.hose.lf-hose.length", "24 in", "times its longest reach"),
        ("brakes.hose.rf-hose.length", "14 1/4 in", "left and right hoses are alike"),
        ("brakes.wheel_brake.RF.pad_friction", "0.36", "is not that of LF"),
        ("suppression.bottle.b1.gross_mass", "40 lb", "1.3 to 3 times its agent"),
        ("suppression.line.cross.support_gap", "40 in", "longer than the line"),
        ("suppression.nozzle.driver-legs.aim", "[1, 0, 0.6]", "points away from"),
        ("suppression.tee.t1.at", "[70, -14, 24]", ""),
    ] {
        let said = said(key, value);
        assert!(said.contains(wanted) && (!wanted.is_empty() || said.is_empty()), "{key}={value}: {said}");
    }
}

#[test]
fn what_a_person_is_sure_of_is_not_doubted() {
    let heron = sample("heron");
    let how = |text: &str| Some(linewalk::model::known::Origin::read(text).unwrap());
    let set = |how| Edit::Set { key: "brakes.pedal_ratio".to_owned(), value: "9".to_owned(), how };
    let with = |how| SourceFile::new("car.toml", edited(&heron, &[set(how)]).unwrap());
    assert_eq!(doubts(&with(None)).len(), 1);
    assert_eq!(doubts(&with(how("typed, sure"))).len(), 0);
}

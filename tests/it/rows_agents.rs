//! The agent table, row by row, against CoolProp and, where that knows nothing, a second typing.

use linewalk::cite::Basis;
use linewalk::physics::agents::{AGENTS, Agent};
use linewalk::units::Temperature;
use serde_json::Value;

use crate::rows::{Held, close, float, pins};

fn library() -> Value {
    serde_json::from_str(&std::fs::read_to_string("tests/fixtures/tables/properties.json").unwrap()).unwrap()
}

/// Kelvin and value of each row of an agent's three tables.
pub fn agent(place: usize) -> Held {
    let known: &'static Agent = &AGENTS[place];
    let tables = [known.density, known.viscosity, known.vapour];
    let sizes = tables.map(<[(f64, f64)]>::len);
    let names = ["density", "viscosity", "vapour"];
    let labels = names.iter().zip(tables).flat_map(|(name, rows)| {
        // Where every row has one value, at what temperature it stands says nothing.
        let alike = rows.iter().all(|(_, value)| *value == rows[0].1);
        rows.iter().flat_map(move |(celsius, _)| {
            let value = format!("{} {name} at {celsius} C", known.name);
            [if alike { String::new() } else { format!("{value}, temperature") }, value]
        })
    });
    let wanted = typed_agent(known.name);
    let values: Vec<f64> = tables
        .iter()
        .flat_map(|rows| rows.iter().flat_map(|(celsius, value)| [celsius + 273.15, *value]))
        .collect();
    let unconfirmed = names.iter().zip(sizes).map(|(name, size)| {
        let cite = if *name == "viscosity" { known.viscosity_cite } else { known.density_cite };
        if cite.basis == Basis::FromMemory { 2 * size } else { 0 }
    });
    Held {
        name: known.name,
        labels: labels.collect(),
        unconfirmed: unconfirmed.sum(),
        values,
        holds: Box::new(move |values| {
            let mut pairs = values.chunks(2).map(|pair| (pair[0] - 273.15, pair[1]));
            let [density, viscosity, vapour] = sizes.map(|size| {
                let rows: Vec<(f64, f64)> = pairs.by_ref().take(size).collect();
                &*rows.leak()
            });
            let made = Agent { density, viscosity, vapour, ..known.clone() };
            wanted.iter().all(|(celsius, [rho, mu, bar])| {
                let got = made.at(Temperature::from_celsius(*celsius)).unwrap();
                let holds =
                    |got: f64, (wanted, share): (f64, f64)| wanted.is_nan() || close(got, wanted, share);
                holds(got.density.si(), *rho)
                    && holds(got.viscosity.si() * 1e3, *mu)
                    && holds(got.vapour_pressure / 1e5, *bar)
            })
        }),
    }
}

/// A temperature (C) with density (kg/m3), viscosity (mPa.s) and vapour pressure (bar), each with how closely it is typed;
/// not-a-number where nothing is said.
type Known = (f64, [(f64, f64); 3]);

fn typed_agent(name: &str) -> Vec<Known> {
    let library = library();
    let of = |name: &str| -> Vec<Known> {
        let rows = library["agents"][name].as_array().unwrap().clone();
        let row = |row: &Value| {
            let field = |key: &str| row[key].as_f64().unwrap_or(f64::NAN);
            // Typed to four or five figures; the last of a small vapour pressure is a ten thousandth of a bar.
            let vapour = (field("vapour"), (5.1e-5 / field("vapour")).max(1e-4));
            let celsius = field("celsius");
            let is_row = [0.0, 20.0, 25.0, 40.0, 60.0].contains(&celsius);
            let only = |(value, share)| if is_row { (value, share) } else { (f64::NAN, share) };
            (celsius, [(field("density"), 6e-5), only((field("viscosity"), 4e-4)), only(vapour)])
        };
        rows.iter().map(row).collect()
    };
    let pins = pins();
    let typed = pins["agent"].as_table().unwrap().clone();
    let field = |key: &str| float(&typed[key]);
    let water = |density: f64, viscosity: &dyn Fn(f64) -> f64| -> Vec<Known> {
        let rows = of("water");
        let at_20 = rows[1].1[0].0;
        let made = |(celsius, [rho, mu, bar]): Known| {
            (celsius, [(density * 1000.0 * rho.0 / at_20, 8e-5), (viscosity(mu.0), 1e-3), bar])
        };
        rows.into_iter().map(made).collect()
    };
    match name {
        "AFFF premix" => water(field("afff_g_ml"), &|mu| mu * field("afff_times_water")),
        "potassium-salt mix" => water(field("potassium_g_ml"), &|_| field("potassium_mpa_s")),
        "FK-5-1-12" => {
            let mut rows = of(name);
            for pair in typed["fk_mm2_s"].as_array().unwrap() {
                let (celsius, kinematic) = (float(&pair[0]), float(&pair[1]));
                let row = rows.iter_mut().find(|row| row.0 == celsius).unwrap();
                // mm2/s times g/ml, both to two figures.
                row.1[1] = (kinematic * row.1[0].0 / 1000.0, 9e-3);
            }
            rows
        }
        _ => of(name),
    }
}

//! Every row of every data table against a second typing from its source, and proof that each row is held: each value is
//! moved by 5 %, by itself, and a check has to fail.

use linewalk::cite::Basis;
use linewalk::numbers::{DEFAULTS, Off, Taken};
use linewalk::physics::agents::AGENTS;
use linewalk::physics::brakes::fluid::{BrakeFluid, FLUIDS, fluid_margin};
use linewalk::physics::brakes::stroke::{EXPANSION, hose_growth_by};
use linewalk::physics::friction::{EQUIVALENT_LENGTHS, Fitting, complete_turbulence, loss_by};
use linewalk::physics::hold::{EXPANSION as FLUID_EXPANSION, PER_KELVIN, TEMPERATURE_LIMIT};
use linewalk::physics::limits::{Metal as Column, PUBLISHED, Row, Tables};
use linewalk::physics::metals::{METALS, Metal};
use linewalk::physics::mount::{Grade, PITCHES, PROOF, Pitches, Thread};
use linewalk::physics::span::{CLAMPED, PINNED};
use linewalk::units::{INCH, Length, PSI, Pressure, Temperature};
use toml::Table;

use crate::rows_agents::agent;

/// One table: its values in one list, how many of them are typed again unconfirmed, and whether the checks hold for
/// other values in their place.
pub struct Held {
    pub name: &'static str,
    /// What each value is; nothing for one that no number rests on.
    pub labels: Vec<String>,
    pub values: Vec<f64>,
    pub unconfirmed: usize,
    pub holds: Holds,
}

/// Whether the second typing agrees with a table of these values.
pub type Holds = Box<dyn Fn(&[f64]) -> bool>;

pub fn pins() -> Table {
    std::fs::read_to_string("tests/fixtures/tables/rows.toml").unwrap().parse().unwrap()
}

fn texts(table: &Table, key: &str) -> Vec<String> {
    table[key].as_array().unwrap().iter().map(|row| row.as_str().unwrap().to_owned()).collect()
}

pub fn close(got: f64, wanted: f64, share: f64) -> bool {
    (got - wanted).abs() <= share * wanted.abs()
}

/// "1 5/16" as a number.
fn inches(text: &str) -> f64 {
    text.split(' ').map(|part| part.split_once('/').map_or_else(|| num(part), |(a, b)| num(a) / num(b))).sum()
}

fn num(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text} is no number"))
}

const KSI: f64 = 1000.0 * PSI;
const LB_IN3: f64 = 0.453_592_37 / (INCH * INCH * INCH);

fn metals() -> Held {
    let fields = |metal: &Metal| {
        [metal.allowable.si(), metal.tensile.si(), metal.elastic_modulus.si(), metal.density.si()]
    };
    let names = ["allowable", "tensile", "modulus", "density"];
    let labels = METALS.iter().flat_map(|metal| names.map(|name| format!("{} {name}", metal.name))).collect();
    let values: Vec<f64> = METALS.iter().flat_map(fields).collect();
    let wanted: Vec<Vec<f64>> = METALS.iter().map(|metal| typed_metal(metal.name)).collect();
    Held {
        name: "metals",
        labels,
        unconfirmed: values.len(),
        values,
        // Sheets print a unit beside another, rounded to their last figure: 75 ksi is 515 MPa there.
        holds: Box::new(move |values| {
            values
                .chunks(4)
                .zip(&wanted)
                .all(|(got, wanted)| got.iter().zip(wanted).all(|(got, wanted)| close(*got, *wanted, 5e-3)))
        }),
    }
}

/// A metal of the second typing, SI.
fn typed_metal(name: &str) -> Vec<f64> {
    let pins = pins();
    let groups = pins["metal"].as_array().unwrap().iter();
    let rows = groups.flat_map(|group| group["rows"].as_array().unwrap());
    let row = rows.filter_map(toml::Value::as_table).find(|row| row["name"].as_str() == Some(name));
    let row = row.unwrap_or_else(|| panic!("{name} is not typed again"));
    let field = |units: &[(&str, f64)]| {
        let found = units.iter().find_map(|(key, unit)| row.get(*key).map(|value| float(value) * unit));
        found.unwrap_or_else(|| panic!("{name} lacks {units:?}"))
    };
    vec![
        field(&[("allowable_ksi", KSI)]),
        field(&[("tensile_ksi", KSI), ("tensile_mpa", 1e6)]),
        field(&[("modulus_mpsi", 1e6 * PSI), ("modulus_gpa", 1e9)]),
        field(&[("density", 1.0), ("density_lb_in3", LB_IN3)]),
    ]
}

pub fn float(value: &toml::Value) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "typed whole numbers are small")]
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64)).unwrap()
}

fn limits() -> Vec<Held> {
    let all: [(&'static str, &'static [Row]); 5] = [
        ("spacing, steel", PUBLISHED.spacing_steel),
        ("spacing, aluminum", PUBLISHED.spacing_aluminum),
        ("spacing, any metal", PUBLISHED.spacing_fuel),
        ("radius, steel", PUBLISHED.radius_steel),
        ("radius, aluminum", PUBLISHED.radius_aluminum),
    ];
    all.into_iter().map(|(name, rows)| limit_table(name, rows)).collect()
}

fn limit_table(name: &'static str, rows: &'static [Row]) -> Held {
    let pins = pins();
    let typed = pins["limit"].as_array().unwrap().iter().filter_map(toml::Value::as_table);
    let typed = texts(typed.clone().find(|table| table["table"].as_str() == Some(name)).unwrap(), "rows");
    let wanted: Vec<[f64; 2]> = typed
        .iter()
        .map(|row| {
            let (size, limit) = row.split_once(": ").unwrap();
            [inches(size), inches(limit)]
        })
        .collect();
    assert_eq!(wanted.len(), rows.len(), "{name}");
    Held {
        name,
        labels: rows
            .iter()
            .flat_map(|row| [format!("{} in size", row.0), format!("{} in limit", row.0)])
            .collect(),
        values: rows.iter().flat_map(|row| [row.0, row.1]).collect(),
        unconfirmed: 2 * rows.iter().filter(|row| row.2 != Basis::Published).count(),
        holds: Box::new(move |values| {
            let made: Vec<Row> =
                values.chunks(2).zip(rows).map(|(pair, row)| (pair[0], pair[1], row.2)).collect();
            wanted.iter().enumerate().all(|(place, [od, limit])| {
                let same = |at: f64, row: Option<&[f64; 2]>| match (looked_up(name, &made, at), row) {
                    (Some([got_od, got]), Some([od, limit])) => {
                        close(got_od, *od, 1e-9) && close(got, *limit, 1e-9)
                    }
                    (got, row) => got.is_none() && row.is_none(),
                };
                // At the size and half a hundredth about it; past that the neighbor holds that the size rule names.
                let here = Some(&[*od, *limit]);
                let spacing = name.starts_with("spacing");
                let past = if spacing { place.checked_sub(1) } else { Some(place + 1) };
                let past = past.and_then(|place| wanted.get(place));
                [0.0, 0.0049, -0.0049].iter().all(|off| same(od + off, here))
                    && same(if spacing { od - 0.0055 } else { od + 0.0055 }, past)
            })
        }),
    }
}

/// Size and limit of the row that holds for a tube, in inches, by the tables with one of them changed; none where no row does.
fn looked_up(name: &str, rows: &[Row], od: f64) -> Option<[f64; 2]> {
    let mut tables: Tables<'_> = PUBLISHED;
    match name {
        "spacing, steel" => tables.spacing_steel = rows,
        "spacing, aluminum" => tables.spacing_aluminum = rows,
        "spacing, any metal" => tables.spacing_fuel = rows,
        "radius, steel" => tables.radius_steel = rows,
        _ => tables.radius_aluminum = rows,
    }
    let metal = match name {
        "spacing, any metal" => Column::Other,
        _ if name.ends_with("steel") => Column::Steel,
        _ => Column::Aluminium,
    };
    let od = Length::from_inches(od);
    let limit = if name.starts_with("spacing") {
        tables.support_spacing(od, metal).ok()?.used
    } else {
        tables.least_bend_radius(od, metal).ok()?
    };
    Some([limit.row?.si() / INCH, limit.value.si() / INCH])
}

/// The last word as a number, and what stands before it.
fn last(row: &str) -> (&str, f64) {
    let (head, value) = row.rsplit_once(' ').unwrap();
    (head, num(value))
}

fn proof() -> Held {
    let pins = pins();
    let table = pins["proof"].as_table().unwrap().clone();
    let split = |text: &str| {
        let (grade, thread) = text.split_once(' ').unwrap();
        (Grade::parse(grade).unwrap(), Thread::parse(thread).unwrap())
    };
    let mut wanted = Vec::new();
    for (key, unit) in [("ksi", KSI), ("mpa", 1e6)] {
        for row in texts(&table, key) {
            let (bolt, stress) = last(&row);
            let (grade, thread) = split(bolt);
            wanted.push((grade, thread, Some(stress * unit)));
        }
    }
    wanted.extend(texts(&table, "beyond").iter().map(|bolt| {
        let (grade, thread) = split(bolt);
        (grade, thread, None)
    }));
    Held {
        name: "bolt grades",
        labels: PROOF
            .iter()
            .flat_map(|row| {
                ["to", "stress"].map(|what| format!("{} {what} {:.4}", row.grade.name(), row.largest))
            })
            .collect(),
        values: PROOF.iter().flat_map(|row| [row.largest, row.stress]).collect(),
        unconfirmed: 0,
        holds: Box::new(move |values| {
            let rows: Vec<_> = values
                .chunks(2)
                .zip(PROOF)
                .map(|(pair, row)| linewalk::physics::mount::ProofRow {
                    largest: pair[0],
                    stress: pair[1],
                    ..*row
                })
                .collect();
            wanted.iter().all(|(grade, thread, stress)| {
                let got = grade.proof_stress_by(&rows, thread).ok().map(|proof| proof.stress.si());
                match (got, stress) {
                    (Some(got), Some(wanted)) => close(got, *wanted, 1e-9),
                    (got, wanted) => got.is_none() == wanted.is_none(),
                }
            })
        }),
    }
}

fn threads() -> Held {
    let pins = pins();
    let table = pins["thread"].as_table().unwrap().clone();
    let (inch, mm) = (texts(&table, "inch"), texts(&table, "mm"));
    let pairs = PITCHES.inch.iter().chain(PITCHES.mm);
    let count = PITCHES.inch.len();
    assert_eq!((inch.len(), mm.len()), (count, PITCHES.mm.len()));
    Held {
        name: "coarse threads",
        labels: pairs
            .clone()
            .flat_map(|(size, _)| [format!("{size} size"), format!("{size} coarse")])
            .collect(),
        values: pairs.flat_map(|(size, coarse)| [*size, *coarse]).collect(),
        unconfirmed: 2 * (inch.len() + mm.len()),
        holds: Box::new(move |values| {
            let rows: Vec<(f64, f64)> = values.chunks(2).map(|pair| (pair[0], pair[1])).collect();
            let (ours, coarse) = rows.split_at(count);
            let by = Pitches { inch: ours, mm: coarse };
            let inch_holds = inch.iter().all(|row| {
                let (size, threads) = last(row);
                // The coarse thread is one, and a coarser one by a hundredth is a slip.
                Thread::parse_by(&format!("{size}-{threads}"), &by).is_ok()
                    && Thread::parse_by(&format!("{size}-{}", threads * 0.99), &by).is_err()
            });
            let sized = inch.iter().zip(ours).all(|(row, (size, _))| {
                let thread = Thread::parse(&row.replace(' ', "-")).unwrap();
                close(thread.diameter().si() / INCH, *size, 1e-9)
            });
            let mm_holds = mm.iter().all(|row| {
                let (size, pitch) = last(row);
                let bare = Thread::parse_by(&format!("M{size}"), &by);
                bare.is_ok_and(|thread| close(thread.pitch().si() * 1e3, pitch, 1e-9))
            });
            inch_holds && sized && mm_holds
        }),
    }
}

fn fluids() -> Held {
    let pins = pins();
    let rows = texts(pins["fluid"].as_table().unwrap(), "rows");
    let wanted: Vec<(String, [f64; 3])> = rows
        .iter()
        .map(|row| {
            let (head, density) = last(row);
            let (head, wet) = last(head);
            let (name, dry) = last(head);
            (name.to_owned(), [dry, wet, density])
        })
        .collect();
    Held {
        name: "brake fluids",
        labels: FLUIDS
            .iter()
            .flat_map(|fluid| ["dry", "wet", "density"].map(|what| format!("{} {what}", fluid.name)))
            .collect(),
        values: FLUIDS.iter().flat_map(|fluid| [fluid.dry.si(), fluid.wet.si(), fluid.density]).collect(),
        unconfirmed: 4,
        holds: Box::new(move |values| {
            values.chunks(3).zip(FLUIDS).zip(&wanted).all(|((got, fluid), (name, [dry, wet, density]))| {
                let (dry, wet) = (Temperature::from_fahrenheit(*dry), Temperature::from_fahrenheit(*wet));
                let made = BrakeFluid {
                    dry: Temperature::from_si(got[0]),
                    wet: Temperature::from_si(got[1]),
                    density: got[2],
                    ..*fluid
                };
                let margin = fluid_margin(&made, wet).unwrap().si();
                fluid.name == name
                    // Sheets round 284, 311 and the like to a whole degree F.
                    && margin.abs() < 0.3
                    && (made.dry.si() - dry.si()).abs() < 0.3
                    && close(made.density, density * 1000.0, 1e-9)
            })
        }),
    }
}

fn growth() -> Held {
    let pins = pins();
    let table = pins["growth"].as_table().unwrap().clone();
    let rows: Vec<String> = ["rows", "edges"].into_iter().flat_map(|key| texts(&table, key)).collect();
    let flat: Vec<f64> = EXPANSION
        .iter()
        .flat_map(|(bore, columns)| {
            std::iter::once(*bore).chain(columns.iter().flat_map(|(psi, cc)| [*psi, *cc]))
        })
        .filter(|value| value.is_finite())
        .collect();
    Held {
        name: "hose growth",
        labels: (0..flat.len()).map(|place| format!("value {}", place + 1)).collect(),
        unconfirmed: flat.len(),
        values: flat,
        holds: Box::new(move |values| {
            let mut values = values.iter().copied();
            let mut next = |keep: f64| if keep.is_finite() { values.next().unwrap() } else { keep };
            let made: Vec<(f64, Vec<(f64, f64)>)> = EXPANSION
                .iter()
                .map(|(bore, columns)| {
                    (next(*bore), columns.iter().map(|(psi, cc)| (next(*psi), next(*cc))).collect())
                })
                .collect();
            let made: Vec<(f64, &[(f64, f64)])> =
                made.iter().map(|(bore, columns)| (*bore, &columns[..])).collect();
            rows.iter().all(|row| {
                let (head, cc) = last(row);
                let (bore, psi) = last(head);
                let grown = hose_growth_by(
                    &made,
                    Length::from_inches(inches(bore)),
                    Length::from_inches(12.0),
                    Pressure::from_psi(psi),
                );
                grown.is_ok_and(|grown| close(grown.si() * 1e6, cc, 1e-9))
            })
        }),
    }
}

fn fittings() -> Held {
    let pins = pins();
    let rows = texts(pins["fitting"].as_table().unwrap(), "rows");
    Held {
        name: "fittings",
        labels: EQUIVALENT_LENGTHS.iter().map(|(fitting, _)| fitting.name().to_owned()).collect(),
        values: EQUIVALENT_LENGTHS.iter().map(|(_, length)| *length).collect(),
        unconfirmed: EQUIVALENT_LENGTHS
            .iter()
            .filter(|(fitting, _)| fitting.source().basis != Basis::Published)
            .count(),
        holds: Box::new(move |values| {
            let made: Vec<(Fitting, f64)> = EQUIVALENT_LENGTHS
                .iter()
                .zip(values)
                .map(|((fitting, _), length)| (*fitting, *length))
                .collect();
            rows.iter().all(|row| {
                let (name, diameters) = last(row);
                let fitting = Fitting::ALL.into_iter().find(|fitting| fitting.name() == name).unwrap();
                close(loss_by(&made, fitting, 1e-3), complete_turbulence(1e-3) * diameters, 1e-12)
            })
        }),
    }
}

/// What the program takes where a car file is silent, and how far that may be off.
fn defaults() -> Held {
    let pins = pins();
    let typed = texts(pins["default"].as_table().unwrap(), "rows");
    let mut wanted = Vec::new();
    for row in &typed {
        let words: Vec<&str> = row.split(' ').collect();
        let unit = match words[1] {
            "GPa" => 1e9,
            "in" => INCH,
            "um" => 1e-6,
            "deg" => std::f64::consts::PI / 180.0,
            "F" => 5.0 / 9.0,
            "1" | "s" | "K" | "J/kg/K" => 1.0,
            other => panic!("{other}"),
        };
        wanted.extend(words[2..].iter().map(|word| (words[0].to_owned(), inches(word) * unit)));
    }
    let values: Vec<(String, f64)> = DEFAULTS.iter().flat_map(default_values).collect();
    let (names, values): (Vec<String>, Vec<f64>) = values.into_iter().unzip();
    let labels = names.clone();
    Held {
        name: "defaults",
        unconfirmed: values.len(),
        values,
        labels: labels.clone(),
        holds: Box::new(move |values| {
            values.len() == wanted.len()
                && values
                    .iter()
                    .zip(&names)
                    .zip(&wanted)
                    .all(|((got, key), (known, value))| key == known && close(*got, *value, 1e-9))
        }),
    }
}

/// Value and spread of a default; a zero is left out, since five percent of it is nothing.
fn default_values(default: &linewalk::numbers::Default) -> Vec<(String, f64)> {
    let value = match default.taken {
        Taken::Value(_, si) => vec![si],
        Taken::Words(..) => Vec::new(),
    };
    let off = match default.off {
        Off::Between(low, high) => vec![low, high],
        Off::By(half) => vec![half],
        Off::ByAbove(half, least) => vec![half, least],
        Off::Exact(_) => Vec::new(),
    };
    let all = value.into_iter().chain(off).filter(|value| *value != 0.0);
    all.map(|value| (default.key.to_owned(), value)).collect()
}

/// Constants that stand by themselves: each against the number that is printed, to the digits printed.
fn constants(key: &'static str, list: &str, labels: [&str; 3], values: Vec<f64>) -> Held {
    let pins = pins();
    let wanted: Vec<f64> = pins[key][list]
        .as_array()
        .unwrap()
        .iter()
        .map(|value| value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64)).unwrap())
        .collect();
    Held {
        name: key,
        labels: labels.iter().take(values.len()).map(|label| (*label).to_owned()).collect(),
        unconfirmed: values.len(),
        values,
        holds: Box::new(move |values| {
            values.len() == wanted.len()
                && values.iter().zip(&wanted).all(|(got, want)| close(*got, *want, 5e-4))
        }),
    }
}

fn spans() -> Held {
    let squared = [PINNED, CLAMPED].map(|number| number * 2.0 * std::f64::consts::PI);
    constants("span", "squared_root", ["pinned", "clamped", ""], squared.to_vec())
}

fn holds() -> Held {
    let values = vec![PER_KELVIN.0 / PSI, PER_KELVIN.1 / PSI, TEMPERATURE_LIMIT];
    constants("hold", "values", ["psi a kelvin, least", "psi a kelvin, most", "kelvin"], values)
}

fn expansion() -> Held {
    let values = vec![FLUID_EXPANSION.0 * 1e6, FLUID_EXPANSION.1 * 1e6];
    constants("expansion", "values", ["ppm a kelvin, least", "ppm a kelvin, most", ""], values)
}

fn every_table() -> Vec<Held> {
    let mut all = vec![
        metals(),
        defaults(),
        proof(),
        threads(),
        fluids(),
        growth(),
        fittings(),
        spans(),
        holds(),
        expansion(),
    ];
    all.extend(limits());
    all.extend((0..AGENTS.len()).map(agent));
    all
}

#[test]
fn every_row_is_held_and_none_survives_a_change_of_five_percent() {
    let (mut values, mut unconfirmed, mut survivors) = (0, 0, Vec::new());
    for table in every_table() {
        assert_eq!(table.labels.len(), table.values.len(), "{}", table.name);
        assert!(
            (table.holds)(&table.values),
            "{}: its own rows do not agree with the second typing",
            table.name
        );
        let tried = table.labels.iter().enumerate().filter(|(_, label)| !label.is_empty());
        values += tried.clone().count();
        for (place, label) in tried {
            for factor in [1.05, 0.95] {
                let mut changed = table.values.clone();
                changed[place] *= factor;
                if (table.holds)(&changed) {
                    survivors.push(format!("{}: {label} times {factor}", table.name));
                }
            }
        }
        println!("{}: {} values, {} of them unconfirmed", table.name, table.values.len(), table.unconfirmed);
        unconfirmed += table.unconfirmed;
    }
    println!(
        "{values} values changed by 5 % either way, {unconfirmed} of them unconfirmed, {} survivors",
        survivors.len()
    );
    assert!(survivors.is_empty(), "{survivors:#?}");
}

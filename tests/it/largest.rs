//! Cars larger than any: refused with a place and a remedy, or worked out in a bounded number of steps. No source: a
//! hundred parts of one kind and 64 uncertain inputs are far above any car. Work is counted, not time.

use std::fmt::Write as _;

use chrono::NaiveDate;
use linewalk::diagnostic::{SourceFile, any_error};
use linewalk::model::read_car;
use linewalk::numbers::{Number, POINTS, Readings, Situation, quantity, runs, with_bands, work};
use linewalk::physics::discharge::Settings;
use linewalk::source::Overrides;

/// One bottle and a row of tees, with a nozzle at each.
fn chain(nozzles: usize) -> String {
    let mut text = "format = 1\n[car]\nid = \"s\"\nnumber = \"1\"\n[suppression]\ngas_exponent = 1.2\ntemperature = \"70 F\"\n\
        [[suppression.bottle]]\nid = \"b1\"\nat = [0, 0, 16]\nagent = \"FK-5-1-12\"\nagent_mass = \"10 lb\"\n\
        volume = \"330 in3\"\ncharge_pressure = \"360 psi\"\ncharge_temperature = \"70 F\"\n"
        .to_owned();
    let tube = "tube = { od = \"1/4 in\", wall = \"0.035 in\" }\nlength = \"8 in\"";
    for n in 0..nozzles {
        let (x, from) = (n + 1, if n == 0 { "b1".to_owned() } else { format!("t{}", n - 1) });
        write!(
            text,
            "[[suppression.tee]]\nid = \"t{n}\"\nat = [{x}, 0, 16]\n\
             [[suppression.line]]\nid = \"l{n}\"\nfrom = \"{from}\"\nto = \"t{n}\"\n{tube}\n\
             [[suppression.line]]\nid = \"m{n}\"\nfrom = \"t{n}\"\nto = \"n{n}\"\n{tube}\n\
             [[suppression.nozzle]]\nid = \"n{n}\"\nat = [{x}, 1, 16]\norifice = \"0.04 in\"\n"
        )
        .unwrap();
    }
    text
}

fn on() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

#[test]
fn a_list_of_more_than_a_hundred_is_refused_at_its_place() {
    let told = |text: &str| {
        let diagnostics = read_car(&SourceFile::new("car.toml", text), &Overrides::new()).diagnostics;
        assert!(any_error(&diagnostics));
        let first =
            diagnostics.iter().find(|diagnostic| diagnostic.message.contains("more than 100")).unwrap();
        assert!(first.help.contains("take out"), "{}", first.help);
        first.at.shown()
    };
    let head = "format = 1\n[car]\nid = \"s\"\nnumber = \"1\"\n";
    // The 101st of tables of two lines each that begin in line 5.
    let tubes: String = (0..101).map(|n| format!("[[frame.tube]]\nid = \"t{n}\"\n")).collect();
    assert_eq!(told(&format!("{head}{tubes}")), "car.toml:205:1");
    // The 101st point of a path.
    let path = vec!["[1,2,3]"; 101].join(",");
    let line = format!("[[brakes.line]]\nid = \"l\"\npath = [{path}]\n");
    assert_eq!(told(&format!("{head}{line}")), format!("car.toml:7:{}", "path = [".len() + 100 * 8 + 1));
    // The 21st position of a hose, its name in the column after what stands before it.
    let places: Vec<String> = (0..21).map(|n| format!("p{n:02} = [1,2,3]")).collect();
    let hose = format!("[[brakes.hose]]\nid = \"h\"\nouter_end = {{ {} }}\n", places.join(", "));
    let diagnostics =
        read_car(&SourceFile::new("car.toml", format!("{head}{hose}")), &Overrides::new()).diagnostics;
    let shown: Vec<String> = diagnostics.iter().map(|diagnostic| diagnostic.at.shown()).collect();
    assert_eq!(shown, [format!("car.toml:7:{}", "outer_end = { ".len() + 20 * "p00 = [1,2,3], ".len() + 1)]);
    assert!(diagnostics[0].message.contains("at most 20 positions"), "{}", diagnostics[0].message);
    // A hundred are read, and are no mistake.
    let tubes: String = (0..100).map(|n| format!("[[frame.tube]]\nid = \"t{n}\"\n")).collect();
    let read = read_car(&SourceFile::new("car.toml", format!("{head}{tubes}")), &Overrides::new());
    assert_eq!((read.car.tubes.len(), read.diagnostics.len()), (100, 0));
}

/// Inputs beyond the 64 that move a number most stand at their worse ends: agent in 34 like tubes, each known in wall and
/// length. With four lengths exact, 64 are left that move it; each of these four moves it by 1/16 in of 34 times 8 in.
#[test]
fn of_very_many_uncertain_inputs_the_least_stand_at_their_worse_ends() {
    let banded = |text: String, id: &str, points: usize| {
        let file = SourceFile::new("car.toml", text);
        let car = read_car(&file, &Overrides::new()).car;
        let situation = Situation::with(&car, Readings::default(), on(), Settings::QUICK);
        let answers = work(quantity(id).unwrap(), &situation);
        let banded = with_bands(&file, &Overrides::new(), &situation, answers, points);
        banded[0].number().unwrap().clone()
    };
    let said = |number: &Number| number.notes.iter().any(|note| note.contains("64 are sampled"));
    let exact = chain(17).replacen("length = \"8 in\"", "length = \"8 in +/- 0 in\"", 4);
    let (most, all) =
        (banded(exact, "discharge.line_holdup", POINTS), banded(chain(17), "discharge.line_holdup", POINTS));
    assert!(said(&all), "{:?}", all.notes);
    let moved = all.si().unwrap() * 4.0 / 16.0 / (34.0 * 8.0);
    let near = |got: Option<f64>, want: f64| {
        let got = got.unwrap();
        // Which wall is drawn with which length is of second order: 0.45 % of a length (1/128 over root 3) times 4.5 % of
        // a section (a tenth of the wall over root 3), of 34 lines one with the other.
        let second = 0.0045 * 0.045 / 34_f64.sqrt() * all.si().unwrap();
        assert!((got - want).abs() < second && second < 0.04 * moved, "{got} is not {want}, by {moved}");
    };
    near(all.low, most.low.unwrap() - moved);
    near(all.high, most.high.unwrap() + moved);
    // A discharge as well, though its whole network is run for each.
    let duration = banded(chain(17), "discharge.duration", 4);
    assert!(said(&duration) && duration.low < duration.si() && duration.si() < duration.high, "{duration:?}");
}

/// As many lines as a file may have: the steps of the discharge stay those of some events a line.
#[test]
fn the_largest_network_takes_some_steps_a_line() {
    let car = read_car(&SourceFile::new("car.toml", chain(50)), &Overrides::new()).car;
    assert_eq!((car.suppression.lines.len(), car.suppression.nozzles.len()), (100, 50));
    let situation = Situation::with(&car, Readings::default(), on(), Settings::QUICK);
    let steps = runs(&situation)[0].outcome.as_ref().unwrap().steps;
    println!("{steps} steps");
    assert!(steps <= 10 * 100, "{steps}");
}

//! The texts that `linewalk help TOPIC` prints and the manual page holds.

use crate::tui::BINDINGS;
use crate::units::KINDS;
use crate::wrap::{wrap, wrap_set_in};

/// One topic.
pub(super) struct Topic {
    /// What it is asked for by.
    pub name: &'static str,
    /// One line about it.
    pub about: &'static str,
    /// Its text, in paragraphs.
    pub text: fn() -> String,
}

/// Every topic.
pub(super) const TOPICS: &[Topic] = &[
    Topic { name: "axes", about: "how points on the car are measured", text: axes },
    Topic { name: "units", about: "how values are written", text: units },
    Topic { name: "instruments", about: "what a tool's accuracy does", text: || INSTRUMENTS.to_owned() },
    Topic { name: "keys", about: "every key of the terminal app", text: keys },
    Topic { name: "files", about: "where cars, logs and settings are kept", text: || FILES.to_owned() },
    Topic { name: "rules", about: "checklists, and a club's own rules", text: || RULES.to_owned() },
    Topic { name: "discharge", about: "how agent is followed to each nozzle", text: || DISCHARGE.to_owned() },
    Topic { name: "brakes", about: "how pressures and stopping are worked", text: || BRAKES.to_owned() },
];

fn axes() -> String {
    let text = format!("{} Left and right are the driver's.", crate::model::axes::AXES);
    let told = wrap(&text, 115).join("\n");
    format!("Points are measured from the ground under the center of the rear axle.\n\n{told}\n\n{AXES}")
}

const AXES: &str = "\
All points of a file are in one unit, [axes] unit = \"in\", \"mm\", \"cm\", \"m\" or \"ft\"; inches if it is
silent.
A plumb line and a chalk line on the shop floor are enough.";

const INSTRUMENTS: &str = "\
A value that was measured may lie off by what the tool allows: a tape by 1/16 in, a caliper by 0.005 in, a gauge by a
share of its range. Each ruleset names its tools and their accuracy.

A value whose whole allowance lies inside the limit is inside; one whose whole allowance lies outside is outside. In
between it is undecided, and the chance is given: measure again with a finer tool.

Readings of one tool within one test differ by its repeatability, which is finer than its accuracy.";

const FILES: &str = "\
The data folder holds cars/ID/ for each car: its file, its log, photos and reports. LINEWALK_DATA_DIR or --data-dir
chooses another folder. Rule files of your own are in rules/.

Settings are linewalk/config.toml in the system's config folder: units, theme, hand, pictures, person, by, shop, keys.
The id that this machine writes logs under lies beside it.

`linewalk export FILE.tar.gz` packs every car, log, photo and rule file into one archive;
`linewalk import FILE.tar.gz` takes it in on another computer and verifies every log. Settings, passwords and the id of
this machine stay behind.

A log only grows. It is a text file, one record a line, each with the checksum of the line before it.";

const RULES: &str = "\
A ruleset is a list of checks. `base` is built in; others are laid over it: --rules club.toml.

linewalk rules list                         what would be asked of a car
linewalk rules show base TL12               one check, as written
linewalk rules new my-club --extends base   begin a file of your own
linewalk rules change my-club TL12 min=\"3/4 in\"   change one limit
linewalk rules check my-club.toml           every mistake with line and remedy

The rulebook decides. A ruleset says what this program asks, not what an official has to accept.";

const DISCHARGE: &str = "\
Agent is followed from each bottle through every line to every nozzle: the lines fill first, then the nozzles flow while
the gas in the bottle expands. The numbers say how long until agent arrives, how the charge is shared among the nozzles,
how long the discharge lasts and what stays in the lines.

It needs the agent, its mass and the bottle's volume and pressure; outside diameter, wall and length of every line; and
the orifice of every nozzle. Agents that boil on the way are worked as liquid, and it is said so.

How much agent a closed space needs is worked for FK-5-1-12 by fuel, from suppression.space. A car's space is open: the
number can warn and never accepts.

Tested against other solvers and against measured discharges: the tables are in the documents beside the program.";

const BRAKES: &str = "\
From the force at the pedal: rod force, pressure in each circuit, force at each wheel, share of the front axle, what the
tires can take, which axle locks first, and how much of the pedal's stroke is used.

It needs pedal ratio, bores of masters and calipers, effective radius and pad friction, and the car's mass, wheelbase
and height of the center of gravity. Hoses are checked for travel, twist and growth, lines for strength and length of
span.

Drum brakes are worked from drum, wheel cylinder, pins and linings, as two shoes on pins or as duo-servo. An axle that
the file passes over is missing: say that it has no brake at all, or these numbers are refused by name.

Heat is worked for what brakes.duty says: stops from one speed to another, a series of them, a parachute, a way down. It
needs rotor masses, the range of the pads, and for more than one stop how fast the rotors cool. It is not validated by
measurements: put a thermometer on the rotor and a strip on the caliper.";

fn units() -> String {
    let mut text = String::from(
        "A value is a number and a unit in quotes: \"3/16 in\", \"12 1/2 in\", \"318 mm\", \"85 bar\".\n\
         Fractions, decimals and both systems are taken everywhere; --units chooses what is shown.\n",
    );
    for kind in KINDS {
        text.push_str(&format!("\n{}: {}", kind.name(), kind.examples()));
    }
    text
}

fn keys() -> String {
    let mut text = String::from(
        "Another key for an action stands in the settings under [keys], by the name in brackets.\n",
    );
    for binding in BINDINGS {
        let keys: Vec<String> = binding.keys.iter().map(|key| key.word()).collect();
        let (first, help) =
            (format!("{:<12} ", keys.join(" ")), format!("{} ({})", binding.help, binding.name));
        text.push_str(&format!("\n{}", wrap_set_in(&help, 100, &first, "             ").join("\n")));
    }
    text
}

/// One line to type for each command.
pub(super) const EXAMPLES: &[(&str, &str)] = &[
    ("walk", "linewalk walk sample-cars/heron.toml"),
    ("numbers", "linewalk numbers heron --only discharge.share"),
    ("report", "linewalk report heron --kind slip"),
    ("sheet", "linewalk sheet heron --profile scales"),
    ("rules", "linewalk rules list --profile scales-short"),
    ("log", "linewalk log verify heron"),
    ("car", "linewalk car rename 412 --number 41"),
    ("event", "linewalk event status"),
    ("export", "linewalk export season.tar.gz"),
    ("import", "linewalk import season.tar.gz"),
    ("schema", "linewalk schema car"),
    ("completions", "linewalk completions bash"),
    ("man", "linewalk man"),
    ("licenses", "linewalk licenses"),
    ("help", "linewalk help suppression.nozzle.cd"),
];

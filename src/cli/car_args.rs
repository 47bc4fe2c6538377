//! What `linewalk car` takes.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand, ValueEnum};

use super::args::named;

/// `car`.
#[derive(Debug, ClapArgs)]
pub struct CarArgs {
    /// What to do.
    #[command(subcommand)]
    pub what: CarCommand,
}

/// What to do with a car.
#[derive(Debug, Subcommand)]
pub enum CarCommand {
    /// The starting layouts that a new car may be begun from.
    Layouts,
    /// Begin a car from a starting layout, moved to its own dimensions. What is filled in is assumed, and marked so.
    New {
        /// The number it runs under.
        number: String,
        /// The starting layout.
        #[arg(long, value_name = "ID")]
        layout: String,
        /// An answer: wheelbase, track, hubs, firewall, engine, frame-width, frame-height, driver, agent, fuel, discipline.
        #[arg(long, value_name = "KEY=VALUE")]
        ask: Vec<String>,
        /// How the answers are known: tape, if silent.
        #[arg(long, value_name = "WAY", default_value = "tape")]
        with: String,
        /// Its id; default: car-NUMBER.
        #[arg(long)]
        id: Option<String>,
        /// Only print the file.
        #[arg(long)]
        dry: bool,
    },
    /// Bring a car file in as the one in use; the record of a car begun by its number goes on with it.
    Adopt {
        /// Path of the car file.
        file: PathBuf,
        /// The id of the car begun by its number; default: the one with the file's number.
        #[arg(long, value_name = "ID")]
        joins: Vec<String>,
        /// The car of the same number is another car.
        #[arg(long, conflicts_with = "joins")]
        two_cars: bool,
    },
    /// Change the number a car runs under, or its name; or the id of a part, wherever it is named.
    Rename {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// The id of a part.
        #[arg(requires = "new", conflicts_with_all = ["number", "name"])]
        part: Option<String>,
        /// Its id from now on.
        new: Option<String>,
        /// The number from now on.
        #[arg(long, required_unless_present_any = ["name", "part"])]
        number: Option<String>,
        /// The name from now on.
        #[arg(long)]
        name: Option<String>,
        /// Only say what would change.
        #[arg(long, requires = "part")]
        dry: bool,
    },
    /// Give values of the car file, all or none; whatever else stands in the file stays as it is.
    Set {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Key path and value, as brakes.hose.lf-hose.length="13 5/8 in"; a key path without ids means every such part.
        #[arg(value_name = "KEY=VALUE", required_unless_present = "from")]
        values: Vec<String>,
        /// How they are known: the tool they were measured with, label, counted, seen, typed, guess, trade NAME, layout NAME or
        /// planned. A tool's accuracy is written beside the value.
        #[arg(long, value_name = "WAY")]
        with: Option<String>,
        /// Lines of a file, or of standard input for -: KEY=VALUE, and `add PART ID KEY=VALUE`, `takeout ID`,
        /// `rename ID NEW`, `unset KEY`.
        #[arg(long, value_name = "FILE")]
        from: Option<String>,
        /// Only say what would change.
        #[arg(long)]
        dry: bool,
    },
    /// Say that parts were looked at: their words, counts and joints are as the file has them. No size is measured by it.
    Seen {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Ids of parts, or beginnings of key paths.
        #[arg(required = true)]
        parts: Vec<String>,
        /// Only say what would change.
        #[arg(long)]
        dry: bool,
    },
    /// Take values out of the car file: it is silent about them from then on.
    Unset {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Key paths.
        #[arg(value_name = "KEY", required = true)]
        keys: Vec<String>,
        /// Only say what would change.
        #[arg(long)]
        dry: bool,
    },
    /// Add a part to the car file.
    Add {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// What it is: line, tee, nozzle, bottle, hose and the like, or brakes.line where there are two.
        part: String,
        /// Its id.
        #[arg(long)]
        id: String,
        /// Where a suppression line begins: a bottle or a tee. For a nozzle: where the line begins that feeds it.
        #[arg(long, value_name = "ID")]
        from: Option<String>,
        /// Where it ends: a tee or a nozzle.
        #[arg(long, value_name = "ID")]
        to: Option<String>,
        /// Further keys of the part with their values.
        #[arg(value_name = "KEY=VALUE")]
        values: Vec<String>,
        /// Only say what would change.
        #[arg(long)]
        dry: bool,
    },
    /// Take a part out of the car file, and its id out of every list that names it.
    Takeout {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// The id of the part.
        part: String,
        /// Only say what would change.
        #[arg(long)]
        dry: bool,
    },
    /// What is wrong or doubtful in the car file, with line and remedy.
    Check {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Output format.
        #[arg(long, value_enum, default_value = "text")]
        format: CarFormat,
    },
    /// Every value of the car file.
    Show {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Only this part: its id, or the beginning of a key path.
        part: Option<String>,
        /// Say how each value is known.
        #[arg(long)]
        origin: bool,
        /// The whole file as an older program reads it, without how values are known.
        #[arg(long, conflicts_with_all = ["part", "origin", "format"])]
        plain: bool,
        /// Output format.
        #[arg(long, value_enum, default_value = "text")]
        format: CarFormat,
    },
    /// What to measure next: the values that verdicts hang on, with tool, place, and how close is close enough.
    Next {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// The most rows.
        #[arg(long, default_value_t = 10)]
        most: usize,
        /// Output format.
        #[arg(long, value_enum, default_value = "text")]
        format: CarFormat,
    },
    /// What the numbers lack, by how many numbers lack it.
    Missing {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Output format.
        #[arg(long, value_enum, default_value = "text")]
        format: CarFormat,
    },
    /// The editions of the car file that are kept.
    Editions {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Output format.
        #[arg(long, value_enum, default_value = "text")]
        format: CarFormat,
    },
    /// What differs between two editions, by key path.
    Diff {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// The edition before; default: the last one before the file as it is.
        before: Option<String>,
        /// The edition after; default: the file as it is.
        after: Option<String>,
        /// Output format.
        #[arg(long, value_enum, default_value = "text")]
        format: CarFormat,
    },
    /// Put an earlier edition of the car file in use again, as a new edition.
    Restore {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// The edition, as `editions` names it.
        edition: String,
        /// Only say what would change.
        #[arg(long)]
        dry: bool,
    },
    /// Leave a car out of the list. Its number, its reports and its open items stay.
    PutAway {
        /// A car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Why.
        #[arg(long, value_name = "TEXT")]
        reason: Option<String>,
    },
    /// Put a car back on the list.
    BringBack {
        /// A car's id or its number.
        #[arg(value_parser = named())]
        car: String,
    },
}

/// Formats of what a car file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CarFormat {
    Text,
    Json,
}

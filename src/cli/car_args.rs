//! What `linewalk car` takes.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand};

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
    /// Bring a car file in as the one in use; the record of a car begun by its number goes on with it.
    Adopt {
        /// Path of the car file.
        file: PathBuf,
        /// The id of the car begun by its number; silent: the one with the file's number.
        #[arg(long, value_name = "ID")]
        joins: Vec<String>,
        /// The car of the same number is another car.
        #[arg(long, conflicts_with = "joins")]
        two_cars: bool,
    },
    /// Change the number a car runs under, or its name.
    Rename {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// The number from now on.
        #[arg(long, required_unless_present = "name")]
        number: Option<String>,
        /// The name from now on.
        #[arg(long)]
        name: Option<String>,
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

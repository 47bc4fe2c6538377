//! From the command line to an exit status.

use std::path::PathBuf;

use clap::{CommandFactory, Parser};

use crate::diagnostic::escape_control;
use crate::shell::config::{Config, read_config};
use crate::shell::identity;
use crate::shell::paths::Paths;
use crate::shell::workspace::{Choices, DiskWorkspace};

use super::args::{Args, Command, Common};
use super::output::{lost, put, say};

/// Done.
pub(super) const DONE: u8 = 0;
/// Done, but something stands open or wrong.
pub(super) const OPEN: u8 = 1;
/// Unusable input.
pub(super) const UNUSABLE: u8 = 2;

/// What a command gives: a status, or why its input cannot be used.
pub(super) type Outcome = Result<u8, String>;

/// Reads the command line and runs it.
pub fn run() -> u8 {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let asked = !error.use_stderr();
            let told = told_plainly(&error);
            if asked {
                put(&told)
            } else {
                say(&told)
            }
            return if asked { DONE } else { UNUSABLE };
        }
    };
    let outcome = carry_out(&args);
    if let Some(why) = lost() {
        say(&format!("the result did not go out whole: {why}"));
        return UNUSABLE;
    }
    match outcome {
        Ok(status) => status,
        Err(message) => {
            say(&message);
            UNUSABLE
        }
    }
}

/// What is wrong with the command line, said of arguments that are written out: none can work the terminal, or begin lines
/// of its own.
fn told_plainly(error: &clap::Error) -> String {
    let arguments = std::env::args_os().map(|argument| escape_control(&argument.to_string_lossy()));
    match Args::try_parse_from(arguments) {
        Err(same) => same.render().to_string(),
        Ok(_) => format!("this cannot be used: {}", error.kind()),
    }
}

/// What every command needs.
pub(super) struct Context {
    pub paths: Paths,
    pub config: Config,
    pub common: Common,
}

impl Context {
    fn of(common: &Common) -> Result<Self, String> {
        let from_env = std::env::var_os("LINEWALK_DATA_DIR").filter(|dir| !dir.is_empty()).map(PathBuf::from);
        let paths = Paths::find(common.data_dir.clone().or(from_env))?;
        let config = read_config(&paths)?;
        Ok(Self { paths, config, common: common.clone() })
    }

    /// A workspace; `by` is who walks where a file says so, `named` the cars named on the command line.
    pub fn workspace(&self, by: Option<String>, named: Vec<String>) -> DiskWorkspace {
        let choices = Choices {
            rules: self.common.rules.clone(),
            on: self.common.on,
            units: self.units(),
            by: by.or_else(|| self.common.by.clone()).or_else(|| self.config.by.clone()),
        };
        DiskWorkspace::new(self.paths.clone(), choices, named)
    }

    /// What opens the car that a word of the command line means: the path of its file, its id or its number.
    ///
    /// # Errors
    /// That there is none, or that the number is that of two.
    pub fn car(&self, word: &str) -> Result<String, String> {
        identity::resolve(&self.paths, word)
    }

    /// Units asked for.
    pub fn units(&self) -> crate::units::Units {
        self.common.units.map(Into::into).or(self.config.units).unwrap_or_default()
    }
}

fn carry_out(args: &Args) -> Outcome {
    match &args.command {
        Some(Command::Completions { shell }) => {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut Args::command(), "linewalk", &mut text);
            put(&String::from_utf8_lossy(&text));
            return Ok(DONE);
        }
        None if args.version => return super::version::run(args.verbose),
        Some(Command::Man) => return super::manual::run(),
        Some(Command::Help { word }) => return super::help::run(word),
        Some(Command::Licenses) => return super::book::licenses(),
        Some(Command::Schema { what }) => return super::schema::run(*what),
        _ => {}
    }
    crate::shell::clock::usable()?;
    let context = Context::of(&args.common)?;
    match &args.command {
        None => super::walk::app(&context, None),
        Some(Command::Walk(walk)) => super::walk::run(&context, walk),
        Some(Command::Numbers(numbers)) => super::numbers::run(&context, numbers),
        Some(Command::Report(report)) => super::report::run(&context, report),
        Some(Command::Rules(rules)) => super::rules::run(&context, &rules.what),
        Some(Command::Log(log)) => super::log::run(&context, &log.what),
        Some(Command::Car(car)) => super::car::run(&context, &car.what),
        Some(Command::Export { file }) => super::carry::export(&context, file),
        Some(Command::Import { file, with_rules }) => super::carry::import(&context, file, *with_rules),
        Some(Command::Event(event)) => super::event::run(&context, &event.what),
        Some(Command::Sheet(sheet)) => super::sheet::run(&context, sheet),
        // Carried out above: they need neither data nor settings.
        Some(
            Command::Completions { .. }
            | Command::Man
            | Command::Help { .. }
            | Command::Licenses
            | Command::Schema { .. },
        ) => Ok(DONE),
    }
}

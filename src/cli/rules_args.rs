//! The command line of `linewalk rules`.

use clap::{Args as ClapArgs, Subcommand, ValueEnum};

use super::args::named;

/// `rules`.
#[derive(Debug, ClapArgs)]
pub struct RulesArgs {
    /// What to do.
    #[command(subcommand)]
    pub what: RulesCommand,
}

/// What to do with rule files.
#[derive(Debug, Subcommand)]
pub enum RulesCommand {
    /// Everything wrong or doubtful, at once.
    Check {
        /// Rule files, each by itself with what it extends; base where silent.
        #[arg(value_parser = named())]
        files: Vec<String>,
    },
    /// Every check in force.
    List {
        /// Rule files.
        #[arg(value_parser = named())]
        files: Vec<String>,
        /// Only this station.
        #[arg(long)]
        station: Option<String>,
        /// Only this severity.
        #[arg(long)]
        severity: Option<String>,
        /// Only this topic.
        #[arg(long)]
        topic: Option<String>,
    },
    /// What a check asks of a car, and which file set each key.
    Explain {
        /// The check.
        check: String,
        /// The car it is for.
        #[arg(value_parser = named())]
        car: Option<String>,
    },
    /// Rules printed whole: every check with its words, limits, sources and cases.
    Show(ShowArgs),
    /// A new club file over shipped rules, with remarks that say how to go on.
    New(NewArgs),
    /// Change a check in a club file: a limit, severity or wording, or switch it off. Tried before it is written.
    Change(ChangeArgs),
    /// Two rulesets in words, check by check: what comes, goes, tightens or loosens.
    Diff {
        /// Shipped rules such as base, or a rule file.
        #[arg(value_parser = named(), value_name = "RULES")]
        first: String,
        /// The other.
        #[arg(value_parser = named(), value_name = "OTHER")]
        second: String,
    },
    /// Run the rules' own cases, and say which conditions and limits have none.
    Test {
        /// Rule files, each by itself with what it extends; base where silent.
        #[arg(value_parser = named())]
        files: Vec<String>,
    },
}

/// `rules show`.
#[derive(Debug, ClapArgs)]
pub struct ShowArgs {
    /// Shipped rules such as base, or a rule file.
    #[arg(value_parser = named(), value_name = "RULES")]
    pub rules: String,
    /// Only this check, by its id or code.
    pub check: Option<String>,
    /// Output format.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ShowFormat,
}

/// Formats of `rules show`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ShowFormat {
    /// In words.
    Text,
    /// As a rule file has it.
    Toml,
}

/// `rules new`.
#[derive(Debug, ClapArgs)]
pub struct NewArgs {
    /// What the new rules are called: my-club makes my-club.toml here.
    pub id: String,
    /// Rules it builds on, later ones winning.
    #[arg(long, value_name = "RULES", default_value = "base", value_parser = named())]
    pub extends: Vec<String>,
    /// Its title; default: its id.
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
}

/// `rules change`.
#[derive(Debug, ClapArgs)]
pub struct ChangeArgs {
    /// The club file, by path or id.
    #[arg(value_parser = named(), value_name = "FILE")]
    pub file: String,
    /// The check, by its id or code.
    pub check: String,
    /// What it is to be: min="3/4 in", severity=fix, title="…".
    #[arg(value_name = "KEY=VALUE")]
    pub changes: Vec<String>,
    /// A value the club accepts; asked for on a terminal.
    #[arg(long, value_name = "VALUE")]
    pub accepts: Vec<String>,
    /// A value the club rejects; asked for on a terminal.
    #[arg(long, value_name = "VALUE")]
    pub rejects: Vec<String>,
    /// Why, where the change asks or stops less: printed on every report.
    #[arg(long, value_name = "WHY")]
    pub reason: Option<String>,
    /// Switch the check off.
    #[arg(long)]
    pub off: bool,
}

//! The command line as clap reads it.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::builder::{OsStringValueParser, TypedValueParser};
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};

use crate::shell::paths::text_of;
use crate::units::Units;

use super::car_args::CarArgs;
use super::rules_args::RulesArgs;

/// Walks a person round a hand-built race car and settles whether its brake lines and fire suppression are fit to run.
///
/// Without a command the terminal app opens at the list of cars. Check the current rulebook; the official decides.
#[derive(Debug, Parser)]
#[command(name = "linewalk", max_term_width = 100, disable_help_subcommand = true)]
pub struct Args {
    /// Print the version.
    #[arg(short = 'V', long)]
    pub version: bool,
    /// With --version: editions of rules and formats, features, build.
    #[arg(long, requires = "version")]
    pub verbose: bool,
    /// What is common to every command.
    #[command(flatten)]
    pub common: Common,
    /// The command.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What is common to every command.
#[derive(Clone, Debug, ClapArgs)]
pub struct Common {
    /// Rule file, by path or name; later ones go over earlier ones. Default: the rules of the last walk, else base.
    #[arg(long, global = true, value_name = "FILE", value_parser = named())]
    pub rules: Vec<String>,
    /// Way round the car: owner, scales, scales-short, shop.
    #[arg(long, global = true, value_name = "P")]
    pub profile: Option<String>,
    /// Who walks; default: the name in the settings.
    #[arg(long, global = true, value_name = "NAME")]
    pub by: Option<String>,
    /// Folder of cars and logs; LINEWALK_DATA_DIR says the same.
    #[arg(long, global = true, value_name = "DIR")]
    pub data_dir: Option<PathBuf>,
    /// Units shown.
    #[arg(long, global = true, value_enum)]
    pub units: Option<UnitsArg>,
    /// The event's last day, which due dates count to; today if silent.
    #[arg(long, global = true, value_name = "DATE", value_parser = date)]
    pub on: Option<NaiveDate>,
    /// Colors of the terminal app.
    #[arg(long, global = true, value_enum)]
    pub theme: Option<ThemeArg>,
    /// Color in the terminal app; NO_COLOR turns it off too.
    #[arg(long, global = true, value_enum, default_value = "auto")]
    pub color: ColorArg,
}

/// A car or a rule file by id or path. The path may be one that is no text.
pub(super) fn named() -> impl TypedValueParser<Value = String> {
    OsStringValueParser::new().map(|name| text_of(Path::new(&name)))
}

fn date(text: &str) -> Result<NaiveDate, String> {
    // A month alone is a date on a tag, but no day that others could count to.
    let day = crate::source::parse_date(text).filter(|_| text.trim().len() == "2026-11-25".len());
    day.ok_or_else(|| "write year-month-day: 2026-11-25".to_owned())
}

/// Units on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// Inches, pounds, psi, Fahrenheit.
    Us,
    /// Millimetres, kilograms, bar, Celsius.
    Metric,
}

impl From<UnitsArg> for Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Us => Self::Us,
            UnitsArg::Metric => Self::Metric,
        }
    }
}

/// Themes on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ThemeArg {
    Dark,
    Light,
    Sun,
    Mono,
}

impl ThemeArg {
    /// The word of the settings file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Light => "light",
            Self::Sun => "sun",
            Self::Mono => "mono",
        }
    }
}

/// When to use color.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ColorArg {
    /// Where the terminal can and NO_COLOR is not set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Walk a car in the terminal, or keep answers from a paper sheet.
    Walk(WalkArgs),
    /// Work out every number of a car.
    Numbers(NumbersArgs),
    /// Print a report from a car's record.
    Report(ReportArgs),
    /// A blank sheet for a clipboard.
    Sheet(SheetArgs),
    /// Check, list, explain or test rule files.
    Rules(RulesArgs),
    /// Show, verify, merge or export a car's log.
    Log(LogArgs),
    /// Which file and record a car has: adopt a file, change its number, put it away.
    Car(CarArgs),
    /// Pack every car, log, photo and rule file into one archive.
    Export {
        /// The archive to write, as season.tar.gz.
        file: PathBuf,
    },
    /// Take in an archive of another computer, and verify every log.
    Import {
        /// The archive.
        file: PathBuf,
        /// Take in its rule files too.
        #[arg(long)]
        with_rules: bool,
    },
    /// Several lanes of one event on a PostgreSQL server.
    Event(EventArgs),
    /// JSON Schema of car files or rule files, for editors.
    Schema {
        /// Which file.
        #[arg(value_enum)]
        what: SchemaOf,
    },
    /// Completions for a shell.
    Completions {
        /// The shell.
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
    /// The manual page.
    Man,
    /// Help on a topic, a command, a key of the car file or a number.
    Help {
        /// Topic, command, key path or number; default: all topics and commands.
        word: Vec<String>,
    },
    /// Licences of everything inside.
    Licenses,
}

/// `walk`.
#[derive(Debug, ClapArgs)]
pub struct WalkArgs {
    /// Path of a car file, a car's id or its number; an answers file may name it.
    #[arg(value_parser = named(), required_unless_present = "answers")]
    pub car: Option<String>,
    /// Stage of a shop build.
    #[arg(long)]
    pub stage: Option<String>,
    /// Answers file, kept without a terminal.
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
    /// Keep an answers file that was kept before.
    #[arg(long, requires = "answers")]
    pub again: bool,
}

/// `numbers`.
#[derive(Debug, ClapArgs)]
pub struct NumbersArgs {
    /// Path of a car file, a car's id or its number.
    #[arg(value_parser = named())]
    pub car: String,
    /// Output format.
    #[arg(long, value_enum, default_value = "text")]
    pub format: NumbersFormat,
    /// Another value for a key of the car file or a reading.
    #[arg(long, value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Every number by its name in rule files, with what it assumes and what decides it.
    #[arg(long, conflicts_with = "format")]
    pub behind: bool,
    /// Only this quantity.
    #[arg(long, value_name = "QUANTITY")]
    pub only: Option<String>,
    /// Everything behind this quantity: inputs with values and origin, defaults with spread and source, limit, verdict.
    #[arg(long, value_name = "QUANTITY", conflicts_with_all = ["only", "format"])]
    pub explain: Option<String>,
}

/// Formats of `numbers`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum NumbersFormat {
    Text,
    Json,
    Csv,
}

/// `report`.
#[derive(Debug, ClapArgs)]
pub struct ReportArgs {
    /// Path of a car file, a car's id or its number.
    #[arg(value_parser = named())]
    pub car: String,
    /// Which report.
    #[arg(long, value_enum, default_value = "deficiency")]
    pub kind: ReportKind,
    /// Output format.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ReportFormat,
    /// Write to this file.
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Print through the system.
    #[arg(long)]
    pub print: bool,
    /// Checks not reached count as open.
    #[arg(long)]
    pub complete: bool,
}

/// Kinds of report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ReportKind {
    /// Open items, worst first.
    Deficiency,
    /// Everything answered.
    Full,
    /// For the customer, with the as-built line schedule.
    Delivery,
    /// 42 columns for a receipt printer.
    Slip,
    /// What falls due.
    Due,
    /// What to fix, with parts.
    FixFirst,
    /// For the bench: bends, tube to buy, torques, records to fill in.
    Build,
}

/// Formats of `report`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ReportFormat {
    Text,
    Html,
    Pdf,
    Json,
    Ics,
}

/// `sheet`.
#[derive(Debug, ClapArgs)]
pub struct SheetArgs {
    /// Path of a car file, a car's id or its number; default: a sheet for any car.
    #[arg(value_parser = named())]
    pub car: Option<String>,
    /// Output format.
    #[arg(long, value_enum, default_value = "text")]
    pub format: SheetFormat,
}

/// Formats of `sheet`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SheetFormat {
    Text,
    Pdf,
}

/// `log`.
#[derive(Debug, ClapArgs)]
pub struct LogArgs {
    /// What to do.
    #[command(subcommand)]
    pub what: LogCommand,
}

/// What to do with a log.
#[derive(Debug, Subcommand)]
pub enum LogCommand {
    /// Every record, in order.
    Show {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
    },
    /// Whether any record was changed, is missing or torn.
    Verify {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
    },
    /// Take in logs of the same car from other folders.
    Merge {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Folders that hold its logs.
        #[arg(required = true)]
        from: Vec<PathBuf>,
        /// Take this machine's own log over too, as from a backup; asks first.
        #[arg(long)]
        restore: bool,
    },
    /// Say that records past the head are your own, or take them back.
    Confirm {
        /// Path of a car file, or a car's id.
        #[arg(value_parser = named())]
        car: String,
        /// Take them back instead.
        #[arg(long)]
        withdraw: bool,
        /// Who says so.
        #[arg(long, value_name = "NAME")]
        by: Option<String>,
    },
    /// Close a copy of a log that was set aside, after looking at it.
    Settle {
        /// The copy, as a report names it.
        file: PathBuf,
        /// Why it is not needed.
        #[arg(long, value_name = "WHY")]
        reason: String,
        /// Who says so.
        #[arg(long, value_name = "NAME")]
        by: Option<String>,
    },
    /// Read the record of another id with this car's: both are one car. Nothing is closed or moved by it.
    Join {
        /// The car that goes on: path, id or number.
        #[arg(value_parser = named())]
        car: String,
        /// The id of the other one.
        other: String,
        /// Take the join back: both stand again as they are by themselves.
        #[arg(long, requires = "reason")]
        take_back: bool,
        /// Why it is taken back.
        #[arg(long, value_name = "TEXT")]
        reason: Option<String>,
    },
    /// Every record, for other programs.
    Export {
        /// Path of a car file, a car's id or its number.
        #[arg(value_parser = named())]
        car: String,
        /// Output format.
        #[arg(long, value_enum, default_value = "csv")]
        format: ExportFormat,
    },
}

/// Formats of `log export`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    Csv,
    Json,
}

/// `event`.
#[derive(Debug, ClapArgs)]
pub struct EventArgs {
    /// What to do.
    #[command(subcommand)]
    pub what: EventCommand,
}

/// What to do with an event.
#[derive(Debug, Subcommand)]
pub enum EventCommand {
    /// Make the event's tables and roles in a database, or bring older ones up. For its owner.
    Create(ServerArgs),
    /// Carry this machine's records to the event from now on, and take in those of the other lanes.
    Join(ServerArgs),
    /// Carry nothing more. What is here stays.
    Leave,
    /// Which event is joined, and what has not gone out yet.
    Status,
    /// Send and take what is new now, without the terminal app.
    Sync {
        /// Go on until the program is stopped.
        #[arg(long)]
        follow: bool,
    },
    /// For race control: open stops, cars waiting for a second look, cars not yet seen, pace of each lane.
    Watch(WatchArgs),
}

/// Where the event's server is.
#[derive(Debug, ClapArgs)]
pub struct ServerArgs {
    /// URL without a password, as postgresql://lane1@timing.example/event, or the name of a service.
    pub url: String,
    /// Allow sslmode=disable to another machine: every record can then be read and changed on the way.
    #[arg(long)]
    pub plain: bool,
}

/// `event watch`.
#[derive(Debug, ClapArgs)]
pub struct WatchArgs {
    /// URL or service; default: the event joined.
    pub url: Option<String>,
    /// Allow sslmode=disable to another machine.
    #[arg(long)]
    pub plain: bool,
    /// Output format.
    #[arg(long, value_enum, default_value = "text")]
    pub format: WatchFormat,
    /// Go on and print anew whenever something changed; on a terminal it does so anyway, in text.
    #[arg(long)]
    pub follow: bool,
    /// Only such rows.
    #[arg(long, value_enum, default_value = "all")]
    pub only: WatchOnly,
    /// Only what this lane found.
    #[arg(long)]
    pub lane: Option<String>,
    /// Only cars with this in their number or id.
    #[arg(long)]
    pub car: Option<String>,
    /// Entry list: a number or id a line; those that no record names count as not seen.
    #[arg(long, value_name = "FILE")]
    pub entries: Option<PathBuf>,
}

/// Formats of `event watch`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum WatchFormat {
    Text,
    Json,
}

/// Rows of `event watch`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum WatchOnly {
    /// All of them.
    All,
    /// Open stops.
    Stops,
    /// Waiting for a second look.
    Again,
    /// Not yet seen.
    Unseen,
}

/// Which schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    Car,
    Rules,
}

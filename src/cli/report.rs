//! `linewalk report`: a report from a car's record.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::ValueEnum;

use crate::diagnostic::{escape_control, shown};
use crate::drawing::{Curves, discharge_curves};
use crate::model::entry::Moment;
use crate::numbers::{Answer, Readings, Situation};
use crate::physics::discharge::Settings;
use crate::report::{self, Input, Kind, Shop};
use crate::rules::Profile;
use crate::shell::paths::{not_over, path_of, write_out};
use crate::shell::workspace::CarOnFile;
use crate::shell::{clock, workspace::DiskWorkspace};
use crate::source::Overrides;
use crate::units::Units;

use super::args::{ReportArgs, ReportFormat, ReportKind};
use super::output::{put, put_file, say};
use super::run::{Context, DONE, OPEN, Outcome};

pub(super) fn run(context: &Context, args: &ReportArgs) -> Outcome {
    fitting_name(args)?;
    let workspace = context.workspace(None, Vec::new());
    let car = context.car(&args.car)?;
    let on_file = workspace.car(&car, &Overrides::new())?;
    if let Some(same) = on_file.same_car.first().filter(|_| path_of(&car).is_file()) {
        return Err(same.refused(&car));
    }
    if let Some(path) = &args.output {
        harmless_output(context, path, &on_file)?;
    }
    let (numbers, readings) = numbers(&workspace, &on_file);
    let curves = curves(&workspace, &on_file, args);
    let profile = profile(context, &on_file, None)?;
    let input = input(context, &workspace, &on_file, (&numbers, &readings, &curves), profile, args.complete);
    let bytes = rendered(&input, kind(args.kind), args.format)?;
    match &args.output {
        Some(path) => {
            write_out(path, &bytes)?;
            say(&format!("written: {}", shown(path)));
        }
        None if args.print => {}
        None if args.format == ReportFormat::Pdf => put_file(&bytes)?,
        None => put(&String::from_utf8_lossy(&bytes)),
    }
    if args.print {
        // An old printer wants pages of 66 lines and a form feed between them.
        let paged = (args.format == ReportFormat::Text)
            .then(|| report::paper(&report::build(&input, kind(args.kind))));
        print(paged.as_deref().map_or(&bytes, str::as_bytes), args.format, args.output.as_deref())?;
    }
    Ok(if report::exit_status(&input) || on_file.unsettled { OPEN } else { DONE })
}

/// A report may not take the place of what it is made from, nor of anything that a record stands in.
fn harmless_output(context: &Context, path: &Path, on_file: &CarOnFile) -> Result<(), String> {
    let car = path_of(&on_file.found.file.name);
    let rules = on_file.rules.files.iter().chain(&context.common.rules).map(|name| path_of(name));
    let inputs: Vec<PathBuf> = std::iter::once(car).chain(rules).collect();
    not_over(path, &[&context.paths.data, &context.paths.config], &inputs)
}

/// A file whose name promises another format would be opened by the wrong program.
fn fitting_name(args: &ReportArgs) -> Result<(), String> {
    let Some(path) = &args.output else { return Ok(()) };
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    match ReportFormat::from_str(ending, true) {
        Ok(promised) if promised != args.format => Err(format!(
            "{} would hold another format: add --format {}, or give the file another name",
            shown(path),
            ending.to_lowercase()
        )),
        _ => Ok(()),
    }
}

fn kind(kind: ReportKind) -> Kind {
    match kind {
        ReportKind::Deficiency => Kind::Deficiency,
        ReportKind::Full => Kind::Full,
        ReportKind::Delivery => Kind::Delivery,
        ReportKind::Slip => Kind::Slip,
        ReportKind::Due => Kind::Due,
        ReportKind::FixFirst => Kind::FixFirst,
        ReportKind::Build => Kind::Build,
    }
}

/// The bytes of a report in a format.
fn rendered(input: &Input<'_>, kind: Kind, format: ReportFormat) -> Result<Vec<u8>, String> {
    let document = report::build(input, kind);
    match format {
        ReportFormat::Text => Ok(report::text(&document).into_bytes()),
        ReportFormat::Json => Ok(report::json(&document).into_bytes()),
        ReportFormat::Html => Ok(report::html(&document).into_bytes()),
        ReportFormat::Pdf => report::pdf(&document, paper(input.units)),
        ReportFormat::Ics if kind == Kind::Due => Ok(report::ics(&document).into_bytes()),
        ReportFormat::Ics => {
            Err("a calendar is made of what falls due: give --kind due --format ics".to_owned())
        }
    }
}

/// The paper that goes with the units.
pub(super) fn paper(units: Units) -> report::Sheet {
    match units {
        Units::Us => report::Sheet::Letter,
        Units::Metric => report::Sheet::A4,
    }
}

/// Every number with its band, and the readings that they were worked from.
fn numbers(workspace: &DiskWorkspace, on_file: &CarOnFile) -> (Vec<Answer>, Readings) {
    let readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    let situation = Situation::new(&on_file.found.read.car, readings, workspace.on());
    let rules = &on_file.rules.rules;
    let numbers = rules.numbers_of(&on_file.found.file, &on_file.overrides, &situation).to_vec();
    (numbers, situation.readings)
}

/// The discharge over time, run only where it will be drawn.
fn curves(workspace: &DiskWorkspace, on_file: &CarOnFile, args: &ReportArgs) -> Vec<Curves> {
    let drawn = matches!(args.format, ReportFormat::Html | ReportFormat::Pdf)
        && matches!(args.kind, ReportKind::Full | ReportKind::Delivery);
    if !drawn {
        return Vec::new();
    }
    let readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    let settings = Settings::CLOSE.with_curves();
    discharge_curves(&Situation::with(&on_file.found.read.car, readings, workspace.on(), settings)).0
}

/// The profile asked for, else that of the last walk, else none. A recheck is spoken of with the walk it rechecked.
pub(super) fn profile<'c>(
    context: &Context,
    on_file: &'c CarOnFile,
    known: Option<&str>,
) -> Result<Option<&'c Profile>, String> {
    let walks = on_file.history.walks();
    let whole = walks.iter().rev().find(|walk| !walk.started.recheck);
    let newest = whole.or(walks.last()).map(|walk| walk.started.profile.as_str());
    let asked = known.or(context.common.profile.as_deref());
    let Some(id) = asked.or(newest) else { return Ok(None) };
    let found = on_file.rules.rules.profile(id);
    match (found, asked) {
        (None, Some(id)) => {
            let known: Vec<&str> =
                on_file.rules.rules.profiles.iter().map(|profile| profile.id.as_str()).collect();
            Err(format!("there is no profile {}: profiles are {}", escape_control(id), known.join(", ")))
        }
        (found, _) => Ok(found),
    }
}

fn input<'c>(
    context: &Context,
    workspace: &DiskWorkspace,
    on_file: &'c CarOnFile,
    (numbers, readings, curves): (&'c [Answer], &'c Readings, &'c [Curves]),
    profile: Option<&'c Profile>,
    complete: bool,
) -> Input<'c> {
    let now: Moment = clock::now();
    Input {
        car: &on_file.found.read.car,
        rules: &on_file.rules.rules,
        profile,
        history: &on_file.history,
        numbers,
        readings,
        curves,
        on: workspace.on(),
        now,
        units: context.units(),
        complete,
        unsettled: on_file.unsettled,
        made_by: super::version::made_by(),
        shop: context.config.shop.clone().map(|(name, address)| Shop { name, address }),
        trouble: on_file.trouble.iter().chain(&on_file.left_out).cloned().collect(),
    }
}

/// Whether a stop stands open, for the status of other commands.
pub(super) fn stop_is_open(context: &Context, on_file: &CarOnFile, known: Option<&str>) -> bool {
    let workspace = context.workspace(None, Vec::new());
    let profile = profile(context, on_file, known).unwrap_or(None);
    let (numbers, readings) = numbers(&workspace, on_file);
    on_file.unsettled
        || report::exit_status(&input(
            context,
            &workspace,
            on_file,
            (&numbers, &readings, &[]),
            profile,
            false,
        ))
}

/// Hands a report to the system's printer.
fn print(bytes: &[u8], format: ReportFormat, file: Option<&Path>) -> Result<(), String> {
    if !matches!(format, ReportFormat::Text | ReportFormat::Pdf) {
        return Err("print the report as text or PDF: --format text or pdf".to_owned());
    }
    if cfg!(windows) {
        let path = file.ok_or("on this system give -o FILE and print it from there")?;
        let opened = Command::new("cmd").args(["/C", "start", ""]).arg(path).status();
        return opened.map(|_| ()).map_err(|error| format!("the file could not be opened: {error}"));
    }
    for program in ["lp", "lpr"] {
        let child = Command::new(program).stdin(Stdio::piped()).stdout(Stdio::null()).spawn();
        let Ok(mut child) = child else { continue };
        if let Some(mut pipe) = child.stdin.take() {
            use std::io::Write;
            pipe.write_all(bytes).map_err(|error| format!("{program} did not take the report: {error}"))?;
        }
        let status = child.wait().map_err(|error| format!("{program}: {error}"))?;
        if status.success() {
            return Ok(());
        }
        return Err(format!("{program} could not print it: {}", escape_control(&status.to_string())));
    }
    Err("this system has neither lp nor lpr: write the report with -o FILE and print it from there"
        .to_owned())
}

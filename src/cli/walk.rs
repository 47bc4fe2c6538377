//! `linewalk walk`: in the terminal, or from a paper sheet without one.

use std::path::{Component, Path};

use crate::diagnostic::{Diagnostic, SourceFile, escape_control, many, shown};
use crate::shell::disk::link_target;
use crate::shell::identity::{goes_on_under, same_number};
use crate::shell::load::{self, rendered};
use crate::shell::paths::{path_of, read_text, text_of};
use crate::shell::{clock, workspace::DiskWorkspace};
use crate::source::{Overrides, Word};
use crate::walk::{Journal, PaperAnswers, PaperPlan, Walk, keep_paper, plan_paper, read_paper};

use super::args::WalkArgs;
use super::output::{put, say};
use super::paper_car;
use super::run::{Context, DONE, OPEN, Outcome};

pub(super) fn run(context: &Context, args: &WalkArgs) -> Outcome {
    match &args.answers {
        Some(answers) => from_paper(context, args, answers),
        None => app(context, Some(args)),
    }
}

/// Keeps the answers of a paper sheet: the whole file is checked before the first record.
fn from_paper(context: &Context, args: &WalkArgs, answers: &Path) -> Outcome {
    let file = SourceFile::new(text_of(answers), read_text(answers)?);
    let (paper, diagnostics) = read_paper(&file);
    if !diagnostics.is_empty() {
        return Err(refused(&diagnostics));
    }
    let profile = profile(context, &paper)?;
    let mut workspace = context.workspace(context.common.by.clone().or_else(|| paper.by.clone()), Vec::new());
    let car = paper_car::find(context, &mut workspace, &paper, args.car.as_ref())?;
    let kept = keep_sheet(context, args, &mut workspace, (&paper, answers), (&car.open, &profile));
    if car.made && kept.is_err() {
        workspace.unmake(&car.open);
    }
    kept
}

/// Keeps what a sheet says of a car.
fn keep_sheet(
    context: &Context,
    args: &WalkArgs,
    workspace: &mut DiskWorkspace,
    (paper, answers): (&PaperAnswers, &Path),
    (car, profile): (&str, &str),
) -> Outcome {
    let stage = agreed("stage", paper.stage.as_ref(), args.stage.as_ref())?;
    offered(workspace, car, paper, profile)?;
    let (mut walk, notes) = workspace.open_walk(car, profile, stage.as_deref())?;
    notes.iter().for_each(|note| say(&escape_control(note)));
    right_car(context, &walk, paper)?;
    let mut plan = plan_paper(&walk, paper, args.again, clock::now(), &mut clock::new_id)
        .map_err(|diagnostics| refused(&diagnostics))?;
    find_photos(&mut plan, answers)?;
    let (count, before) = (plan.entries.len(), plan.before);
    keep_paper(&mut walk, workspace, plan)?;
    workspace.settle().map_err(|error| format!("every answer of this file is kept; but {error}"))?;
    if before > 0 {
        let rows = many(before, "row");
        say(&format!("{}: it was cut off before and went on where it stopped, after {rows}", shown(answers)));
    }
    put(&format!(
        "{}: {} kept for car {} ({})\n",
        shown(answers),
        many(count, "record"),
        walk.start.car.number,
        walk.start.car.id
    ));
    super::event::give_a_moment(context, &walk.start.car.id, u64::try_from(count).unwrap_or(u64::MAX));
    status(context, workspace, car, &walk)
}

fn refused(diagnostics: &[Diagnostic]) -> String {
    format!("{}\nnothing of this file was kept", rendered(diagnostics))
}

/// The profile of the sheet; the command line may say it where the sheet is silent.
fn profile(context: &Context, paper: &PaperAnswers) -> Result<String, String> {
    agreed("profile", paper.profile.as_ref(), context.common.profile.as_ref())?
        .ok_or_else(|| "the answers file names no profile: add profile = \"…\", or give --profile".to_owned())
}

/// What the sheet says, or the command line where it is silent; the two may not differ.
fn agreed(what: &str, sheet: Option<&Word>, line: Option<&String>) -> Result<Option<String>, String> {
    match (sheet, line) {
        (Some(word), Some(asked)) if word.text != *asked => Err(refused(&[Diagnostic::error(
            &word.at,
            format!("the sheet is for {what} {}, not {asked}", word.text),
            format!("leave --{what} out, or make it {}", word.text),
        )])),
        (word, asked) => Ok(word.map(|word| &word.text).or(asked).cloned()),
    }
}

/// A profile or stage on the sheet that the rules do not know is told at its place.
fn offered(workspace: &DiskWorkspace, car: &str, paper: &PaperAnswers, profile: &str) -> Result<(), String> {
    let rules = workspace.car(car, &Overrides::new())?.rules.rules;
    for (word, stage) in [(&paper.profile, None), (&paper.stage, paper.stage.as_ref())] {
        let told = rules.offers(profile, stage.map(|stage| stage.text.as_str()));
        if let (Some(word), Err([message, help])) = (word, told) {
            return Err(refused(&[Diagnostic::error(&word.at, message, help)]));
        }
    }
    Ok(())
}

fn right_car(context: &Context, walk: &Walk, paper: &PaperAnswers) -> Result<(), String> {
    let goes_on = |id: &str| goes_on_under(&context.paths, id);
    match &paper.car {
        // A sheet printed before two records were joined is of the same car.
        Some(word) if goes_on(&word.text) != goes_on(&walk.start.car.id) => {
            let message =
                format!("this sheet is for {}, and the car named is {}", word.text, walk.start.car.id);
            Err(refused(&[Diagnostic::error(&word.at, message, "give the sheet with its own car")]))
        }
        _ => right_number(&walk.start.car.number, paper),
    }
}

fn right_number(number: &str, paper: &PaperAnswers) -> Result<(), String> {
    match &paper.number {
        Some(word) if !same_number(&word.text, number) => {
            let message = format!("this sheet is for car {}, and the car named is {number}", word.text);
            Err(refused(&[Diagnostic::error(&word.at, message, "give the sheet with its own car")]))
        }
        _ => Ok(()),
    }
}

/// Photos stand beside the answers file; one that is missing is said before anything is kept.
fn find_photos(plan: &mut PaperPlan, answers: &Path) -> Result<(), String> {
    let folder = answers.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut missing = Vec::new();
    for word in plan.entries.iter_mut().filter_map(|(_, photo)| photo.as_mut()) {
        let path = folder.join(&word.text);
        if leads_out(folder, Path::new(&word.text)) {
            let message =
                format!("the photo {} is outside the folder of this file", escape_control(&word.text));
            missing.push(Diagnostic::error(&word.at, message, "put the photo beside the answers file"));
        } else if path.is_file() {
            if let Some(to) = link_target(&path) {
                say(&escape_control(&format!(
                    "{} is a symbolic link to {}: what it leads to is kept",
                    shown(&path),
                    shown(&to)
                )));
            }
            word.text = text_of(&path);
        } else {
            let message = format!("there is no photo {}", shown(&path));
            missing.push(Diagnostic::error(
                &word.at,
                message,
                "name it by its path from the answers file, or take it out",
            ));
        }
    }
    if missing.is_empty() { Ok(()) } else { Err(refused(&missing)) }
}

/// Whether a photo stands outside the folder: whoever wrote the file could have any file of this machine copied.
fn leads_out(folder: &Path, photo: &Path) -> bool {
    let plain = photo.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    let real = |path: &Path| std::fs::canonicalize(path);
    let inside = match (real(&folder.join(photo)), real(folder)) {
        (Ok(photo), Ok(folder)) => photo.starts_with(folder),
        // Not there: that is said of its own.
        _ => true,
    };
    !plain || !inside
}

/// The status after keeping: whether a stop stands open.
fn status(context: &Context, workspace: &DiskWorkspace, car: &str, walk: &Walk) -> Outcome {
    let mut on_file = workspace.car(car, &Overrides::new())?;
    // What was kept just now counts, whatever day the dates are judged on.
    on_file.history = walk.history.clone();
    let profile = walk.start.profile.as_str();
    let open = super::report::stop_is_open(context, &on_file, Some(profile));
    Ok(if open { OPEN } else { DONE })
}

/// The terminal app, at the list of cars or at one car.
pub(super) fn app(context: &Context, args: Option<&WalkArgs>) -> Outcome {
    use std::io::IsTerminal;
    if context.common.profile.is_none() && args.is_some_and(|args| args.stage.is_some()) {
        return Err("a stage belongs to a profile: give --profile too, as `--profile shop`".to_owned());
    }
    if !std::io::stdin().is_terminal() || !std::io::stdout().is_terminal() {
        return Err("the terminal app needs a terminal on both ends: keep a paper sheet with `linewalk walk CAR --answers FILE`, \
                    or print with `linewalk report CAR`"
            .to_owned());
    }
    if std::env::var_os("TERM").is_some_and(|kind| kind == "dumb") {
        return Err("this terminal (TERM=dumb) cannot place text on its screen: open another, keep a paper sheet with \
                    `linewalk walk CAR --answers FILE`, or print with `linewalk report CAR`"
            .to_owned());
    }
    let mut workspace = context.workspace(None, Vec::new());
    if args.is_none() {
        usable(context, &workspace)?;
    }
    let car = args.and_then(|args| args.car.as_ref()).map(|car| context.car(car)).transpose()?;
    workspace.named = car.clone().filter(|car| path_of(car).is_file()).into_iter().collect();
    super::screen::run(context, workspace, args, car)
}

/// Rules or a profile named for the list of cars are found out before it opens.
fn usable(context: &Context, workspace: &DiskWorkspace) -> Result<(), String> {
    let common = &context.common;
    if common.rules.is_empty() && common.profile.is_none() {
        return Ok(());
    }
    let rules = load::find_rules(&context.paths, &workspace.cache, workspace.on(), &common.rules)?.rules;
    let offered = common.profile.as_ref().map_or(Ok(()), |profile| rules.offers(profile, None));
    offered.map_err(|told| told.join(": "))
}

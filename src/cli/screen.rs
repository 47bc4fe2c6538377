//! The terminal app over the cars on disk.

use crate::model::entry::Moment;
use crate::report::{self, Input, Kind};
use crate::shell::garage::DiskGarage;
use crate::tui::{self, Options, Theme};
use crate::walk::Walk;

use super::args::{ColorArg, ThemeArg, WalkArgs};
use super::run::{Context, DONE, Outcome};

/// Runs the app until the person leaves.
pub(super) fn run(context: &Context, garage: DiskGarage, args: Option<&WalkArgs>) -> Outcome {
    let options = Options {
        theme: theme(context)?,
        preview,
        open: args.map(|args| (args.car.clone(), context.common.profile.clone())),
        stage: args.and_then(|args| args.stage.clone()),
    };
    tui::run(garage, options)
        .map_err(|error| format!("the terminal gave up: {error}; what was shown as kept is kept"))?;
    Ok(DONE)
}

/// No colour where NO_COLOR is set to anything or the person says never.
fn theme(context: &Context) -> Result<Theme, String> {
    let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    match context.common.color {
        ColorArg::Never => return Ok(Theme::Mono),
        ColorArg::Auto if no_color => return Ok(Theme::Mono),
        ColorArg::Auto | ColorArg::Always => {}
    }
    let word = context.common.theme.map(ThemeArg::word).or(context.config.theme.as_deref()).unwrap_or("dark");
    Theme::named(word).ok_or_else(|| format!("there is no theme {word}"))
}

/// The deficiency report as the walk stands.
fn preview(walk: &Walk, now: Moment) -> String {
    let input = Input {
        car: &walk.start.car,
        rules: &walk.start.rules,
        profile: walk.profile(),
        history: &walk.history,
        numbers: &walk.numbers,
        curves: &[],
        on: walk.start.on,
        now,
        units: walk.start.units,
        complete: false,
        shop: None,
        trouble: Vec::new(),
    };
    report::text(&report::build(&input, Kind::Deficiency))
}

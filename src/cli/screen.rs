//! The terminal app over the cars on disk.

use std::time::Duration;

use crate::model::entry::Moment;
use crate::report::{self, Input, Kind};
use crate::shell::load::rendered;
use crate::shell::workspace::DiskWorkspace;
use crate::tui::{self, Grain, Hand, Keymap, Options, Person, Theme};
use crate::walk::{Journal, Walk};

use super::args::{ColorArg, ThemeArg, WalkArgs};
use super::run::{Context, DONE, Outcome};

/// Runs the app until the person leaves; at one car, where what opens it is given.
pub(super) fn run(
    context: &Context,
    mut workspace: DiskWorkspace,
    args: Option<&WalkArgs>,
    car: Option<String>,
) -> Outcome {
    let terminal = Terminal::of_environment();
    let person = context.config.person.as_deref().and_then(Person::named);
    let options = Options {
        theme: theme(context, &terminal)?,
        open: car.map(|car| (car, context.common.profile.clone())),
        profile: context.common.profile.clone(),
        stage: args.and_then(|args| args.stage.clone()),
        keys: keys(context)?,
        grain: grain(context, &terminal),
        plain: !terminal.unicode,
        repeat_guard: context
            .config
            .repeat_guard
            .map_or(tui::USUAL_GUARD, |ms| Duration::from_millis(u64::from(ms))),
        person,
        // A car named on the command line is opened, and nothing asked before it; a profile named answers the question.
        asks_person: args.is_none() && context.common.profile.is_none(),
        ..Options::new(preview)
    };
    workspace.replicator = super::event::replicator(context);
    let mut workspace = tui::run(workspace, options)
        .map_err(|error| format!("the terminal gave up: {error}; what was shown as kept is kept"))?;
    let settled = workspace.settle();
    if let Some(replicator) = &workspace.replicator {
        replicator.finish();
    }
    settled.map_err(|error| format!("what was shown as kept is kept; but {error}"))?;
    Ok(DONE)
}

/// No colour where NO_COLOR is set to anything or the person says never.
fn theme(context: &Context, terminal: &Terminal) -> Result<Theme, String> {
    let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    match context.common.color {
        ColorArg::Never => return Ok(Theme::Mono),
        ColorArg::Auto if no_color || terminal.is_bare() => return Ok(Theme::Mono),
        ColorArg::Auto | ColorArg::Always => {}
    }
    let word = context.common.theme.map(ThemeArg::word).or(context.config.theme.as_deref()).unwrap_or("dark");
    Theme::named(word).ok_or_else(|| format!("there is no theme {word}"))
}

/// The keys of the hand, with the person's own over them.
fn keys(context: &Context) -> Result<Keymap, String> {
    let hand = context.config.hand.as_deref().and_then(Hand::named).unwrap_or_default();
    Keymap::of(hand).with_own(&context.config.keys).map_err(|diagnostics| rendered(&diagnostics))
}

/// What the terminal can show, as far as the environment tells.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Terminal {
    /// Its kind, as TERM says.
    kind: String,
    /// Whether its text is Unicode.
    unicode: bool,
}

impl Terminal {
    fn of_environment() -> Self {
        let said = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
        // The first that is set counts, as POSIX has it. Windows sets none, and its terminal is Unicode.
        let locale = said("LC_ALL").or_else(|| said("LC_CTYPE")).or_else(|| said("LANG"));
        let unicode = match locale {
            Some(locale) => {
                let locale = locale.to_lowercase();
                locale.contains("utf-8") || locale.contains("utf8")
            }
            None => cfg!(windows),
        };
        Self { kind: said("TERM").unwrap_or_default(), unicode }
    }

    /// Kinds that show no colour.
    fn is_bare(&self) -> bool {
        self.kind == "dumb" || self.kind.starts_with("vt")
    }
}

/// What pictures are made of: as the settings say, else the finest that the terminal is known to show.
fn grain(context: &Context, terminal: &Terminal) -> Grain {
    match context.config.pictures.as_deref() {
        Some("fine") => Grain::Braille,
        Some("half") => Grain::Half,
        Some("plain") => Grain::Ascii,
        _ if !terminal.unicode || terminal.is_bare() => Grain::Ascii,
        // The console of the kernel has block signs in its font, but no fine dots.
        _ if terminal.kind == "linux" => Grain::Half,
        _ => Grain::Braille,
    }
}

/// The deficiency report as the walk stands.
fn preview(walk: &Walk, now: Moment) -> String {
    let input = Input {
        car: &walk.start.car,
        rules: &walk.start.rules,
        profile: walk.profile(),
        history: &walk.history,
        numbers: walk.numbers(),
        readings: &walk.readings,
        curves: &[],
        on: walk.start.on,
        now,
        units: walk.start.units,
        complete: false,
        unsettled: walk.unsettled,
        made_by: super::version::made_by(),
        shop: None,
        trouble: Vec::new(),
    };
    report::text(&report::build(&input, Kind::Deficiency))
}

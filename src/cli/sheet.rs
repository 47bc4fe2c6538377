//! `linewalk sheet`: a blank sheet for a clipboard, keyed in later with `walk --answers`.

use crate::diagnostic::escape_control;
use crate::model::Car;
use crate::model::history::History;
use crate::numbers::{Situation, work_all};
use crate::report::{self, SheetInput, Shop};
use crate::rules::{Ruleset, lap_for};
use crate::source::Overrides;
use crate::walk::{Plan, readings_of};

use super::args::{SheetArgs, SheetFormat};
use super::output::{put, put_file};
use super::report::paper;
use super::run::{Context, DONE, Outcome};

/// The profile of a sheet that names none.
const PROFILE: &str = "scales";

pub(super) fn run(context: &Context, args: &SheetArgs) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let (file, car, history, rules, trouble) = match &args.car {
        Some(name) => {
            let on_file = workspace.car(&context.car(name)?, &Overrides::new())?;
            (
                Some(on_file.found.file),
                Some(on_file.found.read.car),
                on_file.history,
                on_file.rules.rules,
                on_file.trouble,
            )
        }
        None => {
            let found = crate::shell::load::find_rules(
                &context.paths,
                &workspace.cache,
                workspace.on(),
                &context.common.rules,
            )?;
            (None, None, History::default(), found.rules, Vec::new())
        }
    };
    let id = context.common.profile.as_deref().unwrap_or(PROFILE);
    let Some(profile) = rules.profile(id) else {
        let known: Vec<&str> = rules.profiles.iter().map(|profile| profile.id.as_str()).collect();
        return Err(format!("there is no profile {}: profiles are {}", escape_control(id), known.join(", ")));
    };
    let plan = plan(&rules, car.as_deref(), profile, &history);
    let asked: Vec<&str> = plan.steps.iter().map(|step| step.check.as_str()).collect();
    let readings = readings_of(&history, &rules);
    let worked = car.as_deref().map(|car| work_all(&Situation::new(car, readings, workspace.on())));
    let sheet = report::sheet(&SheetInput {
        rules: &rules,
        profile,
        car: car.as_deref(),
        edition: file.and_then(|file| file.sha256().get(..8).map(str::to_owned)),
        numbers: worked.as_deref().unwrap_or_default(),
        history: &history,
        asked: &asked,
        on: workspace.on(),
        units: context.units(),
        shop: context.config.shop.clone().map(|(name, address)| Shop { name, address }),
        trouble,
    });
    match args.format {
        SheetFormat::Text => put(&report::text(&sheet)),
        SheetFormat::Pdf => put_file(&report::pdf(&sheet, paper(context.units()))?)?,
    }
    Ok(DONE)
}

/// The walk as it would be asked; a car that says nothing about itself is asked everything.
fn plan(rules: &Ruleset, car: Option<&Car>, profile: &crate::rules::Profile, history: &History) -> Plan {
    let any = Car::default();
    let car = car.unwrap_or(&any);
    Plan::lay(rules, car, profile, lap_for(rules, car), None, None, history)
}

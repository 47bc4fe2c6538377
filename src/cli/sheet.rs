//! `linewalk sheet`: a blank sheet for a clipboard, keyed in later with `walk --answers`.

use crate::model::Car;
use crate::model::history::History;
use crate::report;
use crate::rules::lap_for;
use crate::source::Overrides;
use crate::walk::Plan;

use super::args::{SheetArgs, SheetFormat};
use super::output::put_bytes;
use super::run::{Context, DONE, Outcome};

pub(super) fn run(context: &Context, args: &SheetArgs) -> Outcome {
    let profile = context.common.profile.clone().unwrap_or_else(|| "scales".to_owned());
    let (car, history, rules) = match &args.car {
        Some(name) => {
            let on_file = context.garage(None, Vec::new()).car(name, &Overrides::new())?;
            (Some(on_file.found.read.car), on_file.history, on_file.rules.rules)
        }
        None => {
            let found = crate::shell::load::find_rules(&context.paths, &context.common.rules)?;
            (None, History::default(), found.rules)
        }
    };
    let Some(profile) = rules.profile(&profile) else {
        let known: Vec<&str> = rules.profiles.iter().map(|profile| profile.id.as_str()).collect();
        return Err(format!("there is no profile {profile}: profiles are {}", known.join(", ")));
    };
    let any = Car::default();
    let lap = lap_for(&rules, car.as_ref().unwrap_or(&any));
    let plan = Plan::lay(&rules, car.as_ref().unwrap_or(&any), profile, lap, None, None, &history);
    let asked: Vec<&str> = plan.steps.iter().map(|step| step.check.as_str()).collect();
    let sheet = report::sheet(&rules, profile, car.as_ref(), &asked, context.units());
    put_bytes(&match args.format {
        SheetFormat::Text => report::text(&sheet).into_bytes(),
        SheetFormat::Pdf => report::pdf(&sheet)?,
    });
    Ok(DONE)
}

//! Which car an answers file is for, where the command line names none: by its id, or by a number, which makes the car
//! where no car has it.

use chrono::NaiveDate;

use crate::diagnostic::Diagnostic;
use crate::model::entry::{Entry, Moment};
use crate::shell::identity::{self, same_number};
use crate::shell::load::rendered;
use crate::shell::workspace::DiskWorkspace;
use crate::source::Word;
use crate::walk::{PaperAnswers, Workspace};

use super::run::Context;

/// The car of an answers file.
pub(super) struct PaperCar {
    /// What opens it.
    pub open: String,
    /// Whether it was made for this file.
    pub made: bool,
}

/// Finds the car, or makes it.
///
/// # Errors
/// That the file names no car, two have its number, or the one that has it was not walked on the file's day.
pub(super) fn find(
    context: &Context,
    workspace: &mut DiskWorkspace,
    paper: &PaperAnswers,
    named: Option<&String>,
) -> Result<PaperCar, String> {
    if let Some(named) = named {
        return Ok(PaperCar { open: context.car(named)?, made: false });
    }
    match (&paper.car, &paper.number) {
        (Some(car), _) => Ok(PaperCar { open: context.car(&car.text)?, made: false }),
        (None, Some(number)) => by_number(context, workspace, paper, number),
        (None, None) => {
            Err("this file names no car: write `linewalk walk CAR --answers FILE`, or car = \"ID\" or \
                             number = \"62\" at the top of the file"
                .to_owned())
        }
    }
}

fn by_number(
    context: &Context,
    workspace: &mut DiskWorkspace,
    paper: &PaperAnswers,
    number: &Word,
) -> Result<PaperCar, String> {
    let known = identity::numbers(&context.paths)?;
    let ids: Vec<&String> =
        known.iter().filter(|(_, known)| same_number(known, &number.text)).map(|(id, _)| id).collect();
    match ids.as_slice() {
        [] => Ok(PaperCar { open: workspace.create(&number.text, &[], &[])?, made: true }),
        [id] if goes_on(workspace, id, paper)? => Ok(PaperCar { open: (*id).clone(), made: false }),
        ids => Err(refused(number, ids, paper.date)),
    }
}

/// Whether the walk that a car has is that of the file: begun on its day, or from this very file.
fn goes_on(workspace: &DiskWorkspace, id: &str, paper: &PaperAnswers) -> Result<bool, String> {
    let (history, _) = workspace.history(id)?;
    let of_day = |at: Moment| paper.date.is_some_and(|date| at.date_naive() == date);
    Ok(history.all().iter().any(|kept| match &kept.entry {
        Entry::WalkStarted(started) => {
            started.answers_sha256.as_ref() == Some(&paper.sha256) || of_day(kept.at)
        }
        Entry::Finding(_) => of_day(kept.seen_at()),
        _ => false,
    }))
}

fn refused(number: &Word, ids: &[&String], date: Option<NaiveDate>) -> String {
    let named: Vec<String> = ids.iter().map(|id| format!("car = \"{id}\"")).collect();
    let why = match (ids, date) {
        ([_], Some(date)) => {
            format!("a car has the number {} already, and was not walked on {date}", number.text)
        }
        ([_], None) => format!("a car has the number {} already, and this file has no date", number.text),
        _ => format!("{} cars have the number {}", ids.len(), number.text),
    };
    let help = format!("write {} in place of the number, if that is the car", named.join(" or "));
    rendered(&[Diagnostic::error(&number.at, why, help)])
}

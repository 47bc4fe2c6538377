//! `linewalk schema`: the file formats for editors.

use crate::model::car_schema;

use super::args::SchemaOf;
use super::output::put;
use super::run::{DONE, Outcome};

pub(super) fn run(what: SchemaOf) -> Outcome {
    let schema = match what {
        SchemaOf::Car => car_schema(),
        SchemaOf::Rules => crate::rules::schema(),
    };
    let text = serde_json::to_string_pretty(&schema).map_err(|error| error.to_string())?;
    put(&format!("{text}\n"));
    Ok(DONE)
}

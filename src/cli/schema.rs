//! `linewalk schema`: the file formats for editors.

use crate::model::Car;
use crate::rules::read_document;
use crate::source::{Reader, schema};

use super::args::SchemaOf;
use super::output::put;
use super::run::{DONE, Outcome};

pub(super) fn run(what: SchemaOf) -> Outcome {
    let schema = match what {
        SchemaOf::Car => schema("linewalk car file", &Reader::shape(Car::read)),
        SchemaOf::Rules => schema("linewalk rule file", &Reader::shape(read_document)),
    };
    let text = serde_json::to_string_pretty(&schema).map_err(|error| error.to_string())?;
    put(&format!("{text}\n"));
    Ok(DONE)
}

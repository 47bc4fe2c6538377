//! Another number or name for a car, in the file in use: only that value changes, every other byte stays.

use crate::diagnostic::SourceFile;
use crate::logbook::hash::Hex;
use crate::model::entry::{Entry, Kept};
use crate::model::history::History;
use crate::model::read_car;
use crate::source::{self, Overrides};
use crate::walk::Journal;

use super::identity;
use super::load;
use super::paths::{write_inside, write_whole};
use super::workspace::DiskWorkspace;

impl DiskWorkspace {
    /// Changes the number or the name of a car in its file.
    ///
    /// # Errors
    /// What stands in the way; then nothing was changed.
    pub fn rename(
        &mut self,
        id: &str,
        number: Option<&str>,
        name: Option<&str>,
    ) -> Result<Vec<String>, String> {
        let found = load::find_car(&self.paths, id, &Overrides::new())?;
        let before = found.read.car.number.clone();
        if let Some(number) = number {
            let others = identity::numbers(&self.paths)?.into_iter();
            let taken = others
                .filter(|(other, known)| other != id && identity::same_number(known, number))
                .map(|(id, _)| id)
                .next();
            if let Some(other) = taken {
                return Err(format!("car {other} has the number {number} already: give another number"));
            }
        }
        let mut text = found.file.text.to_string();
        for (key, value) in [("number", number), ("name", name)] {
            if let Some(value) = value {
                text = with_value(&text, key, value)?;
            }
        }
        let read = read_car(&SourceFile::new(found.file.name.clone(), text.clone()), &Overrides::new());
        if crate::diagnostic::any_error(&read.diagnostics) {
            return Err(load::rendered(&read.diagnostics));
        }
        let mut done = self.open_log(id)?;
        self.keep_edition(id, &found.file.text)?;
        match &found.elsewhere {
            Some(path) => write_whole(path, text.as_bytes())?,
            None => {
                write_inside(&self.paths.data, &self.paths.car(id).join("car.toml"), text.as_bytes())?;
            }
        }
        let by = self.choices.by.clone();
        if let Some(number) = number {
            self.write_down(Entry::Renumbered { number: number.to_owned(), before: before.clone(), by })?;
            done.push(format!(
                "car {id} has the number {number} from now on, {before} before; its record goes on"
            ));
        }
        if let Some(name) = name {
            done.push(format!("car {id} is called {name} from now on; its record goes on"));
        }
        self.settle()?;
        Ok(done)
    }

    /// Keeps a file that another one takes the place of among the car's editions.
    pub(super) fn keep_edition(&self, id: &str, text: &str) -> Result<(), String> {
        let sha = Hex::of(text.as_bytes());
        let name = format!("{}.toml", sha.text().get(..8).unwrap_or_default());
        write_inside(&self.paths.data, &self.paths.car(id).join("editions").join(name), text.as_bytes())
    }
}

/// The text of a car file with another value for a key of the table of the car.
fn with_value(text: &str, key: &str, value: &str) -> Result<String, String> {
    let file = SourceFile::new("car.toml", text);
    let (root, _) = source::parse(&file);
    let car = root.value.as_table().and_then(|root| root.get("car")).and_then(|car| car.value.as_table());
    let quoted = toml::Value::String(value.to_owned()).to_string();
    let unchanged =
        || "the car file is written in a way that this cannot change: change it by hand".to_owned();
    let car = car.ok_or_else(unchanged)?;
    let place = |key: &str| car.get(key).map(|node| node.at.range.clone());
    let (range, new) = match (place(key), place("number")) {
        (Some(range), _) => (range, quoted),
        // Behind the number, on a line of its own.
        (None, Some(number)) => {
            let end = text
                .get(number.end..)
                .and_then(|rest| rest.find('\n'))
                .map_or(text.len(), |at| number.end + at);
            (end..end, format!("\n{key} = {quoted}"))
        }
        (None, None) => return Err(unchanged()),
    };
    let parts = text.get(..range.start).zip(text.get(range.end..));
    let (head, tail) = parts.ok_or_else(unchanged)?;
    Ok(format!("{head}{new}{tail}"))
}

/// Two cars with one id, as where a file was copied, share one record: nobody would see it but by the number.
pub(super) fn other_number(history: &History, number: &str) -> Option<String> {
    let walks = history.walks();
    let last = walks.last()?;
    let before = last.started.number.clone().filter(|before| !identity::same_number(before, number))?;
    // A person gave the car another number since.
    let renumbered =
        |kept: &Kept| matches!(&kept.entry, Entry::Renumbered { before: old, .. } if *old == before);
    if history.standing_entries().any(|kept| kept.at >= last.at && renumbered(kept)) {
        return None;
    }
    Some(format!(
        "The last walk kept under this car's id was of car {before}, and its file says {number}: if these are two cars, \
         give one of the files an id of its own."
    ))
}

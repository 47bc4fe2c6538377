//! The code by which a sheet names a check and its item, put back into the two.

use std::sync::Arc;

use crate::model::letters::Letters;

use super::action::{Objection, Wants};
use super::paper::{PaperAnswers, Play};
use super::reply::Reply;

impl Play<'_> {
    /// Puts the check and the item in the place of the code that the sheet names them by.
    pub(super) fn by_code(&self, paper: &PaperAnswers, reply: &mut Reply) -> Result<(), Objection> {
        let rules = Arc::clone(&self.walk.start.rules);
        let (plain, letter) = match reply.check.split_once('-') {
            Some((plain, letter)) => (plain, Some(letter.to_lowercase())),
            None => (reply.check.as_str(), None),
        };
        let Some(check) = rules.by_code(plain).filter(|_| rules.check(&reply.check).is_none()) else {
            return Ok(());
        };
        let evaluator = self.walk.evaluator();
        let lettered = self.letters.of_check(&check.id, &evaluator.items(check));
        let code = check.code.as_deref().unwrap_or(plain);
        match (letter, &reply.of) {
            (Some(letter), of) => {
                if lettered.is_empty() {
                    return wrong(format!(
                        "{code} is about one part or the whole car, and has no letters: write {code}"
                    ));
                }
                let Some((item, _)) = lettered.iter().find(|(_, known)| *known == letter) else {
                    return wrong(format!("{code} has no item {letter}: {}", named(code, &lettered)));
                };
                if let Some(of) = of.as_ref().filter(|of| *of != item) {
                    return wrong(format!("{code}-{letter} is {item}, and this says of = \"{of}\""));
                }
                if self.is_other_edition(paper) && !self.was_lettered(paper, &check.id, item) {
                    return wrong(format!(
                        "this sheet was printed from another edition of the car file: {code}-{letter} is {item} now, and may \
                         have been another part then. Name the part: of = \"…\""
                    ));
                }
                reply.of = Some(item.clone());
            }
            (None, None) if lettered.len() > 1 => {
                return wrong(format!(
                    "{code} has several items, and this names none: {}",
                    named(code, &lettered)
                ));
            }
            _ => {}
        }
        reply.check.clone_from(&check.id);
        Ok(())
    }

    /// Whether the sheet was printed from another edition of the car file than this.
    fn is_other_edition(&self, paper: &PaperAnswers) -> bool {
        let now = self.walk.start.car_file.sha256();
        paper.edition.as_deref().is_some_and(|edition| !now.starts_with(edition))
    }

    /// Whether an item had its letter when the sheet's own edition was walked. A letter given later, or before any walk of
    /// that edition, may have stood for another part on the sheet.
    fn was_lettered(&self, paper: &PaperAnswers, check: &str, item: &str) -> bool {
        let edition = paper.edition.as_deref().unwrap_or_default();
        Letters::of_edition(&self.walk.history, edition).is_some_and(|then| then.has(check, item))
    }
}

fn wrong(message: String) -> Result<(), Objection> {
    Err(Objection::new(Wants::Nothing, message))
}

/// "TL12-a is b1, TL12-b is b2".
fn named(code: &str, lettered: &[(String, String)]) -> String {
    let names: Vec<String> =
        lettered.iter().map(|(item, letter)| format!("{code}-{letter} is {item}")).collect();
    names.join(", ")
}

//! What an answer says of itself.

use super::entry::{Finding, JudgedBy, RowTyped};

impl Finding {
    /// Whether a number made it, and nobody answered.
    pub fn is_computed(&self) -> bool {
        self.judged_by == JudgedBy::Program
    }

    /// Whether it was accepted as one of a range of rows, or of the rest, of a paper sheet.
    pub fn is_of_rest(&self) -> bool {
        self.sheet.as_ref().is_some_and(|row| row.rest)
    }

    /// Whether a value, a number or a judgement by eye stands beside the answer.
    pub fn has_value(&self) -> bool {
        self.by_eye || self.value.is_some() || !self.rows.is_empty()
    }

    /// What was typed for a row of a check; `only` where the check has no other.
    pub fn row(&self, id: &str, only: bool) -> Option<&RowTyped> {
        self.rows.iter().find(|row| row.id == id || (only && row.id.is_empty()))
    }

    /// The text of a record of format 1 that may be what was typed or what a number showed: that format did not say.
    pub fn typed_or_number(&self) -> Option<&str> {
        let value = self.value.as_deref()?;
        self.rows.first().filter(|row| self.rows.len() == 1 && row.text == value).map(|row| row.text.as_str())
    }

    /// What stands beside the answer, in words for a reader. Nothing is ever read out of them.
    pub fn value_words(&self) -> Option<String> {
        if self.by_eye {
            return Some("by eye".to_owned());
        }
        let several = self.rows.len() > 1;
        let typed = self.rows.iter().map(|row| match several {
            true => format!("{} = {}", row.id, row.text),
            false => row.text.clone(),
        });
        let value = self.value.clone().filter(|_| self.typed_or_number().is_none());
        let words: Vec<String> = typed.chain(value).collect();
        let alone = if self.limit_unknown { " (no limit known: decided by the person)" } else { "" };
        (!words.is_empty()).then(|| format!("{}{alone}", words.join("; ")))
    }
}

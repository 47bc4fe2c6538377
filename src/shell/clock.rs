//! The time, as this machine has it.

use chrono::{Local, NaiveDate};

use crate::model::entry::Moment;

/// Now, with the machine's own offset.
pub fn now() -> Moment {
    Local::now().fixed_offset()
}

/// Today.
pub fn today() -> NaiveDate {
    Local::now().date_naive()
}

/// A new record id: time-ordered, as RFC 9562 has it.
pub fn new_id() -> String {
    uuid::Uuid::now_v7().to_string()
}

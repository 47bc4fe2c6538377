//! A calendar span: days, or months with the day clamped to the month's end.

use chrono::{Days, Months, NaiveDate};

/// A span on the calendar, such as a service interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Span {
    /// So many days.
    Days(u32),
    /// So many months; a year is twelve.
    Months(u32),
}

impl Span {
    /// The date this span after `start`; 31 January plus one month is the last day of February.
    /// `None` past the end of the calendar.
    pub fn after(self, start: NaiveDate) -> Option<NaiveDate> {
        match self {
            Self::Days(days) => start.checked_add_days(Days::new(u64::from(days))),
            Self::Months(months) => start.checked_add_months(Months::new(months)),
        }
    }
}

impl std::fmt::Display for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (count, word) = match *self {
            Self::Days(days) => (days, "day"),
            Self::Months(months) if months > 0 && months % 12 == 0 => (months / 12, "year"),
            Self::Months(months) => (months, "month"),
        };
        write!(f, "{count} {word}{}", if count == 1 { "" } else { "s" })
    }
}

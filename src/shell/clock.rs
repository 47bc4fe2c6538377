//! The time, as this machine has it.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use chrono::{DateTime, Local, NaiveDate, Utc};
use uuid::{NoContext, Timestamp, Uuid};

use crate::model::entry::Moment;

/// The first second of the year 10,000: no record could be read again that says it.
const END: u64 = 253_402_300_800;

/// A day at either end, so that no offset of local time leads out.
const DAY: u64 = 86_400;

/// Whether this machine's clock can be written into a record.
///
/// # Errors
/// That it cannot, and what to do.
pub fn usable() -> Result<(), String> {
    is_usable(SystemTime::now())
}

fn is_usable(clock: SystemTime) -> Result<(), String> {
    match clock.duration_since(UNIX_EPOCH) {
        Err(_) => {
            Err("this machine's clock stands before the year 1970: set it, and nothing is lost".to_owned())
        }
        Ok(since) if since.as_secs() >= END - DAY => {
            Err("this machine's clock stands after the year 9999: set it, and nothing is lost".to_owned())
        }
        Ok(_) => Ok(()),
    }
}

/// The clock, held within the years that can be written: [`usable`] says when it is not.
fn since_1970(clock: SystemTime) -> Duration {
    let since = clock.duration_since(UNIX_EPOCH).unwrap_or_default();
    since.clamp(Duration::from_secs(DAY), Duration::from_secs(END - DAY))
}

/// Now, with the machine's own offset.
pub fn now() -> Moment {
    let clock: DateTime<Utc> = (UNIX_EPOCH + since_1970(SystemTime::now())).into();
    clock.with_timezone(&Local).fixed_offset()
}

/// Today.
pub fn today() -> NaiveDate {
    now().date_naive()
}

/// A new record id: time-ordered, as RFC 9562 has it.
pub fn new_id() -> String {
    fresh().to_string()
}

/// A name that nobody can foresee and nothing else has.
pub fn fresh() -> Uuid {
    fresh_at(SystemTime::now())
}

fn fresh_at(clock: SystemTime) -> Uuid {
    if is_usable(clock).is_ok() {
        // Those of one program are in the order they were made.
        return Uuid::now_v7();
    }
    let since = since_1970(clock);
    Uuid::new_v7(Timestamp::from_unix(NoContext, since.as_secs(), since.subsec_nanos()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seconds of 1970-01-01 and of 10000-01-01 as `date -u -d DATE +%s` gives them.
    #[test]
    fn a_clock_outside_the_years_that_can_be_written_is_told_in_words() {
        let at = |seconds: u64| UNIX_EPOCH + Duration::from_secs(seconds);
        let before = UNIX_EPOCH - Duration::from_secs(1);
        assert!(is_usable(before).unwrap_err().contains("before the year 1970"));
        assert!(is_usable(at(253_402_300_800)).unwrap_err().contains("after the year 9999"));
        assert_eq!(is_usable(at(1_795_000_000)), Ok(()));
        for clock in [before, at(253_402_300_800), at(400_000_000_000)] {
            assert_eq!(fresh_at(clock).get_version_num(), 7);
            assert_eq!(UNIX_EPOCH + since_1970(clock), at(since_1970(clock).as_secs()));
        }
    }
}

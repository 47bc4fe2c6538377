//! The repeat guard: one press is one answer, whatever a bouncing or a held key sends. It knows only keys and the times
//! at which they arrived, by a clock that never jumps.

use std::time::Duration;

use super::key::Key;

/// The guard as it comes; the settings may say another.
pub const USUAL: Duration = Duration::from_millis(300);

/// The longest guard that the settings may say.
const LONGEST: Duration = Duration::from_secs(1);

/// Arrivals of one key at most this far apart are those of a key held down.
const HELD: Duration = Duration::from_millis(100);

/// So many of them.
const HELD_COUNT: u32 = 3;

/// What an arrival is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrival {
    /// A press of its own.
    Press,
    /// The same key again, too soon to be meant.
    Repeat,
    /// The arrival that shows that the key is held down.
    Held,
}

/// When each key that answers arrived last, and what the run of quick arrivals at hand has written.
#[derive(Debug)]
pub struct RepeatGuard {
    within: Duration,
    last: Vec<(Key, Duration)>,
    run: Option<(Key, u32)>,
    wrote: Vec<String>,
}

impl RepeatGuard {
    /// A guard of some length; none at all where it is zero.
    pub fn new(within: Duration) -> Self {
        Self { within: within.min(LONGEST), last: Vec::new(), run: None, wrote: Vec::new() }
    }

    /// How long it is.
    pub fn within(&self) -> Duration {
        self.within
    }

    /// Whether a key arrived so lately that another arrival of it can be a repeat, wherever it is pressed.
    pub fn is_fresh(&self, key: Key, at: Duration) -> bool {
        let last = self.last.iter().find(|(known, _)| *known == key);
        last.is_some_and(|(_, last)| at.saturating_sub(*last) < self.within.max(HELD))
    }

    /// Takes in an arrival. The time between two counts whether or not the first was taken.
    pub fn arrives(&mut self, key: Key, at: Duration) -> Arrival {
        if self.within.is_zero() {
            return Arrival::Press;
        }
        let before = self.last.iter().find(|(known, _)| *known == key).map(|(_, last)| *last);
        self.last.retain(|(known, _)| *known != key);
        self.last.push((key, at));
        let gap = before.map(|before| at.saturating_sub(before));
        let count = match self.run {
            Some((known, count)) if known == key && gap.is_some_and(|gap| gap <= HELD) => count + 1,
            _ => {
                self.wrote.clear();
                1
            }
        };
        self.run = Some((key, count));
        match gap {
            _ if count == HELD_COUNT => Arrival::Held,
            _ if count > HELD_COUNT => Arrival::Repeat,
            Some(gap) if gap < self.within => Arrival::Repeat,
            _ => Arrival::Press,
        }
    }

    /// Remembers records that the arrival at hand wrote.
    pub fn wrote(&mut self, records: Vec<String>) {
        self.wrote.extend(records);
    }

    /// What the run of quick arrivals has written, for once.
    pub fn take_written(&mut self) -> Vec<String> {
        std::mem::take(&mut self.wrote)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arrivals(within: u64, times: &[u64]) -> Vec<Arrival> {
        let mut guard = RepeatGuard::new(Duration::from_millis(within));
        times.iter().map(|at| guard.arrives(Key::Char('a'), Duration::from_millis(*at))).collect()
    }

    #[test]
    fn a_bounce_is_a_repeat_and_the_next_press_is_not() {
        use Arrival::{Press, Repeat};
        assert_eq!(arrivals(300, &[0, 20, 700]), [Press, Repeat, Press]);
        assert_eq!(arrivals(300, &[0, 299]), [Press, Repeat]);
        assert_eq!(arrivals(300, &[0, 300]), [Press, Press]);
        assert_eq!(arrivals(0, &[0, 1, 2, 3]), [Press; 4]);
    }

    /// An ignored arrival counts: a key that comes every 200 ms is taken once.
    #[test]
    fn the_time_counts_from_the_last_arrival_taken_or_not() {
        use Arrival::{Press, Repeat};
        assert_eq!(arrivals(300, &[0, 200, 400, 600]), [Press, Repeat, Repeat, Repeat]);
    }

    /// A keyboard repeats a held key after half a second or so, every 40 ms.
    #[test]
    fn three_within_a_tenth_of_a_second_each_are_a_held_key() {
        use Arrival::{Held, Press, Repeat};
        assert_eq!(arrivals(300, &[0, 600, 640, 680, 720]), [Press, Press, Repeat, Held, Repeat]);
        assert_eq!(arrivals(50, &[0, 600, 680, 760]), [Press, Press, Press, Held]);
    }

    #[test]
    fn only_the_same_key_is_guarded() {
        let mut guard = RepeatGuard::new(USUAL);
        let at = Duration::from_millis;
        assert_eq!(guard.arrives(Key::Char('a'), at(0)), Arrival::Press);
        assert_eq!(guard.arrives(Key::Char('r'), at(100)), Arrival::Press);
        assert_eq!(guard.arrives(Key::Char('a'), at(200)), Arrival::Repeat);
    }
}

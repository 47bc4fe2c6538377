//! Groups of the list of cars by state.

use crate::model::entry::{Outcome, Severity};
use crate::rules::{CarState, NOT_REACHED, PART_ANSWERED, outcome_sign, severity_sign};
use crate::walk::CarLine;

/// How a car of the list stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CarGroup {
    /// A stop is open.
    Stopped,
    /// A stop could not be seen or decided.
    LookAgain,
    /// Not walked to its end.
    NotDone,
    /// No stop is open.
    NoOpenStop,
    /// Not read, or its numbers are being worked out.
    NotKnown,
}

impl CarGroup {
    /// All of them, in the order that matters.
    pub const ALL: [Self; 5] =
        [Self::Stopped, Self::LookAgain, Self::NotDone, Self::NoOpenStop, Self::NotKnown];

    /// How a car stands.
    pub fn of(car: &CarLine) -> Self {
        let unread = car.trouble.is_some() && car.last.is_none();
        match car.state {
            _ if unread => Self::NotKnown,
            Some(CarState::Stopped) => Self::Stopped,
            Some(CarState::LookAgain) => Self::LookAgain,
            Some(CarState::NotDone) => Self::NotDone,
            Some(CarState::NoOpenStop | CarState::NoOpenItem) => Self::NoOpenStop,
            None if car.open_items.first().is_some_and(|stops| *stops > 0) => Self::Stopped,
            None => Self::NotKnown,
        }
    }

    /// Its words on the line of totals.
    pub fn word(self) -> &'static str {
        match self {
            Self::Stopped => CarState::Stopped.word(),
            Self::LookAgain => CarState::LookAgain.word(),
            Self::NotDone => CarState::NotDone.word(),
            Self::NoOpenStop => CarState::NoOpenStop.word(),
            Self::NotKnown => "NOT KNOWN",
        }
    }

    /// Its sign in the list.
    pub fn sign(self) -> char {
        match self {
            Self::Stopped => severity_sign(Severity::Stop),
            Self::LookAgain => outcome_sign(Outcome::NotSeen),
            Self::NotDone => PART_ANSWERED,
            // No state wears the sign of an accepted check.
            Self::NoOpenStop => ' ',
            Self::NotKnown => NOT_REACHED,
        }
    }

    /// The next one that the list is narrowed to, and after the last all.
    pub fn after(only: Option<Self>) -> Option<Self> {
        match only {
            None => Self::ALL.first().copied(),
            Some(now) => Self::ALL.iter().copied().skip_while(|one| *one != now).nth(1),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::state::CarsPage;

    /// Cars 1 to 120, every fourth one in each state, and one that is named by letters.
    fn cars() -> CarsPage {
        let states = [
            Some(CarState::Stopped),
            Some(CarState::LookAgain),
            Some(CarState::NotDone),
            Some(CarState::NoOpenStop),
        ];
        let line = |number: String, state| CarLine {
            open: number.clone(),
            id: number.clone(),
            number,
            name: None,
            keeper: None,
            open_items: [0; 3],
            being_worked: false,
            state,
            last: None,
            walking: None,
            trouble: None,
            put_away: false,
        };
        let mut cars: Vec<CarLine> =
            (1..=120).rev().map(|number: usize| line(number.to_string(), states[number % 4])).collect();
        cars.push(line("7B".to_owned(), None));
        CarsPage { cars, ..CarsPage::default() }
    }

    fn numbers(page: &CarsPage) -> Vec<String> {
        page.fitting().into_iter().map(|car| car.number.clone()).collect()
    }

    #[test]
    fn numbers_stand_by_their_value_and_the_exact_one_first() {
        let mut page = cars();
        assert_eq!(numbers(&page)[..3], ["1", "2", "3"]);
        assert_eq!(numbers(&page).last().map(String::as_str), Some("7B"));
        page.filter = "7".into();
        assert_eq!(numbers(&page)[..4], ["7", "70", "71", "72"]);
        assert!(numbers(&page).ends_with(&["107".to_owned(), "117".to_owned()]), "{:?}", numbers(&page));
        // Any car is the first row after its number, which is three digits at most.
        for number in 1..=120_usize {
            page.filter = number.to_string().into();
            assert_eq!(numbers(&page)[0], number.to_string());
        }
    }

    #[test]
    fn groups_add_up_and_each_is_listed_by_itself() {
        let mut page = cars();
        let counts = page.counts();
        assert_eq!(counts.iter().map(|(_, count)| count).sum::<usize>(), 121);
        let mut seen = 0;
        loop {
            page.only = CarGroup::after(page.only);
            let Some(only) = page.only else { break };
            let listed = page.fitting().len();
            assert_eq!(Some(listed), counts.iter().find(|(one, _)| *one == only).map(|(_, count)| *count));
            assert!(page.fitting().into_iter().all(|car| CarGroup::of(car) == only));
            seen += listed;
        }
        assert_eq!(seen, 121);
    }
}

//! Which key does what on this machine: the list of bindings, laid out for a hand, with the person's own keys over it.

use crate::diagnostic::{Diagnostic, near_or};
use crate::source::Word;

use super::key::Key;
use super::keymap::{BINDINGS, Binding, Place, UiAction, at};

/// The hand that presses the keys; the other one holds a lamp or a mirror.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hand {
    /// Answers lie under the left hand, and Space goes on.
    #[default]
    Left,
    /// Answers lie under the right hand.
    Right,
}

impl Hand {
    /// The words of the settings.
    pub const WORDS: &'static [(&'static str, Self)] = &[("left", Self::Left), ("right", Self::Right)];

    /// The hand a word names.
    pub fn named(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(name, _)| *name == word).map(|(_, hand)| *hand)
    }
}

/// Letters that change places for the right hand. Because they change in pairs, no two actions can come to clash.
const PAIRS: &[(char, char)] = &[
    ('a', 'k'),
    ('r', 'l'),
    ('e', 'i'),
    ('g', 'j'),
    ('s', 'o'),
    ('f', 'u'),
    ('t', 'y'),
    ('d', 'h'),
    ('w', 'p'),
    ('v', 'm'),
    ('c', 'n'),
];

/// A key that the person gives an action in the settings: the name of the action, the words of its keys.
type Own = (Word, Vec<Word>);

/// Which key does what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keymap {
    hand: Hand,
    /// Keys of each binding, in the order of [`BINDINGS`].
    keys: Vec<Vec<Key>>,
}

impl Default for Keymap {
    fn default() -> Self {
        Self::of(Hand::default())
    }
}

impl Keymap {
    /// The keys as they come, for a hand.
    pub fn of(hand: Hand) -> Self {
        let turned = |key: &Key| match hand {
            Hand::Left => *key,
            Hand::Right => mirrored(*key),
        };
        Self { hand, keys: BINDINGS.iter().map(|one| one.keys.iter().map(turned).collect()).collect() }
    }

    /// The same with the person's own keys over it.
    ///
    /// # Errors
    /// Every name that is no action, every word that is no key, and every key that would mean two things.
    pub fn with_own(mut self, own: &[Own]) -> Result<Self, Vec<Diagnostic>> {
        let mut diagnostics = Vec::new();
        let mut given = Vec::new();
        for one in own {
            let (action, words) = one;
            let Some(index) = BINDINGS.iter().position(|binding| binding.name == action.text) else {
                diagnostics.push(no_action(action));
                continue;
            };
            let mut keys = Vec::new();
            for word in words {
                match own_key(&word.text, index) {
                    Ok(key) => keys.push(key),
                    Err((message, help)) => diagnostics.push(Diagnostic::error(&word.at, message, help)),
                }
            }
            if words.is_empty() {
                diagnostics.push(Diagnostic::error(
                    &action.at,
                    "no key is given",
                    "write a key: accept = \"k\"",
                ));
            }
            if let (Some(slot), false) = (self.keys.get_mut(index), keys.is_empty()) {
                *slot = keys;
                given.push((index, one));
            }
        }
        for (index, one) in &given {
            diagnostics.extend(self.clash(*index, one));
        }
        if diagnostics.is_empty() { Ok(self) } else { Err(diagnostics) }
    }

    /// The first action that has a key of this one at a place where both work.
    fn clash(&self, index: usize, (action, words): &Own) -> Option<Diagnostic> {
        let (mine, keys) = (BINDINGS.get(index)?, self.keys.get(index)?);
        for (other_index, other) in BINDINGS.iter().enumerate().filter(|(other, _)| *other != index) {
            let place = mine.places.iter().find(|place| other.places.contains(place));
            let taken = self.keys.get(other_index)?;
            let key = keys.iter().find(|key| taken.contains(key));
            if let (Some(place), Some(key)) = (place, key) {
                let at = words.iter().find(|word| Key::named(&word.text) == Some(*key));
                let message = format!(
                    "{} is the key of {} too, on the screen {}",
                    key.word(),
                    other.name,
                    place.title()
                );
                let help = format!("choose another, or give {} one under [keys] as well", other.name);
                return Some(Diagnostic::error(&at.unwrap_or(action).at, message, help));
            }
        }
        None
    }

    /// Keys of an action, as far as it has one place.
    pub fn keys(&self, binding: &Binding) -> &[Key] {
        let index = BINDINGS.iter().position(|known| known.name == binding.name);
        index.and_then(|index| self.keys.get(index)).map_or(&[], Vec::as_slice)
    }

    /// The word of the first key of a binding.
    pub fn shown(&self, binding: &Binding) -> String {
        self.keys(binding).first().map_or_else(String::new, |key| key.word())
    }

    /// The word of the first key of an action.
    pub fn word(&self, action: UiAction) -> String {
        BINDINGS
            .iter()
            .find(|known| known.action == action)
            .map_or_else(String::new, |known| self.shown(known))
    }

    /// The action of a key at a place.
    pub fn action_at(&self, place: Place, key: Key) -> Option<UiAction> {
        let bound = at(place).find(|binding| self.keys(binding).contains(&key)).map(|binding| binding.action);
        bound.or_else(|| self.space(place, key))
    }

    /// Whether a letter is a key that answers a check.
    pub fn answers(&self, c: char) -> bool {
        let answer = [
            UiAction::Accept,
            UiAction::Reject,
            UiAction::ByEye,
            UiAction::AcceptStation,
            UiAction::NotSeen,
            UiAction::NotFitted,
            UiAction::NotYet,
            UiAction::Repaired,
            UiAction::SameAsLast,
        ];
        let action = self.action_at(Place::Walk, Key::Char(c.to_ascii_lowercase()));
        action.is_some_and(|action| answer.contains(&action))
    }

    /// For the left hand Space goes on, where it is no text: what the screen offers, else the next check or station.
    fn space(&self, place: Place, key: Key) -> Option<UiAction> {
        if self.hand != Hand::Left || key != Key::Char(' ') || place.takes_text() {
            return None;
        }
        let wanted = [UiAction::Go, UiAction::NextCheck, UiAction::NextPlace, UiAction::Later];
        wanted.into_iter().find(|action| at(place).any(|binding| binding.action == *action))
    }

    /// What Space does at a place, where it does something.
    pub fn space_at(&self, place: Place) -> Option<&'static Binding> {
        let action = self.space(place, Key::Char(' '))?;
        at(place).find(|binding| binding.action == action)
    }
}

fn mirrored(key: Key) -> Key {
    let Key::Char(c) = key else { return key };
    let other = PAIRS.iter().find_map(|(left, right)| match c {
        c if c == *left => Some(*right),
        c if c == *right => Some(*left),
        _ => None,
    });
    Key::Char(other.unwrap_or(c))
}

fn no_action(action: &Word) -> Diagnostic {
    let help = near_or(&action.text, BINDINGS.iter().map(|binding| binding.name), || {
        "names of actions are in the key table of the README".to_owned()
    });
    Diagnostic::error(&action.at, format!("there is no action {}", action.text), help)
}

/// A key for a binding, or why it cannot be one and what can.
fn own_key(word: &str, index: usize) -> Result<Key, (String, String)> {
    let Some(key) = Key::named(word) else {
        let named: Vec<String> = Key::NAMED.iter().map(|key| key.word()).collect();
        let help = format!("write one letter or sign, F1 to F12, or one of {}", named.join(", "));
        return Err((format!("{word} is no key"), help));
    };
    let Key::Char(c) = key else { return Ok(key) };
    if c.is_ascii_digit() {
        return Err((format!("{c} cannot be a key: digits begin a value"), "choose a letter".to_owned()));
    }
    let places = BINDINGS.get(index).map_or(&[][..], |binding| binding.places);
    match places.iter().find(|place| place.takes_text()) {
        Some(place) => {
            let message = format!("{} would be taken as text on the screen {}", key.word(), place.title());
            Err((message, "choose Enter, Tab, an arrow or F1 to F12".to_owned()))
        }
        None => Ok(key),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_means_two_things_for_either_hand() {
        for (_, hand) in Hand::WORDS {
            let keymap = Keymap::of(*hand);
            for (place, title) in Place::ALL {
                let keys: Vec<Key> = at(*place).flat_map(|binding| keymap.keys(binding).to_vec()).collect();
                for (i, key) in keys.iter().enumerate() {
                    assert!(!keys[..i].contains(key), "{title}: {} twice", key.word());
                }
            }
        }
    }

    #[test]
    fn every_key_is_found_again_by_its_word() {
        for binding in BINDINGS {
            for key in binding.keys {
                assert_eq!(Key::named(&key.word()), Some(*key));
            }
        }
    }

    /// On a common keyboard the letters left of the line between t and y, g and h, b and n.
    #[test]
    fn the_answers_lie_under_the_hand() {
        let left = "qwertasdfgzxcvb";
        let answers = [
            UiAction::Accept,
            UiAction::Reject,
            UiAction::ByEye,
            UiAction::AcceptStation,
            UiAction::NotSeen,
            UiAction::NotFitted,
            UiAction::NotYet,
            UiAction::Repaired,
            UiAction::Withdraw,
            UiAction::TypeValue,
        ];
        for action in answers {
            assert!(left.contains(&Keymap::of(Hand::Left).word(action)), "{action:?}");
            assert!(!left.contains(&Keymap::of(Hand::Right).word(action)), "{action:?}");
        }
    }
}

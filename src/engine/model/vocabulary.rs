//! Words that car files and rule files are compared by: fuels, disciplines, what a car has or lacks, instruments.
//!
//! They compare without capitals, and blanks, underscores and hyphens are one. Several spellings of one thing are folded
//! first. A word that nothing knows is no answer: whatever is asked of it is not known, so that the check is asked.

use std::collections::BTreeSet;

/// A word with every spelling that means the same: small letters, hyphens between its parts.
pub fn folded(word: &str) -> String {
    let parts = word.split(|c: char| c.is_whitespace() || matches!(c, '_' | '-' | '\u{2010}' | '\u{2013}'));
    parts.filter(|part| !part.is_empty()).map(str::to_lowercase).collect::<Vec<_>>().join("-")
}

/// What a word is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Vocabulary {
    /// What the car burns.
    Fuel,
    /// What the car has or lacks.
    Equipment,
    /// What it is run in.
    Discipline,
    /// What it is entered as: only rule files know classes.
    Class,
}

/// Fuels known here.
const FUELS: &[&str] = &[
    "gasoline",
    "methanol",
    "ethanol",
    "nitromethane",
    "diesel",
    "kerosene",
    "propane",
    "natural-gas",
    "hydrogen",
    "electric",
];

/// Disciplines known here; the shipped rules are for the first six.
const DISCIPLINES: &[&str] = &[
    "circuit",
    "hill-climb",
    "land-speed",
    "off-road",
    "straight-line",
    "oval",
    "rally",
    "autocross",
    "drifting",
];

/// Other names of what is known here. One that may be either of two means both, so that neither check is left out.
const SYNONYMS: &[(Vocabulary, &str, &[&str])] = &[
    (Vocabulary::Fuel, "petrol", &["gasoline"]),
    (Vocabulary::Fuel, "race-gas", &["gasoline"]),
    (Vocabulary::Fuel, "race-gasoline", &["gasoline"]),
    (Vocabulary::Fuel, "racing-gasoline", &["gasoline"]),
    (Vocabulary::Fuel, "pump-gas", &["gasoline"]),
    (Vocabulary::Fuel, "avgas", &["gasoline"]),
    (Vocabulary::Fuel, "methyl-alcohol", &["methanol"]),
    (Vocabulary::Fuel, "m100", &["methanol"]),
    (Vocabulary::Fuel, "ethyl-alcohol", &["ethanol"]),
    (Vocabulary::Fuel, "alcohol", &["methanol", "ethanol"]),
    (Vocabulary::Fuel, "e85", &["ethanol", "gasoline"]),
    (Vocabulary::Fuel, "nitro", &["nitromethane", "methanol"]),
    (Vocabulary::Fuel, "diesel-fuel", &["diesel"]),
    (Vocabulary::Fuel, "biodiesel", &["diesel"]),
    (Vocabulary::Fuel, "lpg", &["propane"]),
    (Vocabulary::Fuel, "cng", &["natural-gas"]),
    (Vocabulary::Fuel, "jet-a", &["kerosene"]),
    (Vocabulary::Fuel, "battery", &["electric"]),
    (Vocabulary::Discipline, "circuit-racing", &["circuit"]),
    (Vocabulary::Discipline, "road-racing", &["circuit"]),
    (Vocabulary::Discipline, "road-course", &["circuit"]),
    (Vocabulary::Discipline, "hillclimb", &["hill-climb"]),
    (Vocabulary::Discipline, "hill-climbing", &["hill-climb"]),
    (Vocabulary::Discipline, "landspeed", &["land-speed"]),
    (Vocabulary::Discipline, "land-speed-racing", &["land-speed"]),
    (Vocabulary::Discipline, "offroad", &["off-road"]),
    (Vocabulary::Discipline, "off-road-racing", &["off-road"]),
    (Vocabulary::Discipline, "drag", &["straight-line"]),
    (Vocabulary::Discipline, "drag-racing", &["straight-line"]),
    (Vocabulary::Discipline, "drag-race", &["straight-line"]),
    (Vocabulary::Discipline, "drift", &["drifting"]),
    (Vocabulary::Equipment, "fire-suppression", &["suppression"]),
    (Vocabulary::Equipment, "suppression-system", &["suppression"]),
    (Vocabulary::Equipment, "fire-system", &["suppression"]),
    (Vocabulary::Equipment, "handheld", &["hand-held"]),
    (Vocabulary::Equipment, "hand-held-extinguisher", &["hand-held"]),
    (Vocabulary::Equipment, "tandem-master-cylinder", &["tandem-master"]),
    (Vocabulary::Equipment, "brake-booster", &["booster"]),
    (Vocabulary::Equipment, "linelock", &["line-lock"]),
    (Vocabulary::Equipment, "residual-pressure-valve", &["residual-valve"]),
    (Vocabulary::Equipment, "prop-valve", &["proportioning-valve"]),
    (Vocabulary::Equipment, "solid-axle", &["live-axle"]),
    (Vocabulary::Equipment, "solid-rear-axle", &["live-axle"]),
    (Vocabulary::Equipment, "independent-rear-suspension", &["independent-rear"]),
    (Vocabulary::Equipment, "irs", &["independent-rear"]),
    (Vocabulary::Equipment, "handbrake", &["parking-brake"]),
    (Vocabulary::Equipment, "hand-brake", &["parking-brake"]),
    (Vocabulary::Equipment, "emergency-brake", &["parking-brake"]),
    (Vocabulary::Equipment, "fire-wall", &["firewall"]),
    (Vocabulary::Equipment, "chute", &["parachute"]),
    (Vocabulary::Equipment, "drag-chute", &["parachute"]),
];

impl Vocabulary {
    /// What it is called in a message: "no fuel".
    pub fn name(self) -> &'static str {
        match self {
            Self::Fuel => "fuel",
            Self::Equipment => "equipment",
            Self::Discipline => "discipline",
            Self::Class => "class",
        }
    }

    /// The words known here, each as it is written.
    pub fn words(self) -> Vec<&'static str> {
        match self {
            Self::Fuel => FUELS.to_vec(),
            Self::Discipline => DISCIPLINES.to_vec(),
            Self::Class => Vec::new(),
            Self::Equipment => super::tag::TAGS.iter().map(|(word, _, _)| *word).collect(),
        }
    }

    /// What a word means, folded; the word itself where it has no other name.
    pub fn meanings(self, word: &str) -> Vec<String> {
        let word = folded(word);
        let synonym = SYNONYMS.iter().find(|(of, name, _)| *of == self && *name == word);
        match synonym {
            Some((_, _, means)) => means.iter().map(|meant| (*meant).to_owned()).collect(),
            None => vec![word],
        }
    }

    /// Whether a word is known here.
    pub fn knows(self, word: &str) -> bool {
        self.meanings(word).iter().all(|meant| self.words().contains(&meant.as_str()))
    }
}

/// Words that rule files add to those known here, folded.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Declared(BTreeSet<(Vocabulary, String)>);

impl Declared {
    /// Adds a word.
    pub fn add(&mut self, of: Vocabulary, word: &str) {
        self.0.insert((of, folded(word)));
    }

    /// Takes in everything that another declares.
    pub fn extend(&mut self, other: &Self) {
        self.0.extend(other.0.iter().cloned());
    }

    /// Whether a word is among those declared.
    pub fn declares(&self, of: Vocabulary, word: &str) -> bool {
        self.0.contains(&(of, folded(word)))
    }

    /// Whether a word is declared, or known without that.
    pub fn knows(&self, of: Vocabulary, word: &str) -> bool {
        of.knows(word) || self.declares(of, word)
    }

    /// Every word that may be meant: those known here and those declared.
    pub fn words(&self, of: Vocabulary) -> Vec<&str> {
        let declared = self.0.iter().filter(|(known, _)| *known == of).map(|(_, word)| word.as_str());
        of.words().into_iter().chain(declared).collect()
    }

    /// Whether it declares nothing.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

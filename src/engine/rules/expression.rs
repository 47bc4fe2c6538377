//! A limit that is worked out of other numbers and readings: `max('1200 psi', 1.25 * brake.pressure)`.
//!
//! Number literals, quantities in single quotes, names, `+ - * /`, `min` and `max`. A name is a quantity of the registry
//! or a key path, taken for the item judged. Minus has a blank on both sides, since names have hyphens. A term may be
//! missing or have several values: then the whole is an interval, and a value is judged only where every limit in it
//! gives the same answer.

use crate::model::Car;
use crate::model::keys::quantity_kind;
use crate::numbers::{Answer, Input, Readings, Shown, Term, quantity, reading_kind};
use crate::units::{Kind, parse_signed};

/// A limit that is worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Expression {
    /// As written.
    pub text: String,
    root: Node,
}

#[derive(Clone, Debug, PartialEq)]
enum Node {
    Plain(f64),
    Quantity(f64, Kind, String),
    Name(String, Kind),
    Two(char, Box<Node>, Box<Node>),
    Pick(bool, Vec<Node>),
}

/// What is wrong with an expression: where in its text, what, and a remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Bytes of the text.
    pub at: std::ops::Range<usize>,
    /// What is wrong.
    pub message: String,
    /// A remedy.
    pub help: String,
}

/// Where the terms of an expression come from.
#[derive(Clone, Copy, Debug)]
pub struct Terms<'a> {
    /// The car.
    pub car: &'a Car,
    /// Its numbers.
    pub numbers: &'a [Answer],
    /// The readings of the day.
    pub readings: &'a Readings,
}

/// Whether a text is meant as an expression rather than as a quantity: what no quantity has in it.
pub fn looks_like_one(text: &str) -> bool {
    let is_key =
        |word: &str| word.contains('.') && word.starts_with(|first: char| first.is_ascii_lowercase());
    text.contains(['\'', '(', '*'])
        || text.split([' ', '/']).any(|word| is_key(word) || kind_of(word).is_some())
}

/// The kind of what a name stands for.
fn kind_of(name: &str) -> Option<Kind> {
    let of_quantity =
        quantity(name).filter(|known| !matches!(known.shown, Shown::Flag | Shown::Word | Shown::Days));
    of_quantity.map(|known| known.shown.kind()).or_else(|| quantity_kind(name)).or_else(|| reading(name))
}

/// The kind of a reading by its key without its id.
pub(super) fn reading(name: &str) -> Option<Kind> {
    let (table, key) = split(name)?;
    reading_kind(&format!("{table}.any.{key}"))
        .or_else(|| reading_kind(name))
        .filter(|kind| *kind != Kind::Span)
}

/// The table of a key path and the rest of it; the id of an element stands between.
fn split(name: &str) -> Option<(&'static str, &str)> {
    const TABLES: [&str; 12] = [
        "suppression.bottle",
        "suppression.line",
        "suppression.nozzle",
        "suppression.pull",
        "brakes.circuit",
        "brakes.wheel_brake",
        "brakes.master",
        "brakes.line",
        "brakes.hose",
        "brakes.valve",
        "frame.sleeve",
        "electrics",
    ];
    TABLES.into_iter().find_map(|table| Some((table, name.strip_prefix(table)?.strip_prefix('.')?)))
}

/// The element whose key this path is, where the name leaves its id out.
pub fn element<'p>(name: &str, path: &'p str) -> Option<&'p str> {
    let (table, key) = split(name)?;
    let id = path.strip_prefix(table)?.strip_prefix('.')?.strip_suffix(key)?.strip_suffix('.')?;
    (!id.is_empty()).then_some(id)
}

impl Expression {
    /// Reads an expression that has to work out to a kind.
    ///
    /// # Errors
    /// The first thing that cannot be read, or terms that do not go together.
    pub fn parse(text: &str, kind: Kind) -> Result<Self, Wrong> {
        let mut cursor = Cursor { text, at: 0 };
        let root = cursor.sum()?;
        cursor.blanks();
        if cursor.at < text.len() {
            let what = format!("this belongs to no term: {}", cursor.rest());
            return Err(cursor.wrong(
                cursor.at..text.len(),
                what,
                "write + - * / between terms, minus with a blank on both sides",
            ));
        }
        let whole = |message: String| Wrong {
            at: 0..text.len(),
            message,
            help:
                "lengths go with lengths and pressures with pressures; a plain number multiplies or divides"
                    .to_owned(),
        };
        let dimension = root.dimension().map_err(whole)?;
        if dimension != dimension_of(kind) {
            let found = [Kind::Ratio]
                .iter()
                .chain(crate::units::KINDS)
                .find(|known| dimension_of(**known) == dimension);
            let found = found.map_or("something that is no limit", |known| known.name());
            return Err(whole(format!("this works out to {found}, and {} belongs here", kind.name())));
        }
        Ok(Self { text: text.trim().to_owned(), root })
    }

    /// The least and the most that it may be for an item; one value where every term is known.
    pub fn range(&self, terms: &Terms<'_>, of: Option<&str>) -> [f64; 2] {
        self.range_by(&|name| terms.range(name, of))
    }

    /// As [`Self::range`], with what each name may be.
    pub(super) fn range_by(&self, known: &dyn Fn(&str) -> [f64; 2]) -> [f64; 2] {
        self.root.range(known)
    }

    /// Every name in it, each once.
    pub(super) fn all_names(&self) -> Vec<String> {
        let mut names = Vec::new();
        self.root.names(&mut names);
        names.sort();
        names.dedup();
        names
    }

    /// The limit as people read it: "the greater of 1200 psi and 1.25 times the pressure in the circuit".
    pub fn words(&self) -> String {
        self.root.words()
    }

    /// Whether it names something.
    pub fn names(&self, name: &str) -> bool {
        self.all_names().iter().any(|known| known == name)
    }

    /// The keys that its unknown terms lack for an item.
    pub fn needs(&self, terms: &Terms<'_>, of: Option<&str>) -> Vec<String> {
        let mut names = self.all_names();
        names.retain(|name| terms.range(name, of)[0].is_infinite());
        let refused = |name: &String| {
            let answers = terms.numbers.iter().filter(|answer| answer.quantity() == name.as_str());
            let needs = answers.filter_map(|answer| match answer {
                Answer::Refused(refused) => Some(refused.needs.clone()),
                Answer::Number(_) => None,
            });
            let mut needs: Vec<String> = needs.flatten().collect();
            needs.dedup();
            if needs.is_empty() { vec![name.clone()] } else { needs }
        };
        names.iter().flat_map(refused).collect()
    }
}

impl Node {
    /// Exponents of metre, kilogram, second, ampere and kelvin, and whether it is an angle or a share all the same.
    fn dimension(&self) -> Result<[i8; 6], String> {
        match self {
            Self::Plain(_) => Ok([0; 6]),
            Self::Quantity(_, kind, _) | Self::Name(_, kind) => Ok(dimension_of(*kind)),
            Self::Two(sign @ ('*' | '/'), one, other) => {
                let (one, other) = (one.dimension()?, other.dimension()?);
                let by: i8 = if *sign == '*' { 1 } else { -1 };
                let mut both = [0; 6];
                for (sum, (a, b)) in both.iter_mut().zip(one.iter().zip(other)) {
                    *sum = a + by * b;
                }
                Ok(both)
            }
            Self::Two(_, one, other) => alike([one.as_ref(), other.as_ref()].into_iter()),
            Self::Pick(_, nodes) => alike(nodes.iter()),
        }
    }

    fn range(&self, known: &dyn Fn(&str) -> [f64; 2]) -> [f64; 2] {
        match self {
            Self::Plain(value) | Self::Quantity(value, ..) => [*value, *value],
            Self::Name(name, _) => known(name),
            Self::Two(sign, one, other) => two(*sign, one.range(known), other.range(known)),
            Self::Pick(most, nodes) => {
                let ranges = nodes.iter().map(|node| node.range(known));
                let pick = |a: f64, b: f64| if *most { a.max(b) } else { a.min(b) };
                ranges
                    .reduce(|a, b| [pick(a[0], b[0]), pick(a[1], b[1])])
                    .unwrap_or([f64::NEG_INFINITY, f64::INFINITY])
            }
        }
    }

    fn words(&self) -> String {
        let inner = |node: &Self| match node {
            Self::Two('+' | '-', ..) => format!("({})", node.words()),
            _ => node.words(),
        };
        match self {
            Self::Plain(value) => crate::units::significant(*value, 6),
            Self::Quantity(_, _, text) => text.clone(),
            Self::Name(name, _) => in_words(name),
            Self::Two('+', one, other) => format!("{} plus {}", one.words(), other.words()),
            Self::Two('-', one, other) => format!("{} less {}", one.words(), inner(other)),
            Self::Two('*', one, other) => format!("{} times {}", inner(one), inner(other)),
            Self::Two(_, one, other) => format!("{} divided by {}", inner(one), inner(other)),
            Self::Pick(most, nodes) => {
                let all: Vec<String> = nodes.iter().map(Self::words).collect();
                format!("the {} of {}", if *most { "greater" } else { "lesser" }, all.join(" and "))
            }
        }
    }

    fn names(&self, found: &mut Vec<String>) {
        match self {
            Self::Plain(_) | Self::Quantity(..) => {}
            Self::Name(name, _) => found.push(name.clone()),
            Self::Two(_, one, other) => {
                one.names(found);
                other.names(found);
            }
            Self::Pick(_, nodes) => nodes.iter().for_each(|node| node.names(found)),
        }
    }
}

/// What a name stands for: a number's title, or the last word of a key.
fn in_words(name: &str) -> String {
    let title = quantity(name).map(|known| known.title);
    let key = || name.rsplit('.').next().unwrap_or(name).replace('_', " ");
    let words = title.map_or_else(key, str::to_owned);
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |first| format!("the {}{}", first.to_lowercase(), letters.as_str()))
}

/// The dimension of terms that are added or compared: the same of all, or an error in words.
fn alike<'n>(nodes: impl Iterator<Item = &'n Node>) -> Result<[i8; 6], String> {
    let mut known: Option<[i8; 6]> = None;
    for node in nodes {
        let dimension = node.dimension()?;
        if known.is_some_and(|known| known != dimension) {
            return Err("terms of different kinds cannot be added or compared".to_owned());
        }
        known = Some(dimension);
    }
    Ok(known.unwrap_or_default())
}

/// Exponents of metre, kilogram, second, ampere and kelvin; days are a kind of their own.
fn dimension_of(kind: Kind) -> [i8; 6] {
    match kind {
        Kind::Length => [1, 0, 0, 0, 0, 0],
        Kind::Mass => [0, 1, 0, 0, 0, 0],
        Kind::Force => [1, 1, -2, 0, 0, 0],
        Kind::Torque => [2, 1, -2, 0, 0, 0],
        Kind::Pressure => [-1, 1, -2, 0, 0, 0],
        Kind::Temperature | Kind::TemperatureDifference => [0, 0, 0, 0, 1, 0],
        Kind::Volume => [3, 0, 0, 0, 0, 0],
        Kind::Density => [-3, 1, 0, 0, 0, 0],
        Kind::Viscosity => [-1, 1, -1, 0, 0, 0],
        Kind::Angle | Kind::Ratio => [0; 6],
        Kind::Time => [0, 0, 1, 0, 0, 0],
        Kind::Span => [0, 0, 0, 0, 0, 1],
        Kind::Rate => [0, 0, -1, 0, 0, 0],
        Kind::Voltage => [2, 1, -3, -1, 0, 0],
        Kind::Current => [0, 0, 0, 1, 0, 0],
        Kind::Resistance => [2, 1, -3, -2, 0, 0],
        // m3/s per Pa^0.5 has no whole exponents; the time exponent tells it from all others.
        Kind::NozzleFactor => [4, 0, 9, 0, 0, 0],
        Kind::Flow => [3, 0, -1, 0, 0, 0],
        Kind::Speed => [1, 0, -1, 0, 0, 0],
        Kind::SpecificHeat => [2, 0, -2, 0, -1, 0],
    }
}

/// Two intervals added, taken away, multiplied or divided; anything where the divisor may be nought.
fn two(sign: char, [a, b]: [f64; 2], [c, d]: [f64; 2]) -> [f64; 2] {
    let all = [f64::NEG_INFINITY, f64::INFINITY];
    let hull = |ends: [f64; 4]| {
        if ends.iter().any(|end| end.is_nan()) {
            return all;
        }
        [
            ends.iter().copied().fold(f64::INFINITY, f64::min),
            ends.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ]
    };
    match sign {
        '+' => [a + c, b + d],
        '-' => [a - d, b - c],
        '*' => hull([a * c, a * d, b * c, b * d]),
        _ if c <= 0.0 && d >= 0.0 => all,
        _ => hull([a / c, a / d, b / c, b / d]),
    }
}

/// What nothing is known of.
const UNKNOWN: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];

/// From the least to the most of several values; anything where there is none, or one is not known.
pub(super) fn hull(values: impl IntoIterator<Item = Option<[f64; 2]>>) -> [f64; 2] {
    let wider = |a: [f64; 2], b: [f64; 2]| [a[0].min(b[0]), a[1].max(b[1])];
    let all: Option<Vec<[f64; 2]>> = values.into_iter().collect();
    all.and_then(|all| all.into_iter().reduce(wider)).unwrap_or(UNKNOWN)
}

impl Terms<'_> {
    /// What a name may be for an item: from the least to the most of its values; anything where there is none.
    pub fn range(&self, name: &str, of: Option<&str>) -> [f64; 2] {
        hull(self.all(name, of).iter().map(|term| self.ends(term)))
    }

    /// As [`Self::range`], every number and input as given.
    pub fn given(&self, name: &str, of: Option<&str>) -> [f64; 2] {
        hull(self.all(name, of).iter().map(|term| self.si(term).map(|si| [si, si])))
    }

    /// Everything that a name stands for, for an item.
    pub(super) fn all(&self, name: &str, of: Option<&str>) -> Vec<Term> {
        if quantity(name).is_none() {
            return self.of_key(name, of);
        }
        let mine = |answer: &Answer| of.is_none_or(|of| self.goes_with(of, answer.of()));
        let answers = self.numbers.iter().enumerate();
        let answers = answers.filter(|(_, answer)| answer.quantity() == name && mine(answer));
        answers.map(|(place, _)| Term::Answer(place)).collect()
    }

    fn ends(&self, term: &Term) -> Option<[f64; 2]> {
        let si = self.si(term)?;
        let half = match term {
            Term::Answer(place) => {
                let number = self.numbers.get(*place)?.number()?;
                return Some([number.low.unwrap_or(si).min(si), number.high.unwrap_or(si).max(si)]);
            }
            Term::Key(path) => match self.readings.get(path) {
                Some(reading) => reading.half_width,
                None => self.input(path)?.half_width,
            },
        };
        Some([si - half.unwrap_or(0.0), si + half.unwrap_or(0.0)])
    }

    fn si(&self, term: &Term) -> Option<f64> {
        match term {
            Term::Answer(place) => self.numbers.get(*place)?.number()?.si(),
            Term::Key(path) => match self.readings.get(path) {
                Some(reading) => Some(reading.si),
                None => Some(self.input(path)?.si),
            },
        }
    }

    fn inputs(&self) -> impl Iterator<Item = &Input> {
        let inputs = self.numbers.iter().filter_map(Answer::number).flat_map(|number| &number.inputs);
        inputs.filter(|input| !input.assumed)
    }

    fn input(&self, path: &str) -> Option<&Input> {
        self.inputs().find(|input| input.path == path)
    }

    /// Whether a number of one part is what an item is judged with: its own, its circuit's or the car's.
    fn goes_with(&self, item: &str, of: Option<&str>) -> bool {
        let circuit = |id: &str| {
            let line = self
                .car
                .brakes
                .lines
                .iter()
                .find(|line| line.run.id == id)
                .and_then(|line| line.circuit.as_ref());
            let brake = self.car.brakes.wheel_brakes.iter().find(|brake| brake.id == id);
            let brake = brake.and_then(|brake| brake.circuit.as_ref());
            line.or(brake).map(|word| word.text.as_str())
        };
        of.is_none_or(|of| of == item || of == self.car.id || circuit(item) == Some(of))
    }

    /// What stands under a key path, its element's id left out: readings first, then inputs that numbers were worked from.
    fn of_key(&self, name: &str, of: Option<&str>) -> Vec<Term> {
        let wanted = |path: &str| {
            path == name
                || element(name, path).is_some_and(|id| of.is_none_or(|of| self.goes_with(of, Some(id))))
        };
        let read = self.readings.iter().map(|(path, _)| path.to_owned()).filter(|path| wanted(path));
        let mut paths: Vec<String> = read.collect();
        if paths.is_empty() {
            paths.extend(self.inputs().map(|input| input.path.clone()).filter(|path| wanted(path)));
        }
        paths.sort();
        paths.dedup();
        paths.into_iter().map(Term::Key).collect()
    }
}

struct Cursor<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Cursor<'t> {
    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn blanks(&mut self) {
        self.at += self.rest().len() - self.rest().trim_start().len();
    }

    fn eat(&mut self, wanted: &str) -> bool {
        self.blanks();
        let here = self.rest().starts_with(wanted);
        self.at += if here { wanted.len() } else { 0 };
        here
    }

    fn wrong(
        &self,
        at: std::ops::Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Wrong {
        Wrong { at, message: message.into(), help: help.into() }
    }

    fn sum(&mut self) -> Result<Node, Wrong> {
        let mut sum = self.product()?;
        loop {
            // A hyphen inside a name is no minus: that has a blank on both sides.
            let sign = if self.rest().starts_with(" - ") {
                self.at += 3;
                '-'
            } else if self.eat("+") {
                '+'
            } else {
                return Ok(sum);
            };
            sum = Node::Two(sign, Box::new(sum), Box::new(self.product()?));
        }
    }

    fn product(&mut self) -> Result<Node, Wrong> {
        let mut product = self.term()?;
        loop {
            let before = self.at;
            let sign = if self.eat("*") {
                '*'
            } else if self.eat("/") {
                '/'
            } else {
                self.at = before;
                return Ok(product);
            };
            product = Node::Two(sign, Box::new(product), Box::new(self.term()?));
        }
    }

    fn term(&mut self) -> Result<Node, Wrong> {
        self.blanks();
        let start = self.at;
        for (word, most) in [("max(", true), ("min(", false)] {
            if self.eat(word) {
                return self.pick(most, start);
            }
        }
        if self.eat("(") {
            let inner = self.sum()?;
            return if self.eat(")") { Ok(inner) } else { Err(self.open(start)) };
        }
        if self.eat("'") {
            return self.quoted(start);
        }
        let word =
            self.rest().split(|c: char| c.is_whitespace() || "+*/(),'".contains(c)).next().unwrap_or("");
        self.at += word.len();
        let at = start..self.at.max(start + usize::from(start < self.text.len()));
        if let Some(number) = word.parse::<f64>().ok().filter(|number| number.is_finite()) {
            return Ok(Node::Plain(number));
        }
        if let Some(kind) = kind_of(word) {
            return Ok(Node::Name(word.to_owned(), kind));
        }
        if word.is_empty() {
            return Err(self.wrong(
                at,
                "a term is missing here",
                "write a number, '1200 psi' or a name such as brake.pressure",
            ));
        }
        let help = crate::diagnostic::near_or(word, crate::numbers::registry().map(|known| known.id), || {
            "name a quantity such as brake.pressure, or a key path such as brakes.hose.length; quantities stand in single quotes".to_owned()
        });
        Err(self.wrong(at, format!("{word} is no number, quantity or key"), help))
    }

    fn pick(&mut self, most: bool, start: usize) -> Result<Node, Wrong> {
        let mut nodes = vec![self.sum()?];
        while self.eat(",") {
            nodes.push(self.sum()?);
        }
        if self.eat(")") { Ok(Node::Pick(most, nodes)) } else { Err(self.open(start)) }
    }

    fn open(&self, start: usize) -> Wrong {
        self.wrong(start..self.text.len(), "this bracket is not closed", "add the ) that ends it")
    }

    fn quoted(&mut self, start: usize) -> Result<Node, Wrong> {
        let Some(inner) = self.rest().split('\'').next().filter(|inner| inner.len() < self.rest().len())
        else {
            return Err(self.wrong(
                start..self.text.len(),
                "this quote is not closed",
                "write it as '1200 psi'",
            ));
        };
        self.at += inner.len() + 1;
        let kinds = crate::units::KINDS.iter().filter(|kind| !matches!(kind, Kind::Ratio | Kind::Span));
        let read =
            kinds.chain([&Kind::Ratio]).find_map(|kind| Some((parse_signed(inner, *kind).ok()?.si, *kind)));
        read.map(|(si, kind)| Node::Quantity(si, kind, inner.trim().to_owned())).ok_or_else(|| {
            self.wrong(
                start..self.at,
                format!("\"{inner}\" is no quantity"),
                "write a number with its unit: '1200 psi', '5 min'",
            )
        })
    }
}

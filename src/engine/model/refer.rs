//! Mistakes that only show when the whole car is known: references, rings, starved nozzles, tags at odds.

use std::collections::BTreeMap;

use crate::diagnostic::{Diagnostic, Place, did_you_mean, near_or};
use crate::source::{Reader, Word};
use crate::units::INCH;

use super::car::Car;
use super::run::too_short;
use super::tag::{Answer3, Tag};
use super::vocabulary::folded;
use super::{Point, SupplyLine, distance};

/// Reads a list of tags; words outside the list are mistakes.
pub(super) fn tags(r: &Reader<'_>, key: &'static str, doc: &str) -> (Vec<(Tag, Place)>, Vec<Word>) {
    let words = r.words(key, doc).unwrap_or_default();
    r.narrow(key, super::tag::schema);
    let mut tags = Vec::new();
    let mut others = Vec::new();
    for word in words {
        match Tag::named(&word.text) {
            Some(tag) => tags.push((tag, word.at)),
            None => others.push(word),
        }
    }
    (tags, others)
}

/// Everything that needs the whole car.
pub(super) fn check(car: &Car, r: &Reader<'_>) {
    check_tags(car, r);
    check_references(car, r);
    check_masters(car, r);
    check_network(car, r);
}

fn check_tags(car: &Car, r: &Reader<'_>) {
    for (tag, at) in &car.facts.without_at {
        if car.has(*tag) == Answer3::Yes {
            let reason = if car.implies(*tag) {
                "the rest of the file shows that it has"
            } else {
                "equipment names it too"
            };
            let help = format!("take {} out of without, or take out what says otherwise", tag.word());
            r.report(Diagnostic::error(
                at,
                format!("the car cannot be without {}: {reason}", tag.word()),
                help,
            ));
        }
    }
    let facts = &car.facts;
    let has =
        |word: &&Word| facts.other_equipment.iter().any(|other| folded(&other.text) == folded(&word.text));
    for word in facts.other_without.iter().filter(has) {
        let help = format!("take {} out of without, or out of equipment", word.text);
        let message = format!("the car cannot be without {}: equipment names it too", word.text);
        r.report(Diagnostic::error(&word.at, message, help));
    }
}

/// Reports a word that names none of the known ids.
fn known<'a>(r: &Reader<'_>, word: &Word, what: &str, ids: impl Iterator<Item = &'a str> + Clone) {
    if ids.clone().any(|id| id == word.text) {
        return;
    }
    let help = near_or(&word.text, ids.clone(), || {
        let all: Vec<&str> = ids.collect();
        if all.is_empty() {
            format!("the file has no {what}")
        } else {
            format!("known here: {}", all.join(", "))
        }
    });
    r.report(Diagnostic::error(&word.at, format!("there is no {what} {}", word.text), help));
}

fn check_references(car: &Car, r: &Reader<'_>) {
    let tubes = car.tubes.iter().map(|tube| tube.id.as_str());
    let runs: Vec<&str> = car.runs().map(|run| run.id.as_str()).collect();
    let bottles = car.suppression.bottles.iter().map(|bottle| bottle.id.as_str());
    let hazards = car.suppression.hazards.iter().map(|hazard| hazard.id.as_str());
    for sleeve in &car.sleeves {
        sleeve.tube.iter().for_each(|word| known(r, word, "frame tube", tubes.clone()));
        sleeve.carries.iter().for_each(|word| known(r, word, "line", runs.iter().copied()));
    }
    for run in car.runs() {
        run.inside.iter().for_each(|word| known(r, word, "frame tube", tubes.clone()));
    }
    for nozzle in &car.suppression.nozzles {
        nozzle.protects.iter().for_each(|word| known(r, word, "hazard", hazards.clone()));
    }
    for pull in &car.suppression.pulls {
        pull.works.iter().for_each(|word| known(r, word, "bottle", bottles.clone()));
    }
}

/// Masters: one tandem, or two singles.
fn check_masters(car: &Car, r: &Reader<'_>) {
    let brakes = &car.brakes;
    if brakes.masters.len() > 2 {
        let help = "give one tandem with two ports, or two singles with one port each";
        r.report(Diagnostic::error(&r.place("brakes"), "a car has at most two master cylinders here", help));
    }
    let circuits: Vec<&str> = brakes
        .masters
        .iter()
        .flat_map(|m| &m.ports)
        .filter_map(|p| p.plumbed_to.as_ref())
        .map(Word::as_str)
        .collect();
    if circuits.is_empty() {
        return;
    }
    let named = brakes
        .lines
        .iter()
        .filter_map(|l| l.circuit.as_ref())
        .chain(brakes.hoses.iter().filter_map(|h| h.circuit.as_ref()))
        .chain(brakes.valves.iter().filter_map(|v| v.circuit.as_ref()))
        .chain(brakes.wheel_brakes.iter().filter_map(|w| w.circuit.as_ref()));
    for word in named {
        if !circuits.contains(&word.as_str()) {
            let help = format!("ports are plumbed to: {}", circuits.join(", "));
            r.report(Diagnostic::error(
                &word.at,
                format!("no port is plumbed to the circuit {}", word.text),
                help,
            ));
        }
    }
}

fn check_network(car: &Car, r: &Reader<'_>) {
    let suppression = &car.suppression;
    let nodes: BTreeMap<&str, Option<Point>> = suppression
        .bottles
        .iter()
        .map(|b| (b.id.as_str(), b.at))
        .chain(suppression.tees.iter().map(|t| (t.id.as_str(), t.at)))
        .chain(suppression.nozzles.iter().map(|n| (n.id.as_str(), n.at)))
        .collect();
    let mut rings = Rings::default();
    for line in &suppression.lines {
        for end in [&line.from, &line.to] {
            if !end.text.is_empty() {
                known(r, end, "bottle, tee or nozzle", nodes.keys().copied());
            }
        }
        if suppression.bottles.iter().any(|bottle| bottle.id == line.to.text) {
            let help = "a line starts at a bottle and ends at a tee or nozzle: swap from and to";
            r.report(Diagnostic::error(&line.to.at, "a line cannot end at a bottle", help));
        }
        let both = !line.from.text.is_empty() && !line.to.text.is_empty();
        if both && rings.join(&line.from.text, &line.to.text) {
            let help = "lines branch like a tree: take out the line that closes the ring";
            r.report(Diagnostic::error(
                &line.to.at,
                format!("the line {} closes a ring of lines", line.run.id),
                help,
            ));
        }
        let ends = [nodes.get(line.from.text.as_str()), nodes.get(line.to.text.as_str())]
            .map(|end| end.copied().flatten());
        check_ends(line, ends, r);
    }
    check_fed(car, r);
}

/// A path has to start and end at its nodes, and a length has to span them.
fn check_ends(line: &SupplyLine, ends: [Option<Point>; 2], r: &Reader<'_>) {
    let path = &line.run.path;
    let [from, to] = ends;
    for (point, node, word, verb) in
        [(path.first(), from, &line.from, "starts"), (path.last(), to, &line.to, "ends")]
    {
        if let (Some(point), Some(node)) = (point, node)
            && distance(*point, node) > INCH * (1.0 + 1e-9)
        {
            let off = crate::units::show_in(distance(*point, node), crate::units::Kind::Length, "in")
                .unwrap_or_default();
            let message = format!("the path of {} {verb} {off} from {}", line.run.id, word.text);
            r.report(Diagnostic::error(
                &line.run.path_at,
                message,
                "move the point or the part: they meet within 1 in",
            ));
        }
    }
    if let (Some(length), [Some(from), Some(to)]) = (line.run.length, ends)
        && path.is_empty()
        && length.si() < distance(from, to) * (1.0 - 1e-6)
    {
        r.report(too_short(&line.run.length_at, length, distance(from, to)));
    }
}

/// Every nozzle needs a way from a bottle.
fn check_fed(car: &Car, r: &Reader<'_>) {
    let suppression = &car.suppression;
    let nodes = || {
        let tees = suppression.tees.iter().map(|tee| tee.id.as_str());
        let nozzles = suppression.nozzles.iter().map(|nozzle| nozzle.id.as_str());
        suppression.bottles.iter().map(|bottle| bottle.id.as_str()).chain(tees).chain(nozzles)
    };
    // A misspelled end is reported once, by its own name: what it meant counts as joined.
    let meant = |end: &'_ str| nodes().find(|node| *node == end).or_else(|| did_you_mean(end, nodes()));
    let ends: Vec<(Option<&str>, Option<&str>)> =
        suppression.lines.iter().map(|line| (meant(&line.from.text), meant(&line.to.text))).collect();
    let mut wet: Vec<&str> = suppression.bottles.iter().map(|bottle| bottle.id.as_str()).collect();
    let mut grew = true;
    while grew {
        grew = false;
        for (from, to) in &ends {
            let (source, Some(to)) = (from.is_none_or(|from| wet.contains(&from)), to) else { continue };
            if source && !wet.contains(to) {
                wet.push(to);
                grew = true;
            }
        }
    }
    for nozzle in suppression
        .nozzles
        .iter()
        .filter(|nozzle| !nozzle.id.is_empty() && !wet.contains(&nozzle.id.as_str()))
    {
        let help = format!(
            "add a line with to = \"{}\", or mend the from of the line that should feed it",
            nozzle.id
        );
        r.report(Diagnostic::error(&nozzle.place, format!("nothing feeds the nozzle {}", nozzle.id), help));
    }
    for line in &suppression.lines {
        if suppression.nozzles.iter().all(|nozzle| nozzle.id != line.to.text)
            && suppression.tees.iter().any(|tee| tee.id == line.to.text)
            && ends.iter().all(|(from, _)| *from != Some(line.to.as_str()))
        {
            let help = format!("add the lines that leave {}, or a nozzle at its end", line.to.text);
            r.report(Diagnostic::error(&line.to.at, format!("the line {} leads nowhere", line.run.id), help));
        }
    }
}

/// Groups of joined nodes, to see when a line joins two of one group.
#[derive(Default)]
struct Rings<'a> {
    group: BTreeMap<&'a str, usize>,
    groups: usize,
}

impl<'a> Rings<'a> {
    /// Joins two nodes; true where they were joined already.
    fn join(&mut self, a: &'a str, b: &'a str) -> bool {
        let (a, b) = (self.of(a), self.of(b));
        for group in self.group.values_mut().filter(|group| **group == b) {
            *group = a;
        }
        a == b
    }

    fn of(&mut self, node: &'a str) -> usize {
        let next = self.groups;
        let group = *self.group.entry(node).or_insert(next);
        self.groups = self.groups.max(group + 1);
        group
    }
}

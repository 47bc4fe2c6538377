//! What the screens with pictures are drawn from: the plan, and the discharge over time.

use std::sync::Arc;

use crate::drawing::{Bounds, Curves, Drawing, Figure, FindingAt, Plan, Style, View, plan};
use crate::model::Car;
use crate::model::entry::Severity;
use crate::units::{Kind, Units, show};
use crate::walk::Walk;

use super::sheet::open_items;
use super::state::Screen;

/// How large the window of a zoomed plan is, as a share of the whole.
const ZOOM: f64 = 0.4;

/// What a picture is made of on screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Grain {
    /// Eight dots a cell.
    #[default]
    Braille,
    /// Two blocks a cell.
    Half,
    /// Plain signs, for a terminal that has nothing else.
    Ascii,
}

impl Grain {
    /// The next one.
    pub fn next(self) -> Self {
        match self {
            Self::Braille => Self::Half,
            Self::Half => Self::Ascii,
            Self::Ascii => Self::Braille,
        }
    }

    /// Its words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Braille => "fine dots",
            Self::Half => "half blocks",
            Self::Ascii => "plain signs",
        }
    }
}

/// The plan of the car.
#[derive(Debug)]
pub struct PlanPage {
    /// The drawing.
    pub drawing: Drawing,
    /// From where.
    pub view: View,
    /// Stations in the order of the lap: id and title.
    pub stations: Vec<(String, String)>,
    /// The station chosen.
    pub at: usize,
    /// Whether only its surroundings are shown.
    pub zoomed: bool,
    /// Open items with their weight.
    pub findings: Vec<(FindingAt, Severity)>,
    /// What the picture is made of.
    pub grain: Grain,
    /// First line of words shown.
    pub scroll: usize,
    /// The screen it was opened from.
    pub under: Box<Screen>,
}

impl PlanPage {
    /// The plan of the car of a walk, from above.
    pub fn new(walk: &Walk, grain: Grain, under: Screen) -> Self {
        let findings = findings(walk);
        let stations: Vec<(String, String)> = walk
            .plan
            .stations
            .iter()
            .filter_map(|id| walk.start.rules.station(id))
            .map(|station| (station.id.clone(), station.title.clone()))
            .collect();
        let here = walk.current().map(|step| step.station.as_str());
        let at = here.and_then(|here| stations.iter().position(|(id, _)| id == here)).unwrap_or(0);
        Self {
            drawing: drawing(walk, &walk.start.car, &findings, View::Top),
            view: View::Top,
            stations,
            at,
            zoomed: false,
            findings,
            grain,
            scroll: 0,
            under: Box::new(under),
        }
    }

    /// The stretch of the drawing that is shown.
    pub fn window(&self) -> Bounds {
        let bounds = self.drawing.bounds;
        let station = self.stations.get(self.at).and_then(|(id, _)| self.drawing.station(id));
        match station.filter(|_| self.zoomed) {
            // The person looks from the station toward the car.
            Some(mark) => {
                let ([x, y], [middle, height]) = (mark.at, bounds.centre());
                bounds.window([x + 0.2 * (middle - x), y + 0.6 * (height - y)], ZOOM)
            }
            None => bounds,
        }
    }

    /// Draws it again after a change.
    pub fn redraw(&mut self, walk: &Walk) {
        self.drawing = drawing(walk, &walk.start.car, &self.findings, self.view);
    }
}

/// The plan that stands beside a check.
pub fn beside(walk: &Walk) -> Option<Drawing> {
    let drawing = drawing(walk, &walk.start.car, &findings(walk), View::Top);
    let [across, up] = drawing.bounds.size();
    (across > 0.0 && up > 0.0).then_some(drawing)
}

/// The car with its stations and open items.
pub fn drawing(walk: &Walk, car: &Car, findings: &[(FindingAt, Severity)], view: View) -> Drawing {
    let rules = &walk.start.rules;
    let stations = walk.plan.stations.iter().filter_map(|id| rules.station(id)).collect();
    let findings: Vec<FindingAt> = findings.iter().map(|(finding, _)| finding.clone()).collect();
    let here = walk.current().map(|step| step.station.as_str());
    plan(&Plan { car, stations, findings: &findings, here }, view)
}

/// Open items, each by its code.
pub fn findings(walk: &Walk) -> Vec<(FindingAt, Severity)> {
    let items = open_items(walk).into_iter();
    items
        .map(|item| {
            let station = walk.start.rules.check(&item.check).map_or("", |check| check.station.as_str());
            let of = item.of.as_ref().map_or_else(String::new, |of| format!(" ({of})"));
            let label = format!("{}{of}", item.title);
            let station = station.to_owned();
            (FindingAt { code: item.code, of: item.of, station, label }, item.severity)
        })
        .collect()
}

/// Which picture of a discharge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Curves.
    Curves(Figure),
    /// Lines filling on the plan.
    Filling,
}

impl Shown {
    const ALL: &'static [Self] = &[
        Self::Curves(Figure::Flow),
        Self::Curves(Figure::Pressure),
        Self::Curves(Figure::Share),
        Self::Filling,
    ];

    /// The next picture.
    pub fn next(self) -> Self {
        let at = Self::ALL.iter().position(|known| *known == self).map_or(0, |at| at + 1);
        Self::ALL.get(at).or(Self::ALL.first()).copied().unwrap_or(self)
    }

    /// Its words.
    pub fn title(self) -> &'static str {
        match self {
            Self::Curves(figure) => figure.title(),
            Self::Filling => "Lines filling",
        }
    }
}

/// The discharge over time.
#[derive(Debug)]
pub struct DischargePage {
    /// The car, with the changes of a what-if where there are any.
    pub car: Arc<Car>,
    /// How many values are changed.
    pub changes: usize,
    /// Each network's curves.
    pub all: Vec<Curves>,
    /// Networks without curves, and why.
    pub refused: Vec<String>,
    /// The network at hand.
    pub network: usize,
    /// The moment at hand, among the network's.
    pub moment: usize,
    /// Which picture.
    pub shown: Shown,
    /// The plan without agent.
    pub base: Drawing,
    /// The plan as it is at the moment.
    pub drawing: Drawing,
    /// What is said of the moment.
    pub words: Vec<(String, String)>,
    /// Units people read.
    pub units: Units,
    /// What the picture is made of.
    pub grain: Grain,
    /// First line of words shown.
    pub scroll: usize,
    /// The screen it was opened from.
    pub under: Box<Screen>,
}

impl DischargePage {
    /// The curves at hand.
    pub fn curves(&self) -> Option<&Curves> {
        self.all.get(self.network)
    }

    /// The time at hand, s.
    pub fn time(&self) -> f64 {
        self.curves().and_then(|curves| curves.moments.get(self.moment)).copied().unwrap_or(0.0)
    }

    /// Goes to another moment, as far as there are any.
    pub fn step(&mut self, by: isize) {
        let last = self.curves().map_or(0, |curves| curves.moments.len().saturating_sub(1));
        self.moment = self.moment.saturating_add_signed(by).min(last);
    }

    /// Works out what the moment shows.
    pub fn settle(&mut self) {
        let time = self.time();
        self.drawing = crate::drawing::filling(&self.base, &self.car, &self.all, time);
        self.words = self.said(time);
    }

    fn said(&self, time: f64) -> Vec<(String, String)> {
        let mut words = Vec::new();
        for refused in &self.refused {
            words.push(("Not run".to_owned(), refused.clone()));
        }
        let Some(curves) = self.curves() else { return words };
        let seconds = |si: f64| show(si, Kind::Time, self.units);
        words.push(("Time".to_owned(), format!("{} of {}", seconds(time), seconds(curves.duration))));
        for (at, nozzle) in curves.nozzles.iter().enumerate() {
            let letter =
                Figure::Flow.series(curves).get(at).map_or_else(String::new, |one| one.letter.clone());
            let has = match nozzle.arrival {
                Some(arrival) if arrival <= time => format!("AGENT since {}", seconds(arrival)),
                Some(arrival) => format!("no agent until {}", seconds(arrival)),
                None => "agent never arrives".to_owned(),
            };
            let flow = show(curves.at(&nozzle.flow, time), Kind::Flow, self.units);
            let share = crate::units::significant(curves.at(&nozzle.share, time) * 100.0, 3);
            words.push((
                format!("{letter} nozzle"),
                format!("{}: {has}, {flow}, {share} % so far", nozzle.id),
            ));
        }
        for (bottle, pressure) in curves.bottles.iter().zip(&curves.pressure) {
            let pressure = show(curves.at(pressure, time), Kind::Pressure, self.units);
            words.push(("Bottle".to_owned(), format!("{bottle}: {pressure}")));
        }
        let wet: Vec<String> = curves
            .lines
            .iter()
            .map(|line| format!("{} {:.0} %", line.id, curves.at(&line.wetted, time) * 100.0))
            .collect();
        words.push(("Wet".to_owned(), wet.join(", ")));
        if self.changes > 0 {
            words.push((
                "What if".to_owned(),
                format!("{} changed", super::text::many(self.changes, "value")),
            ));
        }
        words.push(("Model".to_owned(), "liquid only, from the valve being open".to_owned()));
        words.extend(curves.notes.iter().map(|note| ("Note".to_owned(), note.clone())));
        words.push(("Assumed".to_owned(), curves.assumed.join("; ")));
        words
    }
}

/// Styles that a plan on screen explains, in the order of its legend.
pub fn explained(drawing: &Drawing) -> Vec<Style> {
    let hidden = [Style::Axle, Style::Ground, Style::Wheel, Style::FrameTube];
    drawing.styles().into_iter().filter(|style| !hidden.contains(style)).collect()
}

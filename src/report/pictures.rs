//! Drawings of a report: the car to scale with its open items where they are, and its discharge as curves.

use crate::drawing::{FindingAt, Plan, View, chart_page, plan, plan_page};

use super::document::{Block, Item, Picture, Section};
use super::facts::State;
use super::input::Kind;
use super::record::Record;

/// Width that a drawing is laid out for; its letters keep their size at this one, so on paper it is about a page's own.
const WIDE: f64 = 500.0;

/// The sections with drawings; those that are empty are left out by the caller.
pub(super) fn sections(record: &Record<'_>, kind: Kind, body: &[Section]) -> Vec<Section> {
    let items = body.iter().flat_map(|section| &section.blocks).filter_map(|block| match block {
        Block::Item(item) => Some(item),
        _ => None,
    });
    let open = items
        .filter(|item| matches!(item.state, State::Open | State::Repaired | State::NotYet | State::NotSeen));
    let found: Vec<FindingAt> = open.filter_map(|item| found(record, item)).collect();
    match kind {
        Kind::Slip | Kind::Due => Vec::new(),
        Kind::Deficiency | Kind::FixFirst => vec![seen(record, &found)],
        Kind::Full | Kind::Delivery => vec![seen(record, &found), discharge(record)],
    }
}

fn found(record: &Record<'_>, item: &Item) -> Option<FindingAt> {
    Some(FindingAt {
        number: item.number?,
        of: item.of.clone(),
        station: record.check(&item.check)?.station.clone(),
        label: item.heading.clone(),
    })
}

/// The car from above and from the side.
fn seen(record: &Record<'_>, found: &[FindingAt]) -> Section {
    let mut section = Section::new(match found {
        [] => "The car to scale",
        _ => "The car to scale, with open items where they are",
    });
    let car = record.input.car;
    let parts = car.runs().count() + car.suppression.nozzles.len() + car.suppression.bottles.len();
    if parts == 0 && found.is_empty() {
        return section;
    }
    let stations = record.stations.iter().filter_map(|id| record.rules().station(id)).collect();
    let drawn = Plan { car, stations, findings: found, here: None };
    for view in [View::Top, View::Side] {
        let numbers: Vec<String> = found.iter().map(|one| format!("{} {}", one.number, one.label)).collect();
        let open = if numbers.is_empty() { "no open item".to_owned() } else { numbers.join("; ") };
        section.blocks.push(Block::Picture(Picture {
            title: format!("The car {}", view.title()),
            words: format!("Lines, bottles, nozzles and stations to scale. Marked on it: {open}."),
            page: plan_page(&plan(&drawn, view), WIDE, record.input.units),
        }));
    }
    section
}

/// The curves of every network that discharges.
fn discharge(record: &Record<'_>) -> Section {
    let mut section = Section::new("Discharge over time");
    for curves in record.input.curves {
        let of = curves.bottles.join(", ");
        section.blocks.push(Block::Picture(Picture {
            title: format!("Discharge of {of}"),
            words: "Flow out of each nozzle, pressure in each bottle and share of each nozzle, over time."
                .to_owned(),
            page: chart_page(curves, WIDE, record.input.units),
        }));
    }
    section
}

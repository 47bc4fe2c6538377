//! Drawings of a report: the car to scale with its open items where they are, and its discharge as curves.

use crate::drawing::{
    Drawing, Figure, FindingAt, Plan, View, chart_page, legend_page, notes_of, plan, plan_page, styles_of,
};

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
        Kind::Slip | Kind::Due | Kind::Build => Vec::new(),
        Kind::Deficiency | Kind::FixFirst => vec![seen(record, &found)],
        Kind::Full | Kind::Delivery => vec![seen(record, &found), discharge(record)],
    }
}

fn found(record: &Record<'_>, item: &Item) -> Option<FindingAt> {
    // What has no number is in no list.
    item.number?;
    Some(FindingAt {
        code: item.code.clone(),
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
    let drawings = [View::Top, View::Side].map(|view| plan(&drawn, view));
    let named: Vec<String> = found.iter().map(|one| format!("{} {}", one.code, one.label)).collect();
    let open = if named.is_empty() { "no open item".to_owned() } else { named.join("; ") };
    for drawing in &drawings {
        section.blocks.push(Block::Picture(Picture {
            title: format!("The car {}", drawing.view.title()),
            words: format!("Lines, bottles, nozzles and stations to scale. Marked on it: {open}."),
            page: plan_page(drawing, WIDE, record.input.units),
            notes: Vec::new(),
        }));
    }
    section.blocks.push(Block::Picture(legend(&drawings)));
    section
}

/// What the lines and signs of the drawings mean.
fn legend(drawings: &[Drawing]) -> Picture {
    let styles = styles_of(drawings);
    let words: Vec<&str> = styles.iter().map(|style| style.words()).collect();
    Picture {
        title: "Lines and signs".to_owned(),
        words: format!("How each of these is drawn: {}.", words.join(", ")),
        page: legend_page(&styles, WIDE),
        notes: notes_of(drawings),
    }
}

/// The curves of every network that discharges.
fn discharge(record: &Record<'_>) -> Section {
    let mut section = Section::new("Discharge over time");
    for curves in record.input.curves {
        let of = curves.bottles.join(", ");
        for figure in Figure::ALL {
            let title = figure.title();
            section.blocks.push(Block::Picture(Picture {
                title: format!("{title}: {of}"),
                words: format!("{title} from the moment the valve is open, one curve each."),
                page: chart_page(curves, *figure, WIDE, record.input.units),
                notes: Vec::new(),
            }));
        }
        if let Some(Block::Picture(last)) = section.blocks.last_mut() {
            last.notes.clone_from(&curves.notes);
            let assumed = curves.assumed.join("; ");
            last.notes.extend((!assumed.is_empty()).then(|| format!("Assumed: {assumed}.")));
        }
    }
    section
}

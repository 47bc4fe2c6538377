//! Discharge curves on a page: flow of each nozzle, pressure of each bottle, share of each nozzle.

use crate::units::{Kind, Units, show};

use super::curves::Curves;
use super::page::{LETTERS, Page, Pen, wrapped};
use super::sheet::{Flat, Style};

/// What a figure shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Figure {
    /// Flow out of each nozzle.
    #[default]
    Flow,
    /// Gauge pressure of each bottle.
    Pressure,
    /// Each nozzle's share of what was delivered until then.
    Share,
}

/// One curve of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Series<'a> {
    /// The letter beside it.
    pub letter: String,
    /// The id it is of.
    pub id: &'a str,
    /// Its values, as many as the network has times.
    pub values: &'a [f64],
}

impl Figure {
    /// Every figure, in order.
    pub const ALL: &'static [Self] = &[Self::Flow, Self::Pressure, Self::Share];

    /// Its words.
    pub fn title(self) -> &'static str {
        match self {
            Self::Flow => "Flow out of each nozzle",
            Self::Pressure => "Pressure in each bottle",
            Self::Share => "Share of what is delivered so far",
        }
    }

    /// Its curves.
    pub fn series(self, curves: &Curves) -> Vec<Series<'_>> {
        let named: Vec<(&str, &[f64])> = match self {
            Self::Flow => curves.nozzles.iter().map(|one| (one.id.as_str(), one.flow.as_slice())).collect(),
            Self::Share => curves.nozzles.iter().map(|one| (one.id.as_str(), one.share.as_slice())).collect(),
            Self::Pressure => curves
                .bottles
                .iter()
                .map(String::as_str)
                .zip(curves.pressure.iter().map(Vec::as_slice))
                .collect(),
        };
        named
            .into_iter()
            .enumerate()
            .map(|(at, (id, values))| Series { letter: super::ring::letter(at), id, values })
            .collect()
    }

    /// The largest value: the top of the figure.
    pub fn top(self, curves: &Curves) -> f64 {
        if self == Self::Share {
            return 1.0;
        }
        let most = self.series(curves).iter().flat_map(|one| one.values.to_vec()).fold(0.0, f64::max);
        if most > 0.0 { most } else { 1.0 }
    }

    /// A value as people read it.
    pub fn show(self, value: f64, units: Units) -> String {
        match self {
            Self::Flow => show(value, Kind::Flow, units),
            Self::Pressure => show(value, Kind::Pressure, units),
            Self::Share => format!("{} %", crate::units::significant(value * 100.0, 3)),
        }
    }
}

/// Dashes that tell curves apart without colour, in turn.
const DASHES: &[&[f64]] = &[&[], &[8.0, 3.0], &[2.0, 2.0], &[10.0, 3.0, 2.0, 3.0], &[1.0, 4.0]];

/// Height of one figure.
const TALL: f64 = 150.0;
/// Room for the scale on the left.
const LEFT: f64 = 64.0;

/// One figure of one network. What was assumed stands in [`Curves::notes`] and [`Curves::assumed`].
pub fn chart_page(curves: &Curves, figure: Figure, width: f64, units: Units) -> Page {
    let mut page = Page { width: width.max(240.0), height: 0.0, ops: Vec::new() };
    one(&mut page, figure, curves, units);
    page
}

fn one(page: &mut Page, figure: Figure, curves: &Curves, units: Units) {
    let above = page.height + LETTERS * 0.6;
    let (top, wide) = (figure.top(curves), page.width - LEFT - 24.0);
    let long = if curves.duration > 0.0 { curves.duration } else { 1.0 };
    let onto = |time: f64, value: f64| -> Flat {
        [LEFT + time / long * wide, above + TALL * (1.0 - (value / top).clamp(0.0, 1.0))]
    };
    page.line(vec![onto(0.0, top), onto(0.0, 0.0), onto(long, 0.0)], Pen::thin(), "");
    page.text([4.0, above + LETTERS * 0.8], figure.show(top, units));
    page.text([4.0, above + TALL], figure.show(0.0, units));
    let below = above + TALL + LETTERS * 1.3;
    page.text([LEFT, below], "0 s");
    page.text([page.width - 48.0, below], show(long, Kind::Time, units));
    let mut words = Vec::new();
    let all = figure.series(curves);
    let count = all.len();
    for (at, series) in all.iter().enumerate() {
        let points: Vec<Flat> = thin_out(
            curves.times.iter().zip(series.values).map(|(time, value)| onto(*time, *value)).collect(),
        );
        let dash = DASHES.get(at % DASHES.len()).copied().unwrap_or(&[]);
        let pen = Pen { dash, ..Pen::of(Style::Shield) };
        // The letter stands on its curve, each a little further along than the one before.
        let time = long * letter_at(at, count);
        let [x, y] = onto(time, curves.at(series.values, time));
        page.text([x, y - 3.0], series.letter.clone());
        page.line(points, pen, series.id);
        words.push(format!("{} {}", series.letter, series.id));
    }
    let mut y = below + LETTERS * 1.3;
    for line in wrapped(&words.join(", "), page.width - LEFT) {
        page.text([LEFT, y], line);
        y += LETTERS * 1.3;
    }
    page.height = y;
}

/// Where along the time axis the letter of a curve stands, as a share: apart from those of the others.
#[expect(clippy::cast_precision_loss, reason = "a car has a handful of nozzles")]
pub fn letter_at(at: usize, count: usize) -> f64 {
    0.30 + 0.6 * at as f64 / count.max(1) as f64
}

/// Points less than half a unit from the one before are left out; the last stays.
fn thin_out(points: Vec<Flat>) -> Vec<Flat> {
    let mut kept: Vec<Flat> = Vec::new();
    let last = points.last().copied();
    for point in points {
        if kept.last().is_none_or(|before| super::shape::apart(*before, point) >= 0.5) {
            kept.push(point);
        }
    }
    if let Some(last) = last
        && kept.last() != Some(&last)
    {
        kept.push(last);
    }
    kept
}

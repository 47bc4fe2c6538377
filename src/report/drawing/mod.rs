//! The car as a drawing to scale, and the discharge as curves: neutral strokes, circles and marks that a screen, a page
//! or a printer draws each in its own way. Never colours of a terminal, never files.

mod chart;
mod curves;
mod filling;
mod labels;
mod legend;
mod page;
mod parts;
mod plan;
mod ring;
mod shape;
mod sheet;
mod svg;

pub use chart::{Figure, Series, chart_page, letter_at};
pub use curves::{Curves, LineCurve, NozzleCurve, discharge_curves};
pub use filling::{fill_starts_at_end, filling};
pub use legend::{legend_page, notes_of, styles_of};
pub use page::{Op, Page, Pen, plan_page};
pub use plan::{FindingAt, Plan, plan};
pub use shape::{dashes, hull};
pub use sheet::{Bounds, Circle, Drawing, Flat, Mark, Stroke, Style, View};
pub use svg::svg;

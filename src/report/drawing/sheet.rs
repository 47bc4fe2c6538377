//! What a drawing is made of. Coordinates are metres on the sheet: across to the right, up.

use crate::model::Point;

/// A point of the sheet, m: to the right, up.
pub type Flat = [f64; 2];

/// From where the car is seen. The front is to the right in both, so that the two stand over each other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum View {
    /// From above: x to the right, y (the car's left) up.
    #[default]
    Top,
    /// From the car's right side: x to the right, z up.
    Side,
}

impl View {
    /// A point of the car on the sheet.
    pub fn flat(self, [x, y, z]: Point) -> Flat {
        match self {
            Self::Top => [x, y],
            Self::Side => [x, z],
        }
    }

    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Self::Top => Self::Side,
            Self::Side => Self::Top,
        }
    }

    /// How people call it.
    pub fn title(self) -> &'static str {
        match self {
            Self::Top => "from above, front to the right, left side up",
            Self::Side => "from the right side, front to the right",
        }
    }
}

/// What a stroke, a circle or a mark stands for. Each is drawn apart from the others without colour too.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "each is the part it names")]
pub enum Style {
    BrakeRun,
    SuppressionRun,
    FlexibleRun,
    Hose,
    FrameTube,
    FrameSleeve,
    Wet,
    Hazard,
    Shield,
    KeepClear,
    Cone,
    Wheel,
    Axle,
    Ground,
    Bottle,
    Tee,
    Nozzle,
    Station,
    Here,
    Finding,
}

impl Style {
    /// Every style with its words for a legend, in the order a legend has them.
    pub const ALL: &'static [(Self, &'static str)] = &[
        (Self::BrakeRun, "brake line"),
        (Self::Hose, "brake hose"),
        (Self::SuppressionRun, "suppression line, hard"),
        (Self::FlexibleRun, "suppression line, flexible"),
        (Self::Wet, "agent in the line"),
        (Self::FrameTube, "frame tube round a run"),
        (Self::FrameSleeve, "sleeve"),
        (Self::Bottle, "bottle"),
        (Self::Tee, "tee"),
        (Self::Nozzle, "nozzle"),
        (Self::Cone, "cone of a nozzle"),
        (Self::Hazard, "what must be wetted"),
        (Self::Shield, "shield"),
        (Self::KeepClear, "keep clear"),
        (Self::Wheel, "wheel"),
        (Self::Axle, "axle line"),
        (Self::Ground, "ground"),
        (Self::Station, "station"),
        (Self::Here, "you are here"),
        (Self::Finding, "open item, by code"),
    ];

    /// Its words.
    pub fn words(self) -> &'static str {
        Self::ALL.iter().find(|(style, _)| *style == self).map_or("", |(_, words)| words)
    }
}

/// A line through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Its points.
    pub points: Vec<Flat>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
    /// What it is.
    pub style: Style,
    /// Whether the way between its ends is not given and is drawn straight.
    pub straight: bool,
    /// The id in the car file; empty where it has none.
    pub id: String,
    /// Its words.
    pub label: String,
}

/// A circle.
#[derive(Clone, Debug, PartialEq)]
pub struct Circle {
    /// Its centre.
    pub centre: Flat,
    /// Its radius, m.
    pub radius: f64,
    /// What it is.
    pub style: Style,
    /// Its words.
    pub label: String,
}

/// A sign at a point, the same size at every scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Where.
    pub at: Flat,
    /// What it is.
    pub style: Style,
    /// The one or two signs drawn: a number, a letter.
    pub text: String,
    /// The id in the car file or of the station.
    pub id: String,
    /// Its words.
    pub label: String,
}

/// A rectangle of the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub low: Flat,
    /// Upper right corner.
    pub high: Flat,
}

impl Bounds {
    /// The smallest one around points; none where there are no points.
    pub fn around(points: impl IntoIterator<Item = Flat>) -> Option<Self> {
        points.into_iter().fold(None, |bounds, point| {
            Some(bounds.map_or(Self { low: point, high: point }, |known: Self| known.with(point)))
        })
    }

    fn with(self, [x, y]: Flat) -> Self {
        let ([a, b], [c, d]) = (self.low, self.high);
        Self { low: [a.min(x), b.min(y)], high: [c.max(x), d.max(y)] }
    }

    /// The same with a margin on every side, m.
    pub fn grown(self, by: f64) -> Self {
        let ([a, b], [c, d]) = (self.low, self.high);
        Self { low: [a - by, b - by], high: [c + by, d + by] }
    }

    /// Width and height, m.
    pub fn size(self) -> Flat {
        let ([a, b], [c, d]) = (self.low, self.high);
        [c - a, d - b]
    }

    /// Its middle.
    pub fn centre(self) -> Flat {
        let ([a, b], [c, d]) = (self.low, self.high);
        [(a + c) / 2.0, (b + d) / 2.0]
    }

    /// A window of `share` of its size whose middle is at a point, moved so that it stays inside.
    pub fn window(self, at: Flat, share: f64) -> Self {
        let share = share.clamp(0.01, 1.0);
        let half = self.size().map(|side| side * share / 2.0);
        let held =
            |at: f64, half: f64, low: f64, high: f64| at.clamp(low + half, (high - half).max(low + half));
        let ([x, y], [half_x, half_y]) = (at, half);
        let ([a, b], [c, d]) = (self.low, self.high);
        let (x, y) = (held(x, half_x, a, c), held(y, half_y, b, d));
        Self { low: [x - half_x, y - half_y], high: [x + half_x, y + half_y] }
    }
}

/// A car from one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// From where it is seen.
    pub view: View,
    /// What it takes, margin included.
    pub bounds: Bounds,
    /// Lines, those behind first.
    pub strokes: Vec<Stroke>,
    /// Circles.
    pub circles: Vec<Circle>,
    /// Signs.
    pub marks: Vec<Mark>,
    /// What the reader should know: what is left out or assumed.
    pub notes: Vec<String>,
}

impl Default for Drawing {
    fn default() -> Self {
        Self {
            view: View::Top,
            bounds: Bounds { low: [0.0, 0.0], high: [1.0, 1.0] },
            strokes: Vec::new(),
            circles: Vec::new(),
            marks: Vec::new(),
            notes: Vec::new(),
        }
    }
}

impl Drawing {
    /// The styles that stand in it, in the order of a legend.
    pub fn styles(&self) -> Vec<Style> {
        let has = |style: &Style| {
            self.strokes.iter().any(|stroke| stroke.style == *style)
                || self.circles.iter().any(|circle| circle.style == *style)
                || self.marks.iter().any(|mark| mark.style == *style)
        };
        Style::ALL.iter().map(|(style, _)| *style).filter(has).collect()
    }

    /// The mark of a station, by its id.
    pub fn station(&self, id: &str) -> Option<&Mark> {
        self.marks.iter().find(|mark| mark.style == Style::Station && mark.id == id)
    }
}

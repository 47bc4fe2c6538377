//! A number against its limit as a mark on a track: the limit always stands at the same place, so that a column of gauges
//! can be scanned. The figures stand beside it.

/// The limits that a track shows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ends {
    /// At least.
    pub min: Option<f64>,
    /// At most.
    pub max: Option<f64>,
}

/// Columns of a track on a narrow screen, a common one, and a wide one.
pub const TRACKS: [usize; 3] = [12, 24, 36];

/// The track: `:` is outside, `-` inside, `|` the limit, `=` the band, `o` the value; `!` is a limit inside the band, and
/// `<` or `>` a value that lies off the track. None where there is no limit, or where it is zero.
pub fn gauge(columns: usize, value: f64, band: Option<[f64; 2]>, ends: Ends) -> Option<String> {
    let track = Track::of(columns, ends)?;
    if !value.is_finite() {
        return None;
    }
    let mut cells: Vec<char> = (0..columns).map(|at| track.ground(at)).collect();
    if let Some([low, high]) = band.filter(|[low, high]| low.is_finite() && high.is_finite() && low < high) {
        for at in track.at(low)..=track.at(high) {
            if let Some(cell) = cells.get_mut(at) {
                *cell = if *cell == '|' { '!' } else { '=' };
            }
        }
    }
    let mark = match track.share(value) {
        share if share < 0.0 => '<',
        share if share > 1.0 => '>',
        _ => 'o',
    };
    if let Some(cell) = cells.get_mut(track.at(value)) {
        *cell = mark;
    }
    Some(cells.into_iter().collect())
}

/// A track of so many columns: what lies at its ends, and where the limits stand on it.
struct Track {
    columns: usize,
    from: f64,
    to: f64,
    /// The least and the most, each with its column.
    least: Option<(f64, usize)>,
    most: Option<(f64, usize)>,
}

impl Track {
    fn of(columns: usize, ends: Ends) -> Option<Self> {
        let (from, to, least, most) = match (ends.min, ends.max) {
            (Some(least), None) if least > 0.0 => (0.0, 3.0 * least, Some((least, columns / 3)), None),
            (None, Some(most)) if most > 0.0 => (0.0, 1.5 * most, None, Some((most, 2 * columns / 3))),
            (Some(least), Some(most)) if least < most => {
                let half = (most - least) / 2.0;
                (least - half, most + half, Some((least, columns / 4)), Some((most, 3 * columns / 4)))
            }
            _ => return None,
        };
        Some(Self { columns, from, to, least, most })
    }

    /// Of the track's length, below zero and above one off it.
    fn share(&self, value: f64) -> f64 {
        (value - self.from) / (self.to - self.from)
    }

    /// The column of a value: however little it is off a limit, it is on its own side of it.
    fn at(&self, value: f64) -> usize {
        let (mut first, mut last) = (0, self.columns.saturating_sub(1));
        match self.least {
            Some((least, tick)) if value < least => last = tick.saturating_sub(1),
            Some((_, tick)) => first = tick + 1,
            None => {}
        }
        match self.most {
            Some((most, tick)) if value > most => first = tick + 1,
            Some((_, tick)) => last = last.min(tick.saturating_sub(1)),
            None => {}
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a share of a few dozen columns, never below none"
        )]
        let column = (self.share(value).clamp(0.0, 1.0) * self.columns as f64) as usize;
        column.clamp(first, last.max(first))
    }

    fn ground(&self, at: usize) -> char {
        let (least, most) = (self.least.map(|(_, tick)| tick), self.most.map(|(_, tick)| tick));
        if [least, most].contains(&Some(at)) {
            '|'
        } else if least.is_some_and(|tick| at < tick) || most.is_some_and(|tick| at > tick) {
            ':'
        } else {
            '-'
        }
    }
}

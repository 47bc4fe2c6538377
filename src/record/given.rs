//! How the answers of a walk were given: one by one, by whole station, by eye, and how many seconds apart. Facts, and no
//! judgement of the person.

use std::collections::BTreeSet;

use serde::Serialize;

use super::entry::{Entry, Finding, Kept};
use super::history::History;

/// How the answers of a walk were given. Each answer that stands is counted once.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct HowGiven {
    /// The walk.
    pub walk: String,
    /// Whether it asked only what was open.
    pub recheck: bool,
    /// Answers given one by one.
    pub one_by_one: usize,
    /// Answers given with their whole station by one key.
    pub by_station: usize,
    /// Those of them that were by eye, where a value is asked.
    pub by_station_by_eye: usize,
    /// Answers given by eye one by one, where a value is asked.
    pub by_eye: usize,
    /// Answers keyed in from a paper sheet one by one.
    pub from_paper: usize,
    /// Accepts keyed in as one of a range of rows or of the rest of a paper sheet.
    pub from_rest: usize,
    /// The middle of the seconds from one answer to the next; none where there are not two of them, or from paper.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub median_seconds: Option<f64>,
}

impl HowGiven {
    /// Counts what stands of a walk's answers. What a number alone says is nobody's answer.
    pub fn of(history: &History, walk: &str) -> Self {
        let mut how = Self { walk: walk.to_owned(), ..Self::default() };
        let started = history.get(walk).and_then(|kept| match &kept.entry {
            Entry::WalkStarted(started) => Some(started),
            _ => None,
        });
        how.recheck = started.is_some_and(|started| started.recheck);
        let all_paper = started.is_some_and(|started| started.answers_sha256.is_some());
        let paper = |finding: &Finding| all_paper || finding.sheet.is_some();
        let findings = history.findings();
        let answers: Vec<&(&Kept, &Finding)> =
            findings.iter().filter(|(_, finding)| finding.walk == walk && !finding.is_computed()).collect();
        let mut told: BTreeSet<(&str, Option<&str>)> = BTreeSet::new();
        for (_, finding) in answers.iter().rev() {
            if !told.insert((&finding.check, finding.of.as_deref())) {
                continue;
            }
            match (paper(finding), finding.by_station, finding.by_eye) {
                (true, ..) if finding.is_of_rest() => how.from_rest += 1,
                (true, ..) => how.from_paper += 1,
                (_, true, by_eye) => {
                    how.by_station += 1;
                    how.by_station_by_eye += usize::from(by_eye);
                }
                (_, _, true) => how.by_eye += 1,
                _ => how.one_by_one += 1,
            }
        }
        // What was keyed in from paper has the times of the keys, not of the looks.
        let looked = answers.iter().filter(|(_, finding)| !paper(finding));
        let times = looked.map(|(kept, _)| kept.at.timestamp_millis()).collect();
        how.median_seconds = median_gap(times).map(|ms| ms / 1000.0);
        how
    }

    /// In one line: "31 one by one, 14 by whole station (11 of them by eye), 2 by eye; median 6 s an answer". Empty
    /// where nothing was answered.
    pub fn words(&self) -> String {
        let eye = match self.by_station_by_eye {
            0 => String::new(),
            count => format!(" ({count} of them by eye)"),
        };
        let parts = [
            (self.one_by_one, "one by one".to_owned()),
            (self.by_station, format!("by whole station{eye}")),
            (self.by_eye, "by eye".to_owned()),
            (self.from_paper, "from a paper sheet".to_owned()),
            (self.from_rest, "rest of a sheet".to_owned()),
        ];
        let parts: Vec<String> = parts
            .iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, how)| format!("{count} {how}"))
            .collect();
        let each = match self.median_seconds {
            Some(seconds) if seconds < 0.5 => "; median under 1 s an answer".to_owned(),
            Some(seconds) => format!("; median {seconds:.0} s an answer"),
            None => String::new(),
        };
        if parts.is_empty() { String::new() } else { format!("{}{each}", parts.join(", ")) }
    }
}

/// The median of the gaps between some times.
fn median_gap(mut times: Vec<i64>) -> Option<f64> {
    times.sort_unstable();
    let mut gaps: Vec<i64> = times.windows(2).filter_map(|pair| Some(pair.last()? - pair.first()?)).collect();
    gaps.sort_unstable();
    let (low, high) = (gaps.get(gaps.len().checked_sub(1)? / 2)?, gaps.get(gaps.len() / 2)?);
    Some((*low as f64 + *high as f64) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: gaps of 2, 9 and 4 s have the middle 4; with one of 6 more, the mean of 4 and 6.
    #[test]
    fn the_median_is_the_middle_gap() {
        assert_eq!(median_gap(vec![0, 2, 11, 15]), Some(4.0));
        assert_eq!(median_gap(vec![0, 2, 11, 15, 21]), Some(5.0));
        assert_eq!(median_gap(vec![7]), None);
    }

    #[test]
    fn it_is_one_line() {
        let how = HowGiven {
            one_by_one: 31,
            by_station: 14,
            by_station_by_eye: 11,
            by_eye: 2,
            median_seconds: Some(5.6),
            ..HowGiven::default()
        };
        let words = "31 one by one, 14 by whole station (11 of them by eye), 2 by eye; median 6 s an answer";
        assert_eq!(how.words(), words);
        assert_eq!(HowGiven::default().words(), "");
    }
}

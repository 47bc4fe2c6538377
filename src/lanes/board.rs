//! What race control sees: cars with an open stop, cars that wait for a second look, cars nobody has seen, since
//! when, and the pace of each lane. Made from the same records as every report.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::server::Lane;
use linewalk_record::entry::{Entry, Moment, Outcome, Severity};
use linewalk_record::escape::escape_control;
use linewalk_record::history::{History, Standing};

/// One open item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// The check.
    pub check: String,
    /// The item of it, where it goes over several.
    pub of: Option<String>,
    /// Its title.
    pub title: String,
    /// Since when.
    pub since: Moment,
    /// The writer that found it, or says it is repaired.
    pub writer: String,
}

/// A car as race control sees it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CarNow {
    /// Its id.
    pub car: String,
    /// Its number; its id where none is known.
    pub number: String,
    /// Open stops, but those said to be repaired.
    pub stops: Vec<Item>,
    /// Stops said to be repaired and not looked at again.
    pub rechecks: Vec<Item>,
    /// Open items of less weight.
    pub others: usize,
    /// Walks that have not ended: writer, since when.
    pub walking: Vec<(String, Moment)>,
    /// Whether anything was ever answered about it.
    pub seen: bool,
}

impl CarNow {
    /// A car from its record. `number` is the one its file gives.
    pub fn of(car: &str, number: Option<&str>, history: &History) -> Self {
        let walks = history.walks();
        let walked = walks.iter().rev().find_map(|walk| walk.started.number.clone());
        let mut now = Self {
            car: car.to_owned(),
            number: number.map(str::to_owned).or(walked).unwrap_or_else(|| car.to_owned()),
            walking: walks
                .iter()
                .filter(|walk| walk.ended.is_none())
                .filter_map(|walk| Some((history.get(walk.id)?.writer.clone(), walk.at)))
                .collect(),
            seen: history.standing_entries().any(|kept| matches!(kept.entry, Entry::Finding(_))),
            ..Self::default()
        };
        for standing in history.open() {
            let repaired = standing.finding.result == Outcome::Repaired;
            match (standing.cause().severity, repaired) {
                (Severity::Stop, true) => now.rechecks.push(item(&standing, true)),
                (Severity::Stop, false) => now.stops.push(item(&standing, false)),
                _ => now.others += 1,
            }
        }
        now
    }

    /// Whether it answers to what was typed: a part of its number or id, in any case.
    fn fits(&self, text: &str) -> bool {
        let text = text.to_lowercase();
        self.number.to_lowercase().contains(&text) || self.car.to_lowercase().contains(&text)
    }
}

/// A stop counts from when it was opened; a wait for a second look, from when it was said to be repaired.
fn item(standing: &Standing<'_>, repaired: bool) -> Item {
    let kept = if repaired { standing.kept } else { standing.opened.unwrap_or(standing.kept) };
    Item {
        check: standing.finding.check.clone(),
        of: standing.of.map(str::to_owned),
        title: standing.finding.title.clone(),
        since: kept.seen_at(),
        writer: kept.writer.clone(),
    }
}

/// Which rows are wanted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Only {
    /// All of them.
    #[default]
    All,
    /// Open stops.
    Stops,
    /// Stops that wait for a second look.
    Rechecks,
    /// Cars not yet seen.
    Unseen,
}

/// What is filtered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Kind of row.
    pub only: Only,
    /// Rows of this lane only, by its login.
    pub lane: Option<String>,
    /// Rows of cars with this in their number or id.
    pub car: Option<String>,
}

/// Everything race control sees at one moment.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Board {
    /// Cars, by id.
    pub cars: BTreeMap<String, CarNow>,
    /// Numbers of the entry list that no car here bears.
    pub unknown: Vec<String>,
    /// Lanes.
    pub lanes: Vec<Lane>,
    /// How the connection stands; `None` where it is up.
    pub trouble: Option<String>,
    /// Now.
    pub now: Moment,
}

/// One row of the list.
struct Row<'b> {
    mark: &'static str,
    car: &'b CarNow,
    item: &'b Item,
}

impl Board {
    /// Marks the numbers of an entry list that no car bears, so that they count as not yet seen.
    pub fn expect(&mut self, entries: &[String]) {
        let known =
            |entry: &&String| self.cars.values().any(|car| car.number == **entry || car.car == **entry);
        self.unknown = entries.iter().filter(|entry| !known(entry)).cloned().collect();
    }

    /// A lane by its login; its writer id where the server does not tell.
    fn lane<'b>(&'b self, writer: &'b str) -> &'b str {
        let whole = self.lanes.iter().find(|lane| lane.writer == writer);
        whole.map_or(writer, |lane| lane.login.as_str())
    }

    fn rows(&self, filter: &Filter) -> Vec<Row<'_>> {
        let mut rows = Vec::new();
        let cars = self.cars.values().filter(|car| filter.car.as_ref().is_none_or(|text| car.fits(text)));
        for car in cars {
            if matches!(filter.only, Only::All | Only::Stops) {
                rows.extend(car.stops.iter().map(|item| Row { mark: "STOP", car, item }));
            }
            if matches!(filter.only, Only::All | Only::Rechecks) {
                rows.extend(car.rechecks.iter().map(|item| Row { mark: "AGAIN", car, item }));
            }
        }
        rows.retain(|row| filter.lane.as_ref().is_none_or(|lane| self.lane(&row.item.writer) == lane));
        rows.sort_by_key(|row| (row.mark != "STOP", row.item.since, row.car.car.as_str()));
        rows
    }

    /// Numbers of cars nobody has answered anything about.
    fn unseen(&self, filter: &Filter) -> Vec<&str> {
        if !matches!(filter.only, Only::All | Only::Unseen) || filter.lane.is_some() {
            return Vec::new();
        }
        let cars = self.cars.values().filter(|car| !car.seen);
        let cars = cars.filter(|car| filter.car.as_ref().is_none_or(|text| car.fits(text)));
        let wanted = |number: &&String| filter.car.as_ref().is_none_or(|text| number.contains(text.as_str()));
        cars.map(|car| car.number.as_str())
            .chain(self.unknown.iter().filter(wanted).map(String::as_str))
            .collect()
    }

    /// Cars in all, with a stop, waiting, not seen.
    fn counts(&self) -> [usize; 4] {
        let count = |wanted: fn(&CarNow) -> bool| self.cars.values().filter(|car| wanted(car)).count();
        [
            self.cars.len() + self.unknown.len(),
            count(|car| !car.stops.is_empty()),
            count(|car| !car.rechecks.is_empty()),
            count(|car| !car.seen) + self.unknown.len(),
        ]
    }

    /// The board as text of this many columns; every word of it inert.
    pub fn text(&self, filter: &Filter, columns: usize) -> String {
        let mut out = String::new();
        let [all, stops, again, unseen] = self.counts();
        let state = self.trouble.as_ref().map_or("joined", |_| "NOT JOINED");
        let _ = writeln!(
            out,
            "EVENT {all} cars | STOP {stops} | AGAIN {again} | NOT SEEN {unseen} | {state} {}",
            self.now.format("%H:%M:%S")
        );
        if let Some(trouble) = &self.trouble {
            let _ = writeln!(out, "! {}", cut(trouble, columns.saturating_sub(2)));
        }
        if !self.lanes.is_empty() {
            out.push_str("LANE           CARS 1 h  CARS  RECORDS 1 h  RECORDS  LAST\n");
        }
        for lane in &self.lanes {
            let last = lane.last.map_or_else(|| "-".to_owned(), |last| last.format("%H:%M:%S").to_string());
            let _ = writeln!(
                out,
                "{} {:>8}  {:>4}  {:>11}  {:>7}  {last}",
                padded(&lane.login, 14),
                lane.cars[1],
                lane.cars[0],
                lane.records[1],
                lane.records[0]
            );
        }
        out.push_str("\nSINCE  FOR     CAR      LANE         WHAT\n");
        let rows = self.rows(filter);
        for Row { mark, car, item } in &rows {
            let of = item.of.as_ref().map_or_else(String::new, |of| format!(" ({of})"));
            let line = format!(
                "{}  {} {} {} {mark} {}{of}",
                item.since.format("%H:%M"),
                padded(&ago(self.now, item.since), 7),
                padded(&car.number, 8),
                padded(self.lane(&item.writer), 12),
                item.title
            );
            let _ = writeln!(out, "{}", cut(&line, columns));
        }
        let unseen = self.unseen(filter);
        if !unseen.is_empty() {
            let _ = writeln!(out, "{}", cut(&format!("NOT SEEN {}", unseen.join(" ")), columns.max(40)));
        }
        if rows.is_empty() && unseen.is_empty() {
            out.push_str("nothing of that kind\n");
        }
        out
    }

    /// The board for other programs.
    pub fn json(&self, filter: &Filter) -> Value {
        let item = |item: &Item| {
            json!({
                "check": item.check, "of": item.of, "title": item.title,
                "since": item.since.to_rfc3339(), "lane": self.lane(&item.writer), "writer": item.writer,
            })
        };
        let wanted = self.rows(filter).iter().map(|row| row.car.car.as_str()).collect::<Vec<_>>();
        let cars = self.cars.values().filter(|car| wanted.contains(&car.car.as_str())).map(|car| {
            json!({
                "car": car.car, "number": car.number,
                "stops": car.stops.iter().map(item).collect::<Vec<_>>(),
                "rechecks": car.rechecks.iter().map(item).collect::<Vec<_>>(),
                "other_open": car.others,
                "walking": car.walking.iter().map(|(writer, since)| {
                    json!({"lane": self.lane(writer), "since": since.to_rfc3339()})
                }).collect::<Vec<_>>(),
            })
        });
        let lanes = self.lanes.iter().map(|lane| {
            json!({
                "lane": lane.login, "writer": lane.writer,
                "records": lane.records[0], "records_last_hour": lane.records[1],
                "cars": lane.cars[0], "cars_last_hour": lane.cars[1],
                "last": lane.last.map(|last| last.to_rfc3339()),
            })
        });
        let [all, stops, again, unseen] = self.counts();
        json!({
            "format": 1, "now": self.now.to_rfc3339(), "joined": self.trouble.is_none(), "trouble": self.trouble,
            "count": {"cars": all, "stop": stops, "recheck": again, "not_seen": unseen},
            "cars": cars.collect::<Vec<_>>(), "not_seen": self.unseen(filter), "lanes": lanes.collect::<Vec<_>>(),
        })
    }
}

/// Hours and minutes since then.
fn ago(now: Moment, then: Moment) -> String {
    let minutes = (now - then).num_minutes().max(0);
    if minutes >= 48 * 60 {
        format!("{} d", minutes / 1440)
    } else {
        format!("{}:{:02}", minutes / 60, minutes % 60)
    }
}

/// Made inert, then filled or cut to so many columns.
fn padded(text: &str, columns: usize) -> String {
    let text = cut(text, columns);
    let wide = unicode_width::UnicodeWidthStr::width(text.as_str());
    format!("{text}{}", " ".repeat(columns.saturating_sub(wide)))
}

/// Made inert and cut to so many columns.
fn cut(text: &str, columns: usize) -> String {
    let text = escape_control(text);
    let mut out = String::new();
    let mut used = 0;
    for sign in text.chars() {
        used += unicode_width::UnicodeWidthChar::width(sign).unwrap_or(0);
        if used > columns {
            break;
        }
        out.push(sign);
    }
    out
}

/// An entry list: one number or id a line, `#` begins a remark.
pub fn entries(text: &str) -> Vec<String> {
    let lines = text.lines().map(|line| line.split('#').next().unwrap_or_default().trim());
    lines.filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

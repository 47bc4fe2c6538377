//! The order in which a walk asks its checks.

use crate::model::Car;
use crate::model::history::History;
use crate::rules::{Check, Lap, Order, Profile, Ruleset, asked};

/// Why a step stands where it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Asked before anything.
    First,
    /// Open from an earlier walk.
    OpenLastTime,
    /// In its place on the lap.
    Lap,
}

/// One check to ask.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// The check.
    pub check: String,
    /// Its station.
    pub station: String,
    /// Why it stands here.
    pub why: Why,
}

/// What a walk asks, in order, and what it leaves out.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// The steps.
    pub steps: Vec<Step>,
    /// Checks left out: id and reason.
    pub left_out: Vec<(String, String)>,
    /// Stations in the order they are walked.
    pub stations: Vec<String>,
}

impl Plan {
    /// Lays out a walk of a profile from a station on. What was open in earlier walks comes first, then the lap.
    pub fn lay(
        rules: &Ruleset,
        car: &Car,
        profile: &Profile,
        lap: Option<&Lap>,
        start: Option<&str>,
        stage: Option<&str>,
        earlier: &History,
    ) -> Self {
        let stations = stations(rules, profile, lap, start);
        let mut plan = Self { stations, ..Self::default() };
        let (mut asked, left_out) = asked(rules, car, Some(profile), stage);
        plan.left_out = left_out.into_iter().map(|(check, reason)| (check.id.clone(), reason)).collect();
        let place =
            |check: &Check| plan.stations.iter().position(|id| *id == check.station).unwrap_or(usize::MAX);
        asked.sort_by_key(|check| place(check));
        let open: Vec<&str> = earlier.open().iter().map(|standing| standing.finding.check.as_str()).collect();
        for (why, wanted) in [(Why::First, true), (Why::OpenLastTime, false), (Why::Lap, false)] {
            for check in &asked {
                let is_open = open.contains(&check.id.as_str());
                if check.first == wanted && (why == Why::First || is_open == (why == Why::OpenLastTime)) {
                    plan.steps.push(Step { check: check.id.clone(), station: check.station.clone(), why });
                }
            }
        }
        plan
    }

    /// The steps of a station, whatever their reason.
    pub fn at_station<'p>(&'p self, station: &'p str) -> impl Iterator<Item = &'p Step> {
        self.steps.iter().filter(move |step| step.station == station)
    }

    /// Where a check stands.
    pub fn position(&self, check: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.check == check)
    }
}

/// Stations in walking order: the lap's, turned so that it begins at the start; a free profile keeps the lap's order.
fn stations(rules: &Ruleset, profile: &Profile, lap: Option<&Lap>, start: Option<&str>) -> Vec<String> {
    let mut stations: Vec<String> = lap.map_or_else(
        || rules.stations.iter().map(|station| station.id.clone()).collect(),
        |lap| lap.stations.clone(),
    );
    if profile.order == Order::Lap
        && let Some(at) = start.and_then(|start| stations.iter().position(|id| id == start))
    {
        stations.rotate_left(at);
    }
    stations
}

//! How a lane stands with the event, for people and for the mark on screen.

use std::collections::BTreeMap;

use crate::server::Place;

/// How the lane stands, for people.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Status {
    /// Whether the server is reached now.
    pub joined: bool,
    /// Why not, or what it cannot do.
    pub trouble: Option<String>,
    /// Records kept here that the server does not have; while it was never reached, those kept since the program
    /// began, which is the least it can be.
    pub unsent: u64,
    /// Whether the server was reached since the program began.
    pub counted: bool,
    /// Records sent and received since the program began.
    pub sent: u64,
    /// Records that came from other lanes since the program began, by car.
    pub came: BTreeMap<String, u64>,
    /// What each writer is called: its login.
    pub names: BTreeMap<String, String>,
    /// Logs that are not carried, each with its reason.
    pub stuck: BTreeMap<Place, String>,
    /// How far this machine's clock is ahead of the server's, in seconds.
    pub clock_ahead: Option<i64>,
}

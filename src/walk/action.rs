//! What a person can do in a walk, and what stands in the way.

use crate::model::entry::{Moment, Photo, Severity};

use super::reply::Reply;

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Answers the check.
    Answer(Box<Reply>),
    /// Accepts every look, feel and ask check of a station that has no answer yet.
    AcceptStation(String),
    /// Takes a reading of the day.
    Read {
        /// Its key.
        key: String,
        /// As typed.
        value: String,
        /// Instrument used.
        instrument: Option<String>,
    },
    /// Takes an entry back.
    Withdraw {
        /// The entry's id.
        record: String,
        /// Why.
        note: Option<String>,
    },
    /// Changes the severity of an open finding; lowering asks why.
    Weigh {
        /// The finding's id.
        record: String,
        /// The new severity.
        severity: Severity,
        /// Why.
        note: Option<String>,
    },
    /// Adds words beside a finding, or for the whole car.
    Remark {
        /// The entry it is about.
        record: Option<String>,
        /// What it is about: `owner`, `tube-batch`, `drawing` …
        about: Option<String>,
        /// The words.
        text: String,
    },
    /// Notes words or photos at a check without answering it.
    Observe(Box<Observed>),
    /// Signs the walk.
    Sign {
        /// As what: inspector, fitter, checker …
        role: String,
        /// Initials or name.
        by: String,
    },
    /// Ends the walk.
    End,
}

/// A note or photos at a check, as they are given.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observed {
    /// The check.
    pub check: String,
    /// The item, where it is about one.
    pub of: Option<String>,
    /// Free words.
    pub note: Option<String>,
    /// Photos, already in the car's folder.
    pub photos: Vec<Photo>,
    /// When it was seen, where that is not now.
    pub seen_at: Option<Moment>,
    /// Who, where it is not who walks.
    pub by: Option<String>,
}

/// What would take an objection away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wants {
    /// A note that says why.
    Note,
    /// A value.
    Value,
    /// A clear accept or reject.
    Result,
    /// Something else: the message says what.
    Nothing,
}

/// Why an action was not carried out; nothing is kept and nothing is lost.
#[derive(Clone, Debug, PartialEq)]
pub struct Objection {
    /// One sentence that says what to do next.
    pub message: String,
    /// What would take it away.
    pub wants: Wants,
}

impl Objection {
    /// An objection.
    pub fn new(wants: Wants, message: impl Into<String>) -> Self {
        Self { message: message.into(), wants }
    }
}

impl std::fmt::Display for Objection {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

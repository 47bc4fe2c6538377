//! What is asked of the event's server. One implementation speaks to PostgreSQL, another is in memory for tests.

use std::time::Duration;

use linewalk_record::entry::Moment;

/// Whose log of which car.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The writer.
    pub writer: String,
    /// The car's id.
    pub car: String,
}

/// Where the server's copy of a log ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tip {
    /// The log.
    pub place: Place,
    /// Its last record.
    pub seq: u64,
    /// The checksum that record gives for itself.
    pub sum: String,
}

/// Lines of one log, the first being record `first`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The log.
    pub place: Place,
    /// The place of the first line.
    pub first: u64,
    /// The lines without their ends.
    pub lines: Vec<Vec<u8>>,
}

/// A machine that writes to the event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lane {
    /// Its writer id.
    pub writer: String,
    /// The login it is bound to: its name for people.
    pub login: String,
    /// Records of it on the server, and those that came in the last hour.
    pub records: [u64; 2],
    /// Cars with a record of it, and those with one in the last hour.
    pub cars: [u64; 2],
    /// When its last record came, by the server's clock.
    pub last: Option<Moment>,
}

/// What the server says at the door.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Welcome {
    /// The server's time.
    pub now: Moment,
    /// Whether this login may add records.
    pub may_write: bool,
}

/// Why the server did not do what was asked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ServerError {
    /// It cannot be reached, or went away: try again soon.
    #[error("the event's server cannot be reached: {0}")]
    Away(String),
    /// It is there and cannot take it now, as with a full disk.
    #[error("the event's server cannot take records now: {0}")]
    Unable(String),
    /// It does not let this login do that.
    #[error("the event's server refuses: {0}")]
    Refused(String),
    /// This writer id belongs to another machine.
    #[error(
        "writer id {writer} belongs to {login} on {machine}: this machine has a copy of its settings. Delete the file \
         `writer` in linewalk's config folder here, so that this machine gets an id of its own, and join again; if it \
         is the same machine under a new name, the event's owner can free the id with: delete from linewalk.lane \
         where writer = '{writer}'"
    )]
    Claimed {
        /// The writer id.
        writer: String,
        /// The login it is bound to.
        login: String,
        /// The machine, as it named itself.
        machine: String,
    },
    /// Another record stands in this place, or the line does not follow the last one there.
    #[error("the event has another record in that place: {0}; run `linewalk log verify`")]
    Fork(String),
    /// The event's tables are newer than this program, or older.
    #[error("{}", other_schema(*.there, *.here))]
    Schema {
        /// The event's.
        there: i32,
        /// This program's.
        here: i32,
    },
}

/// Why the tables of an event are not this program's.
fn other_schema(there: i32, here: i32) -> String {
    match there {
        0 => {
            "there is no event in this database: its owner makes one with `linewalk event create`".to_owned()
        }
        _ if there > here => format!(
            "the event was made by a newer linewalk (tables {there}, this program knows {here}): install that \
             edition; records are kept here until then"
        ),
        _ => format!(
            "the event's tables are of an older linewalk ({there}, this program needs {here}): its owner brings them \
             up with `linewalk event create`; records are kept here until then"
        ),
    }
}

impl ServerError {
    /// Whether the connection is of no more use.
    pub fn is_final(&self) -> bool {
        !matches!(self, Self::Unable(_) | Self::Fork(_))
    }
}

/// An open connection.
pub trait Server {
    /// Binds a writer id to this login and machine, or finds it bound so already.
    ///
    /// # Errors
    /// [`ServerError::Claimed`] where it is another's.
    fn claim(&mut self, writer: &str, machine: &str) -> Result<(), ServerError>;

    /// The logs that grew since the last call; all of them at the first.
    ///
    /// # Errors
    /// [`ServerError`].
    fn tips(&mut self) -> Result<Vec<Tip>, ServerError>;

    /// Adds lines of one log at its end. All or none; lines that are there already are passed over.
    ///
    /// # Errors
    /// [`ServerError`]; after [`ServerError::Away`] nothing is known of them.
    fn put(&mut self, run: &Run) -> Result<(), ServerError>;

    /// Lines of logs from the place after each tip on, in order, not more than `most` in all.
    ///
    /// # Errors
    /// [`ServerError`].
    fn get(&mut self, after: &[(Place, u64)], most: usize) -> Result<Vec<Run>, ServerError>;

    /// Gives the event a car's file, unless it has one.
    ///
    /// # Errors
    /// [`ServerError`].
    fn offer_file(&mut self, car: &str, text: &str) -> Result<(), ServerError>;

    /// Files of cars, by id, as far as the event has them.
    ///
    /// # Errors
    /// [`ServerError`].
    fn files(&mut self, cars: &[String]) -> Result<Vec<(String, String)>, ServerError>;

    /// Every machine that writes.
    ///
    /// # Errors
    /// [`ServerError`].
    fn lanes(&mut self) -> Result<Vec<Lane>, ServerError>;

    /// Returns when something may have come, here or there, or the time is over.
    ///
    /// # Errors
    /// [`ServerError::Away`].
    fn wait(&mut self, at_most: Duration) -> Result<(), ServerError>;
}

/// Opens connections.
pub trait Gate {
    /// What it opens.
    type Link: Server;

    /// Connects, and makes sure that the event's tables are those this program knows.
    ///
    /// # Errors
    /// [`ServerError`].
    fn connect(&mut self) -> Result<(Self::Link, Welcome), ServerError>;
}

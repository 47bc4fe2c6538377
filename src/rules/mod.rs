//! Rule files: text to a ruleset, which checks a car needs, and what a value means against a limit.
//! Never files: rules get text, not paths.

mod applies;
mod builtin;
mod cases;
mod condition;
mod doubts;
mod layers;
mod limits;
mod merge;
mod notice;
mod read;
mod ruleset;
mod schema;
mod verdict;

pub use applies::{Applies, applies, lap_for};
pub use builtin::{BUILT_IN, built_in};
pub use cases::{CaseOutcome, run_cases};
pub use condition::Condition;
pub use doubts::doubts;
pub use layers::{Loaded, Lookup, Shelf, load, load_from};
pub use limits::{
    ComputeRow, CountEquals, CountRow, DateRow, Limit, MeasureRow, OfFilter, Typed, WordOrFlag,
};
pub use notice::{CLOSING, NOTICE};
pub use read::read as read_document;
pub use ruleset::{
    Case, Change, Check, Dropped, Given, Instrument, Lap, Layer, Method, Order, Profile, Repeat, Ruleset,
    Side, Source, SourceBasis, Station, Topic,
};
pub use schema::schema;
pub use verdict::{Judged, judge_compute, judge_count, judge_date, judge_measure, worst};

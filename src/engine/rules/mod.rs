//! Rule files: text to a ruleset, which checks a car needs, and what a value means against a limit.
//! Never files: rules get text, not paths.

mod alike;
mod applies;
mod builtin;
mod cache;
mod calculated;
mod case_mistakes;
mod cases;
mod check;
mod codes;
mod condition;
mod coverage;
mod dated;
mod differ;
mod drawn;
pub mod edit;
mod expression;
mod items;
mod judge;
mod layers;
mod lessens;
mod lessens_limits;
mod limits;
mod merge;
mod notice;
mod read;
mod read_check;
mod refer;
mod ruleset;
mod schema;
mod state;
mod verdict;
mod warnings;
mod words;
mod worked;
mod written;

pub use applies::{Applies, applies, asked, lap_for, why_not_asked};
pub use builtin::{BASE_STATIONS, BUILT_IN, built_in};
pub use cache::RulesetCache;
pub use calculated::{calculated, is_overtaken, standings_of_calculated};
pub use case_mistakes::case_mistakes;
pub use cases::{CaseOutcome, run_cases};
pub use check::{Case, Check, Given, Method, Source, SourceBasis, Topic};
pub use codes::code;
pub use condition::Condition;
pub use coverage::without_case;
pub use dated::{DatedChange, Dates};
pub use differ::{Difference, differences};
pub use expression::{Expression, Terms, Wrong, element};
pub use items::{answered, items};
pub use judge::{Held, judge};
pub use layers::{Loaded, Lookup, load, load_from};
pub use lessens::Lessened;
pub use limits::{
    ComputeRow, CountEquals, CountRow, DateRow, Limit, MeasureRow, OfFilter, RowWords, Typed, WordOrFlag,
};
pub use notice::{CLOSING, NOTICE};
pub use ruleset::{Change, Dropped, Instrument, Lap, Layer, Order, Profile, Repeat, Ruleset, Side, Station};
pub use schema::schema;
pub use state::{CarState, StateOf, Tally, answered_lately, is_signed, is_stop};
pub use verdict::{Judged, judge_compute, judge_count, judge_date, judge_measure, judge_worked, worst};
pub use warnings::warnings;
pub use words::{offered_for, strange_words};
pub use written::check_as_toml;

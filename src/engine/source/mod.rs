//! Files as people write them: text to a tree that remembers where each word stood, and a reader that
//! turns a tree into values while collecting every mistake.

mod describe;
mod leftovers;
mod lists;
mod reader;
mod recover;
mod scalars;
mod schema;
pub mod splice;
mod state;
mod syntax;
mod telling;
mod tree;
mod way;

pub use describe::{Field, FieldKind, Shape};
pub use leftovers::listed;
pub use linewalk_record::logbook::names::is_id;
pub use reader::{Reader, Word};
pub use scalars::{
    Dated, TimeTyped, count as parse_count, date_help, parse_date, point, text_or_number, text_place,
};
pub use schema::{layered_schema, schema};
pub use state::{Override, Overrides, ReadState};
pub use tree::{Key, Node, Table, Value, beside, only_at, parse};

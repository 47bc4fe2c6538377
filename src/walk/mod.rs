//! The walk as a pure state machine: an action is decided into entries, the shell keeps them, and only then
//! are they applied. State is a fold over the record. Never terminal, clock or disk.

mod action;
mod ahead;
mod assess;
mod decide;
mod gone;
mod layouts;
mod measure_next;
mod next_text;
mod paper;
mod paper_code;
mod paper_goes_on;
mod paper_rest;
mod persist;
mod plan;
mod reply;
mod state;
mod what_if;
mod workspace;

pub use action::{Action, Objection, Observed, Wants};
pub use ahead::Ahead;
pub use assess::{Assessment, Evaluator, LIMIT_UNKNOWN, Missing, Origin, RowJudged};
pub use decide::{Decided, NewId, decide};
pub use layouts::{Asked, LAYOUTS, Layout, layout, new_car};
pub use measure_next::{Basis, MOST, Next, NextList, Settles, measure_next};
pub use next_text::{next_as_text, next_of};
pub use paper::{AnswerPlaces, PaperAnswer, PaperAnswers, PaperPlan, PaperReading, plan_paper, read_paper};
pub use paper_rest::PlainRows;
pub use persist::{Journal, keep_all, keep_paper};
pub use plan::{Plan, Step, Why};
pub use reply::{Reply, settle};
pub use state::{Start, Walk, overrides_of, readings_of};
pub use what_if::{
    Change, Difference, MainRun, SIZES, TableRow, Worked, differences, main_run_table, main_runs,
    repeat_words, set_arguments, what_if,
};
pub use workspace::{CarLine, Draft, MemoryJournal, Offered, SameCarPart, SameCarQuestion, Workspace};

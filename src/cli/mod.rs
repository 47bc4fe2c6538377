//! The command line: one file a command. Never arithmetic.

mod args;
mod book;
mod car;
mod car_args;
mod car_change;
mod car_new;
mod car_next;
mod car_show;
mod carry;
mod event;
mod help;
mod log;
mod manual;
mod numbers;
mod output;
mod paper_car;
mod report;
mod rules;
mod rules_args;
mod rules_show;
mod rules_write;
mod run;
mod schema;
mod screen;
mod settle;
mod sheet;
mod topics;
mod version;
mod walk;

pub use args::Args;
pub use run::run;
#[cfg(feature = "lanes")]
mod watch;

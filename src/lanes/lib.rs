//! Several lanes of one event on one log: what goes to the server, what comes from it, and what race control
//! sees of it. Pure: the server stands behind a trait, folders behind another, and time comes in as an argument.
//!
//! The log on this machine stays what it was: a record is kept there first and by itself. Here it is only
//! carried, in order and unchanged, from one machine's folder to the others'.

pub mod address;
pub mod board;
pub mod engine;
pub mod schema;
pub mod secrets;
pub mod server;
mod status;

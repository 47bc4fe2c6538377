//! The terminal app: a key becomes an action, the action changes the state, and the state is drawn.
//! Never files, never clock: the garage answers for those. Drawing only reads.

mod answering;
mod app;
mod cars;
mod draw;
mod figures;
mod holding;
mod keymap;
mod looking;
mod moving;
mod over;
mod pages;
mod picture;
mod run;
mod sheet;
mod signing;
mod state;
mod text;
mod theme;
mod trying;
mod typing;
mod wording;

pub use app::{App, Options, Preview};
pub use draw::draw;
pub use keymap::{BINDINGS, Binding, Key, Place, UiAction, action_at, at, table};
pub use run::run;
pub use state::State;
pub use theme::Theme;

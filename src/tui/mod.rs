//! The terminal app: a key becomes an action, the action changes the state, and the state is drawn.
//! Never files, never clock: the garage answers for those. Drawing only reads.

mod again;
mod answering;
mod app;
mod calling;
mod cars;
mod draw;
mod figures;
pub mod flood;
mod holding;
mod key;
mod keymap;
mod layout;
mod looking;
mod moving;
mod opening;
mod options;
mod over;
mod pages;
mod pasting;
mod picture;
mod run;
mod sheet;
mod signing;
mod state;
mod terminal;
mod text;
mod theme;
mod trying;
mod typing;
mod wording;

pub use app::App;
pub use draw::draw;
pub use figures::{margin, number_lines};
pub use flood::AT_ONCE;
pub use keymap::{BINDINGS, Binding, Key, Place, UiAction, at, table};
pub use layout::{Hand, Keymap};
pub use options::{Options, Person, Preview};
pub use pasting::LONGEST_LINE;
pub use picture::Grain;
pub use run::{Screen, run, screen, with_screen};
pub use sheet::NumberLine;
pub use state::State;
pub use theme::{Theme, Tone, rgb};

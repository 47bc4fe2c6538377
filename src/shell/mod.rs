//! The only place with files, clock and environment. Never the terminal.

pub mod adopt;
pub mod archive;
pub mod carfile;
mod chosen;
pub mod clock;
pub mod club;
pub mod config;
pub mod disk;
mod drafts;
pub mod folders;
mod holder;
pub mod identity;
pub mod joined;
#[cfg(feature = "lanes")]
pub mod lane;
pub mod load;
pub mod paths;
mod photo;
#[cfg(feature = "lanes")]
pub mod postgres;
mod recorded;
mod rename;
mod system;
#[cfg(feature = "lanes")]
mod tls;
pub mod workspace;

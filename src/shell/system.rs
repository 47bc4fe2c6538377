//! What differs from system to system in files: one module with the calls of Unix, and a sibling with what stands for them
//! elsewhere. Both have the same functions.

#[cfg(unix)]
mod unix;
#[cfg(unix)]
pub(super) use unix::{open_to_others, path_from_text, path_to_text, same_file, still_there, sync_folder};

#[cfg(not(unix))]
mod elsewhere;
#[cfg(not(unix))]
pub(super) use elsewhere::{
    open_to_others, path_from_text, path_to_text, same_file, still_there, sync_folder,
};

//! The linewalk program.

fn main() {}

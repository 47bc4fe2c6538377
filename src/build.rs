//! Asks for a program at a fixed address, where that is known to work.
//!
//! A program that may be loaded anywhere has 20,000 addresses to be put right at each start, on 80 pages of memory, and
//! carries half a megabyte that says where they are. That took a tenth of the time to the first frame. The stack, the
//! heap and the C library stay where the system puts them, another place each time.

use std::env::var;

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    let target = |part: &str| var(format!("CARGO_CFG_TARGET_{part}")).unwrap_or_default();
    // Linked without the C library beside it, a program asks for its address in other words.
    let is_static = target("FEATURE").split(',').any(|feature| feature == "crt-static");
    if target("OS") == "linux" && target("ENV") == "gnu" && !is_static {
        println!("cargo::rustc-link-arg-bins=-no-pie");
    }
}

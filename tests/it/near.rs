//! Comparison with a printed or independently worked value.

/// Fails with both values and the source where `actual` is further than `tolerance` from `expected`.
#[track_caller]
pub fn near(actual: f64, expected: f64, tolerance: f64, source: &str) {
    let error = (actual - expected).abs();
    tell(error, expected);
    assert!(error <= tolerance, "{actual} against {expected} ± {tolerance}: off by {error:e} ({source})");
}

/// Prints the error found, by itself and as a share, with the place of the check, for the table in tests/proof.md.
#[track_caller]
pub fn tell(error: f64, expected: f64) {
    println!("measured {} {error:.2e} {:.2e}", std::panic::Location::caller(), error / expected.abs());
}

/// The same with the tolerance as a share of the expected value.
#[track_caller]
pub fn near_share(actual: f64, expected: f64, share: f64, source: &str) {
    near(actual, expected, share * expected.abs(), source);
}

/// Settings of a property test that draws `usual` cases; `PROPTEST_CASES` asks for more, or fewer.
pub fn drawn(usual: u32) -> proptest::test_runner::Config {
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok());
    proptest::test_runner::Config {
        cases: asked.unwrap_or(usual),
        failure_persistence: None,
        ..proptest::test_runner::Config::default()
    }
}

//! The words that stand on every screen that signs off and on every report.

/// At the top and the bottom of every report.
pub const NOTICE: &str = "Check the current rulebook; the official decides. This is not a certification.";

/// The last paragraph of every report.
pub const CLOSING: &str = "These checks are trade practice, noted by the people named at the times shown. They are not the ruling of \
any event and do not stand in for one. Computed numbers help judgement; final design, pressure test and recharge belong to qualified people. \
Before the car runs, read the current rulebook and its bulletins and local law, and ask the event's own inspector.";

//! The gauge of a number against its limit, drawn by hand on paper with 24 and 12 columns.

use linewalk::rules::{Ends, TRACKS, gauge};

fn least(min: f64) -> Ends {
    Ends { min: Some(min), max: None }
}

fn most(max: f64) -> Ends {
    Ends { min: None, max: Some(max) }
}

const BETWEEN: Ends = Ends { min: Some(10.0), max: Some(30.0) };

#[test]
fn golden_tracks() {
    let tracks = [
        // At least 1: the track ends at 3, the limit stands at its third.
        (gauge(24, 2.81, Some([2.51, 3.11]), least(1.0)), "::::::::|-----------==o="),
        (gauge(24, 0.84, None, least(1.0)), "::::::o:|---------------"),
        (gauge(24, 1.0, None, least(1.0)), "::::::::|o--------------"),
        (gauge(24, 0.999_999, None, least(1.0)), ":::::::o|---------------"),
        (gauge(24, 0.9, Some([0.5, 1.4]), least(1.0)), "::::===o!===------------"),
        (gauge(24, 40.0, None, least(4.0)), "::::::::|-------------->"),
        (gauge(12, 35.3, None, least(1.0)), "::::|------>"),
        // At most 65: the limit stands at two thirds.
        (gauge(24, 60.1, None, most(65.0)), "--------------o-|:::::::"),
        (gauge(24, 65.0, None, most(65.0)), "---------------o|:::::::"),
        (gauge(24, 65.001, None, most(65.0)), "----------------|o::::::"),
        (gauge(24, -3.0, None, most(65.0)), "<---------------|:::::::"),
        // 10 to 30: the limits stand at the quarters.
        (gauge(24, 25.9, Some([24.0, 28.0]), BETWEEN), "::::::|-------=o=-|:::::"),
        (gauge(24, 9.9, Some([-50.0, 100.0]), BETWEEN), "=====o!===========!====="),
    ];
    for (drawn, by_hand) in tracks {
        assert_eq!(drawn.as_deref(), Some(by_hand));
    }
}

#[test]
fn nothing_is_drawn_without_a_limit_to_draw() {
    for ends in
        [Ends::default(), least(0.0), most(0.0), least(-243.0), Ends { min: Some(3.0), max: Some(3.0) }]
    {
        assert_eq!(gauge(24, 1.0, None, ends), None);
    }
    assert_eq!(gauge(24, f64::NAN, None, least(1.0)), None);
}

proptest::proptest! {
    #[test]
    fn a_value_is_on_its_own_side_of_every_limit(
        value in -100.0..200.0_f64,
        low in 0.1..50.0_f64,
        more in 0.1..50.0_f64,
        at in 0..3_usize,
    ) {
        let columns = TRACKS[at];
        for ends in [least(low), most(low), Ends { min: Some(low), max: Some(low + more) }] {
            let track = gauge(columns, value, None, ends).unwrap();
            proptest::prop_assert_eq!(track.chars().count(), columns);
            let mark = track.find(['o', '<', '>']).unwrap();
            let ticks: Vec<usize> = track.match_indices('|').map(|(at, _)| at).collect();
            let limits: Vec<f64> = [ends.min, ends.max].into_iter().flatten().collect();
            proptest::prop_assert_eq!(ticks.len(), limits.len());
            for (tick, limit) in ticks.iter().zip(limits) {
                let is_above = if ends.max == Some(limit) { value > limit } else { value >= limit };
                proptest::prop_assert_eq!(mark > *tick, is_above, "{} {}", track, limit);
            }
        }
    }
}

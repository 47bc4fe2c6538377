//! Front against rear: shares, lock-up and what is left with one circuit failed.

use linewalk::physics::Refusal;
use linewalk::physics::brakes::balance::*;
use linewalk::physics::brakes::pressure::Valve;
use linewalk::units::{Force, Length, Pressure, STANDARD_GRAVITY};
use proptest::prelude::*;

use crate::near::{near, near_share};

/// A car of 10 kN on a 2.5 m wheelbase.
fn car(front_share: f64, lever: f64, tyre_friction: f64) -> Statics {
    Statics {
        weight: Force::from_si(10_000.0),
        front_share,
        cg_height: Length::from_si(2.5 * lever),
        wheelbase: Length::from_si(2.5),
        front_friction: tyre_friction,
        rear_friction: tyre_friction,
    }
}

/// An axle that makes `gain` newtons at the ground for each newton at the pedal, behind the valves; 10 kPa/N.
fn axle(gain: f64, valves: Vec<Valve>) -> [Effort; 1] {
    [Effort { pressure_per_pedal: 1e4, valves, ground_per_pressure: gain / 1e4 }]
}

fn knee(pascal: f64, slope: f64) -> Valve {
    Valve::Proportioning { knee: Pressure::from_si(pascal), slope }
}

/// Ground force of an axle behind one knee, written apart from the code under test.
fn ground(gain: f64, knee: f64, slope: f64, pedal: f64) -> f64 {
    let p = 1e4 * pedal;
    gain / 1e4 * if p > knee { knee + slope * (p - knee) } else { p }
}

/// Adhesion used by each axle, f = T/(P ± z h P_all/E), 49 CFR 571.135 S7.4.4(g) (form from memory).
fn adhesion(car: Statics, front: f64, rear: f64) -> (f64, f64) {
    let weight = car.weight.si();
    let z = (front + rear) / weight;
    let lever = car.cg_height.si() / car.wheelbase.si();
    let (p1, p2) = (car.front_share * weight, (1.0 - car.front_share) * weight);
    (front / (p1 + z * lever * weight), rear / (p2 - z * lever * weight))
}

#[test]
fn the_axle_that_locks_first_changes_where_the_ideal_share_is_passed() {
    // Front share 0.7 of the braking force, half of the weight in front, h/L 0.2: above (0.7 - 0.5)/0.2 = 1 the rear is first.
    let plain = |part: f64| axle(part, vec![]);
    let found = lockup_over(car(0.5, 0.2, 0.9), &plain(7.0), &plain(3.0), 0.3, 1.4).unwrap();
    assert_eq!(found.iter().map(|s| s.axle).collect::<Vec<_>>(), [Axle::Front, Axle::Rear]);
    near(found[0].friction[1], 1.0, 1e-9, "(β − a) L/h");
    assert_eq!((found[0].friction[0], found[1].friction[1]), (0.3, 1.4));
    // Rear tires of 1.2 times the grip: front where mu a/(0.7 - 0.2 mu), rear where 1.2 mu 0.5/(0.3 + 0.24 mu). Equal at
    // 0.5 (0.3 + 0.24 mu) = 0.6 (0.7 - 0.2 mu), so mu = 0.27/0.24.
    let wide = Statics { rear_friction: 1.08, ..car(0.5, 0.2, 0.9) };
    let found = lockup_over(wide, &plain(7.0), &plain(3.0), 0.3, 1.4).unwrap();
    near(found[0].friction[1], 1.125, 1e-9, "by hand");
    // A limiting valve at the rear, and rear brakes too strong without it: rear first on a poor road only.
    let found =
        lockup_over(car(0.5, 0.2, 0.9), &plain(5.0), &axle(5.0, vec![knee(3e6, 0.0)]), 0.3, 1.4).unwrap();
    assert_eq!(found.iter().map(|s| s.axle).collect::<Vec<_>>(), [Axle::Rear, Axle::Front]);
}

#[test]
fn shares_and_weight_shift() {
    // B7: 1 500 kg, 55 % in front, h 520 mm, L 2 700 mm, 0.9 g: about 260 kg, front 825 → 1 085.
    let b7 = Statics {
        weight: Force::from_si(1500.0 * STANDARD_GRAVITY),
        front_share: 0.55,
        cg_height: Length::from_si(0.52),
        wheelbase: Length::from_si(2.7),
        front_friction: 0.9,
        rear_friction: 0.9,
    };
    let shift = weight_shift(b7, 0.9).unwrap().si() / STANDARD_GRAVITY;
    near(shift, 260.0, 0.5, "B7");
    near(825.0 + shift, 1085.0, 0.5, "B7");
    near(ideal_front_share(b7).unwrap(), 1085.0 / 1500.0, 0.0005, "B7: load share at the limit");
    // C36: half and half, μ 1.2, h/L 0.18: 0.716.
    near(ideal_front_share(car(0.5, 0.18, 1.2)).unwrap(), 0.716, 1e-12, "C36");
    assert_eq!(ideal_front_share(car(0.9, 0.5, 1.0)).unwrap(), 1.0);
    near(front_share(Force::from_si(716.0), Force::from_si(284.0)).unwrap(), 0.716, 1e-12, "definition");
    assert!(front_share(Force::from_si(0.0), Force::from_si(0.0)).is_err());
}

#[test]
fn lockup_by_the_textbook_lines() {
    // Front-lock line with a fixed share b: z = μ a/(b − μ h/L); rear: z = μ (1 − a)/(1 − b + μ h/L). Any brake text.
    let (a, lever, mu) = (0.45, 0.16, 1.2);
    let lock = first_lockup(car(a, lever, mu), &axle(8.0, vec![]), &axle(2.0, vec![])).unwrap();
    assert_eq!(lock.axle, Axle::Front);
    near(lock.deceleration, mu * a / (0.8 - mu * lever), 1e-12, "front-lock line");
    let lock = first_lockup(car(a, lever, mu), &axle(5.0, vec![]), &axle(5.0, vec![])).unwrap();
    assert_eq!((lock.axle, lock.axle.word()), (Axle::Rear, "rear"));
    near(lock.deceleration, mu * (1.0 - a) / (0.5 + mu * lever), 1e-12, "rear-lock line");
    near(
        lock.pedal.si(),
        lock.deceleration * 10_000.0 / 10.0,
        1e-9,
        "10 N at the ground for each at the pedal",
    );
}

#[test]
fn a_knee_turns_rear_lock_into_front_lock() {
    let car = car(0.5, 0.2, 1.0);
    let open = first_lockup(car, &axle(6.0, vec![]), &axle(4.0, vec![])).unwrap();
    assert_eq!(open.axle, Axle::Rear);
    // By hand: the knee at 5 MPa is 500 N of pedal and 2 000 N behind; past it the rear adds 0.2 × 4 = 0.8 N/N.
    // Front: 6 P = 5 000 + 0.2 (6 P + 2 000 + 0.8 (P − 500)) → 4.64 P = 5 320; z = (6.8 P + 1 600)/10 000.
    let valved = first_lockup(car, &axle(6.0, vec![]), &axle(4.0, vec![knee(5e6, 0.2)])).unwrap();
    let pedal = 5320.0 / 4.64;
    assert_eq!(valved.axle, Axle::Front);
    near(valved.pedal.si(), pedal, 1e-9, "by hand");
    near(valved.deceleration, (6.8 * pedal + 1600.0) / 1e4, 1e-12, "by hand");
    assert!(valved.deceleration > open.deceleration);
}

#[test]
fn brakes_that_never_lock() {
    let none = first_lockup(car(0.5, 0.2, 1.0), &axle(0.0, vec![]), &[]);
    assert_eq!(none, Err(Refusal::NeverLocks));
    let limited = first_lockup(car(0.5, 0.2, 1.0), &[], &axle(1.0, vec![knee(1e6, 0.0)]));
    assert_eq!(limited, Err(Refusal::NeverLocks));
    assert!(first_lockup(car(0.5, 0.2, 0.0), &[], &[]).is_err());
    assert!(first_lockup(car(0.5, 0.2, 1.0), &axle(-1.0, vec![]), &[]).is_err());
}

#[test]
fn one_circuit_failed() {
    // One-axle limits of any vehicle-dynamics text: μ a/(1 − μ h/L) in front, μ (1 − a)/(1 + μ h/L) behind.
    let car1 = car(0.45, 0.16, 1.2);
    near(tyre_limit(car1, 1.0, 0.0).unwrap(), 1.2 * 0.45 / (1.0 - 1.2 * 0.16), 1e-12, "front alone");
    near(tyre_limit(car1, 0.0, 1.0).unwrap(), 1.2 * 0.55 / (1.0 + 1.2 * 0.16), 1e-12, "rear alone");
    near(tyre_limit(car1, 1.0, 1.0).unwrap(), 1.2, 1e-12, "all four");
    near(tyre_limit(car1, 0.5, 0.5).unwrap(), 0.6, 1e-12, "one of each");
    // The same lock-up seen by the other function: only one axle braked.
    let lock = first_lockup(car1, &[], &axle(3.0, vec![])).unwrap();
    near(tyre_limit(car1, 0.0, 1.0).unwrap(), lock.deceleration, 1e-12, "first_lockup");
    // High and short: the rear wheels leave the ground, then the front tyres carry all of it.
    near(tyre_limit(car(0.6, 0.6, 1.2), 1.0, 0.0).unwrap(), 1.2, 1e-12, "stoppie");
    near(
        deceleration_left(Force::from_si(3000.0), Force::from_si(1e4), 0.5).unwrap(),
        0.3,
        1e-12,
        "brakes limit",
    );
    near(
        deceleration_left(Force::from_si(9000.0), Force::from_si(1e4), 0.5).unwrap(),
        0.5,
        1e-12,
        "tyres limit",
    );
    assert!(tyre_limit(car1, 1.1, 0.0).is_err());
}

proptest! {
    #[test]
    fn at_lockup_one_axle_uses_all_its_adhesion(
        a in 0.3..0.7_f64, lever in 0.05..0.3_f64, mu in 0.3..1.5_f64,
        gains in (1.0..20.0_f64, 1.0..20.0_f64), knees in (1e5..2e7_f64, 1e5..2e7_f64),
        slopes in (0.05..1.0_f64, 0.05..1.0_f64),
    ) {
        let car = car(a, lever, mu);
        let front = axle(gains.0, vec![Valve::Residual, knee(knees.0, slopes.0)]);
        let rear = axle(gains.1, vec![knee(knees.1, slopes.1)]);
        let lock = first_lockup(car, &front, &rear).unwrap();
        let forces = |pedal: f64| (ground(gains.0, knees.0, slopes.0, pedal), ground(gains.1, knees.1, slopes.1, pedal));
        let (f, r) = forces(lock.pedal.si());
        prop_assert!(((f + r) / 1e4 / lock.deceleration - 1.0).abs() < 1e-9);
        let (used_front, used_rear) = adhesion(car, f, r);
        let (used, other) = match lock.axle {
            Axle::Front => (used_front, used_rear),
            Axle::Rear => (used_rear, used_front),
        };
        prop_assert!((used / mu - 1.0).abs() < 1e-7, "{used} of {mu}");
        prop_assert!(other <= mu * (1.0 + 1e-7));
        // No earlier moment on the way up locks anything.
        for step in 1..200 {
            let (f, r) = forces(lock.pedal.si() * f64::from(step) / 200.0);
            let (used_front, used_rear) = adhesion(car, f, r);
            prop_assert!(used_front < mu && used_rear < mu);
        }
        prop_assert!(lock.deceleration <= mu * (1.0 + 1e-9));
    }

    #[test]
    fn the_ideal_share_reaches_the_tyres_limit(a in 0.3..0.7_f64, lever in 0.05..0.25_f64, mu in 0.3..1.2_f64) {
        let car = car(a, lever, mu);
        let share = ideal_front_share(car).unwrap();
        let lock = first_lockup(car, &axle(10.0 * share, vec![]), &axle(10.0 * (1.0 - share), vec![])).unwrap();
        near_share(lock.deceleration, mu, 1e-9, "definition of ideal");
    }

    #[test]
    fn several_valves_bend_where_they_should(k1 in 1e6..5e6_f64, k2 in 1e6..5e6_f64, s1 in 0.2..0.9_f64,
                                             s2 in 0.2..0.9_f64) {
        // Two valves in a row on the rear axle: the exact root against a bisection of the chain itself.
        let car = car(0.5, 0.1, 1.0);
        let chain = |pedal: f64| {
            let one = |p: f64, k: f64, s: f64| if p > k { k + s * (p - k) } else { p };
            10.0 / 1e4 * one(one(1e4 * pedal, k1, s1), k2, s2)
        };
        let lock = first_lockup(car, &[], &axle(10.0, vec![knee(k1, s1), knee(k2, s2)])).unwrap();
        let (mut low, mut high) = (0.0, 1e6);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            // The rear alone locks at z = 0.5/1.1, so at 10 000 N times that.
            if chain(middle) < 5000.0 / 1.1 { low = middle } else { high = middle }
        }
        prop_assert!((lock.pedal.si() / low - 1.0).abs() < 1e-9);
    }
}

//! Brake hydraulics against published exercises and independent routes.

use linewalk::physics::Refusal;
use linewalk::physics::brakes::fluid::*;
use linewalk::physics::brakes::pressure::*;
use linewalk::physics::brakes::stroke::*;
use linewalk::physics::brakes::wheel::*;
use linewalk::units::{Force, INCH, Length, PSI, Pressure, STANDARD_GRAVITY, Temperature, Torque, Volume};
use proptest::prelude::*;

use crate::near::{near, near_share};

/// One pound-force in newtons.
const LBF: f64 = 0.453_592_37 * STANDARD_GRAVITY;

fn inch(inches: f64) -> Length {
    Length::from_inches(inches)
}

fn lbf(force: f64) -> Force {
    Force::from_si(force * LBF)
}

#[test]
fn published_pedal_and_piston_exercises() {
    // B1, automotive maths example 19: 360 N, ratio 8, master 3 cm: 407.64 N/cm² and 3 277.4 N on 3.2 cm, with
    // π as 3.14 (0.05 % off); exact π gives 407.44 and 3 276.8.
    let p = line_pressure(Force::from_si(360.0), 8.0, 1.0, 1.0, Length::from_si(0.03)).unwrap();
    near_share(p.si() / 1e4, 407.64, 0.0006, "B1, π as 3.14");
    near(p.si() / 1e4, 407.44, 0.005, "B1, exact π");
    let wheel = Pistons { caliper: Caliper::Floating, count: 1, bore: Length::from_si(0.032) };
    near(clamp_force(wheel, p).unwrap().si(), 3276.8, 0.05, "B1");
    // B2, B3: areas are given, so the bore is that of the area.
    let bore = |area: f64| inch((4.0 * area / std::f64::consts::PI).sqrt());
    let out = |force: f64, area: f64| {
        let p = line_pressure(lbf(force), 1.0, 1.0, 1.0, bore(1.0)).unwrap();
        let piston = Pistons { caliper: Caliper::Floating, count: 1, bore: bore(area) };
        clamp_force(piston, p).unwrap().si() / LBF
    };
    near(out(75.0, 0.5), 37.5, 1e-9, "B2");
    near(out(125.0, 7.0), 875.0, 1e-9, "B3");
    near(out(125.0, 0.75), 93.75, 1e-9, "B3");
    // B4, B5: 50 lbf at 10 in over 1.25 in, then 1 in to 3.25 in diameter: 4 225 lbf.
    let p = line_pressure(lbf(50.0), 10.0 / 1.25, 1.0, 1.0, inch(1.0)).unwrap();
    let piston = Pistons { caliper: Caliper::Floating, count: 1, bore: inch(3.25) };
    near(clamp_force(piston, p).unwrap().si() / LBF, 4225.0, 1e-6, "B5");
    // B6 turned round: 3.25 kN out of 2.10 cm from 797 N on 1.04 cm.
    let p = line_pressure(Force::from_si(797.0), 1.0, 1.0, 1.0, Length::from_si(0.0104)).unwrap();
    let piston = Pistons { caliper: Caliper::Floating, count: 1, bore: Length::from_si(0.021) };
    near(clamp_force(piston, p).unwrap().si(), 3250.0, 3.0, "B6, printed to 1 N in 797");
}

#[test]
fn one_car_worked_by_hand() {
    let (front, rear) = bar_shares(0.5).unwrap();
    assert_eq!(front, rear);
    let p = line_pressure(lbf(100.0), 6.0, 1.0, front, inch(0.75)).unwrap();
    near(p.si() / PSI, 679.06, 0.005, "100 × 6 × 0.5 ÷ 0.441 79 in²");
    let pistons = Pistons { caliper: Caliper::Fixed, count: 4, bore: inch(1.75) };
    let clamp = clamp_force(pistons, p).unwrap();
    near(clamp.si() / LBF, 3266.7, 0.05, "two pistons a side");
    let torque = brake_torque(0.45, clamp, inch(5.0)).unwrap();
    near(torque.si() / (LBF * INCH), 14_700.0, 0.5, "2 × 0.45 × 3 266.7 × 5");
    // Energy route: the pads' friction force times the way it goes in one turn is torque times 2 π.
    let way = 2.0 * std::f64::consts::PI * inch(5.0).si();
    near_share(2.0 * 0.45 * clamp.si() * way, torque.si() * std::f64::consts::TAU, 1e-12, "work in a turn");
    near(ground_force(torque, inch(10.0)).unwrap().si() / LBF, 1470.0, 0.05, "14 700 ÷ 10");
    // A floating caliper with the same pistons on one side clamps the same.
    let floating = Pistons { caliper: Caliper::Floating, count: 2, ..pistons };
    assert_eq!(clamp_force(floating, p).unwrap(), clamp);
    let odd = Pistons { count: 3, ..pistons };
    assert_eq!(clamp_force(odd, p), Err(Refusal::OddPistons));
    assert!(line_pressure(lbf(100.0), 6.0, 1.0, 1.5, inch(0.75)).is_err());
    assert!(ground_force(Torque::from_si(1.0), inch(0.0)).is_err());
}

#[test]
fn machine_design_caliper() {
    // Shigley, annular-pad caliper (from memory): μ 0.37, 13 000 lbf·in, 3 748 lbf, 4.688 in, 1.5 in piston, 2 121 psi.
    let piston = Pistons { caliper: Caliper::Floating, count: 1, bore: inch(1.5) };
    let clamp = clamp_force(piston, Pressure::from_psi(2121.0)).unwrap();
    near(clamp.si() / LBF, 3748.0, 1.0, "printed to 1 lbf");
    let torque = brake_torque(0.37, clamp, inch(4.688)).unwrap();
    near(torque.si() / (LBF * INCH), 13_000.0, 7.0, "0.05 %: printed to four digits");
}

#[test]
fn valves() {
    let psi = Pressure::from_psi;
    let knee = |knee, slope| Valve::Proportioning { knee: psi(knee), slope };
    let through = |valves: &[Valve], p| behind(valves, psi(p)).unwrap().si() / PSI;
    near(through(&[knee(600.0, 0.4)], 500.0), 500.0, 1e-9, "under the knee");
    near(through(&[knee(600.0, 0.4)], 1000.0), 760.0, 1e-9, "600 + 0.4 × 400");
    near(through(&[knee(600.0, 0.0)], 1000.0), 600.0, 1e-9, "limiting valve");
    near(through(&[Valve::Residual, Valve::LineLock], 1000.0), 1000.0, 1e-9, "pass all");
    // Two in a row: 1 000 → 760 → 700 + 0.5 × 60.
    near(through(&[knee(600.0, 0.4), knee(700.0, 0.5)], 1000.0), 730.0, 1e-9, "by hand");
    assert!(behind(&[knee(600.0, 1.4)], psi(1.0)).is_err());
    assert!(behind(&[knee(-1.0, 0.4)], psi(1.0)).is_err());
    assert!(behind(&[], psi(-1.0)).is_err());
}

#[test]
fn fluid_the_pedal_moves() {
    let fixed = Pistons { caliper: Caliper::Fixed, count: 4, bore: inch(1.375) };
    let floating = Pistons { caliper: Caliper::Floating, count: 1, bore: inch(2.0) };
    let cubic = |v: Volume| v.si() / INCH.powi(3);
    let gap = |pistons| cubic(pad_volume(pistons, inch(0.005), inch(0.010)).unwrap());
    near(gap(fixed), 0.015 * 4.0 * 1.484_893_4, 1e-8, "each piston once, 1.4849 in²");
    near(gap(floating), 0.015 * 2.0 * std::f64::consts::PI, 1e-12, "one piston twice, π in²");
    // 88 in of 3/16 × 0.028 tube holds 1.195 in³; at 1 200 psi and 1.4 GPa it takes 0.0071 in³ more.
    let line = bore_volume(inch(0.1315), inch(88.0)).unwrap();
    near(cubic(line), 1.1952, 5e-5, "π/4 × 0.1315² × 88");
    let more = squeezed(line, Pressure::from_psi(1200.0), Pressure::from_si(1.4e9)).unwrap();
    near(cubic(more), 1.1952 * 1200.0 / 203_053.0, 1e-6, "1.4 GPa is 203 053 psi");
    // The exact law for a constant modulus, V (e^(p/K) − 1), differs by half of p/K.
    let exact = line.si() * (Pressure::from_psi(1200.0).si() / 1.4e9).exp_m1();
    near_share(more.si(), exact, 0.003, "p/K is 0.6 %");
    near(
        stroke_used(Volume::from_si(0.3 * INCH.powi(3)), inch(0.875), inch(1.1)).unwrap(),
        0.453_54,
        1e-5,
        "by hand",
    );
    let failed =
        stroke_used_one_failed(Volume::from_si(0.15 * INCH.powi(3)), inch(0.875), inch(1.1)).unwrap();
    near(failed, 0.726_77, 1e-5, "half the travel and half of 0.453 54");
}

#[test]
fn hose_growth_by_the_federal_table() {
    // F1: 49 CFR 571.106 Table I, regular class, cc a foot, at the table pressures themselves.
    let foot = |bore: f64, psi: f64| {
        hose_growth(inch(bore), inch(12.0), Pressure::from_psi(psi)).map(|v| v.si() * 1e6)
    };
    let rows = [
        (0.125, 1000.0, 0.66),
        (0.125, 1500.0, 0.79),
        (0.125, 2900.0, 1.21),
        (0.1875, 1000.0, 0.86),
        (0.1875, 1500.0, 1.02),
        (0.1875, 2900.0, 1.67),
        (0.25, 1000.0, 1.04),
        (0.25, 1500.0, 1.30),
    ];
    for (bore, psi, cc) in rows {
        near(foot(bore, psi).unwrap(), cc, 1e-9, "Table I");
    }
    near(foot(0.125, 1200.0).unwrap(), 0.712, 1e-9, "0.66 + 2/5 × 0.13, by hand");
    near(foot(0.125, 2000.0).unwrap(), 0.94, 1e-9, "0.79 + 500/1400 × 0.42, by hand");
    near(foot(0.1875, 500.0).unwrap(), 0.43, 1e-9, "half of 0.86");
    near(foot(0.15, 1000.0).unwrap(), 0.86, 1e-9, "between two bores: the larger class");
    near(foot(3.0 / 25.4, 1000.0).unwrap(), 0.66, 1e-9, "3 mm is the first class");
    let half = hose_growth(inch(0.1875), inch(18.0), Pressure::from_psi(800.0)).unwrap();
    near(half.si() * 1e6, 1.032, 1e-9, "0.86 × 0.8 × 1.5");
    near(foot(0.125, 3300.0).unwrap(), 1.33, 1e-9, "1.21 + 400/1400 × 0.42: the last slope goes on");
    near(foot(0.25, 2000.0).unwrap(), 1.56, 1e-9, "1.30 + 0.26: the last slope goes on");
    assert_eq!(foot(0.125, 4001.0), Err(Refusal::PastHoseTable));
    assert_eq!(foot(0.25, 4001.0), Err(Refusal::PastHoseTable));
    assert_eq!(foot(0.125, 0.0).unwrap(), 0.0);
}

#[test]
fn reservoirs_and_fluids() {
    let pistons = Pistons { caliper: Caliper::Fixed, count: 4, bore: inch(1.375) };
    let wear = wear_volume(pistons, inch(0.50), inch(0.12)).unwrap();
    near(wear.si() / INCH.powi(3), 2.257_04, 5e-5, "5.9396 in² × 0.38 in");
    let left = reservoir_left(Volume::from_si(14.4375 * INCH.powi(3)), &[wear, wear]).unwrap();
    near(left.si() / INCH.powi(3), 9.9234, 5e-5, "8 fl oz is 14.4375 in³");
    // A piston that slides follows both pads: two of 2 in, 0.43 in off each pad, 2 × 2 π/4 × 4 × 0.43.
    let floating = Pistons { caliper: Caliper::Floating, count: 2, bore: inch(2.0) };
    let both = wear_volume(floating, inch(0.55), inch(0.12)).unwrap();
    near(both.si() / INCH.powi(3), 1.72 * std::f64::consts::PI, 1e-9, "twice the area times the wear");
    assert!(reservoir_left(Volume::from_si(1e-6), &[wear]).unwrap().si() < 0.0);
    assert!(wear_volume(pistons, inch(0.12), inch(0.50)).is_err());
    // F3: 49 CFR 571.116, printed in °C and again in °F.
    for (name, dry, wet) in
        [("DOT 3", 401.0, 284.0), ("DOT 4", 446.0, 311.0), ("DOT 5", 500.0, 356.0), ("DOT 5.1", 500.0, 356.0)]
    {
        let fluid = brake_fluid(name).unwrap();
        near(fluid.dry.si(), Temperature::from_fahrenheit(dry).si(), 1e-9, "571.116");
        near(fluid.wet.si(), Temperature::from_fahrenheit(wet).si(), 1e-9, "571.116");
        let margin = fluid_margin(fluid, Temperature::from_fahrenheit(wet - 18.0)).unwrap();
        near(margin.si(), 10.0, 1e-9, "18 °F is 10 K");
    }
}

proptest! {
    #[test]
    fn pressure_scales_with_the_pedal_and_falls_with_the_bore(f in 1.0..2000.0_f64, d in 0.01..0.04_f64) {
        let p = |force: f64, bore: f64| {
            line_pressure(Force::from_si(force), 6.0, 1.0, 1.0, Length::from_si(bore)).unwrap().si()
        };
        prop_assert!((p(2.0 * f, d) / p(f, d) - 2.0).abs() < 1e-12);
        prop_assert!((p(f, 2.0 * d) / p(f, d) - 0.25).abs() < 1e-12);
    }

    #[test]
    fn a_valve_never_adds_pressure(p in 0.0..2e7_f64, k in 0.0..2e7_f64, s in 0.0..1.0_f64, more in 0.0..1e6_f64) {
        let valve = [Valve::Proportioning { knee: Pressure::from_si(k), slope: s }];
        let behind = |p: f64| behind(&valve, Pressure::from_si(p)).unwrap().si();
        prop_assert!(behind(p) <= p && behind(p) >= p.min(k));
        prop_assert!(behind(p + more) >= behind(p) - 1e-6);
    }

    #[test]
    fn hose_growth_never_falls_as_the_pressure_rises(psi in 0.0..3900.0_f64, more in 0.0..100.0_f64, bore in 0.05..0.5_f64) {
        let v = |psi: f64| hose_growth(inch(bore), inch(12.0), Pressure::from_psi(psi)).unwrap().si() * 1e6;
        prop_assert!(v(psi + more) >= v(psi), "{} cc at {psi} psi, {} cc at {more} psi more", v(psi), v(psi + more));
    }

    #[test]
    fn hose_growth_never_passes_the_table(psi in 0.0..1500.0_f64, bore in 0.05..0.5_f64) {
        let v = |psi: f64| hose_growth(inch(bore), inch(12.0), Pressure::from_psi(psi)).unwrap().si() * 1e6;
        prop_assert!(v(psi) <= 1.30 + 1e-9);
    }
}

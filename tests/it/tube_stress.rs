//! Tube strength against a published catalogue, public code sheets and the thick-wall solution.

use linewalk::physics::Refusal;
use linewalk::physics::metals::{METALS, metal};
use linewalk::physics::tube_stress::*;
use linewalk::units::{Length, PSI, Pressure};
use proptest::prelude::*;

use crate::near::{near, near_share};

fn inch(inches: f64) -> Length {
    Length::from_inches(inches)
}

/// Code pressure in psi as the catalogue works it: outside diameter +0.005 in, wall less its tolerance, 20 ksi.
fn catalogue(od: f64, wall: f64, least: f64) -> Result<f64, Refusal> {
    straight_pressure(inch(od + 0.005), inch(wall * least), Pressure::from_psi(20_000.0))
        .map(|p| p.si() / PSI)
}

#[test]
fn published_catalogue_of_316_tube_to_a269() {
    // Published ratings, rounded down to 100 psi; second column our unrounded figure must fall into.
    let rows = [
        ("T2", 3.0 / 16.0, 0.028, 0.85, 5400.0),
        ("T3", 3.0 / 16.0, 0.035, 0.85, 7000.0),
        ("T5", 0.25, 0.028, 0.85, 4000.0),
        ("T6", 0.25, 0.035, 0.85, 5100.0),
        ("T7", 0.25, 0.049, 0.85, 7500.0),
        ("T9", 5.0 / 16.0, 0.035, 0.85, 4000.0),
        ("T10", 0.375, 0.035, 0.85, 3300.0),
        ("T11", 0.375, 0.049, 0.85, 4800.0),
        ("T12", 0.375, 0.065, 0.85, 6500.0),
        ("T13", 0.5, 0.035, 0.85, 2400.0),
        ("T14", 0.5, 0.035, 0.90, 2600.0),
        ("T14", 0.5, 0.049, 0.90, 3700.0),
        ("T14", 0.5, 0.065, 0.90, 5100.0),
    ];
    for (id, od, wall, least, published) in rows {
        let psi = catalogue(od, wall, least).unwrap();
        assert_eq!((psi / 100.0).floor() * 100.0, published, "{id}: {psi}");
    }
}

#[test]
fn walls_past_a_sixth_of_the_diameter_are_refused() {
    // T1, T4, T8: the catalogue changes its coefficient there; the plain form would be wrong.
    for (od, wall) in [(0.125, 0.028), (3.0 / 16.0, 0.049), (0.25, 0.065)] {
        assert_eq!(catalogue(od, wall, 0.85), Err(Refusal::ThickWall));
    }
    let sixth = straight_pressure(inch(0.6), inch(0.1), Pressure::from_si(1e8));
    assert_eq!(sixth, Err(Refusal::ThickWall));
}

#[test]
fn public_sheets_for_the_code_wall_turned_round() {
    // C01 to C03: ASME B31.3 (3a) worked sheets give the wall; the wall gives the pressure back.
    let mm = |d: f64, t: f64, s: f64| {
        straight_pressure(Length::from_si(d * 1e-3), Length::from_si(t * 1e-3), Pressure::from_si(s))
            .unwrap()
            .si()
    };
    near_share(mm(219.1, 2.36, 137.9e6), 3.0e6, 0.002, "C01, wall printed to 0.01 mm");
    near_share(mm(762.0, 11.889, 142.7215e6), 4.51e6, 5e-5, "C02, wall printed to 0.001 mm");
    near_share(mm(914.0, 14.261, 142.7215e6), 4.51e6, 5e-5, "C03, wall printed to 0.001 mm");
}

#[test]
fn code_form_on_the_bore_gives_the_same() {
    // B31.3 (3b), t = P d / 2 (S − P (1 − Y)), is printed beside (3a) and must agree with it.
    for (od, wall) in [(0.1875, 0.02), (0.1875, 0.028), (0.25, 0.035), (0.5, 0.035)] {
        let s = 20_000.0;
        let p = straight_pressure(inch(od), inch(wall), Pressure::from_psi(s)).unwrap().si() / PSI;
        let back = p * (od - 2.0 * wall) / (2.0 * (s - p * 0.6));
        near_share(back, wall, 1e-12, "B31.3 (3b)");
    }
}

#[test]
fn code_form_meets_the_thick_wall_solution_at_a_sixth() {
    // At t = D/6 both forms are 5/13 of the stress: 2/6 ÷ (1 − 0.8/6) and (1 − 4/9) ÷ (1 + 4/9).
    let wall = inch(0.1 * (1.0 - 1e-9));
    let code = straight_pressure(inch(0.6), wall, Pressure::from_si(1e8)).unwrap().si();
    let lame = burst_pressure(inch(0.6), wall, Pressure::from_si(1e8)).unwrap().si();
    near_share(code, 1e8 * 5.0 / 13.0, 1e-8, "B31.3 (3a) at D/6");
    near_share(lame, 1e8 * 5.0 / 13.0, 1e-8, "Lamé at D/6");
}

#[test]
fn bend_intensity_is_the_torus_membrane_stress() {
    near(bend_intensity(inch(1.0), inch(3.0)).unwrap(), 1.1, 1e-12, "C05, R/D = 3");
    // Thin torus, inner line: (2 R − r)/(2 (R − r)) with r half the diameter; any shell text.
    for ratio in [0.8, 1.5, 2.0, 3.0, 5.0, 12.0] {
        let (d, r) = (0.25, 0.25 * ratio);
        let torus = (2.0 * r - d / 2.0) / (2.0 * (r - d / 2.0));
        near_share(bend_intensity(inch(d), inch(r)).unwrap(), torus, 1e-12, "torus membrane");
    }
    assert_eq!(bend_intensity(inch(0.25), inch(0.125)), Err(Refusal::BendInsideTube));
}

#[test]
fn thick_wall_stresses_and_bursting() {
    let m = Length::from_si;
    let p = Pressure::from_si;
    let at = |r| hoop_stress(m(10.0), m(20.0), p(100.0), p(0.0), m(r)).unwrap().si();
    near(at(10.0), 166.667, 1e-3, "C06");
    near(at(20.0), 66.667, 1e-3, "C06");
    // T17: bore 60, outside 100 mm, 20 MPa in, 5 MPa out; hoop less radial mean gives the printed axial 3.4375.
    let t17 = |r| hoop_stress(m(0.030), m(0.050), p(20e6), p(5e6), m(r)).unwrap().si() / 1e6;
    near(t17(0.030), 26.875, 1e-9, "T17");
    near(t17(0.050), 11.875, 1e-9, "T17");
    near((t17(0.030) - 20.0) / 2.0, 3.44, 0.005, "T17, printed axial stress");
    for (od, wall, psi) in [(0.1875, 0.020, 17_658.7), (0.1875, 0.028, 25_545.1), (0.25, 0.035, 23_788.2)] {
        let burst = burst_pressure(inch(od), inch(wall), Pressure::from_psi(75_000.0)).unwrap();
        near(burst.si() / PSI, psi, 0.05, "C07, closed form");
        // Put back in: at that pressure the bore carries the tensile strength.
        let (ro, ri) = (inch(od / 2.0), inch(od / 2.0 - wall));
        let hoop = hoop_stress(ri, ro, burst, p(0.0), ri).unwrap();
        near_share(hoop.si(), Pressure::from_psi(75_000.0).si(), 1e-12, "Lamé");
    }
    // T18: 3/16 × 0.028 in at 2 000 psi.
    let bore =
        hoop_stress(inch(0.06575), inch(0.09375), Pressure::from_psi(2000.0), p(0.0), inch(0.06575)).unwrap();
    near(bore.si() / PSI, 5872.0, 0.5, "T18");
}

#[test]
fn least_wall_follows_the_tube_standard() {
    // ASTM A269 tolerance sheet: 15 % under 1/2 in, 10 % from there up (T13 and T14 are the trap).
    near(least_wall(inch(0.4999), inch(0.035)).unwrap().si(), inch(0.02975).si(), 1e-15, "A269");
    near(least_wall(inch(0.5), inch(0.035)).unwrap().si(), inch(0.0315).si(), 1e-15, "A269");
    near(least_wall(Length::from_si(12.7e-3), inch(0.035)).unwrap().si(), inch(0.0315).si(), 1e-15, "A269");
}

#[test]
fn metals_have_sane_rows_and_unique_names() {
    let steel = metal("316").unwrap();
    assert_eq!((steel.allowable.si(), steel.tensile.si()), (137.9e6, 515e6));
    let mut names: Vec<String> = Vec::new();
    for m in METALS {
        // No code allows more than a third of the tensile strength here, give or take the rounding of the tables.
        assert!(m.allowable.si() <= m.tensile.si() / 3.0 * 1.001, "{}", m.name);
        assert!(m.elastic_modulus.si() > 6e10 && m.density.si() > 2600.0, "{}", m.name);
        assert_eq!(metal(m.name).map(|found| found.name), Some(m.name));
        for other in m.also {
            assert_eq!(metal(other).map(|found| found.name), Some(m.name));
            names.push((*other).to_owned());
        }
    }
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn bad_sizes_are_refused_by_name() {
    let s = Pressure::from_si(1e8);
    let refused = straight_pressure(inch(0.0), inch(0.035), s).unwrap_err();
    assert_eq!(refused.to_string(), "the outside diameter must be over zero");
    assert_eq!(straight_pressure(inch(0.25), inch(0.125), s), Err(Refusal::NoBore));
    assert!(burst_pressure(inch(f64::NAN), inch(0.035), s).is_err());
    assert!(margin(s, Pressure::from_si(0.0)).is_err());
}

proptest! {
    #[test]
    fn between_thin_and_thick_wall(od in 0.05..2.0_f64, part in 0.01..0.166_f64) {
        // Barlow on the outside diameter is under the code form, the code form under Lamé, up to D/6.
        let s = Pressure::from_si(1e8);
        let barlow = 2.0 * s.si() * part;
        let code = straight_pressure(inch(od), inch(od * part), s).unwrap().si();
        let lame = burst_pressure(inch(od), inch(od * part), s).unwrap().si();
        prop_assert!(barlow < code && code <= lame * (1.0 + 1e-12), "{barlow} {code} {lame}");
    }

    #[test]
    fn a_bend_never_helps(od in 0.05..2.0_f64, ratio in 0.51..50.0_f64) {
        let s = Pressure::from_si(1e8);
        let bent = bend_pressure(inch(od), inch(od * 0.1), s, inch(od * ratio)).unwrap().si();
        prop_assert!(bent < straight_pressure(inch(od), inch(od * 0.1), s).unwrap().si());
    }
}

//! The agent table against its sources and against values between its rows.

use linewalk::physics::agents::{AGENTS, RANGE, agent};
use linewalk::units::Temperature;

fn at(name: &str, celsius: f64) -> linewalk::physics::agents::Liquid {
    agent(name).unwrap().at(Temperature::from_celsius(celsius)).unwrap()
}

/// CoolProp 8.0.0, saturated liquid, computed apart from the table's rows: between them the lines hold to 0.5 %.
#[test]
fn between_the_rows_the_lines_hold() {
    // Clausius-Clapeyron between 25 and 40 C: FK-5-1-12 boils at 101 325 Pa and 49.05 C (same program).
    let boiling = at("FK-5-1-12", 49.05);
    assert!((boiling.vapour_pressure / 101_325.0 - 1.0).abs() < 5e-3, "{}", boiling.vapour_pressure);
    // Water at 30 C: 995.65 kg/m3, 0.7973 mPa.s, 4246.9 Pa (IAPWS-95 and IAPWS 2008 viscosity, from memory).
    let water = at("water", 30.0);
    for (got, library) in [
        (boiling.vapour_pressure, 101_325.0),
        (water.density.si(), 995.65),
        (water.viscosity.si(), 0.7973e-3),
        (water.vapour_pressure, 4246.9),
    ] {
        crate::near::tell((got - library).abs(), library);
    }
    assert!((water.density.si() / 995.65 - 1.0).abs() < 5e-4);
    assert!((water.viscosity.si() / 0.7973e-3 - 1.0).abs() < 5e-3);
    assert!((water.vapour_pressure / 4246.9 - 1.0).abs() < 5e-3);
}

/// The 10 % test at 20 C and 14.8 bar absolute (standards list, computed with CoolProp 8.0.0): 26.3 %, 15.5 %, 2.2 %.
#[test]
fn vapour_pressure_tells_which_agents_need_a_chart() {
    for (name, printed) in [("HFC-227ea", 26.3), ("HFC-236fa", 15.5), ("FK-5-1-12", 2.2)] {
        let share = 100.0 * at(name, 20.0).vapour_pressure / 14.8e5;
        assert!((share - printed).abs() <= 0.051, "{name}: {share}");
    }
}

#[test]
fn clean_agents_that_boil_at_ambient_say_so() {
    assert!(at("HFC-227ea", 20.0).boils_at_ambient);
    assert!(at("HFC-236fa", 20.0).boils_at_ambient);
    assert!(!at("FK-5-1-12", 20.0).boils_at_ambient);
    assert!(at("FK-5-1-12", 55.0).boils_at_ambient);
    assert!(!at("water", 60.0).boils_at_ambient);
}

#[test]
fn every_agent_thins_with_heat_and_names_its_sources() {
    for known in AGENTS {
        let (cold, warm) = (at(known.name, RANGE.0), at(known.name, RANGE.1));
        assert!(
            warm.density.si() <= cold.density.si() && warm.viscosity.si() <= cold.viscosity.si(),
            "{}",
            known.name
        );
        assert!(warm.vapour_pressure > cold.vapour_pressure);
        assert!(!known.density_cite.document.is_empty() && !known.viscosity_cite.document.is_empty());
        assert!(
            known.at(Temperature::from_celsius(-5.0)).is_none()
                && known.at(Temperature::from_celsius(65.0)).is_none()
        );
    }
}

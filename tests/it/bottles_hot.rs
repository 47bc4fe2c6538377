//! Bottles away from the temperature they were filled at: how full of liquid, and what the gauge should show. Expected values
//! by CoolProp 8.0.0 (densities, vapour pressures) and the formulas typed anew beside it, unless another source is named.

use linewalk::model::Car;
use linewalk::numbers::spread;

use crate::near::near_share;
use crate::numbers_rig::{car, number, psi, refused, value};

fn bottle(agent: &str, mass: &str, volume: &str, charge: &str, more: &str) -> Car {
    car(&format!(
        "format = 1\n[car]\nid = \"b\"\nnumber = \"1\"\n[suppression]\n[[suppression.bottle]]\nid = \"b1\"\n\
         agent = \"{agent}\"\nagent_mass = \"{mass}\"\nvolume = \"{volume}\"\ncharge_pressure = \"{charge}\"\n\
         charge_temperature = \"70 F\"\n{more}"
    ))
}

/// kg/l at which each agent is at its limit, as a fill of one liter: 0.95 of the liquid at 50 C (UN P200; the 1.21 printed
/// there for HFC-227ea agrees), the liquid at 55 C (49 CFR 173.304). Worked with CoolProp 8.0.0.
#[test]
fn limits_of_filling_are_those_of_the_hot_liquid() {
    for (agent, most, full) in
        [("HFC-227ea", 1.208, 1.245), ("HFC-236fa", 1.205, 1.249), ("FK-5-1-12", 1.448, 1.507)]
    {
        for share in [0.99, 1.0, 1.01] {
            let at =
                |kilograms: f64| bottle(agent, &format!("{} kg", kilograms * share), "1 L", "20 bar", "");
            near_share(value(&at(most), "bottle.fill_hot", "b1"), share, 5e-4, "UN P200");
            near_share(value(&at(full), "bottle.fill_55c", "b1"), share, 5e-4, "49 CFR 173.304(b)");
        }
    }
}

/// 8.13 lb in 170 in3 is 94.3 % at 70 F, which passed at the shop's temperature: it is liquid-full at 39 C.
#[test]
fn a_bottle_that_passes_cold_is_judged_hot() {
    let car = bottle("HFC-227ea", "8.13 lb", "170 in3", "360 psi", "");
    near_share(value(&car, "bottle.fill", "b1"), 0.943, 1e-3, "as judged before");
    near_share(value(&car, "bottle.fill_55c", "b1"), 1.063_46, 2e-4, "CoolProp 8.0.0");
    near_share(value(&car, "bottle.fill_hot", "b1"), 1.095_95, 2e-4, "CoolProp 8.0.0");
}

/// Water grows by 998.0 / 983.2 from 70 F to 60 C (CoolProp 8.0.0), and so do the agents made with it: 10 kg in 11 liters.
#[test]
fn water_based_agents_grow_as_water_does() {
    for (agent, density) in [("water", 998.2), ("AFFF 3 %", 1005.0), ("potassium-salt mix", 1250.0)] {
        let car = bottle(agent, "10 kg", "11 L", "200 psi", "");
        let hot = 10.0 / (density * 983.2 / 998.2) / 0.011;
        near_share(value(&car, "bottle.fill_hot", "b1"), hot / 0.95, 1e-4, "water's expansion");
    }
}

#[test]
fn how_a_custom_agent_grows_is_not_guessed() {
    let car = bottle("custom", "2 kg", "3 L", "200 psi", "density = \"1200 kg/m3\"");
    for id in ["bottle.fill_hot", "bottle.fill_55c"] {
        let no = refused(&car, id, "b1", &[]);
        assert!(no.needs.is_empty() && no.reason.contains("fill on its label"), "{no:?}");
    }
}

/// An over-full bottle is a finding: the car opens, and its numbers say so.
#[test]
fn an_over_full_bottle_does_not_keep_the_car_from_opening() {
    let car = bottle("FK-5-1-12", "12 lb", "200 in3", "360 psi", "");
    assert!(value(&car, "bottle.fill", "b1") > 1.0);
    assert!(value(&car, "bottle.fill_55c", "b1") > 1.0);
}

fn at(shell: &str) -> [(&str, &str); 1] {
    [("suppression.bottle.b1.shell_temperature", shell)]
}

#[test]
fn water_leaves_its_gas_less_room_when_it_is_hot() {
    // 12 lb of water in 400 in3: with a gas space that stays as it is the gauge would show 218.2 psi.
    let car = bottle("water", "12 lb", "400 in3", "200 psi", "");
    let hot = number(&car, "bottle.expected_pressure", "b1", &at("115 F")).si().unwrap();
    near_share(hot, psi(229.307), 2e-3, "CoolProp 8.0.0");
}

/// 10 lb in 330 in3 at 360 psi and 70 F, read at 85 F: 379.2 psi with no nitrogen dissolved, 374.7 psi at an Ostwald
/// coefficient of 0.5.
#[test]
fn a_clean_agent_has_a_band_of_dissolved_nitrogen_near_its_charge_temperature() {
    let with = |more: &str| bottle("FK-5-1-12", "10 lb", "330 in3", "360 psi", more);
    for (more, expected) in
        [("dissolved_nitrogen = 0", 379.174), ("", 376.433), ("dissolved_nitrogen = 0.5", 374.675)]
    {
        let warm = number(&with(more), "bottle.expected_pressure", "b1", &at("85 F")).si().unwrap();
        // The table is straight between its rows at 20, 25 and 40 C: 0.02 % of the density, 0.05 % of this pressure.
        near_share(warm, psi(expected), 5e-4, "CoolProp 8.0.0");
    }
    let silent = number(&with(""), "bottle.expected_pressure", "b1", &at("85 F"));
    let input = silent.inputs.iter().find(|input| input.path.ends_with("dissolved_nitrogen")).unwrap();
    assert!(input.assumed);
    assert_eq!(spread(input), Some([0.0, 0.5]));
    // The other side of the charge temperature too, and not a degree beyond either.
    number(&with(""), "bottle.expected_pressure", "b1", &at("55 F"));
    for far in ["86 F", "54 F", "115 F"] {
        let no = refused(&with(""), "bottle.expected_pressure", "b1", &at(far));
        assert!(no.reason.contains("the chart on the label is needed"), "{no:?}");
    }
    let chart = "pressure_chart = [[\"40 F\", \"330 psi\"], [\"120 F\", \"410 psi\"]]";
    let charted = number(&with(chart), "bottle.expected_pressure", "b1", &at("115 F")).si().unwrap();
    near_share(charted, psi(405.0), 1e-9, "straight between the rows");
}

#[test]
fn a_gas_made_liquid_is_judged_by_its_chart_only() {
    for agent in ["HFC-227ea", "HFC-236fa"] {
        let car = bottle(agent, "5 lb", "170 in3", "360 psi", "");
        near_share(value(&car, "bottle.expected_pressure", "b1"), psi(360.0), 1e-12, "as charged");
        let no = refused(&car, "bottle.expected_pressure", "b1", &at("75 F"));
        assert!(no.reason.contains("the chart on the label is needed"), "{no:?}");
    }
}

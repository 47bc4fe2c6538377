//! Readings of the day as people call them.

/// What a reading is called, for those who do not key it in. Another value of the car file keeps its key, which is the
/// only name it has.
pub(super) fn title(key: &str) -> String {
    let parts: Vec<&str> = key.split('.').collect();
    let named = match parts.as_slice() {
        ["suppression", "bottle", id, what] => bottle(what).map(|what| format!("{what}, bottle {id}")),
        ["brakes", "circuit", circuit, test, what] => hold(test, what, circuit),
        ["brakes", "master", id, "rod_travel"] => Some(format!("Travel of the rod at the pedal force, {id}")),
        ["brakes", "wheel_brake", corner, "pad_left"] => Some(format!("Pad thickness left, {corner}")),
        ["brakes", what] => fluid(what).map(str::to_owned),
        ["electrics", id, what] => electric(what).map(|what| format!("{what}, {id}")),
        _ => None,
    };
    named.unwrap_or_else(|| key.to_owned())
}

/// Whether it belongs to a pressure-hold test.
pub(super) fn is_of_hold(key: &str) -> bool {
    let parts: Vec<&str> = key.split('.').collect();
    matches!(parts.as_slice(), ["brakes", "circuit", _, "hold" | "hold_low", _])
}

fn bottle(what: &str) -> Option<&'static str> {
    match what {
        "gauge" => Some("Pressure on the gauge"),
        "shell_temperature" => Some("Temperature of the shell"),
        "weighed" => Some("Weight on the scale"),
        _ => None,
    }
}

fn hold(test: &str, what: &str, circuit: &str) -> Option<String> {
    let test = match test {
        "hold" => "High-pressure hold",
        "hold_low" => "Low-pressure hold",
        _ => return None,
    };
    let what = match what {
        "start_pressure" => "pressure at the start",
        "end_pressure" => "pressure at the end",
        "start_temperature" => "temperature at the start",
        "end_temperature" => "temperature at the end",
        "time" => "how long",
        _ => return None,
    };
    Some(format!("{test}, circuit {circuit}: {what}"))
}

fn fluid(what: &str) -> Option<&'static str> {
    match what {
        "fluid_hottest" => Some("Brake fluid at its hottest"),
        "fluid_flushed" => Some("Last full change of brake fluid"),
        "fluid_water" => Some("Water in the brake fluid"),
        _ => None,
    }
}

fn electric(what: &str) -> Option<&'static str> {
    match what {
        "supply_volts" => Some("Supply voltage"),
        "ground_drop" => Some("Voltage lost in the ground"),
        "amps" => Some("Current drawn"),
        _ => None,
    }
}

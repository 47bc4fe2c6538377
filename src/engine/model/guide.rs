//! Where the value of a key is found on a car, and who knows it: asked for by the name of the key.

/// What helps to find one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Guide {
    /// Key path, without ids.
    pub key: &'static str,
    /// Where on the car or on which paper it stands, or how it is measured.
    pub found: &'static str,
    /// Who knows it, where the car does not show it.
    pub asked: &'static str,
}

const fn guide(key: &'static str, found: &'static str, asked: &'static str) -> Guide {
    Guide { key, found, asked }
}

const MAKER: &str = "the maker of the part";
const FILLER: &str = "the maker of the bottle, or the shop that fills it";
const BUILDER: &str = "whoever built the car";
const OWNER: &str = "the owner or driver";

const WITHIN: &str = "How well its points were measured: 1/4 in by tape and plumb line, 2 in by eye; leave it out where it does not matter.";

/// What helps with a key. The path may hold ids.
pub fn guide_to(generic: &str) -> Option<&'static Guide> {
    GUIDES.iter().find(|guide| guide.key == generic)
}

/// Every key that a car does not show at a glance, in the order of the format.
pub const GUIDES: &[Guide] = &[
    guide("car.mass", "Weigh the car on scales with the driver in it.", OWNER),
    guide("car.wheelbase", "Tape from front hub center to rear hub center, on one side.", BUILDER),
    guide(
        "car.cg_height",
        "Weigh the car level and with one axle raised; without scales, the height of the camshaft or of the driver's hips.",
        BUILDER,
    ),
    guide("car.front_share", "Front axle weight over total weight, on scales.", OWNER),
    guide(
        "car.tyre_friction",
        "The tire maker's figure for the compound; nothing on the car shows it.",
        MAKER,
    ),
    guide("car.tire_friction.front", "The tire maker's figure for the front compound.", MAKER),
    guide("car.tire_friction.rear", "The tire maker's figure for the rear compound.", MAKER),
    guide("car.tyre_radius.front", "Tape from the ground to the hub center, car on its wheels.", ""),
    guide("car.tyre_radius.rear", "Tape from the ground to the hub center, car on its wheels.", ""),
    guide("car.engine_rpm.high", "The shift light or limiter setting.", OWNER),
    guide("car.engine_rpm.low", "The lowest speed held while racing.", OWNER),
    guide("frame.tube.od", "Caliper across the tube, paint scraped off.", BUILDER),
    guide("frame.tube.wall", "At an open end or an inspection hole; else an ultrasonic gauge.", BUILDER),
    guide("frame.sleeve.od", "Caliper across the sleeve.", BUILDER),
    guide("frame.sleeve.wall", "Caliper at the end of the sleeve.", BUILDER),
    guide("frame.sleeve.length", "Tape along the line, end to end.", BUILDER),
    guide(
        "brakes.pedal_ratio",
        "From the pivot: distance to the middle of the pad, over distance to the pushrod.",
        BUILDER,
    ),
    guide("brakes.pedal_force", "A force gauge on the pedal at a firm racing stop.", OWNER),
    guide("brakes.pedal_force_hard", "A force gauge on the pedal, pushed as hard as the driver can.", OWNER),
    guide("brakes.booster_ratio", "The booster's data sheet; 1 without a booster.", MAKER),
    guide(
        "brakes.bulk_modulus",
        "Nothing on the car shows it; the fluid maker's data sheet, else leave it out.",
        MAKER,
    ),
    guide(
        "brakes.balance_bar.front_share",
        "From the bar: distance of the pivot to the rear rod, over the distance of the rods.",
        BUILDER,
    ),
    guide("brakes.master.bore", "Cast or stamped on the body, or on the box it came in.", MAKER),
    guide(
        "brakes.master.stroke",
        "The data sheet; or push the rod by hand with the lines open, and tape it.",
        MAKER,
    ),
    guide("brakes.master.reservoir", "Fill it from a measuring cup between the marks.", MAKER),
    guide("brakes.line.tube.od", "Caliper across the tube between clamps.", BUILDER),
    guide("brakes.line.tube.wall", "On the invoice or the roll of tube; caliper on an offcut.", BUILDER),
    guide("brakes.line.tube.min_wall", "Ball micrometer on an offcut; leave it out otherwise.", BUILDER),
    guide("brakes.line.tube.material", "On the invoice or printed along the tube.", BUILDER),
    guide("brakes.line.length", "A string laid along the line, then the tape along the string.", ""),
    guide("brakes.line.bend_radius", "The bender's die; or a radius gauge, plus half the tube.", BUILDER),
    guide("brakes.line.support_gap", "Tape between the two clamps that are farthest apart.", ""),
    guide(
        "brakes.hose.length",
        "Tape from fitting face to fitting face, hose off the car and straight.",
        MAKER,
    ),
    guide("brakes.hose.bore", "Printed on the hose, as -3 for 1/8 in; else the data sheet.", MAKER),
    guide("brakes.hose.min_bend_radius", "The hose maker's data sheet.", MAKER),
    guide(
        "brakes.hose.rating.working",
        "Printed along the hose or on its tag, as WP; else the data sheet.",
        MAKER,
    ),
    guide("brakes.hose.rating.burst", "The hose maker's data sheet.", MAKER),
    guide("brakes.hose.growth", "The hose maker's data sheet; leave it out otherwise.", MAKER),
    guide(
        "brakes.valve.knee",
        "Two pressure gauges, before and behind the valve: where the second falls behind.",
        MAKER,
    ),
    guide(
        "brakes.valve.slope",
        "Two pressure gauges: rise behind the valve over rise before it, past the knee.",
        MAKER,
    ),
    guide("brakes.valve.holds", "Stamped on the valve, as 2 or 10 lb.", MAKER),
    guide("brakes.wheel_brake.pistons", "Count them, both sides: 1 to 8 is usual.", ""),
    guide("brakes.wheel_brake.piston_bore", "Caliper across the piston with the pads out.", MAKER),
    guide("brakes.wheel_brake.effective_radius", "From the hub center to the middle of the pad.", ""),
    guide("brakes.wheel_brake.pad_friction", "The pad maker's curve at racing heat.", MAKER),
    guide("brakes.wheel_brake.pad_gap", "Feeler gauge between pad and rotor, pedal released.", ""),
    guide(
        "brakes.wheel_brake.holds",
        "Fill a dry caliper from a measuring syringe, pads where they run.",
        MAKER,
    ),
    guide(
        "brakes.wheel_brake.flex",
        "A bled caliper alone on a master with a gauge: bore area times rod travel from 0 to 1,000 psi.",
        MAKER,
    ),
    guide("brakes.wheel_brake.pad_new", "Caliper on a new pad, less its backing plate.", MAKER),
    guide("brakes.wheel_brake.pad_min", "The pad maker's wear limit.", MAKER),
    guide("brakes.wheel_brake.pad_cold", "The pad maker's curve: where its friction begins to hold.", MAKER),
    guide("brakes.wheel_brake.pad_hot", "The pad maker's curve: where its friction falls off.", MAKER),
    guide(
        "brakes.wheel_brake.rotor.mass",
        "On a scale; of a two-piece rotor the ring without its hat.",
        MAKER,
    ),
    guide(
        "brakes.wheel_brake.rotor.specific_heat",
        "The rotor maker's data sheet; leave it out for gray iron.",
        MAKER,
    ),
    guide(
        "brakes.wheel_brake.rotor.cooling_time",
        "Two readings of the rotor a minute apart, car rolling: 60 s over ln of (first less air) over (second less air).",
        OWNER,
    ),
    guide(
        "brakes.wheel_brake.fluid_soak",
        "Nothing on the car shows it; a strip on the caliper measures more.",
        MAKER,
    ),
    guide("brakes.duty.from", "The speed at the end of the longest straight or of the strip.", OWNER),
    guide("brakes.duty.to", "The speed at the end of braking; leave it out for a full stop.", OWNER),
    guide("brakes.duty.braking", "A data logger's; or the brakes' part of it without the parachute.", OWNER),
    guide("brakes.duty.every", "Lap time over the hard stops of a lap.", OWNER),
    guide("brakes.duty.start", "A thermometer on the rotor before the run.", OWNER),
    guide("brakes.duty.parachute.diameter", "On its label; else tape across the cloth, laid flat.", MAKER),
    guide("brakes.duty.parachute.drag", "The parachute maker's data sheet; leave it out otherwise.", MAKER),
    guide("brakes.duty.descent.height", "The map: top less foot.", OWNER),
    guide("brakes.duty.descent.length", "The map or the trip counter.", OWNER),
    guide("brakes.duty.descent.speed", "The speed that the way down is driven at.", OWNER),
    guide(
        "brakes.wheel_brake.rollback",
        "Nothing on the car shows it well; measure the rod's travel instead.",
        MAKER,
    ),
    guide(
        "brakes.wheel_brake.drum.kind",
        "Duo-servo: both shoes rest on one pin and meet at the adjuster.",
        MAKER,
    ),
    guide(
        "brakes.wheel_brake.drum.diameter",
        "Cast in the drum as its largest; tape across the inside.",
        MAKER,
    ),
    guide(
        "brakes.wheel_brake.drum.cylinder_bore",
        "Cast on the wheel cylinder, or caliper across its piston.",
        MAKER,
    ),
    guide("brakes.wheel_brake.drum.anchor", "Drum off: tape from the hub center to the pin's middle.", ""),
    guide(
        "brakes.wheel_brake.drum.arm",
        "Drum off: from the pin's middle, or the adjuster's of a duo-servo brake, to the wheel cylinder's middle.",
        "",
    ),
    guide("brakes.wheel_brake.drum.link", "Drum off: tape from the hub center to the adjuster's middle.", ""),
    guide("brakes.wheel_brake.drum.lining_from", "Drum off: protractor at the hub center, from the pin.", ""),
    guide("brakes.wheel_brake.drum.lining_to", "Drum off: protractor at the hub center, from the pin.", ""),
    guide(
        "brakes.wheel_brake.drum.primary_from",
        "Protractor, from the pin; leave it out where both are alike.",
        "",
    ),
    guide(
        "brakes.wheel_brake.drum.primary_to",
        "Protractor, from the pin; leave it out where both are alike.",
        "",
    ),
    guide(
        "brakes.wheel_brake.drum.parking_ratio",
        "On the lever in the drum: pin to cable end, over pin to strut.",
        MAKER,
    ),
    guide("brakes.parking.pull", "A spring scale on the parking lever, pulled as hard as usual.", OWNER),
    guide("brakes.parking.ratio", "From the pivot: hand to pivot, over cable to pivot.", BUILDER),
    guide("brakes.parking.efficiency", "Nothing on the car shows it; leave it out.", MAKER),
    guide(
        "suppression.temperature",
        "The coldest and the hottest that the bottle stands at: work both.",
        OWNER,
    ),
    guide("suppression.space.volume", "Tape length, width and height, less engine and parts.", BUILDER),
    guide("suppression.space.temperature", "The coldest morning the car is run on.", OWNER),
    guide("suppression.gas_exponent", "Nothing on the car shows it; leave it out.", MAKER),
    guide("suppression.release_heads", "Count the heads that have a pin of their own.", MAKER),
    guide("suppression.bottle.agent", "On the bottle's label.", FILLER),
    guide("suppression.bottle.agent_mass", "On the bottle's label, as charge or fill.", FILLER),
    guide("suppression.bottle.gross_mass", "On the bottle's label, as gross or full weight.", FILLER),
    guide(
        "suppression.bottle.volume",
        "Stamped on the shell or on its data sheet; else the weight of water it holds, by the shop that empties it.",
        FILLER,
    ),
    guide(
        "suppression.bottle.charge_pressure",
        "On the bottle's label, beside the gauge's green band.",
        FILLER,
    ),
    guide(
        "suppression.bottle.charge_temperature",
        "On the bottle's label, beside the pressure; often 70 F.",
        FILLER,
    ),
    guide(
        "suppression.bottle.pressure_chart",
        "On the label or in the manual: pressure by temperature.",
        FILLER,
    ),
    guide("suppression.bottle.serial", "Stamped on the shell or on the label.", ""),
    guide("suppression.bottle.serviced", "On the service tag.", FILLER),
    guide("suppression.bottle.tested", "Stamped on the shell's shoulder or on the label.", FILLER),
    guide("suppression.bottle.service_every", "In the manual or on the label.", FILLER),
    guide("suppression.bottle.test_every", "In the manual or the marking on the shell.", FILLER),
    guide(
        "suppression.bottle.outlet_k",
        "The valve maker's data sheet, as loss or K; leave it out otherwise.",
        MAKER,
    ),
    guide("suppression.bottle.valve_opening", "The valve maker's data sheet; leave it out otherwise.", MAKER),
    guide("suppression.bottle.dissolved_nitrogen", "Nothing on the car shows it; leave it out.", FILLER),
    guide("suppression.bottle.mount.span", "Tape between the rows of bolts, along the bottle.", ""),
    guide("suppression.bottle.mount.width", "Tape between the rows of bolts, across the bottle.", ""),
    guide(
        "suppression.bottle.mount.offset",
        "Tape from the face the bracket is bolted to, to the middle of the bottle.",
        "",
    ),
    guide("suppression.bottle.mount.bolt.size", "Caliper and thread gauge on the bolt.", BUILDER),
    guide(
        "suppression.bottle.mount.bolt.grade",
        "The marks on the bolt's head: three lines are SAE 5, six are SAE 8.",
        BUILDER,
    ),
    guide("suppression.line.tube.od", "Caliper across the tube.", BUILDER),
    guide("suppression.line.tube.wall", "On the invoice or the roll of tube; caliper on an offcut.", BUILDER),
    guide("suppression.line.tube.min_wall", "Ball micrometer on an offcut; leave it out otherwise.", BUILDER),
    guide("suppression.line.tube.material", "On the invoice or printed along the tube.", BUILDER),
    guide("suppression.line.length", "A string laid along the line, then the tape along the string.", ""),
    guide(
        "suppression.line.bend_radius",
        "The bender's die; or a radius gauge, plus half the tube.",
        BUILDER,
    ),
    guide("suppression.line.support_gap", "Tape between the two clamps that are farthest apart.", ""),
    guide(
        "suppression.line.inlet_k",
        "The data sheet of what sits at its inlet; leave it out otherwise.",
        MAKER,
    ),
    guide("suppression.line.roughness", "Nothing on the car shows it; leave it out for drawn tube.", MAKER),
    guide(
        "suppression.nozzle.orifice",
        "The shank of a drill that just fits, nozzle off the car; or the maker's number on it.",
        MAKER,
    ),
    guide("suppression.nozzle.cd", "The nozzle maker's data sheet; leave it out otherwise.", MAKER),
    guide(
        "suppression.nozzle.factor",
        "The nozzle maker's data sheet, as K-factor or flow at a pressure.",
        MAKER,
    ),
    guide("suppression.nozzle.cone", "The nozzle maker's data sheet, as spray angle.", MAKER),
    guide("suppression.nozzle.reach", "The nozzle maker's data sheet, as throw.", MAKER),
    guide(
        "suppression.pull.valve_force",
        "A spring scale on the valve's lever, bottle empty or pin fitted by its maker's instructions.",
        MAKER,
    ),
    guide("suppression.pull.valve_travel", "Tape at the lever from rest to open.", MAKER),
    guide("suppression.pull.handle_travel", "Tape at the handle from rest to its stop.", BUILDER),
    guide("suppression.pull.length", "A string laid along the conduit, then the tape along the string.", ""),
    guide(
        "suppression.pull.friction",
        "Pull the cable free of the valve with a spring scale, with a known weight on it.",
        MAKER,
    ),
    guide("suppression.pull.slack", "Pull by hand until the valve begins to move, and tape it.", ""),
    guide("suppression.pull.stretch", "The cable maker's data sheet; leave it out otherwise.", MAKER),
    guide("suppression.pull.min_bend_radius", "The conduit maker's data sheet.", MAKER),
    guide("electrics.amps", "On the part or its data sheet; or a clamp meter while it works.", MAKER),
    guide("brakes.line.within", WITHIN, ""),
    guide("brakes.hose.within", WITHIN, ""),
    guide("suppression.line.within", WITHIN, ""),
];

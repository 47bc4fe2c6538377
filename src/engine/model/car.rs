//! A car file: text to [`Car`], with every mistake in it.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::{Diagnostic, Place, SourceFile};
use crate::source::{self, Dated, Overrides, ReadState, Reader, Word};
use crate::units::{Current, Given, Length, Mass, Rate, Ratio, Span};

use super::brakes::Brakes;
use super::known::Known;
use super::run::check_wall;
use super::suppression::Suppression;
use super::tag::{Answer3, Tag};
use super::vocabulary::folded;

/// Where the engine is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum EnginePlace {
    Front,
    Mid,
    Rear,
}

/// Where the driver sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum Seat {
    Left,
    Right,
    Centre,
}

/// One car.
#[derive(Clone, Debug, Default)]
pub struct Car {
    /// The file it was read from.
    pub file: String,
    /// Its id: names its folder in the log.
    pub id: String,
    /// The number it runs under.
    pub number: String,
    /// Its name.
    pub name: Option<String>,
    /// Who answers for it.
    pub keeper: Option<String>,
    /// What rule files ask for.
    pub facts: Facts,
    /// Weights and lengths of the whole car.
    pub chassis: Chassis,
    /// Frame tubes that lines run inside.
    pub tubes: Vec<FrameTube>,
    /// Sleeves where lines enter or leave them.
    pub sleeves: Vec<Sleeve>,
    /// The brake system.
    pub brakes: Brakes,
    /// The suppression system.
    pub suppression: Suppression,
    /// Electric parts.
    pub electrics: Vec<Electric>,
    /// Hand-held extinguishers.
    pub hand_held: Vec<HandHeld>,
    /// Metres a unit of the file's points.
    pub point_unit: f64,
    /// Rulesets it is walked under, by their ids, where the file says so.
    pub rules: Vec<Word>,
    /// How each of these values is known.
    pub known: Arc<Known>,
}

/// What rule files ask of a car.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    /// A free word.
    pub discipline: Option<Word>,
    /// What it is entered as: the rulesets that declare the class are in force for it.
    pub class: Option<Word>,
    /// Fuels.
    pub fuel: Option<Vec<Word>>,
    /// Where the engine is.
    pub engine: Option<EnginePlace>,
    /// Where the driver sits.
    pub driver: Option<Seat>,
    /// Tags it has.
    pub equipment: Vec<Tag>,
    /// Tags it surely has not.
    pub without: Vec<Tag>,
    /// Where each of those stands in the file.
    pub without_at: Vec<(Tag, Place)>,
    /// Words of `equipment` that name no tag: a rule file may declare them.
    pub other_equipment: Vec<Word>,
    /// Words of `without` that name no tag.
    pub other_without: Vec<Word>,
}

/// Weights and lengths of the whole car.
#[derive(Clone, Debug, Default)]
pub struct Chassis {
    /// Lowest and highest racing engine speed.
    pub engine_rpm: Option<(Given<Rate>, Given<Rate>)>,
    /// Cylinders of a four-stroke engine.
    pub cylinders: Option<u32>,
    /// Power strokes a turn of the crank.
    pub firing: Option<Given<Ratio>>,
    /// Mass with driver.
    pub mass: Option<Given<Mass>>,
    /// Static share on the front axle.
    pub front_share: Option<Given<Ratio>>,
    /// Wheelbase.
    pub wheelbase: Option<Given<Length>>,
    /// Height of the centre of gravity.
    pub cg_height: Option<Given<Length>>,
    /// Friction of all tires alike.
    pub tyre_friction: Option<Given<Ratio>>,
    /// Friction of the front tires.
    pub tire_friction_front: Option<Given<Ratio>>,
    /// Friction of the rear tires.
    pub tire_friction_rear: Option<Given<Ratio>>,
    /// Loaded radius of the front tyres.
    pub tyre_radius_front: Option<Given<Length>>,
    /// Loaded radius of the rear tyres.
    pub tyre_radius_rear: Option<Given<Length>>,
}

/// A frame tube.
#[derive(Clone, Debug)]
pub struct FrameTube {
    /// Its id.
    pub id: String,
    /// Outside diameter.
    pub od: Option<Given<Length>>,
    /// Wall.
    pub wall: Option<Given<Length>>,
}

/// A welded-in sleeve.
#[derive(Clone, Debug)]
pub struct Sleeve {
    /// Its id.
    pub id: String,
    /// The frame tube it is welded into.
    pub tube: Option<Word>,
    /// Outside diameter.
    pub od: Option<Given<Length>>,
    /// Wall.
    pub wall: Option<Given<Length>>,
    /// Length.
    pub length: Option<Given<Length>>,
    /// Lines it carries, either system.
    pub carries: Vec<Word>,
}

/// An electric part.
#[derive(Clone, Debug)]
pub struct Electric {
    /// Its id.
    pub id: String,
    /// What it is.
    pub part: Option<Word>,
    /// Current it draws.
    pub amps: Option<Given<Current>>,
}

/// A hand-held extinguisher.
#[derive(Clone, Debug)]
pub struct HandHeld {
    /// Its id.
    pub id: String,
    /// Last service.
    pub serviced: Option<Dated>,
    /// Service interval.
    pub service_every: Option<Span>,
}

impl HandHeld {
    /// The day the next service falls due, by the car's own span.
    pub fn due(&self) -> Option<NaiveDate> {
        self.service_every?.after(self.serviced?.day)
    }
}

/// What a reading of a car file gives.
#[derive(Clone, Debug)]
pub struct CarRead {
    /// The car, as far as it could be read.
    pub car: Arc<Car>,
    /// Everything wrong or doubtful.
    pub diagnostics: Vec<Diagnostic>,
}

/// The most members of one list of a car file: lines, nozzles, points of a path. Far above any car, and what keeps the
/// sums of every number short.
pub const MOST_PARTS: usize = 100;

/// Reads a car file. The car is whole only where no mistake is an error.
pub fn read_car(file: &Arc<SourceFile>, overrides: &Overrides) -> CarRead {
    let (root, mut diagnostics) = source::parse(file);
    let state = ReadState::of_part(overrides.clone(), !diagnostics.is_empty()).with_at_most(MOST_PARTS);
    let car = Reader::document(&root, &state, Car::read);
    let mut car = Car { file: file.name.clone(), ..car };
    if !overrides.is_empty() && !car.known.is_empty() {
        Arc::make_mut(&mut car.known).replace(overrides.keys());
    }
    let car = Arc::new(car);
    diagnostics.extend(source::beside(&diagnostics, state.finish()));
    crate::diagnostic::sort(&mut diagnostics);
    CarRead { car, diagnostics }
}

/// The JSON Schema of a car file.
pub fn car_schema() -> serde_json::Value {
    source::schema("linewalk car file", &Reader::shape(Car::read), MOST_PARTS)
}

impl Car {
    /// Reads the document; also run over nothing to describe the format.
    pub fn read(r: &Reader<'_>) -> Self {
        r.format_number();
        let scale = r.table("axes", super::axes::AXES, axes).unwrap_or(crate::units::INCH);
        let mut car = r
            .table("car", "The car itself: its id, its number, and what it weighs and has.", Self::read_head)
            .unwrap_or_else(|| {
                if !r.has("car") && r.is_whole() {
                    let help = "add [car] with id = \"…\" and number = \"…\"";
                    r.report(Diagnostic::error(&r.at, "the file has no [car] table", help));
                }
                Self::default()
            });
        r.needs("car");
        let frame = r.table("frame", "Frame tubes and sleeves.", |r| {
            (
                r.tables("tube", "Frame tubes that lines run inside.", FrameTube::read),
                r.tables("sleeve", "Sleeves where lines enter or leave a frame tube.", Sleeve::read),
            )
        });
        (car.tubes, car.sleeves) = frame.unwrap_or_default();
        car.brakes = r.table("brakes", "The brake system.", |r| Brakes::read(r, scale)).unwrap_or_default();
        car.suppression = r
            .table("suppression", "The suppression system.", |r| Suppression::read(r, scale))
            .unwrap_or_default();
        car.electrics =
            r.tables("electrics", "Electric parts of the brake or suppression system.", |r| Electric {
                id: r.id("id", "Name of the part, unique in the file."),
                part: r.word("part", "What it is: line-lock, pressure-sensor and the like."),
                amps: r.positive("amps", "Current it draws."),
            });
        car.hand_held = r.tables("hand_held", "Hand-held extinguishers carried in the car.", |r| HandHeld {
            id: r.id("id", "Name of the extinguisher, unique in the file."),
            serviced: r.date("serviced", "Date of the last service."),
            service_every: r.span("service_every", "Time between services, by its maker."),
        });
        car.point_unit = scale;
        car.known = Arc::new(Known::read(r));
        if r.is_whole() {
            super::refer::check(&car, r);
        }
        car
    }

    fn read_head(r: &Reader<'_>) -> Self {
        Self {
            id: r.id("id", "Names the car's folder in the log: letters, digits, hyphens."),
            number: r.need_text_or_number("number", "The number it runs under."),
            name: r.text("name", "What the car is called."),
            keeper: r.text("keeper", "Who answers for the car."),
            facts: Facts::read(r),
            rules: r
                .words("rules", "Rulesets it is walked under, by their ids; else those of its class.")
                .unwrap_or_default(),
            chassis: Chassis::read(r),
            ..Self::default()
        }
    }

    /// Whether the car has a tag: yes, no or not known.
    pub fn has(&self, tag: Tag) -> Answer3 {
        if self.facts.equipment.contains(&tag) || self.implies(tag) {
            return Answer3::Yes;
        }
        let bare = match tag {
            Tag::DiscFront => self.brakes.axle_without(true) || self.brakes.axle_is(true, true),
            Tag::DiscRear => self.brakes.axle_without(false) || self.brakes.axle_is(false, true),
            Tag::DrumFront => self.brakes.axle_without(true) || self.brakes.axle_is(true, false),
            Tag::DrumRear => self.brakes.axle_without(false) || self.brakes.axle_is(false, false),
            _ => false,
        };
        if bare || self.facts.without.contains(&tag) { Answer3::No } else { Answer3::Unknown }
    }

    /// Whether the car has what a word beyond the tags names: yes, no or not known.
    pub fn has_other(&self, word: &str) -> Answer3 {
        let among = |words: &[Word]| words.iter().any(|known| folded(&known.text) == folded(word));
        match (among(&self.facts.other_equipment), among(&self.facts.other_without)) {
            (true, false) => Answer3::Yes,
            (false, true) => Answer3::No,
            _ => Answer3::Unknown,
        }
    }

    /// Whether the rest of the file implies a tag.
    pub fn implies(&self, tag: Tag) -> bool {
        let (brakes, suppression) = (&self.brakes, &self.suppression);
        let single_masters = brakes.masters.iter().filter(|master| master.ports.len() == 1).count();
        let valve = |kind| brakes.valves.iter().any(|valve| valve.kind == Some(kind));
        let part = |word: &str| {
            self.electrics.iter().any(|e| e.part.as_ref().is_some_and(|part| folded(&part.text) == word))
        };
        let drums = |front: bool| {
            let here = |corner: super::Corner| corner.is_front() == front;
            brakes.wheel_brakes.iter().any(|brake| brake.drum.is_some() && brake.corner().is_some_and(here))
        };
        match tag {
            Tag::DrumFront => drums(true),
            Tag::DrumRear => drums(false),
            Tag::ParkingBrake => brakes.parking.is_some(),
            Tag::Suppression => !suppression.bottles.is_empty(),
            Tag::SecondBottle => suppression.bottles.len() > 1,
            Tag::PullRelease => !suppression.pulls.is_empty(),
            Tag::Tees => !suppression.tees.is_empty(),
            Tag::TandemMaster => brakes.masters.iter().any(|master| master.ports.len() == 2),
            Tag::BalanceBar => single_masters > 1 || brakes.bar_front_share.is_some(),
            Tag::FrameTubeLines => !self.tubes.is_empty() || !self.sleeves.is_empty(),
            Tag::LineLock => valve(super::ValveKind::LineLock) || part("line-lock"),
            Tag::ResidualValve => valve(super::ValveKind::Residual) || part("residual-valve"),
            Tag::ProportioningValve => valve(super::ValveKind::Proportioning) || part("proportioning-valve"),
            Tag::HandHeld => !self.hand_held.is_empty(),
            other => part(other.word()),
        }
    }

    /// Whether a list of parts has one of an id.
    pub fn has_part(&self, list: &str, id: &str) -> bool {
        let (brakes, suppression) = (&self.brakes, &self.suppression);
        let mut ids: Box<dyn Iterator<Item = &str>> = match list {
            "frame.tube" => Box::new(self.tubes.iter().map(|part| part.id.as_str())),
            "frame.sleeve" => Box::new(self.sleeves.iter().map(|part| part.id.as_str())),
            "brakes.master" => Box::new(brakes.masters.iter().map(|part| part.id.as_str())),
            "brakes.line" => Box::new(brakes.lines.iter().map(|part| part.run.id.as_str())),
            "brakes.hose" => Box::new(brakes.hoses.iter().map(|part| part.id.as_str())),
            "brakes.valve" => Box::new(brakes.valves.iter().map(|part| part.id.as_str())),
            "brakes.wheel_brake" => Box::new(brakes.wheel_brakes.iter().map(|part| part.id.as_str())),
            "suppression.bottle" => Box::new(suppression.bottles.iter().map(|part| part.id.as_str())),
            "suppression.tee" => Box::new(suppression.tees.iter().map(|part| part.id.as_str())),
            "suppression.line" => Box::new(suppression.lines.iter().map(|part| part.run.id.as_str())),
            "suppression.nozzle" => Box::new(suppression.nozzles.iter().map(|part| part.id.as_str())),
            "suppression.hazard" => Box::new(suppression.hazards.iter().map(|part| part.id.as_str())),
            "suppression.pull" => Box::new(suppression.pulls.iter().map(|part| part.id.as_str())),
            "electrics" => Box::new(self.electrics.iter().map(|part| part.id.as_str())),
            "hand_held" => Box::new(self.hand_held.iter().map(|part| part.id.as_str())),
            _ => Box::new(std::iter::empty()),
        };
        ids.any(|known| known == id)
    }

    /// Every hard or flexible line of either system with its id.
    pub fn runs(&self) -> impl Iterator<Item = &super::Run> {
        self.brakes
            .lines
            .iter()
            .map(|line| &line.run)
            .chain(self.suppression.lines.iter().map(|line| &line.run))
    }
}

fn axes(r: &Reader<'_>) -> f64 {
    const UNITS: &[(&str, f64)] = &[("in", 0.0254), ("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("ft", 0.3048)];
    r.choice("unit", "Unit of every point: in, mm, cm, m, ft; default: in.", UNITS)
        .unwrap_or(crate::units::INCH)
}

impl Facts {
    /// Reads the keys that rule files ask about.
    pub fn read(r: &Reader<'_>) -> Self {
        const ENGINES: &[(&str, EnginePlace)] =
            &[("front", EnginePlace::Front), ("mid", EnginePlace::Mid), ("rear", EnginePlace::Rear)];
        const SEATS: &[(&str, Seat)] =
            &[("left", Seat::Left), ("right", Seat::Right), ("centre", Seat::Centre)];
        let fuel = r.words("fuel", "Fuels: gasoline, methanol, ethanol, diesel and so on.");
        let tags = |found: &[(Tag, Place)]| found.iter().map(|(tag, _)| *tag).collect();
        let (equipment, other_equipment) = super::refer::tags(r, "equipment", "Tags the car has.");
        let (without_at, other_without) = super::refer::tags(r, "without", "Tags the car surely has not.");
        Self {
            discipline: r.word("discipline", "What it is run in: a word that rule files may ask for."),
            class: r
                .word("class", "What it is entered as: rules that declare this class are in force for it."),
            fuel,
            engine: r.choice("engine", "Where the engine is: front, mid, rear.", ENGINES),
            driver: r.choice("driver", "Where the driver sits: left, right, centre.", SEATS),
            equipment: tags(&equipment),
            without: tags(&without_at),
            without_at,
            other_equipment,
            other_without,
        }
    }
}

impl Chassis {
    fn read(r: &Reader<'_>) -> Self {
        let rpm = r.table("engine_rpm", "Racing range of engine speed.", |r| {
            let range =
                (r.rpm("low", "Lowest racing speed, rpm."), r.rpm("high", "Highest racing speed, rpm."));
            if let (Some(low), Some(high)) = range
                && low.si() > high.si()
            {
                let help = "the low end comes first: low = 2500, high = 7800";
                r.report(Diagnostic::error(&r.place("low"), "the low end is above the high end", help));
            }
            range.0.zip(range.1)
        });
        let radius = r.table("tyre_radius", "Loaded tire radius at each axle.", |r| {
            (r.positive("front", "At the front axle."), r.positive("rear", "At the rear axle."))
        });
        let (tyre_radius_front, tyre_radius_rear) = radius.unwrap_or_default();
        let grip = r.table("tire_friction", "Friction of tire on road at each axle.", |r| {
            (r.positive("front", "Of the front tires."), r.positive("rear", "Of the rear tires."))
        });
        let (tire_friction_front, tire_friction_rear) = grip.unwrap_or_default();
        let tyre_friction = r.positive("tyre_friction", "Friction of tire on road, the same at both axles.");
        if tyre_friction.is_some() && (tire_friction_front.is_some() || tire_friction_rear.is_some()) {
            let help = "keep tire_friction, which has each axle's own, and take tyre_friction out";
            r.report(Diagnostic::error(
                &r.place("tyre_friction"),
                "the tires' friction is given twice",
                help,
            ));
        }
        Self {
            engine_rpm: rpm.flatten(),
            cylinders: r.count("cylinders", "Cylinders of a four-stroke engine."),
            firing: r.positive(
                "firing",
                "Power strokes a turn of the crank, where they are not half of the cylinders.",
            ),
            mass: r.positive("mass", "Mass with driver."),
            front_share: r.share("front_share", "Static share of the weight on the front axle."),
            wheelbase: r.positive("wheelbase", "Distance between the axles."),
            cg_height: r.positive("cg_height", "Height of the center of gravity."),
            tyre_friction,
            tire_friction_front,
            tire_friction_rear,
            tyre_radius_front,
            tyre_radius_rear,
        }
    }
}

impl FrameTube {
    fn read(r: &Reader<'_>) -> Self {
        let tube = Self {
            id: r.id("id", "Name of the frame tube, unique in the file."),
            od: r.positive("od", "Outside diameter of the frame tube."),
            wall: r.positive("wall", "Wall thickness of the frame tube."),
        };
        check_wall(r, tube.od, tube.wall);
        tube
    }
}

impl Sleeve {
    fn read(r: &Reader<'_>) -> Self {
        let sleeve = Self {
            id: r.id("id", "Name of the sleeve, unique in the file."),
            tube: r.word("tube", "Frame tube it is welded into."),
            od: r.positive("od", "Outside diameter of the sleeve."),
            wall: r.positive("wall", "Wall thickness of the sleeve."),
            length: r.positive("length", "Length of the sleeve along the line."),
            carries: r.words("carries", "Lines it carries, of either system.").unwrap_or_default(),
        };
        check_wall(r, sleeve.od, sleeve.wall);
        sleeve
    }
}

impl Car {
    /// Every id of the file: what a finding can be of.
    pub fn ids(&self) -> Vec<&str> {
        let (brakes, suppression) = (&self.brakes, &self.suppression);
        let mut ids: Vec<&str> = vec![&self.id];
        ids.extend(self.tubes.iter().map(|tube| tube.id.as_str()));
        ids.extend(self.sleeves.iter().map(|sleeve| sleeve.id.as_str()));
        ids.extend(brakes.masters.iter().map(|master| master.id.as_str()));
        let ports = || brakes.masters.iter().flat_map(|master| &master.ports);
        ids.extend(ports().map(|port| port.id.as_str()));
        ids.extend(ports().filter_map(|port| port.plumbed_to.as_ref()).map(Word::as_str));
        ids.extend(self.runs().map(|run| run.id.as_str()));
        ids.extend(brakes.hoses.iter().map(|hose| hose.id.as_str()));
        ids.extend(brakes.valves.iter().map(|valve| valve.id.as_str()));
        ids.extend(brakes.wheel_brakes.iter().map(|brake| brake.id.as_str()));
        ids.extend(suppression.bottles.iter().map(|bottle| bottle.id.as_str()));
        ids.extend(suppression.tees.iter().map(|tee| tee.id.as_str()));
        ids.extend(suppression.nozzles.iter().map(|nozzle| nozzle.id.as_str()));
        ids.extend(suppression.hazards.iter().map(|hazard| hazard.id.as_str()));
        ids.extend(
            suppression.shields.iter().chain(&suppression.keep_clear).map(|shield| shield.id.as_str()),
        );
        ids.extend(suppression.pulls.iter().map(|pull| pull.id.as_str()));
        ids.extend(self.electrics.iter().map(|part| part.id.as_str()));
        ids.extend(self.hand_held.iter().map(|held| held.id.as_str()));
        ids
    }
}

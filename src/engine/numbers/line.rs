//! Hard and flexible lines of both systems: length, spans and bends.

use crate::cite::{Basis, Cite};
use crate::model::car::Chassis;
use crate::model::{Construction, Run, SupplyLine};
use crate::physics::brakes::fluid::{GLYCOL_DENSITY, brake_fluid};
use crate::physics::limits::{self, Limit, Metal};
use crate::physics::metals::{self, Family, METALS};
use crate::physics::path::developed_length;
use crate::physics::span::{FilledTube, order_meets, span_frequency};
use crate::units::{Density, Kind, Length, fraction_inches};

use super::agent;
use super::answer::Answer;
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::both;
use super::registry::{Quantity, Shown};
use super::situation::Situation;
use super::ways::{bottles_of, nodes_reached};

const TABLES: &str = "brakes.line, suppression.line";

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "line.length",
        title: "Length of tube in the line",
        of: "any line",
        table: TABLES,
        shown: Shown::Kind(Kind::Length),
        formula: "sum of legs - sum of (2 R tan(a/2) - R a) over the bends",
        source: Cite::new("plane geometry", "", Basis::Computed),
        work: |q, s| lines(q, s, false, |inputs, line| line_length(inputs, &line.path, line.run)),
    },
    Quantity {
        id: "line.span_frequency",
        title: "Lowest natural frequency of the longest span",
        of: "any hard line",
        table: TABLES,
        shown: Shown::Kind(Kind::Rate),
        formula: "c sqrt(EI/m) / L^2, c = pi/2 pinned (value and low), 3.56 clamped (high)",
        source: Cite::new("Euler-Bernoulli beam", "any vibration text", Basis::Computed),
        work: frequencies,
    },
    Quantity {
        id: "line.support_margin",
        title: "Published support spacing over the longest span",
        of: "any hard line",
        table: TABLES,
        shown: Shown::Kind(Kind::Ratio),
        formula: "published spacing for its OD and metal / support_gap",
        source: Cite::new("MIL-H-8891A, FAA-H-8083-30, AC 43.13-1B", "support tables", Basis::FromMemory),
        work: |q, s| lines(q, s, true, support_margin),
    },
    Quantity {
        id: "line.bend_margin",
        title: "Smallest bend over the published least radius",
        of: "any hard line",
        table: TABLES,
        shown: Shown::Kind(Kind::Ratio),
        formula: "bend_radius / published least radius for its OD and metal",
        source: Cite::new("AC 43.13-1B", "Table 9-2", Basis::FromMemory),
        work: |q, s| lines(q, s, true, bend_margin),
    },
];

/// A line of either system with the key path of its table.
struct Line<'c> {
    path: String,
    run: &'c Run,
    supply: Option<&'c SupplyLine>,
}

/// Every line, or every line that is not flexible, in file order.
fn lines_of<'c>(s: &Situation<'c>, hard: bool) -> Vec<Line<'c>> {
    let brakes = s.car.brakes.lines.iter().map(|line| Line {
        path: format!("brakes.line.{}", line.run.id),
        run: &line.run,
        supply: None,
    });
    let supply = s.car.suppression.lines.iter();
    let supply =
        supply.filter(|line| !hard || line.construction != Some(Construction::Flexible)).map(|line| Line {
            path: format!("suppression.line.{}", line.run.id),
            run: &line.run,
            supply: Some(line),
        });
    brakes.chain(supply).collect()
}

fn lines(
    quantity: &Quantity,
    s: &Situation<'_>,
    hard: bool,
    work: impl Fn(&mut Inputs<'_>, &Line<'_>) -> Worked<f64>,
) -> Vec<Answer> {
    let answer = |line: &Line<'_>| {
        let mut inputs = s.inputs(quantity, &line.run.id);
        if hard {
            need_construction(&mut inputs, line);
        }
        let worked = work(&mut inputs, line);
        inputs.finish(worked)
    };
    lines_of(s, hard).iter().map(answer).collect()
}

/// Whether a suppression line is hard has to be said; a brake line is.
fn need_construction(inputs: &mut Inputs<'_>, line: &Line<'_>) {
    if let Some(supply) = line.supply {
        inputs.need_some(format!("{}.construction", line.path), supply.construction);
    }
}

/// Developed length of a line, m; `path` is the key path of its table.
pub(super) fn line_length(inputs: &mut Inputs<'_>, path: &str, run: &Run) -> Worked<f64> {
    if let Some(length) = inputs.given(format!("{path}.length"), run.length) {
        return Ok(length);
    }
    if run.path.len() < 2 {
        inputs.miss(format!("{path}.length"));
        return Err(NoValue::MissingInput);
    }
    let points = &run.path;
    let radius = inputs.given(format!("{path}.bend_radius"), run.bend_radius);
    if radius.is_none() && points.len() > 2 {
        inputs.assume("sharp corners where no bend_radius is given");
    }
    let length = developed_length(points, radius.map(Length::from_si))?;
    Ok(inputs.along_within(path, length, points.len() - 1, run.within))
}

/// The metal of a tube, by the name in the file.
pub(super) fn tube_metal(inputs: &mut Inputs<'_>, path: &str, run: &Run) -> Worked<&'static metals::Metal> {
    let names: Vec<&str> = METALS
        .iter()
        .flat_map(|metal| std::iter::once(metal.name).chain(metal.also.iter().copied()))
        .collect();
    let word = run.tube.material.as_ref().map(|word| word.text.as_str());
    inputs.need_known(format!("{path}.tube.material"), word, "a tube material", metals::metal, &names)
}

fn family(metal: &metals::Metal) -> Metal {
    match metal.family {
        Family::Steel => Metal::Steel,
        Family::Aluminium => Metal::Aluminium,
        Family::Copper => Metal::Other,
    }
}

fn frequencies(quantity: &Quantity, s: &Situation<'_>) -> Vec<Answer> {
    let answer = |line: &Line<'_>| {
        let mut inputs = s.inputs(quantity, &line.run.id);
        need_construction(&mut inputs, line);
        match frequency(&mut inputs, s, line) {
            Ok((pinned, clamped)) if !inputs.is_short() => inputs.give_band(pinned, pinned, clamped),
            worked => inputs.finish(worked.map(|(pinned, _)| pinned)),
        }
    };
    lines_of(s, true).iter().map(answer).collect()
}

fn frequency(inputs: &mut Inputs<'_>, s: &Situation<'_>, line: &Line<'_>) -> Worked<(f64, f64)> {
    let (path, tube) = (&line.path, &line.run.tube);
    let od = inputs.need(format!("{path}.tube.od"), tube.od);
    let wall = inputs.need(format!("{path}.tube.wall"), tube.wall);
    let gap = inputs.need(format!("{path}.support_gap"), line.run.support_gap);
    let metal = tube_metal(inputs, path, line.run);
    let fluid = filling(inputs, s, line);
    let (metal, fluid) = (metal?, fluid?);
    let (Some(od), Some(wall), Some(gap)) = (od, wall, gap) else { return Err(NoValue::MissingInput) };
    let tube = FilledTube {
        od: Length::from_si(od),
        wall: Length::from_si(wall),
        modulus: metal.elastic_modulus,
        density: metal.density,
        fluid: Density::from_si(fluid),
    };
    let sings = span_frequency(&tube, Length::from_si(gap))?;
    let (pinned, clamped) = (sings.pinned.si(), sings.clamped.si());
    inputs.assume("a straight span with nothing else hung on it, its ends between pinned and clamped");
    if let Some((slow, fast)) = s.car.chassis.engine_rpm {
        let range = [slow.si(), fast.si()];
        inputs.note(engine_orders(&s.car.chassis, range, [pinned, clamped]));
    }
    Ok((pinned, clamped))
}

/// Which of the engine's orders a span answers to, and at what speed: one sentence.
fn engine_orders(chassis: &Chassis, range: [f64; 2], span: [f64; 2]) -> String {
    let firing = chassis.firing.map(|firing| firing.si());
    let firing = firing.or(chassis.cylinders.map(|cylinders| f64::from(cylinders) / 2.0));
    let orders = [(0.5, "half order".to_owned()), (1.0, "first order".to_owned())].into_iter();
    let orders = orders.chain(firing.map(|order| (order, format!("firing order {order}"))));
    let told: Vec<String> = orders
        .map(|(order, name)| match order_meets(order, range, span) {
            Some([from, to]) => format!("the {name} meets it at {:.0} to {:.0} rpm", 60.0 * from, 60.0 * to),
            None => format!("the {name} stays clear of it"),
        })
        .collect();
    let unknown = if firing.is_none() { "; car.cylinders would tell of the firing order" } else { "" };
    format!("{}{unknown}", told.join(", "))
}

/// Density of what fills the line, kg/m3.
fn filling(inputs: &mut Inputs<'_>, s: &Situation<'_>, line: &Line<'_>) -> Worked<f64> {
    let Some(supply) = line.supply else {
        let known = s.car.brakes.fluid.as_ref().and_then(|word| brake_fluid(&word.text));
        let density = known.map_or(GLYCOL_DENSITY, |fluid| fluid.density);
        inputs.assume(format_args!("brake fluid of {density} kg/m3 (from memory)"));
        return Ok(density);
    };
    let reached = nodes_reached(s.car, &supply.from.text);
    let bottle = bottles_of(s.car, &reached).next().ok_or_else(|| {
        inputs.miss("suppression.bottle");
        NoValue::MissingInput
    })?;
    inputs.assume("filled with agent, as in a discharge");
    agent::density(inputs, s, bottle)
}

/// A tube size as the tables print it.
fn size(metres: f64) -> String {
    fraction_inches(metres).unwrap_or_else(|| both(metres, Kind::Length).to_string())
}

/// How a published limit is named beside a margin.
fn table_note(limit: &Limit) -> String {
    let row = limit.row.map_or_else(String::new, |row| format!(", row {}", size(row.si())));
    let value = both(limit.value.si(), Kind::Length);
    format!("{}{row}: {value}; {}", limit.table, limit.cite)
}

fn support_margin(inputs: &mut Inputs<'_>, line: &Line<'_>) -> Worked<f64> {
    let od = inputs.need(format!("{}.tube.od", line.path), line.run.tube.od);
    let gap = inputs.need(format!("{}.support_gap", line.path), line.run.support_gap);
    let metal = tube_metal(inputs, &line.path, line.run)?;
    let (Some(od), Some(gap)) = (od, gap) else { return Err(NoValue::MissingInput) };
    let margin = limits::support_margin(Length::from_si(od), family(metal), Length::from_si(gap))?;
    inputs.note(table_note(&margin.limit.used));
    if let Some(stricter) = margin.limit.stricter {
        inputs.note(format_args!("a stricter table was not used: {}", table_note(&stricter)));
    }
    inputs.note("a long span asks for a look and is never a reject by itself");
    Ok(margin.ratio.si())
}

fn bend_margin(inputs: &mut Inputs<'_>, line: &Line<'_>) -> Worked<f64> {
    let od = inputs.need(format!("{}.tube.od", line.path), line.run.tube.od);
    let radius = inputs.need(format!("{}.bend_radius", line.path), line.run.bend_radius);
    let metal = tube_metal(inputs, &line.path, line.run)?;
    let (Some(od), Some(radius)) = (od, radius) else { return Err(NoValue::MissingInput) };
    let margin = limits::bend_margin(Length::from_si(od), family(metal), Length::from_si(radius))?;
    inputs.note(table_note(&margin.limit));
    Ok(margin.ratio.si())
}

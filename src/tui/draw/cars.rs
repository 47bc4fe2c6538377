//! The list of cars, a new car, the way round it.

use crate::rules::{CarState, NOTICE};
use crate::walk::CarLine;

use super::super::car_group::CarGroup;
use super::super::keymap::UiAction;
use super::super::options::Person;
use super::super::state::{CarsPage, NewCarPage, PersonPage, ProfilePage, State};
use super::super::text::{column, escape_control, fit, many, when, width};
use super::super::theme::Tone;
use super::{Body, Lines};

/// The list of cars.
pub fn cars(page: &CarsPage, state: &State, mut lines: Lines) -> Body {
    let typed = page.typed();
    let new = state.key(UiAction::NewCar);
    let asked = if typed.is_empty() { "type a number or a name".to_owned() } else { format!("{typed}_") };
    lines.pair("Number", Tone::Strong, &asked);
    if let Some(by) = &page.by {
        lines.pair("By", Tone::Plain, by);
    }
    totals(page, &mut lines);
    lines.blank();
    let fitting = page.fitting();
    let mut chosen = None;
    if lines.width >= 76 && !fitting.is_empty() {
        let head = format!(
            "  {}{}{}{}{}{}",
            column("  NUMBER", 10),
            column("NAME", 12),
            column("KEEPER", 11),
            column("STATE", 13),
            column("OPEN", if lines.width >= 100 { 23 } else { 14 }),
            "LAST"
        );
        let head = lines.span(Tone::Dim, &head);
        lines.line(vec![head]);
    }
    for (at, car) in fitting.iter().enumerate() {
        let is_chosen = page.at == Some(at);
        if is_chosen {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        car_line(car, is_chosen, &mut lines);
    }
    if !typed.is_empty() && page.exact().is_empty() {
        lines.blank();
        lines.text(Tone::Strong, &format!("No car {typed}. {new} makes a new car."));
    }
    if page.offers_sample() {
        let is_chosen = page.at == Some(fitting.len());
        if is_chosen {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        lines.row(is_chosen, Tone::Strong, "Try it on the sample car: an invented one");
    }
    let away = page.cars.iter().filter(|car| car.put_away).count();
    if away > 0 && typed.is_empty() {
        lines.text(Tone::Dim, &format!("{} put away: the whole number finds it.", many(away, "car")));
    }
    if page.cars.is_empty() && typed.is_empty() {
        lines.blank();
        lines
            .text(Tone::Plain, &format!("No car is known yet. {new} makes one for the car in front of you."));
    }
    Body::listed(lines.out, chosen)
}

/// How many cars stand how, with the one that the list is narrowed to in brackets.
fn totals(page: &CarsPage, lines: &mut Lines) {
    let counts = page.counts();
    let all: usize = counts.iter().map(|(_, count)| count).sum();
    if all < 2 {
        return;
    }
    let named = |only: Option<CarGroup>, word: &str, count: usize| {
        if page.only == only { format!("[{word} {count}]") } else { format!("{word} {count}") }
    };
    let mut words = vec![named(None, "ALL", all)];
    let some = counts.iter().filter(|(one, count)| *count > 0 || page.only == Some(*one));
    words.extend(some.map(|(one, count)| named(Some(*one), one.word(), *count)));
    let text = words.join("  ");
    if width(&text) <= lines.width {
        lines.text_as_is(Tone::Strong, &text);
    } else {
        lines.text(Tone::Strong, &text);
    }
}

fn car_line(car: &CarLine, chosen: bool, lines: &mut Lines) {
    let [stop, fix, note] = car.open_items;
    // What could not be read looks like no clean car.
    let unread = car.trouble.is_some() && car.last.is_none();
    let state = match (unread, car.state) {
        (true, _) => "not read",
        (_, Some(state)) => state.word(),
        (_, None) if stop > 0 => CarState::Stopped.word(),
        (_, None) if car.being_worked => "being worked",
        _ => "",
    };
    let state = column(state, 13);
    // A zero that may not last is not shown.
    let is_known = !unread && (stop > 0 || !car.being_worked);
    let open = match (is_known, lines.width >= 76) {
        (false, _) => String::new(),
        (_, true) if lines.width >= 100 => format!("STOP {stop} FIX {fix} NOTE {note}"),
        (_, true) => format!("STOP {stop} FIX {fix}"),
        (_, false) => format!("STOP {stop}"),
    };
    let last = car.last.map_or_else(|| if unread { String::new() } else { "never".to_owned() }, when);
    // A walk that is under way matters more than when; a wide screen has room for both.
    let end = match &car.walking {
        Some(profile) if lines.width >= 100 => format!("{last} walking: {profile}"),
        Some(profile) => format!("walking: {profile}"),
        None => last,
    };
    let end = if car.put_away { format!("{end} put away") } else { end };
    let sign = CarGroup::of(car).sign();
    let (number, name) = (column(&format!("{sign} {}", car.number), 10), car.name.as_deref().unwrap_or(""));
    let text = if lines.width >= 76 {
        let keeper = column(&fit(car.keeper.as_deref().unwrap_or(""), 10), 11);
        let open = column(&open, if lines.width >= 100 { 23 } else { 14 });
        format!("{number}{}{keeper}{state}{open}{end}", column(&fit(name, 11), 12))
    } else {
        format!("{number}{}{state}{}{end}", column(&fit(name, 9), 10), column(&open, 8))
    };
    let tone = if stop > 0 { Tone::Stop } else { Tone::Plain };
    lines.row(chosen, tone, &text);
    if let Some(trouble) = &car.trouble {
        lines.indented(4, Tone::Fix, &format!("! {trouble}"));
    }
}

/// Who this is, asked once.
pub fn person(page: &PersonPage, mut lines: Lines) -> Body {
    lines.text(Tone::Strong, &format!("What do you want to do? Press 1 to {}.", page.rows()));
    lines.blank();
    let mut chosen = None;
    let doors = Person::WORDS.iter().map(|(_, person)| (person.door(), person.says()));
    let sample = ("Play with a sample car", "An invented one, kept apart from real cars.");
    for (at, (door, says)) in doors.chain(page.sample.then_some(sample)).enumerate() {
        if at == page.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        lines.row(at == page.at, Tone::Strong, &format!("{}  {door}", at + 1));
        lines.indented(5, Tone::Plain, says);
    }
    lines.blank();
    if page.sample {
        lines.text(Tone::Plain, &format!("Everything is kept in {}.", escape_control(&page.kept_in)));
        lines.text(
            Tone::Plain,
            "`linewalk export FILE` takes everything out; `linewalk import FILE` reads it on another laptop.",
        );
        lines.blank();
    }
    lines.text(Tone::Strong, NOTICE);
    Body::listed(lines.out, chosen)
}

/// Whether the clock is right.
pub fn clock(why: &str, state: &State, mut lines: Lines) -> Body {
    lines.text(Tone::Strong, &format!("This computer says {}. Is that right?", when(state.now)));
    lines.blank();
    lines.text(Tone::Fix, &format!("! {why}"));
    lines.blank();
    let (yes, no) = (state.key(UiAction::Yes), state.key(UiAction::No));
    lines.text(
        Tone::Plain,
        &format!("{yes}: it is right. {no}: it is wrong; you type the right time, and the record says both."),
    );
    lines.text(Tone::Plain, "It is asked once. Dates that run out are counted from the right day.");
    Body::plain(lines.out)
}

/// A new car.
pub fn new_car(page: &NewCarPage, mut lines: Lines) -> Body {
    lines.text(Tone::Strong, &format!("Car {} is new. What does it have?", page.number));
    lines.text(Tone::Dim, "Whatever stays not known is asked on the lap. Enter goes on at any time.");
    let mut chosen = None;
    for (at, (tag, known)) in page.tags.iter().enumerate() {
        if at == page.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        let answer = match known {
            Some(true) => "[yes]",
            Some(false) => "[no ]",
            None => "[ ? ]",
        };
        lines.row(at == page.at, Tone::Plain, &format!("{answer} {}", tag.phrase()));
    }
    Body::listed(lines.out, chosen)
}

/// The ways round the car.
pub fn profile(page: &ProfilePage, mut lines: Lines) -> Body {
    lines.text(Tone::Strong, &format!("Car {}: which way round?", page.number));
    lines.text(Tone::Dim, "A digit takes one at once.");
    lines.blank();
    let mut chosen = None;
    for (at, (_, title)) in page.profiles.iter().enumerate() {
        if at == page.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        lines.row(at == page.at, Tone::Plain, &format!("{}  {title}", at + 1));
    }
    Body::listed(lines.out, chosen)
}

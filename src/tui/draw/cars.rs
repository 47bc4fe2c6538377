//! The list of cars, a new car, the way round it.

use super::super::state::{CarsPage, NewCarPage, ProfilePage};
use super::super::text::{column, when};
use super::super::theme::Tone;
use super::{Body, Lines};

/// The list of cars.
pub fn cars(page: &CarsPage, mut lines: Lines) -> Body {
    let typed = page.typed();
    let asked = if typed.is_empty() { "type digits".to_owned() } else { format!("{typed}_") };
    lines.pair("Number", Tone::Strong, &asked);
    lines.blank();
    let fitting = page.fitting();
    let mut chosen = None;
    if lines.width >= 76 {
        let head = format!(
            "  {}{}{}{}{}",
            column("NUMBER", 9),
            column("NAME", 18),
            column("KEEPER", 16),
            column("OPEN", 24),
            "LAST"
        );
        let head = lines.span(Tone::Dim, &head);
        lines.line(vec![head]);
    }
    for (at, car) in fitting.iter().enumerate() {
        if at == page.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        let [stop, fix, note] = car.open_items;
        let open = format!("STOP {stop} FIX {fix} NOTE {note}");
        let last = car.last.map_or_else(|| "never".to_owned(), when);
        let walking = car.walking.as_ref().map_or_else(String::new, |profile| format!(" walking: {profile}"));
        let (number, name) = (column(&car.number, 9), column(car.name.as_deref().unwrap_or(""), 18));
        let text = if lines.width >= 76 {
            let keeper = column(car.keeper.as_deref().unwrap_or(""), 16);
            format!("{number}{name}{keeper}{}{last}{walking}", column(&open, 24))
        } else {
            format!(
                "{number}{}{}{}",
                column(car.name.as_deref().unwrap_or(""), 12),
                column(&open, 22),
                if walking.is_empty() { last } else { walking }
            )
        };
        let tone = if stop > 0 { Tone::Stop } else { Tone::Plain };
        lines.row(at == page.at, tone, &text);
        if let Some(trouble) = &car.trouble {
            lines.indented(4, Tone::Fix, &format!("! {trouble}"));
        }
    }
    if page.offers_new() {
        let at = fitting.len();
        if at == page.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        lines.row(at == page.at, Tone::Strong, &format!("Begin a new car: {typed}"));
    }
    if fitting.is_empty() && !page.offers_new() {
        lines.text(
            Tone::Plain,
            "No car is known yet. Type the number of the car in front of you and press Enter.",
        );
    }
    Body { lines: lines.out, chosen, scroll: 0 }
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
    Body { lines: lines.out, chosen, scroll: 0 }
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
    Body { lines: lines.out, chosen, scroll: 0 }
}

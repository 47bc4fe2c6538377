//! Keys as data: every action a person has, its name, its keys and where it works. Help and the key table are made from it.

pub use super::key::Key;

/// Where a key is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is the screen it names")]
pub enum Place {
    Person,
    Clock,
    Cars,
    NewCar,
    Profile,
    Start,
    Walk,
    Typing,
    Decide,
    Words,
    Ask,
    Jump,
    Findings,
    Numbers,
    MeasureNext,
    Report,
    Rules,
    Plan,
    Discharge,
    WhatIf,
    Keys,
    Hold,
    SameCar,
    End,
    Ended,
    Help,
}

impl Place {
    /// Every place with its name, in the order of a visit.
    pub const ALL: &'static [(Self, &'static str)] = &[
        (Self::Person, "Who are you"),
        (Self::Clock, "The clock"),
        (Self::SameCar, "One car or two"),
        (Self::Cars, "Cars"),
        (Self::NewCar, "New car"),
        (Self::Profile, "Way round the car"),
        (Self::Start, "Start"),
        (Self::Walk, "Walk"),
        (Self::Typing, "Typing a value"),
        (Self::Decide, "After a value inside its limit"),
        (Self::Words, "Typing words"),
        (Self::Ask, "A question"),
        (Self::Jump, "Stations and checks"),
        (Self::Findings, "Open items"),
        (Self::Numbers, "Numbers"),
        (Self::MeasureNext, "Measure next"),
        (Self::Report, "Report"),
        (Self::Rules, "Rules in force"),
        (Self::Plan, "Plan of the car"),
        (Self::Discharge, "Discharge over time"),
        (Self::WhatIf, "What if"),
        (Self::Keys, "Choosing what to change"),
        (Self::Hold, "Pressure hold"),
        (Self::End, "End of the walk"),
        (Self::Ended, "Walk ended"),
        (Self::Help, "Help"),
    ];

    /// Its name on screen.
    pub fn title(self) -> &'static str {
        Self::ALL.iter().find(|(place, _)| *place == self).map_or("", |(_, title)| title)
    }

    /// Whether characters are text here, not keys.
    pub fn takes_text(self) -> bool {
        matches!(self, Self::Cars | Self::Typing | Self::Words | Self::Jump | Self::Keys)
    }
}

/// What a person can do with a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UiAction {
    /// Accept the check, or the open item.
    Accept,
    /// Reject the check, or the open item again.
    Reject,
    /// Accept a typed check by eye, without its value.
    ByEye,
    /// Accept every look, feel and ask check left at this station.
    AcceptStation,
    /// The check could not be seen.
    NotSeen,
    /// The car has none of it.
    NotFitted,
    /// It is still to be fitted.
    NotYet,
    /// It is said to be repaired.
    Repaired,
    /// Take the last answer back.
    Withdraw,
    /// Type the value of the check.
    TypeValue,
    /// Type what the numbers of the check lack.
    TypeInputs,
    /// Run the pressure hold of the check.
    Hold,
    /// Write a note or a remark.
    Note,
    /// Name a photo.
    Photo,
    /// Make it weigh more.
    Heavier,
    /// Make it weigh less.
    Lighter,
    /// Go to the next check.
    NextCheck,
    /// Go to the check before.
    PreviousCheck,
    /// Go to the next station.
    NextStation,
    /// Go to the station before.
    PreviousStation,
    /// List stations and checks to go to one.
    Jump,
    /// Show open items.
    Findings,
    /// Show what to measure next.
    MeasureNext,
    /// Show the numbers.
    Numbers,
    /// Show the report.
    Report,
    /// Show the rules in force.
    Rules,
    /// Make a new car.
    NewCar,
    /// Go to the end of the walk.
    EndWalk,
    /// Move up or scroll up.
    Up,
    /// Move down or scroll down.
    Down,
    /// Only cars in one state, then in the next.
    NextState,
    /// Many rows or lines down.
    PageDown,
    /// Many rows or lines up.
    PageUp,
    /// To the first row or line.
    Top,
    /// To the last row or line.
    Bottom,
    /// Do what the screen offers.
    Go,
    /// The next instrument.
    NextInstrument,
    /// Another lap order.
    NextLap,
    /// Another stage of a build.
    NextStage,
    /// The station to start at: the next.
    StartLater,
    /// The station to start at: the one before.
    StartEarlier,
    /// Say who walks.
    SayWho,
    /// The car has it.
    Yes,
    /// The car has it not.
    No,
    /// Not known.
    Unknown,
    /// The other circuit.
    NextCircuit,
    /// Save what is shown.
    Save,
    /// Show the plan of the car.
    Plan,
    /// Show the discharge over time.
    Discharge,
    /// Try other values.
    WhatIf,
    /// See the car from the other side.
    OtherView,
    /// Only the surroundings of the station, or the whole car.
    Zoom,
    /// The next station of the plan.
    NextPlace,
    /// The station of the plan before.
    PreviousPlace,
    /// Draw with finer or coarser dots.
    Dots,
    /// A moment later.
    Later,
    /// A moment earlier.
    Earlier,
    /// Ten moments later.
    MuchLater,
    /// Ten moments earlier.
    MuchEarlier,
    /// The first moment.
    First,
    /// The last moment.
    Last,
    /// The next picture.
    NextFigure,
    /// The next network.
    NextNetwork,
    /// Take the chosen change back.
    Undo,
    /// Choose the next change.
    NextChange,
    /// The main run in each tube size.
    MainRun,
    /// The next run of the table.
    NextRun,
    /// The run of the table before.
    PreviousRun,
    /// Answer as last time, the same value.
    SameAsLast,
    /// Codes called out by one person and keyed in by another.
    CallOut,
    /// Only what stops the car and is open.
    Recheck,
    /// Another way round the car.
    OtherProfile,
    /// Other colours.
    Colours,
    /// Show the keys.
    Help,
    /// Go back.
    Back,
    /// Leave the program.
    Quit,
}

/// One action at some places under some keys.
#[derive(Debug)]
pub struct Binding {
    /// What it does.
    pub action: UiAction,
    /// Its name, which stays the same in every release.
    pub name: &'static str,
    /// Its keys; the first is shown.
    pub keys: &'static [Key],
    /// Where it works.
    pub places: &'static [Place],
    /// One or two words for the foot of the screen.
    pub label: &'static str,
    /// One sentence for help.
    pub help: &'static str,
}

const fn bind(
    action: UiAction,
    name: &'static str,
    keys: &'static [Key],
    places: &'static [Place],
    label: &'static str,
    help: &'static str,
) -> Binding {
    Binding { action, name, keys, places, label, help }
}

use Key::{Char, Down, End, Enter, Esc, Home, Left, PageDown, PageUp, Right, Tab, Up};
use Place as P;
use UiAction as U;

/// Lists and texts, which go by pages too.
#[rustfmt::skip]
const PAGED: &[Place] = &[
    P::SameCar, P::Cars, P::Profile, P::Start, P::Ask, P::Jump, P::Findings, P::Numbers, P::MeasureNext, P::Report, P::Rules, P::Plan, P::WhatIf,
    P::Keys, P::End, P::Ended, P::Help,
];

/// Every place.
#[rustfmt::skip]
const ANYWHERE: &[Place] = &[
    P::Person, P::Clock, P::SameCar, P::Cars, P::NewCar, P::Profile, P::Start, P::Walk, P::Typing, P::Decide, P::Words, P::Ask, P::Jump, P::Findings, P::Numbers,
    P::MeasureNext, P::Report, P::Rules, P::Plan, P::Discharge, P::WhatIf, P::Keys, P::Hold, P::End, P::Ended, P::Help,
];

/// Every binding, in the order the foot of the screen shows them.
#[rustfmt::skip]
pub const BINDINGS: &[Binding] = &[
    bind(U::Accept, "accept", &[Char('a')], &[P::Walk, P::Decide, P::Findings], "accept", "Accept: it is as it should be. Confirms what the file says, and closes an open item."),
    bind(U::Reject, "reject", &[Char('r')], &[P::Walk, P::Decide, P::Findings], "reject", "Reject: it is not as it should be. After a stop the note line is open at once; Enter skips it."),
    bind(U::ByEye, "accept_by_eye", &[Char('e')], &[P::Walk, P::Findings], "by eye", "Accept a measured, counted or dated check by eye, where the rule allows that."),
    bind(U::AcceptStation, "accept_station", &[Char('g')], &[P::Walk], "good here", "Show every look, feel and ask check left at this station; Enter accepts them. Once more: what is left by eye, as the file says, or by its number, where the rules allow that. A stop with a value or a number is never among them."),
    bind(U::SameAsLast, "same_as_last", &[Char('=')], &[P::Walk], "same as last", "Looked: it is the same as last time. Answers with the value of last time, judged anew."),
    bind(U::NotSeen, "not_seen", &[Char('s')], &[P::Walk], "not seen", "It could not be seen; never counted as accepted."),
    bind(U::NotFitted, "not_fitted", &[Char('f')], &[P::Walk], "not fitted", "This car has none."),
    bind(U::NotYet, "not_yet", &[Char('t')], &[P::Walk], "not yet", "It is still to be fitted: stays open."),
    bind(U::Repaired, "repaired", &[Char('d')], &[P::Walk, P::Findings], "repaired", "It is said to be repaired: open until someone looks again and accepts."),
    bind(U::Withdraw, "withdraw", &[Char('w')], &[P::Walk, P::Findings], "take back", "Take the last answer (or this one) back. Nothing is erased."),
    bind(U::TypeValue, "type_value", &[Char('v')], &[P::Walk, P::Findings], "value", "Type the value; a digit begins at once."),
    bind(U::TypeInputs, "type_inputs", &[Char('i')], &[P::Walk], "inputs", "Type what the numbers of this check lack; kept as readings."),
    bind(U::Hold, "pressure_hold", &[Char('h')], &[P::Walk], "hold", "Run the pressure hold: readings, clock, readings."),
    bind(U::Note, "note", &[Char('n')], &[P::Walk, P::Decide, P::Findings], "note", "Write a note; Enter keeps it at once, beside the answer or the check. Beside an open item, the owner's own remark."),
    bind(U::Photo, "photo", &[Char('c')], &[P::Walk, P::Decide], "photo", "Name a photo file; it is copied beside the log and kept at once."),
    bind(U::Heavier, "heavier", &[Char('u')], &[P::Walk, P::Findings], "heavier", "Raise the severity: note, fix, stop."),
    bind(U::Lighter, "lighter", &[Char('l')], &[P::Walk, P::Findings], "lighter", "Lower the severity; asks why."),
    bind(U::Yes, "has_it", &[Char('y'), Char('a')], &[P::NewCar, P::Clock, P::SameCar], "yes", "The car has it; the clock is right; it is one car."),
    bind(U::No, "has_none", &[Char('n'), Char('r')], &[P::NewCar, P::Clock, P::SameCar], "no", "The car has none; the clock is wrong; they are two cars."),
    bind(U::Unknown, "not_known", &[Char('u'), Char('s')], &[P::NewCar], "not known", "Not known: its checks are asked."),
    bind(U::NewCar, "new_car", &[Char('+')], &[P::Cars], "new car", "Make a new car: its number is asked."),
    bind(U::Go, "go", &[Enter], &[P::Person, P::Cars, P::NewCar, P::Profile, P::Start, P::Typing, P::Words, P::Ask, P::Jump, P::Findings, P::Numbers, P::WhatIf, P::Keys, P::Hold, P::End, P::Ended], "go on", "Do what the screen offers: open, go on, keep."),
    bind(U::NextInstrument, "next_instrument", &[Tab], &[P::Typing], "instrument", "Choose the next instrument."),
    bind(U::StartLater, "start_later", &[Right], &[P::Start], "start later", "Start the lap one station later."),
    bind(U::StartEarlier, "start_earlier", &[Left], &[P::Start], "start earlier", "Start the lap one station earlier."),
    bind(U::NextLap, "next_lap", &[Char('l')], &[P::Start], "other lap", "Walk another lap order."),
    bind(U::NextStage, "next_stage", &[Char('t')], &[P::Start], "stage", "Choose the stage of the build."),
    bind(U::Recheck, "recheck", &[Char('r')], &[P::Start], "only open stops", "Walk only what stops the car and is open from before; the same key brings the whole walk back."),
    bind(U::OtherProfile, "other_way", &[Char('w')], &[P::Start], "other way", "Choose another way round the car."),
    bind(U::SayWho, "say_who", &[Char('b')], &[P::Start], "by whom", "Say who walks."),
    bind(U::NextCircuit, "next_circuit", &[Tab], &[P::Hold], "other circuit", "Go to the other circuit."),
    bind(U::NextFigure, "next_picture", &[Tab], &[P::Discharge], "picture", "Show the next picture: flow, pressure, share, lines filling."),
    bind(U::Later, "later", &[Right], &[P::Discharge], "time", "Go a moment later."),
    bind(U::Earlier, "earlier", &[Left], &[P::Discharge], "earlier", "Go a moment earlier."),
    bind(U::MuchLater, "much_later", &[PageDown], &[P::Discharge], "ten moments", "Go ten moments later."),
    bind(U::MuchEarlier, "much_earlier", &[PageUp], &[P::Discharge], "ten earlier", "Go ten moments earlier."),
    bind(U::First, "first_moment", &[Home], &[P::Discharge], "start, end", "Go to the moment the valves open."),
    bind(U::Last, "last_moment", &[End], &[P::Discharge], "end", "Go to the moment the first bottle is empty."),
    bind(U::NextNetwork, "next_network", &[Char('n')], &[P::Discharge], "other bottle", "Show the next network of bottles and lines."),
    bind(U::OtherView, "other_view", &[Char('v')], &[P::Plan, P::Discharge], "top, side", "See the car from the other side: from above, from its right."),
    bind(U::Zoom, "zoom", &[Char('z')], &[P::Plan], "zoom", "Show the surroundings of the station, or the whole car again."),
    bind(U::NextPlace, "next_place", &[Right], &[P::Plan], "station", "Choose the next station of the plan."),
    bind(U::PreviousPlace, "previous_place", &[Left], &[P::Plan], "station before", "Choose the station of the plan before."),
    bind(U::MainRun, "main_run_table", &[Char('t')], &[P::WhatIf], "tube sizes", "Show the main run in 3/16, 1/4 and 5/16 in tube against arrival, split and hold-up."),
    bind(U::NextRun, "next_run", &[Right], &[P::WhatIf], "run", "Make the table for the next run."),
    bind(U::PreviousRun, "previous_run", &[Left], &[P::WhatIf], "run before", "Make the table for the run before."),
    bind(U::Undo, "undo_change", &[Char('u')], &[P::WhatIf], "undo", "Take the chosen change back; the others stay."),
    bind(U::NextChange, "next_change", &[Tab], &[P::WhatIf], "other change", "Choose the next change."),
    bind(U::Discharge, "discharge", &[Char('d')], &[P::Numbers, P::Plan, P::WhatIf], "discharge", "Show the discharge over time, with the changes of a what-if."),
    bind(U::WhatIf, "what_if", &[Char('w')], &[P::Numbers, P::Plan, P::Discharge], "what if", "Try other values and see every number before and after; the car file stays as it is."),
    bind(U::Dots, "dots", &[Char('g')], &[P::Plan, P::Discharge], "dots", "Draw with fine dots, half blocks or plain signs."),
    bind(U::MeasureNext, "measure_next", &[Char('n')], &[P::Numbers], "measure", "Show what to measure next: what verdicts hang on, with tool, place, and how close is close enough."),
    bind(U::Save, "save", &[Char('s')], &[P::MeasureNext, P::Report, P::WhatIf], "save", "Write what is shown beside the log."),
    bind(U::NextCheck, "next_check", &[Right], &[P::Walk], "next", "Go to the next check."),
    bind(U::PreviousCheck, "previous_check", &[Left], &[P::Walk], "before", "Go to the check before."),
    bind(U::NextStation, "next_station", &[PageDown, Char(']')], &[P::Walk], "next station", "Go to the next station."),
    bind(U::PreviousStation, "previous_station", &[PageUp, Char('[')], &[P::Walk], "station before", "Go to the station before."),
    bind(U::NextState, "next_state", &[Tab], &[P::Cars], "one state", "List only the cars in one state, then in the next, then all."),
    bind(U::Down, "down", &[Down], &[P::Person, P::SameCar, P::Cars, P::NewCar, P::Profile, P::Start, P::Walk, P::Typing, P::Ask, P::Jump, P::Findings, P::Numbers, P::MeasureNext, P::Report, P::Rules, P::Plan, P::Discharge, P::WhatIf, P::Keys, P::End, P::Ended, P::Help], "down", "Move or scroll down."),
    bind(U::Up, "up", &[Up], &[P::Person, P::SameCar, P::Cars, P::NewCar, P::Profile, P::Start, P::Walk, P::Typing, P::Ask, P::Jump, P::Findings, P::Numbers, P::MeasureNext, P::Report, P::Rules, P::Plan, P::Discharge, P::WhatIf, P::Keys, P::End, P::Ended, P::Help], "up", "Move or scroll up."),
    bind(U::PageDown, "page_down", &[PageDown], PAGED, "page", "Go a page down."),
    bind(U::PageUp, "page_up", &[PageUp], PAGED, "page up", "Go a page up."),
    bind(U::Top, "top", &[Home], PAGED, "top", "Go to the first row or line."),
    bind(U::Bottom, "bottom", &[End], PAGED, "bottom", "Go to the last row or line."),
    bind(U::Jump, "jump", &[Char('j')], &[P::Walk], "jump", "List stations and checks; a few letters find one."),
    bind(U::Findings, "open_items", &[Char('o')], &[P::Walk, P::Start, P::End, P::Ended], "open items", "Show what is open, worst first."),
    bind(U::Numbers, "numbers", &[Char('m')], &[P::Walk, P::Start, P::End, P::Ended], "numbers", "Show every calculated number."),
    bind(U::Report, "report", &[Char('p')], &[P::Walk, P::Start, P::Findings, P::End, P::Ended], "report", "Show the deficiency report."),
    bind(U::Rules, "rules", &[Char('y')], &[P::Walk, P::Start, P::End, P::Ended], "rules", "Show the rules in force: files, editions, ages, what each changed or switched off."),
    bind(U::Plan, "plan", &[Char('k')], &[P::Walk, P::Start, P::Findings, P::Numbers, P::End, P::Ended], "plan", "Show the plan of the car: runs, nozzles, stations, open items."),
    bind(U::CallOut, "call_out", &[Char('z')], &[P::Walk, P::Start], "call-out", "Two people: one reads a check's code aloud, the other keys its digits and then the letter of the answer. The same key ends it."),
    bind(U::EndWalk, "end_walk", &[Char('x')], &[P::Walk], "end", "Go to the end of the walk, to sign it."),
    bind(U::Colours, "colours", &[Key::F(2)], ANYWHERE, "colors", "Other colors: dark, light, for the sun, none."),
    bind(U::Help, "help", &[Char('?')], &[P::SameCar, P::NewCar, P::Profile, P::Start, P::Walk, P::Decide, P::Findings, P::Numbers, P::MeasureNext, P::Report, P::Rules, P::Plan, P::Discharge, P::WhatIf, P::Hold, P::End, P::Ended], "help", "Show every key of this screen."),
    bind(U::Back, "back", &[Esc], &[P::Person, P::Clock, P::SameCar, P::Cars, P::NewCar, P::Profile, P::Start, P::Walk, P::Typing, P::Decide, P::Words, P::Ask, P::Jump, P::Findings, P::Numbers, P::MeasureNext, P::Report, P::Rules, P::Plan, P::Discharge, P::WhatIf, P::Keys, P::Hold, P::End, P::Ended, P::Help], "back", "Go back one screen; what is kept stays kept. From Cars it leaves the program."),
    bind(U::Quit, "quit", &[Char('q')], &[P::SameCar, P::NewCar, P::Profile, P::Start, P::Walk, P::Findings, P::Numbers, P::MeasureNext, P::Report, P::Rules, P::Plan, P::Discharge, P::WhatIf, P::Hold, P::End, P::Ended], "quit", "Leave the program: press it twice. Everything shown as kept is kept, and texts put by stay with their checks."),
];

/// The bindings of a place, in the order shown.
pub fn at(place: Place) -> impl Iterator<Item = &'static Binding> {
    BINDINGS.iter().filter(move |binding| binding.places.contains(&place))
}

/// The key table for the README, in Markdown.
pub fn table() -> String {
    let mut out = String::from("| key | name | what it does |\n|---|---|---|\n");
    for binding in BINDINGS {
        let keys: Vec<String> = binding.keys.iter().map(|key| format!("`{}`", key.word())).collect();
        out.push_str(&format!("| {} | `{}` | {} |\n", keys.join(" "), binding.name, binding.help));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_means_two_things_at_one_place() {
        for (place, title) in Place::ALL {
            let keys: Vec<Key> = at(*place).flat_map(|binding| binding.keys.iter().copied()).collect();
            for (i, key) in keys.iter().enumerate() {
                assert!(!keys[..i].contains(key), "{title}: {} twice", key.word());
            }
        }
    }

    #[test]
    fn names_are_snake_case_and_stand_once() {
        for (i, binding) in BINDINGS.iter().enumerate() {
            assert!(binding.name.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{}", binding.name);
            assert!(BINDINGS[..i].iter().all(|other| other.name != binding.name), "{} twice", binding.name);
            assert!(binding.help.ends_with('.'), "{}", binding.name);
        }
    }

    #[test]
    fn places_that_take_text_bind_no_letters() {
        for (place, title) in Place::ALL.iter().filter(|(place, _)| place.takes_text()) {
            let letters = at(*place)
                .flat_map(|binding| binding.keys)
                .any(|key| matches!(key, Key::Char(c) if c.is_alphanumeric()));
            assert!(!letters, "{title}");
        }
    }

    #[test]
    fn every_place_has_a_way_back() {
        for (place, title) in Place::ALL {
            assert!(at(*place).any(|binding| binding.action == UiAction::Back), "{title}");
        }
    }
}

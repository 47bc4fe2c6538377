//! `linewalk help`: a topic, a command, a key of the car file, or a number by name.

use clap::{Command, CommandFactory};

use crate::diagnostic::{escape_control, near_or};
use crate::model::guide::guide_to;
use crate::model::keys::{all_keys, field_of, without_id};
use crate::model::plausible::window_of;
use crate::numbers::{Off, default_of, quantity, registry};
use crate::source::FieldKind;
use crate::units::Units;

use super::args::Args;
use super::output::{put, say};
use super::run::{DONE, Outcome, UNUSABLE};
use super::topics::TOPICS;

/// Prints what is known under the words.
pub(super) fn run(words: &[String]) -> Outcome {
    let mut command = Args::command();
    command.build();
    let Some(text) = (match words {
        [] => Some(contents(&mut command)),
        [word] => {
            topic(word).or_else(|| key(word)).or_else(|| number(word)).or_else(|| of_command(&command, words))
        }
        _ => of_command(&command, words),
    }) else {
        let word = words.join(" ");
        let known = known(&command);
        let help = near_or(&word, known.iter().map(String::as_str), || {
            "linewalk help lists topics and commands".to_owned()
        });
        say(&format!("There is no help on {}: {help}", escape_control(&word)));
        return Ok(UNUSABLE);
    };
    put(&format!("{}\n", text.trim_end()));
    Ok(DONE)
}

fn contents(command: &mut Command) -> String {
    let mut text = command.render_long_help().to_string();
    text.push_str("\nTopics, by linewalk help TOPIC:\n");
    for topic in TOPICS {
        text.push_str(&format!("  {:<12} {}\n", topic.name, topic.about));
    }
    text.push_str(
        "\nlinewalk help COMMAND tells about a command; linewalk help suppression.nozzle.cd about a key of the car file.\n",
    );
    text
}

fn topic(word: &str) -> Option<String> {
    TOPICS.iter().find(|topic| topic.name.eq_ignore_ascii_case(word)).map(|topic| (topic.text)())
}

fn of_command(command: &Command, words: &[String]) -> Option<String> {
    let found = words.iter().try_fold(command, |command, word| command.find_subcommand(word))?;
    Some(found.clone().render_long_help().to_string())
}

fn number(word: &str) -> Option<String> {
    let quantity = quantity(word)?;
    Some(format!(
        "{}: {}, for each {}.\n\nFormula: {}\nSource: {}\n\nlinewalk numbers CAR --explain {} shows every input of one car.",
        quantity.id, quantity.title, quantity.of, quantity.formula, quantity.source, quantity.id
    ))
}

fn key(path: &str) -> Option<String> {
    let field = field_of(path)?;
    let is_generic = all_keys().iter().any(|key| key == path);
    let generic = if is_generic { path.to_owned() } else { without_id(path) };
    let mut text = format!("{generic}: {}\n", field.doc);
    if let FieldKind::Table(shape) | FieldKind::Tables(shape) | FieldKind::TableOrTables(shape) = &field.kind
    {
        text.push_str("\nKeys:\n");
        for one in &shape.fields {
            text.push_str(&format!("  {:<20} {}\n", one.key, one.doc));
        }
        return Some(text);
    }
    text.push_str(&format!("\nWritten:     {}\n", written(&field.kind)));
    if let Some(guide) = guide_to(&generic) {
        text.push_str(&format!("Where:       {}\n", guide.found));
        if !guide.asked.is_empty() {
            text.push_str(&format!("Who knows:   {}\n", guide.asked));
        }
    }
    if let Some((_, least, most)) = window_of(&generic) {
        text.push_str(&format!("Usual:       {least} to {most} (common practice, no source)\n"));
    }
    if let Some(default) = default_of(&generic) {
        let (taken, spread) = (default.shown(Units::Us), default.spread(Units::Us));
        let spread = match default.off {
            Off::By(_) | Off::ByAbove(..) => format!("; it may be off by {spread}"),
            Off::Between(..) => format!("; it may be anything from {spread}"),
            Off::Exact(why) => format!("; {why}"),
        };
        text.push_str(&format!("Left out:    {taken} is taken{spread} ({})\n", default.source));
    }
    let used: Vec<&str> =
        registry().filter(|one| generic.starts_with(one.table)).map(|one| one.id).take(6).collect();
    if !used.is_empty() {
        text.push_str(&format!("Numbers of this part, by linewalk help NAME: {}\n", used.join(", ")));
    }
    Some(text)
}

fn written(kind: &FieldKind) -> String {
    match kind {
        FieldKind::Text | FieldKind::TextOrNumber => "text in quotes".to_owned(),
        FieldKind::Id => "letters, digits and hyphens in quotes".to_owned(),
        FieldKind::Choice(words) => format!("one of {}", words.join(", ")),
        FieldKind::Quantity(kind) => format!("{}, as {}", kind.name(), kind.examples()),
        FieldKind::Number => "a number".to_owned(),
        FieldKind::Rpm => "revolutions a minute".to_owned(),
        FieldKind::Count => "a whole number".to_owned(),
        FieldKind::Flag => "true or false".to_owned(),
        FieldKind::Date => "a date, as \"2026-03\" or \"2026-03-14\"".to_owned(),
        FieldKind::Time => "a date and time".to_owned(),
        FieldKind::Span => "a span, as \"2 years\"".to_owned(),
        FieldKind::Texts => "a list of words: [\"…\", \"…\"]".to_owned(),
        FieldKind::Point => "three numbers; see linewalk help axes".to_owned(),
        FieldKind::Points => "a list of points; see linewalk help axes".to_owned(),
        FieldKind::Any | FieldKind::Map(_) => "as linewalk schema car tells".to_owned(),
        FieldKind::Table(_) | FieldKind::Tables(_) | FieldKind::TableOrTables(_) => "a table".to_owned(),
    }
}

fn known(command: &Command) -> Vec<String> {
    let topics = TOPICS.iter().map(|topic| topic.name.to_owned());
    let commands = command.get_subcommands().map(|one| one.get_name().to_owned());
    let numbers = registry().map(|one| one.id.to_owned());
    topics.chain(commands).chain(all_keys()).chain(numbers).collect()
}

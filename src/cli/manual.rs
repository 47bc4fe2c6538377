//! The manual page: every command with its options and an example, the topics of help, exit status.

use clap::{Command, CommandFactory};
use clap_mangen::Man;

use super::args::Args;
use super::output::put;
use super::run::{DONE, Outcome};
use super::topics::{EXAMPLES, TOPICS};

/// Prints the page in the form that `man` reads.
pub(super) fn run() -> Outcome {
    let mut page = Vec::new();
    let command = Args::command();
    let man = Man::new(command.clone());
    man.render_title(&mut page)
        .and_then(|()| man.render_name_section(&mut page))
        .and_then(|()| man.render_synopsis_section(&mut page))
        .and_then(|()| man.render_description_section(&mut page))
        .and_then(|()| man.render_options_section(&mut page))
        .map_err(|error| error.to_string())?;
    let mut text = String::from(".SH COMMANDS\n");
    command.get_subcommands().for_each(|one| described(one, "linewalk", &mut text));
    for topic in TOPICS {
        let body: Vec<String> = (topic.text)().lines().map(|line| format!("{}\n.br\n", safe(line))).collect();
        text.push_str(&format!(".SH {}\n{}", topic.name.to_uppercase(), body.concat()));
    }
    text.push_str(ENDING);
    page.extend_from_slice(text.as_bytes());
    put(&String::from_utf8_lossy(&page));
    Ok(DONE)
}

/// A command with its options, then the commands under it.
fn described(command: &Command, before: &str, text: &mut String) {
    let name = format!("{before} {}", command.get_name());
    let about = command.get_about().map(ToString::to_string).unwrap_or_default();
    text.push_str(&format!(".SS {}\n{}\n", safe(&name), safe(&about)));
    let example = EXAMPLES.iter().find(|(command, _)| name == format!("linewalk {command}"));
    if let Some((_, example)) = example {
        text.push_str(&format!(".PP\n.EX\n{}\n.EE\n", safe(example)));
    }
    for one in command.get_arguments().filter(|one| !one.is_global_set() && one.get_id() != "help") {
        let names = one.get_value_names().unwrap_or_default();
        let value = names.first().map(ToString::to_string).unwrap_or_default();
        let said = match one.get_long() {
            Some(long) => format!("--{long} {value}"),
            None => value,
        };
        let help = one.get_help().map(ToString::to_string).unwrap_or_default();
        text.push_str(&format!(".TP\n\\fB{}\\fR\n{}\n", safe(said.trim()), safe(&help)));
    }
    command
        .get_subcommands()
        .filter(|one| one.get_name() != "help")
        .for_each(|one| described(one, &name, text));
}

/// Text that the formatter takes as it is.
fn safe(text: &str) -> String {
    let text = text.replace('\\', "\\e").replace('-', "\\-").replace('\n', " ");
    if text.starts_with(['.', '\'']) { format!("\\&{text}") } else { text }
}

const ENDING: &str = ".SH ENVIRONMENT\n\
.TP\n\\fBLINEWALK_DATA_DIR\\fR\nThe data folder.\n\
.TP\n\\fBNO_COLOR\\fR\nSet to anything, no color is shown.\n\
.TP\n\\fBTERM, LC_ALL, LC_CTYPE, LANG\\fR\nChoose between fine dots, blocks and plain signs.\n\
.SH EXIT STATUS\n\
0 done; 1 done, but a stop stands open, a rule file has errors or a log does not verify; 2 unusable input. 0 never means that a car is fit.\n";

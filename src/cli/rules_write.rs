//! `linewalk rules new` and `rules change`: a club's file made and changed without an editor.

use std::io::{BufRead, IsTerminal, Read};

use crate::diagnostic::{escape_control, shown};
use crate::rules::edit::Wanted;
use crate::shell::club::{Lacking, Request, create, propose};

use super::output::{put, say};
use super::rules::{on, plain_lines};
use super::rules_args::{ChangeArgs, NewArgs};
use super::run::{Context, DONE, Outcome};

pub(super) fn new(context: &Context, args: &NewArgs) -> Outcome {
    let path = create(&context.paths, &args.id, &args.extends, args.title.as_deref(), on(context))?;
    put(&plain_lines(&format!(
        "{} is written: it changes nothing yet. Remarks in it show how; `linewalk rules change {} CHECK min=\"…\"` changes a limit.\n",
        shown(&path),
        args.id
    )));
    Ok(DONE)
}

pub(super) fn change(context: &Context, args: &ChangeArgs) -> Outcome {
    let changes = args.changes.iter().map(|text| Wanted::parse(text)).collect::<Result<Vec<_>, _>>();
    let mut asked = Request {
        file: args.file.clone(),
        check: args.check.clone(),
        changes: changes.map_err(|why| escape_control(&why))?,
        accepts: args.accepts.clone(),
        rejects: args.rejects.clone(),
        reason: args.reason.clone(),
    };
    if args.off {
        asked.changes.push(Wanted { key: "off".to_owned(), to: "true".to_owned() });
    }
    if asked.changes.is_empty() {
        return Err("say what to change, such as min=\"3/4 in\", severity=fix or --off".to_owned());
    }
    loop {
        match propose(&context.paths, &asked, on(context)) {
            Ok(proposed) => {
                proposed.write()?;
                let mut text: String = proposed.told.iter().map(|line| format!("{line}\n")).collect();
                proposed
                    .warnings
                    .iter()
                    .for_each(|warning| text.push_str(&format!("  doubtful: {warning}\n")));
                text.push_str(&format!("{} is saved.\n", proposed.path()));
                put(&plain_lines(&text));
                return Ok(DONE);
            }
            Err(Lacking::Values(what)) => {
                for (values, verb, option) in
                    [(&mut asked.accepts, "accept", "--accepts"), (&mut asked.rejects, "reject", "--rejects")]
                {
                    if values.is_empty() {
                        values.push(answer(&what, verb, option)?);
                    }
                }
            }
            Err(Lacking::Wrong(why)) => return Err(why),
        }
    }
}

/// Asks for a value on a terminal; where there is none, the option that gives it is named.
fn answer(what: &str, verb: &str, option: &str) -> Result<String, String> {
    if !std::io::stdin().is_terminal() {
        return Err(format!(
            "nothing is written: say with {option} one value that the club would {verb}: {}",
            escape_control(what)
        ));
    }
    say(&format!("{}. One value that the club would {verb}:", escape_control(what)));
    line().and_then(|text| {
        if text.is_empty() { Err("nothing is written: no value was given".to_owned()) } else { Ok(text) }
    })
}

/// One line typed.
fn line() -> Result<String, String> {
    let mut text = String::new();
    std::io::stdin().lock().take(1000).read_line(&mut text).map_err(|error| error.to_string())?;
    Ok(text.trim().to_owned())
}

//! `linewalk export` and `linewalk import`: everything in one archive, and taking it in on another computer.

use std::fs;
use std::io::IsTerminal as _;
use std::path::Path;

use crate::diagnostic::{escape_control, many, shown};
use crate::logbook::about::About;
use crate::logbook::verify;
use crate::shell::archive::{Contents, pack, unpack};
use crate::shell::disk::DiskStorage;
use crate::shell::load;
use crate::shell::paths::{not_over, told, write_inside};
use crate::source::{Overrides, is_id};

use super::log::merge_logs;
use super::output::{put, said_yes, say};
use super::run::{Context, DONE, OPEN, Outcome};
use super::version::release;

/// Packs every car, log, photo and rule file.
pub(super) fn export(context: &Context, target: &Path) -> Outcome {
    not_over(target, &[&context.paths.data, &context.paths.config], &[])?;
    let file_of = |id: &str| {
        let found = load::find_car(&context.paths, id, &Overrides::new()).ok()?;
        (found.read.car.id == id).then(|| found.file.text.to_string())
    };
    let contents = pack(&context.paths, target, &release(), file_of)?;
    put(&format!(
        "{} with {}, {} and {}. Settings, passwords and texts not yet kept stay here.\nTake it in on another computer: \
         linewalk import {}\n",
        shown(target),
        many(contents.cars().len(), "car"),
        many(contents.files.len(), "file"),
        many(contents.rules().len(), "rule file"),
        shown(target)
    ));
    Ok(DONE)
}

/// Takes an archive in: car files where there are none, every record merged and every log verified.
pub(super) fn import(context: &Context, archive: &Path, with_rules: bool) -> Outcome {
    let data = &context.paths.data;
    fs::create_dir_all(data).map_err(|error| told("make the folder", data, &error))?;
    let unpacked = data.join(format!(".import-{}", crate::shell::clock::fresh().simple()));
    let outcome = unpack(archive, &unpacked).and_then(|contents| {
        let mut status = DONE;
        for id in contents.cars() {
            match one_car(context, &unpacked, &id) {
                Ok(one) => status = status.max(one),
                Err(why) => {
                    say(&format!("{}: {}", escape_control(&id), why));
                    status = OPEN;
                }
            }
        }
        rule_files(context, &unpacked, &contents, with_rules)?;
        Ok(status)
    });
    let gone = fs::remove_dir_all(&unpacked);
    let status = outcome?;
    match gone {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(told("remove", &unpacked, &error)),
        _ => Ok(status),
    }
}

fn one_car(context: &Context, unpacked: &Path, id: &str) -> Outcome {
    if !is_id(id) {
        return Err("this is no name of a car: left out".to_owned());
    }
    let from = unpacked.join("cars").join(id);
    let into = context.paths.car(id);
    let mut said = vec![car_file(context, &from, id)?];
    let log = fs::read_dir(&from).into_iter().flatten().filter_map(Result::ok);
    let mut status = DONE;
    if log.map(|entry| entry.path()).any(|path| path.extension().is_some_and(|ending| ending == "jsonl")) {
        let photos = photos(context, &from, id)?;
        said.extend((photos > 0).then(|| format!("{} taken in", many(photos, "photo"))));
        status = merge_logs(context, id, &[&from], false)?;
        let photos = DiskStorage::foreign(into.join("photos"));
        let about = About { car: id, own: &|writer| context.paths.is_own(writer), photos: &photos };
        let verdict =
            verify::verify_about(&DiskStorage::at(&into), &about).map_err(|error| error.to_string())?;
        if verdict.holds() {
            said.push("every log verified".to_owned());
        } else {
            said.push(format!("does not verify: see linewalk log verify {id}"));
            status = OPEN;
        }
    }
    put(&format!("{id}: {}\n", said.join("; ")));
    Ok(status)
}

/// Puts the car file where there is none; one that differs from that here is kept beside it and named.
fn car_file(context: &Context, from: &Path, id: &str) -> Result<String, String> {
    let Ok(text) = fs::read(from.join("car.toml")) else { return Ok("without a car file".to_owned()) };
    let data = &context.paths.data;
    if !load::has_file(&context.paths, id) {
        write_inside(data, &context.paths.car(id).join("car.toml"), &text)?;
        return Ok("car file taken in".to_owned());
    }
    let here = load::find_car(&context.paths, id, &Overrides::new()).map(|found| found.file.text.to_string());
    if here.is_ok_and(|here| here.as_bytes() == text) {
        return Ok("the same car file is here".to_owned());
    }
    let aside = data.join("imported").join(format!("{id}.toml"));
    write_inside(data, &aside, &text)?;
    Ok(format!("the car file here stays in use; the other one is {}", shown(&aside)))
}

/// Copies photos that are not here yet; a photo's name holds part of its checksum, so none takes another's place.
fn photos(context: &Context, from: &Path, id: &str) -> Result<usize, String> {
    let mut taken = 0;
    for entry in fs::read_dir(from.join("photos")).into_iter().flatten().filter_map(Result::ok) {
        let target = context.paths.car(id).join("photos").join(entry.file_name());
        if entry.path().is_file() && !target.exists() {
            let bytes = fs::read(entry.path()).map_err(|error| told("read", &entry.path(), &error))?;
            write_inside(&context.paths.data, &target, &bytes)?;
            taken += 1;
        }
    }
    Ok(taken)
}

/// Rule files say what is asked of a car: they are taken in only where somebody says so.
fn rule_files(
    context: &Context,
    unpacked: &Path,
    contents: &Contents,
    with_rules: bool,
) -> Result<(), String> {
    let names = contents.rules();
    if names.is_empty() {
        return Ok(());
    }
    let list = names.iter().map(|name| escape_control(name)).collect::<Vec<_>>().join(", ");
    let question =
        || format!("The archive holds rule files: {list}. They say what is asked of a car. Take them in?");
    let may = with_rules || (std::io::stdin().is_terminal() && said_yes(&question()));
    if !may {
        say(&format!("Rule files left out: {list}. Take them in with --with-rules."));
        return Ok(());
    }
    for name in names {
        let target = context.paths.data.join("rules").join(name);
        let text =
            fs::read(unpacked.join("rules").join(name)).map_err(|error| told("read", &target, &error))?;
        match fs::read(&target) {
            Ok(here) if here == text => put(&format!("{name}: the same rule file is here\n")),
            Ok(_) => say(&format!("{name}: another rule file of this name is here and stays")),
            Err(_) => {
                write_inside(&context.paths.data, &target, &text)?;
                put(&format!("{name}: rule file taken in; it is in force where it is named with --rules\n"));
            }
        }
    }
    Ok(())
}

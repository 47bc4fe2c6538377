//! The README says what is so: its rule-changing section is followed word for word.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn linewalk(folder: &std::path::Path, line: &str) -> Output {
    // Quoted words stay together; nothing in the README nests them.
    let mut args: Vec<String> = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => args.push(String::new()),
            c => args.last_mut().unwrap().push(c),
        }
    }
    let args = args.into_iter().skip(1).filter(|word| !word.is_empty());
    Command::new(env!("CARGO_BIN_EXE_linewalk"))
        .args(args)
        .current_dir(folder)
        .env("LINEWALK_DATA_DIR", folder.join("data"))
        .env("XDG_CONFIG_HOME", folder.join("config"))
        .env("HOME", folder)
        .output()
        .unwrap()
}

/// Fenced blocks of a section: language and text, without the list's indent.
fn blocks(section: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open: Option<(String, String)> = None;
    for line in section.lines() {
        let plain = line.strip_prefix("   ").unwrap_or(line);
        match (&mut open, plain.strip_prefix("```")) {
            (None, Some(language)) => open = Some((language.to_owned(), String::new())),
            (Some(_), Some(_)) => found.push(open.take().unwrap()),
            (Some((_, text)), None) => {
                text.push_str(plain);
                text.push('\n');
            }
            (None, None) => {}
        }
    }
    found
}

#[test]
fn change_a_rule_in_five_minutes() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let section =
        readme.split("## Change a rule in five minutes").nth(1).unwrap().split("\n## ").next().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let blocks = blocks(section);
    let of = |wanted: &str| {
        blocks
            .iter()
            .filter(|(language, _)| language == wanted)
            .map(|(_, text)| text.as_str())
            .collect::<Vec<_>>()
    };
    let (told, commands): (Vec<&str>, Vec<&str>) =
        (of("text"), of("sh").iter().flat_map(|text| text.lines()).collect());
    assert_eq!((told.len(), commands.len()), (1, 8));

    for command in &commands[..7] {
        let output = linewalk(folder.path(), command);
        let said = String::from_utf8(output.stdout).unwrap();
        assert_eq!(
            output.status.code(),
            Some(0),
            "{command}: {said}{}",
            String::from_utf8_lossy(&output.stderr)
        );
        if command.contains("explain") {
            assert!(said.contains("measure.min: \"1/2 in\" -> \"3/4 in\""), "{said}");
        }
        if command.contains("rules change") {
            assert!(said.starts_with(told[0].trim_end()), "{said}");
            assert!(said.contains("base/02-left-front.toml"), "{said}");
        }
    }

    // The walk itself needs a terminal; its rules are used by every other command that takes a car.
    assert!(commands[7].starts_with("linewalk walk "));
    let heron = root().join("sample-cars/heron.toml").display().to_string();
    let report = linewalk(folder.path(), &format!("linewalk report {heron} --rules my-club.toml"));
    assert!(String::from_utf8(report.stdout).unwrap().contains("my-club 2026.1"));
}

/// Every command of the table is one the program has.
#[test]
fn every_command_of_the_readme_is_known() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for word in
        ["walk", "numbers", "report", "sheet", "rules", "log", "schema", "completions", "man", "licenses"]
    {
        assert!(readme.contains(&format!("`linewalk {word}")), "the README does not name {word}");
        let output = linewalk(folder.path(), &format!("linewalk help {word}"));
        assert_eq!(output.status.code(), Some(0), "{word}");
    }
}

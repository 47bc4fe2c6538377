//! Everything out in one archive and in again on another computer, and archives that must not be taken in.
#![cfg(unix)]

use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::Output;

use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use sha2::{Digest, Sha256};
use tar::{Builder, EntryType, Header};

use super::strangers::Machine;

fn said(out: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr))
}

/// A machine with car 7 and a photo's bytes, a rule file and a lock beside the log.
fn full() -> Machine {
    let machine = Machine::walked();
    let mine = machine.path("data/cars");
    let car = fs::read_dir(&mine).unwrap().next().unwrap().unwrap().path();
    fs::create_dir_all(car.join("photos")).unwrap();
    fs::write(car.join("photos/bracket-0011.jpg"), [0xff, 0xd8, 1, 2, 3]).unwrap();
    fs::write(car.join("drafts-w-1"), "half a text").unwrap();
    machine.write("data/rules/ours.toml", "# rules\n");
    machine
}

fn files(folder: &Path, name: &str, found: &mut Vec<(String, Vec<u8>)>) {
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let inner = format!("{name}/{}", entry.file_name().to_str().unwrap());
        if entry.path().is_dir() {
            files(&entry.path(), &inner, found);
        } else {
            found.push((inner, fs::read(entry.path()).unwrap()));
        }
    }
    found.sort();
}

/// The logs, heads, photos and car files of a machine.
fn carried(machine: &Machine) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    files(&machine.path("data/cars"), "cars", &mut found);
    found.retain(|(name, _)| [".jsonl", ".head", ".jpg"].iter().any(|ending| name.ends_with(ending)));
    found
}

#[test]
fn everything_goes_out_and_comes_in_byte_for_byte_and_verifies() {
    let (from, to) = (full(), Machine::new());
    let archive = to.path("season.tar.gz");
    let out = from.run(&["export", archive.to_str().unwrap()]);
    assert!(out.status.success() && said(&out).contains("with 1 car"), "{}", said(&out));
    let out = to.run(&["import", archive.to_str().unwrap()]);
    assert!(out.status.success(), "{}", said(&out));
    assert!(
        said(&out).contains("every log verified") && said(&out).contains("Rule files left out: ours.toml")
    );
    assert_eq!(carried(&from), carried(&to));
    assert!(!to.path("data/rules").exists());
    // Twice is once.
    let out = to.run(&["import", "--with-rules", archive.to_str().unwrap()]);
    assert!(out.status.success() && said(&out).contains("nothing new"), "{}", said(&out));
    assert_eq!(carried(&from), carried(&to));
    assert_eq!(fs::read_to_string(to.path("data/rules/ours.toml")).unwrap(), "# rules\n");
    let left = fs::read_dir(to.path("data")).unwrap().map(|entry| entry.unwrap().file_name());
    assert!(left.into_iter().all(|name| !name.to_str().unwrap().starts_with(".import")));
}

/// The settings, this machine's writer id and half-typed texts stay; an older archive is never written over.
#[test]
fn an_archive_holds_nothing_that_is_of_this_machine_alone() {
    let machine = full();
    let archive = machine.path("out.tar.gz");
    assert!(machine.run(&["export", "out.tar.gz"]).status.success());
    let mut names = Vec::new();
    let mut bytes = Vec::new();
    for entry in tar::Archive::new(GzDecoder::new(fs::File::open(&archive).unwrap())).entries().unwrap() {
        let mut entry = entry.unwrap();
        names.push(entry.path().unwrap().to_str().unwrap().to_owned());
        entry.read_to_end(&mut bytes).unwrap();
    }
    assert!(
        names.iter().any(|name| name.ends_with(".jsonl"))
            && names.iter().any(|name| name.ends_with("car.toml"))
    );
    for part in ["drafts", ".lock", "car-file", "config"] {
        assert!(names.iter().all(|name| !name.contains(part)), "{part}: {names:?}");
    }
    let again = machine.run(&["export", "out.tar.gz"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again).contains("is there already"), "{}", said(&again));
    let inside = machine.run(&["export", "data/cars/out.tar.gz"]);
    assert_eq!(inside.status.code(), Some(2), "{}", said(&inside));
}

/// One file that an archive claims to hold.
struct Claim<'a> {
    name: &'a str,
    kind: EntryType,
    bytes: &'a [u8],
    /// What its list says of the bytes.
    listed: &'a [u8],
}

fn crafted(machine: &Machine, claims: &[Claim<'_>], format: u32) -> String {
    let list: serde_json::Map<String, serde_json::Value> = claims
        .iter()
        .map(|claim| {
            let sum: String = Sha256::digest(claim.listed).iter().map(|byte| format!("{byte:02x}")).collect();
            (claim.name.to_owned(), serde_json::json!({"size": claim.listed.len(), "sha256": sum}))
        })
        .collect();
    let list = serde_json::json!({"format": format, "written_by": "9.9.9", "files": list}).to_string();
    let path = machine.path("crafted.tar.gz");
    let mut builder = Builder::new(GzEncoder::new(fs::File::create(&path).unwrap(), Compression::fast()));
    let mut put = |name: &str, kind: EntryType, bytes: &[u8]| {
        let mut header = Header::new_gnu();
        // Set by hand: the library itself refuses a name that leads upward.
        header.as_gnu_mut().unwrap().name[..name.len()].copy_from_slice(name.as_bytes());
        header.set_entry_type(kind);
        header.set_size(bytes.len() as u64);
        if kind == EntryType::Symlink {
            header.set_link_name("/etc/passwd").unwrap();
        }
        header.set_mode(0o644);
        header.set_cksum();
        builder.append(&header, bytes).unwrap();
    };
    put("linewalk-archive.json", EntryType::Regular, list.as_bytes());
    claims.iter().for_each(|claim| put(claim.name, claim.kind, claim.bytes));
    builder.into_inner().unwrap().finish().unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn an_archive_that_is_not_what_its_list_says_is_refused_whole() {
    let plain = |name: &'static str| Claim { name, kind: EntryType::Regular, bytes: b"x", listed: b"x" };
    let cases: [(Vec<Claim<'_>>, u32, &str); 7] = [
        (vec![plain("../../outside")], 1, "leads out of it"),
        (vec![plain("/outside")], 1, "leads out of it"),
        (
            vec![Claim { kind: EntryType::Symlink, bytes: b"", listed: b"", ..plain("cars/a/car.toml") }],
            1,
            "no plain file",
        ),
        (vec![Claim { bytes: b"y", ..plain("cars/a/car.toml") }], 1, "not what its list says"),
        (vec![Claim { bytes: b"xx", ..plain("cars/a/car.toml") }], 1, "not what its list says"),
        (vec![plain("cars/a/car.toml"), plain("cars/a/car.toml")], 1, "not what its list says"),
        (vec![plain("cars/a/car.toml")], 2, "written by linewalk 9.9.9"),
    ];
    for (claims, format, why) in cases {
        let machine = Machine::new();
        let archive = crafted(&machine, &claims, format);
        let out = machine.run(&["import", &archive]);
        assert_eq!(out.status.code(), Some(2), "{why}: {}", said(&out));
        assert!(said(&out).contains(why), "{why}: {}", said(&out));
        let left: Vec<_> = fs::read_dir(machine.path("data")).unwrap().collect();
        assert!(left.is_empty(), "{why}: {left:?}");
        assert!(!machine.path("outside").exists());
    }
}

/// Cut anywhere, nothing of an archive is taken in.
#[test]
fn half_an_archive_is_none() {
    let from = full();
    assert!(from.run(&["export", "all.tar.gz"]).status.success());
    let whole = fs::read(from.path("all.tar.gz")).unwrap();
    for share in [0, 1, 40, 90, 99] {
        let to = Machine::new();
        let cut = to.path("cut.tar.gz");
        fs::write(&cut, &whole[..whole.len() * share / 100]).unwrap();
        let out = to.run(&["import", cut.to_str().unwrap()]);
        assert_eq!(out.status.code(), Some(2), "{share}: {}", said(&out));
        assert!(said(&out).contains("cannot be taken in"), "{share}: {}", said(&out));
        assert!(!to.path("data/cars").exists(), "{share}");
    }
}

/// A car file that differs from the one here is not put in its place.
#[test]
fn the_car_file_in_use_stays() {
    let (from, to) = (full(), Machine::walked());
    assert!(from.run(&["export", "all.tar.gz"]).status.success());
    let archive = from.path("all.tar.gz");
    let before = said(&to.run(&["log", "show", "7"]));
    let changed = fs::read_to_string(to.path("seven.toml")).unwrap() + "\n# ours\n";
    to.write("seven.toml", &changed);
    let out = to.run(&["import", archive.to_str().unwrap()]);
    assert!(said(&out).contains("the car file here stays in use"), "{}", said(&out));
    assert_eq!(fs::read_to_string(to.path("seven.toml")).unwrap(), changed);
    assert!(said(&to.run(&["log", "show", "7"])).len() > before.len(), "the other record is merged in");
}

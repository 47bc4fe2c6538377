//! The fuzz targets without a fuzzer: over the corpus they found, and over mutations of real files.

#[path = "../fuzz/drive.rs"]
mod drive;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use proptest::prelude::*;

type Target = fn(&[u8]);

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every file the fuzzer kept, for each target. None may take longer than a second, times what a program that is
/// not optimised takes longer.
#[test]
fn the_corpus() {
    let targets: [(&str, Target); 7] = [
        ("quantity", drive::quantity),
        ("car", drive::car),
        ("rules", drive::rules),
        ("rules", drive::rules_over_base),
        ("log", drive::log),
        ("answers", drive::answers),
        ("walk", drive::walk),
    ];
    for (name, target) in targets {
        let folder = root().join("tests/fuzz/corpus").join(name);
        let files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        assert!(files.len() > 5, "{name}");
        for file in files {
            let bytes = fs::read(&file).unwrap();
            let started = Instant::now();
            target(&bytes);
            assert!(
                started.elapsed() < Duration::from_secs(20),
                "{}: {:?}",
                file.display(),
                started.elapsed()
            );
        }
    }
}

fn texts(folder: &str, wanted: impl Fn(&str) -> bool) -> Vec<Vec<u8>> {
    let entries = fs::read_dir(root().join(folder)).unwrap().map(|entry| entry.unwrap().path());
    let name = |path: &Path| path.file_name().unwrap().to_string_lossy().into_owned();
    let mut files: Vec<PathBuf> = entries.filter(|path| wanted(&name(path))).collect();
    files.sort();
    files.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// A real file with some stretches cut out, doubled, moved or replaced by what hurts.
fn mutated(seeds: Vec<Vec<u8>>) -> impl Strategy<Value = Vec<u8>> {
    const HURT: [&str; 12] = [
        "\u{0}",
        "\u{1b}[2J",
        "\u{202e}",
        "[[",
        "]]",
        "\"",
        "= -1",
        "= 1e999",
        "9999999999999999999",
        "\n",
        "é",
        "= { a = { a = 1 } }",
    ];
    let cut = (any::<prop::sample::Index>(), 0..60_usize, any::<prop::sample::Index>(), 0..HURT.len() + 3);
    (0..seeds.len(), prop::collection::vec(cut, 1..4)).prop_map(move |(seed, cuts)| {
        let mut bytes = seeds[seed].clone();
        for (at, length, to, what) in cuts {
            let at = at.index(bytes.len() + 1);
            let end = (at + length).min(bytes.len());
            let piece: Vec<u8> = match HURT.get(what) {
                Some(hurt) => {
                    bytes.splice(at..end, hurt.bytes());
                    continue;
                }
                None if what == HURT.len() => bytes.drain(at..end).collect(),
                None => bytes[at..end].to_vec(),
            };
            let to = to.index(bytes.len() + 1);
            bytes.splice(to..to, piece);
        }
        bytes
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn quantities(text in ".{0,40}", real in "[-+0-9./' \"a-z°⅜]{0,30}") {
        drive::quantity(text.as_bytes());
        drive::quantity(real.as_bytes());
    }

    #[test]
    fn cars(bytes in mutated(texts("sample-cars", |name| !name.contains("-answers")))) {
        drive::car(&bytes);
    }

    #[test]
    fn answers(bytes in mutated(texts("tests/fuzz/corpus/answers", |_| true))) {
        drive::answers(&bytes);
    }

    #[test]
    fn logs(bytes in mutated(texts("tests/fuzz/corpus/log", |_| true))) {
        drive::log(&bytes);
        drive::log(&[b"!", bytes.as_slice()].concat());
    }

    #[test]
    fn walks(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        drive::walk(&bytes);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rules(bytes in mutated(texts("rulesets", |name| name.ends_with(".toml")))) {
        drive::rules_over_base(&bytes);
    }
}

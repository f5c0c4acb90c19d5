//! The rules of the house that a tool can check: which crate may use which, what the core may not touch, how the
//! tree is kept.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use cargo_metadata::{DependencyKind, MetadataCommand};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What each of our crates may use of ours and of the world's, apart from tests. Arrows only point downwards.
const MAY_USE: &[(&str, &[&str])] = &[
    ("layout", &["serde", "toml"]),
    ("theory", &["layout", "serde", "toml"]),
    ("synth", &["layout", "oorandom"]),
    ("pitch", &["rustfft"]),
    ("scoring", &["layout", "pitch", "serde"]),
    ("practice", &["layout", "pitch", "scoring", "serde", "toml"]),
    ("sheets", &["layout", "theory", "pdf-writer"]),
    ("sound", &["cpal", "hound", "pulseaudio", "ringbuf", "rustix"]),
    ("screen", &["layout", "theory", "pitch", "scoring", "practice", "ratatui", "unicode-width"]),
    // The binary wires everything together and may use everything.
    ("bendwright", &[]),
];

/// Crates that do no I/O and read no clock.
const CORE: &[&str] = &["layout", "theory", "synth", "pitch", "scoring", "practice", "sheets"];

/// What would break that promise. `std::io` and friends are looked for as paths, printing as macros.
const WORLD: &[&str] = &[
    "std::fs",
    "std::io",
    "std::net",
    "std::time",
    "std::thread",
    "std::env",
    "std::process",
    "std::os",
    "SystemTime",
    "Instant::now",
    "println!",
    "eprintln!",
    "print!(",
    "eprint!(",
    "env!(\"HOME",
    "thread_rng",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files
}

#[test]
fn arrows_point_downwards() {
    let metadata =
        MetadataCommand::new().current_dir(root()).no_deps().other_options(["--offline".into()]).exec();
    let allowed: BTreeMap<&str, BTreeSet<&str>> =
        MAY_USE.iter().map(|(name, uses)| (*name, uses.iter().copied().collect())).collect();
    let packages = metadata.unwrap().packages;
    assert!(packages.len() >= 8, "the workspace lost its crates");
    for package in packages {
        let name = package.name.as_str();
        let allowed = allowed.get(name).unwrap_or_else(|| panic!("{name}: say in MAY_USE what it may use"));
        let used = package.dependencies.iter().filter(|d| d.kind == DependencyKind::Normal);
        for used in used.filter(|_| name != "bendwright") {
            assert!(allowed.contains(used.name.as_str()), "{name} may not use {}", used.name);
        }
    }
}

#[test]
fn folder_name_is_crate_name() {
    for entry in fs::read_dir(root().join("crates")).unwrap() {
        let folder = entry.unwrap().path();
        let manifest = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
        let name = folder.file_name().unwrap().to_str().unwrap();
        assert!(manifest.contains(&format!("name = \"{name}\"")), "{name}: manifest names another crate");
        assert!(manifest.contains("[lints]\nworkspace = true"), "{name}: takes the lints of the workspace");
    }
}

#[test]
fn the_core_touches_nothing_of_the_world() {
    let mut read = 0;
    for name in CORE {
        let source = root().join("crates").join(name).join("src");
        for file in if source.exists() { rust_files(&source) } else { Vec::new() } {
            read += 1;
            for (number, line) in fs::read_to_string(&file).unwrap().lines().enumerate() {
                let code = line.split("//").next().unwrap_or_default();
                let found = WORLD.iter().find(|word| code.contains(**word));
                assert!(found.is_none(), "{}:{}: {} in the core", file.display(), number + 1, found.unwrap());
            }
        }
    }
    assert!(read > 20, "the check found only {read} files");
}

#[test]
fn the_world_words_are_found_where_they_are_used() {
    // The check above can fail: the same search over the binary must find something.
    let used = rust_files(&root().join("crates/bendwright/src"))
        .iter()
        .any(|file| WORLD.iter().any(|word| fs::read_to_string(file).unwrap().contains(word)));
    assert!(used);
}

#[test]
fn files_stay_small() {
    for file in rust_files(&root().join("crates")) {
        let lines = fs::read_to_string(&file).unwrap().lines().count();
        assert!(lines <= 500, "{} has {lines} lines; split it", file.display());
    }
}

#[test]
fn the_top_level_is_the_owners() {
    let expected = ["Cargo.lock", "Cargo.toml", "DEVELOPERS.md", "LICENSE", "README.md", "assets", "crates"];
    let extra = ["rust-toolchain.toml", "target", "tests"];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let known =
            name.starts_with('.') || expected.contains(&name.as_str()) || extra.contains(&name.as_str());
        assert!(known, "{name} does not belong at the top level");
    }
}

#[test]
fn one_crossterm() {
    // Two versions would mean two event queues and two saved terminal states.
    let lock = fs::read_to_string(root().join("Cargo.lock")).unwrap();
    assert_eq!(lock.matches("name = \"crossterm\"\n").count(), 1);
}

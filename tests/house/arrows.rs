//! What each crate uses: exactly what the code map of `DEVELOPERS.md` says, and nothing that lies idle.

use crate::{files, read, root};
use cargo_metadata::{DependencyKind, MetadataCommand, Package};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Our crates from the bottom upwards; a crate may only use crates that stand before it.
const ORDER: [&str; 14] = [
    "layout",
    "theory",
    "sheets",
    "synth",
    "pitch",
    "echo",
    "scoring",
    "practice",
    "course",
    "report",
    "journal",
    "sound",
    "screen",
    "bendwright",
];

/// What a crate's tests may use of ours beside what the crate itself uses.
const TESTED_WITH: [(&str, &[&str]); 4] = [
    ("journal", &["theory"]),
    ("pitch", &["layout", "synth"]),
    ("echo", &["layout", "scoring", "synth", "theory"]),
    ("practice", &["synth"]),
];

fn packages() -> Vec<Package> {
    let mut command = MetadataCommand::new();
    let packages =
        command.current_dir(root()).no_deps().other_options(["--offline".into()]).exec().unwrap().packages;
    assert_eq!(packages.len(), ORDER.len(), "say in ORDER where the crate stands");
    packages
}

/// Crate and what it uses, as the code map says.
fn code_map() -> BTreeMap<String, BTreeSet<String>> {
    let rows = read(&root().join("DEVELOPERS.md"));
    let rows = rows.lines().filter_map(|line| line.strip_prefix("| `")?.strip_suffix(" |"));
    let map: BTreeMap<_, _> = rows
        .filter_map(|row| Some((row.split_once('`')?.0, row.rsplit_once("| ")?.1)))
        .map(|(name, uses)| (name.to_owned(), uses.split(", ").map(str::to_owned).collect()))
        .collect();
    assert_eq!(map.len(), ORDER.len(), "the code map lost a crate: {map:?}");
    map
}

fn uses(package: &Package, kind: DependencyKind) -> BTreeSet<String> {
    package.dependencies.iter().filter(|used| used.kind == kind).map(|used| used.name.clone()).collect()
}

#[test]
fn every_crate_uses_what_the_code_map_says() {
    let map = code_map();
    for package in packages() {
        let name = package.name.as_str();
        // The binary wires everything together and may use everything.
        if map[name] != BTreeSet::from(["all".to_owned()]) {
            assert_eq!(uses(&package, DependencyKind::Normal), map[name], "{name} and the code map disagree");
        }
        assert!(uses(&package, DependencyKind::Build).is_empty(), "{name} has a build script");
    }
}

#[test]
fn arrows_point_downwards_in_tests_too() {
    let place = |name: &str| ORDER.iter().position(|own| *own == name);
    for package in packages() {
        let name = package.name.as_str();
        let own = place(name).unwrap_or_else(|| panic!("say in ORDER where {name} stands"));
        let normal = uses(&package, DependencyKind::Normal);
        let excused =
            TESTED_WITH.iter().find(|(tested, _)| *tested == name).map_or(&[][..], |(_, with)| *with);
        for used in &normal {
            assert!(place(used).is_none_or(|below| below < own), "{name} uses {used}, which stands above it");
        }
        for used in uses(&package, DependencyKind::Development) {
            let ours = place(&used).is_some();
            assert!(
                !ours || normal.contains(&used) || excused.contains(&used.as_str()),
                "the tests of {name} use {used}"
            );
        }
    }
}

/// The Rust text of a package: its folder, and the folders of the tests it takes from elsewhere.
fn code(package: &Package) -> String {
    let folder = package.manifest_path.parent().unwrap().as_std_path();
    let mut sources = files(folder, &[".rs"]);
    for target in &package.targets {
        let source = target.src_path.canonicalize().unwrap();
        if !source.starts_with(folder) {
            let is_root = source.ends_with("main.rs");
            let more = if is_root { files(source.parent().unwrap(), &[".rs"]) } else { vec![source] };
            sources.extend(more);
            sources.extend(files(&root().join("tests/support"), &[".rs"]));
        }
    }
    let elsewhere: Vec<PathBuf> = sources.iter().flat_map(|file| taken(file)).collect();
    sources.iter().chain(&elsewhere).map(|file| read(file)).collect()
}

/// The files that a file takes as modules from elsewhere, by `#[path = "…"]`.
fn taken(file: &Path) -> Vec<PathBuf> {
    let text = read(file);
    let paths = text.lines().filter_map(|line| line.trim().strip_prefix("#[path = \"")?.strip_suffix("\"]"));
    paths.map(|path| file.with_file_name(path)).collect()
}

#[test]
fn nothing_is_named_that_is_not_used() {
    let idle = |names: &BTreeSet<String>, code: &str| {
        let is_word = |c: char| c.is_alphanumeric() || c == '_';
        let words: BTreeSet<&str> = code.split(|c: char| !is_word(c)).collect();
        names
            .iter()
            .filter(|name| !words.contains(name.replace('-', "_").as_str()))
            .cloned()
            .collect::<Vec<_>>()
    };
    assert_eq!(idle(&BTreeSet::from(["a-b".into(), "c".into()]), "use a_b::d;"), ["c"], "the check can fail");
    let mut everything = BTreeSet::new();
    for package in packages() {
        let names: BTreeSet<String> = package.dependencies.iter().map(|used| used.name.clone()).collect();
        assert_eq!(idle(&names, &code(&package)), [""; 0], "{} names what it does not use", package.name);
        everything.extend(names);
    }
    let manifest = read(&root().join("Cargo.toml"));
    let listed = manifest.split("[workspace.dependencies]").nth(1).unwrap().split("\n[").next().unwrap();
    for name in listed.lines().filter_map(|line| line.split_once(" = ")).map(|(name, _)| name) {
        assert!(name == "bendwright" || everything.contains(name), "nothing uses {name}");
    }
}

#[test]
fn folder_name_is_crate_name_and_lints_are_taken() {
    for package in packages() {
        let manifest = read(package.manifest_path.as_std_path());
        let folder = package.manifest_path.parent().and_then(|folder| folder.file_name());
        assert_eq!(folder, Some(package.name.as_str()));
        assert!(manifest.contains("[lints]\nworkspace = true"), "{}: takes no lints", package.name);
        assert!(Path::new(&package.manifest_path).starts_with(root().join("crates")));
    }
}

#[test]
fn one_crossterm() {
    // Two versions would mean two event queues and two saved terminal states.
    let lock = read(&root().join("Cargo.lock"));
    assert_eq!(lock.matches("name = \"crossterm\"\n").count(), 1);
}

//! How the tree is kept.

use crate::{files, read, root};
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

/// Every file of ours that holds code, of any language.
fn code() -> Vec<PathBuf> {
    let mut found = files(&root().join("crates"), &[".rs"]);
    found.extend(files(&root().join("tests"), &[".rs", ".py", ".cjs"]));
    assert!(found.len() > 200, "the check found only {} files", found.len());
    found
}

#[test]
fn files_stay_small() {
    for file in code() {
        let lines = read(&file).lines().count();
        assert!(lines <= 500, "{} has {lines} lines; split it", file.display());
    }
}

#[test]
fn nothing_is_left_undone_or_switched_off() {
    // Put together here, so that this file does not hold them.
    let words = [
        ["TO", "DO"],
        ["FIX", "ME"],
        ["XX", "X:"],
        ["#[ign", "ore"],
        ["to", "do!("],
        ["unimpl", "emented!("],
    ];
    for file in code() {
        let text = read(&file);
        let found = words.iter().map(|halves| halves.concat()).find(|word| text.contains(word));
        assert!(found.is_none(), "{}: {}", file.display(), found.unwrap());
    }
}

/// A terminal shows its own background and foreground, whatever they are. The two colours of the theme are looked at by
/// the tests beside it, on light and on dark; elsewhere there is no colour.
#[test]
fn only_the_theme_has_colours_and_none_has_a_background() {
    let [rgb, indexed, background] =
        [["Color::R", "gb"], ["Color::Ind", "exed"], [".b", "g("]].map(|halves| halves.concat());
    let theme = root().join("crates/screen/src/theme.rs");
    assert!(read(&theme).contains(&indexed), "the colours stand elsewhere now");
    for file in files(&root().join("crates"), &[".rs"]) {
        let text = read(&file);
        assert!(!text.contains(&rgb) && !text.contains(&background), "{}", file.display());
        assert!(file == theme || !text.contains(&indexed), "{}", file.display());
    }
}

/// The names of modules that are built for tests only.
fn test_modules(sources: &[PathBuf]) -> BTreeSet<String> {
    let texts: Vec<String> = sources.iter().map(|file| read(file)).collect();
    let declared = texts.iter().flat_map(|text| text.split("#[cfg(test)]\nmod ").skip(1));
    declared.filter_map(|rest| Some(rest.lines().next()?.strip_suffix(';')?.to_owned())).collect()
}

#[test]
fn what_may_panic_is_allowed_in_tests_only() {
    let mut looked_at = 0;
    for package in fs::read_dir(root().join("crates")).unwrap() {
        let sources = files(&package.unwrap().path().join("src"), &[".rs"]);
        let test_modules = test_modules(&sources);
        for file in &sources {
            if test_modules.contains(&*file.file_stem().unwrap().to_string_lossy()) {
                continue;
            }
            looked_at += 1;
            let text = read(file);
            let product = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
            let mut attributes =
                product.lines().filter(|line| line.contains("allow(") || line.contains("expect("));
            let panics = ["unwrap_used", "expect_used", "clippy::panic"];
            let found = attributes.find(|line| panics.iter().any(|lint| line.contains(lint)));
            assert!(found.is_none(), "{}: {}", file.display(), found.unwrap_or_default());
        }
    }
    assert!(looked_at > 200, "the check found only {looked_at} files");
}

#[test]
fn every_picture_in_colour_has_its_twin_without() {
    let mut twins = 0;
    for picture in files(&root().join("crates/screen"), &["_colour.snap"]) {
        let twin = picture.to_string_lossy().replace("_colour.snap", "_mono-ascii.snap");
        assert!(fs::exists(&twin).unwrap(), "{twin} is missing");
        twins += 1;
    }
    assert!(twins > 10, "the check found only {twins}");
}

#[test]
fn the_top_level_is_the_owners() {
    let kept =
        ["Cargo.lock", "Cargo.toml", "DEVELOPERS.md", "LICENSE", "README.md", "assets", "crates", "tests"];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        // `target` is what cargo leaves behind.
        let known = name.starts_with('.') || name == "target" || kept.contains(&name.as_str());
        assert!(known, "{name} does not belong at the top level");
    }
}

#[test]
fn the_oldest_rust_that_serves_is_said_everywhere_and_only_the_checks_are_bound_to_it() {
    let manifest = read(&root().join("Cargo.toml"));
    let oldest =
        manifest.split_once("\nrust-version = \"").and_then(|(_, rest)| rest.split_once('"')).unwrap().0;
    let readme = read(&root().join("README.md"));
    assert!(
        readme.contains(&format!("[Rust](https://rustup.rs) {oldest} or newer")),
        "the README says another Rust"
    );
    let script = read(&root().join(".ci/run"));
    assert!(script.contains(&format!("\ntoolchain={oldest}.0\n")), ".ci/run checks with another Rust");
    // The script's own name for that Rust's cargo.
    assert!(
        script.contains("checked_by=(cargo \"+$toolchain\")"),
        ".ci/run does not name the Rust of its checks"
    );
    for check in ["fmt", "clippy", "doc"] {
        let commands: Vec<&str> =
            script.lines().filter(|line| line.contains(&format!("\" {check} --"))).collect();
        assert!(!commands.is_empty(), ".ci/run does not run {check}");
        for command in commands {
            assert!(command.contains("\"${checked_by[@]}\""), ".ci/run takes any Rust for: {command}");
        }
    }
    let any_rust =
        |line: &&str| ["fmt", "clippy", "doc"].iter().any(|check| line.contains(&format!("cargo {check}")));
    assert_eq!(script.lines().find(any_rust), None, ".ci/run takes any Rust for a check");
}

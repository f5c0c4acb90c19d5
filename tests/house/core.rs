//! The core does no I/O and reads no clock.

use crate::{files, read, root};

const CORE: [&str; 10] =
    ["layout", "theory", "synth", "pitch", "echo", "scoring", "practice", "course", "report", "sheets"];

/// Modules of the standard library that lead to the world.
const WORLD: [&str; 8] = ["fs", "io", "net", "time", "thread", "env", "process", "os"];

/// Names that lead there by themselves.
const WORDS: [&str; 7] = ["SystemTime", "Instant", "println!", "eprintln!", "print!", "eprint!", "dbg!"];

/// Where a piece of code touches the world, if it does: by a path, by a group of paths, or by a word.
fn touched(code: &str) -> Option<String> {
    let bare = |line: &str| line.split("//").next().unwrap_or_default().to_owned();
    let code: String = code.lines().map(bare).collect::<Vec<_>>().join(" ");
    let word = WORDS.iter().find(|word| {
        code.match_indices(**word).any(|(at, _)| {
            !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_')
                && !code[at + word.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '_')
        })
    });
    let path = code.split("std::").skip(1).flat_map(heads).find(|head| WORLD.contains(&head.as_str()));
    word.map(|word| (*word).to_owned()).or(path)
}

/// The modules that stand behind `std::`: one, or the first of each path of a group.
fn heads(behind: &str) -> Vec<String> {
    let head = |path: &str| path.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    let Some(group) = behind.trim_start().strip_prefix('{') else { return vec![head(behind)] };
    let (mut depth, mut paths) = (0, vec![String::new()]);
    for c in group.chars() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => paths.push(String::new()),
            _ => paths.last_mut().unwrap().push(c),
        }
    }
    paths.iter().map(|path| head(path)).collect()
}

#[test]
fn the_check_finds_what_it_looks_for() {
    for bad in [
        "use std::fs;",
        "let x = std::io::stdin();",
        "use std::{fmt, collections::{BTreeMap, BTreeSet},\n    time::Duration};",
        "let now = Instant::now();",
        "println!(\"x\");",
    ] {
        assert!(touched(bad).is_some(), "{bad}");
    }
    for good in
        ["use std::{fmt, ops::Range};", "use std::f64::consts::PI; // std::fs", "let reprint = Instants;"]
    {
        assert_eq!(touched(good), None, "{good}");
    }
}

#[test]
fn the_core_touches_nothing_of_the_world() {
    let mut looked_at = 0;
    for name in CORE {
        for file in files(&root().join("crates").join(name).join("src"), &[".rs"]) {
            looked_at += 1;
            let found = touched(&read(&file));
            assert!(found.is_none(), "{}: {} in the core", file.display(), found.unwrap());
        }
    }
    assert!(looked_at > 100, "the check found only {looked_at} files");
}

//! Uses between the files of a crate run in no circle: each file can be read once those that it uses are known.

use crate::{files, read, root};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Crates without a circle; one that has lost its last circle is to be added.
const FREE: [&str; 4] = ["pitch", "scoring", "sound", "synth"];

/// Where a file stands: `pulse/line.rs` is `["pulse", "line"]`, the root of the crate is empty.
type Place = Vec<String>;

/// The files of a crate with their text, unit tests left out: those may look into the file that they test.
fn sources(folder: &Path) -> BTreeMap<Place, String> {
    let place = |file: &Path| -> Place {
        let inside = file.strip_prefix(folder).unwrap().with_extension("");
        let names = inside.iter().map(|name| name.to_string_lossy().into_owned());
        names.filter(|name| name != "lib").collect()
    };
    let all = files(folder, &[".rs"]).into_iter().map(|file| (place(&file), code(&read(&file))));
    all.filter(|(place, _)| !place.iter().any(|name| name == "tests")).collect()
}

/// The text without comments and without a module of tests.
fn code(text: &str) -> String {
    let tested = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
    tested.lines().map(|line| line.split("//").next().unwrap()).collect::<Vec<_>>().join("\n")
}

/// `a::{b, c::{d, e as f}}` as `a::b`, `a::c::d`, `a::c::e`.
fn leaves(tree: &str) -> Vec<String> {
    let Some((before, group)) = tree.split_once('{') else {
        return vec![tree.split(" as ").next().unwrap().trim().to_owned()];
    };
    let group = group.rsplit_once('}').unwrap().0;
    let (mut deep, mut parts) = (0, vec![String::new()]);
    for sign in group.chars() {
        deep += i32::from(sign == '{') - i32::from(sign == '}');
        match parts.last_mut() {
            Some(part) if sign != ',' || deep > 0 => part.push(sign),
            _ => parts.push(String::new()),
        }
    }
    let parts = parts.iter().filter(|part| !part.trim().is_empty());
    parts.flat_map(|part| leaves(part)).map(|leaf| format!("{}{leaf}", before.trim())).collect()
}

/// The paths that a text names, and which of them it hands on under its own name (`pub use`).
fn paths(text: &str) -> (Vec<Place>, Vec<Place>) {
    let place = |path: &str| path.split("::").map(|name| name.trim().to_owned()).collect::<Place>();
    let (mut named, mut handed_on) = (Vec::new(), Vec::new());
    for statement in text.split_inclusive(';') {
        let use_at = statement.match_indices("use ").map(|(at, _)| at);
        let use_at = use_at.filter(|at| !statement[*at..].contains('"')).find(|at| {
            let before = statement[..*at].rsplit('\n').next().unwrap_or_default().trim();
            before.is_empty() || before == "pub" || before == "pub(crate)" || before == "pub(super)"
        });
        let rest = &statement[..use_at.unwrap_or(statement.len())];
        if let Some(tree) = use_at.map(|at| statement[at + 4..].trim_end_matches(';')) {
            named.extend(leaves(tree).iter().map(|leaf| place(leaf)));
            if rest.rsplit('\n').next().unwrap_or_default().contains("pub") {
                handed_on.extend(leaves(tree).iter().map(|leaf| place(leaf)));
            }
        }
        for root in ["crate::", "super::"] {
            for (at, _) in rest.match_indices(root) {
                let end = rest[at..].find(|c: char| !c.is_alphanumeric() && c != '_' && c != ':');
                let path = &rest[at..end.map_or(rest.len(), |end| at + end)];
                named.push(place(path.trim_end_matches(':')));
            }
        }
    }
    (named, handed_on)
}

/// What a crate's files say: their paths, and what they hand on.
struct Crate(BTreeMap<Place, (Vec<Place>, Vec<Place>)>);

impl Crate {
    fn new(sources: &BTreeMap<Place, String>) -> Self {
        Self(sources.iter().map(|(place, text)| (place.clone(), paths(text))).collect())
    }

    /// The file in which `path`, as `from` names it, is defined; `None` for what is not of this crate.
    fn find(&self, from: &Place, path: &[String], depth: usize) -> Option<Place> {
        let mut at = from.clone();
        let mut rest = path.iter().peekable();
        match path.first()?.as_str() {
            "crate" => at.clear(),
            "super" | "self" => {}
            child if self.0.contains_key(&[&from[..], &[child.to_owned()]].concat()) => {}
            _ => return None,
        }
        while let Some(name) = rest.peek() {
            match name.as_str() {
                "crate" | "self" => {}
                "super" => drop(at.pop()),
                name if self.0.contains_key(&[&at[..], &[name.to_owned()]].concat()) => {
                    at.push(name.to_owned());
                }
                name => {
                    let handed_on =
                        self.0.get(&at)?.1.iter().find(|path| path.last().is_some_and(|n| n == name));
                    let further = handed_on.filter(|_| depth < 8);
                    return further.and_then(|path| self.find(&at, path, depth + 1)).or(Some(at));
                }
            }
            rest.next();
        }
        Some(at)
    }

    /// The files that use themselves by way of others. The root names all of them and is left out.
    fn circles(&self) -> Vec<Place> {
        let uses = |place: &Place| -> BTreeSet<Place> {
            let used = self.0.get(place).into_iter().flat_map(|(named, _)| named);
            let used = used.filter_map(|path| self.find(place, path, 0));
            used.filter(|used| used != place && !used.is_empty()).collect()
        };
        let uses: BTreeMap<&Place, _> = self.0.keys().map(|place| (place, uses(place))).collect();
        let turns = |start: &Place| {
            let (mut seen, mut next) = (BTreeSet::new(), vec![start]);
            while let Some(place) = next.pop() {
                next.extend(
                    uses.get(place).into_iter().flatten().filter(|used| seen.insert((*used).clone())),
                );
            }
            seen.contains(start)
        };
        uses.keys().filter(|place| !place.is_empty() && turns(place)).map(|place| (*place).clone()).collect()
    }
}

fn by_hand(texts: &[(&str, &str)]) -> Vec<String> {
    let place = |name: &str| name.split('/').filter(|name| !name.is_empty()).map(str::to_owned).collect();
    let sources = texts.iter().map(|(name, text)| (place(name), code(text))).collect();
    Crate::new(&sources).circles().iter().map(|place| place.join("/")).collect()
}

#[test]
fn circles_are_found() {
    assert_eq!(
        by_hand(&[("a", "use crate::b::B;"), ("b", "use crate::c::{D, E as F};"), ("c", "")]),
        [""; 0]
    );
    assert_eq!(by_hand(&[("a", "use crate::{b::{B, C}, d};"), ("b", "use super::a;")]), ["a", "b"]);
    let by_the_root =
        [("", "mod a;\npub use a::{A, B};"), ("a", "let x = crate::b::f();"), ("b", "use crate::A;")];
    assert_eq!(by_hand(&by_the_root), ["a", "b"]);
    let parent = [("a", "mod c;\npub(crate) use c::C;"), ("a/c", "use super::name;")];
    assert_eq!(by_hand(&parent), ["a", "a/c"]);
    let tests = [
        ("a", "use crate::b::B;"),
        ("b", "// use crate::a;\n#[cfg(test)]\nmod tests {\nuse crate::a::A;\n}"),
    ];
    assert_eq!(by_hand(&tests), [""; 0]);
}

#[test]
fn uses_between_files_run_in_no_circle() {
    for name in FREE {
        let sources = sources(&root().join("crates").join(name).join("src"));
        assert!(sources.len() > 3, "{name}: hardly a file");
        assert_eq!(Crate::new(&sources).circles(), [[""; 0]; 0], "{name}: a circle runs through these");
    }
}

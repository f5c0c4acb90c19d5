"""The source of the ear, the patches that take it apart, and a copy of the crate that can be built with them.

A patch is an entry `[[ablation]]` of a file in `patches/`: `name`, `means` (one sentence: what is so without it), where it applies `octave`
(a place where the octave is decided), `first` (a whole stage: measured before the single rules) and `blind` (why the bench cannot see it);
and one `[[ablation.change]]` for each place: `file`, the exact `old` text, and the `new` one. Old text that is not found exactly once is an
error, so that no change of the ear leaves an ablation behind unnoticed.
"""

import hashlib
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
CRATE = ROOT / "crates" / "pitch"
PROBE = ROOT / "tests" / "ear" / "probe"
# `reeds` is an ear of its own beside this one, and the oracles serve the tests.
APART = ("reeds", "oracles")


class Broken(Exception):
    """An ablation that cannot be applied or built; the message says which and why."""


@dataclass(frozen=True)
class Ablation:
    """One stage or rule and how it is taken out."""

    name: str
    means: str
    changes: tuple
    octave: bool = False
    first: bool = False
    blind: str = ""

    def applied(self, texts):
        """The sources with this ablation."""
        texts = dict(texts)
        for change in self.changes:
            text = texts.get(change["file"], "")
            if (count := text.count(change["old"])) != 1:
                shown = change["old"].strip().splitlines()[0]
                raise Broken(f"{self.name}: `{shown}` … is in {change['file']} {count} times, not once: mend the patch")
            texts[change["file"]] = text.replace(change["old"], change["new"])
        return texts

    def lines(self):
        """Lines of code that the patch itself takes out."""
        return sum(code_lines(c["old"]) - code_lines(c["new"]) for c in self.changes)


def ablations():
    """All of them, in the order of the stages."""
    found = []
    for path in sorted((HERE / "patches").glob("*.toml")):
        for entry in tomllib.loads(path.read_text())["ablation"]:
            changes = tuple(entry.pop("change"))
            found.append(Ablation(changes=changes, **entry))
    if len({a.name for a in found}) != len(found):
        raise Broken("two ablations have the same name")
    return found


def sources():
    """File name → text of the ear's production code, without `reeds` and the oracles."""
    found = {}
    for path in sorted((CRATE / "src").rglob("*.rs")):
        name = path.relative_to(CRATE / "src").as_posix()
        if not name.startswith(APART) and not name.endswith("tests.rs"):
            found[name] = path.read_text()
    return found


def apart():
    """The text of `reeds`, which uses some of the ear's files: what it names is no dead code."""
    return "".join(p.read_text() for p in sorted((CRATE / "src").rglob("*.rs")) if p.relative_to(CRATE / "src").as_posix().startswith("reeds"))


def fingerprint(texts):
    """What the measurements depend on, in short: the code without its comments."""
    code = {name: "\n".join(filter(is_code, text.splitlines())) for name, text in texts.items()}
    return hashlib.sha256("".join(f"{n}\0{t}\0" for n, t in sorted(code.items())).encode()).hexdigest()[:12]


def is_code(line):
    """Whether a line is neither blank nor only a comment."""
    line = line.strip()
    return bool(line) and not line.startswith("//")


def code_lines(text):
    """Lines of a text that are code."""
    return sum(map(is_code, text.splitlines()))


def lay_out(folder):
    """A workspace with a copy of the crate's manifest and the probe, ready for `write`; the other crates are the repository's own."""
    manifest = re.sub(r'(?m)^(default-members|members) = .*$', "", (ROOT / "Cargo.toml").read_text())
    manifest = manifest.replace("[workspace]", '[workspace]\nmembers = ["crates/pitch"]', 1)
    put(folder / "Cargo.toml", manifest)
    sections = re.split(r"(?m)^(?=\[)", (CRATE / "Cargo.toml").read_text())
    served = [s for s in sections if not s.startswith(("[dev-dependencies]", "[[test]]", "[[bench]]"))]
    put(folder / "crates" / "pitch" / "Cargo.toml", "".join(served))
    probe = folder / "tests" / "ear" / "probe"
    named = re.sub(r'"\.\./\.\./\.\./crates/(?!pitch")', f'"{ROOT}/crates/', (PROBE / "Cargo.toml").read_text())
    # Nearly as fast as the real build, and built in half the time.
    put(probe / "Cargo.toml", named + "\n[profile.release.package.pitch]\nopt-level = 2\ndebug = false\n")
    if not (probe / "Cargo.lock").exists():
        put(probe / "Cargo.lock", (PROBE / "Cargo.lock").read_text())
    for path in (PROBE / "src").rglob("*.rs"):
        if path.stem != "reeds":
            put(probe / "src" / path.relative_to(PROBE / "src"), path.read_text())


def write(folder, texts):
    """Put the sources into the copy; tests stay out, and so does `reeds`."""
    for path in (folder / "crates" / "pitch" / "src").glob("*.rs"):
        if path.name not in texts:
            path.unlink()
    for name, text in texts.items():
        if name == "lib.rs":
            text = text.replace("pub mod reeds;\n", "").replace("#[cfg(test)]\nmod oracles;\n", "")
        put(folder / "crates" / "pitch" / "src" / name, text.replace("#[cfg(test)]\nmod tests;\n", ""))


def put(path, text):
    """Write a file, unless it says so already: what is newer is built anew."""
    if not path.exists() or path.read_text() != text:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)

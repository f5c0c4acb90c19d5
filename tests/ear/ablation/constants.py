"""Every named number of the ear, halved and doubled.

The copy of the crate is built once, with each constant made a function that asks for its factor when the program starts; so a measurement
costs a run and no build. Integers are rounded down when halved. What a length of an array depends on, and what is no plain number (tables,
pairs, ranges), stays as it is and is listed as left alone.
"""

import re

from . import source

DEFINED = re.compile(r"(?m)^(\s*)((?:pub(?:\([a-z]+\))? )?)const ([A-Z][A-Z0-9_]*): ([^=]+?) = ([^;]+);[^\n]*$")
NUMBERS = {"f64", "f32", "u32", "usize"}
# Their values shape arrays or whole lanes of the processor, so they are no thresholds.
SHAPES = {"LANES", "TAPS", "REACH", "LAGS", "FINE", "HARMONICS"}
KNOBS = """//! The factor of each constant, from the environment: `EAR_CONSTANT` is its number, `EAR_FACTOR` what it is multiplied by.

use std::sync::LazyLock;

static TURNED: LazyLock<(usize, f64)> = LazyLock::new(|| {
    let number = |name| std::env::var(name).ok().and_then(|text| text.parse::<f64>().ok());
    (number("EAR_CONSTANT").map_or(usize::MAX, |n| n as usize), number("EAR_FACTOR").unwrap_or(1.0))
});

pub(crate) fn factor(constant: usize) -> f64 {
    if TURNED.0 == constant { TURNED.1 } else { 1.0 }
}
"""


class Constant:
    """One named number: where it stands and how many it is."""

    def __init__(self, number, file, name, kind, value):
        self.number, self.file, self.name, self.kind, self.value = number, file, name, kind, value

    def function(self, indent, visible):
        """The function that stands in its place."""
        head = f"{indent}#[allow(non_snake_case)]\n{indent}{visible}fn {self.name}() -> {self.kind}"
        if self.kind == "f64":
            body = f"({self.value}) * crate::knobs::factor({self.number})"
        else:
            body = f"(({self.value}) as f64 * crate::knobs::factor({self.number})) as {self.kind}"
        return f"{head} {{ {body} }}"


def shaping(texts):
    """Names that stand in a type, in another constant or in a pattern, where no function may stand."""
    found = set(SHAPES)
    for text in texts.values():
        for match in DEFINED.finditer(text):
            found |= set(re.findall(r"\b[A-Z][A-Z0-9_]+\b", match[4] + match[5]))
        found |= set(re.findall(r";\s*([A-Z][A-Z0-9_]+)\]", text))
    return found


def parse(texts):
    """(constants that can be turned, names of those that are left alone)."""
    turned, alone, shapes = [], [], shaping(texts)
    for file, text in sorted(texts.items()):
        for match in DEFINED.finditer(text.split("#[cfg(test)]")[0] if file == "floor.rs" else text):
            _, _, name, kind, value = match.groups()
            if kind in NUMBERS and name not in shapes and file != "settings.rs":
                turned.append(Constant(len(turned), file, name, kind, " ".join(value.split())))
            else:
                alone.append(f"{file}: {name}")
    return turned, alone


def turnable(texts):
    """The sources in which every constant that can be turned is a function."""
    constants, _ = parse(texts)
    texts = dict(texts)
    homes = {(c.file, c.name): c for c in constants}
    for file, text in texts.items():
        names = {c.name for c in constants if c.file == file} | imported(text, homes)
        replace = lambda m: homes[file, m[3]].function(m[1], m[2]) if (file, m[3]) in homes else m[0]
        lines = []
        for line in DEFINED.sub(replace, text).splitlines():
            code = not line.strip().startswith(("//", "use ", "pub use ")) and "non_snake_case" not in line
            if code and not re.match(r"\s*(pub(\([a-z]+\))? )?(fn [A-Z]|const )", line):
                line = re.sub(r"\b([A-Z][A-Z0-9_]*)\b(?!\()", lambda m: f"{m[1]}()" if m[1] in names else m[1], line)
            lines.append(line)
        texts[file] = "\n".join(lines) + "\n"
    return texts


def imported(text, homes):
    """Names of such constants that a file takes from others; those of modules keep their path (`limits::END`)."""
    found = set()
    for path, names in re.findall(r"(?m)^use crate::(\w+)::(?:\{([^}]*)\}|\w+);", text):
        line = re.search(rf"(?m)^use crate::{path}::(.*);", text)[1]
        found |= {n for n in re.findall(r"\b[A-Z][A-Z0-9_]+\b", names or line) if (f"{path}.rs", n) in homes}
    # What is named with the path of another file.
    for path, name in re.findall(r"\b(\w+)::([A-Z][A-Z0-9_]+)\b", text):
        if (f"{path}.rs", name) in homes:
            found.add(name)
    return found

"""One copy of the ear in which every ablation can be switched on when the program starts.

Building the ear once for each ablation takes far longer than measuring it. All patches lie inside of functions; so each function that a patch
touches is written a second time with the patch, and the first one begins with the question whether to hand over to it. `EAR_OFF` names the
ablation by its number. That the copy hears what the ear hears while nothing is switched is checked before anything is measured.
"""

import re

from . import source

FUNCTION = re.compile(r"(?m)^( *)((?:pub(?:\([a-z]+\))? )?)fn (\w+)")
LOOK_UP = """
/// Which ablation is switched on, by `EAR_OFF`.
static OFF: LazyLock<usize> =
    LazyLock::new(|| std::env::var("EAR_OFF").ok().and_then(|text| text.parse().ok()).unwrap_or(usize::MAX));

pub(crate) fn off(ablation: usize) -> bool {
    *OFF == ablation
}
"""


class Function:
    """One function of a file: where it lies, its head and how it is called."""

    def __init__(self, text, found):
        self.indent, self.visible, self.name = found.groups()
        self.start = found.start()
        end = f"\n{self.indent}}}\n"
        self.end = text.index(end, self.start) + len(end)
        opening = text.index("(", found.end() - 1)
        closing = matching(text, opening)
        self.body = text.index("{\n", closing) + 2
        self.arguments = [argument for p in split(text[opening + 1 : closing]) if (argument := name_of(p))]
        self.owned = any(p.strip().removeprefix("&").removeprefix("mut ").strip() == "self" for p in split(text[opening + 1 : closing]))

    def call(self, name):
        """A call of another function in its place."""
        before = "self." if self.owned else "Self::" if self.indent else ""
        return f"{before}{name}({', '.join(self.arguments)})"


def matching(text, at):
    """The bracket that closes this one."""
    depth = 0
    for i in range(at, len(text)):
        depth += (text[i] in "([{") - (text[i] in ")]}")
        if depth == 0:
            return i
    raise source.Broken("a bracket is never closed")


def split(parameters):
    """Parameters, parted by the commas that lie in no bracket. The arrow of a closure's type closes none."""
    depth, found = 0, [""]
    for c in parameters.replace("->", "  "):
        depth += (c in "([{<") - (c in ")]}>")
        if c == "," and depth == 0:
            found.append("")
        else:
            found[-1] += c
    return [p for p in found if p.strip()]


def name_of(parameter):
    """The name of a parameter, or nothing for `self`."""
    name = parameter.split(":")[0].strip().removeprefix("mut ").strip()
    return "" if name.removeprefix("&").removeprefix("mut ").strip() == "self" else name


def functions(text):
    """All of a file, but those for tests."""
    production = text.split("#[cfg(test)]\nmod tests {")[0]
    return [Function(text, found) for found in FUNCTION.finditer(production)]


def switchable(texts, ablations):
    """The sources with all ablations to switch on, each by its place in the list."""
    added = {file: {} for file in texts}
    for number, ablation in enumerate(ablations):
        ablation.applied(texts)  # says so if it cannot be
        touched = {}
        for change in ablation.changes:
            text = texts[change["file"]]
            at = text.index(change["old"])
            inside = [f for f in functions(text) if f.start <= at and at + len(change["old"]) <= f.end]
            if not inside:
                raise source.Broken(f"{ablation.name}: a change of {change['file']} lies in no function")
            touched.setdefault((change["file"], inside[-1].start), []).append(change)
        for (file, start), changes in touched.items():
            added[file].setdefault(start, []).append((number, changes))
    return {file: with_copies(text, added[file]) for file, text in texts.items()}


def with_copies(text, added):
    """A file in which functions (by their start) have copies (number and changes)."""
    for function in sorted(functions(text), key=lambda f: -f.start):
        if function.start not in added:
            continue
        whole, switches, copies = text[function.start : function.end], "", ""
        for number, changes in added[function.start]:
            name = f"{function.name}_without_{number}"
            copy = whole
            for change in changes:
                copy = copy.replace(change["old"], change["new"])
            copies += "\n" + copy.replace(f"fn {function.name}", f"fn {name}", 1)
            switches += f"{function.indent}    if crate::knobs::off({number}) {{\n{function.indent}        return {function.call(name)};\n{function.indent}    }}\n"
        body = function.body - function.start
        text = text[: function.start] + whole[:body] + switches + whole[body:] + copies + text[function.end :]
    return text

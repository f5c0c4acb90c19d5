"""Prints the table, ours and theirs side by side, and writes it down."""

from .goals import LINES

MISSED, OFFLINE = "✗", "(offline)"


def row(line, names, summaries, offline):
    """The cells of one line: goal, then every tracker; `✗` marks a goal not met."""
    cells = [line.label, line.goal]
    for name in names:
        found = line.cell(*summaries[name])
        if found is None or "nan" in found[0]:
            cells.append("–")
        elif line.needs_causal and name in offline:
            cells.append(f"{found[0]} {OFFLINE}")
        else:
            cells.append(found[0] if found[1] else f"{found[0]} {MISSED}")
    return cells


def markdown(head, body):
    """A table in Markdown, columns padded so that it also reads in a terminal."""
    widths = [max(len(r[i]) for r in [head, *body]) for i in range(len(head))]
    line = lambda cells: "| " + " | ".join(c.ljust(w) for c, w in zip(cells, widths)) + " |"
    return "\n".join([line(head), "|" + "|".join("-" * (w + 2) for w in widths) + "|", *map(line, body)])


def main_table(names, summaries, offline):
    """The goal table."""
    lines = [row(line, names, summaries, offline) for line in LINES]
    lines = [cells for cells in lines if any(c != "–" for c in cells[2:])]
    return markdown(["figure", "goal", *names], lines)


def detail_table(parts):
    """Every figure of one tracker by set and condition."""
    body = []
    for (name, condition), found in parts.items():
        given = [(key, value) for key, value in found.items() if value == value]  # NaN differs from itself
        numbers = ", ".join(f"{key} {value * scale(key):.4g}{unit(key)}" for key, value in given)
        body.append([name, condition, numbers])
    return markdown(["set", "condition", "figures"], body)


def scale(key):
    """Shares are written in per cent."""
    return 100 if unit(key) == " %" else 1


def unit(key):
    """Unit of a figure by its name."""
    shares = {"gross", "within", "octave", "called", "in_time", "never", "wait_never", "sigma"}
    reeds = {"adjacent", "octaves", "leaks", "blind", "lone", "false", "clean"}
    chords = ("_phantom", "_missing", "_unheard", "_unsure", "_in_60", "_in_100", "_in_250", "_at_end")
    if key in shares or key in reeds or key.endswith(chords):
        return " %"
    return " c" if key == "error" else ""

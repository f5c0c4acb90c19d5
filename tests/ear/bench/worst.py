"""Lists the notes that one tracker gets wrong, so that one can look (and listen) at each."""

import numpy as np

from . import figures, reeds
from .rows import cents

LATE = {"below 200 Hz": 28, "200-500 Hz": 15, "500-1500 Hz": 11, "above 1500 Hz": 10}  # ms, the goals
LATE_DEGRADED = 40
FIRST = 0.100  # the stretch after the start of which cents are shown


def trail(table, note):
    """Cents off on every other row after the start of a note; `.` where no note is called."""
    rows = table[(table["known"] > note["start"]) & (table["known"] <= note["start"] + FIRST)]
    off = cents(rows["hz"], note["hz"])[::2]
    return " ".join("." if np.isnan(c) else f"{c:.0f}" for c in off)


def judged(run, note):
    """(share of its time within 5 c, latency in ms, whether either is too bad) of one note."""
    found = figures.steady(run.rows, [note])
    within = found["within"] / max(1, found["ticks"])
    wait = 1000 * (figures.settled_at(run.rows, note["start"], note["hz"], note["end"]) - note["start"])
    limit = LATE.get(run.take.condition, LATE_DEGRADED)
    timed = run.take.set in {"latency", "degraded"}
    return within, wait, within < 0.999 or (timed and not wait <= limit)


def lines_of_reeds(run):
    """One line for each set of reeds that was not told in time: what was said 60 ms after its start, and at its end."""
    for note in run.take.notes:
        if reeds.right_in_time(run.rows, note):
            continue
        ends = [note["start"] + reeds.IN_TIME, note["end"]]
        said = [run.rows["reeds"][max(0, np.searchsorted(run.rows["known"], t) - 1)] or "nothing" for t in ends]
        where = f"reeds/{run.take.name} at {note['start']:.3f} s ({run.take.condition})"
        yield f"{where}: {note['reeds']}: after 60 ms {said[0]}; at its end {said[1]}"


def lines(runs):
    """One line for each bad note: where it is, what it is, how bad, and what was said after its start."""
    for run in runs:
        if run.take.set == "reeds":
            yield from lines_of_reeds(run)
        if run.take.set not in {"steady", "degraded", "latency", "sampled", "player"}:
            continue
        for note in run.take.notes:
            within, wait, bad = judged(run, note)
            if bad and not note.get("beats"):
                what = note.get("kind") or note.get("way") or f"MIDI {note['midi']}"
                yield (
                    f"{run.take.set}/{run.take.name} at {note['start']:.3f} s ({run.take.condition}): {note['hz']:.1f} Hz"
                    f" {what}: {100 * within:.1f} % within 5 c, known after {wait:.1f} ms: {trail(run.rows, note)}"
                )

"""How chords, splits, leaks and clean single notes are judged (`make_chords.py`): what is told falsely, then what is told.

* phantom: a reed that does not sound is told on rows in a row that stand for at least 50 ms, from the start of a case to its end.
* missing: a reed that sounds is not told in any row of the last 100 ms, and is not marked as one that cannot be told. The
  leaking reed of a leak counts apart, as `unheard`.
* within 60 and 100 ms: the right set is said at most so long after the start of the first reed, and on every row of the next
  20 ms. At the end: on every row of the last 100 ms.
* unsure: on some row of the last 100 ms a reed is marked as one of which nothing can be told.
* beside: a neighbour 20 dB below a lone reed; right within 250 ms. Clean: rows from 60 ms on that say the lone reed alone.
"""

import numpy as np

from .figures import STAY
from .reeds import called_lone, right_at_end, share

PHANTOM = 0.050
LAST = 0.100
CHORDS = ("three", "four", "five")
ALL = (*CHORDS, "split", "missing", "leak")


def sets(table, note, start, end, column="reeds"):
    """The sets told on the rows of a stretch of a case."""
    inside = (table["known"] > note["start"] + start) & (table["known"] <= note["start"] + end)
    return [set(str(text).split()) for text in table[column][inside]]


def longest(flags):
    """Longest run of truths."""
    best = run = 0
    for flag in flags:
        run = run + 1 if flag else 0
        best = max(best, run)
    return best


def phantom(table, note):
    """Whether a reed that does not sound is told for too long."""
    hop = np.median(np.diff(table["known"]))
    told = sets(table, note, 0.0, note["end"] - note["start"])
    others = set().union(*told) - set(note["reeds"].split())
    return any(longest([other in one for one in told]) * hop >= PHANTOM - 1e-6 for other in others)


def at_end(table, note, column):
    """The sets of the last rows of a case."""
    length = note["end"] - note["start"]
    return sets(table, note, length - LAST, length, column)


def missing(table, note, reeds):
    """Whether one of these reeds is not told at the end of a case, nor marked as one that cannot be told."""
    known = set().union(*at_end(table, note, "reeds"), *at_end(table, note, "unsure"))
    return bool(set(reeds.split()) - known)


def within(table, note, limit):
    """Whether the right set is known in time and stays."""
    right, known = table["reeds"] == note["reeds"], table["known"]
    soon = right & (known > note["start"]) & (known <= note["start"] + limit)
    return any(np.all(right[(known >= known[i]) & (known <= known[i] + STAY)]) for i in np.flatnonzero(soon))


def of_kind(cases, kind):
    """Every figure of one kind of set."""
    chosen = [(run.rows, note) for run, note in cases if note["kind"] == kind]
    if not chosen:
        return {}
    tell = lambda judge: share([judge(table, note) for table, note in chosen])
    leaked = lambda note: " ".join(set(note["reeds"].split()) - set(note["loud"].split()))
    return {
        f"{kind}_phantom": tell(phantom),
        f"{kind}_missing": tell(lambda table, note: missing(table, note, note["loud"])),
        f"{kind}_unheard": tell(lambda table, note: missing(table, note, leaked(note))),
        f"{kind}_unsure": tell(lambda table, note: any(at_end(table, note, "unsure"))),
        f"{kind}_in_60": tell(lambda table, note: within(table, note, 0.060)),
        f"{kind}_in_100": tell(lambda table, note: within(table, note, 0.100)),
        f"{kind}_at_end": tell(right_at_end),
    }


def figures(runs):
    """The figures of all kinds, and those of chords together and of everything together."""
    cases = [(run, note) for run in runs for note in run.take.notes]
    found = {}
    for kind in ALL:
        found |= of_kind(cases, kind)
    pooled = [(run, note | {"kind": "chord"}) for run, note in cases if note["kind"] in CHORDS]
    found |= of_kind(pooled, "chord")
    everything = [(run.rows, note) for run, note in cases if note["kind"] in ALL]
    found["false"] = share([phantom(t, n) or missing(t, n, n["loud"]) for t, n in everything])
    beside = [(run.rows, note) for run, note in cases if note["kind"] == "beside"]
    found["beside_in_250"] = share([within(t, n, 0.250) for t, n in beside])
    found["beside_phantom"] = share([phantom(t, n) for t, n in beside])
    clean = [called_lone(run.rows, note) for run, note in cases if note["kind"] == "clean"]
    found["clean"] = sum(right for right, _ in clean) / sum(rows for _, rows in clean) if clean else np.nan
    return found

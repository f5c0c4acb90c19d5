"""The figures of one tracker on one take; pooled over takes in `table`.

Definitions (all in cents and seconds):

* steady: rows whose `time` lies in the steady stretch of a note. Error over voiced rows; gross is more
  than 50 c among voiced rows. Within is a share of the notes' time: each millisecond is judged by the row
  whose `time` is nearest, and one that calls no note is a miss.
* latency: from the start of the attack to the `known` of the first row within 10 c of the note from
  which on every row known in the following 20 ms is within 10 c too; none before the note ends is "never".
* lag: how long before `known` the truth was what a row says. A row's own `time` is taken for it, moved by the one
  delay per note for which the two differ least (a tracker may state its times late or early); the error is what is
  left then.
* arrival: as latency, counted from the moment the truth itself comes within 10 c of the bend's bottom.
* in time: a row within 10 c, known before the note ends, whose successors stay so for 20 ms or until the end.
"""

import numpy as np

from .rows import cents

STAY = 0.020
NEAR = 10.0
GROSS = 50.0
WITHIN = 5.0
GRID = 0.001
LAG_STEP, LAG_REACH = 0.0002, 0.020


def reference(note, times):
    """The true pitch of a note at these times."""
    if "curve" not in note:
        return note["hz"]
    curve = np.asarray(note["curve"])
    return np.interp(times, note["start"] + np.arange(len(curve)) * note["curve_step"], curve)


def steady(table, notes):
    """Errors of voiced rows in the steady stretches of `notes`, their sigmas, milliseconds within 5 c and in all."""
    errors, sigmas, within, ticks = [np.array([])], [np.array([])], 0, 0
    for note in notes:
        begin, end = note["steady"]
        error = cents(table["hz"], reference(note, table["time"]))
        inside = (table["time"] >= begin) & (table["time"] < end) & ~np.isnan(error)
        errors.append(error[inside])
        sigmas.append(table["sigma"][inside])
        grid = np.arange(begin, end, GRID)
        within += int(np.sum(np.abs(error[nearest(table["time"], grid)]) <= WITHIN))
        ticks += len(grid)
    return {"errors": np.concatenate(errors), "sigmas": np.concatenate(sigmas), "within": within, "ticks": ticks}


def nearest(times, grid):
    """For each point of the grid the index of the row nearest to it in time (rows are in order, but for ties)."""
    order = np.argsort(times, kind="stable")
    after = np.clip(np.searchsorted(times[order], grid), 1, len(times) - 1)
    before_is_nearer = grid - times[order][after - 1] < times[order][after] - grid
    return order[np.where(before_is_nearer, after - 1, after)]


def settled_at(table, start, hz, end, cut_at_end=False):
    """`known` of the first row after `start` that is near `hz` and stays near; NaN if none before `end`."""
    after = table[(table["known"] > start) & (table["known"] <= end + STAY)]
    near = np.abs(cents(after["hz"], hz)) <= NEAR
    known = after["known"]
    for i in np.flatnonzero(near & (known <= end)):
        until = min(known[i] + STAY, end) if cut_at_end else known[i] + STAY
        if np.all(near[(known >= known[i]) & (known <= until)]):
            return float(known[i])
    return np.nan


def latency(table, take):
    """Seconds from attack to knowledge, one value a note, NaN for never."""
    return np.array([settled_at(table, n["start"], n["hz"], n["end"]) - n["start"] for n in take.notes])


def arrival(table, take):
    """Seconds from the truth's arrival at the bottom of a bend to knowledge."""
    return np.array([settled_at(table, n["arrives"], n["bottom_hz"], n["end"]) - n["arrives"] for n in take.notes])


def in_time(table, take):
    """Whether each note of a run was known before it ended."""
    known = [settled_at(table, n["start"], n["hz"], n["end"], cut_at_end=True) for n in take.notes]
    return ~np.isnan(np.array(known))


def lag_of_note(table, note):
    """(lag, errors at that lag) of one moving note."""
    begin, end = note["scored"]
    said = table["known"] - table["time"]
    best = (np.nan, np.array([]))
    for delay in np.arange(-LAG_REACH, LAG_REACH, LAG_STEP):
        at = table["time"] - delay
        inside = (at >= begin) & (at < end) & ~np.isnan(table["hz"])
        error = cents(table["hz"][inside], reference(note, at[inside]))
        if len(error) and (np.isnan(best[0]) or np.median(np.abs(error)) < np.median(np.abs(best[1]))):
            best = (float(np.median(said[inside]) + delay), error)
    return best


def moving(table, take):
    """Lags of the notes and the errors left after compensating them."""
    found = [lag_of_note(table, n) for n in take.notes]
    return {"lags": np.array([f[0] for f in found]), "errors": np.concatenate([f[1] for f in found])}


def unvoiced(table, _take):
    """(rows called a note, rows)."""
    return int(np.sum(~np.isnan(table["hz"]))), len(table)

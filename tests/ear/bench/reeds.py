"""Which reeds sound together: running our answer to it and judging it. No peer has one.

* adjacent: pairs and triples of one loudness; leaks: pairs whose second reed is 6 to 20 dB below the first.
* right in time: at most 60 ms after the start of a case the right set is said, and on every row of the next 20 ms.
* without a harp the program tells two pitches; it is judged on the pairs, each pitch within 90 cents of its reed: a
  sampled harmonica slides up by up to 60 cents in its first tenth of a second, and what sounds there is what is to be
  told; no two reeds of one breath lie closer than two semitones.
* called lone: share of the rows from 60 ms after the start of a lone reed to its end that say that reed and no other.
"""

import csv
import os
import subprocess
from dataclasses import replace

import numpy as np

from . import tools
from .figures import STAY
from .runs import Run

SETS = {"reeds", "chords"}
IN_TIME = 0.060
NEAR = 0.9  # semitones between a pitch and the reed that it is taken for, where no harp is known


def ask(key, wav):
    """What our program says about a take on a harp (or on `none`): (known, set of reeds, reeds that cannot be told) a row."""
    done = subprocess.run([tools.path("reeds"), key, str(wav)], capture_output=True, text=True, check=True)
    found = list(csv.DictReader(done.stdout.splitlines()))
    table = np.empty(len(found), dtype=[("known", float), ("reeds", "U40"), ("unsure", "U40")])
    table["known"] = [float(row["known_s"]) for row in found]
    table["reeds"] = [row["reeds" if key != "none" else "pitches"] for row in found]
    table["unsure"] = [row.get("unsure", "") for row in found]
    return table


def nearest(pitches, note):
    """The MIDI notes of a case if these pitches lie near them, one by one; else the pitches themselves."""
    told, true = sorted(map(float, pitches.split())), sorted(map(int, note["reeds"].split()))
    near = len(told) == len(true) and all(abs(a - b) < NEAR for a, b in zip(told, true))
    return note["reeds"] if near else pitches


def matched(table, notes):
    """The table of pitches with notes in the place of pitches wherever these are right."""
    for note in notes:
        for i in np.flatnonzero((table["known"] >= note["start"]) & (table["known"] <= note["end"] + STAY)):
            table["reeds"][i] = nearest(str(table["reeds"][i]), note)
    return table


def run_all(takes, settings):
    """Our answers for every take of these sets; none if the program is not built."""
    if not os.path.exists(tools.path("reeds")):
        return []
    found = []
    for take in [t for t in takes if t.set in SETS]:
        wav, kind, key = take.wav(settings.corpus), *take.name.split(" ", 1)
        found.append(Run("ours", take, ask(key, wav), 0.0))
        if take.set == "reeds" and kind == "sampled":
            pairs = [n for n in take.notes if n["reeds"].count(" ") == 1]
            blind = replace(take, notes=pairs, condition=f"{take.condition} pairs, no harp named")
            found.append(Run("ours", blind, matched(ask("none", wav), pairs), 0.0))
    return found


def right_in_time(table, note):
    """Whether the right set is known in time and stays."""
    right, known = table["reeds"] == note["reeds"], table["known"]
    soon = right & (known > note["start"]) & (known <= note["start"] + IN_TIME)
    return any(np.all(right[(known >= known[i]) & (known <= known[i] + STAY)]) for i in np.flatnonzero(soon))


def called_lone(table, note):
    """(rows that say this reed and no other, rows) of a lone reed."""
    inside = (table["known"] >= note["start"] + IN_TIME) & (table["known"] <= note["end"])
    return int(np.sum(table["reeds"][inside] == note["reeds"])), int(np.sum(inside))


def share(flags):
    """Mean of truths, NaN for none."""
    return float(np.mean(flags)) if len(flags) else np.nan


def right_at_end(table, note):
    """Whether the set is right on every row of the last 100 ms of a case."""
    inside = (table["known"] >= note["end"] - 0.1) & (table["known"] <= note["end"])
    return bool(np.all(table["reeds"][inside] == note["reeds"]))


def of_cases(cases, name):
    """Shares of these sets that are right in time, and at their end."""
    in_time = share([right_in_time(run.rows, note) for run, note in cases])
    return {name: in_time, f"{name}_at_end": share([right_at_end(run.rows, note) for run, note in cases])}


def figures(runs):
    """Adjacent sets, octaves and leaks, with a harp; pairs without; share of rows of lone reeds called lone."""
    cases = [(run, note) for run in runs for note in run.take.notes]
    named = [(run, note) for run, note in cases if "no harp" not in run.take.condition]
    loud = [(run, note) for run, note in named if "sampled" in run.take.condition]
    leaks = [(run, note) for run, note in named if "leaking" in run.take.condition and note["kind"] == "pair"]
    lone = np.array([called_lone(run.rows, note) for run, note in named if note["kind"] == "lone"]).reshape(-1, 2)
    return {
        **of_cases([(run, note) for run, note in loud if note["kind"] in {"pair", "triple"}], "adjacent"),
        **of_cases([(run, note) for run, note in loud if note["kind"] == "octave"], "octaves"),
        **of_cases(leaks, "leaks"),
        **of_cases([(run, note) for run, note in cases if "no harp" in run.take.condition], "blind"),
        "lone": float(lone[:, 0].sum() / lone[:, 1].sum()) if len(lone) else np.nan,
    }

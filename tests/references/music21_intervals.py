"""Writes what the PyPI package music21 (BSD-3-Clause) calls intervals and degrees to music21-intervals.json.

Run once, in a virtual environment with Python 3.11 or later; the result is committed and the Rust tests read it:
  pip install music21==10.5.1
  python tests/references/music21_intervals.py > tests/references/music21-intervals.json

music21 writes flats as "-"; here they are written "b".
"""

import datetime
import json

import music21
from music21 import interval, pitch

TONICS = ["C", "D-", "D", "E-", "E", "F", "F#", "G", "A-", "A", "B-", "B"]
# Each degree by the interval from the tonic by which music21 builds it.
DEGREES = {
    "1": "P1", "b2": "m2", "2": "M2", "b3": "m3", "3": "M3", "4": "P4", "#4": "A4", "b5": "d5", "5": "P5", "b6": "m6", "6": "M6",
    "b7": "m7", "7": "M7",
}


def interval_rows():
    for half_steps in range(1, 13):
        one = interval.Interval(half_steps)
        yield {"half_steps": half_steps, "name": one.niceName}


def degree_rows():
    for tonic in TONICS:
        for degree, name in DEGREES.items():
            note = pitch.Pitch(f"{tonic}4").transpose(interval.Interval(name))
            yield {"tonic": tonic.replace("-", "b"), "degree": degree, "class": note.pitchClass}


def lines(rows):
    return ",\n".join("    " + json.dumps(row) for row in rows)


source = json.dumps(
    {"package": "music21", "version": music21.__version__, "date": datetime.date.today().isoformat()}
)
print(f'{{\n  "source": {source},\n  "intervals": [\n{lines(interval_rows())}\n  ],\n  "degrees": [\n{lines(degree_rows())}\n  ]\n}}')

"""Writes what the PyPI package music21 (BSD-3-Clause) says about scales and chords to music21-theory.json.

Run once, in a virtual environment with Python 3.11 or later; the result is committed and the Rust tests read it:
  pip install music21==10.5.1
  python tests/references/music21_theory.py > tests/references/music21-theory.json

music21 writes flats as "-"; here they are written "b". Its WeightedHexatonicBlues drops a note at random and is left out.
"""

import datetime
import json

import music21
from music21 import chord, harmony, key, pitch, roman, scale

SCALES = {
    "major": scale.MajorScale,
    "Dorian": scale.DorianScale,
    "Phrygian": scale.PhrygianScale,
    "Lydian": scale.LydianScale,
    "Mixolydian": scale.MixolydianScale,
    "natural minor": scale.MinorScale,
    "Locrian": scale.LocrianScale,
    "harmonic minor": scale.HarmonicMinorScale,
    "melodic minor": scale.MelodicMinorScale,
    "whole tone": scale.WholeToneScale,
    "diminished whole-half": lambda tonic: scale.OctatonicScale(tonic, "M2"),
    "diminished half-whole": lambda tonic: scale.OctatonicScale(tonic, "m2"),
    "chromatic": scale.ChromaticScale,
}
TONICS = ["C", "D-", "D", "E-", "E", "F", "F#", "G-", "G", "A-", "A", "B-", "B", "C-", "C#", "G#", "D#", "A#"]

# Ten-hole reeds from hole 1 up, semitones above middle C: the Richter layout is OEIS A291810; the others differ from it by
# the reeds that their names say (blow or draw reeds lowered a half step).
TUNINGS = {
    "Richter": ([0, 4, 7, 12, 16, 19, 24, 28, 31, 36], [2, 7, 11, 14, 17, 21, 23, 26, 29, 33]),
    "natural minor": ([0, 3, 7, 12, 15, 19, 24, 27, 31, 36], [2, 7, 10, 14, 17, 21, 22, 26, 29, 33]),
    "harmonic minor": ([0, 3, 7, 12, 15, 19, 24, 27, 31, 36], [2, 7, 11, 14, 17, 20, 23, 26, 29, 32]),
    "Dorian": ([0, 4, 7, 12, 16, 19, 24, 28, 31, 36], [2, 7, 10, 14, 17, 21, 22, 26, 29, 33]),
}
# All four harps are in C or C minor, so their black keys are flats.
FLATS = ["C", "D-", "D", "E-", "E", "F", "G-", "G", "A-", "A", "B-", "B"]
POSITION_TONICS = ["C", "G", "D", "A", "E", "B", "F#", "D-", "A-", "E-", "B-", "F"]


def text(name):
    """A music21 name with flats written as b."""
    return name.replace("-", "b")


def scale_rows():
    for name, build in SCALES.items():
        for tonic in TONICS:
            one = build(tonic)
            low, high = f"{tonic}4", f"{tonic}5"
            up = [text(p.name) for p in one.getPitches(low, high)][:-1]
            fall = one.getPitches(low, high, direction=scale.Direction.DESCENDING)
            # Written upwards from the tonic, like the rising form.
            down = [text(p.name) for p in sorted(fall, key=lambda p: p.ps)][:-1]
            row = {"scale": name, "tonic": text(tonic), "up": up}
            yield row | {"down": down} if name == "melodic minor" else row


def kind_rows():
    """Every chord kind that music21 builds from a root, spelled, on all twelve roots."""
    for kind in harmony.CHORD_TYPES:
        for root in TONICS[:6] + TONICS[6:7] + TONICS[8:13]:
            try:
                symbol = harmony.ChordSymbol(root=root, kind=kind)
            except Exception:  # a kind that music21 lists but does not build
                continue
            if len(symbol.pitches) < 2:
                continue
            yield {"kind": kind, "root": text(root), "notes": [text(p.name) for p in symbol.pitches]}


def numeral(sounding, tonic):
    """Scale degree, alteration and whether it is written small, of the root in the major key of a tonic."""
    found = roman.romanNumeralFromChord(sounding, key.Key(tonic))
    degree, accidental = found.scaleDegreeWithAlteration
    small = found.figure.lstrip("#b-")[:1].islower()
    return [text(tonic), degree, int(accidental.alter) if accidental else 0, small]


def grip_rows():
    """Every three to five neighbouring holes on one breath: music21's chord symbol, and the numeral in each position."""
    for tuning, breaths in TUNINGS.items():
        for breath, reeds in zip(("blow", "draw"), breaths):
            for size in (3, 4, 5):
                for low in range(0, 11 - size):
                    midi = [60 + s for s in reeds[low : low + size]]
                    sounding = chord.Chord([pitch.Pitch(f"{FLATS[m % 12]}{m // 12 - 1}") for m in midi])
                    figure = harmony.chordSymbolFigureFromChord(sounding, True)
                    # A figure with "add", "omit" or "alter" says only which kind comes nearest.
                    exact = isinstance(figure, tuple) and not any(w in figure[0] for w in ("add", "omit", "alter"))
                    known = exact and figure[1] != ""
                    yield {
                        "tuning": tuning,
                        "breath": breath,
                        "low": low + 1,
                        "high": low + size,
                        "midi": midi,
                        "root": text(sounding.root().name),
                        "kind": figure[1] if known else None,
                        "numerals": [numeral(sounding, tonic) for tonic in POSITION_TONICS],
                    }


def lines(rows):
    return ",\n".join("    " + json.dumps(row, ensure_ascii=False) for row in rows)


source = json.dumps(
    {"package": "music21", "version": music21.__version__, "date": datetime.date.today().isoformat()}
)
print(
    f'{{\n  "source": {source},\n  "scales": [\n{lines(scale_rows())}\n  ],\n  "kinds": [\n{lines(kind_rows())}\n  ],\n'
    f'  "grips": [\n{lines(grip_rows())}\n  ]\n}}'
)

"""Which reeds sound together: lone reeds, adjacent pairs and triples, octaves, of three harps.

The truth of a case is the set of its MIDI notes: some reeds of a harp share a pitch, and no ear tells those apart. Sampled
cases have all reeds at one loudness; in additive cases the second reed is a leak, 6 to 20 dB below.
"""

import numpy as np

from . import fonts
from .corpus import Take, truth_of, write_take
from .tones import Note, dress, mix

# Semitones above hole 1 blow: the Richter layout, OEIS A291810 (there in the order blow 1, draw 1, blow 2 …).
BLOW = (0, 4, 7, 12, 16, 19, 24, 28, 31, 36)
DRAW = (2, 7, 11, 14, 17, 21, 23, 26, 29, 33)
HARPS = {"C": 60, "low F": 53, "high G": 67}
HIGHEST_SAMPLED = 97  # the fluid font's harmonica is silent from 98 on
SOUNDS, GAP = 0.5, 0.25


def groups():
    """(kind, sign, holes) of everything that is asked: lone, adjacent pairs and triples, octaves three holes apart."""
    for sign in "+-":
        for size, kind in enumerate(("lone", "pair", "triple"), start=1):
            for first in range(1, 12 - size):
                yield kind, sign, tuple(range(first, first + size))
        for first in range(1, 8):
            if (BLOW, DRAW)[sign == "-"][first + 2] - (BLOW, DRAW)[sign == "-"][first - 1] == 12:
                yield "octave", sign, (first, first + 3)


def midi_of(blow_1, sign, hole):
    """MIDI note of a reed."""
    return blow_1 + (DRAW if sign == "-" else BLOW)[hole - 1]


def label(midis):
    """A set of reeds as text, lowest first."""
    return " ".join(str(m) for m in sorted(midis))


def sampled(root, rng, key, blow_1, cases):
    """All cases of one harp on the fluid font's harmonica."""
    events, notes, at = [], [], 0.2
    for kind, sign, holes in cases:
        midis = [midi_of(blow_1, sign, h) for h in holes]
        if max(midis) > HIGHEST_SAMPLED:
            continue
        velocity = int(rng.integers(75, 110))
        events += [(at, 0, m, velocity) for m in midis] + [(at + SOUNDS, 0, m, 0) for m in midis]
        notes.append({"start": at, "end": at + SOUNDS, "hz": None, "reeds": label(midis), "kind": kind})
        at = round(at + SOUNDS + GAP, 3)
    sound = fonts.fitted(fonts.play("fluid", events, {0: 22}), at + 0.1)
    take = Take("reeds", f"sampled {key}", f"sampled, {key}", at + 0.1, notes)
    write_take(root, take, sound * (0.5 / np.max(np.abs(sound))), rng)


def leaking(root, rng, key, blow_1, cases):
    """Lone reeds and pairs of one harp, additive; the second reed of a pair 6 to 20 dB below the first."""
    voices, notes, at = [], [], 0.2
    for kind, sign, holes in cases:
        if kind not in {"lone", "pair"}:
            continue
        midis = [midi_of(blow_1, sign, h) for h in holes]
        for midi, down in zip(rng.permutation(midis), (0.0, rng.uniform(6, 20))):
            hz = 440 * 2 ** ((midi - 69 + rng.uniform(-0.08, 0.08)) / 12)
            voices.append(dress(rng, Note(at, at + SOUNDS, hz, -22.0 - down, rng.uniform(0.006, 0.02))))
        notes.append(truth_of(voices[-1]) | {"reeds": label(midis), "kind": kind})
        at = round(at + SOUNDS + GAP, 3)
    take = Take("reeds", f"leaking {key}", f"leaking, {key}", at + 0.1, notes)
    write_take(root, take, mix(voices, at + 0.1), rng)


def make_reeds(root, rng, quick):
    """Both kinds for every harp."""
    for key, blow_1 in HARPS.items():
        cases = list(groups())[:: 4 if quick else 1]
        sampled(root, rng, key, blow_1, cases)
        leaking(root, rng, key, blow_1, cases)

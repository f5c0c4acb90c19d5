"""Chords and splits of three harps: three to five adjacent reeds, tongue-blocked pairs, sets with one reed missing or one leaking.

The reeds of a case are as breath and maker leave them: up to 8 cents off, up to 6 dB apart, begun within 20 ms of each other.
A leak is 6 to 20 dB below the strongest reed. For the drill of clean single notes there are lone reeds, and lone reeds with a
neighbour exactly 20 dB below. Cases come in random order.

Additive reeds have the character of their harp (each partial of each reed is off by some dB, on the whole take) and in each
case the colour of one mouth; they scoop into their pitch and waver, each by itself, in a room with noise. Sampled reeds are
the harmonica of the fluid font, note by note, brought to these pitches and levels by resampling.
"""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from . import fonts, spoil
from .corpus import Take, truth_of, write_take
from .make_reeds import BLOW, DRAW, HARPS, HIGHEST_SAMPLED, label, midi_of
from .tones import KINDS, RATE, Note, mix, spectrum

SOUNDS, GAP, LEAD = 0.5, 0.25, 0.2
LEVEL_DB, NOISE_DB = -28.0, 40.0  # of the strongest reed against full scale; of the room below that
OFF_CENTS, APART_DB, SPREAD = 8.0, 6.0, 0.020
OWN_DB = 4.0  # by how much each partial of each reed has its own strength
LEAK_DB, DRILL_DB = (6.0, 20.0), 20.0
HOLES = 10


@dataclass
class Case:
    """Some holes on one breath; the last one `down` dB below the strongest reed if that is given."""

    kind: str
    sign: str
    holes: tuple[int, ...]
    down: float | None = None


def windows(size):
    """All sets of so many adjacent holes."""
    return [tuple(range(first, first + size)) for first in range(1, HOLES + 2 - size)]


def neighbours(holes):
    """The holes on both sides of a set."""
    return [h for h in (holes[0] - 1, holes[-1] + 1) if 1 <= h <= HOLES]


def cases_of(rng, sign):
    """Every case of one breath."""
    for size, kind in ((3, "three"), (4, "four"), (5, "five")):
        yield from (Case(kind, sign, holes) for holes in windows(size))
    for apart in (3, 4):
        yield from (Case("split", sign, (low, low + apart)) for low in range(1, HOLES + 1 - apart))
    for size in (4, 5):
        for holes in windows(size):
            missing = rng.choice(holes)
            yield Case("missing", sign, tuple(h for h in holes if h != missing))
    for size in (3, 4):
        for holes in windows(size):
            leak = int(rng.choice(neighbours(holes)))
            yield Case("leak", sign, (*holes, leak), rng.uniform(*LEAK_DB))
    for hole in range(1, HOLES + 1):
        yield Case("clean", sign, (hole,))
        yield from (Case("beside", sign, (hole, other), DRILL_DB) for other in neighbours((hole,)))


def levels(rng, case):
    """Level of each reed against the strongest, dB."""
    loud = len(case.holes) - (case.down is not None)
    own = -rng.uniform(0, APART_DB, loud)
    own -= own.max()
    return own if case.down is None else np.append(own, -case.down)


def wavering(rng, samples):
    """Cents of a reed over its time: a scoop of up to 15 cents, and a slow aimless wavering of about one."""
    t = np.arange(samples) / RATE
    scoop = -rng.uniform(0, 15) * np.exp(-t / rng.uniform(0.02, 0.06))
    rates = (rng.uniform(0.6, 1.4), rng.uniform(2, 4), rng.uniform(5, 9))
    waves = sum(np.sin(2 * np.pi * (rate * t + rng.random())) for rate in rates)
    return scoop + rng.uniform(0.3, 1.0) * waves


def additive(rng, characters, colour, midi, at, down):
    """One reed of a case."""
    hz = 440 * 2 ** ((midi - 69 + rng.uniform(-OFF_CENTS, OFF_CENTS) / 100) / 12)
    note = Note(at, at + SOUNDS, hz, LEVEL_DB + down, rng.uniform(0.006, 0.02), cents=wavering(rng, int(RATE * (SOUNDS + GAP))))
    partials = spectrum(rng, hz * 2 ** (10 / 1200), colour)
    own = characters.setdefault(midi, rng.normal(0, OWN_DB, 80))
    note.partials = partials * 10 ** (own[: len(partials)] / 20)
    note.phases = rng.uniform(0, 2 * np.pi, len(partials))
    return note


def laid_out(rng, blow_1):
    """(case, its MIDI notes, when each reed begins, its level) of all cases, one after the other, in random order."""
    cases = [case for sign in "+-" for case in cases_of(rng, sign)]
    for i, case in enumerate(rng.permutation(np.array(cases, dtype=object))):
        at = LEAD + i * (SOUNDS + GAP)
        late = rng.uniform(0, SPREAD, len(case.holes))
        midis = [midi_of(blow_1, case.sign, h) for h in case.holes]
        yield case, midis, at + late - late.min(), levels(rng, case)


def truth(case, midis, begins):
    """What is known of a case; it begins with its first reed."""
    at = float(min(begins))
    loud = midis if case.down is None else midis[:-1]
    return {"start": at, "end": at + SOUNDS, "hz": None, "reeds": label(midis), "loud": label(loud), "kind": case.kind}


def make_additive(root, rng, key, blow_1, part):
    """One take of additive reeds; `part` chooses cases."""
    voices, notes, characters = [], [], {}
    for case, midis, begins, downs in list(laid_out(rng, blow_1))[::part]:
        colour = KINDS[rng.integers(len(KINDS))]
        voices += [additive(rng, characters, colour, *one) for one in zip(midis, begins, downs)]
        notes.append(truth(case, midis, begins))
    seconds = notes[-1]["end"] + GAP
    sound = mix(voices, seconds)
    sound += spoil.pink(rng, len(sound)) * 10 ** ((LEVEL_DB - NOISE_DB) / 20)
    write_take(root, Take("chords", f"additive {key}", f"additive, {key}", seconds, notes), sound, rng)


def reeds_of_font(blow_1):
    """MIDI note → its sound from its beginning, RMS 1 where it is held."""
    midis = sorted({blow_1 + step for step in (*BLOW, *DRAW) if blow_1 + step <= HIGHEST_SAMPLED})
    apart = SOUNDS + 2 * GAP
    events = [(LEAD + i * apart + end, 0, m, v) for i, m in enumerate(midis) for end, v in ((0, 96), (SOUNDS, 0))]
    sound = fonts.fitted(fonts.play("fluid", events, {0: 22}), LEAD + len(midis) * apart)
    found = {}
    for i, midi in enumerate(midis):
        first = int(round((LEAD + i * apart) * RATE))
        one = sound[first : first + int((SOUNDS + GAP) * RATE)]
        found[midi] = one / spoil.rms(one[int(0.15 * RATE) : int(0.45 * RATE)])
    return found


def make_sampled(root, rng, key, blow_1, part):
    """One take of sampled reeds."""
    reeds, notes = reeds_of_font(blow_1), []
    playable = [laid for laid in laid_out(rng, blow_1) if max(laid[1]) <= HIGHEST_SAMPLED][::part]
    sound = np.zeros(int((playable[-1][2].max() + SOUNDS + 2 * GAP) * RATE))
    for case, midis, begins, downs in playable:
        notes.append(truth(case, midis, begins))
        for midi, at, down in zip(midis, begins, downs):
            cents = rng.uniform(-OFF_CENTS, OFF_CENTS)
            one = signal.resample(reeds[midi], int(round(len(reeds[midi]) * 2 ** (-cents / 1200))))
            first = int(round(at * RATE))
            sound[first : first + len(one)] += one * 10 ** ((LEVEL_DB + down) / 20)
    sound += spoil.pink(rng, len(sound)) * 10 ** ((LEVEL_DB - NOISE_DB) / 20)
    write_take(root, Take("chords", f"sampled {key}", f"sampled, {key}", len(sound) / RATE, notes), sound, rng)


def make_chords(root, rng, quick):
    """Both kinds for every harp."""
    for key, blow_1 in HARPS.items():
        for make in (make_additive, make_sampled):
            make(root, rng, key, blow_1, 3 if quick else 1)

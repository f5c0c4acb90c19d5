"""Sampled reeds: the General MIDI programs that are free reeds, from two sound fonts, judged by a fit of our own.

A sampled note scoops into its pitch for up to 350 ms, so it is judged once settled. Its true pitch is what a
least-squares fit over the whole settled stretch says. Accordion samples are two reeds a few cents apart; there, and
wherever fits over 80 ms disagree by more than a cent or no single harmonic series explains the sound, there is no such
thing as *the* pitch to 5 cents: those notes are marked `beats` and only their octave is judged.
"""

import numpy as np

from . import fit, fonts
from .corpus import Take, write_take
from .tones import RATE

PROGRAMS = {20: "reed organ", 21: "accordion", 22: "harmonica", 23: "tango accordion"}
SINGLE_REEDS = (20, 22)
LOWEST_MIDI, HIGHEST_MIDI = 41, 99
SOUNDS, GAP, SETTLING = 1.25, 0.30, 0.45
SHORT, AGREES, EXPLAINS = 0.08, 1.0, 0.85
REACH, NEARLY = 100.0, 4.0  # cents: the first search, and the ones around what it found


def chosen_notes(rng, program, quick):
    """MIDI notes over the range, one in each equal stretch; fewer of the beating instruments."""
    count = (4 if quick else 12) if program in SINGLE_REEDS else (2 if quick else 4)
    edges = np.linspace(LOWEST_MIDI, HIGHEST_MIDI + 1, count + 1)
    return [int(rng.integers(int(a), int(b))) for a, b in zip(edges[:-1], edges[1:])]


def cut(sound, begin, end):
    """The samples between two times."""
    return sound[int(begin * RATE) : int(end * RATE)]


def truth(sound, at, midi, program):
    """What the judge says about one rendered note, or None where the font is silent."""
    begin, end = at + SETTLING, at + SOUNDS - 0.03
    coarse, _ = fit.fundamental(cut(sound, begin, begin + SHORT), 440 * 2 ** ((midi - 69) / 12), REACH)
    if np.isnan(coarse):
        return None
    hz, share = fit.fundamental(cut(sound, begin, end), coarse, NEARLY)
    starts = np.arange(begin, end - SHORT, 2 * SHORT)
    shorts = [fit.fundamental(cut(sound, a, a + SHORT), hz, 2 * NEARLY)[0] for a in starts]
    scatter = float(np.max(np.abs(1200 * np.log2(np.array(shorts) / hz))))
    beats = program not in SINGLE_REEDS or bool(scatter > AGREES or share < EXPLAINS)
    return {
        "start": at, "end": at + SOUNDS, "hz": float(hz), "steady": [begin, end], "midi": midi,
        "explained": round(share, 4), "scatter_cents": round(scatter, 3), "beats": beats,
    }


def make_sampled(root, rng, quick):
    """One take for each font and program."""
    for font in fonts.FONTS:
        for program, name in PROGRAMS.items():
            midis = chosen_notes(rng, program, quick)
            starts = [round(0.2 + i * (SOUNDS + GAP), 3) for i in range(len(midis))]
            events = [(at, 0, m, int(rng.integers(60, 115))) for at, m in zip(starts, midis)]
            events += [(at + SOUNDS, 0, m, 0) for at, m in zip(starts, midis)]
            seconds = starts[-1] + SOUNDS + GAP
            sound = fonts.fitted(fonts.play(font, events, {0: program}), seconds)
            notes = [t for at, m in zip(starts, midis) if (t := truth(sound, at, m, program))]
            take = Take("sampled", f"{font}{program}", f"{font}: {name}", seconds, notes)
            write_take(root, take, sound * min(1.0, 0.5 / np.max(np.abs(sound))), rng)

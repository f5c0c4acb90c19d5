"""The parts of the corpus in which the pitch moves: bends, vibrato, glides, sixteenths."""

import numpy as np

from .corpus import Take, truth_of, write_take
from .tones import RATE, Note, dress, mix, spread_hz

EDGE = 0.060  # judged only away from the corners of a glide and from the onset


def placed(rng, hz, at, cents, **marks):
    """A note of one pitch curve, dressed and marked."""
    note = Note(at, at + len(cents) / RATE, float(hz), rng.uniform(-25, -19), rng.uniform(0.006, 0.016), 0.025, cents)
    note.marks.update(marks)
    return dress(rng, note)


def finish(root, rng, name, notes, part=0, condition=""):
    """Write a take of these notes."""
    seconds = notes[-1].end + 0.3
    take = Take(name, f"part{part:03}", condition or name, seconds, [truth_of(n) for n in notes])
    write_take(root, take, mix(notes, seconds), rng)


def make_vibrato(root, rng, quick):
    """4 to 7 Hz, 10 to 40 cents to either side."""
    notes, at = [], 0.2
    for hz in spread_hz(rng, 6 if quick else 16, 110, 2400):
        t = np.arange(int(1.2 * RATE)) / RATE
        cents = rng.uniform(10, 40) * np.sin(2 * np.pi * rng.uniform(4, 7) * t + rng.uniform(0, 6.28))
        notes.append(placed(rng, hz, at, cents, scored=[at + 0.15, at + 1.2 - EDGE]))
        at += 1.45
    finish(root, rng, "vibrato", notes)


def make_glides(root, rng, quick):
    """Even glides of 50 to 300 cents, up and down, in 0.3 to 0.9 s."""
    notes, at = [], 0.2
    for hz in spread_hz(rng, 6 if quick else 16, 110, 2400):
        span, travel = rng.choice([-1, 1]) * rng.uniform(50, 300), rng.uniform(0.3, 0.9)
        cents = np.interp(np.arange(int((travel + 0.3) * RATE)) / RATE, [0.15, 0.15 + travel], [0, span])
        notes.append(placed(rng, hz, at, cents, scored=[at + 0.15 + EDGE, at + 0.15 + travel - EDGE]))
        at += travel + 0.55
    finish(root, rng, "glides", notes)


def bend_curve(rng, depth, travel):
    """Natural for 0.25 s, down by `depth` cents in `travel` s (even or rounded), then held 0.3 s."""
    t = np.arange(int((0.55 + travel) * RATE)) / RATE
    way = np.clip((t - 0.25) / travel, 0, 1)
    if rng.random() < 0.5:
        way = way * way * (3 - 2 * way)
    return -depth * way


def make_bends(root, rng, quick):
    """Bends that arrive: half step to one and a half steps. `arrives` is when the truth comes within 10 cents for good."""
    notes, at = [], 0.2
    low = spread_hz(rng, 6 if quick else 20, 150, 900)
    high = spread_hz(rng, 3 if quick else 10, 1100, 2900)
    for hz in rng.permutation(np.concatenate([low, high])):
        depth = float(rng.choice([100, 200, 300]) + rng.uniform(-15, 15))
        travel = float(rng.uniform(0.04, 0.15))
        cents = bend_curve(rng, depth, travel)
        arrives = at + np.argmax(cents <= -depth + 10) / RATE
        marks = {"arrives": float(arrives), "bottom": at + 0.25 + travel, "bottom_hz": float(hz * 2 ** (-depth / 1200))}
        notes.append(placed(rng, hz, at, cents, **marks))
        at = notes[-1].end + 0.2
    finish(root, rng, "bends", notes)


def make_sixteenths(root, rng, quick):
    """Runs of sixteenths at 60 to 140 bpm, on a harp's scale steps, half of them legato."""
    for bpm in (60, 100, 140) if quick else (60, 80, 100, 120, 140):
        step, at, notes, last = 15 / bpm, 0.2, [], None
        for _ in range(16 if quick else 48):
            choices = [m for m in range(55, 97) if m != last and (last is None or abs(m - last) <= 7)]
            last = int(rng.choice(choices))
            hz = 440 * 2 ** ((last - 69 + rng.uniform(-0.15, 0.15)) / 12)
            sounds = step * (1.0 if rng.random() < 0.5 else rng.uniform(0.7, 0.9))
            note = Note(at, at + sounds, hz, rng.uniform(-24, -20), rng.uniform(0.004, 0.012), rng.uniform(0.010, 0.025))
            notes.append(dress(rng, note))
            at += step
        finish(root, rng, "sixteenths", notes, bpm, f"{bpm} bpm")

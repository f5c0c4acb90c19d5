"""Additive reed tones whose fundamental is known exactly.

Everything here is written apart from the product's own synthesiser, in another language, so that a
shared mistake cannot hide. Frequencies are hertz, times seconds, levels dB of RMS against full scale.
"""

from dataclasses import dataclass, field

import numpy as np

RATE = 48_000
HIGHEST_PARTIAL_HZ = 19_000.0
MOST_PARTIALS = 60
LOWEST_HZ = 87.0
HIGHEST_HZ = 3136.0
KINDS = ("bright", "second", "hollow", "dull", "cupped")


@dataclass
class Note:
    """One reed sounding: pitch steady at `hz`, or moving by `cents` (one value a sample, from `start` on)."""

    start: float
    end: float
    hz: float
    level_db: float = -20.0
    attack: float = 0.010
    release: float = 0.025
    cents: np.ndarray | None = None
    partials: np.ndarray | None = None
    phases: np.ndarray | None = None
    steady: tuple[float, float] | None = field(default=None)
    marks: dict = field(default_factory=dict)


def spectrum(rng, hz, kind):
    """Amplitudes of the partials of one reed: a family of reed colours, each partial scattered by some dB."""
    count = max(1, min(MOST_PARTIALS, int(HIGHEST_PARTIAL_HZ / (hz * 1.03))))
    h = np.arange(1, count + 1, dtype=float)
    slope = {"bright": 0.8, "second": 1.1, "hollow": 1.0, "dull": 2.0, "cupped": 1.2}[kind]
    amp = h ** -(slope + rng.uniform(-0.15, 0.15))
    if kind == "second" and count > 1:
        amp[1] = amp[0] * 10 ** (rng.uniform(3, 10) / 20)
    if kind == "hollow":
        amp[1::2] *= 10 ** (-rng.uniform(6, 14) / 20)
    if kind == "cupped":
        centre = rng.uniform(500, 1500)
        amp *= 0.3 + np.exp(-0.5 * (np.log2(h * hz / centre) / 0.7) ** 2)
    return amp * 10 ** (rng.normal(0, 1.5, count) / 20)


def dress(rng, note, kind=None):
    """Give a note its partials and phases, so that the same note can be rendered again."""
    kind = kind or KINDS[rng.integers(len(KINDS))]
    note.partials = spectrum(rng, note.hz, kind)
    note.phases = rng.uniform(0, 2 * np.pi, len(note.partials))
    note.marks.setdefault("kind", kind)
    return note


def envelope(note, samples):
    """Raised-cosine attack and release; the release begins at the note's end."""
    t = np.arange(samples) / RATE
    rise = np.sin(0.5 * np.pi * np.clip(t / note.attack, 0, 1)) ** 2
    fall = np.cos(0.5 * np.pi * np.clip((t - (note.end - note.start)) / note.release, 0, 1)) ** 2
    return rise * fall


def frequency(note, samples):
    """The fundamental at each sample of the note."""
    if note.cents is None:
        return np.full(samples, note.hz)
    cents = np.concatenate([note.cents, np.full(max(0, samples - len(note.cents)), note.cents[-1])])
    return note.hz * 2 ** (cents[:samples] / 1200)


def render(note):
    """The sound of one note, from its start to the end of its release."""
    samples = int(round((note.end + note.release - note.start) * RATE))
    turns = np.concatenate([[0.0], np.cumsum(frequency(note, samples))[:-1]]) / RATE
    env = envelope(note, samples)
    out = np.zeros(samples)
    for h, (amp, phase) in enumerate(zip(note.partials, note.phases), start=1):
        # Upper partials grow later than the fundamental, as in a reed that is filling up.
        growth = env ** min(1 + 0.05 * (h - 1), 2.5)
        out += amp * growth * np.sin(2 * np.pi * h * turns + phase)
    rms = np.sqrt(0.5 * np.sum(note.partials**2))
    return out * (10 ** (note.level_db / 20) / rms)


def mix(notes, seconds):
    """Lay notes into one buffer of this length."""
    out = np.zeros(int(round(seconds * RATE)))
    for note in notes:
        sound = render(note)
        at = int(round(note.start * RATE))
        room = min(len(sound), len(out) - at)
        out[at : at + room] += sound[:room]
    return out


def spread_hz(rng, count, low=LOWEST_HZ, high=HIGHEST_HZ):
    """`count` pitches over the range, one in each equal step of the logarithm, in random order."""
    edges = np.linspace(np.log(low), np.log(high), count + 1)
    return rng.permutation(np.exp(rng.uniform(edges[:-1], edges[1:])))

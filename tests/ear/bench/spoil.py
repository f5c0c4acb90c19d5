"""What a room, a microphone and other people do to a clean note."""

import numpy as np
from scipy import signal

from .tones import RATE, Note, dress, mix


def rms(x):
    """Root mean square."""
    return float(np.sqrt(np.mean(np.square(x))))


def level_of(notes):
    """Typical RMS level of the notes of a take, dB full scale."""
    return float(np.median([n.level_db for n in notes]))


def pink(rng, samples):
    """Pink noise (power falling 3 dB an octave above 20 Hz), unit RMS."""
    bins = np.fft.rfftfreq(samples, 1 / RATE)
    weight = 1 / np.sqrt(np.maximum(bins, 20.0))
    weight[bins < 20.0] = 0
    noise = np.fft.irfft(np.fft.rfft(rng.standard_normal(samples)) * weight, samples)
    return noise / rms(noise)


def add_pink(rng, x, notes, snr_db):
    """Pink noise at a signal-to-noise ratio against the level of the notes."""
    return x + pink(rng, len(x)) * 10 ** ((level_of(notes) - snr_db) / 20)


def click_train(rng, samples, bpm=120.0, kind="block"):
    """Metronome clicks, peak 1: a wooden block (inharmonic, 5 ms) or a noise tick (2 ms)."""
    out = np.zeros(samples)
    t = np.arange(int(0.06 * RATE)) / RATE
    for at in np.arange(rng.uniform(0, 0.2), samples / RATE - 0.07, 60 / bpm):
        if kind == "block":
            tones = zip((1180.0, 1910.0, 2770.0), (1.0, 0.7, 0.5))
            hit = sum(a * np.sin(2 * np.pi * f * t + rng.uniform(0, 6.28)) for f, a in tones) * np.exp(-t / 0.005)
        else:
            hit = rng.standard_normal(len(t)) * np.exp(-t / 0.002)
        i = int(at * RATE)
        out[i : i + len(t)] += hit / np.max(np.abs(hit))
    return out


def add_clicks(rng, x, notes):
    """Clicks from a loudspeaker: peak 6 dB over the RMS of the notes."""
    return x + click_train(rng, len(x), rng.uniform(90, 140)) * 10 ** ((level_of(notes) + 6) / 20)


def hum(rng, samples, mains=50.0):
    """Mains hum with its harmonics, unit RMS."""
    t = np.arange(samples) / RATE
    amps = {1: 1.0, 2: 0.6, 3: 0.45, 4: 0.12, 5: 0.25, 7: 0.12}
    out = sum(a * np.sin(2 * np.pi * mains * h * t + rng.uniform(0, 6.28)) for h, a in amps.items())
    return out / rms(out)


def add_hum(rng, x, notes):
    """Hum 24 dB under the notes."""
    return x + hum(rng, len(x), rng.choice([50.0, 60.0])) * 10 ** ((level_of(notes) - 24) / 20)


def add_reverb(rng, x, rt60=0.5, wet_db=-9.0):
    """A room: the direct sound plus an exponentially dying diffuse tail (RT60 in seconds)."""
    n = int(rt60 * RATE)
    t = np.arange(n) / RATE
    tail = rng.standard_normal(n) * 10 ** (-3 * t / rt60)
    tail[: int(0.004 * RATE)] = 0
    tail = signal.lfilter([0.4], [1, -0.6], tail)
    tail *= 10 ** (wet_db / 20) / np.sqrt(np.sum(tail**2))
    return x + signal.fftconvolve(x, tail)[: len(x)]


def add_second_reed(rng, notes, seconds, down_db):
    """The neighbouring reed sounding along, 3 or 4 semitones away, so many dB below; returns the whole take."""
    leaks = []
    for note in notes:
        steps = rng.choice([-4, -3, 3, 4])
        hz = note.hz * 2 ** ((steps * 100 + rng.uniform(-10, 10)) / 1200)
        leak = Note(note.start, note.end, hz, note.level_db - down_db, note.attack, note.release)
        leaks.append(dress(rng, leak))
    return mix(list(notes) + leaks, seconds)


def band(x, low=200.0, high=6000.0):
    """A small microphone or a telephone codec: a fourth-order band-pass."""
    return signal.sosfilt(signal.butter(4, [low, high], "bandpass", fs=RATE, output="sos"), x)


def clip(x, notes, over_db=6.0):
    """An input driven `over_db` past full scale: the tops of the waves are cut at the peak less so many dB."""
    peak = np.max(np.abs(x))
    limit = peak * 10 ** (-over_db / 20)
    return np.clip(x, -limit, limit)


def weak_fundamental(notes, down_db=20.0):
    """Take the first partial of every note down, in place."""
    for note in notes:
        if len(note.partials) > 1:
            note.partials[0] *= 10 ** (-down_db / 20)

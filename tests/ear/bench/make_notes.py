"""The parts of the corpus made of single notes: steady, degraded, latency, unvoiced."""

import numpy as np
from scipy import signal

from . import spoil
from .corpus import Take, truth_of, write_take
from .tones import RATE, Note, dress, mix, spread_hz

REGISTERS = {"below 200 Hz": (87, 200), "200-500 Hz": (200, 500), "500-1500 Hz": (500, 1500), "above 1500 Hz": (1500, 3136)}
SETTLING = 0.100  # the beginning of a note, judged by its latency and not by its steadiness
TAIL = 0.020
QUIET_ROOM_DB = -72.0


def row_of_notes(rng, pitches, length, gap):
    """Notes one after the other with silence between them; level, attack, release and colour vary."""
    notes, at = [], 0.15
    for hz in pitches:
        note = Note(at, at + length, float(hz), rng.uniform(-26, -18), rng.uniform(0.005, 0.020), rng.uniform(0.015, 0.035))
        note.steady = (note.start + SETTLING, note.end - TAIL)
        notes.append(dress(rng, note))
        at = note.end + gap * rng.uniform(0.8, 1.2)
    return notes, at + 0.15


def make_steady(root, rng, quick):
    """Clean steady notes over the whole range."""
    for part in range(1 if quick else 3):
        notes, seconds = row_of_notes(rng, spread_hz(rng, 24), 0.6, 0.2)
        sound = mix(notes, seconds)
        write_take(root, Take("steady", f"clean{part}", "clean", seconds, [truth_of(n) for n in notes]), sound, rng)


def make_latency(root, rng, quick):
    """Onsets out of silence, by register: half of them clean, half over the floor of a quiet room."""
    for index, (register, (low, high)) in enumerate(REGISTERS.items()):
        notes, seconds = row_of_notes(rng, spread_hz(rng, 10 if quick else 30, low, high), 0.25, 0.2)
        take = Take("latency", f"onsets{index}", register, seconds, [truth_of(n) for n in notes])
        sound = mix(notes, seconds)
        half = len(sound) // 2
        sound[half:] += spoil.pink(rng, len(sound) - half) * 10 ** (QUIET_ROOM_DB / 20)
        write_take(root, take, sound, rng)


def all_together(rng, notes, seconds):
    """Bleed, room, noise and clicks at once."""
    x = spoil.add_second_reed(rng, notes, seconds, 20)
    x = spoil.add_reverb(rng, x)
    return spoil.add_clicks(rng, spoil.add_pink(rng, x, notes, 20), notes)


def conditions(backing):
    """Name → how a row of notes becomes a degraded take. `backing` gives an accompaniment of unit RMS."""
    def weak(rng, notes, seconds):
        spoil.weak_fundamental(notes)
        return mix(notes, seconds)

    def accompanied(rng, notes, seconds):
        return mix(notes, seconds) + backing(rng, seconds) * 10 ** ((spoil.level_of(notes) - 20) / 20)

    def noisy(snr):
        return lambda rng, notes, seconds: spoil.add_pink(rng, mix(notes, seconds), notes, snr)

    def leaking(down):
        return lambda rng, notes, seconds: spoil.add_second_reed(rng, notes, seconds, down)

    return {
        "pink noise 30 dB": noisy(30),
        "pink noise 20 dB": noisy(20),
        "pink noise 10 dB": noisy(10),
        "metronome clicks": lambda rng, n, s: spoil.add_clicks(rng, mix(n, s), n),
        "mains hum": lambda rng, n, s: spoil.add_hum(rng, mix(n, s), n),
        "backing track -20 dB": accompanied,
        "reverb": lambda rng, n, s: spoil.add_reverb(rng, mix(n, s)),
        "second reed -12 dB": leaking(12),
        "second reed -20 dB": leaking(20),
        "200-6000 Hz band": lambda rng, n, s: spoil.band(mix(n, s)),
        "fundamental -20 dB": weak,
        "clipping 6 dB": lambda rng, n, s: spoil.clip(mix(n, s), n),
        "bleed, reverb, noise, clicks": all_together,
    }


def make_degraded(root, rng, quick, backing):
    """Every condition of the goal table, each over the whole range."""
    for index, (condition, spoiled) in enumerate(conditions(backing).items()):
        notes, seconds = row_of_notes(rng, spread_hz(rng, 10 if quick else 24), 0.5, 0.2)
        sound = spoiled(rng, notes, seconds)
        sound *= min(1.0, 0.9 / np.max(np.abs(sound)))
        take = Take("degraded", f"cond{index:02}", condition, seconds, [truth_of(n) for n in notes])
        write_take(root, take, sound, rng)


def breath(rng, samples):
    """Air through the harp with no reed answering: band noise swelling and dying, unit RMS."""
    sos = signal.butter(2, [250, 3500], "bandpass", fs=RATE, output="sos")
    swell = 0.35 + 0.65 * np.abs(np.sin(np.pi * np.arange(samples) / RATE / rng.uniform(0.8, 1.4)))
    x = signal.sosfilt(sos, rng.standard_normal(samples)) * swell
    return x / spoil.rms(x)


def whisper(rng, samples):
    """Whispered syllables: noise through moving vowel resonances, unit RMS."""
    out, at = np.zeros(samples), 0
    while at < samples:
        n = min(int(rng.uniform(0.12, 0.3) * RATE), samples - at)
        x = rng.standard_normal(n)
        for centre in (rng.uniform(300, 800), rng.uniform(900, 2200), rng.uniform(2400, 3200)):
            b, a = signal.iirpeak(centre, 5.0, fs=RATE)
            x = x * 0.3 + signal.lfilter(b, a, x)
        out[at : at + n] = x * np.hanning(n) / (spoil.rms(x) + 1e-9)
        at += n + int(rng.uniform(0.02, 0.1) * RATE)
    return out / spoil.rms(out)


def unvoiced(rng, n):
    """Condition → sound in which nothing is played."""
    db = lambda level: 10 ** (level / 20)
    return {
        "digital zero": np.zeros(n),
        "quiet room": spoil.pink(rng, n) * db(QUIET_ROOM_DB),
        "pink noise": spoil.pink(rng, n) * db(-30),
        "white noise": rng.standard_normal(n) * db(-35),
        "breath": breath(rng, n) * db(-32),
        "block clicks": spoil.click_train(rng, n) * db(-14) + spoil.pink(rng, n) * db(-70),
        "tick clicks": spoil.click_train(rng, n, 100, "tick") * db(-14) + spoil.pink(rng, n) * db(-70),
        "hum 50 Hz": spoil.hum(rng, n, 50.0) * db(-44) + spoil.pink(rng, n) * db(-70),
        "hum 60 Hz": spoil.hum(rng, n, 60.0) * db(-44) + spoil.pink(rng, n) * db(-70),
        "whisper": whisper(rng, n) * db(-30),
    }


def make_unvoiced(root, rng, quick):
    """Sounds that are no note."""
    seconds = 3.0 if quick else 6.0
    for index, (condition, sound) in enumerate(unvoiced(rng, int(seconds * RATE)).items()):
        write_take(root, Take("unvoiced", f"none{index}", condition, seconds), sound, rng)

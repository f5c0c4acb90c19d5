"""Sampled instruments through `fluidsynth` and the sound fonts that Debian ships."""

import subprocess
import tempfile
from pathlib import Path

import mido
import numpy as np
import soundfile

from .tones import RATE

FOLDER = Path("/usr/share/sounds/sf2")
FONTS = {"fluid": FOLDER / "FluidR3_GM.sf2", "timgm": FOLDER / "TimGM6mb.sf2"}
TICKS = 960  # a second, at the tempo below


def midi_file(path, events, programs):
    """A one-track file: `events` are (seconds, channel, note, velocity), velocity 0 ending a note."""
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
    for channel, program in programs.items():
        track.append(mido.Message("program_change", channel=channel, program=program))
    now = 0
    for at, channel, note, velocity in sorted(events, key=lambda e: (e[0], e[3])):
        tick = int(round(at * TICKS))
        track.append(mido.Message("note_on", channel=channel, note=note, velocity=velocity, time=tick - now))
        now = tick
    midi = mido.MidiFile(ticks_per_beat=TICKS)
    midi.tracks.append(track)
    midi.save(path)


def play(font, events, programs, gain=0.5):
    """The sound of these events, mono, dry (no reverb, no chorus)."""
    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder) / "x.mid", Path(folder) / "x.wav"
        midi_file(midi, events, programs)
        command = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", str(gain), "-r", str(RATE), "-O", "float"]
        subprocess.run([*command, "-F", wav, FONTS[font], midi], check=True, capture_output=True)
        sound, _ = soundfile.read(wav)
    return sound.mean(axis=1)


def fitted(sound, seconds):
    """The sound cut or filled with silence to this length."""
    n = int(round(seconds * RATE))
    return np.concatenate([sound, np.zeros(max(0, n - len(sound)))])[:n]


def accompaniment(rng, seconds):
    """Piano chords, bass and drums of a twelve-bar blues in a random key, unit RMS."""
    key, beat, events, bar, at = int(rng.integers(36, 48)), 0.5, [], 0, 0.0
    roots = [0, 0, 0, 0, 5, 5, 0, 0, 7, 5, 0, 7]
    while at < seconds:
        root = key + roots[bar % 12]
        for quarter in range(4):
            t = at + quarter * beat
            events += [(t, 1, root - 12 + (7 if quarter % 2 else 0), 90), (t + 0.4, 1, root - 12 + (7 if quarter % 2 else 0), 0)]
            events += [(t, 9, 36 if quarter % 2 == 0 else 38, 80), (t, 9, 42, 60), (t + beat / 2, 9, 42, 50)]
            for tone in (12, 16, 19, 22):
                events += [(t, 0, root + tone, 70), (t + 0.3, 0, root + tone, 0)]
        at, bar = at + 4 * beat, bar + 1
    sound = fitted(play("fluid", events, {0: 0, 1: 33}), seconds)
    return sound / np.sqrt(np.mean(sound**2))

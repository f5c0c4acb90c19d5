"""Makes the whole corpus, part by part, each from its own seed."""

import shutil
from pathlib import Path

import numpy as np

from . import corpus, fonts, make_chords, make_moving, make_notes, make_player, make_reeds, make_sampled

def make_degraded(root, rng, quick):
    """The degraded part with its accompaniment."""
    make_notes.make_degraded(root, rng, quick, fonts.accompaniment)


PARTS = {
    "steady": (make_notes.make_steady, "make_notes.py"),
    "degraded": (make_degraded, "make_notes.py"),
    "sampled": (make_sampled.make_sampled, "make_sampled.py"),
    "reeds": (make_reeds.make_reeds, "make_reeds.py"),
    "chords": (make_chords.make_chords, "make_chords.py"),
    "player": (make_player.make_player, "make_player.py"),
    "unvoiced": (make_notes.make_unvoiced, "make_notes.py"),
    "latency": (make_notes.make_latency, "make_notes.py"),
    "bends": (make_moving.make_bends, "make_moving.py"),
    "vibrato": (make_moving.make_vibrato, "make_moving.py"),
    "glides": (make_moving.make_glides, "make_moving.py"),
    "sixteenths": (make_moving.make_sixteenths, "make_moving.py"),
}


def make_part(root, name, seed, quick):
    """Make one part unless it lies there already, made by the same code from the same seed.

    What trackers said about an older corpus (`rows`, see `runs`) lies in the part's folder and goes with it.
    """
    make, module = PARTS[name]
    folder, stamp = Path(root) / name, corpus.fingerprint(module, seed, quick)
    mark = folder / "made"
    if mark.exists() and mark.read_text() == stamp:
        return
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    make(root, np.random.default_rng([seed, *name.encode()]), quick)
    mark.write_text(stamp)

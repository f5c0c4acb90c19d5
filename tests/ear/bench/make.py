"""Makes the whole corpus, part by part, each from its own seed."""

import shutil
from pathlib import Path

import numpy as np

from . import corpus, fonts, make_moving, make_notes

PARTS = {
    "steady": make_notes.make_steady,
    "degraded": lambda root, rng, quick: make_notes.make_degraded(root, rng, quick, fonts.accompaniment),
    "unvoiced": make_notes.make_unvoiced,
    "latency": make_notes.make_latency,
    "bends": make_moving.make_bends,
    "vibrato": make_moving.make_vibrato,
    "glides": make_moving.make_glides,
    "sixteenths": make_moving.make_sixteenths,
}


def make_part(root, name, seed, quick):
    """Make one part unless it lies there already, made by the same code from the same seed."""
    folder, stamp = Path(root) / name, corpus.fingerprint(seed, quick)
    mark = folder / "made"
    if mark.exists() and mark.read_text() == stamp:
        return
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    PARTS[name](root, np.random.default_rng([seed, *name.encode()]), quick)
    mark.write_text(stamp)

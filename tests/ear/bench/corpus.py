"""How a corpus lies on disk: `SET/NAME.wav` and, beside it, `SET/NAME.json` with the truth."""

import hashlib
import json
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np
import soundfile

from .tones import RATE, frequency

CURVE_STEP = 48  # samples between two points of a stored pitch curve: 1 ms


@dataclass
class Take:
    """One sound file with the truth about it."""

    set: str
    name: str
    condition: str
    seconds: float
    notes: list[dict] = field(default_factory=list)

    def wav(self, root):
        """Where its sound lies."""
        return Path(root) / self.set / f"{self.name}.wav"


def truth_of(note):
    """The truth about one rendered note as plain data."""
    row = {"start": note.start, "end": note.end, "hz": note.hz, "steady": note.steady, **note.marks}
    if note.cents is not None:
        samples = int(round((note.end + note.release - note.start) * RATE))
        row["curve_step"] = CURVE_STEP / RATE
        row["curve"] = [round(float(f), 6) for f in frequency(note, samples)[::CURVE_STEP]]
    return row


def write_take(root, take, sound, rng):
    """Write sound as 16-bit PCM (triangular dither) and its truth; nothing is ever clipped here by accident."""
    peak = np.max(np.abs(sound), initial=0.0)
    if peak >= 0.99:
        raise ValueError(f"{take.set}/{take.name}: peak {peak:.2f} would clip; lower the level of its notes")
    path = take.wav(root)
    path.parent.mkdir(parents=True, exist_ok=True)
    dither = (rng.random(len(sound)) - rng.random(len(sound))) if take.condition != "digital zero" else 0.0
    soundfile.write(path, np.round(sound * 32767 + dither).astype(np.int16), RATE, subtype="PCM_16")
    path.with_suffix(".json").write_text(json.dumps(asdict(take)))


def read_takes(root, sets=None):
    """Every take of a corpus, in a fixed order."""
    takes = []
    for path in sorted(Path(root).glob("*/*.json")):
        if sets is None or path.parent.name in sets:
            takes.append(Take(**json.loads(path.read_text())))
    return takes


COMMON = ("tones.py", "spoil.py", "corpus.py", "fonts.py", "fit.py")


def fingerprint(module, seed, quick):
    """What a part of the corpus depends on: seed, size, the code that makes it and the code shared by all."""
    digest = hashlib.sha256(f"{seed} {quick}".encode())
    for name in (*COMMON, module):
        digest.update(Path(__file__).with_name(name).read_bytes())
    return digest.hexdigest()[:16]

"""The general-purpose peers that PyPI has. Each says its settings; one setting each for all takes.

`known` is the last sample a row depends on: the end of the analysis window for frame-by-frame trackers;
for trackers that decide over the whole file (path finding) it is set as if the window alone counted, and
the tracker is marked offline, so its latencies are not comparable.
"""

import resource
from importlib.metadata import version

import numpy as np
import soundfile

from ..rows import rows

LOW, HIGH = 80.0, 3800.0


class InProcess:
    """A tracker called in this process; times itself by user CPU."""

    offline = False
    package = ""
    warm = False

    @property
    def about(self):
        """What it is and how it is set, in one line."""
        return f"PyPI {self.package} {version(self.package)}. {' '.join(self.__doc__.split())}"

    def track(self, wav):
        """Rows and CPU seconds, without what importing and compiling costs once."""
        sound, rate = soundfile.read(wav)
        if not self.warm:
            self.rows(sound[: rate // 2], rate)
            self.warm = True
        before = resource.getrusage(resource.RUSAGE_SELF).ru_utime
        table = self.rows(sound, rate)
        return table, resource.getrusage(resource.RUSAGE_SELF).ru_utime - before


class Praat(InProcess):
    """Autocorrelation (Boersma 1993), floor 75 Hz, with path finding over the file."""

    name, package, offline = "parselmouth ac", "praat-parselmouth", True
    floor, options = 75.0, {}

    def rows(self, sound, rate):
        """A row every 5 ms; the window is three periods of the floor."""
        import parselmouth

        pitch = parselmouth.Sound(sound, rate).to_pitch_ac(
            time_step=0.005, pitch_floor=self.floor, pitch_ceiling=HIGH, very_accurate=False, **self.options
        )
        at = pitch.xs()
        return rows(at + 1.5 / self.floor, at, pitch.selected_array["frequency"])


class PraatFrames(Praat):
    """Autocorrelation, floor 75 Hz, without costs between frames and without the file's own peak, so that each row
    stands alone."""

    name, offline = "parselmouth ac, frame by frame", False
    options = {"octave_jump_cost": 0.0, "voiced_unvoiced_cost": 0.0, "silence_threshold": 0.0}


class Aubio(InProcess):
    """YIN in the frequency domain (`yinfft`), 2048 samples, hop 256."""

    name, package = "aubio yinfft", "aubio"
    window, hop = 2048, 256

    def rows(self, sound, rate):
        """Fed block by block, as live."""
        import aubio

        tracker = aubio.pitch("yinfft", self.window, self.hop, rate)
        tracker.set_unit("Hz")
        tracker.set_silence(-60)
        blocks = np.ascontiguousarray(sound[: len(sound) // self.hop * self.hop], dtype=np.float32).reshape(-1, self.hop)
        hz = np.array([tracker(block)[0] for block in blocks])
        known = (np.arange(len(hz)) + 1) * self.hop / rate
        hz[(hz < LOW) | (hz > HIGH)] = 0
        return rows(known, known - self.window / 2 / rate, hz)


class LibrosaPyin(InProcess):
    """Probabilistic YIN with Viterbi over the file, 2048 samples, hop 512 (its default)."""

    name, package, offline = "librosa pyin", "librosa", True

    def rows(self, sound, rate):
        """Centred frames."""
        import librosa

        hz, voiced, _ = librosa.pyin(sound, fmin=LOW, fmax=HIGH, sr=rate, frame_length=2048, hop_length=512)
        at = np.arange(len(hz)) * 512 / rate
        return rows(at + 1024 / rate, at, np.where(voiced, hz, 0))


class LibrosaYin(InProcess):
    """Plain YIN, 2048 samples, hop 256; it has no voicing of its own."""

    name, package = "librosa yin", "librosa"

    def rows(self, sound, rate):
        """Centred frames."""
        import librosa

        hz = librosa.yin(sound, fmin=LOW, fmax=HIGH, sr=rate, frame_length=2048, hop_length=256)
        at = np.arange(len(hz)) * 256 / rate
        return rows(at + 1024 / rate, at, hz)


class SwiftF0(InProcess):
    """A small convolutional network on 16 kHz sound, hop 16 ms; it ends at 2094 Hz. Its receptive field reaches
    2815 samples past the frame (said in its source), so a row is known 176 ms after the time it describes."""

    name, package = "swift-f0", "swift-f0"
    ahead = 2815 / 16000

    def __init__(self):
        self.net = None

    def rows(self, sound, rate):
        """Its own range and its own threshold: voiced from a confidence of 0.5."""
        from swift_f0 import SwiftF0 as Net

        self.net = self.net or Net(threads=1)
        found = self.net.detect(sound.astype(np.float32), rate)
        hz = np.where(found.confidence >= 0.5, found.pitch_hz, 0)
        return rows(found.timestamps + self.ahead, found.timestamps, hz)


ALL = (Praat, PraatFrames, Aubio, LibrosaPyin, LibrosaYin, SwiftF0)

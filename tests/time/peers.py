"""Other programs on the very takes of the bench, counted by mir_eval: a table as in RESULTS.md.

    python -m venv /tmp/peers
    /tmp/peers/bin/pip install -r tests/time/peers-requirements.txt
    /tmp/peers/bin/pip install --no-deps basic-pitch==0.4.0
    BENDWRIGHT_TIME_DIR=/tmp/takes BENDWRIGHT_TIME_TAKES=2 cargo test -p practice --test time
    /tmp/peers/bin/python tests/time/peers.py /tmp/takes

Each program is used as its documentation begins, with its defaults. What it needs in time or memory is not measured.
"""

import importlib.metadata
import pathlib
import sys

import aubio
import basic_pitch
import librosa
import mir_eval
import numpy
import soundfile
from basic_pitch.inference import Model, predict

# Notes that begin within this of one another begin together, seconds; takes are put so far apart.
TOGETHER_S = 0.03
APART_S = 100.0
AUBIO_HOP = 256
AUBIO_WINDOW = 1024


def read(path):
    rows = [[float(word) for word in line.split()] for line in path.read_text().splitlines()]
    return [(onset, hz) for onset, _, hz in rows]


def hop_by_hop(samples):
    for at in range(0, len(samples) - AUBIO_HOP + 1, AUBIO_HOP):
        yield samples[at : at + AUBIO_HOP]


def aubio_notes(_, samples, rate):
    """A note is told once it is sure; it has no onset of its own."""
    tracker = aubio.notes("default", AUBIO_WINDOW, AUBIO_HOP, rate)
    found = []
    for number, part in enumerate(hop_by_hop(samples)):
        note = tracker(part)
        if note[0] > 0:
            found.append((number * AUBIO_HOP / rate, 440.0 * 2.0 ** ((note[0] - 69.0) / 12.0)))
    return found


def aubio_onset(_, samples, rate):
    tracker = aubio.onset("default", AUBIO_WINDOW, AUBIO_HOP, rate)
    return [(tracker.get_last_s(), None) for part in hop_by_hop(samples) if tracker(part)]


def librosa_onset(_, samples, rate):
    onsets = librosa.onset.onset_detect(y=samples, sr=rate, units="time")
    return [(onset, None) for onset in onsets]


MODEL = Model(
    pathlib.Path(basic_pitch.__file__).parent / "saved_models/icassp_2022/nmp.onnx"
)


def basic_pitch_notes(path, _samples, _rate):
    _, _, events = predict(path, MODEL)
    return sorted((event[0], 440.0 * 2.0 ** ((event[2] - 69.0) / 12.0)) for event in events)


def basic_pitch_cut(path, samples, rate):
    """Without what begins within 30 ms of a note an octave, a twelfth or two octaves below."""
    notes = basic_pitch_notes(path, samples, rate)

    def is_overtone(onset, hz):
        below = [other for at, other in notes if abs(at - onset) <= TOGETHER_S and other < hz]
        return any(abs(1200 * numpy.log2(hz / other / times)) < 60 for other in below for times in (2, 3, 4))

    return [(onset, hz) for onset, hz in notes if not is_overtone(onset, hz)]


def ours(path, _samples, _rate):
    return read(path.with_suffix(".est"))


PEERS = {
    "Bendwright": ours,
    "aubio notes": aubio_notes,
    "aubio onset": aubio_onset,
    "librosa onset_detect": librosa_onset,
    "basic-pitch as it is": basic_pitch_notes,
    "basic-pitch, overtones cut": basic_pitch_cut,
}


def joined(takes):
    """All takes one after another, far apart, so that the counts of all are one count."""
    rows = [(onset + APART_S * number, hz) for number, take in enumerate(takes) for onset, hz in take]
    rows.sort()
    onsets = numpy.array([max(onset, 0.0) for onset, _ in rows])
    return onsets, [hz for _, hz in rows]


def intervals(onsets):
    return numpy.stack([onsets, onsets + 0.05], axis=1) if len(onsets) else numpy.zeros((0, 2))


def row(played, heard):
    (onsets, hz), (own, own_hz) = joined(played), joined(heard)
    own = numpy.unique(own) if None in own_hz else own
    cells = [f"{mir_eval.onset.f_measure(onsets, own, window=window)[0]:.4f}" for window in (0.025, 0.05)]
    pairs = mir_eval.util.match_events(onsets, own, 0.05)
    late = [1e3 * (own[there] - onsets[here]) for here, there in pairs]
    for seconds, cents in [(0.05, 50.0), (0.01, 10.0)]:
        if None in own_hz:
            cells.append("")
            continue
        f1 = mir_eval.transcription.precision_recall_f1_overlap(
            intervals(onsets), numpy.array(hz), intervals(own), numpy.array(own_hz),
            onset_tolerance=seconds, pitch_tolerance=cents, offset_ratio=None,
        )[2]
        cells.append(f"{f1:.4f}")
    bias, p95 = numpy.mean(late), numpy.percentile(numpy.abs(late), 95)
    return cells + [str(len(own)), f"{bias:+.1f}", f"{p95:.1f}"]


def main():
    paths = sorted(pathlib.Path(sys.argv[1]).glob("*.wav"))
    names = ["aubio", "librosa", "basic-pitch", "mir_eval", "onnxruntime", "numpy"]
    print(", ".join(f"{name} {importlib.metadata.version(name)}" for name in names))
    played = [read(path.with_suffix(".ref")) for path in paths]
    print(f"{len(paths)} takes, {sum(map(len, played))} notes played")
    print("| program | F 25 ms | F 50 ms | F1 50 ms 50 c | F1 10 ms 10 c | heard | bias ms | p95 ms |")
    print("|---|---|---|---|---|---|---|---|")
    for name, peer in PEERS.items():
        heard = []
        for path in paths:
            samples, rate = soundfile.read(path, dtype="float32")
            heard.append(peer(path, samples, rate))
        print(f"| {name} | {' | '.join(row(played, heard))} |", flush=True)


if __name__ == "__main__":
    main()

"""The figures of the bench once more, by mir_eval 0.8.2, from the files that BENDWRIGHT_TIME_DIR asked for.

    python peer.py FOLDER

Takes are put one after another, 100 seconds apart, so that the counts of all takes are one count.
"""

import pathlib
import sys

import mir_eval
import numpy


def notes(paths):
    rows = []
    for shift, path in enumerate(paths):
        for line in path.read_text().splitlines():
            onset, end, hz = (float(word) for word in line.split())
            rows.append((onset + 100.0 * shift, max(end, onset + 0.001) + 100.0 * shift, hz))
    table = numpy.array(sorted(rows))
    return table[:, :2], table[:, 2]


def main():
    refs = sorted(pathlib.Path(sys.argv[1]).glob("*.ref"))
    played, played_hz = notes(refs)
    heard, heard_hz = notes([path.with_suffix(".est") for path in refs])
    onset = mir_eval.onset.f_measure(played[:, 0], heard[:, 0], window=0.025)[0]
    f1 = [
        mir_eval.transcription.precision_recall_f1_overlap(
            played, played_hz, heard, heard_hz,
            onset_tolerance=seconds, pitch_tolerance=cents, offset_ratio=None,
        )[2]
        for seconds, cents in [(0.05, 50.0), (0.01, 10.0)]
    ]
    print(f"{len(played)} notes: F {onset:.4f}, F1 {f1[0]:.4f}, tight {f1[1]:.4f}")


if __name__ == "__main__":
    main()

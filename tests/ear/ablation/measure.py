"""Runs a built probe over a corpus and gives the figures that the product shows."""

import os
import subprocess
import tempfile
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from bench import corpus, make, rows, summary
from bench.runs import Run

SETS = [name for name in make.PARTS if name not in {"reeds", "chords"}]  # they have an ear of their own
LATE_ONSET = 0.060  # an onset this long after the attack is missed
OF_A_NOTE = 0.100  # onsets up to here belong to the attack
DIFFERENT = 0.05  # cents between two readings that differ

# key: (what it is, unit, larger is better, the least difference that counts)
FIGURES = {
    "steady_p95": ("clean steady, p95", "c", False, 0.005),
    "degraded_within": ("degraded, within 5 c", "%", True, 0.05),
    "degraded_gross": ("degraded, gross", "%", False, 0.05),
    "degraded_p95": ("degraded, p95", "c", False, 0.02),
    "reed12_p95": ("second reed −12 dB, p95", "c", False, 0.05),
    "sampled_within": ("sampled, within 5 c", "%", True, 0.05),
    "sampled_octave": ("sampled, octave errors", "%", False, 0.05),
    "player_within": ("player, within 5 c", "%", True, 0.05),
    "player_p95": ("player, p95", "c", False, 0.02),
    "unvoiced": ("false notes", "%", False, 0.05),
    "low": ("latency below 200 Hz, p95", "ms", False, 0.5),
    "middle": ("latency 200–500 Hz, p95", "ms", False, 0.5),
    "high": ("latency 500–1500 Hz, p95", "ms", False, 0.5),
    "highest": ("latency above 1500 Hz, p95", "ms", False, 0.5),
    "degraded_wait": ("latency degraded, p95", "ms", False, 1.0),
    "degraded_never": ("degraded, never known", "%", False, 0.5),
    "bends": ("bends' arrival, p95", "ms", False, 0.5),
    "vibrato_error": ("vibrato, error", "c", False, 0.02),
    "vibrato_lag": ("vibrato, lag", "ms", False, 0.5),
    "glides_error": ("glides, error", "c", False, 0.01),
    "glides_lag": ("glides, lag", "ms", False, 0.5),
    "sixteenths": ("sixteenths in time", "%", True, 0.5),
    "onset_missed": ("onsets missed", "%", False, 0.5),
    "onset_false": ("onsets too many", "%", False, 0.5),
    "onset_delay": ("onset, median", "ms", False, 0.3),
    "sigma": ("degraded errors inside one sigma", "%", None, 2.0),
    "cost": ("CPU per s of sound", "ms", False, 1.0),
}
REGISTERS = {"low": "below 200 Hz", "middle": "200-500 Hz", "high": "500-1500 Hz", "highest": "above 1500 Hz"}


def prepare(work, seed, quick):
    """The takes of a corpus, made if it is not there."""
    root = work / f"corpus-{seed}{'-quick' if quick else ''}"
    for name in SETS:
        make.make_part(root, name, seed, quick)
    return root, corpus.read_takes(root, set(SETS))


def listen(probe, wav):
    """What the probe says: rows as the bench has them, whether a row is an onset, and user CPU."""
    with tempfile.TemporaryFile("w+") as errors:
        process = subprocess.Popen([probe, wav], stdout=subprocess.PIPE, stderr=errors, text=True)
        said = process.stdout.read()
        # Not `wait`, which would not tell this child's time from another's.
        _, status, used = os.wait4(process.pid, 0)
        process.stdout.close()
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode:
            errors.seek(0)
            raise RuntimeError(f"the probe fails on {wav.parent.name}/{wav.name}: {' '.join(errors.read().split())[:200]}")
    said = [line.split(",") for line in said.splitlines()[1:]]
    known, time, hz, _, _, onset, sigma = (np.array([float(x) if x else np.nan for x in column]) for column in zip(*said))
    return rows.rows(known, time, np.nan_to_num(hz), sigma), onset > 0, used.ru_utime


def listen_all(probe, root, takes):
    """The same for every take, two at a time."""
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(lambda take: listen(probe, take.wav(root)), takes))


def measure(probe, root, takes, reference=None):
    """Figures of a probe on a corpus, and its readings; `reference` are the readings of the ear as it is."""
    runs, readings = [], {}
    for take, (table, onsets, spent) in zip(takes, listen_all(probe, root, takes)):
        runs.append(Run("ours", take, table, spent))
        readings[f"{take.set}/{take.name}"] = (table, onsets)
    figures = flat(*summary.summarise(runs)) | onset_figures(takes, readings)
    if reference is not None:
        figures["differ"] = differing(readings, reference)
    return figures, readings


def flat(whole, parts):
    """The bench's summary as one row, shares in per cent."""
    return {
        "steady_p95": whole["steady"]["p95"],
        "degraded_within": 100 * whole["degraded"]["within"],
        "degraded_gross": 100 * whole["degraded"]["gross"],
        "degraded_p95": whole["degraded"]["p95"],
        "reed12_p95": parts["degraded", "second reed -12 dB"]["p95"],
        "sampled_within": 100 * whole["sampled"]["within"],
        "sampled_octave": 100 * whole["sampled"]["octave"],
        "player_within": 100 * whole["player"]["within"],
        "player_p95": whole["player"]["p95"],
        "unvoiced": 100 * whole["unvoiced"]["called"],
        **{key: parts["latency", register]["p95"] for key, register in REGISTERS.items()},
        "degraded_wait": whole["degraded"]["wait_p95"],
        "degraded_never": 100 * whole["degraded"]["wait_never"],
        "bends": whole["bends"]["p95"],
        "vibrato_error": whole["vibrato"]["error"],
        "vibrato_lag": whole["vibrato"]["lag"],
        "glides_error": whole["glides"]["error"],
        "glides_lag": whole["glides"]["lag"],
        "sixteenths": 100 * whole["sixteenths"]["in_time"],
        "sigma": 100 * whole["degraded"]["sigma"],
        "cost": whole["cost"]["ms"],
    }


def onset_figures(takes, readings):
    """Of the notes in silence, in runs and in the degraded set: attacks that no onset is told of, onsets beyond the first
    of an attack or without one (both against the number of notes), and the delay of the first."""
    delays, notes, told = [], 0, 0
    for take in (t for t in takes if t.set in {"latency", "sixteenths", "degraded"}):
        table, onsets = readings[f"{take.set}/{take.name}"]
        known = table["known"][onsets]
        notes, told = notes + len(take.notes), told + len(known)
        for note in take.notes:
            after = known[(known > note["start"]) & (known <= note["start"] + OF_A_NOTE)]
            delays.append(after[0] - note["start"] if len(after) else np.nan)
    delays = np.array(delays)
    missed = np.isnan(delays) | (delays > LATE_ONSET)
    extra = told - int(np.sum(~np.isnan(delays)))
    return {"onset_missed": 100 * float(np.mean(missed)), "onset_false": 100 * extra / notes,
            "onset_delay": 1000 * float(np.nanmedian(delays))}


def differing(readings, reference, least=DIFFERENT):
    """Per cent of readings that call another pitch (or none, or one where there was none) than the ear as it is."""
    differ, count = 0, 0
    for key, (table, _) in readings.items():
        length = min(len(table), len(reference[key][0]))
        one, two = table["hz"][:length], reference[key][0]["hz"][:length]
        silent = np.isnan(one) & np.isnan(two)
        same = np.abs(rows.cents(one, two)) < least
        differ, count = differ + int(np.sum(~(silent | same))), count + len(one)
    return 100 * differ / count

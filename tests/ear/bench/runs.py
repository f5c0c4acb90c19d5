"""Runs trackers over takes, on several cores, and keeps what they said."""

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from . import registry


@dataclass
class Job:
    """One tracker on one take."""

    tracker: str
    take: object
    wav: str
    keep: str
    ours: tuple
    rust_peers: tuple


@dataclass
class Run:
    """What came of it."""

    tracker: str
    take: object
    rows: np.ndarray
    cpu: float


def carry_out(job):
    """Run one job in a worker process and keep its rows beside the corpus."""
    tracker = registry.build(job.tracker, job.ours, job.rust_peers)
    rows, cpu = tracker.track(job.wav)
    path = Path(job.keep)
    path.parent.mkdir(parents=True, exist_ok=True)
    np.save(path, rows)
    return Run(job.tracker, job.take, rows, cpu)


def run_all(trackers, takes, settings):
    """Every tracker on every take. A tracker that fails is dropped with its reason, the others go on."""
    os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MKL_NUM_THREADS="1")
    runs, failed = {name: [] for name in trackers}, {}
    with ProcessPoolExecutor(settings.jobs) as pool:
        for name in trackers:
            folder = settings.work / "rows" / name.replace(" ", "_")
            jobs = [
                Job(name, t, str(t.wav(settings.corpus)), str(folder / f"{t.set}-{t.name}.npy"), settings.ours, settings.rust_peers)
                for t in takes
            ]
            try:
                runs[name] = list(pool.map(carry_out, jobs))
            except Exception as reason:  # whatever a foreign library throws is a result to report
                failed[name] = f"{type(reason).__name__}: {reason}"
                print(f"{name}: failed: {failed[name]}", file=sys.stderr)
                del runs[name]
    return runs, failed

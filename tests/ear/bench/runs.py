"""Runs trackers over takes, on several cores, and keeps what they said."""

import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from . import registry


@dataclass
class Job:
    """One tracker on one take; `keep` is where its rows go."""

    tracker: str
    take: object
    wav: Path
    ours: tuple
    reuse: bool

    @property
    def keep(self):
        """Where its rows are kept: beside the sound, so that a new corpus starts anew."""
        return self.wav.parent / "rows" / self.tracker.replace(" ", "_") / f"{self.wav.stem}.npz"


@dataclass
class Run:
    """What came of it: rows, and seconds of user CPU."""

    tracker: str
    take: object
    rows: np.ndarray
    cpu: float


def carry_out(job):
    """Run one job in a worker process and keep its rows; or take the rows that were kept."""
    if job.reuse and job.keep.exists():
        kept = np.load(job.keep)
        return Run(job.tracker, job.take, kept["rows"], float(kept["cpu"]))
    tracker = registry.build(job.tracker, job.ours)
    rows, cpu = tracker.track(job.wav)
    job.keep.parent.mkdir(parents=True, exist_ok=True)
    np.savez(job.keep, rows=rows, cpu=cpu)
    return Run(job.tracker, job.take, rows, cpu)


def jobs_of(name, takes, settings):
    """One job a take. Only peers may be reused: ours is what changes."""
    reuse = settings.keep_peers and name != registry.OURS
    return [Job(name, t, t.wav(settings.corpus), settings.ours, reuse) for t in takes]


def keep_compiled_apart(folder):
    """What numba compiles is kept by each worker for itself: two that wrote one cache at once left it so that the next run crashed."""
    os.environ["NUMBA_CACHE_DIR"] = str(Path(folder) / str(os.getpid()))


def run_all(trackers, takes, settings):
    """Every tracker on every take. A peer that fails is dropped with its reason, the others go on."""
    os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MKL_NUM_THREADS="1")
    runs, failed = {}, {}
    for name in trackers:
        # A peer that crashes takes its pool with it.
        with (
            tempfile.TemporaryDirectory() as folder,
            ProcessPoolExecutor(settings.jobs, initializer=keep_compiled_apart, initargs=(folder,)) as pool,
        ):
            try:
                runs[name] = list(pool.map(carry_out, jobs_of(name, takes, settings)))
            except Exception as reason:  # whatever a foreign library throws is a result to report
                if name == registry.OURS:
                    raise
                failed[name] = f"{type(reason).__name__}: {reason}"
                print(f"{name}: failed: {failed[name]}", file=sys.stderr)
    return runs, failed

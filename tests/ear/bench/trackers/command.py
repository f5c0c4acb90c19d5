"""Trackers that are programs printing CSV: ours, and the peers written in Rust."""

import resource
import subprocess

from ..rows import read_csv


class Command:
    """A program that takes a WAV file as its last argument and prints CSV to stdout."""

    def __init__(self, name, argv, about="", offline=False):
        self.name, self.argv, self.about, self.offline = name, list(argv), about, offline

    def track(self, wav):
        """Rows and the user CPU seconds that the program took."""
        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        done = subprocess.run([*self.argv, str(wav)], capture_output=True, text=True, check=False)
        spent = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
        if done.returncode:
            raise RuntimeError(f"{self.name} on {wav}: exit {done.returncode}: {done.stderr.strip()}")
        return read_csv(done.stdout.splitlines()), spent

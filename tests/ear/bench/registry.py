"""Which trackers there are, by name, and how a worker process builds one."""

from functools import lru_cache

from . import tools
from .trackers import python
from .trackers.command import Command
from .trackers.ours import Ours

OURS = "ours"
PYTHON = {cls.name: cls for cls in python.ALL}
WINDOW = "2048 samples, hop 256"
RUST = {
    "pitch-detection mcleod": ("mcleod", False, f"crates.io pitch-detection. McLeod, {WINDOW}, clarity 0.7."),
    "pitch-detection yin": ("yin", False, f"crates.io pitch-detection. YIN, {WINDOW}, clarity 0.85."),
    "pyin (Rust)": ("pyin", True, "crates.io pyin. Probabilistic YIN, 2048 samples, hop 512 (its default)."),
}


@lru_cache(maxsize=None)
def build(name, ours):
    """The tracker of this name. `ours` is a command line as a tuple; if empty, the library stands for the program."""
    if name == OURS:
        return Ours(ours) if ours else Command(OURS, [tools.path("probe")], "The library, through `probe`.")
    if name in RUST:
        mode, offline, about = RUST[name]
        return Command(name, [tools.path("peers"), mode], about, offline)
    return PYTHON[name]()


def names(wanted):
    """Tracker names for `all`, `none` or a comma-separated list of (parts of) names; ours comes first."""
    peers = [*PYTHON, *RUST]
    if wanted == "none":
        return [OURS]
    if wanted == "all":
        return [OURS, *peers]
    parts = wanted.split(",")
    return [OURS, *[p for p in peers if any(part in p for part in parts)]]

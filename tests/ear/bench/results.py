"""Writes `RESULTS.md`: the table with everything needed to judge and to repeat it."""

import datetime
import platform
import subprocess
from importlib.metadata import version
from pathlib import Path

from . import registry

RUST_PEERS = {"pitch-detection", "pyin"}
BY_HAND = "\n## Chords\n"
KEPT = "; `--keep-peers`: where a peer's rows for the very same take were there from an earlier run, they were used"
HERE = Path(__file__).resolve().parent.parent
NOTES = """`✗` marks a goal not met, `–` a figure that a tracker does not give, `inf` that more than 5 % (or half) of the notes were
never known. Delays run from the start of the attack to the arrival of the last sample used. A tracker marked `(offline)`
decides over the whole file: its delays are those of its window only, so no live program could have them. How each figure
is defined: `bench/figures.py`; what is in the corpus: `bench/make_*.py`, `bench/spoil.py`. One setting for each tracker
over the whole corpus. Errors are in cents, always without sign."""


def output_of(*argv):
    """First line that a program prints, or an empty string."""
    try:
        done = subprocess.run(argv, capture_output=True, text=True, cwd=HERE, check=False)
    except OSError:
        return ""
    return (done.stdout or done.stderr).strip().split("\n")[0]


def processor():
    """Model name of the processor."""
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":")[1].strip()
    return platform.processor()


def locked(block, key):
    """One field of a package in a Cargo.lock."""
    return next(line.split('"')[1] for line in block.splitlines() if line.startswith(key))


def versions():
    """Everything that took part, with its version."""
    packages = ["praat-parselmouth", "aubio", "librosa", "swift-f0", "numpy", "scipy", "onnxruntime"]
    blocks = (HERE / "peers" / "Cargo.lock").read_text().split("[[package]]")[1:]
    rust = [f"{locked(b, 'name')} {locked(b, 'version')}" for b in blocks if locked(b, "name") in RUST_PEERS]
    return ", ".join([*(f"{p} {version(p)}" for p in packages), *rust])


def heading(settings, seconds):
    """Machine, versions, commit, command."""
    size = "quick corpus" if settings.quick else "full corpus"
    options = f"--seed {settings.seed}{' --quick' if settings.quick else ''}{' --keep-peers' if settings.keep_peers else ''}"
    return "\n".join([
        f"* measured {datetime.date.today()}, `crates/pitch` of commit"
        f" {output_of('git', 'log', '-1', '--format=%h', '--', '../../crates/pitch')}, by"
        f" `tests/ear/run --write {options}`: {size}, {seconds:.0f} s of sound at 48 kHz",
        f"* machine: {processor()}, {settings.jobs} cores used, {platform.system()} {platform.release()}, shared with"
        " other work; costs are user CPU time, not wall time",
        f"* {output_of('rustc', '--version')}, Python {platform.python_version()}, {output_of('fluidsynth', '--version')}",
        f"* peers: {versions()}{KEPT if settings.keep_peers else ''}",
    ])


def peer_notes(settings, done, failed):
    """What each peer is and how it was set, or why it did not run."""
    lines = []
    for name in [n for n in done if n != registry.OURS]:
        tracker = registry.build(name, settings.ours)
        lines.append(f"* **{name}**: {tracker.about}{' Offline.' if tracker.offline else ''}")
    lines += [f"* **{name}**: did not run: {reason}" for name, reason in failed.items()]
    return "\n".join(lines)


def write(settings, seconds, done, failed, tables):
    """The page, but for what stands under its last heading. `tables` are the main one and our details."""
    written = HERE / "RESULTS.md"
    by_hand = written.read_text().partition(BY_HAND) if written.exists() else ("", "", "")
    page = "\n\n".join([
        "# The ear, measured",
        "Written by `tests/ear/run --write`; not edited by hand, except for the last section, “Chords”.",
        heading(settings, seconds),
        NOTES, tables[0], "## Peers", peer_notes(settings, done, failed), "## Ours, condition by condition", tables[1],
    ])
    written.write_text(page + "\n" + "".join(by_hand[1:]))

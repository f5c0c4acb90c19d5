"""Writes ABLATION.md from what has been measured."""

import csv
import math
import platform
import subprocess
from datetime import date

from . import source
from .measure import FIGURES

WHOLE = "the ear as it is"
MOST = 10  # no figure counts for more steps than this
SHORT = {
    "steady_p95": "steady p95 c", "degraded_within": "degraded ≤5 c %", "degraded_gross": "degr. gross %", "degraded_p95": "degr. p95 c",
    "reed12_p95": "2nd reed p95 c", "sampled_within": "sampled ≤5 c %", "sampled_octave": "sampled octave %",
    "player_within": "player ≤5 c %", "player_p95": "player p95 c", "unvoiced": "false notes %", "low": "lat. <200 Hz ms",
    "middle": "lat. 200–500", "high": "lat. 500–1500", "highest": "lat. >1500", "degraded_wait": "degr. lat. ms",
    "degraded_never": "never %", "bends": "bends ms", "vibrato_error": "vibrato c", "vibrato_lag": "vibrato lag ms",
    "glides_error": "glides c", "glides_lag": "glides lag ms", "sixteenths": "sixteenths %", "onset_missed": "onset missed %",
    "onset_false": "onset extra %", "onset_delay": "onset ms", "sigma": "inside σ %", "cost": "CPU ms/s",
}


class Measured:
    """The measurements of one corpus and of this very ear: name → seed → record."""

    def __init__(self, records, counted, corpus, mark):
        self.counted = counted
        self.by_name, self.failed, self.old = {}, {}, set()
        for record in records:
            if record["corpus"] != corpus:
                continue
            if not record["of"].startswith(mark):
                self.old.add(record["name"])
            elif "failed" in record:
                self.failed[record["name"]] = record["failed"]
            else:
                self.by_name.setdefault(record["name"], {})[record["seed"]] = record
        self.whole = self.by_name.pop(WHOLE, {})
        self.steps = {key: max(self.spread(key), FIGURES[key][3]) for key in FIGURES} if self.whole else {}

    def spread(self, key):
        """By how much the ear as it is differs from seed to seed."""
        values = [r["figures"][key] for r in self.whole.values() if math.isfinite(r["figures"][key])]
        return max(values) - min(values) if values else 0.0

    def difference(self, name, key):
        """Mean over the seeds of the figure without the ablated part, less the figure of the ear as it is."""
        pairs = [(r["figures"][key], self.whole[seed]["figures"][key]) for seed, r in self.by_name[name].items() if seed in self.whole]
        same = [0.0 if a == b else a - b for a, b in pairs]
        return sum(same) / len(same)

    def steps_lost(self, name, key):
        """The loss in steps; below zero if the figure is better without. Nothing within one step."""
        larger_is_better = FIGURES[key][2]
        if larger_is_better is None or key == "cost":
            return 0.0
        lost = self.difference(name, key) / self.steps[key] * (-1 if larger_is_better else 1)
        return 0.0 if abs(lost) <= 1 else max(-MOST, min(MOST, lost))

    def worth(self, name):
        """All losses together."""
        return sum(self.steps_lost(name, key) for key in FIGURES)

    def lines(self, name):
        """Lines of code saved."""
        found = self.counted.get(name, {})
        return found["patch"] + found["dead"] if "patch" in found else 0

    def differ(self, name):
        """Per cent of readings that are another."""
        found = [r["figures"]["differ"] for r in self.by_name[name].values()]
        return sum(found) / len(found)


def number(value):
    """A difference as short as it can be, with its sign."""
    if not math.isfinite(value):
        return "+inf" if value > 0 else "−inf"
    if abs(value) < 0.0005:
        return ""
    digits = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2 if abs(value) >= 0.05 else 3
    return f"{value:+.{digits}f}".replace("-", "−")


def cell(measured, name, key):
    """One difference: blank if there is none, bold if it is beyond the spread over the seeds."""
    value = measured.difference(name, key)
    text = number(value)
    if not text:
        return ""
    beyond = abs(value) > measured.steps[key]
    return f"**{text}**" if beyond and key != "cost" else text


def markdown(head, rows):
    """A table."""
    return "\n".join("| " + " | ".join(map(str, row)) + " |" for row in [head, ["---"] * len(head), *rows])


def big_table(measured, ablations):
    """All ablations that were measured, those worth most first."""
    names = sorted((a for a in ablations if a.name in measured.by_name), key=lambda a: -measured.worth(a.name))
    head = ["left out", "lines", "worth", "readings that differ %", *(SHORT[key] for key in FIGURES)]
    spread = ["*the ear as it is: mean*", "", "", "", *(f"{sum(r['figures'][k] for r in measured.whole.values()) / len(measured.whole):.4g}" for k in FIGURES)]
    steps = ["*one step*", "", "", "", *(f"{measured.steps[k]:.3g}" for k in FIGURES)]
    rows = [[f"{a.name}{' ⁸' if a.octave else ''}{' †' if a.blind else ''}{fewer(measured, a.name)}", told(measured, a), f"{measured.worth(a.name):.0f}", f"{measured.differ(a.name):.2f}",
             *(cell(measured, a.name, key) for key in FIGURES)] for a in names]
    return markdown(head, [spread, steps, *rows])


def told(measured, ablation):
    """Lines saved, or those of the patch alone where nothing has been compiled."""
    return measured.lines(ablation.name) if "patch" in measured.counted.get(ablation.name, {}) else f"{ablation.lines()} at least"


def fewer(measured, name):
    """Says so if not all seeds of the ear as it is were measured."""
    seeds = sorted(measured.by_name[name])
    return "" if set(seeds) >= set(measured.whole) else f" (seeds {', '.join(map(str, seeds))} only)"


def cheap(measured, ablations, whole):
    """What can be left out: no figure is worse by more than a step, or more are better than worse."""
    found = [a for a in ablations if a.name in measured.by_name and not a.blind and measured.worth(a.name) <= 0]
    lines = []
    for a in sorted(found, key=lambda a: -measured.lines(a.name)):
        losses = [f"{SHORT[k]} {number(measured.difference(a.name, k))}" for k in FIGURES
                  if measured.steps_lost(a.name, k) > 0 or worst_direction(measured, a.name, k)]
        on_whole = ""
        if a.name in whole.by_name:
            lost = [f"{SHORT[k]} {number(whole.difference(a.name, k))}" for k in FIGURES if whole.steps_lost(a.name, k) != 0]
            on_whole = f"whole corpus: {'; '.join(lost) or 'nothing beyond a step'}"
        lines.append([a.name, told(measured, a), f"{measured.differ(a.name):.2f}", "; ".join(losses) or "nothing", on_whole or "not run"])
    return markdown(["left out", "lines saved", "readings that differ %", "worse, by at least a fifth of a step", "on the whole corpus"], lines)


def worst_direction(measured, name, key):
    """Whether a figure is worse by a fifth of a step at least."""
    larger_is_better = FIGURES[key][2]
    if larger_is_better is None or key == "cost":
        return False
    return measured.difference(name, key) * (-1 if larger_is_better else 1) > 0.2 * measured.steps[key]


def constants_part(path):
    """What halving and doubling did, constant by constant."""
    if not path.exists():
        return "Not run."
    rows = list(csv.DictReader(path.open()))
    whole, turned = rows[0], rows[1:]
    inert, lines = [], []
    for key in dict.fromkeys((r["file"], r["constant"]) for r in turned):
        found = {r["factor"]: r for r in turned if (r["file"], r["constant"]) == key}
        said = [losses_of(found.get(factor), whole) for factor in ("0.5", "2")]
        value = next(iter(found.values()))["value"]
        if said == ["–", "–"]:
            inert.append(f"`{key[0]}: {key[1]}` ({value})")
        lines.append([f"`{key[0]}: {key[1]}`", value, *said])
    return (f"{len(lines)} constants, one seed ({whole['seed']}), {whole['corpus']} corpus. A figure is named if it is worse by more than the least difference that counts "
            f"(not the spread: there is one seed). In `ablation/constants.csv` stand all figures.\n\n"
            f"Neither half nor double makes any figure worse ({len(inert)}): {', '.join(inert) or 'none'}.\n\n"
            + markdown(["constant", "value", "worse at half", "worse at double"], lines))


def losses_of(row, whole):
    """The figures that are worse in a row of the CSV."""
    if row is None:
        return "not run"
    if row["failed"]:
        return "fails: " + row["failed"].split(":", 1)[-1].strip()[:60]
    lost = []
    for key, (_, _, larger_is_better, least) in FIGURES.items():
        if larger_is_better is None or key == "cost":
            continue
        worse = (float(row[key]) - float(whole[key])) * (-1 if larger_is_better else 1)
        if worse > least:
            lost.append(f"{SHORT[key]} {number(float(row[key]) - float(whole[key]))}")
    return "; ".join(lost) or "–"


def seeds(quick):
    """Which, and what a single one means."""
    found = ", ".join(map(str, sorted(quick.whole)))
    alone = "seed {} alone (so there is no spread over seeds, and one step is the least difference that counts)"
    return f"seeds {found}" if len(quick.whole) > 1 else alone.format(found)


def head(quick, whole, ablations, mark):
    """What was measured, where and when."""
    commit = subprocess.run(["git", "log", "-1", "--format=%h", "--", "crates/pitch"], capture_output=True, text=True, cwd=source.ROOT, check=True).stdout.strip()
    missing = [a.name for a in ablations if a.name not in quick.by_name]
    cpu = next((line.split(":", 1)[1].strip() for line in open("/proc/cpuinfo") if line.startswith("model name")), platform.machine())
    return f"""* written {date.today()}; the ear is `crates/pitch` of commit {commit} (fingerprint {mark}), without `reeds`
* machine: {cpu}, 2 cores, {platform.system()} {platform.release()}, shared with much other work: CPU per second of sound is user time and rough to a millisecond
* {seeds(quick)}, on none of which the ear was tuned (it was built on seed 1); {len(quick.by_name)} of {len(ablations)} ablations on the quick corpus
* on the whole corpus: {', '.join(sorted(whole.by_name)) or 'none'}
* not measured: {', '.join(missing) or 'none'}
* does not build or fails: {'; '.join(f'{n}: {why}' for n, why in quick.failed.items() if n not in quick.by_name) or 'none'}
* measured of an older ear and left out here: {', '.join(sorted(n for n in quick.old if n != WHOLE and n not in quick.by_name)) or 'none'}"""


TEXT = """# The ear, taken apart

Written by `tests/ear/ablate --write` from `ablation/measured.jsonl` and `ablation/constants.csv`, but for the section on predictions
(`ablation/predictions.md`, written before anything was measured, and `ablation/found.md`); not edited by hand.

{head}

## How to read it

Each row is the ear without one stage or rule, or with the plainest form of it; what exactly was taken out stands in `ablation/patches/`
under the same name. *Lines* are lines of code, without blanks and comments, that the patch takes out and that the compiler then calls dead
(an item whose name also stands in `reeds` is not counted, and constructors stay, so this is a lower bound; files of a whole stage hold more). A cell is the difference to the ear as it is on the same takes, mean over the seeds; blank is none.
**Bold** is beyond one step: the spread of the ear as it is over the seeds, or the least difference that counts, if that is more
(`ablation/measure.py`). *Worth* is the sum of the losses in steps, at most {most} for a figure, less the gains; within one step a figure
counts nothing. The share inside one sigma and the cost are shown and not counted. *Readings that differ* are those by more than 0.05 cents,
or heard where the other heard nothing. ⁸ decides about the octave; † cannot be seen by this bench. The sets `reeds` are not run: they have
an ear of their own.

A worth of nothing says that this bench does not see the rule on these seeds, and not that no sound needs it. Many rules stand in for
each other: what is worth nothing alone may be worth much once its neighbour has gone, so leave them out one at a time and measure again.

## What each is worth (quick corpus)

{table}

## What is not worth its lines

What no figure shows on these seeds. Before anything goes, measure it on the whole corpus and on more seeds, and again after each thing that went. Sorted by the lines saved; quick corpus unless it says otherwise.

{cheap}

## The whole corpus

{whole}

## Predictions, and where the docs misled

{predictions}

{found}

## Named numbers, halved and doubled

{constants}
"""


def write(records, counted, constants_csv):
    """Write it beside the bench's README."""
    ablations, mark = source.ablations(), source.fingerprint(source.sources())
    quick, whole = (Measured(records, counted, corpus, mark) for corpus in ("quick", "whole"))
    found = source.HERE / "found.md"
    text = TEXT.format(
        head=head(quick, whole, ablations, mark), most=MOST, table=big_table(quick, ablations), cheap=cheap(quick, ablations, whole),
        whole=big_table(whole, ablations) if whole.by_name else "Not run.", predictions=(source.HERE / "predictions.md").read_text().strip(),
        found=found.read_text().strip() if found.exists() else "", constants=constants_part(constants_csv),
    )
    (source.HERE.parent / "ABLATION.md").write_text(text)

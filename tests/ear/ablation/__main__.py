"""`tests/ear/ablate`: take each stage and each rule of the ear off, and measure what it was worth."""

import argparse
import csv
import json
import os
import shutil
import sys
import time
from pathlib import Path

import numpy as np

from . import build, constants, measure, source, table

SEEDS = (21, 22, 23)  # the ear was built on seed 1
MEASURED = source.HERE / "measured.jsonl"
LINES = source.HERE / "lines.json"
CONSTANTS = source.HERE / "constants.csv"
WHOLE = table.WHOLE


def arguments():
    """The command line."""
    parser = argparse.ArgumentParser(prog="tests/ear/ablate", description=__doc__)
    parser.add_argument("--work", type=Path, required=True, help=argparse.SUPPRESS)
    parser.add_argument("--list", action="store_true", help="list the ablations and check that each can be applied")
    parser.add_argument("--only", help="comma-separated parts of names")
    parser.add_argument("--stages", action="store_true", help="whole stages only")
    parser.add_argument("--seed", type=int, action="append", help=f"instead of {SEEDS}; may be given several times")
    parser.add_argument("--quick", action="store_true", help="a third of the corpus")
    parser.add_argument("--again", action="store_true", help="measure also what has been measured of this very ear")
    parser.add_argument("--constants", action="store_true", help="halve and double every named number, on the first seed")
    parser.add_argument("--lines", action="store_true", help="compile each ablation by itself and count the lines that it saves")
    parser.add_argument("--same", action="store_true", help="check that the copy with everything to switch hears what the ear hears")
    parser.add_argument("--write", action="store_true", help="write ABLATION.md from what has been measured")
    return parser.parse_args()


class Bench:
    """The ear with everything to switch, the corpora, and what has been measured."""

    def __init__(self, settings):
        self.settings, self.texts, self.all = settings, source.sources(), source.ablations()
        self.mark = source.fingerprint(self.texts)
        self.corpus = "quick" if settings.quick else "whole"
        self.seeds = settings.seed or SEEDS
        self.folder = settings.work / "ablate"
        self.folder.mkdir(parents=True, exist_ok=True)
        self.program = self.folder / "turnable"
        self.corpora, self.readings = {}, {}
        texts = build.turnable(self.texts, self.all)
        mark = self.folder / f"turnable-{source.fingerprint(texts)}"
        if not (mark.exists() and self.program.exists()):
            source.lay_out(self.folder)
            shutil.copy(build.build(self.folder, settings.work, texts), self.program)
            mark.touch()

    def takes(self, seed):
        """The corpus of a seed, and what the ear as it is hears in it: what all others are compared with."""
        if seed not in self.corpora:
            self.corpora[seed] = root, takes = measure.prepare(self.settings.work, seed, self.settings.quick)
            figures, self.readings[seed] = measure.measure(self.program, root, takes)
            if not self.known(WHOLE, seed):
                self.keep({"name": WHOLE, "seed": seed, "figures": figures})
        return *self.corpora[seed], self.readings[seed]

    def known(self, name, seed):
        """Whether this has been measured of this very ear, by this very patch."""
        mark = self.mark_of(name)
        return any(r["name"] == name and r.get("seed") == seed and r["corpus"] == self.corpus and r["of"] == mark for r in records())

    def mark_of(self, name):
        """The fingerprint of the ear and of the patch."""
        patch = next((repr(a.changes) for a in self.all if a.name == name), "")
        return f"{self.mark}/{source.fingerprint({name: patch})[:6]}"

    def keep(self, record):
        """Append one measurement, so that nothing is lost if the run is broken off."""
        record |= {"corpus": self.corpus, "of": self.mark_of(record["name"])}
        if "figures" in record:
            record["figures"] = rounded(record["figures"])
        with MEASURED.open("a") as file:
            file.write(json.dumps(record, ensure_ascii=False) + "\n")

    def ablate(self, ablation, seed):
        """Measure the ear without this on one seed; a failure is kept and told."""
        root, takes, readings = self.takes(seed)
        os.environ["EAR_OFF"] = str(self.all.index(ablation))
        try:
            figures, _ = measure.measure(self.program, root, takes, readings)
            self.keep({"name": ablation.name, "seed": seed, "figures": figures})
            return f"{figures['differ']:.2f} % of readings differ"
        except RuntimeError as reason:
            self.keep({"name": ablation.name, "seed": seed, "failed": str(reason)})
            return f"FAILED: {reason}"
        finally:
            del os.environ["EAR_OFF"]


def records():
    """All that has been measured."""
    return [json.loads(line) for line in MEASURED.read_text().splitlines()] if MEASURED.exists() else []


def rounded(figures):
    """Figures as a file should hold them."""
    return {key: float(f"{value:.6g}") for key, value in figures.items()}


def chosen(settings):
    """The ablations that are asked for, whole stages first."""
    parts = settings.only.split(",") if settings.only else [""]
    found = [a for a in source.ablations() if any(part in a.name for part in parts)]
    return [a for a in found if a.first] + ([] if settings.stages else [a for a in found if not a.first])


def show_list(settings):
    """Print every ablation and whether its patch applies; the exit code says whether all do."""
    texts, broken = source.sources(), 0
    for ablation in chosen(settings):
        try:
            ablation.applied(texts)
            print(f"{ablation.name}{' [octave]' if ablation.octave else ''}: {ablation.means} ({ablation.lines()} lines in place)")
        except source.Broken as reason:
            broken += 1
            print(f"BROKEN {reason}", file=sys.stderr)
    turned, alone = constants.parse(texts)
    print(f"{len(turned)} constants can be halved and doubled; left alone: {', '.join(alone)}")
    return 1 if broken else 0


def count_lines(settings):
    """Compile each ablation by itself; what it saves goes to `lines.json`."""
    folder, texts = settings.work / "ablate", source.sources()
    source.lay_out(folder)
    before = build.unused(folder, settings.work, texts)
    found = json.loads(LINES.read_text()) if LINES.exists() else {}
    for ablation in chosen(settings):
        try:
            names, dead = build.saved(folder, settings.work, ablation.applied(texts), before)
            found[ablation.name] = {"patch": ablation.lines(), "dead": dead, "names": names}
        except source.Broken as reason:
            found[ablation.name] = {"failed": str(reason)}
        print(ablation.name, found[ablation.name], flush=True)
        LINES.write_text(json.dumps(found, indent=1, ensure_ascii=False) + "\n")
    return 1 if any("failed" in f for f in found.values()) else 0


def turn_constants(bench):
    """Halve and double each; rows go to the CSV as they come, which begins anew if it is of another ear."""
    seed = bench.seeds[0]
    root, takes, readings = bench.takes(seed)
    rows = list(csv.DictReader(CONSTANTS.open())) if CONSTANTS.exists() else []
    done = {(r["file"], r["constant"], r["factor"]) for r in rows if r["of"] == bench.mark}
    fields = ["of", "corpus", "seed", "file", "constant", "value", "factor", "failed", "differ", *measure.FIGURES]
    head = {"of": bench.mark, "corpus": bench.corpus, "seed": seed}
    with CONSTANTS.open("a" if done else "w", newline="") as file:
        out = csv.DictWriter(file, fields)
        if not done:
            out.writeheader()
            out.writerow(head | {"constant": WHOLE, "factor": 1} | rounded(measure.measure(bench.program, root, takes)[0]))
        for constant in constants.parse(bench.texts)[0]:
            for factor in ("0.5", "2"):
                if (constant.file, constant.name, factor) not in done:
                    row = head | {"file": constant.file, "constant": constant.name, "value": constant.value, "factor": factor}
                    row |= turned(bench, constant, factor, (root, takes, readings))
                    out.writerow(row)
                    file.flush()
                    print(time.strftime("%H:%M:%S"), constant.file, constant.name, factor, row.get("differ", row.get("failed")), flush=True)


def turned(bench, constant, factor, corpus):
    """Figures with one constant multiplied, or why there are none."""
    os.environ.update(EAR_CONSTANT=str(constant.number), EAR_FACTOR=factor)
    try:
        return rounded(measure.measure(bench.program, *corpus)[0])
    except RuntimeError as reason:
        return {"failed": str(reason)}
    finally:
        del os.environ["EAR_CONSTANT"], os.environ["EAR_FACTOR"]


def check_same(bench):
    """Build the ear as it is and compare every reading on the first seed."""
    root, takes, readings = bench.takes(bench.seeds[0])
    plain = build.build(bench.folder, bench.settings.work, bench.texts)
    different = measure.differing(measure.measure(plain, root, takes)[1], readings, least=1e-9)
    print(f"{different:.4f} % of readings differ between the ear and the copy with everything to switch")
    return 1 if different > 0 else 0


def measure_chosen(bench, settings):
    """Every ablation that is asked for, seed by seed, whole stages first; the exit code says whether all could be run."""
    failed = 0
    asked = sorted(((not a.first, seed) for a in chosen(settings) for seed in bench.seeds))
    for rule, seed in dict.fromkeys(asked):
        for ablation in (a for a in chosen(settings) if a.first != rule):
            if settings.again or not bench.known(ablation.name, seed):
                said = bench.ablate(ablation, seed)
                failed += said.startswith("FAILED")
                print(f"{time.strftime('%H:%M:%S')} {seed} {ablation.name}: {said}", flush=True)
    return 1 if failed else 0


def main():
    """Run it."""
    settings = arguments()
    if settings.list:
        return show_list(settings)
    if settings.write:
        counted = json.loads(LINES.read_text()) if LINES.exists() else {}
        table.write(records(), counted, CONSTANTS)
        return 0
    if settings.lines:
        return count_lines(settings)
    bench = Bench(settings)
    if settings.same:
        return check_same(bench)
    if settings.constants:
        turn_constants(bench)
        return 0
    return measure_chosen(bench, settings)


try:
    sys.exit(main())
except source.Broken as reason:
    sys.exit(f"tests/ear/ablate: {reason}")

"""`python -m bench`: make the corpus, run the trackers, print the table."""

import argparse
import shlex
from pathlib import Path

from . import corpus, make, reeds, registry, report, results, runs, summary, worst


def arguments():
    """The command line."""
    parser = argparse.ArgumentParser(prog="tests/ear/run", description=__doc__)
    parser.add_argument("--work", type=Path, required=True, help="folder for corpus and rows")
    parser.add_argument("--only", help="comma-separated sets: " + ",".join(make.PARTS))
    parser.add_argument("--peers", default="all", help="all, none, or comma-separated parts of names")
    parser.add_argument("--quick", action="store_true", help="a corpus of about a third")
    parser.add_argument("--seed", type=int, default=1, help="another seed gives another corpus")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--ours", default=(), type=lambda s: tuple(shlex.split(s)), help="our program; the WAV is appended")
    parser.add_argument("--keep-peers", action="store_true", help="do not run peers again on takes that they know")
    parser.add_argument("--write", action="store_true", help="write RESULTS.md beside the script")
    parser.add_argument("--details", action="store_true", help="print every condition of our tracker")
    parser.add_argument("--worst", action="store_true", help="list the notes that our tracker gets wrong")
    settings = parser.parse_args()
    settings.corpus = settings.work / f"corpus-{settings.seed}{'-quick' if settings.quick else ''}"
    return settings


def main():
    """Run it."""
    settings = arguments()
    sets = settings.only.split(",") if settings.only else list(make.PARTS)
    for name in sets:
        make.make_part(settings.corpus, name, settings.seed, settings.quick)
    takes = corpus.read_takes(settings.corpus, set(sets))
    trackers = registry.names(settings.peers)
    done, failed = runs.run_all(trackers, [t for t in takes if t.set not in reeds.SETS], settings)
    done[registry.OURS] += reeds.run_all(takes, settings)
    summaries = {name: summary.summarise(found) for name, found in done.items()}
    offline = {n for n in done if registry.build(n, settings.ours).offline}
    tables = report.main_table(list(done), summaries, offline), report.detail_table(summaries[registry.OURS][1])
    print(tables[0])
    if settings.details:
        print(f"\n{tables[1]}")
    if settings.worst:
        print("", *worst.lines(done[registry.OURS]), sep="\n")
    if settings.write:
        results.write(settings, sum(t.seconds for t in takes), done, failed, tables)


main()

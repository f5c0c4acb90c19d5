"""Builds copies of the ear: one with everything to switch, and each ablation by itself to see what nobody uses any more."""

import json
import os
import re
import subprocess

from . import constants, source, switches


def turnable(texts, ablations):
    """The sources in which every ablation and every constant can be turned when the program starts."""
    texts = constants.turnable(switches.switchable(texts, ablations))
    texts["lib.rs"] = texts["lib.rs"].replace("mod flatten;", "mod flatten;\nmod knobs;", 1)
    return texts | {"knobs.rs": constants.KNOBS + switches.LOOK_UP}


def cargo(command, folder, target, *options):
    """Run it on the copy; gives what the compiler says, an error if it fails."""
    manifest = folder / "tests" / "ear" / "probe" / "Cargo.toml"
    argv = ["cargo", command, "--quiet", "--release", "--message-format", "json",
            "--manifest-path", str(manifest), "--target-dir", str(target), *options]
    # Only the files that a patch touches are compiled anew.
    done = subprocess.run(argv, capture_output=True, text=True, check=False, env={**os.environ, "CARGO_INCREMENTAL": "1"})
    messages = [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]
    said = [m["message"] for m in messages if m["reason"] == "compiler-message"]
    if done.returncode:
        errors = [m["rendered"].strip() for m in said if m["level"] == "error"] or [done.stderr.strip()]
        raise source.Broken("does not build: " + "\n".join(errors))
    return said


def build(folder, target, texts):
    """The probe with these sources, and beside it the simulated player, who makes a part of the corpus."""
    source.write(folder, texts)
    cargo("build", folder, target, "--bin", "probe", "--bin", "player")
    return target / "release" / "probe"


def unused(folder, target, texts):
    """(file, line, name) of every item that the compiler calls unused in these sources."""
    source.write(folder, texts)
    found = set()
    for message in cargo("check", folder, target, "--bin", "probe"):
        if (message["code"] or {}).get("code") != "dead_code":
            continue
        for span in (s for s in message["spans"] if s["is_primary"]):
            shown = span["text"][0]
            name = shown["text"][shown["highlight_start"] - 1 : shown["highlight_end"] - 1]
            found.add((span["file_name"].rsplit("/src/", 1)[-1].removeprefix("src/"), span["line_start"], name))
    return found


def lines_of(folder, texts, places):
    """Lines of code of these items together, as they stand in the copy."""
    gone = set()
    for file, line, _name in places:
        lines = (folder / "crates" / "pitch" / "src" / file).read_text().splitlines()
        gone |= {(file, at) for at in range(line - 1, end_of_item(lines, line - 1)) if source.is_code(lines[at])}
    return len(gone)


def end_of_item(lines, start):
    """The line after an item that begins here: a constant or a field ends with its line, all else with its brackets."""
    depth = 0
    for at in range(start, len(lines)):
        line = re.sub(r"//.*", "", lines[at])
        depth += sum(line.count(c) for c in "([{") - sum(line.count(c) for c in ")]}")
        if depth <= 0 and line.rstrip().endswith((";", "}", ",")):
            return at + 1
    return len(lines)


def saved(folder, target, texts, before):
    """What is unused in these sources and was not `before`, without what `reeds` uses: (names, lines)."""
    known, elsewhere = {(file, name) for file, _, name in before}, source.apart()
    places = {p for p in unused(folder, target, texts)
              if (p[0], p[2]) not in known and not re.search(rf"\b{re.escape(p[2])}\b", elsewhere)}
    return sorted(f"{file}: {name}" for file, _, name in places), lines_of(folder, texts, places)

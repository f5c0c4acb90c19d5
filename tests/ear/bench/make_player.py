"""The part of the corpus that the product's own simulated player makes; the truth is the player's."""

import subprocess

from . import tools

HARPS = ("C", "low F", "high G")


def make_player(root, rng, quick):
    """Naturals, bends and overbends of three harps, with slides, pops, vibrato, leaks and breath."""
    for key in HARPS:
        count = 12 if quick else 30
        seed = int(rng.integers(1, 2**31))
        subprocess.run([tools.path("player"), root / "player", key, str(seed), str(count)], check=True)

"""Our tracker as a user has it: the program's `track`."""

import numpy as np

from .. import tools
from .command import Command


class Ours(Command):
    """`track` of the built program. It must say what the library says: a difference is an error, not a result."""

    def __init__(self, argv):
        super().__init__("ours", argv, "`bendwright track`, no harp named.")
        self.library = Command("probe", [tools.path("probe")])

    def track(self, wav):
        """Rows of the program and its CPU."""
        rows, spent = super().track(wav)
        known, _ = self.library.track(wav)
        same = len(rows) == len(known) and all(
            np.allclose(rows[column], known[column], rtol=1e-6, atol=1e-5, equal_nan=True) for column in ("hz", "sigma")
        )
        if not same:
            raise RuntimeError(f"{wav}: `track` and the library disagree; are both built from the same commit?")
        return rows, spent

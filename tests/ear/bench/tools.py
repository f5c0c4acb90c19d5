"""Where the programs lie that the bench builds for itself (`probe`, `player`, `peers`): in the folder EAR_TOOLS."""

import os


def path(name):
    """The program of this name."""
    return os.path.join(os.environ["EAR_TOOLS"], name)

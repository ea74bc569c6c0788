"""How much room the disk under the records has left."""

import shutil
from pathlib import Path

# A day of the shop writes a few megabytes; this leaves weeks to act.
LEAST_FREE = 500_000_000


def megabytes_left(folder: Path) -> int | None:
    """Return the free megabytes under a folder when they are getting few; None while there are enough."""
    free = shutil.disk_usage(folder).free
    return free // 1_000_000 if free < LEAST_FREE else None

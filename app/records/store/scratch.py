"""A private folder inside the data folder for work under way, gone afterwards, whatever ends the work."""

import contextlib
import fcntl
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

PREFIX, HELD = "copying-", "held"


@contextlib.contextmanager
def scratch(data: Path) -> Iterator[Path]:
    """Yield a fresh folder for its owner only, after taking away those that a kill left behind."""
    clear(data)
    place = Path(tempfile.mkdtemp(prefix=PREFIX, dir=data))
    try:
        with (place / HELD).open("w") as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)


def clear(data: Path) -> None:
    """Take away the folders that nobody holds any more."""
    for place in data.glob(f"{PREFIX}*"):
        try:
            with (place / HELD).open("a") as held:
                fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(place, ignore_errors=True)
        except BlockingIOError:
            continue
        except FileNotFoundError:
            shutil.rmtree(place, ignore_errors=True)

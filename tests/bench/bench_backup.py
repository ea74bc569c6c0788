"""How long backing up, rehearsing, restoring and checking years of a busy shop take. Run it by hand:

.venv/bin/python tests/bench/bench_backup.py [GUESTS] [FOLDER]

GUESTS is 100,000 unless told: about five years of 56 guests a day. FOLDER keeps the shop for another run.
"""

# ruff: noqa: T201  (a script a person runs and reads)
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from app.actions.keep.restoring import put_back
from app.records.backups import backup, recovery, restore
from app.records.store.check import check_folder
from app.records.store.folder import DATABASE
from app.settings.clock import wall_clock
from app.settings.config import Settings
from tests.bench.busy_shop import make

T = TypeVar("T")
MB = 1_000_000


def timed(what: str, work: Callable[[], T]) -> T:
    """Run something and say how long it took, and how long a core was busy with it (others share them)."""
    began, busy = time.perf_counter(), time.process_time()
    answer = work()
    took, busy = time.perf_counter() - began, time.process_time() - busy
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000
    print(f"{what:12s} {took:7.1f} s, {busy:7.1f} s of them busy; at most {most} MB of memory", flush=True)
    return answer


def main(guests: int, place: Path) -> None:
    """Make the shop unless it is there, and measure each step."""
    data, disk = place / "data", place / "disk"
    if not data.exists():
        timed("make", lambda: make(data, guests).close())
    disk.mkdir(exist_ok=True)
    settings, zone = Settings(data=data), ZoneInfo("Europe/Lisbon")
    print(f"store        {(data / DATABASE).stat().st_size / MB:7.0f} MB")
    made = timed("backup", lambda: backup.make_backup(settings, disk, wall_clock(), zone))
    newest = backup.copies(disk, backup.DATA)[0]
    print(f"backup file  {newest.size / MB:7.0f} MB: {made.guests} guests, {made.entries} trail entries")
    timed("rehearse", lambda: restore.rehearse(settings, restore.source(data, newest.path)))
    words = recovery.read_sheets(data)[0].words
    with tempfile.TemporaryDirectory(dir=place) as fresh:
        new = Path(fresh) / "data"
        timed("restore", lambda: put_back(Settings(data=new), restore.source(new, newest.path, words)))
    wrong, said = timed("verify", lambda: check_folder(settings))
    print(wrong or said)


if __name__ == "__main__":
    given = sys.argv[1:]
    with tempfile.TemporaryDirectory() as temporary:
        main(int(given[0]) if given else 100_000, Path(given[1]) if given[1:] else Path(temporary))

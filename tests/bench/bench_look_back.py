"""How long the manager's pages take in a shop with years behind it. Run it by hand:

nice .venv/bin/python tests/bench/bench_look_back.py [DAYS] [FOLDER]

DAYS is 1,826 unless told: five years of 56 guests a day, every day closed. FOLDER keeps the shop for another
run. Figures are the slowest of nineteen of twenty answers, in milliseconds and against the 150 ms of a page.
"""

# ruff: noqa: T201  (a script a person runs and reads)
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from starlette.testclient import TestClient

from app.actions.act import PROGRAM, acting
from app.actions.look_back.day_close import add_to_day
from app.actions.setup.sign_in import hash_secret
from app.main import build
from app.records.look_back.day_seal import first_wrong_seal
from app.records.store.house import House, open_house
from app.records.tables.people import PersonRow
from app.settings.config import Settings
from tests.bench.busy_shop import FIRST_DAY, WHO
from tests.bench.long_look_back import AMENDED_EVERY, make_long
from tests.web_world import BASE, PASSPHRASE, Browser

PAGE_MS = 150
TIMES = 20


def main(days: int, place: Path) -> None:
    """Make the shop unless it is there, and open each page."""
    data = place / "data"
    if not data.exists():
        make_long(data, days).close()
    last = FIRST_DAY + timedelta(days=days - 1)
    now = datetime(last.year, last.month, last.day, 20, tzinfo=UTC)
    house = open_house(Settings(data=data), lambda: now)
    with acting(house, PROGRAM, "made_for_a_measurement") as act:
        act.edit(act.get(PersonRow, 1), None, {"passphrase_hash": hash_secret(house, PASSPHRASE)}, {})
    browser = Browser(TestClient(build(house), base_url=BASE))
    browser.sign_in(WHO)
    old = FIRST_DAY + timedelta(days=AMENDED_EVERY * 3)
    for path in (
        "/look-back",
        f"/look-back?day={old}",
        f"/look-back?day={old + timedelta(days=1)}",
        f"/days/{old}/sheet",
        "/look-back/gas",
        "/look-back/gas?span=week",
        "/look-back/gas?span=season",
        "/look-back/learning?days=90",
        "/look-back/learning?days=365",
        "/incidents",
        f"/incidents?year={old.year}",
    ):
        _page(browser, house, path)
    with house.store.reading() as session:
        _said("seals of all closed days", lambda: print(first_wrong_seal(session, house.master)))
    house.close()


def _page(browser: Browser, house: House, path: str) -> None:
    """Open a page again and again, with something written between, as in a shop at work."""
    took = []
    for number in range(TIMES + 1):
        if number % 5 == 1:
            with acting(house, PROGRAM, "add_to_day") as act:
                add_to_day(act, FIRST_DAY + timedelta(days=number), "Between two pages.")
        began = time.perf_counter()
        answer = browser.client.get(path)
        took.append(1000 * (time.perf_counter() - began))
        assert answer.status_code == 200, (path, answer.status_code)
    first, later = took[0], sorted(took[1:])
    most = later[int(TIMES * 0.95) - 1]
    print(
        f"{path:34s} first {first:7.0f} ms, then {most:6.0f} ms: {most / PAGE_MS:5.2f} of a page", flush=True
    )


def _said(what: str, work: Callable[[], None]) -> None:
    began = time.perf_counter()
    work()
    print(f"{what:34s} {time.perf_counter() - began:7.1f} s", flush=True)


if __name__ == "__main__":
    told = sys.argv[1:]
    with tempfile.TemporaryDirectory() as spare:
        main(int(told[0]) if told else 1826, Path(told[1]) if len(told) > 1 else Path(spare))

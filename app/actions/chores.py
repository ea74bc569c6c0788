"""The daily chores: what the program does by itself, once a day, and on demand.

A chore that fails is written down and told on Today; it never stops the shop. One that a kill cut short
left no run behind, so that it is due again at the next start.
"""

import logging
import threading
from datetime import time

from app.actions.act import PROGRAM, acting
from app.actions.chore import Chore, ChoreFailed
from app.actions.health.retention import keep_and_erase
from app.actions.keep import backups
from app.records.backups.backup_state import BACKUP, REHEARSAL, VERIFY
from app.records.setup import shop as shop_records
from app.records.store import chores as chore_records
from app.records.store.at_work import Stopped, Work
from app.records.store.db import StoreTrouble
from app.records.store.house import House
from app.records.tables.keeping import ChoreRunRow
from app.rules.chores import is_due

log = logging.getLogger("daybuoy")
DAILY = "daily"
# Seconds after the start, and between two looks at the clock.
FIRST_LOOK, EVERY = 5.0, 60.0


# In the order in which they run when several are due.
CHORES: dict[str, Chore] = {
    chore.key: chore
    for chore in (
        Chore(
            "keep_and_erase",
            "Keeping and erasing health records",
            time(3, 15),
            lambda house, _now, say: keep_and_erase(house, say).words,
        ),
        Chore(BACKUP, "Backup", time(3, 30), backups.back_up),
        Chore(VERIFY, "Check of the records", time(4, 0), backups.verify),
        Chore(REHEARSAL, "Rehearsal", None, backups.rehearse),
    )
}


def run(house: House, chore: Chore, asked_by: str) -> ChoreRunRow | None:
    """Do a chore that was taken (``AtWork.take``) and write down how it ended; None when it could not be."""
    began = house.clock()
    try:
        went_well, said = True, chore.work(house, began, house.at_work.say)
    except Stopped:
        return None
    except ChoreFailed as problem:
        went_well, said = False, str(problem)
    except Exception as error:
        # Nothing that a chore does may stop the shop.
        log.error("chore failed chore=%s kind=%s", chore.key, type(error).__name__, exc_info=_debug())
        went_well, said = False, f"It stopped at something unexpected ({type(error).__name__})."
    try:
        with acting(house, PROGRAM, "chore_done" if went_well else "chore_failed") as act:
            return act.add(
                ChoreRunRow(
                    chore=chore.key, asked_by=asked_by, began_at=began, ended_at=act.now,
                    went_well=went_well, said=said,
                )
            )  # fmt: skip
    except StoreTrouble as trouble:
        log.error("chore not noted chore=%s kind=%s", chore.key, type(trouble).__name__)
        return None


def begin(house: House, key: str, asked_by: str) -> bool:
    """Begin a chore beside the pages and return at once; False while another work is under way."""
    chore = CHORES[key]
    work = Work(chore.key, chore.what, asked_by, house.clock())
    return house.at_work.begin(work, lambda: run(house, chore, asked_by))


def run_due(house: House) -> list[str]:
    """Do every chore that is due, one after the other; return their keys."""
    done = []
    for chore in due(house):
        if not house.at_work.take(Work(chore.key, chore.what, DAILY, house.clock())):
            break
        try:
            run(house, chore, DAILY)
        finally:
            house.at_work.leave()
        done.append(chore.key)
    return done


def due(house: House) -> list[Chore]:
    """Return the chores that should run now; none before the shop is set up."""
    with house.store.reading() as session:
        if shop_records.shop_row(session) is None:
            return []
        zone, last = shop_records.the_shop(session).zone, chore_records.last_runs(session)
    now, never = house.clock(), chore_records.LastRuns()
    return [
        chore
        for chore in CHORES.values()
        if chore.clock is not None
        and is_due(
            now,
            zone,
            chore.clock,
            last.get(chore.key, never).last_good,
            last.get(chore.key, never).last_try,
        )
    ]


class DailyChores:
    """The thread that looks at the clock and does what is due, for as long as the shop is served."""

    def __init__(self, house: House, first_look: float = FIRST_LOOK, every: float = EVERY) -> None:
        self._house = house
        self._waits = (first_look, every)
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._look, name="chores")

    def start(self) -> None:
        """Begin looking."""
        self._thread.start()

    def stop(self) -> None:
        """Leave off, also in the middle of a chore."""
        self._over.set()
        self._house.at_work.stop()
        self._thread.join()

    def _look(self) -> None:
        wait, every = self._waits
        while not self._over.wait(wait):
            wait = every
            try:
                run_due(self._house)
            except StoreTrouble as trouble:
                log.error("chores not looked at kind=%s", type(trouble).__name__)


def _debug() -> bool:
    return log.isEnabledFor(logging.DEBUG)

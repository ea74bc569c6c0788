"""Making and opening the demo shop: the same actions that people use, at the times at which they would."""

import json
import shutil
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.records.store.house import MARK as FOLDER_MARK
from app.records.store.house import House, open_house
from app.records.tables.house import TrailRow
from app.settings.clock import Clock, shifted_clock, wall_clock
from app.settings.config import Settings
from seed_demo import story

SIGN_INS = "demo-sign-ins.json"
ZONE = "Europe/Lisbon"
# Today stands at eleven when the demo opens for the first time.
OPENS_AT = time(11, 0)


def open_demo(settings: Settings, source: Clock = wall_clock) -> House:
    """Open the demo's folder, filling it on the first start; its clock then runs on from where it stood."""
    _forget_a_broken_start(settings)
    first = not (settings.data / FOLDER_MARK).exists()
    today = source().astimezone(ZoneInfo(ZONE)).date()
    house = open_house(settings)
    if first:
        sign_ins = story.tell(house, today)
        path = settings.data / SIGN_INS
        path.touch(mode=0o600)
        path.write_text(json.dumps(sign_ins, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
        now = at(today, OPENS_AT.isoformat("minutes"))
    else:
        with house.store.reading() as session:
            now = _last_moment(session) + timedelta(seconds=1)
    house.clock = shifted_clock(now, source)
    return house


def _forget_a_broken_start(settings: Settings) -> None:
    """Take away a demo that was stopped while its story was being told; a told one is never touched."""
    mark = settings.data / FOLDER_MARK
    if (
        mark.exists()
        and not (settings.data / SIGN_INS).exists()
        and json.loads(mark.read_text())["kind"] == "demo"
    ):
        shutil.rmtree(settings.data)


def at(day: date, clock: str) -> datetime:
    """Return the instant of a clock time on a day at the demo shop."""
    hours, minutes = (int(part) for part in clock.split(":"))
    return datetime.combine(day, time(hours, minutes), ZoneInfo(ZONE))


def _last_moment(session: Session) -> datetime:
    newest = session.exec(select(TrailRow.at).order_by(col(TrailRow.id).desc()).limit(1)).first()
    if newest is None:
        raise RuntimeError("the demo's folder holds no story")
    return newest

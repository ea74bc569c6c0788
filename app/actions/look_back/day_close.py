"""The manager's sign-off of a day, and what is added to it afterwards."""

from datetime import date

from app.actions.act import Act, Refused
from app.records.look_back.day_end import day_end
from app.records.look_back.day_seal import make_seal
from app.records.setup import shop
from app.records.store import trail
from app.records.store.check import short_head
from app.records.store.problems import NotHere
from app.records.tables.days import DayRow
from app.records.tables.incidents import DayNoteRow
from app.rules.day_close import may_close_day
from app.rules.decision import Reason, refuse


def close_day(act: Act, day: date, note: str) -> DayRow:
    """Close a day and seal its records: refused while anybody or anything is still out, open or unread."""
    if day > shop.the_shop(act.session).day_of(act.now):
        text = "This day has not come yet. Close it on the day."
        raise Refused(refuse(Reason("dive_closed", text, "still to come", "today or earlier")))
    done = shop.closed_day(act.session, day)
    if done is not None:
        text = f"This day was closed by {done.closed_by} before."
        raise Refused(refuse(Reason("dive_closed", text, "closed", "open")))
    end = day_end(act.session, day)
    act.allow(may_close_day(end.facts))
    act.about = ("day", day.isoformat())
    row = act.add(
        DayRow(
            day=day,
            closed_at=act.now,
            closed_by=act.actor.name,
            note=note,
            persons_in=end.went_in,
            persons_back=end.back,
            trail_head=short_head(*trail.head(act.session)),
        )
    )
    act.add(make_seal(act.session, act.house.master, day, act.now))
    return row


def add_to_day(act: Act, day: date, note: str) -> DayNoteRow:
    """Add to a closed day: what was written stays, and the day says that it was amended. Raises NotHere."""
    if shop.closed_day(act.session, day) is None:
        raise NotHere(f"closed day {day}")
    act.about = ("day", day.isoformat())
    return act.add(DayNoteRow(day=day, note=note, by=act.actor.name, at=act.now))

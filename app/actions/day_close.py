"""The manager's sign-off of a day."""

from datetime import date

from app.actions.act import Act, Refused
from app.records import shop, trail
from app.records.check import short_head
from app.records.day_end import day_facts
from app.records.tables.days import DayRow
from app.rules.day_close import may_close_day
from app.rules.decision import Reason, refuse


def close_day(act: Act, day: date, note: str) -> DayRow:
    """Close a day: refused while anybody or anything is still out, open or unread (raises Refused)."""
    if day > shop.the_shop(act.session).day_of(act.now):
        text = "This day has not come yet. Close it on the day."
        raise Refused(refuse(Reason("dive_closed", text, "still to come", "today or earlier")))
    done = shop.closed_day(act.session, day)
    if done is not None:
        text = f"This day was closed by {done.closed_by} before."
        raise Refused(refuse(Reason("dive_closed", text, "closed", "open")))
    act.allow(may_close_day(day_facts(act.session, day)))
    act.about = ("day", day.isoformat())
    return act.add(
        DayRow(
            day=day,
            closed_at=act.now,
            closed_by=act.actor.name,
            note=note,
            trail_head=short_head(*trail.head(act.session)),
        )
    )

"""Dives of the team elsewhere: asked once a day, because what nobody said is not the same as none.

Add only: a dive written down wrongly is taken back by another record that says why.
"""

from datetime import datetime, timedelta

from app.actions.act import Act, Invalid
from app.records.plans.dive_history import DIVED, NO_DIVE, TAKEN_BACK, said_today
from app.records.setup.shop import the_shop
from app.records.store.problems import NotHere
from app.records.tables.people import PersonRow
from app.records.tables.water import OtherDiveRow

# A dive counts for two days; older ones are not asked for.
OLDEST = timedelta(hours=48)


def say_no_other_dive(act: Act, person_id: int) -> OtherDiveRow:
    """Write down that somebody has no other dive in the last 24 hours; raises NotHere, Invalid after one."""
    day = the_shop(act.session).day_of(act.now)
    earlier = said_today(act.session, [person_id], day).get(person_id)
    if earlier is not None and earlier.said == DIVED:
        raise Invalid({"none": "A dive is written down for today. Take it back first if it was wrong."})
    return _add(act, person_id, OtherDiveRow(person_id=person_id, day=day, said=NO_DIVE, by="", at=act.now))


def write_other_dive(
    act: Act, person_id: int, went_at: datetime, minutes: float, depth_m: float
) -> OtherDiveRow:
    """Write a dive elsewhere down: when it began, its minutes, its greatest depth in metres.

    It counts at once. Raises NotHere, Invalid for a dive that is not over or ended more than 48 h ago.
    """
    ended = went_at + timedelta(minutes=minutes)
    if ended > act.now:
        raise Invalid({"went": "This dive is not over yet. Check the time and the minutes."})
    if ended < act.now - OLDEST:
        raise Invalid({"went": "This dive ended more than 48 hours ago. It does not count any more."})
    row = OtherDiveRow(
        person_id=person_id,
        day=the_shop(act.session).day_of(act.now),
        said=DIVED,
        went_at=went_at,
        minutes=minutes,
        greatest_depth_m=depth_m,
        by="",
        at=act.now,
    )
    return _add(act, person_id, row)


def take_back_other_dive(act: Act, person_id: int, dive_id: int, why: str) -> OtherDiveRow:
    """Take a dive elsewhere back that was written down wrongly; it stays to be read. Raises NotHere."""
    dive = act.get(OtherDiveRow, dive_id)
    if dive.person_id != person_id or dive.said != DIVED:
        raise NotHere(f"dive {dive_id}")
    day = the_shop(act.session).day_of(act.now)
    row = OtherDiveRow(
        person_id=person_id, day=day, said=TAKEN_BACK, takes_back_id=dive_id, why=why, by="", at=act.now
    )
    return _add(act, person_id, row)


def _add(act: Act, person_id: int, row: OtherDiveRow) -> OtherDiveRow:
    if not act.get(PersonRow, person_id).grade:
        raise NotHere(f"person {person_id} does not dive here")
    row.by_id, row.by = act.actor.person_id, act.actor.name
    act.add(row)
    act.about = ("person", str(person_id))
    return row

"""The instructor's look at guests on shore: what was not in order is sealed, that somebody looked is not."""

from collections.abc import Collection, Mapping

from app.actions.act import Act
from app.records.groups.groups import group_view
from app.records.health.health_forms import owner
from app.records.health.health_rows import looks_of_day
from app.records.setup.shop import the_shop
from app.records.store.problems import NotHere
from app.records.tables.health_day import ShoreLookRow
from app.records.tables.parties import GuestRow
from app.rules.dive_record import may_prepare
from app.rules.shore_look import POINTS, stands_for_day

FIELD = "shore-look"
# Every look fills the same room, so that its sealed length says nothing about what was seen.
ROOM = 256


def look_on_shore(act: Act, group_id: int, seen: Mapping[int, Collection[str]]) -> None:
    """Write a look at guests of a group: guest number -> points that were not in order, none when all were.

    Raises NotHere for somebody of another group or an unknown point, Refused once the group went in.
    """
    view = group_view(act.session, group_id)
    guests = {one.guest.id: one.guest for one in view.guests if one.guest is not None}
    if not set(seen) <= set(guests) or any(not set(points) <= set(POINTS) for points in seen.values()):
        raise NotHere("look on shore")
    act.allow(may_prepare(view.group.entered_at is not None))
    for number, points in seen.items():
        _keep(act, guests[number], points)
    act.about = ("dive_group", str(group_id))


def all_in_order(act: Act, group_id: int) -> None:
    """Write that every guest of a group who was not looked at yet today was in order at every point."""
    view = group_view(act.session, group_id)
    guests = [one.guest for one in view.guests if one.guest is not None]
    looked = looks_of_day(act.session, [one.ref for one in guests], the_shop(act.session).day_of(act.now))
    look_on_shore(act, group_id, {one.id or 0: () for one in guests if one.ref not in looked})


def _keep(act: Act, guest: GuestRow, points: Collection[str]) -> None:
    said = " ".join(key for key in POINTS if key in points).ljust(ROOM)
    act.add(
        ShoreLookRow(
            guest_ref=guest.ref,
            day=the_shop(act.session).day_of(act.now),
            well=not points,
            final=stands_for_day(points),
            points=act.house.ring.seal(owner(guest.ref), FIELD, said),
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )

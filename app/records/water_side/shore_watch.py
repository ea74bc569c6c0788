"""Who is in the water as somebody on shore watches it: group by group, with the gauges as last read."""

from dataclasses import dataclass

from sqlmodel import Session

from app.records.groups.groups import GroupView, group_view
from app.records.water_side.entry import DiverView, divers_of
from app.records.water_side.water import InWater, in_the_water


@dataclass(frozen=True)
class Watched:
    """One person in the water, with the cylinder and its pressures; the longest in comes first."""

    person: InWater
    diver: DiverView | None


@dataclass(frozen=True)
class WatchedGroup:
    """One group of which somebody is in the water."""

    view: GroupView
    people: tuple[Watched, ...]


def on_watch(session: Session) -> list[WatchedGroup]:
    """Return every group with somebody in the water, on whatever day it went in, the longest in first."""
    groups: dict[int, list[InWater]] = {}
    for person in in_the_water(session):
        groups.setdefault(person.group_id, []).append(person)
    found = []
    for group_id, people in groups.items():
        view = group_view(session, group_id)
        divers = {one.id: one for one in divers_of(session, view.members)}
        watched = tuple(Watched(one, divers.get(one.member_id)) for one in people)
        found.append(WatchedGroup(view, watched))
    return found

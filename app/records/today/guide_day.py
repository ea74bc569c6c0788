"""Each instructor's day: dives done and planned, minutes, and what is left by both models for a next dive."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session

from app.planning.consumption import Sea
from app.planning.dive_day import Budget, budget
from app.records.groups.groups import GroupView, groups_of, newest_conditions, team
from app.records.plans.dive_history import (
    DESCENT_M_MIN,
    LOOK_BACK,
    PastDive,
    history,
    minute_of,
    minutes_of,
    said_today,
)
from app.records.setup.shop import limits_now, the_shop
from app.records.tables.house import SiteRow
from app.records.tables.people import PersonRow
from app.records.tables.water import OtherDiveRow
from app.records.water_side.entry import PLAIN_ASCENT_MIN
from app.rules import limits as L
from app.rules.guide_day import Left, what_is_left
from app.rules.resolve import InForce, Limits

# The sea where nobody has said which: EN 13319 gauges read 1,020 kg/m3; ours is a cool sea at sea level.
PLAIN_SEA = Sea(17.0, 1025.0, 1.01325)


@dataclass(frozen=True)
class NextDive:
    """The dive that is asked about: when it would begin, how deep, minutes until the way up, in which water.

    group_id: the group whose dive it is; its own plan is not counted as a dive before it.
    """

    begins: datetime
    depth_m: float
    minutes: float
    sea: Sea = PLAIN_SEA
    group_id: int | None = None


@dataclass(frozen=True)
class GuideDay:
    """One person's day. dives: of the last 48 h, oldest first; planned: groups of the day before this dive.

    left_now: if that dive began now. left: when it begins, the planned dives before it counted as planned.
    said: the answer about other dives today; None while nobody asked.
    """

    person: PersonRow
    dives: tuple[PastDive, ...]
    today: tuple[PastDive, ...]
    planned: tuple[PastDive, ...]
    left_now: Budget
    left: Budget
    word: Left
    said: OtherDiveRow | None

    @property
    def minutes_today(self) -> float:
        """Minutes under water today, dives elsewhere included."""
        return sum(dive.minutes for dive in self.today)

    @property
    def in_water(self) -> bool:
        """Whether the person is under water now."""
        return any(dive.in_water for dive in self.dives)

    @property
    def last_out(self) -> datetime | None:
        """When the person was last back at the surface; None without a dive, or while under water."""
        return None if self.in_water else max((dive.back for dive in self.dives), default=None)

    @property
    def evening_before(self) -> tuple[PastDive, ...]:
        """The dives of the days before that still count."""
        return tuple(dive for dive in self.dives if dive not in self.today)


def divers(session: Session) -> list[PersonRow]:
    """Return everybody who leads or helps under water, by name."""
    return [person for person in team(session) if person.grade]


def guide_days(
    session: Session, people: Iterable[PersonRow], next_dive: NextDive, now: datetime, limits: Limits
) -> list[GuideDay]:
    """Return the day of each person, held against one dive. The count of queries does not grow."""
    asked = list(people)
    ids = [person.id or 0 for person in asked]
    shop = the_shop(session)
    day = shop.day_of(next_dive.begins)
    found = history(session, ids, [], min(now, next_dive.begins) - LOOK_BACK, now)
    planned = _planned(groups_of(session, day), next_dive, now)
    said = said_today(session, ids, shop.day_of(now))
    factor = limits[L.NITROGEN_GRADIENT_FACTOR].number

    def one_day(person: PersonRow) -> GuideDay:
        key = person.id or 0
        own = next_dive.group_id
        dives = [one for one in found.get((key, None), []) if own is None or one.group_id != own]
        ahead = planned.get(key, [])

        def left(begins: datetime, counted: list[PastDive]) -> Budget:
            return budget(
                [minutes_of(one) for one in counted],
                minute_of(max(begins, *(one.back for one in counted)) if counted else begins),
                next_dive.depth_m,
                next_dive.sea,
                # A factor without a value leaves nothing to anybody.
                0.0 if factor is None else factor,
                DESCENT_M_MIN,
            )

        then = left(next_dive.begins, [*dives, *ahead])
        return GuideDay(
            person,
            tuple(dives),
            tuple(dive for dive in dives if shop.day_of(dive.at) == day),
            tuple(ahead),
            left(now, dives),
            then,
            what_is_left(then, next_dive.minutes, limits),
            said.get(key),
        )

    return [one_day(person) for person in asked]


def next_dive_of(session: Session, view: GroupView, now: datetime) -> NextDive:
    """Return a group's dive as it is planned."""
    begins = max(view.slot.starts_at, now)
    sea = sea_of(session, view.site, view.slot.id)
    return NextDive(begins, view.group.depth_m, view.group.minutes, sea, view.id)


def usual_dive(session: Session, now: datetime) -> tuple[NextDive, InForce]:
    """Return a dive to the usual depth that begins now, for comparing guides, and the limit that sets it."""
    limits = limits_now(session)
    depth = limits[L.DEPTH_PLAN_DEFAULT]
    minutes = limits[L.BOTTOM_TIME_MAX].number or 0.0
    return NextDive(now, depth.number or 0.0, minutes), depth


def sea_of(session: Session, site: SiteRow, slot_id: int | None) -> Sea:
    """Return the water of a site as it was last seen for a slot, else as it usually is."""
    seen = newest_conditions(session, [slot_id]).get(slot_id or 0)
    temp = site.usual_temp_c if seen is None or seen.water_temp_c is None else seen.water_temp_c
    return Sea(temp, site.density_kg_m3, site.surface_pressure_bar)


def _planned(views: Iterable[GroupView], next_dive: NextDive, now: datetime) -> dict[int, list[PastDive]]:
    """Return the dives of the day that are planned before this one and not begun, by person's number."""
    found: dict[int, list[PastDive]] = {}
    for view in views:
        begins = max(view.slot.starts_at, now)
        before = view.slot.starts_at < next_dive.begins and view.id != next_dive.group_id
        if not before or not view.may_change or not (view.group.depth_m and view.group.minutes):
            continue
        ends = begins + timedelta(minutes=view.group.minutes + PLAIN_ASCENT_MIN)
        dive = PastDive(begins, ends, view.group.depth_m, view.label, view.id)
        for one in (view.guide, view.assistant):
            if one is not None and one.row.person_id is not None:
                found.setdefault(one.row.person_id, []).append(dive)
    return found


def day_of_planned(session: Session, day: date) -> dict[int, int]:
    """Return how many groups of a day that have not gone in each person leads or helps."""
    counts: dict[int, int] = {}
    for view in groups_of(session, day):
        for one in (view.guide, view.assistant) if view.may_change else ():
            if one is not None and one.row.person_id is not None:
                counts[one.row.person_id] = counts.get(one.row.person_id, 0) + 1
    return counts

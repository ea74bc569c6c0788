"""How the promised bands held: each closed dive of a guest against the rates of the plan it went in under.

A group is seldom back to the minute and the metre as planned. So the plan's band is moved to the dive that
was dived: the start pressure read, the minutes in the water, the depth written down. That is the same
arithmetic by which rates are learned, turned round. Beside it stands the band as the plan wrote it.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from math import log, sqrt
from typing import Any

from sqlmodel import Session, col, select

from app.planning.breathing import (
    HUBER,
    NORMAL_95,
    REFERENCE_MASS_KG,
    LoggedDive,
    end_at_rate,
    logged_rate_l_min,
)
from app.planning.shares import Share
from app.records.plans.breathing_log import Learned, Lesson
from app.records.plans.logged_dives import Entry
from app.records.plans.plans import newest_plans
from app.records.store.house import House
from app.records.tables.groups import GroupRow, MemberRow, PlanRow
from app.records.water_side.water import member_names


@dataclass(frozen=True)
class Held:
    """One dive against its band, bar gauge. plan_low_bar, plan_high_bar: as written in the plan."""

    at: datetime
    name: str
    group: str
    plan: int
    low_bar: float
    expected_bar: float
    high_bar: float
    end_bar: float
    plan_low_bar: float
    plan_high_bar: float | None

    @property
    def under(self) -> bool:
        """Whether the diver ended under the band."""
        return self.end_bar < self.low_bar

    @property
    def inside(self) -> bool:
        """Whether the diver ended inside the band."""
        return self.low_bar <= self.end_bar <= self.high_bar

    @property
    def as_written(self) -> str:
        """Where the end lies against the band as the plan wrote it: under, inside, over; "" without one."""
        if self.plan_high_bar is None:
            return ""
        over = "over" if self.end_bar > self.plan_high_bar else "inside"
        return "under" if self.end_bar < self.plan_low_bar else over


@dataclass(frozen=True)
class Odd:
    """A dive that weighs little, or nothing, and why. rate_l_min: None when it teaches nothing."""

    at: datetime
    name: str
    group: str
    dive: LoggedDive
    rate_l_min: float | None
    why: str


@dataclass(frozen=True)
class Report:
    """What the manager sees. middle, low and high: L/min at 72 kg in the usual water.

    dives: how many taught, of which earlier came from paper. spread: of the log rate, from dive to dive.
    """

    held: tuple[Held, ...]
    odd: tuple[Odd, ...]
    without_plan: int
    dives: int
    earlier: int
    middle_l_min: float
    low_l_min: float
    high_l_min: float
    spread: float

    @property
    def inside(self) -> int:
        """How many ended inside their band."""
        return sum(one.inside for one in self.held)

    @property
    def under(self) -> int:
        """How many ended under their band."""
        return sum(one.under for one in self.held)

    @property
    def few(self) -> bool:
        """Whether there are too few dives to tell."""
        return Share(self.inside, len(self.held)).few

    @property
    def interval(self) -> tuple[float, float]:
        """Where the true share inside lies, nineteen of twenty times (Wilson 1927), as shares."""
        return Share(self.inside, len(self.held)).interval

    def written(self, where: str) -> int:
        """Return how many ended under, inside or over the band as the plan wrote it."""
        return sum(one.as_written == where for one in self.held)


def breathing_report(session: Session, house: House, since: datetime) -> Report:
    """Return how the bands held since a moment, what is believed now, and which dives were odd."""
    learned = house.breathing.now(session)
    entries = [one for one in house.breathing.entries(session, since) if one.person_id is None]
    lessons = house.breathing.lessons(session, since)
    places = _places(session, [one.member_id for one in entries if one.member_id is not None])
    issued = newest_plans(session, {group for group, _, _ in places.values()})
    plans = {key: _Kept.of(row) for key, row in issued.items()}
    held, without = [], 0
    for one in entries:
        if one.member_id is None or one.rate_l_min is None:
            continue
        group_id, group, name = places[one.member_id]
        plan = plans.get(group_id)
        found = None if plan is None else plan.held(one, name, group)
        if found is None:
            without += 1
        else:
            held.append(found)
    middle = learned.guest(None, REFERENCE_MASS_KG)
    return Report(
        tuple(held),
        tuple(_odd(entries, lessons, learned, places)),
        without,
        learned.belief.dives,
        house.breathing.earlier(session),
        middle.expected_l_min,
        middle.low_l_min,
        middle.high_l_min,
        sqrt(learned.belief.scale / learned.belief.shape),
    )


@dataclass(frozen=True)
class _Kept:
    """A frozen plan's number, and by diver the rates and ends it promised."""

    number: int
    rates: Mapping[str, Mapping[str, Any]]
    ends: Mapping[str, Mapping[str, Any]]

    @staticmethod
    def of(row: PlanRow) -> "_Kept":
        rates = {one["id"]: one for one in json.loads(row.case)["case"]["divers"]}
        return _Kept(row.number, rates, {one["id"]: one for one in json.loads(row.answer)["divers"]})

    def held(self, entry: Entry, name: str, group: str) -> Held | None:
        rates, ends = self.rates.get(str(entry.member_id)), self.ends.get(str(entry.member_id))
        if rates is None or ends is None:
            return None
        expected, careful = rates["expected_rate_l_min"], rates["cautious_rate_l_min"]
        # Plans from before there was a light rate: as far under the middle as the cautious one is over it.
        light = rates.get("light_rate_l_min") or expected * expected / careful
        return Held(
            entry.at,
            name,
            group,
            self.number,
            end_at_rate(entry.dive, careful),
            end_at_rate(entry.dive, expected),
            end_at_rate(entry.dive, light),
            entry.dive.end_bar,
            ends["end_gauge_bar"],
            ends.get("light_end_gauge_bar"),
        )


def _places(session: Session, members: list[int]) -> dict[int, tuple[int, str, str]]:
    """Return group number, group name and person's name of members."""
    asked = select(MemberRow, GroupRow).join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
    rows = list(session.exec(asked.where(col(MemberRow.id).in_(members))))
    names = member_names(session, [member for member, _ in rows])
    return {
        member.id or 0: (group.id or 0, group.name, names.get(member.id or 0, "")) for member, group in rows
    }


def _odd(
    entries: list[Entry],
    lessons: list[Lesson],
    learned: Learned,
    places: Mapping[int, tuple[int, str, str]],
) -> list[Odd]:
    """Return the dives that were left out, and those further from what was believed than nearly all."""
    found: list[tuple[Entry, float | None, str]] = []
    for one in entries:
        if one.left_out:
            found.append((one, None, one.left_out))
    for lesson in lessons:
        told = logged_rate_l_min(lesson.entry.dive)
        believed = Learned(lesson.before, {}, learned.usual_c).guest(
            None, lesson.entry.dive.mass_kg, lesson.entry.dive.age, lesson.entry.dive.water_temp_c
        )
        deviation = log(believed.high_l_min / believed.expected_l_min) / NORMAL_95
        if abs(log(told / believed.expected_l_min)) > HUBER * deviation:
            far = "more" if told > believed.expected_l_min else "less"
            expected = f"{believed.expected_l_min:.0f} L/min was expected"
            found.append((lesson.entry, told, f"Breathed far {far} than others: {expected}. Weighs little."))
    odd = []
    for entry, rate, why in sorted(found, key=lambda one: one[0].place, reverse=True):
        _, group, name = places.get(entry.member_id or 0, (0, "", ""))
        odd.append(Odd(entry.at, name, group, entry.dive, rate, why))
    return odd

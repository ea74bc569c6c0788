"""What state a cylinder is in, and whether it may be given out or filled today.

The state is derived from dates, the last reading and who has it; nobody sets it by hand.
"""

import calendar
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, note, refuse
from app.rules.groups import overlapping
from app.rules.limits import Limit
from app.rules.measure import must, within
from app.rules.people import Engagement, Where
from app.rules.resolve import Limits, needed, show

# How a regulator is fixed to it, in trade words (ISO 12209 for the threaded ones).
VALVES = ("A-clamp", "DIN 200", "DIN 300")


class State(StrEnum):
    """The one word shown for a cylinder."""

    AT_STATION = "at the station"
    QUARANTINED = "quarantined"
    OUT_OF_TEST = "out of test"
    IN_USE = "in use"
    NOT_READ = "not read"
    FULL = "full"
    PART = "part"
    EMPTY = "empty"


@dataclass(frozen=True, slots=True)
class CylinderFacts:
    """One cylinder as the shop knows it.

    litres: water volume. working_pressure_bar: as stamped. gauge_bar: the latest reading, bar gauge.
    gas: "air" or what else is in it.
    visual_every_months, pressure_test_every_months: this cylinder's own intervals; None means the limit's.
    quarantined: None while not known. out_with: who has it, "" for nobody, None while not known.
    station: the test station that it is away at, "" for none, None while not looked up.
    other_groups: groups it is reserved for apart from the one asked about; None while not looked up.
    """

    id: str
    number: str
    litres: float | None
    working_pressure_bar: float | None
    material: str
    last_visual: date | None
    last_pressure_test: date | None
    gauge_bar: float | None
    quarantined: bool | None
    out_with: str | None
    other_groups: tuple[Engagement, ...] | None
    gas: str | None = "air"
    visual_every_months: int | None = None
    pressure_test_every_months: int | None = None
    quarantine_reason: str = ""
    place: str = ""
    station: str | None = ""


@dataclass(frozen=True, slots=True)
class TestDue:
    """One test of a cylinder and the last day it still counts. on: None when no test is on file."""

    __test__ = False

    limit: Limit
    name: str
    on: date | None


@dataclass(frozen=True, slots=True)
class AirFacts:
    """What was measured of the air that goes into a batch of fills, and when the compressor was tested."""

    oxygen_percent: float | None
    co_ppm: float | None
    compressor_air_tested_on: date | None


def add_months(day: date, months: int) -> date:
    """The same day of the month that many months later, or the month's last day."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def tests_due(cylinder: CylinderFacts, limits: Limits) -> tuple[TestDue, ...]:
    """Until when both tests count; the shorter of the cylinder's own interval and the limit."""
    rows = (
        (L.CYLINDER_VISUAL_EVERY, "visual test", cylinder.last_visual, cylinder.visual_every_months),
        (
            L.CYLINDER_PRESSURE_TEST_EVERY,
            "pressure test",
            cylinder.last_pressure_test,
            cylinder.pressure_test_every_months,
        ),
    )
    return tuple(
        TestDue(limit, name, _due(last, own, limits[limit].number)) for limit, name, last, own in rows
    )


def state_of(cylinder: CylinderFacts, limits: Limits, day: date) -> State:
    """The one word for a cylinder on `day`; what keeps it from use comes first."""
    if cylinder.station != "":
        return State.AT_STATION
    if cylinder.quarantined is not False:
        return State.QUARANTINED
    if any(test.on is None or test.on < day for test in tests_due(cylinder, limits)):
        return State.OUT_OF_TEST
    if cylinder.out_with != "":
        return State.IN_USE
    full, empty = limits[L.START_PRESSURE_MIN].number, limits[L.CYLINDER_EMPTY_BELOW].number
    if cylinder.gauge_bar is None or full is None or empty is None:
        return State.NOT_READ
    if cylinder.gauge_bar >= full:
        return State.FULL
    return State.EMPTY if cylinder.gauge_bar < empty else State.PART


def may_give(
    cylinder: CylinderFacts,
    limits: Limits,
    day: date,
    start: datetime,
    end: datetime,
    where: Where = "open",
    to: str = "",
) -> Decision:
    """May this cylinder go to a person for a group from `start` to `end` (aware UTC)?

    to: the name of the person it is for; a cylinder already out with that same person is free for it.
    """
    return all_of(
        (
            usable(cylinder, limits, day, where),
            _free(cylinder, to),
            _not_reserved(cylinder, start, end, limits),
        )
    )


def usable(cylinder: CylinderFacts, limits: Limits, day: date, where: Where) -> Decision:
    """Is the cylinder in test, not set aside, full of air, enough and not above its stamp?"""
    start_rule = L.START_PRESSURE_MIN if where == "open" else L.START_PRESSURE_MIN_CONFINED
    enough = within(
        limits[start_rule],
        cylinder.gauge_bar,
        unknown=f"Cylinder {cylinder.number} has not been read. Read the gauge.",
        broken=f"Cylinder {cylinder.number} holds too little gas. Fill it or take another.",
        who=cylinder.number,
    )
    above = f"Cylinder {cylinder.number} is above its stamp or the stamp is unknown. Take another."
    return all_of(
        (
            _sound(cylinder, limits, day),
            enough,
            _at_most_stamp(cylinder, cylinder.gauge_bar, above),
        )
    )


def may_fill(cylinder: CylinderFacts, limits: Limits, day: date, target_bar: float | None) -> Decision:
    """May the shop fill this cylinder to `target_bar`, bar gauge, today? One that is out is not filled."""
    above = f"The fill would pass cylinder {cylinder.number}'s stamp, or one is unknown. Enter both."
    return all_of(
        (
            _sound(cylinder, limits, day),
            _free(cylinder, ""),
            _at_most_stamp(cylinder, target_bar, above),
        )
    )


def air_is_good(air: AirFacts, limits: Limits, day: date) -> Decision:
    """Is this air to breathe, by what was measured? A fill batch without its measures is not given out."""
    tested = air.compressor_air_tested_on
    interval = limits[L.COMPRESSOR_AIR_TEST_EVERY]
    due = _due(tested, None, interval.number)
    in_date = must(
        L.COMPRESSOR_AIR_TEST_EVERY,
        due is not None and day <= due,
        "The compressor's air test is not in date. Have the air tested.",
        found="no date" if tested is None else tested.isoformat(),
        needed=f"{needed(interval)} {interval.unit} old",
    )
    oxygen = "The oxygen was not measured. Measure the air before filling."
    wrong = "The oxygen is not that of air. Stop filling and find out why."
    return all_of(
        (
            within(limits[L.AIR_OXYGEN_MIN], air.oxygen_percent, unknown=oxygen, broken=wrong),
            within(limits[L.AIR_OXYGEN_MAX], air.oxygen_percent, unknown=oxygen, broken=wrong),
            within(
                limits[L.AIR_CO_MAX],
                air.co_ppm,
                unknown="Carbon monoxide was not measured. Measure the air before filling.",
                broken="There is too much carbon monoxide. Stop filling and set these cylinders aside.",
            ),
            in_date,
        )
    )


def may_send(cylinder: CylinderFacts) -> Decision:
    """May this cylinder go to a test station: is it in the shop and in nobody's hand?"""
    return all_of((is_here(cylinder), _free(cylinder, "")))


def is_here(cylinder: CylinderFacts) -> Decision:
    """Is the cylinder in the shop, and not away at a test station?"""
    return must(
        L.CYLINDER_HERE,
        cylinder.station == "",
        f"Cylinder {cylinder.number} is away at a test station. Write down first that it is back.",
        found="not known" if cylinder.station is None else f"at {cylinder.station}",
        needed="in the shop",
        who=cylinder.number,
    )


def _sound(cylinder: CylinderFacts, limits: Limits, day: date) -> Decision:
    set_aside = must(
        L.CYLINDER_NOT_QUARANTINED,
        cylinder.quarantined is False,
        f"Cylinder {cylinder.number} is set aside. Take another.",
        found=cylinder.quarantine_reason or "set aside",
        needed="in use",
        who=cylinder.number,
    )
    air = must(
        L.AIR_ONLY,
        cylinder.gas == "air",
        f"Cylinder {cylinder.number} does not hold plain air. Set it aside.",
        found=cylinder.gas or "not known",
        needed="air",
        who=cylinder.number,
    )
    return all_of(
        (
            is_here(cylinder),
            set_aside,
            air,
            *(_in_test(cylinder, test, limits, day) for test in tests_due(cylinder, limits)),
        )
    )


def _in_test(cylinder: CylinderFacts, test: TestDue, limits: Limits, day: date) -> Decision:
    number, name = cylinder.number, test.name
    found = "no date" if test.on is None else f"until {test.on.isoformat()}"
    if test.on is None or test.on < day:
        text = f"The {name} of cylinder {number} is not in date. Set the cylinder aside."
        return refuse(
            Reason(
                L.CYLINDER_IN_TEST.key,
                text,
                found,
                f"until {day.isoformat()} or later",
                "",
                limits[test.limit].bound_by,
                number,
            )
        )
    notice = limits[L.CYLINDER_TEST_NOTICE].number
    if notice is None or (test.on - day).days <= notice:
        text = f"The {name} of cylinder {number} is due soon. Book the test."
        return note(Reason(L.CYLINDER_TEST_NOTICE.key, text, found, show(notice), "days", "", number))
    return Decision()


def _at_most_stamp(cylinder: CylinderFacts, bar: float | None, text: str) -> Decision:
    stamp = cylinder.working_pressure_bar
    return must(
        L.CYLINDER_NOT_ABOVE_STAMP,
        bar is not None and stamp is not None and bar <= stamp,
        text,
        found="not known" if bar is None else f"{bar:g} bar",
        needed="a stamped pressure" if stamp is None else f"at most {stamp:g} bar",
        who=cylinder.number,
    )


def _free(cylinder: CylinderFacts, to: str) -> Decision:
    holder = cylinder.out_with
    return must(
        L.CYLINDER_FREE,
        holder is not None and holder in {"", to},
        f"Cylinder {cylinder.number} is with someone else. Take another.",
        found=holder or "not known",
        needed="with nobody",
        who=cylinder.number,
    )


def _not_reserved(cylinder: CylinderFacts, start: datetime, end: datetime, limits: Limits) -> Decision:
    gap = limits[L.SLOT_GAP].number
    if cylinder.other_groups is None or gap is None:
        text = f"Nobody knows whether cylinder {cylinder.number} is reserved. Open the day again."
        return refuse(Reason(L.NO_OVERLAP.key, text, "not known", "free", "", "hard limit", cylinder.number))
    return refuse(
        *(
            Reason(
                L.NO_OVERLAP.key,
                f"Cylinder {cylinder.number} is reserved for {other.label} then. Take another.",
                other.label,
                "free",
                "",
                "hard limit",
                cylinder.number,
            )
            for other in overlapping(cylinder.other_groups, start, end, gap)
        )
    )


def _due(last: date | None, own_months: int | None, limit_months: float | None) -> date | None:
    if last is None or limit_months is None:
        return None
    months = int(limit_months) if own_months is None else min(own_months, int(limit_months))
    return add_months(last, months)

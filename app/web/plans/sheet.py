"""A worked-out plan as a page shows it. Figures stay as kept; the page rounds them to the careful side.

The same sheet is made from the plan as it comes out now and from one that was issued and frozen.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import floor
from typing import Any

from markupsafe import Markup

from app.planning.units import METRIC, Units
from app.rules import limits
from app.rules.plan_basis import USED
from app.rules.resolve import show
from app.web.plans import words as plan_words
from app.web.plans.picture import picture

PARTS = {"guide": "guide", "assistant": "assistant", "guest": "guest"}
EVERY_MIN = 5


@dataclass(frozen=True)
class DiverLine:
    """One diver's gas. Pressures in bar, rates in L/min at the diver's pressure, minutes rounded down.

    gauge, gauge_temp_c: what the cylinder held when it was last read; at_the_water: read there, by the guide.
    Nine of ten end between ``end`` and ``light_end``; None in a plan issued before that was worked out.
    own_dives: how many dives of this guest's own the rates rest on.
    """

    id: str
    name: str
    part: str
    cylinder: str
    litres: float
    cautious_rate: float
    expected_rate: float
    light_rate: float | None
    gauge: float
    gauge_temp_c: float
    at_the_water: bool
    start: float
    used: float
    used_litres: float
    at_turn: float
    expected_end: float
    end: float
    light_end: float | None
    own_dives: int
    to_turn: int | None
    to_reserve: int | None
    to_sharing: int | None
    sharing: float
    covered: bool
    reserve: float


@dataclass(frozen=True)
class NitrogenLine:
    """One diver's no-stop time in whole minutes rounded down; None is without limit."""

    name: str
    zhl: int | None
    navy: int | None
    speaks: str
    left: int | None
    navy_is_stricter: bool


@dataclass(frozen=True)
class Cell:
    """One cell of the what-if table: the lowest end pressure in bar, and what it breaks, in words."""

    minutes: float
    bar: float
    breaks: tuple[str, ...]
    here: bool


@dataclass(frozen=True)
class Moment:
    """One row of the table under the picture: minute, depth in m, each gauge in bar."""

    minute: float
    depth_m: float
    gauges: tuple[float, ...]


@dataclass(frozen=True)
class PlanSheet:
    """Everything that is shown of a plan. limits: key -> value, unit, who bound it."""

    about: Mapping[str, Any]
    case: Mapping[str, Any]
    answer: Mapping[str, Any]
    limits: Mapping[str, Any]
    divers: tuple[DiverLine, ...]
    nitrogen: tuple[NitrogenLine, ...]
    reserve: float
    reserve_bound_by: str
    latest: int
    turns: str
    limited_by: str
    gas_bounds: bool
    warnings: tuple[tuple[str, str], ...]
    grid: tuple[tuple[float, tuple[Cell, ...]], ...]
    tissue: str
    finding: str
    picture: Markup
    moments: tuple[Moment, ...]

    @property
    def times(self) -> tuple[str, ...]:
        """The columns of the what-if table."""
        return tuple(f"{one.minutes:g} min" for one in self.grid[0][1])

    @property
    def day(self) -> date:
        """The day of the dive."""
        return date.fromisoformat(self.about["day"])

    @property
    def depth_rule(self) -> str:
        """The key of the limit that binds the depth."""
        return str(self.about["depth_rule"])

    @property
    def breathing(self) -> str:
        """What the breathing rates rest on, in one sentence; "" in a plan from before rates were learned."""
        kept = self.about.get("breathing")
        return "" if kept is None else plan_words.rests_on(kept["dives"])

    @property
    def ran_under(self) -> tuple[tuple[str, str, str, str], ...]:
        """Each limit the plan used: key, what it is, value with unit, who set it."""
        return tuple(
            (limit.key, limit.what, f"{show(kept['value'])} {kept['unit']}", kept["bound_by"])
            for limit in USED
            if (kept := self.limits.get(limit.key)) is not None
        )

    @property
    def turn(self) -> float:
        """The turn pressure in bar."""
        return float(self.case["turn_bar"])

    @property
    def working(self) -> tuple[tuple[str, str, tuple[Mapping[str, Any], ...]], ...]:
        """The lines of the working: the group's under "", then each diver's, by id and name."""
        steps = self.answer["working"]
        who = [("", ""), *((one.id, one.name) for one in self.divers)]
        sorted_out = ((key, name, tuple(s for s in steps if s.get("who", "") == key)) for key, name in who)
        return tuple(part for part in sorted_out if part[2])


def sheet_of(
    about: Mapping[str, Any],
    case: Mapping[str, Any],
    answer: Mapping[str, Any],
    limits_kept: Mapping[str, Any],
    units: Units = METRIC,
) -> PlanSheet:
    """Return the sheet of a plan as it is kept; its picture is drawn in the reader's units."""
    tightest = max(answer["divers"], key=lambda one: one["reserve_in_force_bar"])
    by_rule = tightest["reserve_bound_by"] == limits.END_PRESSURE_MIN.key
    return PlanSheet(
        about=about,
        case=case,
        answer=answer,
        limits=limits_kept,
        divers=tuple(_diver(number, about, case, answer) for number in range(len(answer["divers"]))),
        nitrogen=tuple(_nitrogen(one) for one in answer["nitrogen"]),
        reserve=tightest["reserve_in_force_bar"],
        reserve_bound_by=limits_kept[limits.END_PRESSURE_MIN.key]["bound_by"]
        if by_rule
        else f"sharing gas with {tightest['name']}'s cylinder",
        latest=floor(answer["latest_ascent_min"]),
        turns=plan_words.who_turns(answer),
        limited_by=plan_words.what_limits(answer),
        gas_bounds=plan_words.ascent_limit(answer) == "reserve",
        warnings=plan_words.warnings(answer),
        grid=_grid(answer, limits_kept, about["depth_rule"]),
        tissue=plan_words.least_no_stop(answer),
        finding=plan_words.finding(answer),
        picture=picture(answer, case["turn_bar"], units),
        moments=_moments(answer),
    )


def _diver(
    number: int, about: Mapping[str, Any], case: Mapping[str, Any], answer: Mapping[str, Any]
) -> DiverLine:
    one = answer["divers"][number]
    diver = next(diver for diver in case["divers"] if diver["id"] == one["id"])
    turn = min(answer["minutes_to_first_turn"], answer["ascent_starts_min"])
    return DiverLine(
        id=one["id"],
        name=one["name"],
        part=PARTS[about["parts"][one["id"]]],
        cylinder=about["cylinders"][one["id"]],
        litres=one["litres"],
        cautious_rate=diver["cautious_rate_l_min"],
        expected_rate=diver["expected_rate_l_min"],
        light_rate=diver.get("light_rate_l_min"),
        gauge=diver["fill_gauge_bar"],
        gauge_temp_c=diver["fill_temp_c"],
        at_the_water=about.get("start_read", {}).get(one["id"]) is not None,
        start=one["start_gauge_bar"],
        used=one["start_gauge_bar"] - one["end_gauge_bar"],
        used_litres=one["used_litres"],
        at_turn=_gauge_at(answer["curve"], number, turn),
        expected_end=one["expected_end_gauge_bar"],
        end=one["end_gauge_bar"],
        light_end=one.get("light_end_gauge_bar"),
        own_dives=about.get("breathing", {}).get("own", {}).get(one["id"], 0),
        to_turn=_down(one["minutes_to_turn"]),
        to_reserve=_down(one["minutes_to_reserve"]),
        to_sharing=_down(one.get("minutes_to_sharing")),
        sharing=one["sharing_gauge_bar"],
        covered=one["reserve_covers_sharing"],
        reserve=one["reserve_in_force_bar"],
    )


def _down(minutes: float | None) -> int | None:
    return None if minutes is None else floor(minutes)


def _nitrogen(one: Mapping[str, Any]) -> NitrogenLine:
    return NitrogenLine(
        one["name"],
        _down(one["zhl_minutes_total"]),
        _down(one["navy_minutes_total"]),
        one["binding_model"],
        _down(one["minutes_left"]),
        one["navy_is_stricter"],
    )


def _gauge_at(curve: list[Mapping[str, Any]], number: int, minute: float) -> float:
    for before, after in pairwise(curve):
        if before["minute"] <= minute <= after["minute"]:
            share = (minute - before["minute"]) / (after["minute"] - before["minute"])
            first, second = before["gauges_bar"][number], after["gauges_bar"][number]
            return float(first + (second - first) * share)
    return float(curve[-1]["gauges_bar"][number])


def _grid(
    answer: Mapping[str, Any], kept: Mapping[str, Any], depth_rule: str
) -> tuple[tuple[float, tuple[Cell, ...]], ...]:
    deepest, longest = kept[depth_rule]["value"], kept[limits.BOTTOM_TIME_MAX.key]["value"]
    rows: dict[float, list[Cell]] = {}
    for cell in answer["what_if"]:
        bar = cell["lowest_end_gauge_bar"]
        broken = (
            ("gas runs out", bar <= 0),
            ("under reserve", bar > 0 and not cell["reserve_holds"]),
            ("over no-stop", not cell["no_stop_holds"]),
            ("over depth limit", deepest is not None and cell["depth_m"] > deepest),
            ("over time limit", longest is not None and cell["minutes"] > longest),
        )
        breaks = tuple(words for words, found in broken if found)
        rows.setdefault(cell["depth_m"], []).append(Cell(cell["minutes"], bar, breaks, cell["is_this_plan"]))
    return tuple((depth, tuple(cells)) for depth, cells in rows.items())


def _moments(answer: Mapping[str, Any]) -> tuple[Moment, ...]:
    corners = {minute for minute, _ in answer["waypoints"]}
    return tuple(
        Moment(point["minute"], point["depth_m"], tuple(point["gauges_bar"]))
        for point in answer["curve"]
        if point["minute"] in corners or point["minute"] % EVERY_MIN == 0
    )

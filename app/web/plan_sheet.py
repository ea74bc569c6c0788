"""A worked-out plan as a page shows it: every figure rounded to the safe side, every sentence whole.

The same sheet is made from the plan as it comes out now and from one that was issued and frozen.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import ceil, floor
from typing import Any

from markupsafe import Markup

from app.rules import limits
from app.rules.plan_basis import USED
from app.rules.resolve import show
from app.web.plan_picture import picture

PARTS = {"guide": "guide", "assistant": "assistant", "guest": "guest"}
EVERY_MIN = 5
# What is believed before the first dive counts as much as so many dives.
PRIOR_DIVES = 12


@dataclass(frozen=True)
class DiverLine:
    """One diver's gas: pressures in whole bar rounded down, needs rounded up, minutes rounded down.

    Nine of ten end between ``end`` and ``light_end``; None in a plan issued before that was worked out.
    own_dives: how many dives of this guest's own the rates rest on.
    """

    name: str
    part: str
    cylinder: str
    litres: float
    cautious_rate: float
    expected_rate: float
    start: int
    at_turn: int
    expected_end: int
    end: int
    light_end: int | None
    own_dives: int
    to_turn: int
    to_reserve: int
    to_sharing: int | None
    sharing: int
    covered: bool
    reserve: int


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
    """One cell of the what-if table."""

    minutes: float
    bar: int
    holds: bool
    no_stop_holds: bool
    here: bool

    @property
    def words(self) -> str:
        """The lowest end pressure, and what does not hold."""
        if self.bar <= 0:
            return "gas runs out"
        if not self.holds:
            return f"{self.bar} bar, under reserve"
        return f"{self.bar} bar" if self.no_stop_holds else f"{self.bar} bar, over no-stop"


@dataclass(frozen=True)
class Moment:
    """One row of the table under the picture."""

    minute: float
    depth_m: float
    gauges: tuple[int, ...]


@dataclass(frozen=True)
class PlanSheet:
    """Everything that is shown of a plan. limits: key -> value, unit, who bound it."""

    about: Mapping[str, Any]
    case: Mapping[str, Any]
    answer: Mapping[str, Any]
    limits: Mapping[str, Any]
    divers: tuple[DiverLine, ...]
    nitrogen: tuple[NitrogenLine, ...]
    reserve: int
    reserve_bound_by: str
    latest: int
    run: int
    limited_by: str
    turns: str
    gas_bounds: bool
    warnings: tuple[tuple[str, str], ...]
    grid: tuple[tuple[float, tuple[Cell, ...]], ...]
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
    def deepest(self) -> tuple[str, str]:
        """The limit that binds the depth: its key, and its value with who set it."""
        key = self.about["depth_rule"]
        kept = self.limits[key]
        return key, f"at most {kept['value']:g} m · {kept['bound_by']}"

    @property
    def breathing(self) -> str:
        """What the breathing rates rest on, in one sentence; "" in a plan from before rates were learned."""
        kept = self.about.get("breathing")
        return "" if kept is None else rests_on(kept["dives"])

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


def rests_on(dives: int) -> str:
    """Say what a guest's breathing rate rests on after so many dives of the shop."""
    if dives == 0:
        return "Breathing: no shop data yet, our own starting guess."
    learned = f"Breathing: learned from {dives} {'dive' if dives == 1 else 'dives'} of this shop"
    few = dives < PRIOR_DIVES
    return f"{learned}. Our own starting guess still weighs more." if few else f"{learned}."


def sheet_of(
    about: Mapping[str, Any],
    case: Mapping[str, Any],
    answer: Mapping[str, Any],
    limits_kept: Mapping[str, Any],
) -> PlanSheet:
    """Return the sheet of a plan as it is kept."""
    divers = tuple(_diver(one, about, case, answer) for one in answer["divers"])
    tightest = max(answer["divers"], key=lambda one: one["reserve_in_force_bar"])
    lowest = min(answer["divers"], key=lambda one: one["end_gauge_bar"])
    by_rule = tightest["reserve_bound_by"] == limits.END_PRESSURE_MIN.key
    return PlanSheet(
        about=about,
        case=case,
        answer=answer,
        limits=limits_kept,
        divers=divers,
        nitrogen=tuple(_nitrogen(one) for one in answer["nitrogen"]),
        reserve=ceil(tightest["reserve_in_force_bar"]),
        reserve_bound_by=limits_kept[limits.END_PRESSURE_MIN.key]["bound_by"]
        if by_rule
        else f"sharing gas with {tightest['name']}'s cylinder",
        latest=floor(answer["latest_ascent_min"]),
        run=ceil(answer["run_min"]),
        limited_by=_limited_by(answer),
        turns=_turns(answer),
        gas_bounds=_ascent_limit(answer) == "reserve",
        warnings=_warnings(answer),
        grid=_grid(answer),
        finding=_finding(lowest["name"], floor(lowest["end_gauge_bar"])),
        picture=picture(answer, case["turn_bar"]),
        moments=_moments(answer),
    )


def _diver(
    one: Mapping[str, Any], about: Mapping[str, Any], case: Mapping[str, Any], answer: Mapping[str, Any]
) -> DiverLine:
    diver = next(diver for diver in case["divers"] if diver["id"] == one["id"])
    number = [gas["id"] for gas in answer["divers"]].index(one["id"])
    turn = min(answer["minutes_to_first_turn"], answer["ascent_starts_min"])
    return DiverLine(
        name=one["name"],
        part=PARTS[about["parts"][one["id"]]],
        cylinder=about["cylinders"][one["id"]],
        litres=one["litres"],
        cautious_rate=diver["cautious_rate_l_min"],
        expected_rate=diver["expected_rate_l_min"],
        start=floor(one["start_gauge_bar"]),
        at_turn=floor(_gauge_at(answer["curve"], number, turn)),
        expected_end=floor(one["expected_end_gauge_bar"]),
        end=floor(one["end_gauge_bar"]),
        light_end=_down(one.get("light_end_gauge_bar")),
        own_dives=about.get("breathing", {}).get("own", {}).get(one["id"], 0),
        to_turn=floor(one["minutes_to_turn"]),
        to_reserve=floor(one["minutes_to_reserve"]),
        to_sharing=_down(one.get("minutes_to_sharing")),
        sharing=ceil(one["sharing_gauge_bar"]),
        covered=one["reserve_covers_sharing"],
        reserve=ceil(one["reserve_in_force_bar"]),
    )


def _down(figure: float | None) -> int | None:
    return None if figure is None else floor(figure)


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


def _finding(name: str, bar: int) -> str:
    if bar <= 0:
        return f"{name}'s gas does not last for this dive on the cautious rate."
    return (
        f"Everybody is back at the surface with {bar} bar or more on the cautious rate. {name} has the least."
    )


def _ascent_limit(answer: Mapping[str, Any]) -> str:
    """Return what bounds the way up; in older plans that stands where newer ones name what comes first."""
    return str(answer.get("ascent_limit", answer["limit"]))


def _limited_by(answer: Mapping[str, Any]) -> str:
    names = {one["id"]: one["name"] for one in answer["divers"]}
    who = names.get(answer.get("ascent_limit_who", answer["limit_who"]), "")
    return {
        "planned_minutes": "The planned time comes first. Gas and no-stop time would last longer.",
        "reserve": f"{who}'s gas comes first: later than this, {who} is back under the reserve.",
        "no_stop": f"{who}'s no-stop time comes first.",
    }[_ascent_limit(answer)]


def _turns(answer: Mapping[str, Any]) -> str:
    """Say who turns the group, and whether that comes before the way up would begin anyway."""
    name = next(one["name"] for one in answer["divers"] if one["id"] == answer["first_to_turn"])
    minute = answer["minutes_to_first_turn"]
    if minute <= 0:
        return f"{name} starts at the turn pressure or under it."
    if minute >= answer["latest_ascent_min"]:
        return f"Not reached: the way up begins before. {name} would be first, at minute {floor(minute)}."
    return f"{name} is first, at minute {floor(minute)} on the cautious rate."


def _warnings(answer: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Return (rule, sentence) for everything that the plan does not keep."""
    gas = {one["id"]: one for one in answer["divers"]}
    found = []
    for warn in answer["warnings"]:
        one = gas[warn["who"]]
        name, value, reserve = one["name"], warn["value"], ceil(one["reserve_in_force_bar"])
        rule, sentence = {
            "out_of_gas": (
                limits.END_PRESSURE_MIN,
                f"{name}'s cylinder is empty at minute {floor(value)} of this dive.",
            ),
            "ends_under_reserve": (
                limits.END_PRESSURE_MIN,
                f"{name} would be back with {floor(value)} bar, under the reserve of {reserve} bar.",
            ),
            "reserve_at_or_over_turn": (
                limits.TURN_PRESSURE,
                f"{name}'s reserve of {reserve} bar is not under the turn pressure.",
            ),
            "sharing_needs_more_than_rule": (
                limits.SHARING_GAS_COVERED,
                f"Two people on {name}'s cylinder need {ceil(value)} bar to come up. "
                f"So {name}'s reserve is {reserve} bar.",
            ),
            "over_no_stop": (
                limits.NO_STOP_LEFT_MIN,
                f"{name}'s no-stop time would be over by {ceil(-value)} min.",
            ),
        }[warn["key"]]
        found.append((rule.key, sentence))
    return tuple(found)


def _grid(answer: Mapping[str, Any]) -> tuple[tuple[float, tuple[Cell, ...]], ...]:
    rows: dict[float, list[Cell]] = {}
    for cell in answer["what_if"]:
        rows.setdefault(cell["depth_m"], []).append(
            Cell(
                cell["minutes"],
                floor(cell["lowest_end_gauge_bar"]),
                cell["reserve_holds"],
                cell["no_stop_holds"],
                cell["is_this_plan"],
            )
        )
    return tuple((depth, tuple(cells)) for depth, cells in rows.items())


def _moments(answer: Mapping[str, Any]) -> tuple[Moment, ...]:
    corners = {minute for minute, _ in answer["waypoints"]}
    return tuple(
        Moment(point["minute"], point["depth_m"], tuple(floor(bar + 1e-9) for bar in point["gauges_bar"]))
        for point in answer["curve"]
        if point["minute"] in corners or point["minute"] % EVERY_MIN == 0
    )

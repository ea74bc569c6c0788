"""A plan of fills: which cylinders, to what pressure, in what order, and when each is full and cool.

Earliest need first; inside a need the cylinders that take least air. Which cylinder serves which need never
depends on how quick the compressor is, so a quicker one is never later. Each cylinder first gets what the
banks still give (lowest first), the compressor adds the rest. Whether cylinders are filled one by one or
several on one line, the compressor's minutes add up to the same.

Pressures in bar gauge, volumes in litres, times in minutes from now. Knows no limit of any shop.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from math import ceil, inf

from app.planning import air
from app.planning.cylinder import settled_gauge
from app.planning.filling import Bank, cascade, charging_minutes, litres_to_fill
from app.planning.water import STANDARD_SURFACE_BAR


@dataclass(frozen=True, slots=True)
class Stock:
    """A cylinder to plan with: gauge_bar at temp_c; free_in: minutes until it is in the shop and may be used;
    cool_in: minutes until the gas of its last fill has cooled."""

    key: int
    litres: float
    stamp_bar: float
    gauge_bar: float
    temp_c: float
    free_in: float = 0.0
    cool_in: float = 0.0


@dataclass(frozen=True, slots=True)
class Need:
    """So many cylinders at one moment, each with at least least_bar once it has the water's temperature."""

    key: int
    due_in: float
    count: int
    least_bar: float
    water_c: float


@dataclass(frozen=True, slots=True)
class Way:
    """How the shop fills. free_air_l_min: None while nobody knows it, then the plan has no times.

    gas_c: gas temperature right after a fill, the warmest that it gets. room_c: of banks and cooled
    cylinders. step_bar: pressures to fill to are rounded up to it.
    """

    free_air_l_min: float | None
    gas_c: float
    cooling_min: float
    handling_min: float
    room_c: float = 20.0
    step_bar: float = 5.0


@dataclass(frozen=True, slots=True)
class Step:
    """One fill. to_bar, most_bar: as the warm gauge shows them; settled_bar: in the water of its need.

    bank_bar: what the banks alone bring it to at room temperature; litres: what the compressor adds.
    minutes: None while the compressor's delivery is not known, as are the other times.
    """

    key: int
    need: int
    from_bar: float
    to_bar: float
    most_bar: float
    settled_bar: float
    bank_bar: float
    bank_litres: float
    litres: float
    minutes: float | None
    starts_in: float | None
    ready_in: float | None
    latest_start: float | None


@dataclass(frozen=True, slots=True)
class Answer:
    """What becomes of one need. ready: cylinders that are full for it already; filled: those to fill.

    missing: how many no cylinder is left for. late: how many are ready after it is due.
    ready_in: when the last of those that there are is ready; None when a time is not known.
    """

    need: Need
    ready: tuple[int, ...]
    filled: tuple[int, ...]
    missing: int
    late: int | None
    ready_in: float | None

    @property
    def held(self) -> bool:
        """Whether every cylinder of it is ready in time, as far as anybody knows."""
        return self.missing == 0 and self.late == 0


@dataclass(frozen=True, slots=True)
class FillPlan:
    """The whole of it, in the order of work. banks: what is left in them, by their key.

    litres: what the compressor pumps. minutes: its running time, without handling; None while not known.
    latest_start: minutes from now (below 0: too late) so that every need is held.
    """

    steps: tuple[Step, ...]
    answers: tuple[Answer, ...]
    banks: Mapping[int, Bank]
    litres: float
    minutes: float | None
    latest_start: float | None


def most_bar(stamp_bar: float, way: Way, water_c: float) -> float:
    """Return the highest pressure right after a fill with which the stamp is held, warm and in the water."""
    if water_c <= way.gas_c:
        return stamp_bar
    return settled_gauge(stamp_bar, water_c, way.gas_c)


def pressure_to_fill(need: Need, stamp_bar: float, way: Way) -> float | None:
    """Return the pressure to fill to, warm, that leaves enough in the water; None above the stamp."""
    hot = settled_gauge(need.least_bar, need.water_c, way.gas_c)
    most = most_bar(stamp_bar, way, need.water_c)
    if hot > most:
        return None
    return min(most, ceil(round(hot / way.step_bar, 9)) * way.step_bar)


def plan_fills(
    stock: Iterable[Stock], needs: Iterable[Need], banks: Mapping[int, Bank], way: Way
) -> FillPlan:
    """Plan the fills for these needs; raises ValueError for a delivery that is not above 0 L/min."""
    if way.free_air_l_min is not None and way.free_air_l_min <= 0:
        raise ValueError("the delivery must be above 0 L/min")
    left = {one.key: one for one in sorted(stock, key=lambda one: one.key)}
    chosen: list[tuple[Need, Stock]] = []
    ready: dict[int, list[Stock]] = {}
    ordered = sorted(needs, key=lambda one: (one.due_in, -one.least_bar, one.water_c, one.key))
    for need in ordered:
        full = sorted(
            (one for one in left.values() if _settled(one, need) >= need.least_bar),
            key=lambda one: (_ready_in(one) > need.due_in, _settled(one, need), one.key),
        )[: need.count]
        ready[need.key] = full
        to_fill = sorted(
            (
                one
                for one in left.values()
                if one not in full and pressure_to_fill(need, one.stamp_bar, way) is not None
            ),
            key=lambda one: (one.free_in, _grams_short(one, need, way), one.key),
        )[: need.count - len(full)]
        chosen += [(need, one) for one in to_fill]
        for one in (*full, *to_fill):
            del left[one.key]
    steps, after = _steps(chosen, banks, way)
    steps = _with_latest_starts(steps, {need.key: need for need in ordered}, way)
    by_need = {key: list(group) for key, group in groupby(steps, key=lambda step: step.need)}
    minutes = None
    litres = sum(step.litres for step in steps)
    if way.free_air_l_min is not None:
        minutes = litres / way.free_air_l_min
    return FillPlan(
        steps=tuple(steps),
        answers=tuple(_answer(need, ready[need.key], by_need.get(need.key, [])) for need in ordered),
        banks=after,
        litres=litres,
        minutes=minutes,
        latest_start=steps[0].latest_start if steps else None,
    )


def _steps(
    chosen: list[tuple[Need, Stock]], banks: Mapping[int, Bank], way: Way
) -> tuple[list[Step], Mapping[int, Bank]]:
    keys = sorted(banks, key=lambda key: (banks[key].gauge_bar, banks[key].litres, key))
    stored = [banks[key] for key in keys]
    steps: list[Step] = []
    clock: float | None = 0.0
    for need, one in chosen:
        to_bar = pressure_to_fill(need, one.stamp_bar, way) or 0.0
        begins = settled_gauge(one.gauge_bar, one.temp_c, way.room_c)
        filled = cascade(stored, one.litres, begins, settled_gauge(to_bar, way.gas_c, way.room_c), way.room_c)
        stored = list(filled.banks)
        litres = filled.missing_litres
        minutes = _minutes(litres, way)
        starts = None if clock is None else max(clock, one.free_in)
        clock = None if starts is None or minutes is None else starts + minutes
        steps.append(
            Step(
                key=one.key,
                need=need.key,
                from_bar=one.gauge_bar,
                to_bar=to_bar,
                most_bar=most_bar(one.stamp_bar, way, need.water_c),
                settled_bar=settled_gauge(to_bar, way.gas_c, need.water_c),
                bank_bar=filled.gauge_bar,
                bank_litres=litres_to_fill(one.litres, begins, filled.gauge_bar, way.room_c),
                litres=litres,
                minutes=minutes,
                starts_in=starts,
                ready_in=None if clock is None else clock + way.cooling_min,
                latest_start=None,
            )
        )
    return steps, dict(zip(keys, stored, strict=True))


def _with_latest_starts(steps: list[Step], needs: Mapping[int, Need], way: Way) -> list[Step]:
    latest = inf
    found: list[Step] = []
    for step in reversed(steps):
        if step.minutes is None:
            return steps
        latest = min(latest, needs[step.need].due_in - way.cooling_min) - step.minutes
        values = {name: getattr(step, name) for name in Step.__slots__}
        found.append(Step(**{**values, "latest_start": latest}))
    return found[::-1]


def _answer(need: Need, ready: list[Stock], steps: list[Step]) -> Answer:
    times: list[float | None] = [*(_ready_in(one) for one in ready), *(step.ready_in for step in steps)]
    known = [time for time in times if time is not None]
    whole = len(known) == len(times)
    return Answer(
        need=need,
        ready=tuple(one.key for one in ready),
        filled=tuple(step.key for step in steps),
        missing=need.count - len(times),
        late=sum(time > need.due_in for time in known) if whole else None,
        ready_in=max(known, default=0.0) if whole else None,
    )


def _settled(one: Stock, need: Need) -> float:
    return settled_gauge(one.gauge_bar, one.temp_c, need.water_c)


def _ready_in(one: Stock) -> float:
    return max(one.free_in, one.cool_in)


def _grams_short(one: Stock, need: Need, way: Way) -> float:
    to_bar = pressure_to_fill(need, one.stamp_bar, way) or 0.0
    wanted = air.density(to_bar + STANDARD_SURFACE_BAR, way.gas_c)
    held = air.density(one.gauge_bar + STANDARD_SURFACE_BAR, one.temp_c)
    return one.litres * max(0.0, wanted - held)


def _minutes(litres: float, way: Way) -> float | None:
    if way.free_air_l_min is None:
        return None
    return way.handling_min + charging_minutes(litres, way.free_air_l_min)

"""``daybuoy plan`` against sums in small steps that share nothing with it: CoolProp's air, numpy and scipy.

200 random cases, seeds 0 to 199: depths to 40 m over several levels, lakes at altitude, cold and hot fills,
rates for each segment, earlier dives. Tolerances are those of the worked tables.
"""

import random
from itertools import pairwise
from math import log
from typing import Any

import numpy as np
import pytest
from CoolProp import PT_INPUTS, AbstractState, DmassT_INPUTS
from scipy.signal import lfilter

from tests.cli.plan_cases import case, plan
from tests.planning.tables import rows

STEP_MIN = 0.02
STAY_MIN = 2000.0
BAR = 1e5
LISTED = [row for row in rows("zhl16c") if row["default16"] == "yes"]
HALF = np.array([float(row["half_time_min"]) for row in LISTED])
A = np.array([float(row["a_bar"]) for row in LISTED])
B = np.array([float(row["b"]) for row in LISTED])
Steps = tuple[np.ndarray, np.ndarray, np.ndarray]


class Air:
    """CoolProp's dry air at one temperature; thin air from a table of its own, which is faster."""

    def __init__(self, celsius: float) -> None:
        self.state, self.kelvin = AbstractState("HEOS", "Air"), celsius + 273.15
        self.bars = np.linspace(0.4, 7.0, 60)
        self.densities = np.array([self.density(bar) for bar in self.bars])

    def density(self, bar: float) -> float:
        self.state.update(PT_INPUTS, bar * BAR, self.kelvin)
        return float(self.state.rhomass())

    def bar(self, density: float) -> float:
        self.state.update(DmassT_INPUTS, density, self.kelvin)
        return float(self.state.p()) / BAR

    def thin(self, bars: np.ndarray) -> np.ndarray:
        return np.interp(bars, self.bars, self.densities)


def random_case(seed: int) -> dict[str, Any]:
    """Return a case; the profile is whatever chance makes of it, up and down."""
    chance = random.Random(seed)

    def profile() -> list[list[float]]:
        points, minute, deepest = [[0.0, 0.0]], 0.0, chance.choice((6, 12, 12, 18, 40))
        for _ in range(chance.randint(1, 7)):
            minute += chance.uniform(0.5, 12)
            depth = points[-1][1] if len(points) > 1 and chance.random() < 0.5 else chance.uniform(0, deepest)
            points.append([minute, depth])
        return [*points, [minute + chance.uniform(0.5, 4), 0.0]]

    points = profile()
    deepest = max(depth for _, depth in points)
    ascent = points[-2][0] if chance.random() < 0.7 else chance.uniform(0.5, points[-1][0])
    rate = chance.uniform(8, 45)
    rates = [rate * chance.uniform(0.7, 1.4) for _ in points[1:]] if chance.random() < 0.4 else rate
    water = chance.uniform(0, 33)
    return case(
        water_temp_c=water,
        water_density_kg_m3=chance.uniform(995, 1035),
        surface_pressure_bar=chance.choice((1.01325, chance.uniform(0.75, 1.04))),
        profile_min_m=points,
        final_ascent_starts_min=ascent,
        stops={
            "gf": chance.choice((1.0, 0.85, 0.7)),
            "previous_dives": [
                {"profile_min_m": profile(), "surface_interval_min": chance.uniform(5, 240)}
                for _ in range(chance.choice((0, 0, 1, 2, 4)))
            ],
        },
        share={"reaction_min": chance.uniform(0, 3), "stop_depth_m": chance.choice((3, 5, 6))},
        diver={
            # A small cylinder cannot bring two up from 40 m at all, and is refused.
            "cylinder_litres": chance.choice((7, 10, 11.1, 12, 15) if deepest < 20 else (15, 18)),
            "fill_gauge_bar": chance.choice((200, 232, chance.uniform(60, 300))),
            "fill_temp_c": chance.choice((water, chance.uniform(0, 60))),
            "rmv_l_per_min": rates,
        },
    )


def steps_of(points: list[list[float]], values: list[float]) -> Steps:
    """Return the middle depth, length and value of every small step along a profile."""
    depths, lengths, along = [], [], []
    for (t1, d1), (t2, d2), value in zip(points, points[1:], values, strict=False):
        count = max(1, int(np.ceil((t2 - t1) / STEP_MIN)))
        depths.append(d1 + (d2 - d1) * (np.arange(count) + 0.5) / count)
        lengths.append(np.full(count, (t2 - t1) / count))
        along.append(np.full(count, value))
    return np.concatenate(depths), np.concatenate(lengths), np.concatenate(along)


def reached(minutes: np.ndarray, used: np.ndarray, target: float) -> float | None:
    """Return the first minute at which so much was used."""
    if target <= 0:
        return 0.0
    return None if used[-1] < target else float(np.interp(target, used, minutes))


class Stepped:
    """One case worked out in steps."""

    def __init__(self, asked: dict[str, Any]) -> None:
        self.asked, diver = asked, asked["divers"][0]
        self.surface = asked["surface_pressure_bar"]
        self.per_m = asked["water_density_kg_m3"] * 9.80665 / BAR
        self.air, self.litres = Air(asked["water_temp_c"]), diver["cylinder_litres"]
        fill = Air(diver["fill_temp_c"])
        self.held = fill.density(diver["fill_gauge_bar"] + self.surface)
        self.start = self.air.bar(self.held) - self.surface
        points, said = asked["profile_min_m"], diver["rmv_l_per_min"]
        self.rates = said if isinstance(said, list) else [said] * (len(points) - 1)
        self.along = self.gas(points, self.rates)
        begin = asked["final_ascent_starts_min"]
        before = [point for point in points if point[0] < begin]
        stay_m = float(np.interp(begin, *zip(*points, strict=True)))
        last = self.rates[len(before) - 1]
        stays = [*before, [begin, stay_m], [begin + STAY_MIN, stay_m]]
        self.before, self.stay_m = [*before, [begin, stay_m]], stay_m
        self.staying = self.gas(stays, [*self.rates[: len(before)], last])

    def bars(self, depths: np.ndarray) -> np.ndarray:
        return self.surface + self.per_m * depths

    def gas(self, points: list[list[float]], rates: list[float]) -> Steps:
        """Return minutes, grams used and bar.L used, at the end of each step."""
        depths, lengths, rate = steps_of(points, rates)
        bars = self.bars(depths)
        return (
            np.concatenate([[0], np.cumsum(lengths)]),
            np.concatenate([[0], np.cumsum(rate * lengths * self.air.thin(bars))]),
            np.concatenate([[0], np.cumsum(rate * lengths * bars)]),
        )

    def grams_to(self, gauge: float) -> float:
        return (self.held - self.air.density(gauge + self.surface)) * self.litres

    def out_of_gas(self) -> float | None:
        """Return the first minute at which the cylinder has no more pressure than the water."""
        minutes, used, _ = self.along
        depths = np.interp(minutes, *zip(*self.asked["profile_min_m"], strict=True))
        empty = self.held - used / self.litres <= self.air.thin(self.bars(depths))
        return float(minutes[np.argmax(empty)]) if empty.any() else None

    def sharing(self) -> float:
        """Return the gauge to begin sharing with at the deepest point."""
        how, deepest = self.asked["sharing"], max(depth for _, depth in self.asked["profile_min_m"])
        way = [[0.0, deepest], [how["reaction_min"] + 1e-9, deepest]]
        for depth, wait in ((how["stop_depth_m"], how["stop_min"]), (0.0, 0.0)):
            if depth < way[-1][1]:
                way.append([way[-1][0] + (way[-1][1] - depth) / how["ascent_rate_m_min"], depth])
                way.append([way[-1][0] + wait + 1e-9, depth])
        rate = max(self.rates) * how["stress_factor"] * how["divers"]
        needed = float(self.gas(way, [rate] * (len(way) - 1))[1][-1])
        rest = self.air.density(how["residual_gauge_bar"] + self.surface)
        return self.air.bar(rest + needed / self.litres) - self.surface

    def load(self, tissues: np.ndarray, points: list[list[float]]) -> np.ndarray:
        """Return tissues after a profile: every segment as many short stays."""
        for (t1, d1), (t2, d2) in pairwise(points):
            count = max(1, int(np.ceil((t2 - t1) / STEP_MIN)))
            depths = d1 + (d2 - d1) * (np.arange(count) + 0.5) / count
            inspired = 0.7902 * (self.bars(depths) - 0.0627)
            kept = 2.0 ** (-(t2 - t1) / count / HALF)
            tissues = np.array(
                [
                    lfilter([1 - keep], [1, -keep], inspired, zi=[keep * tissue])[0][-1]
                    for keep, tissue in zip(kept, tissues, strict=True)
                ]
            )
        return tissues

    def nitrogen(self) -> tuple[float | None, float]:
        """Return the no-stop minutes left at the final ascent, and the fullest tissue at the end."""
        tissues = np.full(16, 0.7902 * (self.surface - 0.0627))
        for dive in self.asked["nostop"]["previous_dives"]:
            tissues = self.load(tissues, dive["profile_min_m"])
            tissues = self.load(tissues, [[0, 0], [dive["surface_interval_min"], 0]])
        m0 = A + self.surface / B
        limit = self.surface + self.asked["nostop"]["gf"] * (m0 - self.surface)
        here = self.load(tissues, self.before)
        end = float(np.max(self.load(tissues, self.asked["profile_min_m"]) / m0))
        goal = 0.7902 * (self.surface + self.per_m * self.stay_m - 0.0627)
        times = np.concatenate([[0], np.geomspace(0.001, 60_000, 20_000)])
        over = goal + (here - goal) * 2.0 ** (-times[:, None] / HALF) > limit
        first = np.argmax(over.any(axis=1))
        return (float(times[first]) if over.any() else None), end


@pytest.mark.parametrize("block", range(10))
def test_random_cases_agree_with_small_steps(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        asked = random_case(seed)
        try:
            agrees(asked)
        except AssertionError as error:
            raise AssertionError(f"seed {seed}: {error}") from error


def agrees(asked: dict[str, Any]) -> None:
    """Hold one case's answer against its steps."""
    answer, by_steps = plan(asked), Stepped(asked)
    diver = answer["divers"][0]
    assert diver["start_gauge_bar_at_water_temp"] == pytest.approx(by_steps.start, abs=0.2)
    minutes, used, bar_litres = by_steps.along
    assert diver["used_bar_litres"] == pytest.approx(bar_litres[-1], rel=0.0005)
    assert diver["used_litres_15C_1.01325bar"] == pytest.approx(used[-1] / 1.225539, rel=0.001)
    out = by_steps.out_of_gas()
    assert diver["out_of_gas_min_on_profile"] == (None if out is None else pytest.approx(out, abs=0.1))
    if out is None:
        end = by_steps.air.bar(by_steps.held - used[-1] / by_steps.litres) - by_steps.surface
        assert diver["end_gauge_bar"] == pytest.approx(end, abs=0.3)
    else:
        assert diver["end_gauge_bar"] is None
    least = diver["minimum_gas_gauge_bar_at_max_depth"]
    assert least == pytest.approx(by_steps.sharing(), abs=0.3 + least / 1000)
    for gauge, on_profile, staying in (
        (100.0, "min_to_100_bar_on_profile", "min_to_100_bar_if_staying"),
        (50.0, "min_to_50_bar_on_profile", "min_to_50_bar_if_staying"),
        (least, None, "min_to_minimum_gas_if_staying"),
    ):
        target = by_steps.grams_to(gauge)
        stays = reached(by_steps.staying[0], by_steps.staying[1], target)
        assert diver[staying] == pytest.approx(stays, abs=0.2, rel=0.005)
        # A gauge touched within a breath of the profile's end may fall on either side of it.
        if on_profile is not None and abs(target - used[-1]) > 5:
            found = reached(minutes, used, target)
            assert diver[on_profile] == (None if found is None else pytest.approx(found, abs=0.2))
    left, fullest = by_steps.nitrogen()
    assert answer["surfacing_max_tissue_fraction_of_M0"] == pytest.approx(fullest, abs=0.0005)
    said = answer["nostop_remaining_min_at_final_ascent"]
    assert said == (None if left is None else pytest.approx(left, abs=0.1, rel=0.002))


def test_the_cases_reach_every_corner() -> None:
    """Gas that runs out and gas that lasts, no limit and no time left, a start under each mark."""
    asked = [random_case(seed) for seed in range(200)]
    answers = [plan(one) for one in asked]
    divers = [answer["divers"][0] for answer in answers]
    assert sum(diver["end_gauge_bar"] is None for diver in divers) > 15
    assert sum(diver["min_to_50_bar_on_profile"] is None for diver in divers) > 15
    assert sum(diver["min_to_100_bar_on_profile"] == 0 for diver in divers) > 5
    left = [answer["nostop_remaining_min_at_final_ascent"] for answer in answers]
    assert left.count(None) > 10 and left.count(0) > 0
    assert log(max(one for one in left if one) / 10) > 1

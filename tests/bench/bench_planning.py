"""How long planning takes, as ratios that a slow machine changes little. Run it by hand:

    .venv/bin/python tests/bench/bench_planning.py

The bare figure is the same mathematics for five divers as flat scalar Python: no dataclass, no working, no
picture, no range checks, one pass for the plan and one false-position search for the latest ascent.
"""

# ruff: noqa: T201  (a script a person runs and reads)
import sys
import timeit
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import exp, log
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from app.planning import air, breathing, nitrogen
from app.planning.consumption import Sea
from app.planning.group_plan import plan_group, what_if
from app.planning.plan_parts import EarlierDive, GroupCase, GroupDiver
from app.planning.sharing import Sharing

EARLIER = EarlierDive(((0.0, 0.0), (1.0, 9.0), (31.0, 9.0), (31.5, 5.0), (34.5, 5.0), (35.0, 0.0)), 0, 70)
DIVERS = tuple(
    GroupDiver(
        f"diver-{n}", f"Diver {n}", 12, 195 + n, 30, 24 + n, 19 + n,
        is_guide=n == 0, earlier_dives=(EARLIER,) if n == 0 else (),
    )
    for n in range(5)
)  # fmt: skip
CASE = GroupCase(
    Sea(17, 1025.5, 1.01325), 9, 30, 9, 9, 5, 3, 100, 50, 10, Sharing(2, 1.5, 1, 9, 5, 3, 10), 0.85, DIVERS
)
CUTS = (2.0, 4.0, 7.0, 10.0, 14.0, 21.0)


class Bare:
    """The same figures without any structure around them."""

    def __init__(self) -> None:
        kelvin = 17 + 273.15
        y = 293.15 / kelvin - 1
        self.rt = air.GAS_CONSTANT_J_KG_K * kelvin / 1e5
        self.c = tuple(a + y * (b + y * (c + y * d)) for a, b, c, d in air.COEFFICIENTS)

    def density(self, bar: float) -> float:
        c1, c2, c3, c4, c5, c6 = self.c
        r = goal = bar / self.rt / 100
        for _ in range(30):
            z = 1 + r * (c1 + r * (c2 + r * (c3 + r * (c4 + r * (c5 + r * c6)))))
            slope = 1 + r * (2 * c1 + r * (3 * c2 + r * (4 * c3 + r * (5 * c4 + r * (6 * c5 + r * 7 * c6)))))
            step = (r * z - goal) / slope
            r -= step
            if abs(step) <= 1e-13 * r:
                break
        return r * 100

    def pressure(self, g_l: float) -> float:
        c1, c2, c3, c4, c5, c6 = self.c
        r = g_l / 100
        return g_l * self.rt * (1 + r * (c1 + r * (c2 + r * (c3 + r * (c4 + r * (c5 + r * c6))))))

    def mass(self, depth: float, minutes: float, rate: float) -> float:
        down = depth / 9
        points = [(0.0, 0.0), (down, depth), (minutes, depth)]
        up = minutes + (depth - 5) / 9
        points += [(up, 5.0), (up + 3, 5.0), (up + 3 + 5 / 9, 0.0)]
        for cut in CUTS:
            points.append((cut, min(depth, cut * 9)))
        points.sort()
        total = 0.0
        for (t1, d1), (t2, d2) in pairwise(points):
            if t2 <= t1:
                continue
            settle = t2 - t1 + 0.35 * 7 * (exp(-t1 / 7) - exp(-t2 / 7))
            if d1 == d2:
                mean = self.density(1.01325 + 0.100567 * d1)
            else:
                mean = sum(
                    weight * self.density(1.01325 + 0.100567 * (d1 + (d2 - d1) * where))
                    for where, weight in ((0.1127, 5 / 18), (0.5, 8 / 18), (0.8873, 5 / 18))
                )
            total += rate * settle * mean
        return total

    def tissues_left(self, depth: float, minutes: float) -> float:
        k_gas = 0.7902
        least = 1e9
        for half, a, b in zip(nitrogen.HALF_TIMES_MIN, nitrogen.A_BAR, nitrogen.B, strict=True):
            k = log(2) / half
            start = k_gas * (1.01325 - 0.0627)
            goal = k_gas * (1.01325 + 0.100567 * depth - 0.0627)
            p = goal + (start - goal) * exp(-k * minutes)
            limit = 1.01325 + 0.85 * (a + 1.01325 / b - 1.01325)
            if limit < goal:
                least = min(least, -half / log(2) * log((goal - limit) / (goal - p)))
        return least

    def plan(self) -> list[float]:
        found = []
        for diver in DIVERS:
            start = self.density(diver.fill_gauge_bar + 1.01325)
            used = self.mass(9, 30, diver.cautious_rate_l_min)
            found.append(self.pressure(start - used / 12))
            found.append(self.pressure(start - self.mass(9, 30, diver.expected_rate_l_min) / 12))
            keep = self.density(60 + 1.01325)
            low, high = 1.0, 600.0
            spare_low = (start - keep) * 12 - self.mass(9, low, diver.cautious_rate_l_min)
            spare_high = (start - keep) * 12 - self.mass(9, high, diver.cautious_rate_l_min)
            for _ in range(8):
                middle = low + (high - low) * spare_low / (spare_low - spare_high)
                spare = (start - keep) * 12 - self.mass(9, middle, diver.cautious_rate_l_min)
                if spare >= 0:
                    low, spare_low = middle, spare
                else:
                    high, spare_high = middle, spare
            found.append(low)
            found.append(self.tissues_left(9, 30))
        return found


def best_ms(work: Callable[[], object], number: int) -> float:
    """Return the fastest of five rounds, in ms for each call."""
    return min(timeit.repeat(work, number=number, repeat=5)) / number * 1e3


def hundred_steps() -> float:
    """What learning and predicting are measured against: plain Python, a hundred times."""
    total = 0.0
    for step in range(100):
        total += step * 0.5
    return total


def main() -> None:
    full = best_ms(lambda: plan_group(CASE), 20)
    bare = best_ms(Bare().plan, 20)
    day = [replace(CASE, divers=DIVERS[:4]) for _ in range(20)]
    whole_day = best_ms(lambda: [plan_group(group) for group in day], 1)
    table = best_ms(lambda: what_if(CASE, (6, 8, 10, 12), (20, 25, 30, 35)), 5)
    belief, dive = breathing.prior(), breathing.LoggedDive(200, 80, 12, 30, 8, 72)
    learn_us = best_ms(lambda: breathing.learn(belief, dive), 2000) * 1e3
    predict_us = best_ms(lambda: breathing.predict(belief, 72, age=40, water_temp_c=17), 2000) * 1e3
    bare_us = best_ms(hundred_steps, 2000) * 1e3
    of_learn, of_predict = learn_us / bare_us, predict_us / bare_us
    print(f"full plan, five divers           {full:8.2f} ms")
    print(f"the same mathematics, bare       {bare:8.2f} ms   full plan / bare = {full / bare:.2f}")
    print(f"what-if table, 16 cells          {table:8.2f} ms   table / full plan = {table / full:.2f}")
    print(f"a day: 60 guests in 20 groups    {whole_day:8.1f} ms   day / full plan = {whole_day / full:.1f}")
    print(f"a hundred bare steps of a loop   {bare_us:8.1f} us")
    print(f"learn from one dive              {learn_us:8.1f} us   learn / bare loop = {of_learn:.1f}")
    print(f"predict one guest                {predict_us:8.1f} us   predict / bare loop = {of_predict:.1f}")


if __name__ == "__main__":
    main()

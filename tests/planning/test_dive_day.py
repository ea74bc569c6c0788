"""A diver's last two days, held against a solver of its own and against the navy table by hand."""

from itertools import pairwise
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from app.planning import nitrogen
from app.planning.consumption import Sea
from app.planning.dive_day import (
    Budget,
    DoneDive,
    budget,
    earlier_dives,
    highest_group,
    table_dives,
    waypoints,
)

SEA = Sea(17, 1025.5, 1.01325)
RATE = 9.0


def ask(dives: list[DoneDive], begins: float, depth: float = 10, gf: float = 0.85) -> Budget:
    """Return the budget of a diver at a minute."""
    return budget(dives, begins, depth, SEA, gf, RATE)


def worked_alone(dives: list[DoneDive], begins: float, depth: float, gf: float) -> float:
    """Return the no-stop minutes by integrating dP/dt piece by piece and finding the root with scipy."""
    points = [(dives[0].went_min, 0.0)]
    for dive in dives:
        way = dive.depth_m / RATE
        points += [
            (dive.went_min, 0.0),
            (dive.went_min + way, dive.depth_m),
            (dive.back_min - way, dive.depth_m),
            (dive.back_min, 0.0),
        ]
    points += [(begins, 0.0), (begins + depth / RATE, depth)]
    bar = 1025.5 * 9.80665 / 1e5
    held = [0.7902 * (1.01325 - 0.0627)] * 16
    for (t1, d1), (t2, d2) in pairwise(points):
        if t2 <= t1:
            continue

        def slope(t: float, p: list[float], a=(t1, d1), b=(t2, d2)) -> list[float]:  # type: ignore[no-untyped-def]
            here = a[1] + (b[1] - a[1]) * (t - a[0]) / (b[0] - a[0])
            inspired = 0.7902 * (1.01325 + here * bar - 0.0627)
            return [log(2) / h * (inspired - q) for q, h in zip(p, nitrogen.HALF_TIMES_MIN, strict=True)]

        solved = solve_ivp(slope, (t1, t2), held, rtol=1e-10, atol=1e-12, max_step=max(1.0, (t2 - t1) / 20))
        held = [float(row[-1]) for row in solved.y]
    inspired = 0.7902 * (1.01325 + depth * bar - 0.0627)

    def over(minutes: float) -> float:
        worst = -9.0
        for p, half, a, b in zip(held, nitrogen.HALF_TIMES_MIN, nitrogen.A_BAR, nitrogen.B, strict=True):
            now = inspired + (p - inspired) * 2 ** (-minutes / half)
            worst = max(worst, now - (1.01325 + gf * (a + 1.01325 / b - 1.01325)))
        return worst

    return depth / RATE + float(brentq(over, 0, 5000, xtol=1e-10))


def test_the_budget_agrees_with_an_independent_solver() -> None:
    """scipy 1.17.1: solve_ivp along every piece, brentq for the minute at which the limit is met."""
    evening_before = DoneDive(0, 45, 12)
    morning = [DoneDive(900, 935, 10), DoneDive(1000, 1040, 12)]
    for dives in ([DoneDive(0, 40, 12)], morning, [evening_before, *morning]):
        for begins, depth, gf in ((1100.0, 10.0, 0.85), (1160.0, 12.0, 0.7)):
            found = ask(dives, begins, depth, gf).zhl_min
            assert found == pytest.approx(worked_alone(dives, begins, depth, gf), abs=0.01)


def test_an_evening_dive_still_counts_the_next_morning() -> None:
    """From memory, believed US Navy table 9-8: group I after 80 min at 40 fsw needs 584 min to be clear."""
    evening = DoneDive(0, 80 + 12 / RATE, 12)
    sooner, later = ask([evening], evening.back_min + 584, 12), ask([evening], evening.back_min + 585, 12)
    assert (sooner.navy_after, sooner.navy_group, sooner.navy_min) == ("I", "A", 163 - 13)
    assert (later.navy_group, later.navy_min) == (None, 163)
    rested = ask([], 0, 12)
    assert rested.zhl_min is not None and later.zhl_min is not None
    assert later.zhl_min < rested.zhl_min and later.zhl_share > 0
    assert ask([evening], evening.back_min + 48 * 60, 12) == rested


def test_a_guides_working_day_by_the_table() -> None:
    """From memory, believed US Navy rev 7: 40 fsw, 40 min, an hour between: groups E, I, L, N; 27 left."""
    way = 12 / RATE
    dives, groups, left = [], [], []
    begins = 0.0
    for _ in range(5):
        told = ask(dives, begins, 12)
        groups.append(told.navy_after)
        left.append(told.navy_min)
        dives.append(DoneDive(begins, begins + 40 + way, 12))
        begins += 40 + way + 60
    assert groups == [None, "E", "I", "L", "N"]
    assert left == [163, 126, 89, 54, 27]


def test_beyond_the_table_it_says_that_it_does_not_know() -> None:
    """Deeper than 60 fsw or over its limit: no group and no minutes for a day, ZH-L16C goes on."""
    for dive in (DoneDive(0, 20, 30), DoneDive(0, 170, 12)):
        told = ask([dive], 300)
        assert not told.navy_knows and told.navy_min == 0 and told.navy_group is None
        assert told.zhl_min is not None and told.navy_is_stricter
        assert highest_group([dive], 300, RATE) is None
        rested = ask([dive], dive.back_min + 24 * 60)
        assert rested.navy_knows and rested.navy_min == ask([], 0).navy_min


def test_the_highest_group_of_the_last_day() -> None:
    """Group M in the evening is still the highest after a short dip; after 24 h it is not asked any more."""
    long, dip = DoneDive(0, 130 + 12 / RATE, 12), DoneDive(800, 815, 4)
    assert highest_group([long, dip], 900, RATE) == "M"
    assert highest_group([long, dip], long.back_min + 24 * 60 + 1, RATE) == "B"
    with pytest.raises(ValueError, match="no dive"):
        highest_group([long], long.back_min + 24 * 60 + 1, RATE)


def test_a_dive_as_it_is_counted() -> None:
    """All the time at the greatest depth; a bounce is a straight way down and up."""
    assert waypoints(DoneDive(5, 25, 9), 9) == ((0.0, 0.0), (1.0, 9), (19.0, 9), (20.0, 0.0))
    assert waypoints(DoneDive(0, 2, 18), 9) == ((0.0, 0.0), (1.0, 18), (2.0, 0.0))
    for nothing in (DoneDive(0, 0, 5), DoneDive(0, 5, 0)):
        with pytest.raises(ValueError, match="minutes and a depth"):
            waypoints(nothing, 9)
    found = earlier_dives([DoneDive(60, 90, 9), DoneDive(0, 30, 9)], 100, 9)
    assert [(one.interval_before_min, one.surface_interval_min) for one in found] == [(0, 30), (30, 10)]
    twice = earlier_dives([DoneDive(5, 40, 12), DoneDive(0, 35, 10)], 100, 9)
    assert twice == earlier_dives([DoneDive(0, 40, 12)], 100, 9)
    assert table_dives(found) == ((9, 29.0, 0.0), (9, 29.0, 30.0))


DIVES = st.lists(st.tuples(st.floats(0, 2000), st.floats(2, 90), st.floats(1, 40)), max_size=5)


@given(DIVES, st.tuples(st.floats(0, 2000), st.floats(2, 90), st.floats(1, 40)))
def test_one_more_dive_never_gives_more_time(
    dives: list[tuple[float, float, float]], more: tuple[float, float, float]
) -> None:
    """Neither by ZH-L16C nor, whatever overlaps, is anything gained by having dived."""
    done = [DoneDive(at, at + minutes, depth) for at, minutes, depth in dives]
    one = DoneDive(more[0], more[0] + more[1], more[2])
    before, after = ask(done, 2100), ask([*done, one], 2100)
    if before.zhl_min is not None:
        assert after.zhl_min is not None and after.zhl_min <= before.zhl_min + 1e-6
    assert after.zhl_share >= before.zhl_share - 1e-9


@given(DIVES, st.floats(0, 600))
def test_a_longer_rest_never_takes_time_away(dives: list[tuple[float, float, float]], rest: float) -> None:
    done = [DoneDive(at, at + minutes, depth) for at, minutes, depth in dives]
    sooner, later = ask(done, 2100), ask(done, 2100 + rest)
    assert (later.zhl_min or 1e9) >= (sooner.zhl_min or 0) - 1e-6
    assert (later.navy_min or 0) >= (sooner.navy_min or 0) or sooner.navy_min == 0 or rest < 1

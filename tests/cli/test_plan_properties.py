"""What must hold for every answer of ``daybuoy plan``, whatever the case."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.plan_cases import case, plan

depths = st.floats(1, 30)
stays = st.floats(5, 40)
rates = st.floats(8, 40)


def square(depth: float, stay: float) -> dict[str, Any]:
    """Return profile and ascent of a plain dive."""
    points = [[0, 0], [2, depth], [2 + stay, depth], [6 + stay, 0]]
    return {"profile_min_m": points, "final_ascent_starts_min": 2 + stay}


def diver(depth: float, stay: float, rate: float, **changes: Any) -> dict[str, Any]:
    """Return the answer for one diver on a plain dive."""
    own = {"rmv_l_per_min": rate, "fill_gauge_bar": 300, "cylinder_litres": 18, **changes}
    found: dict[str, Any] = plan(case(**square(depth, stay), diver=own))["divers"][0]
    return found


def left(answer: dict[str, Any]) -> float:
    """Return the end pressure; gas that ran out leaves the least."""
    end = answer["end_gauge_bar"]
    return -1.0 if end is None else float(end)


@settings(max_examples=40)
@given(depths, stays, rates, st.floats(0.01, 10), st.sampled_from(["depth", "stay", "rate"]))
def test_more_depth_time_or_rate_never_leaves_more_gas(
    depth: float, stay: float, rate: float, more: float, of: str
) -> None:
    base = {"depth": depth, "stay": stay, "rate": rate}
    bigger = {**base, of: base[of] + more}
    assert left(diver(**bigger)) <= left(diver(**base)) + 1e-9


@settings(max_examples=40)
@given(depths, stays, rates, st.floats(0.05, 0.95), st.integers(0, 2))
def test_a_waypoint_on_the_line_changes_nothing(
    depth: float, stay: float, rate: float, where: float, piece: int
) -> None:
    whole = square(depth, stay)
    points = list(whole["profile_min_m"])
    (t1, d1), (t2, d2) = points[piece], points[piece + 1]
    points.insert(piece + 1, [t1 + (t2 - t1) * where, d1 + (d2 - d1) * where])
    own = {"rmv_l_per_min": rate}
    plain, cut = plan(case(**whole, diver=own)), plan(case(**{**whole, "profile_min_m": points}, diver=own))
    for key, figure in {**plain, **plain["divers"][0]}.items():
        found = {**cut, **cut["divers"][0]}[key]
        if isinstance(figure, float):
            assert found == pytest.approx(figure, rel=1e-7, abs=1e-7), key
        else:
            assert key == "divers" or found == figure


@settings(max_examples=30)
@given(depths, st.floats(0.5, 3), st.floats(1, 30))
def test_thin_air_ends_where_an_ideal_gas_does(depth: float, stay: float, start: float) -> None:
    """bar.L over litres is the ideal gas's drop; from 30 bar down air differs by less than 1 %."""
    found = diver(depth, stay, 1, fill_gauge_bar=start, cylinder_litres=50)
    drop = start - left(found)
    if found["end_gauge_bar"] is not None:
        assert drop == pytest.approx(found["used_bar_litres"] / 50, rel=0.02, abs=1e-6)


@settings(max_examples=20)
@given(
    st.lists(st.tuples(st.floats(7, 18), rates), min_size=2, max_size=4), st.randoms(use_true_random=False)
)
def test_the_order_of_divers_changes_nothing(kinds: list[tuple[float, float]], chance: Any) -> None:
    base = case()["divers"][0]
    divers = [
        {**base, "id": f"d{n}", "cylinder_litres": litres, "rmv_l_per_min": rate}
        for n, (litres, rate) in enumerate(kinds)
    ]
    mixed = chance.sample(divers, len(divers))
    one, two = plan(case(divers=divers)), plan(case(divers=mixed))
    assert sorted(one["divers"], key=str) == sorted(two["divers"], key=str)
    assert [answer["id"] for answer in two["divers"]] == [each["id"] for each in mixed]


@settings(max_examples=30)
@given(depths, st.floats(0.01, 10), st.sampled_from([0.7, 0.85, 1.0]))
def test_no_stop_time_falls_with_depth(depth: float, deeper: float, gf: float) -> None:
    minutes = [
        plan(case(**square(d, 5), stops={"gf": gf}))["nostop_remaining_min_at_final_ascent"]
        for d in (depth, depth + deeper)
    ]
    assert minutes[0] is None or (minutes[1] is not None and minutes[1] <= minutes[0] + 1e-9)


@settings(max_examples=30)
@given(st.floats(3, 18), st.lists(st.floats(0, 600), min_size=2, max_size=4))
def test_a_longer_surface_interval_never_adds_nitrogen(depth: float, intervals: list[float]) -> None:
    def answer(interval: float) -> dict[str, Any]:
        before = {"profile_min_m": square(depth, 40)["profile_min_m"], "surface_interval_min": interval}
        return plan(case(stops={"previous_dives": [before, before]}))

    answers = [answer(interval) for interval in sorted(intervals)]
    for early, late in pairwise(answers):
        key = "surfacing_max_tissue_fraction_of_M0"
        assert late[key] <= early[key] + 1e-12
        here, there = (one["nostop_remaining_min_at_final_ascent"] for one in (early, late))
        assert there is None or (here is not None and there >= here - 1e-9)


@settings(max_examples=30)
@given(depths, rates, st.floats(7, 18), st.floats(0.1, 8))
def test_a_larger_cylinder_never_needs_a_higher_sharing_pressure(
    depth: float, rate: float, litres: float, more: float
) -> None:
    key = "minimum_gas_gauge_bar_at_max_depth"
    share = {"stress_factor": 1.2, "reaction_min": 0.5}
    small, large = (
        plan(case(**square(depth, 10), share=share, diver={"cylinder_litres": size, "rmv_l_per_min": rate}))
        for size in (litres, litres + more)
    )
    assert large["divers"][0][key] <= small["divers"][0][key]


def test_a_dive_that_stays_at_the_surface_is_still_a_case() -> None:
    """Nothing to come up from, nothing to wait for, no limit; what cannot be breathed stays the minimum."""
    answer = plan(case(**square(0, 20), share={"reaction_min": 0}))
    assert answer["shared_ascent_min"] == 0
    assert answer["nostop_remaining_min_at_final_ascent"] is None
    assert answer["divers"][0]["minimum_gas_gauge_bar_at_max_depth"] == pytest.approx(10)


def test_an_empty_cylinder_is_out_of_gas_before_the_dive_begins() -> None:
    found = plan(case(diver={"fill_gauge_bar": 0}))["divers"][0]
    assert found["out_of_gas_min_on_profile"] == pytest.approx(0, abs=1e-9) and found["end_gauge_bar"] is None
    assert found["min_to_100_bar_if_staying"] == found["min_to_minimum_gas_if_staying"] == 0


def test_a_cylinder_that_starts_between_the_marks_has_passed_one_of_them() -> None:
    found = plan(case(diver={"fill_gauge_bar": 80}))["divers"][0]
    assert found["min_to_100_bar_on_profile"] == found["min_to_100_bar_if_staying"] == 0
    assert 0 < found["min_to_50_bar_if_staying"] < 31


def test_several_earlier_dives_count_in_their_order() -> None:
    """Deep first and an hour's rest, or the deep one last: what came last weighs most."""
    deep = {"profile_min_m": [[0, 0], [1, 12], [60, 12], [61, 0]], "surface_interval_min": 60}
    flat = {"profile_min_m": [[0, 0], [1, 4], [60, 4], [61, 0]], "surface_interval_min": 60}
    key = "nostop_remaining_min_at_final_ascent"
    early, late, none = (
        plan(case(**square(12, 10), stops={"previous_dives": dives}))[key]
        for dives in ([deep, flat], [flat, deep], [])
    )
    assert late < early < none


def test_air_above_a_lake_in_the_hills_gives_less_no_stop_time_and_needs_less_gas() -> None:
    sea, lake = (
        plan(case(**square(12, 20), surface_pressure_bar=bar, water_density_kg_m3=1000))
        for bar in (1.01325, 0.8)
    )
    key = "nostop_remaining_min_at_final_ascent"
    assert lake[key] < sea[key]
    assert lake["divers"][0]["used_bar_litres"] < sea["divers"][0]["used_bar_litres"]

"""Fill plans: figures against the published worked cases, and what must hold for any stock and any needs."""

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning.cylinder import settled_gauge
from app.planning.fill_plan import FillPlan, Need, Stock, Way, plan_fills, pressure_to_fill
from app.planning.filling import Bank

# At one temperature and without handling a plan is the plain sum.
PLAIN = Way(100.0, gas_c=25.0, cooling_min=0.0, handling_min=0.0, room_c=25.0)
SHOP = Way(100.0, gas_c=40.0, cooling_min=30.0, handling_min=3.0)


def test_one_cylinder_takes_the_published_litres_and_minutes() -> None:
    """12 L from 50 to 200 bar at 25 C: 1641 L and 16.4 min at 100 L/min (air of Lemmon et al. 2000)."""
    plan = plan_fills([Stock(1, 12, 232, 50, 25)], [Need(1, 60, 1, 200, 25)], {}, PLAIN)
    assert plan.litres == pytest.approx(1641, abs=2)
    assert plan.minutes == pytest.approx(16.4, abs=0.05)
    assert plan.latest_start == pytest.approx(60 - 16.4, abs=0.05)
    assert plan.answers[0].held and plan.answers[0].filled == (1,)


def test_the_bank_gives_first_as_a_real_gas() -> None:
    """50 L at 230 bar into 12 L at 50 bar, 20 C: 190.9 bar, not the ideal gas's 195.2 (same source)."""
    way = replace(PLAIN, gas_c=20.0, room_c=20.0)
    plan = plan_fills([Stock(1, 12, 232, 50, 20)], [Need(1, 60, 1, 200, 20)], {7: Bank(50, 230)}, way)
    step = plan.steps[0]
    assert step.bank_bar == pytest.approx(190.9, abs=0.1)
    assert plan.banks[7].gauge_bar == pytest.approx(190.9, abs=0.1)
    assert 0 < step.litres < 110
    plenty = plan_fills([Stock(1, 12, 232, 50, 20)], [Need(1, 60, 1, 180, 20)], {7: Bank(50, 230)}, way)
    assert plenty.steps[0].litres == 0 and plenty.minutes == 0


def test_the_pressure_to_fill_to_is_enough_when_cold_and_within_the_stamp_when_warm() -> None:
    """200 bar at 50 C settles at 175.0 in 20 C water (Lemmon et al. 2000), so 174.9 needs 200 warm."""
    warm = replace(SHOP, gas_c=50.0)
    assert pressure_to_fill(Need(1, 0, 1, 174.9, 20), 232, warm) == 200
    need = Need(1, 0, 1, 180, 17)
    to = pressure_to_fill(need, 207, SHOP)
    assert to is not None and to <= 207 and settled_gauge(to, 40, 17) >= 180
    assert pressure_to_fill(Need(1, 0, 1, 180, 8), 207, SHOP) is None
    # Water warmer than the gas: the stamp is held in the water.
    hot = pressure_to_fill(Need(1, 0, 1, 206, 38), 207, replace(SHOP, gas_c=20.0))
    assert hot is not None and settled_gauge(hot, 20, 38) <= 207 + 1e-6


def test_what_is_full_already_is_not_filled_and_what_is_short_is_said() -> None:
    stock = [Stock(1, 12, 232, 210, 25), Stock(2, 12, 232, 60, 20), Stock(3, 12, 232, 50, 20)]
    plan = plan_fills(stock, [Need(1, 45, 2, 180, 17), Need(2, 200, 2, 180, 17)], {}, SHOP)
    first, second = plan.answers
    assert first.ready == (1,) and first.filled == (2,)
    assert second.filled == (3,) and second.missing == 1 and not second.held
    assert plan.steps[0].ready_in == pytest.approx(3 + plan.steps[0].litres / 100 + 30)
    assert first.late == 1 and first.ready_in is not None and first.ready_in > 45


def test_a_cylinder_that_is_out_is_waited_for() -> None:
    plan = plan_fills([Stock(1, 12, 232, 50, 20, free_in=90)], [Need(1, 200, 1, 180, 17)], {}, SHOP)
    assert plan.steps[0].starts_in == 90
    warm = plan_fills([Stock(1, 12, 232, 215, 40, cool_in=20)], [Need(1, 10, 1, 180, 17)], {}, SHOP)
    assert warm.answers[0].ready == (1,) and warm.answers[0].late == 1 and warm.answers[0].ready_in == 20


def test_without_the_delivery_there_are_pressures_but_no_times() -> None:
    plan = plan_fills(
        [Stock(1, 12, 232, 50, 20)], [Need(1, 60, 1, 180, 17)], {}, replace(SHOP, free_air_l_min=None)
    )
    assert plan.steps[0].to_bar > 180 and plan.minutes is None and plan.latest_start is None
    assert plan.answers[0].late is None and not plan.answers[0].held
    with pytest.raises(ValueError, match="above 0"):
        plan_fills([], [], {}, replace(SHOP, free_air_l_min=0))


def test_nothing_needed_is_an_empty_plan() -> None:
    plan = plan_fills([Stock(1, 12, 232, 50, 20)], [], {1: Bank(50, 200)}, SHOP)
    assert plan.steps == () and plan.answers == () and plan.banks == {1: Bank(50, 200)}


STOCK = st.lists(
    st.builds(
        Stock,
        key=st.integers(1, 40),
        litres=st.sampled_from([7.0, 10.0, 11.1, 12.0, 15.0]),
        stamp_bar=st.sampled_from([200.0, 207.0, 232.0, 300.0]),
        gauge_bar=st.floats(0, 200),
        temp_c=st.floats(5, 40),
        free_in=st.sampled_from([0.0, 0.0, 45.0, 90.0]),
        cool_in=st.sampled_from([0.0, 0.0, 20.0]),
    ),
    max_size=10,
    unique_by=lambda one: one.key,
)
NEEDS = st.lists(
    st.builds(
        Need,
        key=st.integers(1, 9),
        due_in=st.floats(-30, 600),
        count=st.integers(1, 5),
        least_bar=st.sampled_from([100.0, 150.0, 180.0, 200.0]),
        water_c=st.floats(2, 32),
    ),
    max_size=4,
    unique_by=lambda one: one.key,
)
BANKS = st.dictionaries(
    st.integers(1, 3), st.builds(Bank, st.sampled_from([50.0, 80.0]), st.floats(0, 300)), max_size=3
)


def judged(plan: FillPlan, stock: list[Stock], needs: list[Need]) -> None:
    """Hold a plan to what it must keep whatever it is made from."""
    kept = {one.key: one for one in stock}
    used = [key for answer in plan.answers for key in (*answer.ready, *answer.filled)]
    assert len(used) == len(set(used)) and set(used) <= set(kept)
    assert sorted(answer.need.key for answer in plan.answers) == sorted(need.key for need in needs)
    for step in plan.steps:
        stamp = kept[step.key].stamp_bar
        need = next(one for one in needs if one.key == step.need)
        assert step.to_bar <= step.most_bar + 1e-6 <= stamp + 1e-5
        assert settled_gauge(step.to_bar, SHOP.gas_c, need.water_c) <= stamp + 1e-5
        assert step.settled_bar >= need.least_bar - 1e-6
    ready = {step.key: step.ready_in for step in plan.steps}
    for answer in plan.answers:
        times = [ready[key] for key in answer.filled]
        times += [max(kept[key].free_in, kept[key].cool_in) for key in answer.ready]
        assert len(times) + answer.missing == answer.need.count
        assert answer.late == sum(time is None or time > answer.need.due_in for time in times)
        assert answer.held == (answer.missing == 0 and all((t or 0) <= answer.need.due_in for t in times))


@given(STOCK, NEEDS, BANKS)
def test_no_cylinder_twice_none_above_its_stamp_every_need_held_or_named(
    stock: list[Stock], needs: list[Need], banks: dict[int, Bank]
) -> None:
    judged(plan_fills(stock, needs, banks, SHOP), stock, needs)


@given(STOCK, NEEDS, BANKS, st.floats(20, 400), st.floats(1, 5))
def test_more_delivery_is_never_later(
    stock: list[Stock], needs: list[Need], banks: dict[int, Bank], litres_a_minute: float, times: float
) -> None:
    slow = plan_fills(stock, needs, banks, replace(SHOP, free_air_l_min=litres_a_minute))
    quick = plan_fills(stock, needs, banks, replace(SHOP, free_air_l_min=litres_a_minute * times))
    for before, after in zip(slow.answers, quick.answers, strict=True):
        assert after.missing == before.missing
        assert (after.ready_in or 0) <= (before.ready_in or 0) + 1e-9
        assert (after.late or 0) <= (before.late or 0)


@given(STOCK, NEEDS, BANKS, st.integers(0, 9999))
def test_the_order_in_which_things_are_told_changes_nothing(
    stock: list[Stock], needs: list[Need], banks: dict[int, Bank], seed: int
) -> None:
    told = plan_fills(stock, needs, banks, SHOP)
    chance = Random(seed)
    others, asks, stores = list(stock), list(needs), list(banks.items())
    for row in (others, asks, stores):
        chance.shuffle(row)
    assert plan_fills(others, asks, dict(stores), SHOP) == told


@given(STOCK, NEEDS)
def test_starting_by_the_latest_start_holds_every_need_that_can_be_held(
    stock: list[Stock], needs: list[Need]
) -> None:
    """When everything is in the shop and nothing is short, not too late means in time."""
    here = [replace(one, free_in=0.0, cool_in=0.0) for one in stock]
    plan = plan_fills(here, needs, {}, SHOP)
    if plan.latest_start is not None and plan.latest_start >= 1e-6:
        assert all(answer.late == 0 for answer in plan.answers if answer.filled)
    if plan.latest_start is not None and plan.latest_start < -1e-6:
        assert any(answer.late for answer in plan.answers)

"""Breathing rates: what is believed at first, and what one dive or one reading teaches."""

import random
from dataclasses import replace
from math import exp, log

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from app.planning.breathing import (
    LoggedDive,
    Rates,
    after_reading,
    effective_minutes,
    end_at_rate,
    learn,
    logged_rate_l_min,
    predict,
    prior,
    settling_factor,
)
from tests.planning.breathing_shops import (
    DEPTH_M,
    LITRES,
    START_BAR,
    Shop,
    gauge_after,
    learned,
    log_a_dive,
    person,
    rate_today,
)


def test_one_reading_in_the_middle_of_a_dive_narrows_the_band_and_keeps_its_promise() -> None:
    """Seed 4: a gauge read after 12 min, rate otherwise steady."""
    chance, shop = random.Random(4), Shop()
    belief = learned(shop, 100, chance)
    inside, narrower, guests = 0, 0.0, 600
    for _ in range(guests):
        mass, usual = person(shop, chance)
        rate, before = rate_today(usual, chance), predict(belief, mass)
        shown = round((gauge_after(rate, 12) + chance.gauss(0, 2)) / 5) * 5
        after = after_reading(before, LoggedDive(START_BAR, shown, LITRES, 12, DEPTH_M, mass))
        inside += after.low_l_min <= rate <= after.high_l_min
        narrower += log(after.high_l_min / after.low_l_min) / log(before.high_l_min / before.low_l_min)
    assert inside / guests >= 0.90
    assert 0.4 < narrower / guests <= 0.55


def test_a_returning_guest_is_known_better_than_a_stranger() -> None:
    """Seed 5: one logged dive of the same person."""
    chance, shop = random.Random(5), Shop()
    belief = learned(shop, 200, chance)
    inside, off_known, off_stranger, guests = 0, 0.0, 0.0, 1000
    for _ in range(guests):
        mass, usual = person(shop, chance)
        earlier = logged_rate_l_min(log_a_dive(shop, mass, rate_today(usual, chance), chance))
        rate = rate_today(usual, chance)
        known, stranger = predict(belief, mass, [earlier]), predict(belief, mass)
        inside += known.low_l_min <= rate <= known.high_l_min
        off_known += abs(log(rate / known.expected_l_min))
        off_stranger += abs(log(rate / stranger.expected_l_min))
    assert 0.85 <= inside / guests <= 0.94
    assert off_known < 0.9 * off_stranger


def test_before_the_first_dive_the_prior_speaks() -> None:
    """Our own choice: 21 L/min at 72 kg, more for a heavier person, and planned well above the middle."""
    band = predict(prior(), 72)
    assert band.expected_l_min == pytest.approx(21)
    assert band.high_l_min == pytest.approx(36.1, abs=0.1)
    assert band.low_l_min * band.high_l_min == pytest.approx(21**2)
    assert predict(prior(), 95).expected_l_min > 21 > predict(prior(), 50).expected_l_min
    assert prior().dives == 0 and learn(prior(), LoggedDive(200, 100, 12, 30, 8, 72)).dives == 1


def test_order_of_ordinary_dives_hardly_matters() -> None:
    """Without wild entries the update is exact for the line; order touches the spread's memory alone."""
    dives = [LoggedDive(200, 200 - 80 - step, 12, 30, 8, 55 + step) for step in range(0, 40, 4)]
    there = back = prior()
    for dive in dives:
        there = learn(there, dive)
    for dive in reversed(dives):
        back = learn(back, dive)
    assert predict(there, 72).expected_l_min == pytest.approx(predict(back, 72).expected_l_min, rel=0.002)


def test_coarse_readings_of_little_gas_teach_little() -> None:
    """The same surprising rate, once from a drop of 20 bar and once from one of 120 bar."""
    little = learn(prior(), LoggedDive(200, 180, 12, 3.8, 8, 72))
    much = learn(prior(), LoggedDive(200, 80, 12, 27, 8, 72))
    assert logged_rate_l_min(LoggedDive(200, 180, 12, 3.8, 8, 72)) > 23
    assert min(predict(belief, 72).expected_l_min for belief in (little, much)) > 21
    assert little.covariance[0][0] > much.covariance[0][0]


def test_the_first_minutes_add_up() -> None:
    assert settling_factor(0, 0.001) == pytest.approx(1.35, abs=0.001)
    assert settling_factor(60, 61) == pytest.approx(1, abs=0.001)
    assert effective_minutes(30) == pytest.approx(30 + 0.35 * 7, abs=0.05)


@pytest.mark.parametrize(("end", "minutes"), [(200, 30), (210, 30), (100, 0)])
def test_a_dive_without_gas_or_time_teaches_nothing(end: float, minutes: float) -> None:
    dive = LoggedDive(200, end, 12, minutes, 8, 72)
    with pytest.raises(ValueError, match="uses gas and takes time"):
        learn(prior(), dive)
    with pytest.raises(ValueError, match="uses gas and takes time"):
        after_reading(Rates(21, 15, 30), dive)


def test_age_and_cold_are_learned_where_they_are_known() -> None:
    """Seed 20, 1,000 dives of a shop whose guests breathe 15 % more for ten degrees and 6 % for ten years."""
    chance, belief = random.Random(20), prior()
    for _ in range(1000):
        mass, usual = person(Shop(), chance)
        age, water = chance.uniform(18, 65), chance.choice((16.0, 20.0, 27.0))
        rate = rate_today(usual, chance) * exp(0.15 * (26 - water) / 10 + 0.06 * (age - 35) / 10)
        seen = log_a_dive(Shop(), mass, rate, chance)
        belief = learn(belief, replace(seen, age=age, water_temp_c=water))
    warm, cold = (predict(belief, 72, age=35, water_temp_c=water).expected_l_min for water in (26, 16))
    young, old = (predict(belief, 72, age=age, water_temp_c=26).expected_l_min for age in (25, 65))
    assert log(cold / warm) == pytest.approx(0.15, abs=0.06)
    assert log(old / young) == pytest.approx(0.24, abs=0.09)


def test_before_there_is_data_cold_water_asks_for_more_gas_and_age_for_a_wider_band_alone() -> None:
    known, cold = predict(prior(), 72, age=35, water_temp_c=26), predict(prior(), 72, water_temp_c=16)
    old, child = predict(prior(), 72, age=65), predict(prior(), 72, age=12)
    assert cold.expected_l_min / known.expected_l_min == pytest.approx(exp(0.10))
    assert cold.high_l_min / cold.expected_l_min > known.high_l_min / known.expected_l_min
    assert old.expected_l_min == pytest.approx(known.expected_l_min)
    assert old.high_l_min > known.high_l_min
    assert child == known == predict(prior(), 72)


def test_a_logged_rate_is_the_air_that_left_at_the_pressure_of_the_mean_depth() -> None:
    """CoolProp 8.0.0 for the air; the same gauges on a lake in the hills mean that more was breathed."""
    sea = LoggedDive(200, 80, 12, 30, 8, 72, water_temp_c=17, density_kg_m3=1025.5)
    lake = LoggedDive(200, 80, 12, 30, 8, 72, water_temp_c=17, density_kg_m3=999, surface_bar=0.8)
    for dive, ambient in ((sea, 1.01325 + 1025.5 * 9.80665 * 8 / 1e5), (lake, 0.8 + 999 * 9.80665 * 8 / 1e5)):
        start, end, around = (
            PropsSI("D", "P", bar * 1e5, "T", 290.15, "Air")
            for bar in (200 + dive.surface_bar, 80 + dive.surface_bar, ambient)
        )
        by_hand = 12 * (start - end) / around / (30 + 0.35 * 7 * (1 - exp(-30 / 7)))
        assert logged_rate_l_min(dive) == pytest.approx(by_hand, rel=0.001)
    assert logged_rate_l_min(lake) > 1.1 * logged_rate_l_min(sea)


@given(
    st.floats(150, 230), st.floats(20, 140), st.sampled_from([7, 10, 12, 15]), st.floats(8, 35),
    st.floats(1, 12), st.floats(2, 30), st.sampled_from([0.8, 1.01325]),
)  # fmt: skip
def test_the_end_at_a_rate_turns_the_logged_rate_round(
    start: float, end: float, litres: float, minutes: float, depth: float, celsius: float, surface: float
) -> None:
    dive = LoggedDive(start, end, litres, minutes, depth, 72, None, celsius, 1025.5, surface)
    rate = logged_rate_l_min(dive)
    assert end_at_rate(replace(dive, end_bar=0.0), rate) == pytest.approx(end, abs=1e-6)
    assert end_at_rate(dive, 1.2 * rate) < end


def test_a_cylinder_that_runs_dry_ends_at_nothing() -> None:
    assert end_at_rate(LoggedDive(100, 50, 10, 60, 12, 72), 40) == 0

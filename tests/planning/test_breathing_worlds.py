"""Nine of ten: does the band hold that many new guests, in every invented shop and however few its dives?

Goals and the scores to compare with come from a simulation study of our own: 200 new guests in each of 4 to
40 shops, end pressure after 30 min. CRPS, the score of a whole forecast, is in bar: smaller is better.
"""

import random
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.stats import t as student

from app.planning import consumption
from app.planning.breathing import Belief, LoggedDive, learn, predict, prior, student_t_95
from app.planning.consumption import Sea
from app.planning.diver_gas import rates_along
from tests.planning.breathing_shops import (
    LITRES,
    SHOPS,
    START_BAR,
    Shop,
    bar_per_rate,
    learned,
    log_a_dive,
    person,
    rate_today,
)

GUESTS = 200
MINUTES = 30.0
# Shops for each number of past dives: the fewer dives, the more one shop differs from the next.
HOW_MANY = {0: 20, 10: 40, 100: 20, 1000: 6}
# A dive of 25 min to 6 m that everybody's cylinder holds, in a sea of 17 C, and its mean depth.
PROFILE = ((0.0, 0.0), (2 / 3, 6.0), (25.0, 6.0), (25.0 + 2 / 3, 0.0))
MEAN_M = 6.0 * 25.0 / (25.0 + 2 / 3)
SEA = Sea(17, 1025.5, 1.01325)
LEVELS = (np.arange(99) + 0.5) / 99
# CRPS in bar of the study's "mean + log mass, robust".
STUDY = {
    ("as expected", 0): 15.5,
    ("as expected", 10): 15.8,
    ("as expected", 100): 15.1,
    ("as expected", 1000): 15.4,
    ("breathes a fifth more", 0): 23.1,
    ("breathes a fifth more", 100): 18.5,
    ("breathes a fifth more", 1000): 18.0,
    ("breathes 15 % less", 0): 15.0,
    ("breathes 15 % less", 100): 12.8,
    ("coarse gauges", 100): 15.1,
    ("one entry in ten wild", 1000): 15.4,
    ("people differ much", 0): 22.7,
    ("people differ much", 10): 22.9,
    ("people differ much", 100): 21.8,
}


@dataclass(frozen=True)
class Score:
    """Share of new guests inside the band, share that ends under it, and the CRPS of the end in bar."""

    inside: float
    under: float
    crps: float


def score(shop: Shop, dives: int, seed: int) -> Score:
    """Return how new guests of shops with as many past dives fare."""
    chance, per_rate = random.Random(seed), bar_per_rate(MINUTES)
    inside, under, crps = [], [], []
    for _ in range(HOW_MANY[dives]):
        belief = learned(shop, dives, chance)
        rates, bands = [], []
        for _ in range(GUESTS):
            mass, usual = person(shop, chance)
            rates.append(rate_today(usual, chance))
            bands.append(predict(belief, mass))
        end = START_BAR - per_rate * np.array(rates)
        low, middle, high = (
            START_BAR - per_rate * np.array([getattr(band, key) for band in bands])
            for key in ("high_l_min", "expected_l_min", "low_l_min")
        )
        inside.append((low <= end) & (end <= high))
        under.append(end < low)
        # The whole forecast behind the band: Student-t in the log of the rate.
        spread = np.log((START_BAR - low) / (START_BAR - middle)) / student_t_95(2 * belief.shape)
        away = np.outer(spread, student.ppf(1 - LEVELS, 2 * belief.shape))
        ends = START_BAR - (START_BAR - middle)[:, None] * np.exp(away)
        miss = end[:, None] - ends
        crps.append(2 * np.mean(miss * (LEVELS - (miss < 0)), axis=1))
    return Score(float(np.mean(inside)), float(np.mean(under)), float(np.mean(crps)))


@pytest.mark.parametrize("name", SHOPS)
@pytest.mark.parametrize(("dives", "seed"), [(100, 1), (1000, 2)])
def test_nine_of_ten_lie_in_the_band_once_the_shop_has_data(name: str, dives: int, seed: int) -> None:
    """Seed 1: 4,000 guests of 20 shops with 100 dives. Seed 2: 1,200 of six with 1,000."""
    found = score(SHOPS[name], dives, seed)
    assert 0.87 <= found.inside <= 0.94
    assert found.under <= 0.06
    assert found.crps <= 1.03 * STUDY.get((name, dives), np.inf)


@pytest.mark.parametrize("name", SHOPS)
@pytest.mark.parametrize(("dives", "seed"), [(0, 3), (10, 4)])
def test_the_band_is_honest_before_there_is_data(name: str, dives: int, seed: int) -> None:
    """Seed 3: 4,000 guests of a shop without dives. Seed 4: 8,000 of 40 shops with ten."""
    found = score(SHOPS[name], dives, seed)
    assert found.inside >= 0.85
    assert found.crps <= 1.03 * STUDY.get((name, dives), np.inf)


def end_of_real_air(rate: float) -> float:
    """Return the gauge after the plan's dive when somebody settles at a rate, the first minutes higher."""
    used = consumption.mass_g(rates_along(PROFILE, rate), SEA)
    return consumption.gauge_after(consumption.Cylinder(LITRES, START_BAR), used, SEA)


def logged_of_real_air(shop: Shop, mass: float, rate: float, chance: random.Random) -> LoggedDive:
    """Return the dive as it would be written down off its gauges, with its mean depth."""
    end = end_of_real_air(rate) + chance.gauss(0, 2)
    read = max(0.0, min(round(end / shop.step_bar) * shop.step_bar, START_BAR - shop.step_bar))
    return LoggedDive(START_BAR, read, LITRES, PROFILE[-1][0], MEAN_M, mass, water_temp_c=SEA.temp_c)


@pytest.mark.parametrize(("name", "seed"), [("as expected", 5), ("people differ much", 6)])
def test_nine_of_ten_real_ends_lie_between_the_ends_of_the_plan(name: str, seed: int) -> None:
    """Seeds 5 and 6: 4,000 guests of twenty shops with 100 dives in a sea of 17 C, planned as plans are.

    The wildest shops come near the 6 % that may end under the band; one per cent is left to chance.
    """
    shop, chance = SHOPS[name], random.Random(seed)
    inside, under, guests = 0, 0, 0
    for _ in range(20):
        belief = prior()
        for _ in range(100):
            mass, usual = person(shop, chance)
            seen = logged_of_real_air(shop, mass, rate_today(usual, chance), chance)
            belief = learn(belief, seen)
        for _ in range(GUESTS):
            mass, usual = person(shop, chance)
            end = end_of_real_air(rate_today(usual, chance))
            band = predict(belief, mass, water_temp_c=SEA.temp_c)
            cautious, light = end_of_real_air(band.high_l_min), end_of_real_air(band.low_l_min)
            inside += cautious <= end <= light
            under += end < cautious
            guests += 1
    assert 0.87 <= inside / guests <= 0.94
    assert under / guests <= 0.07


def moved(dives: int, seed: int) -> float:
    """Return by which share one wild entry in ten moves what the same dives teach."""
    chance = random.Random(seed)
    clean: Belief = prior()
    wild: Belief = prior()
    for _ in range(dives):
        mass, usual = person(Shop(), chance)
        rate, noise = rate_today(usual, chance), chance.random()
        clean = learn(clean, log_a_dive(Shop(wild=0), mass, rate, random.Random(noise)))
        wild = learn(wild, log_a_dive(Shop(wild=0.10), mass, rate, random.Random(noise)))
    assert clean != wild
    middles = [predict(belief, 72).expected_l_min for belief in (clean, wild)]
    return middles[1] / middles[0] - 1


def test_wild_entries_hardly_move_what_a_thousand_dives_teach() -> None:
    """Seeds 10 to 19: less than 2 % in each shop."""
    assert max(abs(moved(1000, seed)) for seed in range(10, 20)) < 0.02


def test_wild_entries_move_what_a_hundred_dives_teach_by_a_little() -> None:
    """Seeds 100 to 179: less than 2 % on average, and less than 3 % in nine shops of ten."""
    moves = [abs(moved(100, seed)) for seed in range(100, 180)]
    assert float(np.mean(moves)) < 0.02
    assert float(np.quantile(moves, 0.9)) < 0.03

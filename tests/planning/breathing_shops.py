"""Invented shops whose truth is known: their guests, the dives they write down, what is learned of them.

No real people: median 22 L/min, differing from person to person (0.20 in log rate) and day to day (0.13),
growing with mass^0.45; 3 % wild entries (a leak, 50 bar misread, 15 min wrong); gauges read with 2 bar of
noise, in steps of 5 bar; dives of 30 min, or ended at 60 bar. The depth is the one at which a fixed
log-normal of 21 L/min and 0.30 has a band of 101 bar, as in the study that the goals come from.
"""

import random
from dataclasses import dataclass
from math import exp

from app.planning import air
from app.planning.breathing import SEA_KG_M3, Belief, LoggedDive, effective_minutes, learn, prior
from app.planning.water import STANDARD_SURFACE_BAR, pressure_at

LITRES, DEPTH_M, START_BAR = 12.0, 7.4, 200.0


@dataclass(frozen=True)
class Shop:
    """An invented shop: median rate, spread between people, wild entries, steps of its gauges."""

    median_l_min: float = 22.0
    people: float = 0.20
    wild: float = 0.03
    step_bar: float = 5.0


SHOPS = {
    "as expected": Shop(),
    "breathes a fifth more": Shop(median_l_min=22 * 1.2),
    "breathes 15 % less": Shop(median_l_min=22 * 0.85),
    "coarse gauges": Shop(step_bar=10.0),
    "one entry in ten wild": Shop(wild=0.10),
    "people differ much": Shop(people=0.32),
}


def bar_per_rate(minutes: float) -> float:
    """Return the bar that a dive takes for each L/min of settled rate, as the study counts: an ideal gas."""
    return effective_minutes(minutes) * (1 + DEPTH_M / 10) / LITRES


def gauge_after(rate: float, minutes: float) -> float:
    """Return the gauge in bar after minutes at the depth, in real air of 20 C."""
    around = air.density(pressure_at(DEPTH_M, SEA_KG_M3), 20)
    held = (
        air.density(START_BAR + STANDARD_SURFACE_BAR, 20)
        - rate * effective_minutes(minutes) * around / LITRES
    )
    return air.pressure_of(max(0.0, held), 20) - STANDARD_SURFACE_BAR


def person(shop: Shop, chance: random.Random) -> tuple[float, float]:
    """Return a mass in kg and a usual rate in L/min."""
    mass = min(130.0, max(45.0, chance.gauss(74, 14)))
    return mass, shop.median_l_min * (mass / 72) ** 0.45 * exp(chance.gauss(0, shop.people))


def rate_today(usual: float, chance: random.Random) -> float:
    """Return the rate of one day in L/min."""
    return usual * exp(chance.gauss(0, 0.13))


def log_a_dive(shop: Shop, mass: float, rate: float, chance: random.Random) -> LoggedDive:
    """Return a dive as it would be written down: 30 min, or until 60 bar, read off a gauge."""

    minutes = 30.0
    while minutes > 5 and gauge_after(rate, minutes) < 60:
        minutes -= 0.5

    def read(bar: float) -> float:
        return round((bar + chance.gauss(0, 2)) / shop.step_bar) * shop.step_bar

    end = read(gauge_after(rate, minutes))
    if chance.random() < shop.wild:
        what = chance.choice(("leak", "misread", "wrong minutes"))
        end -= {"leak": 25, "misread": chance.choice((-50, 50)), "wrong minutes": 0}[what]
        minutes += chance.choice((-15, 15)) if what == "wrong minutes" else 0
    end = max(0.0, min(end, START_BAR - shop.step_bar))
    return LoggedDive(START_BAR, end, LITRES, max(5.0, minutes), DEPTH_M, mass)


def learned(shop: Shop, dives: int, chance: random.Random) -> Belief:
    """Return what is believed after dives of as many people."""
    belief = prior()
    for _ in range(dives):
        mass, usual = person(shop, chance)
        belief = learn(belief, log_a_dive(shop, mass, rate_today(usual, chance), chance))
    return belief

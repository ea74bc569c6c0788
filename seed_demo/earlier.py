"""Eighty earlier dives out of the shop's invented logbook: made from a fixed seed, of nobody."""

import random
from datetime import timedelta
from math import exp

from app.actions.groups.earlier_dives import store_earlier_dives
from app.planning.breathing import effective_minutes
from app.records.plans.earlier_dives import EarlierDive
from seed_demo.teller import Teller

SEED, DIVES = 8017, 80
# The invented guests breathe a little less than is believed before the first dive, in L/min at 72 kg.
MIDDLE_L_MIN, SPREAD = 20.0, 0.22


def tell(story: Teller) -> None:
    """Paste the logbook, as the manager does on the first day."""
    with story.act("Wren Tallow", "store_earlier_dives") as act:
        store_earlier_dives(act, dives(story), "Logbook of last season")


def dives(story: Teller) -> list[EarlierDive]:
    """Return the dives, the last of them two weeks ago."""
    chance = random.Random(SEED)
    found = []
    for number in range(DIVES):
        day = story.today - timedelta(days=14 + 2 * (DIVES - number))
        mass = float(chance.randint(50, 104))
        litres = chance.choice((10.0, 12.0, 12.0, 12.0))
        minutes, depth = float(chance.randint(14, 24)), chance.choice((3.5, 4.5, 5.0, 5.5, 6.0))
        start = float(chance.randrange(190, 210, 5))
        rate = MIDDLE_L_MIN * (mass / 72) ** 0.4 * exp(chance.gauss(0, SPREAD))
        used = rate * effective_minutes(minutes) * (1 + depth / 10) / litres
        # Gauges of the logbook were written down to five bar; nobody ended under twenty.
        end = max(20.0, 5.0 * round((start - used) / 5))
        found.append(EarlierDive(day, mass, litres, start, end, minutes, depth, 17.0))
    return found

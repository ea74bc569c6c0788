"""Breathing rates: what to expect of somebody never seen before, and learning from the shop's own dives.

y = log of the rate in L/min at the diver's pressure; y = intercept + a * log(mass / 72 kg) + b * tens of
years over 35 + c * tens of degrees under 26 C + what differs from person to person and day to day.
Conjugate normal-inverse-gamma regression, one update for each dive. The first minutes are 35 % higher and
settle with 7 minutes. The beginner prior (21 L/min at 72 kg, 10 % more for ten degrees colder, nothing for
age) is our own choice, between rates published for resting and for swimming sport divers: no published
rate for first-time guests was found.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from app.planning.air import density, pressure_of
from app.planning.water import STANDARD_SURFACE_BAR, pressure_at

SETTLE_SHARE = 0.35
SETTLE_MIN = 7.0
REFERENCE_MASS_KG = 72.0
REFERENCE_AGE = 35.0
REFERENCE_WATER_C = 26.0
# Children's ages say nothing beyond their mass.
GROWN_UP_AGE = 18.0
# What is believed before the first dive of intercept, mass, age and cold, as (middle, standard deviation).
# The intercept's middle is the log of the rate that the prior is asked for.
PRIOR_INTERCEPT_SD = 0.12
PRIOR_SLOPES = ((0.40, 0.25), (0.0, 0.05), (0.10, 0.12))
# Wider than most shops turn out to be (0.24 on the invented ones of the tests), so that nine of ten really
# lie in the band where people differ far more than thought (0.35) and nobody has dived yet, or only ten: with
# 0.26 that was 85 %, with 0.28 it is 87 %, and after a hundred dives it makes no difference.
PRIOR_SPREAD = 0.28
PRIOR_SHAPE = 6.0
# The water of a dive of which nobody wrote it down: salt, and as warm as makes no difference to the gas.
SEA_KG_M3, UNKNOWN_WATER_C = 1025.0, 20.0
# What one gauge reading is worth: its noise in bar.
GAUGE_NOISE_BAR = 3.5
HUBER = 2.5
HUBER_CORRECTION = 1.023
# Of the spread between dives (variance), this share is the person; the rest is the day.
PERSONS_SHARE = 0.7
# How far the log rate of the rest of a dive strays from its first part, as a standard deviation.
DRIFT_WITHIN_DIVE = 0.06
NORMAL_95 = 1.6448536269514722


@dataclass(frozen=True)
class Belief:
    """What is believed of a shop's guests: the coefficients, their covariance, and the spread around them.

    coefficients: intercept, then those of log mass, of age and of cold. covariance is in units of the
    residual variance; the residual variance is scale / shape.
    """

    coefficients: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    shape: float
    scale: float
    dives: int

    @property
    def intercept(self) -> float:
        """The log rate in L/min of somebody of 72 kg and 35 years in water of 26 C."""
        return self.coefficients[0]


@dataclass(frozen=True)
class Rates:
    """A rate in L/min at the diver's pressure: the middle, and the ends of a band that holds nine of ten."""

    expected_l_min: float
    low_l_min: float
    high_l_min: float


@dataclass(frozen=True)
class LoggedDive:
    """One dive as logged: bar, litres, minutes under water, mean depth in m, body mass in kg.

    age: years, water_temp_c: Celsius; None where nobody wrote it down. density_kg_m3, surface_bar: the water,
    and the air above it in bar absolute.
    """

    start_bar: float
    end_bar: float
    litres: float
    minutes: float
    mean_depth_m: float
    mass_kg: float
    age: float | None = None
    water_temp_c: float | None = None
    density_kg_m3: float = SEA_KG_M3
    surface_bar: float = STANDARD_SURFACE_BAR


def prior(middle_l_min: float = 21.0) -> Belief:
    """Return what is believed before the first dive: worth twelve dives of spread 0.28 in log rate."""
    variance = PRIOR_SPREAD**2
    deviations = (PRIOR_INTERCEPT_SD, *(deviation for _, deviation in PRIOR_SLOPES))
    return Belief(
        (log(middle_l_min), *(middle for middle, _ in PRIOR_SLOPES)),
        tuple(
            tuple(deviation**2 / variance if row == column else 0.0 for column in range(len(deviations)))
            for row, deviation in enumerate(deviations)
        ),
        PRIOR_SHAPE,
        PRIOR_SHAPE * variance,
        0,
    )


def features(
    mass_kg: float, age: float | None = None, water_temp_c: float | None = None
) -> tuple[float, float, float, float]:
    """Return what the coefficients are multiplied with; what is not known counts as the reference."""
    return (
        1.0,
        log(mass_kg / REFERENCE_MASS_KG),
        0.0 if age is None or age < GROWN_UP_AGE else (age - REFERENCE_AGE) / 10,
        0.0 if water_temp_c is None else (REFERENCE_WATER_C - water_temp_c) / 10,
    )


def effective_minutes(minutes: float) -> float:
    """Return minutes counted with the higher rate of the first ones."""
    return minutes + SETTLE_SHARE * SETTLE_MIN * (1 - exp(-minutes / SETTLE_MIN))


def settling_factor(from_min: float, to_min: float) -> float:
    """Return the mean factor on the settled rate between two minutes of a dive."""
    return (effective_minutes(to_min) - effective_minutes(from_min)) / (to_min - from_min)


def logged_rate_l_min(dive: LoggedDive) -> float:
    """Return the settled rate of a logged dive in L/min; raises ValueError for one that used nothing.

    The mass of real air that left the cylinder, as litres at the pressure of the mean depth. Litres times bar
    instead would say some 5 % too much, and plans reckon with real air.
    """
    if dive.start_bar <= dive.end_bar or dive.minutes <= 0:
        raise ValueError("a dive uses gas and takes time")
    celsius, around = _surroundings(dive)
    start, end = (density(bar + dive.surface_bar, celsius) for bar in (dive.start_bar, dive.end_bar))
    return dive.litres * (start - end) / (effective_minutes(dive.minutes) * around)


def end_at_rate(dive: LoggedDive, rate_l_min: float) -> float:
    """Return the end pressure in bar gauge of a dive breathed at a settled rate in L/min; 0 when it ran dry.

    The rate of a logged dive, turned round: the dive's own end pressure is not looked at.
    """
    celsius, around = _surroundings(dive)
    start = density(dive.start_bar + dive.surface_bar, celsius)
    left = start - rate_l_min * effective_minutes(dive.minutes) * around / dive.litres
    return max(0.0, pressure_of(left, celsius) - dive.surface_bar)


def predict(
    belief: Belief,
    mass_kg: float,
    own_rates_l_min: Sequence[float] = (),
    *,
    age: float | None = None,
    water_temp_c: float | None = None,
) -> Rates:
    """Return what to expect of one guest, with a band for nine of ten (Student-t).

    own_rates_l_min: settled rates of the same guest's earlier dives. They draw the middle to the person by
    b / (b + w / n), with b and w the variance between and within people, and narrow the band.
    """
    x = features(mass_kg, age, water_temp_c)
    middle = _dot(belief.coefficients, x)
    line = _dot([_dot(row, x) for row in belief.covariance], x)
    scatter = 1.0
    if own_rates_l_min:
        count = len(own_rates_l_min)
        known = PERSONS_SHARE / (PERSONS_SHARE + (1 - PERSONS_SHARE) / count)
        middle += known * (sum(log(rate) for rate in own_rates_l_min) / count - middle)
        line *= (1 - known) ** 2
        scatter = 1 - known * PERSONS_SHARE
    deviation = sqrt(belief.scale / belief.shape * (scatter + line))
    away = student_t_95(2 * belief.shape) * deviation
    return Rates(exp(middle), exp(middle - away), exp(middle + away))


def after_reading(before: Rates, seen: LoggedDive) -> Rates:
    """Return the rates expected for the rest of this very dive once a gauge was read in the middle of it.

    Person and day are the same before and after the reading, so it says far more than body mass. Raises
    ValueError for a reading that shows no gas used.
    """
    rate = logged_rate_l_min(seen)
    believed = (log(before.high_l_min / before.low_l_min) / (2 * NORMAL_95)) ** 2
    drifts = DRIFT_WITHIN_DIVE**2
    noise = _reading_variance(seen) + drifts
    known = believed / (believed + noise)
    middle = log(before.expected_l_min)
    middle += known * (log(rate) - middle)
    away = NORMAL_95 * sqrt(believed * (1 - known) + drifts)
    return Rates(exp(middle), exp(middle - away), exp(middle + away))


def learn(belief: Belief, dive: LoggedDive) -> Belief:
    """Return the belief after one more dive; a wild reading counts for less (Huber at 2.5 deviations)."""
    y = log(logged_rate_l_min(dive))
    x = features(dive.mass_kg, dive.age, dive.water_temp_c)
    noise = _reading_variance(dive)
    variance = belief.scale / belief.shape
    # The gauges' noise is this one dive's own and must not widen what is expected of people.
    own = 1 + noise / variance
    along = [_dot(row, x) for row in belief.covariance]
    total = own + _dot(along, x)
    miss = y - _dot(belief.coefficients, x)
    z = abs(miss) / sqrt(variance * total)
    weight = 1.0 if z <= HUBER else HUBER / z
    gains = [one / total for one in along]
    squared = min(miss * miss / (variance * total), HUBER * HUBER) * HUBER_CORRECTION
    return Belief(
        tuple(one + weight * gain * miss for one, gain in zip(belief.coefficients, gains, strict=True)),
        tuple(
            tuple(cell - gain * other for cell, other in zip(row, along, strict=True))
            for row, gain in zip(belief.covariance, gains, strict=True)
        ),
        belief.shape + 0.5,
        belief.scale + 0.5 * squared * variance,
        belief.dives + 1,
    )


def student_t_95(freedom: float) -> float:
    """Return the 95 % point of Student's t (Cornish-Fisher, within 0.002 from 8 degrees of freedom on)."""
    z = NORMAL_95
    g1 = (z**3 + z) / 4
    g2 = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    g3 = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + g1 / freedom + g2 / freedom**2 + g3 / freedom**3


def _surroundings(dive: LoggedDive) -> tuple[float, float]:
    """Return the water's temperature in C and the density in g/L of the air that the diver breathed."""
    celsius = UNKNOWN_WATER_C if dive.water_temp_c is None else dive.water_temp_c
    return celsius, density(pressure_at(dive.mean_depth_m, dive.density_kg_m3, dive.surface_bar), celsius)


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the sum of products of two rows of equal length."""
    return sum(a * b for a, b in zip(one, other, strict=True))


def _reading_variance(dive: LoggedDive) -> float:
    """Return what two noisy gauge readings add to the variance of a dive's log rate."""
    return 2 * (GAUGE_NOISE_BAR / (dive.start_bar - dive.end_bar)) ** 2

"""The compressor: what is left of its filter and oil, what its air certificate says, and whether it may fill.

A filter that is known to be used up stops new fills, and so does a certificate that did not pass: both are
about the air that people breathe. Oil is about the machine: it is said and does not stop. What nobody has
written down yet is said too, so that a shop can begin to keep these records with its cylinders full.
"""

from dataclasses import dataclass
from datetime import date

from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, all_of, note, refuse
from app.rules.limits import Limit
from app.rules.measure import within
from app.rules.resolve import Limits, needed, show


@dataclass(frozen=True, slots=True)
class Certificate:
    """The newest test of the compressor's air. passed: the laboratory's word. None: not on the paper."""

    tested_on: date
    passed: bool
    oxygen_percent: float | None = None
    co_ppm: float | None = None
    co2_ppm: float | None = None
    oil_mg_m3: float | None = None
    water_mg_m3: float | None = None


@dataclass(frozen=True, slots=True)
class CompressorFacts:
    """hours: the meter as last read. filter_at, oil_at: the meter when it was renewed. None: not known."""

    hours: float | None
    filter_at: float | None
    oil_at: float | None
    certificate: Certificate | None


@dataclass(frozen=True, slots=True)
class Wear:
    """How much of a part's hours is used. used, left: None while not known; left below 0 is overdue."""

    name: str
    limit: Limit
    used: float | None
    left: float | None


def wear_of(facts: CompressorFacts, limits: Limits) -> tuple[Wear, Wear]:
    """Return what is left of the filter and of the oil, in hours."""

    def one(name: str, limit: Limit, renewed_at: float | None) -> Wear:
        used = None if facts.hours is None or renewed_at is None else max(0.0, facts.hours - renewed_at)
        most = limits[limit].number
        return Wear(name, limit, used, None if used is None or most is None else most - used)

    return (
        one("filter", L.COMPRESSOR_FILTER_HOURS, facts.filter_at),
        one("oil", L.COMPRESSOR_OIL_HOURS, facts.oil_at),
    )


def certificate_good(certificate: Certificate, limits: Limits) -> Decision:
    """Is the air on this certificate breathing air? A figure that is not on it is not judged."""
    figures: tuple[tuple[Limit, float | None, str], ...] = (
        (L.AIR_OXYGEN_MIN, certificate.oxygen_percent, "oxygen is not that of air"),
        (L.AIR_OXYGEN_MAX, certificate.oxygen_percent, "oxygen is not that of air"),
        (L.AIR_CO_MAX, certificate.co_ppm, "carbon monoxide is too high"),
        (L.AIR_CO2_MAX, certificate.co2_ppm, "carbon dioxide is too high"),
        (L.AIR_OIL_MAX, certificate.oil_mg_m3, "oil is too high"),
        (L.AIR_WATER_MAX, certificate.water_mg_m3, "water is too high"),
    )
    judged = all_of(
        within(
            limits[limit],
            found,
            unknown="",
            broken=f"On the newest air certificate the {what}. Fill nothing until a good one is on file.",
        )
        for limit, found, what in figures
        if found is not None
    )
    if certificate.passed or not judged.allowed:
        return judged
    text = (
        "The newest test of the compressor's air did not pass. Nothing is filled until a good one is on file."
    )
    return refuse(Reason(L.COMPRESSOR_AIR_TEST_EVERY.key, text, "did not pass", "passed", "", "hard limit"))


def dry_enough(certificate: Certificate, target_bar: float, limits: Limits) -> Decision:
    """Is the air dry enough for this fill pressure, bar gauge? Above a pressure less water is allowed."""
    from_bar = limits[L.AIR_WATER_HIGH_ABOVE].number
    if certificate.water_mg_m3 is None or from_bar is None or target_bar <= from_bar:
        return ALLOWED
    return within(
        limits[L.AIR_WATER_MAX_HIGH],
        certificate.water_mg_m3,
        unknown="",
        broken=f"The air is too wet for more than {from_bar:g} bar. Fill to {from_bar:g} bar at most.",
    )


def may_run(facts: CompressorFacts, limits: Limits, target_bar: float | None = None) -> Decision:
    """May the compressor fill cylinders now, to `target_bar` at most (bar gauge; None: any)?"""
    air = ALLOWED
    if facts.certificate is not None:
        air = certificate_good(facts.certificate, limits)
        if target_bar is not None:
            air += dry_enough(facts.certificate, target_bar, limits)
    filter_wear, oil_wear = wear_of(facts, limits)
    return all_of((air, _filter(filter_wear, limits), _oil(oil_wear, limits)))


def _filter(wear: Wear, limits: Limits) -> Decision:
    if wear.left is not None and wear.left <= 0:
        return refuse(_reason(wear, limits, "The filter's hours are used up. Change the cartridge first."))
    unknown = "Nobody wrote down when the filter was last changed. Write it down."
    return _note(wear, limits, unknown, "The filter is used up soon. Have a cartridge ready.")


def _oil(wear: Wear, limits: Limits) -> Decision:
    if wear.left is not None and wear.left <= 0:
        return note(_reason(wear, limits, "The compressor's oil service is overdue. Do it today."))
    unknown = "Nobody wrote down the compressor's last oil service. Write it down."
    return _note(wear, limits, unknown, "The compressor's oil service is due soon.")


def _note(wear: Wear, limits: Limits, unknown: str, soon: str) -> Decision:
    if wear.left is None:
        return note(_reason(wear, limits, unknown))
    notice = limits[L.COMPRESSOR_HOURS_NOTICE].number
    return note(_reason(wear, limits, soon)) if notice is None or wear.left <= notice else ALLOWED


def _reason(wear: Wear, limits: Limits, text: str) -> Reason:
    limit = limits[wear.limit]
    found = "not known" if wear.used is None else show(round(wear.used, 1))
    return Reason(limit.key, text, found, needed(limit), limit.unit, limit.bound_by)

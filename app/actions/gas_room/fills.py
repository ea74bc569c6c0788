"""Filling cylinders with air: one or a batch, the compressor's hours, the test of its air."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date

from app.actions.act import Act, Invalid
from app.actions.gas_room.cylinders import note_unusual, quarantine
from app.records.gas_room import cylinders
from app.records.gas_room.compressor import compressor_facts
from app.records.gas_room.cylinder_history import air_tested_on, compressor_readings
from app.records.setup.shop import limits_now, the_shop
from app.records.store.problems import NotHere
from app.records.tables.cylinders import AirTestRow, CompressorRow, FillRow
from app.rules.compressor import Certificate, certificate_good, may_run
from app.rules.cylinders import AirFacts, CylinderFacts, may_fill
from app.rules.decision import Reason, all_of
from app.rules.fills import judge_air
from app.rules.gas import Judgement, Level, judge_pressure
from app.rules.resolve import Limits, show


@dataclass(frozen=True)
class Fill:
    """One cylinder's part of a batch. bar gauge; start_bar None: the gauge stands as it was last read."""

    start_bar: float | None
    end_bar: float


@dataclass(frozen=True)
class Air:
    """The air of a batch: gas temperature in °C, and what was measured of it (None: it was not)."""

    temp_c: float
    oxygen_percent: float | None = None
    co_ppm: float | None = None


def add_fill(act: Act, cylinder_id: int, fill: Fill, air: Air) -> FillRow:
    """Write down one fill; raises Invalid or Refused. Bad air is written down and sets the cylinder aside."""
    return fill_several(act, {cylinder_id: fill}, air)[0]


def fill_several(act: Act, fills: Mapping[int, Fill], air: Air) -> list[FillRow]:
    """Write down a batch, all of it or none; raises NotHere, Invalid or Refused naming the cylinders.

    Invalid names its fields ``start_<cylinder>`` and ``end_<cylinder>``.
    """
    day = the_shop(act.session).day_of(act.now)
    limits = limits_now(act.session)
    facts = cylinders.cylinder_facts(act.session, fills)
    if absent := set(fills) - set(facts):
        raise NotHere(f"cylinders {sorted(absent)}")
    errors: dict[str, str] = {}
    for key, fill in fills.items():
        errors |= _judge(act, facts[key], fill, limits)
    if errors:
        raise Invalid(errors)
    highest = max((fill.end_bar for fill in fills.values()), default=None)
    machine = may_run(compressor_facts(act.session), limits, highest)
    decision = all_of(may_fill(facts[key], limits, day, fill.end_bar) for key, fill in fills.items())
    act.allow(machine + decision)
    verdict = judge_air(AirFacts(air.oxygen_percent, air.co_ppm, air_tested_on(act.session)), limits, day)
    due = [note for note in machine.notes if note.found != show(None)]
    # Two limits may ask for one measurement: it is said once.
    unmeasured = {note.text: note for note in verdict.notes}.values()
    act.notices.extend((*decision.notes, *due, *unmeasured))
    rows = [_write(act, facts[key], fill, air) for key, fill in fills.items()]
    act.notices.extend(verdict.bad)
    if verdict.bad:
        why = " ".join(say_reason(reason) for reason in verdict.bad)
        for key in fills:
            quarantine(act, key, why)
    act.about = ("cylinder", " ".join(str(key) for key in fills))
    return rows


def read_compressor(act: Act, hours: float, field: str = "hours") -> CompressorRow:
    """Write down the compressor's hour meter; raises Invalid for ``field`` when it would run backwards."""
    before = compressor_readings(act.session, 1)
    if before and hours < before[0].hours:
        raise Invalid(
            {field: f"The hour meter stood at {before[0].hours:g} h. It cannot run backwards. Read it again."}
        )
    row = act.add(CompressorRow(hours=hours, at=act.now, by=act.actor.name))
    act.about = ("compressor_hours", str(row.id))
    return row


def add_air_test(act: Act, test: Certificate | date, report: str, certificate: str = "") -> AirTestRow:
    """Write down a test of the compressor's air, at the least the day on which it passed.

    A figure over its limit never counts as passed, whatever the paper says: it is kept as it is, and
    nothing is filled until a good one is on file.
    """
    known = test if isinstance(test, Certificate) else Certificate(test, passed=True)
    judged = certificate_good(known, limits_now(act.session))
    row = act.add(
        AirTestRow(
            **{**asdict(known), "passed": judged.allowed},
            report=report,
            certificate=certificate,
            at=act.now,
            by=act.actor.name,
        )
    )
    act.notices.extend(judged.reasons)
    act.about = ("air_test", str(row.id))
    return row


def _judge(act: Act, facts: CylinderFacts, fill: Fill, limits: Limits) -> dict[str, str]:
    start = facts.gauge_bar if fill.start_bar is None else fill.start_bar
    start_field, end_field = f"start_{facts.id}", f"end_{facts.id}"
    if start is None:
        return {start_field: f"Enter the start pressure of cylinder {facts.number}. Its gauge was not read."}
    judged: tuple[tuple[str, Judgement], ...] = (
        (start_field, judge_pressure(start, "check", facts.gauge_bar, facts.working_pressure_bar, limits)),
        (end_field, judge_pressure(fill.end_bar, "fill", start, None, limits)),
    )
    errors = {field: one.sentence for field, one in judged if one.level is Level.IMPOSSIBLE}
    if not errors and fill.end_bar <= start:
        errors[end_field] = (
            f"Cylinder {facts.number} was at {start:g} bar before. Its end pressure must be higher."
        )
    for _, one in judged:
        note_unusual(act, facts, one)
    return errors


def _write(act: Act, facts: CylinderFacts, fill: Fill, air: Air) -> FillRow:
    start = facts.gauge_bar if fill.start_bar is None else fill.start_bar
    return act.add(
        FillRow(
            cylinder_id=int(facts.id),
            start_bar=start or 0.0,
            end_bar=fill.end_bar,
            temp_c=air.temp_c,
            oxygen_percent=air.oxygen_percent,
            co_ppm=air.co_ppm,
            at=act.now,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
        )
    )


def say_reason(reason: Reason) -> str:
    """Return why a cylinder is set aside, in words."""
    return f"{reason.text} Found {reason.found} {reason.unit}, needed {reason.needed}."

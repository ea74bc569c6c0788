"""The shop's cylinders as plain facts for the rules, and as the board of the gas room."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.gas_room.cylinders_out import Holder, holders
from app.records.gas_room.gauges import FILLED, Gauge, gauges
from app.records.gas_room.inspection import open_trips, shops_inspection
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.tables.cylinders import CylinderRow, QuarantineRow, StationTripRow
from app.rules.cylinders import CylinderFacts, State, state_of, tests_due
from app.rules.gas import ReadingKind
from app.rules.inspection import Inspection, inspection_of, tightest
from app.rules.limits import CYLINDER_TEST_NOTICE
from app.rules.resolve import Limits

# Why a gauge was read -> what the rules call it.
_KINDS: dict[str, ReadingKind] = {
    FILLED: "fill", "start": "start", "during": "turn", "turn": "turn", "end": "end", "drained": "drained",
}  # fmt: skip


@dataclass(frozen=True)
class CylinderView:
    """One cylinder with all that the gas room shows of it.

    next_test: the earlier of both tests, None when one is not on file. test_soon: it is due within the
    shop's notice and not over yet. trip: its way to the test station where it is now.
    """

    row: CylinderRow
    facts: CylinderFacts
    state: State
    gauge: Gauge | None
    holder: Holder | None
    quarantine: QuarantineRow | None
    next_test: date | None
    test_soon: bool
    trip: StationTripRow | None = None


def cylinder_facts(session: Session, ids: Iterable[int] | None = None) -> dict[int, CylinderFacts]:
    """Return what the rules need of each cylinder in the shop, by its number in the store.

    A retired cylinder is not in the shop: it is not in the answer.
    """
    return {key: facts for key, (_, facts, *_) in _gather(session, ids).items()}


def facts_of(session: Session, cylinder_id: int) -> CylinderFacts:
    """Return the facts of one cylinder; raises NotHere, also for a retired one."""
    found = cylinder_facts(session, [cylinder_id])
    if cylinder_id not in found:
        raise NotHere(f"cylinder {cylinder_id}")
    return found[cylinder_id]


def cylinder_board(session: Session, day: date) -> list[CylinderView]:
    """Return every cylinder in the shop as it stands on a day, by number (2 before 10)."""
    limits = limits_now(session)
    views = [_view(parts, limits, day) for parts in _gather(session, None).values()]
    return sorted(views, key=lambda view: _natural(view.row.number))


def cylinder_view(session: Session, cylinder_id: int, day: date) -> CylinderView:
    """Return one cylinder, retired or not; raises NotHere."""
    parts = _gather(session, [cylinder_id], retired=True).get(cylinder_id)
    if parts is None:
        raise NotHere(f"cylinder {cylinder_id}")
    return _view(parts, limits_now(session), day)


def in_the_shop(session: Session) -> list[CylinderRow]:
    """Return the cylinders that are in the shop, by number (2 before 10)."""
    rows = session.exec(select(CylinderRow).where(col(CylinderRow.retired).is_(False)))
    return sorted(rows, key=lambda row: _natural(row.number))


def retired(session: Session) -> list[CylinderRow]:
    """Return the cylinders that left the shop, by number."""
    rows = session.exec(select(CylinderRow).where(col(CylinderRow.retired)))
    return sorted(rows, key=lambda row: _natural(row.number))


def cylinder_numbered(session: Session, number: str) -> CylinderRow | None:
    """Return the cylinder with this number painted on it; None if there is none."""
    return session.exec(select(CylinderRow).where(CylinderRow.number == number)).first()


def open_quarantines(session: Session, ids: Iterable[int] | None = None) -> dict[int, QuarantineRow]:
    """Return why cylinders are set aside now, by cylinder."""
    found = select(QuarantineRow).where(col(QuarantineRow.lifted_at).is_(None))
    if ids is not None:
        found = found.where(col(QuarantineRow.cylinder_id).in_(list(ids)))
    return {row.cylinder_id: row for row in session.exec(found.order_by(col(QuarantineRow.id)))}


def reading_kind(why: str) -> ReadingKind:
    """Return what the rules call the reason for which a gauge was read."""
    return _KINDS.get(why, "check")


_Parts = tuple[
    CylinderRow, CylinderFacts, Gauge | None, Holder | None, QuarantineRow | None, StationTripRow | None
]


def _gather(session: Session, ids: Iterable[int] | None, *, retired: bool = False) -> dict[int, _Parts]:
    wanted = None if ids is None else list(ids)
    asked = select(CylinderRow)
    if wanted is not None:
        asked = asked.where(col(CylinderRow.id).in_(wanted))
    if not retired:
        asked = asked.where(col(CylinderRow.retired).is_(False))
    known, out, aside = gauges(session, wanted), holders(session, wanted), open_quarantines(session, wanted)
    away, shops = open_trips(session, wanted), shops_inspection(session)
    found: dict[int, _Parts] = {}
    for row in session.exec(asked):
        key = row.id or 0
        gauge, holder, quarantine, trip = known.get(key), out.get(key), aside.get(key), away.get(key)
        facts = _facts(row, gauge, holder, quarantine, trip, inspection_of(row.inspection, shops))
        found[key] = (row, facts, gauge, holder, quarantine, trip)
    return found


def _facts(
    row: CylinderRow,
    gauge: Gauge | None,
    holder: Holder | None,
    quarantine: QuarantineRow | None,
    trip: StationTripRow | None,
    rules: Inspection,
) -> CylinderFacts:
    return CylinderFacts(
        id=str(row.id),
        number=row.number,
        litres=row.litres,
        working_pressure_bar=row.working_pressure_bar,
        material=row.material,
        last_visual=row.last_visual,
        last_pressure_test=row.last_pressure_test,
        gauge_bar=None if gauge is None else gauge.bar,
        quarantined=quarantine is not None,
        out_with="" if holder is None else holder.name,
        # A cylinder is reserved by giving it out, to one person at a time: whoever has it is the only one.
        other_groups=(),
        visual_every_months=tightest(rules.visual_months, row.visual_interval_months),
        pressure_test_every_months=tightest(rules.pressure_months, row.pressure_interval_months),
        quarantine_reason="" if quarantine is None else quarantine.why,
        station="" if trip is None else trip.station,
    )


def _view(parts: _Parts, limits: Limits, day: date) -> CylinderView:
    row, facts, gauge, holder, quarantine, trip = parts
    dues = [test.on for test in tests_due(facts, limits)]
    known = [on for on in dues if on is not None]
    # A test that is not on file is due now: no date is shown for it.
    next_test = min(known) if len(known) == len(dues) else None
    notice = limits[CYLINDER_TEST_NOTICE].number or 0
    soon = next_test is not None and 0 <= (next_test - day).days <= notice
    state = state_of(facts, limits, day)
    return CylinderView(row, facts, state, gauge, holder, quarantine, next_test, soon, trip)


def _natural(number: str) -> list[tuple[int, int, str]]:
    parts = re.findall(r"\d+|\D+", number)
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part.lower()) for part in parts]

"""The compressor and its banks as read: hours, delivery, renewals, air certificates, what the banks hold."""

from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.planning.filling import Bank
from app.records.gas_room.cylinder_history import compressor_readings
from app.records.store.problems import NotHere
from app.records.tables.compressor import (
    BankReadingRow,
    BankRow,
    CompressorOutputRow,
    CompressorServiceRow,
)
from app.records.tables.cylinders import AirTestRow
from app.rules.compressor import Certificate, CompressorFacts

FILTER, OIL = "filter", "oil"
# Banks and cylinders that stand in the shop, where nobody measured their gas (common practice, no source).
ROOM_C = 20.0


@dataclass(frozen=True)
class BankView:
    """A bank with its newest pressure, read or worked out; None while nobody read it."""

    row: BankRow
    reading: BankReadingRow | None

    @property
    def store(self) -> Bank | None:
        """The bank as filling sums read it."""
        return None if self.reading is None else Bank(self.row.litres, self.reading.bar)


def compressor_facts(session: Session) -> CompressorFacts:
    """Return what the rules need of the compressor."""
    hours = compressor_readings(session, 1)
    renewed = {row.kind: row.hours for row in reversed(services(session))}
    newest = newest_air_test(session)
    return CompressorFacts(
        hours=hours[0].hours if hours else None,
        filter_at=renewed.get(FILTER),
        oil_at=renewed.get(OIL),
        certificate=None if newest is None else certificate_of(newest),
    )


def certificate_of(row: AirTestRow) -> Certificate:
    """Return a test of the air as the rules read it."""
    return Certificate(
        row.tested_on,
        row.passed,
        row.oxygen_percent,
        row.co_ppm,
        row.co2_ppm,
        row.oil_mg_m3,
        row.water_mg_m3,
    )


def newest_air_test(session: Session) -> AirTestRow | None:
    """Return the test of the air that counts: the newest day's, of two on a day the one written later."""
    return next(iter(air_tests(session, 1)), None)


def air_tests(session: Session, most: int = 6) -> list[AirTestRow]:
    """Return the tests of the air, the one that counts first."""
    found = select(AirTestRow).order_by(col(AirTestRow.tested_on).desc(), col(AirTestRow.id).desc())
    return list(session.exec(found.limit(most)))


def services(session: Session, most: int = 40) -> list[CompressorServiceRow]:
    """Return what was renewed in the compressor, newest first."""
    found = select(CompressorServiceRow).order_by(col(CompressorServiceRow.id).desc()).limit(most)
    return list(session.exec(found))


def output(session: Session) -> CompressorOutputRow | None:
    """Return what the compressor delivers, as last written down."""
    return session.exec(select(CompressorOutputRow).order_by(col(CompressorOutputRow.id).desc())).first()


def banks(session: Session, *, all_of_them: bool = False) -> list[BankView]:
    """Return the banks in use with what they hold, by name; or every bank there ever was."""
    newest = select(func.max(BankReadingRow.id)).group_by(col(BankReadingRow.bank_id))
    read = session.exec(select(BankReadingRow).where(col(BankReadingRow.id).in_(newest)))
    by_bank = {row.bank_id: row for row in read}
    asked = select(BankRow).order_by(BankRow.name, col(BankRow.id))
    if not all_of_them:
        asked = asked.where(col(BankRow.in_use))
    return [BankView(row, by_bank.get(row.id or 0)) for row in session.exec(asked)]


def bank(session: Session, bank_id: int) -> BankView:
    """Return one bank; raises NotHere."""
    found = next((one for one in banks(session, all_of_them=True) if one.row.id == bank_id), None)
    if found is None:
        raise NotHere(f"bank {bank_id}")
    return found


def stored(session: Session) -> dict[int, Bank]:
    """Return what the banks in use hold, by number; a bank that nobody read gives nothing."""
    return {one.row.id or 0: one.store for one in banks(session) if one.store is not None}

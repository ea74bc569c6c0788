"""Where each guest's health record is, and whose moves on: read from the records, decided by the rules."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from sqlmodel import Session, col, select

from app.records.setup.shop import limits_now
from app.records.tables.groups import MemberRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.privacy import ErasureRequestRow, HoldRow, KeepingRuleRow, StageRow
from app.records.tables.water import WaterEventRow
from app.rules.limits import HEALTH_LIVE_DAYS, MAJORITY_AGE
from app.rules.retention import COUNTRIES, GENERAL, Keeping, Kept, Stage, stage_on

# Steps of a hold after which it stands.
HELD, LOOKED_AGAIN, RELEASED, NOT_NEEDED = "held", "kept", "released", "not needed"
STANDING = (HELD, LOOKED_AGAIN)
WENT_IN = "in"
# More values than this in one question are too many for some stores.
AT_ONCE = 500


@dataclass(frozen=True)
class Record:
    """One guest's record: whose, what the rules know of it, and where it belongs."""

    guest_id: int
    ref: str
    kept: Kept
    belongs: Stage

    @property
    def stage(self) -> Stage:
        """Where it is now, as far as anything was done about it."""
        if self.kept.erased:
            return Stage.ERASED
        return Stage.SEALED if self.kept.sealed else Stage.LIVE

    @property
    def moves(self) -> bool:
        """Whether something is to be done."""
        return self.belongs is not self.stage


@dataclass(frozen=True)
class _Done:
    """What was done so far, by guest reference."""

    sealed: frozenset[str]
    erased: frozenset[str]
    asked: frozenset[str]
    held: frozenset[str]


def keeping_now(session: Session) -> Keeping:
    """Return how long the shop keeps sealed records: its own newest setting, else the shipped one."""
    row = session.exec(select(KeepingRuleRow).order_by(col(KeepingRuleRow.id).desc()).limit(1)).first()
    if row is None:
        return GENERAL
    start = COUNTRIES.get(row.country, GENERAL)
    return replace(
        start,
        adult_months=row.adult_months,
        minor_age=row.minor_age,
        minor_months=row.minor_months,
        source=row.source,
    )


def keeping_history(session: Session) -> list[KeepingRuleRow]:
    """Return every setting of how long records are kept, newest first."""
    return list(session.exec(select(KeepingRuleRow).order_by(col(KeepingRuleRow.id).desc())))


def live_days(session: Session) -> int:
    """Return the days after the dive day for which a record is live."""
    return int(limits_now(session)[HEALTH_LIVE_DAYS].number or 0)


def records(session: Session, today: date, guest_ids: Collection[int] | None = None) -> Iterator[Record]:
    """Yield every guest's record, or those of some guests, with where it belongs today."""
    # Columns, not rows: a shop has tens of thousands of guests after a few years.
    asked = (
        select(col(GuestRow.id), GuestRow.ref, col(GuestRow.birth_date), col(SlotRow.day))
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .order_by(col(SlotRow.day), col(GuestRow.id))
    )
    if guest_ids is not None:
        asked = asked.where(col(GuestRow.id).in_(list(guest_ids)))
    found = session.exec(asked).all()
    done = _done(session, None if guest_ids is None else [row[1] for row in found])
    went_in, keeping, live = _went_in(session, guest_ids), keeping_now(session), live_days(session)
    majority = limits_now(session)[MAJORITY_AGE].number or 0
    for number, ref, born, day in found:
        kept = Kept(
            day,
            dived=number in went_in,
            birth_date=born,
            majority_age=majority,
            sealed=ref in done.sealed,
            erased=ref in done.erased,
            asked=ref in done.asked,
            held=ref in done.held,
        )
        yield Record(number or 0, ref, kept, stage_on(kept, today, keeping, live))


def record_of(session: Session, guest_id: int, today: date) -> Record:
    """Return one guest's record; the guest is there."""
    return next(records(session, today, [guest_id]))


def counts(session: Session, today: date) -> Counter[Stage]:
    """Return how many records are in each stage now."""
    return Counter(one.stage for one in records(session, today))


def due(session: Session, today: date) -> int:
    """Return how many records are to be sealed or erased."""
    return sum(one.moves for one in records(session, today))


def newest_stage(session: Session, ref: str) -> StageRow | None:
    """Return the newest stage of a guest's record; None while it is live."""
    return stubs(session, [ref]).get(ref)


def stubs(session: Session, refs: Iterable[str]) -> dict[str, StageRow]:
    """Return the newest stage row of those guests whose records are not live any more."""
    found: dict[str, StageRow] = {}
    wanted = list(refs)
    for first in range(0, len(wanted), AT_ONCE):
        some = wanted[first : first + AT_ONCE]
        asked = select(StageRow).where(col(StageRow.guest_ref).in_(some)).order_by(col(StageRow.id))
        found |= {row.guest_ref: row for row in session.exec(asked)}
    return found


def holds_now(session: Session) -> list[HoldRow]:
    """Return the newest step of every hold that stands, the one to be looked at first in front."""
    standing = [row for row in _holds(session).values() if row.step in STANDING]
    return sorted(standing, key=lambda row: (row.check_by or date.max, row.id or 0))


def hold_steps(session: Session, ref: str) -> list[HoldRow]:
    """Return every step of a guest's holds, newest first."""
    asked = select(HoldRow).where(HoldRow.guest_ref == ref).order_by(col(HoldRow.id).desc())
    return list(session.exec(asked))


def requests_of(session: Session, ref: str) -> list[ErasureRequestRow]:
    """Return a guest's requests for erasure, newest first."""
    asked = select(ErasureRequestRow).where(ErasureRequestRow.guest_ref == ref)
    return list(session.exec(asked.order_by(col(ErasureRequestRow.id).desc())))


def erased_refs(session: Session) -> frozenset[str]:
    """Return the references of every erased guest."""
    return frozenset(session.exec(select(StageRow.guest_ref).where(StageRow.stage == str(Stage.ERASED))))


def _holds(session: Session, refs: list[str] | None = None) -> dict[str, HoldRow]:
    asked = select(HoldRow).order_by(col(HoldRow.id))
    if refs is not None:
        asked = asked.where(col(HoldRow.guest_ref).in_(refs))
    return {row.guest_ref: row for row in session.exec(asked)}


def _done(session: Session, refs: list[str] | None) -> _Done:
    stages = select(StageRow.guest_ref, StageRow.stage)
    asked = select(ErasureRequestRow.guest_ref)
    if refs is not None:
        stages = stages.where(col(StageRow.guest_ref).in_(refs))
        asked = asked.where(col(ErasureRequestRow.guest_ref).in_(refs))
    reached = session.exec(stages).all()
    return _Done(
        frozenset(ref for ref, stage in reached if stage == str(Stage.SEALED)),
        frozenset(ref for ref, stage in reached if stage == str(Stage.ERASED)),
        frozenset(session.exec(asked)),
        frozenset(ref for ref, row in _holds(session, refs).items() if row.step in STANDING),
    )


def _went_in(session: Session, guest_ids: Collection[int] | None) -> frozenset[int]:
    asked = (
        select(MemberRow.guest_id)
        .join(WaterEventRow, col(WaterEventRow.member_id) == MemberRow.id)
        .where(WaterEventRow.event == WENT_IN, col(MemberRow.guest_id).is_not(None))
        .distinct()
    )
    if guest_ids is not None:
        asked = asked.where(col(MemberRow.guest_id).in_(list(guest_ids)))
    return frozenset(number for number in session.exec(asked) if number is not None)

"""Doctors' letters as they stand: their pages, who compared them, who reviewed, and what waits for whom."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records.health.health_forms import owner
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.health import LetterRow
from app.records.tables.letters import LetterCheckRow, LetterPageRow, LetterScanRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow

# What a scan is of.
LETTER, PARENT_PAPER = "letter", "parent-paper"
COMPARED, REVIEWED = "compared", "reviewed"


@dataclass(frozen=True)
class ScanView:
    """One page without its bytes. letter_id: the recorded letter that it belongs to; None before."""

    id: int
    kind: str
    content_type: str
    size_bytes: int
    digest: str
    by: str
    at: datetime
    letter_id: int | None


@dataclass(frozen=True)
class LetterState:
    """What became of one recorded letter."""

    pages: tuple[int, ...] = ()
    superseded: bool = False
    compared: LetterCheckRow | None = None
    reviews: dict[str, LetterCheckRow] = field(default_factory=dict)

    @property
    def confirmed(self) -> bool:
        """Whether a second person said that the record says what the scan says."""
        return bool(self.pages) and self.compared is not None and self.compared.agrees

    @property
    def found_wrong(self) -> bool:
        """Whether the second person said that it does not."""
        return self.compared is not None and not self.compared.agrees

    @property
    def reviewed(self) -> bool:
        """Whether keeper and lead, two people, both let a fit count that follows a not-fit."""
        said = [row for row in self.reviews.values() if row.agrees]
        return {row.role for row in said} == {"keeper", "lead"} and len({row.by_id for row in said}) > 1


@dataclass(frozen=True)
class Waiting:
    """Something of one guest that waits for somebody, told without a cause."""

    guest: GuestRow
    day: date
    since: datetime
    letter_id: int | None = None
    by_id: int | None = None


def scans_of(session: Session, guest_ref: str, kind: str = LETTER) -> list[ScanView]:
    """Return a guest's pages of a kind, oldest first, without their bytes."""
    row = LetterScanRow
    asked = (
        select(
            col(row.id), col(row.kind), col(row.content_type), col(row.size_bytes), col(row.digest),
            col(row.by), col(row.at), col(LetterPageRow.letter_id),
        )  # type: ignore[call-overload]
        .join(LetterPageRow, col(LetterPageRow.scan_id) == row.id, isouter=True)
        .where(row.guest_ref == guest_ref, row.kind == kind)
        .order_by(col(row.id))
    )  # fmt: skip
    # A page that was taken into a corrected record belongs to the newest of its letters.
    newest: dict[int, ScanView] = {}
    for found in session.exec(asked):
        view = ScanView(*found)
        held = newest.get(view.id)
        if held is None or (view.letter_id or 0) > (held.letter_id or 0):
            newest[view.id] = view
    return list(newest.values())


def newest_paper(session: Session, guest_ref: str) -> int | None:
    """Return the number of a child's newest parent's paper on file; None without one."""
    return max((one.id for one in scans_of(session, guest_ref, PARENT_PAPER)), default=None)


def scan_row(session: Session, guest_ref: str, scan_id: int) -> LetterScanRow:
    """Return one page of a guest; raises NotHere for another's."""
    row = session.get(LetterScanRow, scan_id)
    if row is None or row.guest_ref != guest_ref:
        raise NotHere(f"page {scan_id}")
    return row


def bound_to(digest: str) -> str:
    """Return the field that a page's seal is bound to, beside its guest."""
    return f"scan {digest}"


def bytes_of(house: House, row: LetterScanRow) -> bytes:
    """Return a page's bytes; raises Sealed when they were changed or moved, or the key is gone."""
    return house.ring.open_bytes(owner(row.guest_ref), bound_to(row.digest), row.sealed)


def letter_of(session: Session, guest_ref: str, letter_id: int) -> LetterRow:
    """Return one recorded letter of a guest; raises NotHere for another's."""
    row = session.get(LetterRow, letter_id)
    if row is None or row.guest_ref != guest_ref:
        raise NotHere(f"letter {letter_id}")
    return row


def states_of(session: Session, letters: Iterable[LetterRow]) -> dict[int, LetterState]:
    """Return what became of letters, by letter number; all letters of a guest are handed in together."""
    rows = list(letters)
    ids = [row.id or 0 for row in rows]
    gone = {row.supersedes_id for row in rows}
    pages: dict[int, tuple[int, ...]] = {}
    asked = select(LetterPageRow).where(col(LetterPageRow.letter_id).in_(ids))
    for page in session.exec(asked.order_by(col(LetterPageRow.id))):
        pages[page.letter_id] = (*pages.get(page.letter_id, ()), page.scan_id)
    compared: dict[int, LetterCheckRow] = {}
    reviews: dict[int, dict[str, LetterCheckRow]] = {}
    checked = select(LetterCheckRow).where(col(LetterCheckRow.letter_id).in_(ids))
    for check in session.exec(checked.order_by(col(LetterCheckRow.id))):
        if check.kind == COMPARED:
            compared[check.letter_id] = check
        else:
            reviews.setdefault(check.letter_id, {})[check.role] = check
    return {
        number: LetterState(
            pages.get(number, ()), number in gone, compared.get(number), reviews.get(number, {})
        )
        for number in ids
    }


def to_record(session: Session, since: date) -> list[Waiting]:
    """Return guests of a day or later whose pages nobody has recorded yet, oldest page first."""
    asked = (
        select(GuestRow, col(SlotRow.day), col(LetterScanRow.at))
        .join(LetterScanRow, col(LetterScanRow.guest_ref) == GuestRow.ref)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(LetterPageRow, col(LetterPageRow.scan_id) == LetterScanRow.id, isouter=True)
        .where(LetterScanRow.kind == LETTER, col(LetterPageRow.id).is_(None), col(SlotRow.day) >= since)
        .order_by(col(LetterScanRow.id))
    )
    found: dict[int, Waiting] = {}
    for guest, day, at in session.exec(asked):
        found.setdefault(guest.id or 0, Waiting(guest, day, at))
    return list(found.values())


def to_compare(session: Session, since: date) -> list[Waiting]:
    """Return recorded letters with pages that no second person has compared, oldest first."""
    asked = (
        select(LetterRow, GuestRow, col(SlotRow.day))
        .join(GuestRow, col(GuestRow.ref) == LetterRow.guest_ref)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .where(col(SlotRow.day) >= since)
        .order_by(col(LetterRow.id))
    )
    rows = list(session.exec(asked))
    states = states_of(session, [letter for letter, _, _ in rows])
    return [
        Waiting(guest, day, letter.at, letter.id, letter.recorded_by_id)
        for letter, guest, day in rows
        if (state := states[letter.id or 0]).pages and state.compared is None and not state.superseded
    ]

"""Doctors' letters: pages dropped in by anybody, recorded by the keeper, compared by a second person.

A letter counts only with its pages and the second person's word. It is never edited: a new record takes the
place of an earlier one, and a not-fit gives way only where the second person found its record wrong.
"""

import hashlib
import json
from dataclasses import dataclass
from datetime import date

from app.actions.act import Act, Invalid
from app.actions.health.health import log_look, only_keeper
from app.records.health import letters
from app.records.health.health_forms import owner
from app.records.health.health_reads import COMPARE, LETTER, SCAN, guest_on, opened_scan
from app.records.health.health_rows import letters_of
from app.records.store.problems import NotHere
from app.records.tables.health import LetterRow
from app.records.tables.letters import LetterCheckRow, LetterPageRow, LetterScanRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import guest as guest_row
from app.rules.doctors_letter import Verdict
from app.rules.scans import NotAScan, clean_scan

# Pages of one guest: more are no letter.
MOST_PAGES = 20
RECORDED, COMPARED = "letter recorded", "letter compared with its scan"


@dataclass(frozen=True)
class LetterWords:
    """What the keeper reads off a doctor's letter.

    pages: numbers of its scans. replaces: the letter whose record this one puts right.
    """

    doctor: str
    register_no: str
    contact: str
    verdict: Verdict
    issued: date
    expires: date | None
    limits: str
    covers: tuple[str, ...]
    pages: tuple[int, ...] = ()
    replaces: int | None = None


def add_scan(
    act: Act, guest_id: int, data: bytes | None, kind: str = letters.LETTER, field: str = "page"
) -> None:
    """Keep a page that somebody of the team drops in; raises NotHere, or Invalid beside ``field``."""
    guest = guest_row(act.session, guest_id)
    _keep_scan(act, guest, data, kind, field)


def add_own_scan(act: Act, data: bytes | None, field: str = "page") -> None:
    """Keep a page that the guest on the locked tablet or phone drops in; raises NotHere or Invalid."""
    guest = guest_row(act.session, act.actor.guest_id or 0)
    _keep_scan(act, guest, data, letters.LETTER, field)


def open_scan(act: Act, guest_id: int, scan_id: int, why: str) -> LetterScanRow:
    """Log that a page is opened and return it: the keeper any, the lead one that waits to be compared.

    Raises NotHere for everybody else.
    """
    guest, _ = guest_on(act.session, guest_id)
    row = letters.scan_row(act.session, guest.ref, scan_id)
    if "keeper" not in act.actor.roles and not _lead_compares(act, guest, scan_id):
        raise NotHere("not this person's page")
    log_look(act, guest, SCAN, why)
    return row


def record_letter(act: Act, guest_id: int, words: LetterWords) -> LetterRow:
    """Store what a doctor's letter says; without pages it lifts nothing. Raises NotHere or Invalid."""
    guest, _ = guest_on(act.session, guest_id)
    only_keeper(act, guest)
    if words.replaces is not None:
        letters.letter_of(act.session, guest.ref, words.replaces)
    seal = act.house.ring.seal
    who = {"name": words.doctor, "register_no": words.register_no, "contact": words.contact}
    row = act.add(
        LetterRow(
            guest_ref=guest.ref,
            verdict=seal(owner(guest.ref), "verdict", str(words.verdict)),
            issued=words.issued,
            expires=words.expires,
            has_scan=bool(words.pages),
            doctor=seal(owner(guest.ref), "doctor", json.dumps(who)),
            covers=seal(owner(guest.ref), "covers", " ".join(words.covers)),
            limits=seal(owner(guest.ref), "limits", words.limits) if words.limits else "",
            recorded_by=act.actor.name,
            recorded_by_id=act.actor.person_id,
            supersedes_id=words.replaces,
            not_relative=True,
            at=act.now,
        )
    )
    _tie(act, guest, row, words.pages)
    log_look(act, guest, LETTER, RECORDED)
    return row


def add_pages(act: Act, guest_id: int, letter_id: int, pages: tuple[int, ...]) -> None:
    """Tie further pages to a recorded letter that nobody has compared yet. Raises NotHere or Invalid."""
    guest, _ = guest_on(act.session, guest_id)
    only_keeper(act, guest)
    row = letters.letter_of(act.session, guest.ref, letter_id)
    if not pages:
        raise Invalid({"pages": "Tick the pages of this letter."})
    if _state(act, row).compared is not None:
        raise Invalid({"pages": "This letter was compared already. Record it anew with all its pages."})
    _tie(act, guest, row, pages)
    log_look(act, guest, LETTER, "pages added to a letter")


def look_at_letter(act: Act, guest_id: int, letter_id: int) -> GuestRow:
    """Log that the lead opens a letter's record to compare it; raises NotHere when it does not wait."""
    guest, row = _to_compare(act, guest_id, letter_id)
    if not _state(act, row).pages:
        raise NotHere("nothing to compare with")
    log_look(act, guest, COMPARE, "to compare a letter with its scan")
    return guest


def compare_letter(act: Act, guest_id: int, letter_id: int, *, agrees: bool) -> None:
    """Store the second person's word: does the record say what the scan says? Raises NotHere or Invalid."""
    guest, row = _to_compare(act, guest_id, letter_id)
    if not opened_scan(act.session, guest.ref, act.actor.person_id, row.at):
        raise Invalid({"agrees": "Open the pages first, then compare."})
    _check(act, row, letters.COMPARED, "lead", agrees=agrees)
    log_look(act, guest, COMPARE, COMPARED)


def review_fit(act: Act, guest_id: int, letter_id: int, role: str) -> None:
    """Store that somebody, as keeper or as lead, lets a fit letter count although a not-fit came before.

    It takes both, and two people. Raises NotHere or Invalid.
    """
    guest, _ = guest_on(act.session, guest_id)
    row = letters.letter_of(act.session, guest.ref, letter_id)
    state = _state(act, row)
    if role not in act.actor.roles or role not in ("keeper", "lead"):
        raise NotHere("not this person's review")
    if state.superseded or not state.confirmed:
        raise Invalid({"form": "The letter is compared with its scan first."})
    if any(one.by_id == act.actor.person_id for one in state.reviews.values()):
        raise Invalid({"form": "You reviewed this letter already. It takes two people."})
    if role == "keeper":
        only_keeper(act, guest)
    _check(act, row, letters.REVIEWED, role, agrees=True)
    log_look(act, guest, LETTER if role == "keeper" else COMPARE, "fit after a not-fit reviewed")


def _keep_scan(act: Act, guest: GuestRow, data: bytes | None, kind: str, field: str) -> None:
    if kind not in (letters.LETTER, letters.PARENT_PAPER):
        raise NotHere(f"page of {kind}")
    if not data:
        raise Invalid({field: "Choose the scan or photo of the page."})
    try:
        scan = clean_scan(data)
    except NotAScan as problem:
        raise Invalid({field: str(problem)}) from None
    digest = hashlib.sha256(scan.data).hexdigest()
    there = letters.scans_of(act.session, guest.ref, kind)
    if digest in {one.digest for one in there}:
        raise Invalid({field: "This page is there already. Choose the next one."})
    if len(there) >= MOST_PAGES:
        raise Invalid({field: f"There are {MOST_PAGES} pages already. Ask the keeper of the records."})
    act.about = ("guest", str(guest.id))
    act.add(
        LetterScanRow(
            guest_ref=guest.ref,
            kind=kind,
            content_type=scan.content_type,
            sealed=act.house.ring.seal_bytes(owner(guest.ref), letters.bound_to(digest), scan.data),
            size_bytes=len(scan.data),
            digest=digest,
            by_id=act.actor.person_id,
            by=act.actor.name,
            at=act.now,
        )
    )


def _tie(act: Act, guest: GuestRow, row: LetterRow, pages: tuple[int, ...]) -> None:
    open_pages = {
        one.id
        for one in letters.scans_of(act.session, guest.ref)
        if one.letter_id is None or one.letter_id == row.supersedes_id
    }
    if not set(pages) <= open_pages:
        raise Invalid({"pages": "A page belongs to another letter already. Open the page again."})
    for scan_id in pages:
        act.add(LetterPageRow(letter_id=row.id or 0, scan_id=scan_id, by=act.actor.name, at=act.now))


def _to_compare(act: Act, guest_id: int, letter_id: int) -> tuple[GuestRow, LetterRow]:
    """Return guest and letter when the actor may be the second person; raises NotHere for everybody else."""
    guest, _ = guest_on(act.session, guest_id)
    row = letters.letter_of(act.session, guest.ref, letter_id)
    state = _state(act, row)
    waits = not state.superseded and state.compared is None
    if "lead" not in act.actor.roles or not waits or _recorded_by(act, row):
        raise NotHere("nothing to compare")
    return guest, row


def _recorded_by(act: Act, row: LetterRow) -> bool:
    return act.actor.person_id == row.recorded_by_id or act.actor.name == row.recorded_by


def _lead_compares(act: Act, guest: GuestRow, scan_id: int) -> bool:
    if "lead" not in act.actor.roles:
        return False
    rows = letters_of(act.session, guest.ref)
    states = letters.states_of(act.session, rows)
    return any(
        scan_id in state.pages
        and state.compared is None
        and not state.superseded
        and not _recorded_by(act, row)
        for row in rows
        if (state := states[row.id or 0])
    )


def _state(act: Act, row: LetterRow) -> letters.LetterState:
    return letters.states_of(act.session, letters_of(act.session, row.guest_ref))[row.id or 0]


def _check(act: Act, row: LetterRow, kind: str, role: str, *, agrees: bool) -> None:
    act.add(
        LetterCheckRow(
            letter_id=row.id or 0,
            kind=kind,
            agrees=agrees,
            role=role,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )

"""Doctors' letters: pages dropped in, recorded by the keeper, compared by the lead; opened for a reason."""

from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, acting
from app.actions.health import letters as acts
from app.records.health import health_answers, letters
from app.records.health.health_reads import guest_on
from app.records.store.problems import NotHere
from app.records.tables.letters import LetterScanRow
from app.rules.doctors_letter import Verdict
from app.rules.pictures import JPEG, PNG
from app.rules.scans import MOST_BYTES, PDF
from app.web.access import KEEPER, LEAD
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.health.holds import VERDICTS, case_of, guest_page, letter_codes, reasons_again
from app.web.pages import ProblemView
from app.web.posted import PostedForm, button_only
from app.web.uploads import takes_files

router = APIRouter()
# Stored in the open, so it holds no health word.
WHY_SCAN = {
    "record": "To record the letter",
    "compare": "To compare it with the record",
    "asked": "The guest asked me to",
    "incident": "Something happened on a dive",
}
KINDS = {letters.LETTER: "A doctor's letter", letters.PARENT_PAPER: "A parent's written paper"}
OLDEST_LETTER = timedelta(days=800)
FURTHEST_EXPIRY = timedelta(days=3700)
# A letter dated ahead is kept as the paper says; it counts for nothing before its date.
FURTHEST_ISSUE = timedelta(days=366)
EXTENSIONS = {PDF: "pdf", JPEG: "jpg", PNG: "png"}

takes_files("add_letter_page", "page", most_bytes=MOST_BYTES)


@router.post("/guests/{guest_id}/health/pages", name="add_letter_page")
def add_letter_page(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Keep a page; whoever drops it in cannot open it."""
    case_of(front, guest_id)

    def add(act: Act) -> None:
        fields = posted.fields()
        kind = fields.choice("kind", "what the page is", KINDS)
        fields.done()
        acts.add_scan(act, guest_id, posted.file("page"), kind)

    return front.do(
        posted,
        add,
        then=lambda _: f"/guests/{guest_id}/health#pages",
        again=lambda problem: guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/pages/{scan_id}", name="open_letter_page")
def open_letter_page(front: Desk, posted: PostedForm, guest_id: int, scan_id: int) -> Response:
    """Log why a page is opened, then hand it out as a file, never shown in the browser."""

    def look(act: Act) -> LetterScanRow:
        fields = posted.fields()
        why = fields.choice("why", "why you open the page", WHY_SCAN)
        fields.done()
        return acts.open_scan(act, guest_id, scan_id, WHY_SCAN[why])

    return front.do(
        posted,
        look,
        then=lambda _: "/health/letters",
        again=lambda problem: waiting_page(front, problem),
        show=lambda row: _file(front, row),
    )


@router.post("/guests/{guest_id}/health/letter", name="record_letter")
def record_letter(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store a doctor's letter as the keeper reads it."""

    def record(act: Act) -> None:
        fields = posted.fields()
        guest, _ = guest_on(act.session, guest_id)
        pages = [str(one.id) for one in letters.scans_of(act.session, guest.ref)]
        rows = health_answers.letters(act.session, front.house, guest)
        words = _letter(
            fields,
            front.today,
            letter_codes(case_of(front, guest_id)),
            pages,
            [str(one.row.id) for one in rows],
        )
        fields.done()
        acts.record_letter(act, guest_id, words)

    return front.do(
        posted,
        record,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: reasons_again(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/letters/{letter_id}/pages", name="add_pages_to_letter")
def add_pages_to_letter(front: Desk, posted: PostedForm, guest_id: int, letter_id: int) -> Response:
    """Tie further pages to a letter that nobody has compared yet."""

    def add(act: Act) -> None:
        fields = posted.fields()
        guest, _ = guest_on(act.session, guest_id)
        pages = [str(one.id) for one in letters.scans_of(act.session, guest.ref)]
        chosen = fields.several("pages", "the pages", pages)
        fields.done()
        acts.add_pages(act, guest_id, letter_id, tuple(map(int, chosen)))

    return front.do(
        posted,
        add,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: reasons_again(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/letters/{letter_id}/review", name="review_letter")
def review_letter(front: Desk, posted: PostedForm, guest_id: int, letter_id: int) -> Response:
    """Let a fit letter count although a not-fit came before: keeper and lead, both."""

    def review(act: Act) -> None:
        fields = posted.fields()
        role = fields.choice("role", "as whom you review", (KEEPER, LEAD))
        fields.done()
        acts.review_fit(act, guest_id, letter_id, role)

    return front.do(
        posted,
        review,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: reasons_again(front, guest_id, problem),
    )


@router.get("/health/letters", name="letters_waiting")
def letters_waiting(front: Desk) -> Response:
    """List what waits: pages for the keeper, records for the second person."""
    return waiting_page(front)


@router.post("/guests/{guest_id}/health/letters/{letter_id}", name="look_at_letter")
def look_at_letter(front: Desk, posted: PostedForm, guest_id: int, letter_id: int) -> Response:
    """Log that the lead opens a letter's record, then show it once, to compare it."""
    return front.do(
        posted,
        button_only(posted, lambda act: acts.look_at_letter(act, guest_id, letter_id)),
        then=lambda _: "/health/letters",
        again=lambda problem: waiting_page(front, problem),
        show=lambda _: _compare_page(front, guest_id, letter_id),
    )


@router.post("/guests/{guest_id}/health/letters/{letter_id}/compare", name="compare_letter")
def compare_letter(front: Desk, posted: PostedForm, guest_id: int, letter_id: int) -> Response:
    """Store the second person's word about a letter's record."""

    def compare(act: Act) -> None:
        fields = posted.fields()
        agrees = fields.choice("agrees", "whether the record says the same", ("yes", "no")) == "yes"
        fields.done()
        acts.compare_letter(act, guest_id, letter_id, agrees=agrees)

    return front.do(
        posted,
        compare,
        then=lambda _: "/health/letters",
        again=lambda problem: _compare_again(front, guest_id, letter_id, problem),
    )


def waiting_page(front: Front, problem: ProblemView | None = None) -> Response:
    """Show whose letters wait for whom; no cause and no verdict stands there."""
    keeper, lead = front.visitor.has(KEEPER), front.visitor.has(LEAD)
    compare = letters.to_compare(front.session, front.today) if lead else []
    return front.page(
        "health/letters.html",
        "Doctors' letters",
        problem=problem,
        keeper=keeper,
        lead=lead,
        to_record=letters.to_record(front.session, front.today) if keeper else [],
        to_compare=[one for one in compare if one.by_id != front.visitor.person_id],
        own=[one for one in compare if one.by_id == front.visitor.person_id],
    )


def _compare_page(
    front: Front, guest_id: int, letter_id: int, problem: ProblemView | None = None
) -> Response:
    with front.house.store.reading() as session:
        guest, day = guest_on(session, guest_id)
        rows = health_answers.letters(session, front.house, guest)
        pages = letters.scans_of(session, guest.ref)
    letter = next((one for one in rows if one.row.id == letter_id), None)
    if letter is None:
        raise NotHere(f"letter {letter_id}")
    return front.page(
        "health/letter.html",
        f"Letter of {guest.call_name}",
        problem=problem,
        guest=guest,
        day=day,
        letter=letter,
        pages=[one for one in pages if one.id in letter.state.pages],
    )


def _compare_again(front: Front, guest_id: int, letter_id: int, problem: ProblemView) -> Response:
    """Show the record again with what is wrong: that is a look as well, and logged."""
    with acting(front.house, front.actor(), "look_at_letter") as act:
        acts.look_at_letter(act, guest_id, letter_id)
    return _compare_page(front, guest_id, letter_id, problem)


def _file(front: Front, row: LetterScanRow) -> Response:
    return Response(
        letters.bytes_of(front.house, row),
        media_type=row.content_type,
        headers={
            # The name is ours; it says nothing of the guest.
            "Content-Disposition": f'attachment; filename="page-{row.id}.{EXTENSIONS[row.content_type]}"',
            "Content-Security-Policy": "default-src 'none'; sandbox",
        },
    )


def _letter(
    fields: Fields, today: date, codes: list[str], pages: list[str], earlier: list[str]
) -> acts.LetterWords:
    doctor = fields.text("doctor", "the doctor's full name")
    if not fields.tick("not_relative"):
        fields.wrong("not_relative", "A letter counts only from a doctor who is not the guest or a relative.")
    verdict = fields.choice("verdict", "what the doctor says", VERDICTS)
    issued = fields.date3("issued", "the date of the letter", today - OLDEST_LETTER, today + FURTHEST_ISSUE)
    replaces = fields.choice("replaces", "the letter that this one replaces", earlier, needed=False)
    return acts.LetterWords(
        doctor=doctor,
        register_no=fields.text("register_no", "the doctor's register number and country"),
        contact=fields.text("contact", "how to reach the practice"),
        verdict=Verdict(verdict) if verdict else Verdict.NOT_FIT,
        issued=issued or today,
        expires=fields.date3(
            "expires", "the last day it counts", today - OLDEST_LETTER, today + FURTHEST_EXPIRY, needed=False
        ),
        limits=fields.text("limits", "the limits", needed=False),
        covers=tuple(fields.several("covers", "what the letter covers", codes)),
        pages=tuple(map(int, fields.several("pages", "the pages", pages))),
        replaces=int(replaces) if replaces else None,
    )

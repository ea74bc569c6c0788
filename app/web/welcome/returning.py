"""Guests who were here before: found by name, phone or day, linked by the desk, and what worked then."""

from collections.abc import Callable, Iterable, Mapping

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.welcome import returning as acts
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.welcome import bookings
from app.records.welcome import returning as records
from app.records.welcome.returning import Visit
from app.rules.ages import age_on
from app.rules.limits import MAJORITY_AGE
from app.web.access import DESK
from app.web.fields import NAME_MOST
from app.web.front import NUMBER_MOST, Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only
from app.web.welcome import fields as reading

router = APIRouter()
SIZE_FIELDS = ("height_cm", "mass_kg", "shoe_size")


@router.get("/welcome/returning", name="find_returning")
def find_returning(front: Desk) -> Response:
    """Find earlier visits before a party is booked, and choose who of them comes again.

    With ``party`` one of them is added to that party.
    """
    party = front.request.query_params.get("party", "")
    asked = _asked(front)
    slot = bookings.slot_view(front.session, _number(front.request.query_params.get("slot", "")))
    return front.page(
        "welcome/returning.html",
        "Been here before",
        asked=asked,
        slot=slot,
        party=bookings.party_view(front.session, _number(party)).party if party else None,
        found=records.find_earlier(front.session, asked, slot.slot.day),
    )


@router.get("/guests/{guest_id}/earlier", name="earlier_visits")
def earlier_visits(front: Desk, guest_id: int) -> Response:
    """Show a guest's earlier visits, what worked then, and who else it may be."""
    return _earlier_page(front, guest_id)


@router.post("/guests/{guest_id}/earlier/{other_id}/same", name="link_guest")
def link_guest(front: Desk, posted: PostedForm, guest_id: int, other_id: int) -> Response:
    """Say that this guest is the same person as on an earlier visit."""
    run = button_only(posted, lambda act: acts.link_guest(act, guest_id, other_id))
    return _on_guest(front, posted, guest_id, run)


@router.post("/guests/{guest_id}/earlier/{other_id}/undo", name="unlink_guest")
def unlink_guest(front: Desk, posted: PostedForm, guest_id: int, other_id: int) -> Response:
    """Say that it was somebody else after all."""
    run = button_only(posted, lambda act: acts.unlink_guest(act, guest_id, other_id))
    return _on_guest(front, posted, guest_id, run)


@router.post("/guests/{guest_id}/earlier/{other_id}/sizes", name="use_sizes")
def use_sizes(front: Desk, posted: PostedForm, guest_id: int, other_id: int) -> Response:
    """Write the sizes of an earlier visit as this guest's own."""
    run = button_only(posted, lambda act: acts.use_sizes(act, guest_id, posted.edits, other_id))
    return _on_guest(front, posted, guest_id, run)


def earlier_asked(front: Front) -> list[Visit]:
    """Return the visits of ``?earlier=12&earlier=15`` for a form that begins with them; desk only."""
    said = front.request.query_params.getlist("earlier")[: reading.MOST_AT_ONCE]
    if not said or not front.visitor.has(DESK):
        return []
    return [_visit(front, _number(one)) for one in said]


def begun_with(front: Front, visit: Visit, prefix: str) -> dict[str, str]:
    """Return what a form begins with for somebody who was here before; a child is measured again."""
    typed = reading.typed_guest(visit.guest, front.shop.zone)
    kept = {name: said for name, said in typed.items() if not name.startswith("flight")}
    if _is_child(front, visit):
        kept |= dict.fromkeys(SIZE_FIELDS, "")
    born = visit.guest.birth_date
    kept |= {"birth_day": str(born.day), "birth_month": str(born.month), "birth_year": str(born.year)}
    return {f"{prefix}{name}": said for name, said in kept.items()} | {
        f"{prefix}earlier": str(visit.guest.id)
    }


def contact_of(front: Front, visit: Visit) -> dict[str, str]:
    """Return the contact of an earlier party, for a form that begins with it; the note stays where it was."""
    party = bookings.party_view(front.session, visit.guest.party_id).party
    names = ("contact_name", "phone", "email", "emergency_name", "emergency_phone")
    return {name: str(getattr(party, name)) for name in names}


def kept_visits(
    front: Front, kept: Mapping[str, str], prefixes: Iterable[str]
) -> dict[str, tuple[Visit, bool]]:
    """Return the earlier visits that a form holds, by field prefix, and whether a child is measured again."""
    found = {}
    for prefix in prefixes:
        said = kept.get(f"{prefix}earlier", "")
        if said.isdecimal() and len(said) <= NUMBER_MOST and front.visitor.has(DESK):
            visit = _visit(front, int(said))
            found[prefix] = (visit, _is_child(front, visit))
    return found


def _earlier_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    guest = bookings.guest(front.session, guest_id)
    view = bookings.party_view(front.session, guest.party_id)
    day = view.slot.slot.day
    asked = _asked(front) or guest.full_name
    visits = records.earlier_visits(front.session, guest)
    return front.page(
        "welcome/earlier.html",
        f"Earlier visits of {guest.call_name}",
        problem=problem,
        guest=guest,
        view=view,
        day=day,
        asked=asked,
        visits=visits,
        links=records.own_links(front.session, guest_id),
        worked=records.worked_before(front.session, front.house, guest, day) if visits else None,
        found=records.find_earlier(front.session, asked, day, guest_id),
    )


def _on_guest(front: Front, posted: Posted, guest_id: int, run: Callable[[Act], object]) -> Response:
    bookings.guest(front.session, guest_id)
    return front.do(
        posted,
        run,
        then=lambda _: f"/guests/{guest_id}/earlier",
        again=lambda problem: _earlier_page(front, guest_id, problem),
    )


def _is_child(front: Front, visit: Visit) -> bool:
    majority = limits_now(front.session)[MAJORITY_AGE].number
    return majority is None or age_on(visit.guest.birth_date, front.today) < majority


def _visit(front: Front, number: int) -> Visit:
    return records.visit_of(front.session, number)


def _asked(front: Front) -> str:
    return front.request.query_params.get("q", "").strip()[:NAME_MOST]


def _number(said: str) -> int:
    if not said.isdecimal() or len(said) > NUMBER_MOST:
        raise NotHere("no such number")
    return int(said)

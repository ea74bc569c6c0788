"""Search on every staff page: what is found is what the role may see."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.groups.placements import own_guests
from app.records.keep.search import Scope, search
from app.records.keep.search_incidents import Reader
from app.web.access import DESK, INSTRUCTOR, KEEPER, LEAD, MANAGER
from app.web.fields import NAME_MOST
from app.web.front import Desk, Front
from app.web.welcome.desk import STATE_WORDS

router = APIRouter()


@router.get("/search", name="search")
def search_page(front: Desk) -> Response:
    """Show what the words find."""
    asked = front.request.query_params.get("q", "").strip()[:NAME_MOST]
    may_open_party = front.visitor.has(DESK, INSTRUCTOR, LEAD, MANAGER)
    return front.page(
        "search/search.html",
        "Search",
        asked=asked,
        found=search(front.session, asked, scope_of(front), front.today),
        party_of=lambda guest: (
            f"/parties/{guest.party_id}" if may_open_party else f"/guests/{guest.guest_id}/health"
        ),
        states=STATE_WORDS,
    )


def scope_of(front: Front) -> Scope:
    """Return what the visitor may find.

    Desk and manager: everything, phones too. Lead: today's. Instructor: guests of own groups of today.
    Keeper: guests by name, to come to their health record. Incidents: whoever may read them.
    """
    who = front.visitor
    if who.has(DESK, MANAGER):
        return Scope(parties=True, phones=True, incidents=_reader(front))
    things = who.has(LEAD, INSTRUCTOR)
    reader = _reader(front) if things else None
    if who.has(KEEPER):
        return Scope(things=things, incidents=reader)
    if who.has(LEAD):
        return Scope(parties=True, phones=True, day=front.today, incidents=reader)
    mine = own_guests(front.session, who.person_id, front.today)
    return Scope(guests=mine, day=front.today, incidents=reader)


def _reader(front: Front) -> Reader:
    """As whom incidents are read: manager all; lead today's; instructor own groups'; others their own."""
    who = front.visitor
    return Reader(
        who.person_id,
        everything=who.has(MANAGER),
        day=front.today if who.has(LEAD) else None,
        own_groups=who.has(INSTRUCTOR),
    )

"""Search on every staff page: what is found is what the role may see."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.placements import own_guests
from app.records.search import Scope, search
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
        found=search(front.session, asked, scope_of(front)),
        party_of=lambda guest: (
            f"/parties/{guest.party_id}" if may_open_party else f"/guests/{guest.guest_id}/health"
        ),
        states=STATE_WORDS,
    )


def scope_of(front: Front) -> Scope:
    """Return what the visitor may find.

    Desk and manager: everything, phones too. Lead: today's. Instructor: guests of own groups of today.
    Keeper: guests by name, to come to their health record.
    """
    who = front.visitor
    if who.has(DESK, MANAGER):
        return Scope(parties=True, phones=True)
    things = who.has(LEAD, INSTRUCTOR)
    if who.has(KEEPER):
        return Scope(things=things)
    if who.has(LEAD):
        return Scope(parties=True, phones=True, day=front.today)
    mine = own_guests(front.session, who.person_id, front.today)
    return Scope(guests=mine, day=front.today)

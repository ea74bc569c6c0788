"""Who has arrived: one tap on the day's list, and undone by another."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.welcome import arrivals as acts
from app.records.store.problems import NotHere
from app.records.welcome import bookings
from app.web.front import Desk
from app.web.posted import PostedForm
from app.web.welcome.desk import welcome_page

router = APIRouter()


@router.post("/parties/{party_id}/here", name="mark_arrival")
def mark_arrival(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Mark a party of today as here, or as not here after all."""
    slot = bookings.party_view(front.session, party_id).slot.slot
    if slot.day != front.today:
        raise NotHere("not a party of today")

    def mark(act: Act) -> None:
        fields = posted.fields()
        here = fields.choice("here", "here or not", ("yes", "no")) == "yes"
        fields.done()
        acts.mark_arrival(act, party_id, here=here)

    return front.do(
        posted,
        mark,
        then=lambda _: f"/welcome#slot-{slot.id}",
        again=lambda problem: welcome_page(front, problem),
    )

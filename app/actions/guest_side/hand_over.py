"""Handing the tablet to one guest, and back: one sign-in ends before the other begins."""

from app.actions.act import Act
from app.actions.guest_side import phone_links
from app.actions.setup import sign_in
from app.records.guest_side.guest_form import guest_form
from app.records.setup import visits


def hand_over(act: Act, guest_id: int, visit_id: int | None, device_id: int | None) -> str:
    """End the staff's visit and start one locked to this guest; return the token of its cookie.

    Any other tablet that is in the same guest's hands ends as well, and so does a link to the guest's own
    phone: one guest, one form.
    Raises NotHere for a guest who is not booked or whose day is over.
    """
    form = guest_form(act.session, act.house, guest_id, act.now)
    if visit_id is not None:
        sign_in.end(act, visit_id, "handed over to a guest")
    phone_links.end_links(act, guest_id, "handed over")
    for visit in visits.guest_visits(act.session, guest_id):
        sign_in.end(act, visit.id or 0, "handed over again")
    act.about = ("guest", str(form.guest.id))
    return sign_in.begin_guest(act, guest_id, device_id)


def hand_back(act: Act, visit_id: int | None, why: str = "handed back") -> None:
    """End the guest's visit; what was answered and not signed stays sealed for the day."""
    if visit_id is not None:
        sign_in.end(act, visit_id, why)
    act.about = ("guest", str(act.actor.guest_id))

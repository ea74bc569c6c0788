"""What every page in a guest's hands shares: the guest's own form, and how the visit ends."""

from collections.abc import Callable

from fastapi.responses import Response

from app.actions.act import Act
from app.records.guest_form import GuestForm, guest_form
from app.web.front import Front
from app.web.pages import ProblemView
from app.web.posted import Posted


def own_form(front: Front) -> GuestForm:
    """Return the form of the guest whom the tablet is locked to."""
    return guest_form(front.session, front.house, front.visitor.guest_id, front.now)


def ending(
    front: Front,
    posted: Posted,
    action: Callable[[Act], None],
    again: Callable[[ProblemView], Response],
) -> Response:
    """Carry out an act that ends the guest's visit."""
    return front.do(
        posted,
        action,
        then=lambda _: "/guest/done",
        again=again,
        show=lambda _: over(front),
    )


def over(front: Front) -> Response:
    """Take the guest's cookie away and show the empty page."""
    front.forget()
    return front.to("/guest/done")

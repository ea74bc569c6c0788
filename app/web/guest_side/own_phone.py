"""A guest's own form on the guest's own phone: the desk makes a link, its Start begins a locked visit.

What stands in a link is shown once, to whoever makes it, and is in no other answer, log or trail entry.
"""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, Actor
from app.actions.guest_side import phone_links as acts
from app.records.guest_side.guest_form import guest_form
from app.records.guest_side.languages import ENGLISH, language_of_guest, words_in
from app.records.guest_side.phone_links import Opened, newest_link, opened
from app.records.setup.visits import OWN_PHONE, guest_visits
from app.records.store.problems import NotHere
from app.records.welcome.bookings import guest
from app.web.access import GUEST
from app.web.addresses import address_warning, shop_address
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm, button_only
from app.web.sheets.codes import draw_code

router = APIRouter()
NOT_FOUND = 404


@router.get("/guests/{guest_id}/own-phone", name="own_phone_page")
def own_phone_page(front: Desk, guest_id: int) -> Response:
    """Say whether a link is out, and offer to make one or to take it back."""
    return _desk_page(front, guest_id)


@router.post("/guests/{guest_id}/own-phone", name="make_phone_link")
def make_phone_link(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Make a link and show it once."""
    return front.do(
        posted,
        button_only(posted, lambda act: acts.make_link(act, guest_id)),
        then=lambda _: f"/guests/{guest_id}/own-phone",
        again=lambda problem: _desk_page(front, guest_id, problem),
        show=lambda token: _shown_once(front, guest_id, token),
    )


@router.post("/guests/{guest_id}/own-phone/end", name="end_phone_link")
def end_phone_link(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Take a link back, and close the form on the guest's phone."""
    return front.do(
        posted,
        button_only(posted, lambda act: acts.take_back(act, guest_id)),
        then=lambda _: f"/guests/{guest_id}/own-phone",
        again=lambda problem: _desk_page(front, guest_id, problem),
    )


@router.get("/form/{token}", name="phone_link")
def phone_link(front: Desk, token: str) -> Response:
    """Show what a link is for. Opening it changes nothing: programs look at links before people do."""
    return _link_page(front, token, _counted(front, token))


@router.post("/form/{token}", name="start_on_phone")
def start_on_phone(front: Desk, posted: PostedForm, token: str) -> Response:
    """Use the link up and lock this phone to its guest."""
    found = _counted(front, token)
    if found.form is None or found.row is None or front.visitor.kind != "nobody":
        return _link_page(front, token, found)
    actor = Actor("Guest", frozenset({GUEST}), guest_id=found.row.guest_id)

    def start(act: Act) -> str:
        posted.fields().done()
        return acts.start(act, token)

    def begun(cookie: str) -> Response:
        front.sign_in_as(cookie)
        return front.to("/guest")

    return front.do(
        posted,
        start,
        then=lambda _: "/guest",
        again=lambda problem: _link_page(front, token, found, problem),
        show=begun,
        actor=actor,
    )


def _counted(front: Front, token: str) -> Opened:
    """Return what a link leads to; one that nobody made is counted. Raises TooOften after too many.

    A phone that is already open on a guest's form sees its own link only.
    """
    address = front.request.client.host if front.request.client else ""
    acts.check_tries(front.house, address, front.now)
    found = opened(front.session, front.house, token, front.now)
    if front.visitor.kind == "guest" and (found.row is None or found.row.guest_id != front.visitor.guest_id):
        raise NotHere("another guest's link")
    if found.row is None:
        acts.count_try(front.house, address, front.now)
    return found


def _link_page(front: Front, token: str, found: Opened, problem: ProblemView | None = None) -> Response:
    if front.visitor.kind == "guest":
        return front.to("/guest")
    language = ENGLISH
    if found.form is None:
        # A phone that already began keeps the cookie of its visit.
        front.fresh_cookie = False
    else:
        language = words_in(front.session, language_of_guest(front.session, found.form.guest.id))
    answer = front.page(
        "guest_side/link.html",
        language.gettext("Your form"),
        language=language,
        alive=found.form is not None,
        staff=front.visitor.kind == "staff",
        to=f"/form/{token}" if found.form is not None else "",
        status=200 if found.form is not None else NOT_FOUND,
        problem=problem,
    )
    # The link is this page's address: nothing that the page asks for may carry it along.
    answer.headers["Referrer-Policy"] = "strict-origin"
    return answer


def _desk_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    form = guest_form(front.session, front.house, guest_id, front.now)
    link = newest_link(front.session, guest_id)
    return front.page(
        "guest_side/own_phone.html",
        f"Own phone of {form.guest.call_name}",
        form=form,
        link=link if link is not None and link.ended_at is None else None,
        filling=any(visit.proof == OWN_PHONE for visit in guest_visits(front.session, guest_id)),
        code=None,
        warning="",
        problem=problem,
    )


def _shown_once(front: Front, guest_id: int, token: str) -> Response:
    with front.house.store.reading() as session:
        form = guest_form(session, front.house, guest(session, guest_id).id, front.now)
    address = shop_address(front)
    return front.page(
        "guest_side/own_phone.html",
        f"Own phone of {form.guest.call_name}",
        form=form,
        link=None,
        filling=False,
        code=draw_code(f"{address}/form/{token}"),
        warning=address_warning(front, address),
    )

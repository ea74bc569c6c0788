"""Linking a phone of the shop: a code to scan or six digits to type, made at the desk, used up by a button.

Opening a link changes nothing. What stands in it is shown once, and is in no other answer, log or trail.
"""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, Actor, Invalid, Problem
from app.actions.setup import device_links as acts
from app.actions.setup import team
from app.records.setup import device_links, visits
from app.records.setup.device_links import OPEN
from app.records.store.problems import NotHere
from app.records.tables.device_links import DeviceLinkRow
from app.web.addresses import address_warning, shop_address
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only
from app.web.setup.shop import asks_again, confirm
from app.web.sheets.codes import draw_code

router = APIRouter()
GONE = 404
NEW_PHONE = Actor("A phone being linked")


@router.get("/phones", name="link_phone_page")
def link_phone_page(front: Desk) -> Response:
    """Ask for the phone's name and whose it is; list the phones that are linked."""
    return _phones_page(front)


@router.post("/phones", name="link_phone")
def link_phone(front: Desk, posted: PostedForm) -> Response:
    """Make a link and show it once."""

    def make(act: Act) -> acts.NewLink:
        fields = posted.fields()
        name = fields.text("name", "a name for the phone", most=40)
        people = [str(one.id) for one in visits.team(front.session)]
        person = fields.choice("person", "whose phone it usually is", people, needed=False)
        confirm(front, act, fields)
        fields.done()
        return acts.make_link(act, name, int(person) if person else None)

    return front.do(
        posted,
        make,
        then=lambda link: f"/phones/{link.id}",
        again=lambda problem: _phones_page(front, problem),
        show=lambda link: _link_page(front, link.id, link),
    )


@router.get("/phones/{link_id}", name="phone_linking")
def phone_linking(front: Desk, link_id: int) -> Response:
    """Say whether the phone is linked yet."""
    return _link_page(front, link_id)


@router.post("/phones/{link_id}/end", name="end_link")
def end_link(front: Desk, posted: PostedForm, link_id: int) -> Response:
    """Take a link back before a phone used it."""
    return front.do(
        posted,
        button_only(posted, lambda act: acts.take_back(act, link_id)),
        then=lambda _: f"/phones/{link_id}",
        again=lambda problem: _link_page(front, link_id, problem=problem),
    )


@router.post("/phones/devices/{device_id}/end", name="end_phone")
def end_phone(front: Desk, posted: PostedForm, device_id: int) -> Response:
    """End a linked phone: whoever is signed in on it is out at the next request."""
    if device_id not in {one.device.id for one in device_links.linked_phones(front.session)}:
        raise NotHere(f"linked phone {device_id}")

    def end(act: Act) -> None:
        fields = posted.fields()
        confirm(front, act, fields)
        fields.done()
        team.end_device(act, device_id)

    return front.do(posted, end, then=lambda _: "/phones", again=lambda problem: _phones_page(front, problem))


@router.get("/link", name="type_digits")
def type_digits(front: Desk) -> Response:
    """Ask a phone for the six digits."""
    return _phone_page(front, "/link", digits=True)


@router.post("/link", name="use_digits")
def use_digits(front: Desk, posted: PostedForm) -> Response:
    """Pair this phone by six digits; wrong ones are counted."""
    if front.visitor.device_id is not None:
        return _phone_page(front, "/link", digits=True)
    fields = posted.fields()
    said = fields.text("digits", "the six digits", most=20).replace(" ", "")
    try:
        fields.done()
        if not (said.isascii() and said.isdecimal() and len(said) == acts.DIGITS):
            raise Invalid({"digits": "Type the six digits that the shop's page shows."})
        address = front.request.client.host if front.request.client else ""
        link_id = acts.link_typed(front.house, said, address, front.now)
        if link_id is None:
            raise Invalid({"digits": "These digits open no link now. Look again, or ask the desk."})
    except Problem as problem:
        view = ProblemView.of(problem, "use_digits", posted.values, front.shop.zone, posted.path)
        return _phone_page(front, "/link", digits=True, problem=view)
    return _use(front, posted, link_id, digits=True)


@router.get("/link/{token}", name="device_link")
def device_link(front: Desk, token: str) -> Response:
    """Show what a scanned code is for. Opening it changes nothing: programs look at links before people."""
    return _phone_page(front, f"/link/{token}", alive=_open(front, token) is not None)


@router.post("/link/{token}", name="use_device_link")
def use_device_link(front: Desk, posted: PostedForm, token: str) -> Response:
    """Use the link up and pair this phone."""
    row = _open(front, token)
    if row is None or front.visitor.device_id is not None:
        return _phone_page(front, f"/link/{token}", alive=row is not None)
    return _use(front, posted, row.id or 0, digits=False)


def _open(front: Front, token: str) -> DeviceLinkRow | None:
    row = device_links.link_of(front.session, token)
    alive = row is not None and device_links.state_of(front.session, row, front.now) == OPEN
    return row if alive else None


def _use(front: Front, posted: Posted, link_id: int, *, digits: bool) -> Response:
    def use(act: Act) -> None:
        if not digits:
            posted.fields().done()
        front.pair_as(acts.use_link(act, link_id))

    return front.do(
        posted,
        use,
        then=lambda _: "/sign-in",
        again=lambda problem: _phone_page(front, posted.path, digits=digits, alive=False, problem=problem),
        actor=NEW_PHONE,
    )


def _phone_page(
    front: Front, to: str, *, digits: bool = False, alive: bool = True, problem: ProblemView | None = None
) -> Response:
    """Show a phone what its link is for, or that it is over; no name of the team stands on it."""
    if not alive:
        # A phone that is signed in already keeps the cookie of its visit.
        front.fresh_cookie = False
    answer = front.page(
        "setup/link.html",
        "Link this phone",
        to=to,
        digits=digits,
        alive=alive or digits,
        problem=problem,
        status=200 if alive else GONE,
    )
    # The link is this page's address: nothing that the page asks for may carry it along.
    answer.headers["Referrer-Policy"] = "strict-origin"
    return answer


def _phones_page(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "setup/phones.html",
        "Link a phone",
        problem=problem,
        people=[("", "Several people"), *((str(one.id), one.name) for one in visits.team(front.session))],
        phones=device_links.linked_phones(front.session),
        asks_again=asks_again(front),
    )


def _link_page(
    front: Front, link_id: int, new: acts.NewLink | None = None, problem: ProblemView | None = None
) -> Response:
    with front.house.store.reading() as session:
        row = session.get(DeviceLinkRow, link_id)
        if row is None:
            raise NotHere(f"link {link_id}")
        state = device_links.state_of(session, row, front.now)
    address = shop_address(front)
    return front.page(
        "setup/phone_linking.html",
        "Link a phone",
        problem=problem,
        row=row,
        state=state,
        until=row.made_at + device_links.GOOD_FOR,
        new=new,
        code=draw_code(f"{address}/link/{new.token}") if new else None,
        address=f"{address}/link",
        warning=address_warning(front, address),
    )

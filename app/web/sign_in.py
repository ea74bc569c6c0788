"""Signing in and out, and the very first manager."""

from fastapi import APIRouter
from fastapi.responses import PlainTextResponse, Response

from app.actions.act import Act, Invalid, Problem, acting
from app.actions.setup import sign_in
from app.actions.setup.first_start import make_first_manager
from app.records.setup import visits
from app.records.store.problems import NotHere
from app.settings.config import VERSION
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()


@router.get("/up", name="up")
def up(_front: Desk) -> PlainTextResponse:
    """Say that the shop is up, and its version; nothing else."""
    return PlainTextResponse(f"up {VERSION}\n")


@router.get("/", name="start")
def start(front: Desk) -> Response:
    """Lead to where this visitor works."""
    if not visits.has_manager(front.session):
        return front.to("/first")
    if front.visitor.kind == "guest":
        return front.to("/guest")
    return front.to("/today" if front.visitor.kind == "staff" else "/sign-in")


@router.get("/sign-in", name="sign_in_page")
def sign_in_page(front: Desk) -> Response:
    """Show the sign-in form."""
    return _sign_in_page(front)


@router.post("/sign-in", name="sign_in")
def sign_in_post(front: Desk, posted: PostedForm) -> Response:
    """Check name and secret; start a new visit."""
    fields = posted.fields()
    name = fields.text("name", "your name")
    secret = fields.values.get("secret", "")
    fields.text("secret", "your passphrase or PIN", most=sign_in.PASSPHRASE_MOST)
    device = visits.device_of(front.session, front.request.cookies.get(front.device_cookie, ""))
    try:
        fields.done()
        address = front.request.client.host if front.request.client else ""
        person, proof = sign_in.check(front.house, name, secret, device, front.now, address)
    except Problem as problem:
        kept = {"name": posted.values.get("name", "")}
        return _sign_in_page(front, ProblemView.of(problem, "sign_in", kept, front.shop.zone))
    with acting(front.house, front.actor_for(person), "sign_in") as act:
        if front.visitor.visit_id is not None:
            sign_in.end(act, front.visitor.visit_id, "signed in anew")
        token = sign_in.begin(act, person, proof, device)
    front.sign_in_as(token)
    return front.to("/today")


@router.post("/sign-out", name="sign_out")
def sign_out(front: Desk, posted: PostedForm) -> Response:
    """End the visit; the cookie is dead at once."""

    def leave(act: Act) -> None:
        posted.fields().done()
        sign_in.end(act, front.visitor.visit_id or 0, "signed out")

    answer = front.do(
        posted, leave, then=lambda _: "/sign-in", again=lambda problem: _sign_in_page(front, problem)
    )
    front.forget()
    return answer if answer.status_code >= 400 else front.to("/sign-in")  # noqa: PLR2004 - an answer code


@router.get("/first", name="first_manager_page")
def first_manager_page(front: Desk) -> Response:
    """Ask for the shop's name and its first manager, while there is none."""
    return _first_page(front)


@router.post("/first", name="first_manager")
def first_manager(front: Desk, posted: PostedForm) -> Response:
    """Set the shop up with its first manager; needs the code that the shop computer shows."""
    if visits.has_manager(front.session):
        raise NotHere("the shop has its manager")

    def make(act: Act) -> None:
        fields = posted.fields()
        shop_name = fields.text("shop_name", "the shop's name")
        zone = fields.text("timezone", "the shop's time zone")
        name = fields.text("name", "your name")
        passphrase = fields.values.get("passphrase", "")
        fields.text("passphrase", "a passphrase", most=sign_in.PASSPHRASE_MOST)
        code = fields.text("code", "the code from the shop computer")
        fields.done()
        errors = make_first_manager(act, shop_name, zone, name, passphrase, code)
        if errors:
            raise Invalid(errors)

    return front.do(
        posted, make, then=lambda _: "/sign-in", again=lambda problem: _first_page(front, problem)
    )


def _sign_in_page(front: Front, problem: ProblemView | None = None) -> Response:
    paired = front.visitor.device_id is not None
    pairs = [(person.name, person.name) for person in visits.team(front.session)] if paired else []
    return front.page("sign_in/sign_in.html", "Sign in", problem=problem, pairs=pairs, paired=paired)


def _first_page(front: Front, problem: ProblemView | None = None) -> Response:
    if visits.has_manager(front.session):
        raise NotHere("the shop has its manager")
    return front.page("sign_in/first.html", "Set the shop up", problem=problem)

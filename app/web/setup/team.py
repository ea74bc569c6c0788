"""Shop set-up: the people who work here and the devices they use."""

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.setup import team
from app.records.setup import visits
from app.records.setup.device_links import seen_of_devices
from app.records.store.problems import NotHere
from app.records.tables.people import PersonRow
from app.web.access import ROLE_WORDS, ROLES
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
GRADES = (
    ("", "Does not teach"),
    ("assistant", "Assistant"),
    ("level 1", "Instructor level 1: pool-like water"),
    ("level 2", "Instructor level 2: open water"),
)
KINDS = (("tablet", "Tablet"), ("phone", "Phone"), ("laptop", "Laptop"))
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2100, 12, 31)


@router.get("/setup/people", name="people_page")
def people_page(front: Desk) -> Response:
    """Show the team."""
    return _people_page(front)


@router.post("/setup/people", name="add_person")
def add_person(front: Desk, posted: PostedForm) -> Response:
    """Add a person."""

    def add(act: Act) -> PersonRow:
        fields = posted.fields()
        name = fields.text("name", "the person's name")
        roles = fields.several("roles", "roles", ROLES)
        passphrase = fields.values.get("passphrase", "")
        fields.text("passphrase", "a first passphrase", most=128)
        confirm(front, act, fields)
        fields.done()
        return team.add_person(act, name, roles, passphrase)

    return front.do(
        posted,
        add,
        then=lambda person: f"/setup/people/{person.id}",
        again=lambda problem: _people_page(front, problem),
    )


@router.get("/setup/people/{person_id}", name="person_page")
def person_page(front: Desk, person_id: int) -> Response:
    """Show one person's roles and papers."""
    return _person_page(front, person_id)


@router.post("/setup/people/{person_id}", name="change_person")
def change_person(front: Desk, posted: PostedForm, person_id: int) -> Response:
    """Change roles and papers."""

    def change(act: Act) -> None:
        fields = posted.fields()
        values: dict[str, str | float | date | bool | None] = {
            "name": fields.text("name", "the person's name"),
            "roles": " ".join(sorted(fields.several("roles", "roles", ROLES))),
            "languages": fields.text("languages", "the languages, for example en pt", most=60),
            "grade": fields.choice("grade", "a teaching grade", [key for key, _ in GRADES], needed=False),
            "credential_until": _last_day(fields, "credential_until", "the teaching papers' last day"),
            "first_aid_until": _last_day(fields, "first_aid_until", "the first aid papers' last day"),
            "diver_medical_until": _last_day(fields, "diver_medical_until", "the dive medical's last day"),
            "depth_cap_m": fields.number("depth_cap_m", "Own depth cap", 1, 12, "m", needed=False),
            "breathing_rate_l_min": fields.number(
                "breathing_rate_l_min", "Breathing rate", 5, 60, "L/min", needed=False
            ),
            "active": not fields.tick("left"),
        }
        confirm(front, act, fields)
        fields.done()
        team.change_person(act, person_id, posted.edits, values)

    return front.do(
        posted,
        change,
        then=lambda _: f"/setup/people/{person_id}",
        again=lambda problem: _person_page(front, person_id, problem),
    )


@router.post("/setup/people/{person_id}/passphrase", name="change_passphrase")
def change_passphrase(front: Desk, posted: PostedForm, person_id: int) -> Response:
    """Give a person a new passphrase, which the person types."""

    def change(act: Act) -> None:
        fields = posted.fields()
        passphrase = fields.values.get("passphrase", "")
        fields.text("passphrase", "a passphrase", most=128)
        confirm(front, act, fields)
        fields.done()
        team.change_passphrase(act, person_id, passphrase)

    return front.do(
        posted,
        change,
        then=lambda _: f"/setup/people/{person_id}",
        again=lambda problem: _person_page(front, person_id, problem),
    )


@router.post("/setup/people/{person_id}/pin", name="new_pin")
def new_pin(front: Desk, posted: PostedForm, person_id: int) -> Response:
    """Deal a PIN and show it once."""

    def deal(act: Act) -> str:
        fields = posted.fields()
        confirm(front, act, fields)
        fields.done()
        return team.new_pin(act, person_id)

    return front.do(
        posted,
        deal,
        then=lambda _: f"/setup/people/{person_id}",
        again=lambda problem: _person_page(front, person_id, problem),
        show=lambda pin: front.page("setup/pin.html", "A new PIN", pin=pin, person=_person(front, person_id)),
    )


@router.get("/setup/devices", name="devices_page")
def devices_page(front: Desk) -> Response:
    """Show the paired devices."""
    return _devices_page(front)


@router.post("/setup/devices", name="pair_device")
def pair_device(front: Desk, posted: PostedForm) -> Response:
    """Pair the device that shows this page."""

    def pair(act: Act) -> str:
        fields = posted.fields()
        name = fields.text("name", "a name for this device", most=40)
        kind = fields.choice("kind", "what kind of device this is", [key for key, _ in KINDS])
        confirm(front, act, fields)
        fields.done()
        token = team.pair_device(act, name, kind)
        front.pair_as(token)
        return token

    return front.do(
        posted, pair, then=lambda _: "/setup/devices", again=lambda problem: _devices_page(front, problem)
    )


@router.post("/setup/devices/{device_id}/end", name="end_device")
def end_device(front: Desk, posted: PostedForm, device_id: int) -> Response:
    """End a device in one act."""

    def end(act: Act) -> None:
        fields = posted.fields()
        confirm(front, act, fields)
        fields.done()
        team.end_device(act, device_id)

    return front.do(
        posted, end, then=lambda _: "/setup/devices", again=lambda problem: _devices_page(front, problem)
    )


def _last_day(fields: Fields, name: str, what: str) -> date | None:
    return fields.date3(name, what, FIRST_DAY, LAST_DAY, needed=False)


def _people_page(front: Front, problem: ProblemView | None = None) -> Response:
    people = visits.everybody(front.session)
    roles = {
        person.id: [ROLE_WORDS[role] for role in ROLES if role in person.role_set()] for person in people
    }
    return front.page(
        "setup/people.html", "People", problem=problem, people=people, roles=roles,
        role_words=list(ROLE_WORDS.items()), asks_again=asks_again(front),
    )  # fmt: skip


def _person_page(front: Front, person_id: int, problem: ProblemView | None = None) -> Response:
    return front.page(
        "setup/person.html", "Person", problem=problem, person=_person(front, person_id),
        role_words=list(ROLE_WORDS.items()), grades=GRADES, asks_again=asks_again(front),
    )  # fmt: skip


def _person(front: Front, person_id: int) -> PersonRow:
    found = front.session.get(PersonRow, person_id)
    if found is None:
        raise NotHere(f"person {person_id}")
    return found


def _devices_page(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "setup/devices.html", "Devices", problem=problem, devices=visits.devices(front.session), kinds=KINDS,
        seen=seen_of_devices(front.session), asks_again=asks_again(front),
    )  # fmt: skip

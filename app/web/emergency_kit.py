"""The day's emergency kit check, and emergency drills."""

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.emergency_kit import KitAnswers
from app.actions.emergency_kit import check_emergency_kit as store_check
from app.actions.emergency_kit import write_drill as store_drill
from app.records import emergency_kit as kit_records
from app.records import shop as shop_records
from app.rules import limits
from app.rules.emergency_gate import emergency_kit_ready, oxygen_needed
from app.rules.emergency_kit import ITEMS, OXYGEN, REVISED
from app.web.access import INSTRUCTOR, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
WORKS, MISSING = "works", "missing"
ANSWERS = ((WORKS, "There and working"), (MISSING, "Missing or not working"))


@router.get("/emergency-kit", name="emergency_kit")
def emergency_kit(front: Desk) -> Response:
    """Show today's checks and the list to go through."""
    return _kit_page(front)


@router.post("/emergency-kit", name="check_emergency_kit")
def check_emergency_kit(front: Desk, posted: PostedForm) -> Response:
    """Store one look at the emergency kit."""

    def check(act: Act) -> None:
        fields = posted.fields()
        answers = _answers(fields)
        fields.done()
        store_check(act, answers)

    return front.do(
        posted, check, then=lambda _: "/emergency-kit", again=lambda problem: _kit_page(front, problem)
    )


@router.post("/emergency-kit/drills", name="write_drill")
def write_drill(front: Desk, posted: PostedForm) -> Response:
    """Write down an emergency drill."""

    def write(act: Act) -> None:
        fields = posted.fields()
        held_on = fields.date3("held_on", "the day of the drill", date(2000, 1, 1), front.today)
        what = fields.text("what", "what was practised", most=200)
        fields.done()
        store_drill(act, held_on or front.today, what)

    return front.do(
        posted, write, then=lambda _: "/emergency-kit#drills", again=lambda problem: _kit_page(front, problem)
    )


def _answers(fields: Fields) -> KitAnswers:
    choices = [key for key, _ in ANSWERS]
    given = {
        item.key: fields.choice(f"item_{item.key}", f"what you found: {item.name.lower()}", choices)
        for item in ITEMS
    }
    works = given[OXYGEN.key] == WORKS
    highest = limits.GAUGE_HIGHEST.value
    bar = fields.number("oxygen_bar", "Oxygen pressure", 0, float(str(highest)), "bar", needed=works)
    litres = fields.number("oxygen_cylinder_litres", "Oxygen cylinder", 0.3, 50, "L", needed=works)
    note = fields.note("note", "the note")
    return KitAnswers(
        [key for key, answer in given.items() if answer == WORKS], bar or 0.0, litres or 0.0, note
    )


def _kit_page(front: Front, problem: ProblemView | None = None) -> Response:
    newest = kit_records.newest_check(front.session)
    in_force = shop_records.limits_now(front.session)
    return front.page(
        "emergency_kit/emergency_kit.html",
        "Emergency kit",
        problem=problem,
        checks=kit_records.checks_of(front.session, front.today),
        items=ITEMS,
        answers=ANSWERS,
        revised=REVISED,
        usual_litres=newest.row.oxygen_cylinder_litres
        if newest and newest.row.oxygen_cylinder_litres
        else None,
        ready=emergency_kit_ready(kit_records.kit_facts(front.session, front.today), in_force, front.today),
        oxygen_min=oxygen_needed(in_force),
        drill=kit_records.last_drill(front.session),
        drill_every=in_force[limits.EMERGENCY_DRILL_EVERY],
        may_check=front.visitor.has(INSTRUCTOR, LEAD, MANAGER),
    )

"""The day's emergency kit check, and emergency drills."""

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.water_side.emergency_kit import KitAnswers, picture_emergency_kit
from app.actions.water_side.emergency_kit import check_emergency_kit as store_check
from app.actions.water_side.emergency_kit import write_drill as store_drill
from app.records.keep.pictures import pictures_of
from app.records.water_side import emergency_kit as kit_records
from app.rules import limits
from app.rules.emergency_gate import emergency_kit_ready
from app.rules.emergency_kit import ITEMS, OXYGEN, REVISED
from app.web.access import INSTRUCTOR, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
HIGHEST_BAR = float(str(limits.GAUGE_HIGHEST.value))
OXYGEN_CYLINDERS_MOST = 4
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


@router.post("/emergency-kit/{check_id}/pictures", name="add_emergency_kit_picture")
def add_emergency_kit_picture(front: Desk, posted: PostedForm, check_id: int) -> Response:
    """Keep a picture with a check of the kit."""

    def keep(act: Act) -> None:
        posted.fields().done()
        picture_emergency_kit(act, check_id, posted.file("photo"))

    return front.do(
        posted,
        keep,
        then=lambda _: "/emergency-kit#pictures",
        again=lambda problem: _kit_page(front, problem),
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
    bar = fields.number("oxygen_bar", "Oxygen pressure", 0, HIGHEST_BAR, "bar", needed=works)
    litres = fields.number("oxygen_cylinder_litres", "Oxygen cylinder", 0.3, 50, "L", needed=works)
    more = _more_oxygen(fields)
    note = fields.note("note", "the note")
    return KitAnswers(
        [key for key, answer in given.items() if answer == WORKS], bar or 0.0, litres or 0.0, note, more
    )


def _more_oxygen(fields: Fields) -> tuple[tuple[float, float], ...]:
    """Read the further oxygen cylinders: pressure and size of each, or neither."""
    found = []
    for number in range(2, OXYGEN_CYLINDERS_MOST + 1):
        names = f"oxygen_bar_{number}", f"oxygen_cylinder_litres_{number}"
        typed = any(fields.values.get(name, "").strip() for name in names)
        bar = fields.number(names[0], f"Oxygen pressure {number}", 0, HIGHEST_BAR, "bar", needed=typed)
        litres = fields.number(names[1], f"Oxygen cylinder {number}", 0.3, 50, "L", needed=typed)
        if bar is not None and litres is not None:
            found.append((bar, litres))
    return tuple(found)


def _kit_page(front: Front, problem: ProblemView | None = None) -> Response:
    newest = kit_records.newest_check(front.session)
    in_force = kit_records.limits_of_day(front.session, front.today)
    checks = kit_records.checks_of(front.session, front.today)
    return front.page(
        "emergency_kit/emergency_kit.html",
        "Emergency kit",
        problem=problem,
        checks=checks,
        pictures=pictures_of(front.session, "emergency_check", [one.row.id or 0 for one in checks]),
        items=ITEMS,
        answers=ANSWERS,
        revised=REVISED,
        usual_litres=newest.row.oxygen_cylinder_litres
        if newest and newest.row.oxygen_cylinder_litres
        else None,
        ready=emergency_kit_ready(kit_records.kit_facts(front.session, front.today), in_force, front.today),
        oxygen=kit_records.oxygen_at_hand(front.session, front.today, in_force),
        more_oxygen=range(2, OXYGEN_CYLINDERS_MOST + 1),
        usual=newest.cylinders if newest else (),
        drill=kit_records.last_drill(front.session),
        drill_every=in_force[limits.EMERGENCY_DRILL_EVERY],
        may_check=front.visitor.has(INSTRUCTOR, LEAD, MANAGER),
    )

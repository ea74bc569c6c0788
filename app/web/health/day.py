"""The health day on shore: the result explained, a second look, a slip undone, parents who disagree."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import guardians
from app.actions.health import telling, today_slip
from app.web.front import Desk
from app.web.health.holds import LOOKED_NOTES, PLACES, SLIP_ROLES, WHY_SLIP, guest_page, reasons_again
from app.web.posted import PostedForm

router = APIRouter()


@router.post("/guests/{guest_id}/health/told", name="tell_outcome")
def tell_outcome(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store who explained the result, and whether the guest wants a person to look again."""

    def tell(act: Act) -> None:
        fields = posted.fields()
        about = fields.text("about_told", "what was explained")
        asks = fields.choice("asks", "whether a person shall look again", ("no", "yes"))
        fields.done()
        telling.tell_outcome(act, guest_id, about, asks_look=asks == "yes")

    return front.do(
        posted,
        tell,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/looked", name="look_again")
def look_again(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store that a person looked again."""

    def look(act: Act) -> None:
        fields = posted.fields()
        note = fields.choice("looked", "what came of it", LOOKED_NOTES)
        fields.done()
        telling.look_again(act, guest_id, LOOKED_NOTES[note])

    return front.do(
        posted,
        look,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/today-slip", name="undo_today_slip")
def undo_today_slip(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store one of the two words that an answer of today was a slip of the finger."""

    def undo(act: Act) -> bool:
        fields = posted.fields()
        code = fields.text("today_code", "which answer")
        why = fields.choice("today_why", "what happened", WHY_SLIP)
        role = fields.choice("role", "as whom you say it", SLIP_ROLES)
        fields.done()
        return today_slip.undo_today_slip(act, guest_id, code, WHY_SLIP[why], role)

    return front.do(
        posted,
        undo,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: reasons_again(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/guardian-place", name="guardian_place")
def guardian_place(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store where the guardian is today."""

    def note(act: Act) -> None:
        fields = posted.fields()
        place = fields.choice("place", "where the guardian is", PLACES)
        fields.done()
        guardians.note_guardian_place(act, guest_id, place)

    return front.do(
        posted,
        note,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/parents", name="note_parents")
def note_parents(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store that the parents of a minor disagree, or agree again."""

    def note(act: Act) -> None:
        fields = posted.fields()
        said = fields.choice("parents", "what you know", ("disagree", "agree"))
        fields.done()
        guardians.note_parents(act, guest_id, disagree=said == "disagree")

    return front.do(
        posted,
        note,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: guest_page(front, guest_id, problem),
    )

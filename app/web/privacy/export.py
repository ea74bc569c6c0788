"""What the keeper opens of one guest: a sealed record, everything for handing out, and the log of looks."""

import json

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import privacy
from app.records.health import health_reads
from app.records.health.data_export import everything, own_looks
from app.records.tables.parties import GuestRow
from app.web.front import Desk, Front
from app.web.posted import PostedForm
from app.web.privacy.guest import WHY_OPEN, page
from app.web.setup.shop import confirm

router = APIRouter()
FORMS = {"page": "A page to read or print", "file": "A file for another program (JSON)"}


@router.post("/guests/{guest_id}/data/open", name="open_sealed")
def open_sealed(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Log why a sealed record is opened, then show it once."""

    def open_it(act: Act) -> GuestRow:
        fields = posted.fields()
        why = fields.choice("why", "why you open it", WHY_OPEN)
        fields.done()
        return privacy.open_sealed(act, guest_id, WHY_OPEN[why])

    return front.do(
        posted,
        open_it,
        then=lambda _: f"/guests/{guest_id}/data",
        again=lambda problem: page(front, guest_id, problem),
        show=lambda guest: _readable(front, guest, "Sealed record"),
    )


@router.post("/guests/{guest_id}/data/export", name="export_data")
def export_data(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Log that everything is handed out, then show it once: as a page or as a file."""
    kind = posted.values.get("as_what", "")

    def hand_out(act: Act) -> GuestRow:
        fields = posted.fields()
        who = fields.choice("asked_by", "who asks", privacy.ASKING)
        fields.choice("as_what", "a page or a file", FORMS)
        papers, right = fields.tick("papers_seen"), fields.tick("right_seen")
        confirm(front, act, fields)
        fields.done()
        return privacy.export(act, guest_id, who, papers_seen=papers, right_seen=right)

    def show(guest: GuestRow) -> Response:
        return _file(front, guest) if kind == "file" else _readable(front, guest, "Everything about")

    return front.do(
        posted,
        hand_out,
        then=lambda _: f"/guests/{guest_id}/data",
        again=lambda problem: page(front, guest_id, problem),
        show=show,
    )


@router.get("/guests/{guest_id}/data/looks", name="guest_looks")
def guest_looks(front: Desk, guest_id: int) -> Response:
    """Show who looked at a guest's health record, for the guest to have. It holds no health word."""
    guest, day = health_reads.guest_on(front.session, guest_id)
    return front.page(
        "privacy/looks.html",
        f"Who looked at the record of {guest.call_name}",
        guest=guest,
        day=day,
        looks=own_looks(front.session, guest),
        day_of=front.shop.day_of,
    )


def _readable(front: Front, guest: GuestRow, what: str) -> Response:
    with front.house.store.reading() as session:
        found = everything(session, front.house, guest, front.now)
    return front.page("privacy/everything.html", f"{what} {guest.call_name}", guest=guest, found=found)


def _file(front: Front, guest: GuestRow) -> Response:
    with front.house.store.reading() as session:
        found = everything(session, front.house, guest, front.now)
    # The name of the file says nothing of whose it is.
    headers = {
        "Content-Disposition": f'attachment; filename="guest-{guest.id}.json"',
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "Cache-Control": "no-store",
    }
    text = json.dumps(found, ensure_ascii=False, indent=1)
    return Response(text.encode(), media_type="application/json", headers=headers)

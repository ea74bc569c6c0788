"""Labels with a code for cylinders and kit: choosing them, the sheet to print, and where their codes lead."""

import re
from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from app.actions.act import Act
from app.actions.kit_rail.labels import set_label_address as keep_address
from app.records.kit_rail import labels
from app.records.kit_rail.labels import CYLINDER, KIT_ITEM, Labelled
from app.records.store.problems import NotHere
from app.web.access import MANAGER
from app.web.addresses import address_warning, shop_address
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.printing import printed
from app.web.sheets.codes import Code, code_of

router = APIRouter()
ACROSS, DOWN = 3, 8
A_SHEET = ACROSS * DOWN
SHORT = {CYLINDER: "c", KIT_ITEM: "k"}
PLACES = {CYLINDER: "/gas/cylinders/{}", KIT_ITEM: "/kit/items/{}"}
WORDS = {CYLINDER: "cylinders", KIT_ITEM: "kit"}
# A name or an address in numbers, with a port where it is not the usual one; nothing behind it.
ADDRESS = re.compile(r"^https?://(?:[a-z0-9](?:[a-z0-9.-]{0,80})|\[[0-9a-f:]{2,40}\])(?::\d{1,5})?$")
MOST_LABELS = 480


@router.get("/c/{number:path}", name="cylinder_label")
def cylinder_label(front: Desk, number: str) -> Response:
    """Lead from the code on a cylinder to its page."""
    key = labels.cylinder_by_number(front.session, number)
    return RedirectResponse(PLACES[CYLINDER].format(key), status_code=303)


@router.get("/k/{number:path}", name="kit_label")
def kit_label(front: Desk, number: str) -> Response:
    """Lead from the code on an item of kit to its page."""
    key = labels.kit_item_by_number(front.session, number)
    return RedirectResponse(PLACES[KIT_ITEM].format(key), status_code=303)


@router.get("/labels", name="labels")
def choose_labels(front: Desk) -> Response:
    """Show what can bear a label, to tick, and from which place of a sheet to begin."""
    return _choose(front)


@router.post("/labels/address", name="set_label_address")
def set_label_address(front: Desk, posted: PostedForm) -> Response:
    """Keep where the codes on labels lead."""

    def keep(act: Act) -> None:
        fields = posted.fields()
        address = fields.text("address", "the address", most=100).lower().rstrip("/")
        if address and not ADDRESS.match(address):
            fields.wrong(
                "address", "Write the address as a browser shows it, for example http://192.168.1.20:8000."
            )
        fields.done()
        keep_address(act, posted.edits, address)

    return front.do(
        posted,
        keep,
        then=lambda _: f"/labels?kind={_kind(front)}",
        again=lambda problem: _choose(front, problem),
    )


@router.get("/labels/sheet", name="label_sheet")
def label_sheet(front: Desk) -> Response:
    """Show sheets of labels for printing, three across and eight down on A4."""
    asked = front.request.query_params
    ids = [int(one) for one in asked.getlist("pick") if one.isdecimal() and len(one) <= 9]  # noqa: PLR2004
    start = asked.get("start", "1")
    first = int(start) if start.isdecimal() and len(start) < 3 and 1 <= int(start) <= A_SHEET else 1  # noqa: PLR2004
    kind, address = _kind(front), shop_address(front)
    chosen = labels.labelled(front.session, kind, ids)[:MOST_LABELS]
    places: list[tuple[Labelled, Code] | None] = [None] * (first - 1)
    places += [(one, code_of(link_of(address, kind, one.number))) for one in chosen]
    places += [None] * (-len(places) % A_SHEET)
    return printed(
        front,
        "sheets/label_sheet.html",
        "Labels to print",
        name=f"labels-{kind}",
        fixed="a4",
        sheets=[places[at : at + A_SHEET] for at in range(0, len(places), A_SHEET)],
        count=len(chosen),
        kind=kind,
        words=WORDS[kind],
        address=address,
        warning=address_warning(front, address),
    )


def link_of(address: str, kind: str, number: str) -> str:
    """Return the link that a label holds: short, and by the number that is painted on the thing."""
    return f"{address}/{SHORT[kind]}/{quote(number, safe='')}"


def _kind(front: Front) -> str:
    kind = front.request.query_params.get("kind", CYLINDER)
    if kind not in SHORT:
        raise NotHere("no labels for this")
    return kind


def _choose(front: Front, problem: ProblemView | None = None) -> Response:
    kind, address = _kind(front), shop_address(front)
    things = labels.labelled(front.session, kind)
    return front.page(
        "sheets/choose.html",
        f"Labels for {WORDS[kind]}",
        problem=problem,
        things=things,
        kind=kind,
        kinds=list(WORDS.items()),
        asked=set(front.request.query_params.getlist("pick")),
        address=address,
        example=link_of(address, kind, things[0].number) if things else address,
        version=labels.label_address(front.session)[1],
        warning=address_warning(front, address),
        across=ACROSS,
        down=DOWN,
        may_set=front.visitor.has(MANAGER),
    )

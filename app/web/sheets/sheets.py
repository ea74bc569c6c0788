"""Cylinders and kit as sheets: read one, see row by row what it would do, take it in; and take one away."""

import hashlib

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, Invalid
from app.actions.keep import sheets as act_on
from app.actions.keep.sheets import TakenIn
from app.records.keep import sheet_files, sheets
from app.records.keep.sheet_files import Cells, NotASheet
from app.records.keep.sheet_out import EXCEL, as_csv, as_excel
from app.records.tables.sheets import SheetRow
from app.rules.sheet_rows import BROKEN, CHANGES, NEW, SAME
from app.web.front import Desk, Front
from app.web.guard import FORM_BYTES
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm

router = APIRouter()
FORMS = {"csv": ("CSV", "text/csv; charset=utf-8"), "xlsx": ("Excel", EXCEL)}
WORDS = {sheets.CYLINDERS: "cylinders", sheets.KIT: "kit"}
PLACES = {sheets.CYLINDERS: ("/gas", "Gas room"), sheets.KIT: ("/kit/items", "Items on the rail")}


@router.get("/sheets/{kind}", name="sheets")
def sheets_page(front: Desk, kind: str) -> Response:
    """Show how a sheet is read in and taken away."""
    return _page(front, kind)


@router.post("/sheets/{kind}/read", name="read_sheet")
def read_sheet(front: Desk, posted: PostedForm, kind: str) -> Response:
    """Read a sheet and keep it; nothing of it is stored among the shop's records yet."""
    sheets.kind_of(kind, front.today)
    data, cells, trouble = _cells_of(posted)

    def keep(act: Act) -> SheetRow:
        fields = posted.fields()
        pasted = fields.text("pasted", "the pasted cells", most=FORM_BYTES, needed=False)
        if cells is None and not fields.errors:
            fields.wrong("pasted" if pasted and posted.file("sheet") is None else "sheet", trouble)
        fields.done()
        if cells is None:
            raise Invalid({"sheet": trouble})
        return act_on.keep_sheet(act, kind, cells, hashlib.sha256(data).hexdigest())

    return front.do(
        posted,
        keep,
        then=lambda row: f"/sheets/{kind}/{row.id}",
        again=lambda problem: _page(front, kind, problem),
    )


@router.post("/sheets/{kind}/export", name="export_sheet")
def export_sheet(front: Desk, posted: PostedForm, kind: str) -> Response:
    """Hand the shop's cylinders or kit over as a file; what left is in the trail."""
    titles, rows = sheets.table_of(front.session, kind, front.today)
    form = posted.values.get("form", "")
    excel = form == "xlsx"
    data = as_excel(WORDS[kind].capitalize(), titles, rows) if excel else as_csv(titles, rows)

    def note(act: Act) -> None:
        fields = posted.fields()
        chosen = fields.choice("form", "CSV or Excel", list(FORMS))
        fields.done()
        act_on.note_export(act, kind, FORMS[chosen][0], len(rows), hashlib.sha256(data).hexdigest())

    name = f"{kind}-{front.today.isoformat()}.{form}"
    return front.do(
        posted,
        note,
        then=lambda _: f"/sheets/{kind}",
        again=lambda problem: _page(front, kind, problem),
        show=lambda _: Response(
            data,
            media_type=FORMS[form][1],
            headers={"Content-Disposition": f'attachment; filename="{name}"'},
        ),
    )


@router.get("/sheets/{kind}/{sheet_id}", name="look_at_sheet")
def look_at_sheet(front: Desk, kind: str, sheet_id: int) -> Response:
    """Show row by row what a sheet would do."""
    return _look(front, kind, sheet_id)


@router.post("/sheets/{kind}/{sheet_id}", name="take_in_sheet")
def take_in_sheet(front: Desk, posted: PostedForm, kind: str, sheet_id: int) -> Response:
    """Take a sheet's good rows in."""

    def take(act: Act) -> TakenIn:
        fields = posted.fields()
        changes = fields.tick("changes")
        seen = fields.text("seen", "what was shown")
        fields.done()
        return act_on.take_in(act, kind, sheet_id, posted.edits, seen, front.today, changes=changes)

    return front.do(
        posted,
        take,
        then=lambda _: f"/sheets/{kind}/{sheet_id}",
        again=lambda problem: _look(front, kind, sheet_id, problem),
    )


def _cells_of(posted: Posted) -> tuple[bytes, Cells | None, str]:
    """Read what was sent, before the store is asked for its turn to write."""
    file, pasted = posted.file("sheet"), posted.values.get("pasted", "")
    data = file if file is not None else pasted.encode()
    if not data.strip():
        return data, None, "Choose a file, or paste the cells."
    if file is not None and pasted.strip():
        return data, None, "Choose a file or paste the cells, not both."
    try:
        return data, sheet_files.read_cells(file) if file is not None else sheet_files.read_text(pasted), ""
    except NotASheet as bad:
        return data, None, str(bad)


def _page(front: Front, kind: str, problem: ProblemView | None = None) -> Response:
    columns = sheets.kind_of(kind, front.today).columns
    return front.page(
        "sheets/sheets.html",
        f"Sheets of {WORDS[kind]}",
        problem=problem,
        kind=kind,
        words=WORDS[kind],
        place=PLACES[kind],
        columns=columns,
        most_rows=sheet_files.MOST_ROWS,
        count=len(sheets.table_of(front.session, kind, front.today)[1]),
    )


def _look(front: Front, kind: str, sheet_id: int, problem: ProblemView | None = None) -> Response:
    row = sheets.sheet_row(front.session, kind, sheet_id)
    sheet = sheets.judged(front.session, row, front.today)
    return front.page(
        "sheets/look.html",
        f"A sheet of {WORDS[kind]}",
        problem=problem,
        kind=kind,
        words=WORDS[kind],
        place=PLACES[kind],
        row=row,
        sheet=sheet,
        broken=sheet.of(BROKEN),
        changes=sheet.of(CHANGES),
        new=sheet.of(NEW),
        same=sheet.of(SAME),
        seen=sheets.fingerprint(sheet),
        columns=sheets.kind_of(kind, front.today).columns,
    )

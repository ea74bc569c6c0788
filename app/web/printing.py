"""Prints: a page for the screen that is also a PDF on the shop's paper, made from the same template.

A route calls ``printed`` where another page would call ``front.page``. ``?as=pdf`` then answers with the
PDF, ``&paper=letter`` chooses the paper for once. Making a PDF reads nothing but our own static folder.
"""

import hashlib
import re
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from fastapi.responses import Response

from app.actions.act import acting
from app.actions.prints import note_pdf
from app.records.shop import shop_row
from app.settings.config import VERSION
from app.web.front import Front

PDF = "application/pdf"
# What a browser is asked with -> how it is called in words and in style sheets.
PAPERS = {"a4": "A4", "letter": "Letter"}
# Not carried over into the links that lead to the PDFs of a page.
OWN_QUERY = ("as", "paper", "done")


class NoPdf(Exception):
    """This computer lacks the library that sets the text of a PDF."""


@dataclass(frozen=True)
class PaperLink:
    """A way to a page's PDF: in words, and where it is."""

    paper: str
    href: str


def printed(front: Front, template: str, title: str, *, name: str, fixed: str = "", **more: Any) -> Response:
    """Show a print, or answer with its PDF when the address ends in ``?as=pdf``.

    name: what the print is, for the file's name and the trail, for example "day-sheet-2026-07-15"; no
    person's name. fixed: the one paper of a print that fits no other ("a4"). The template shows
    ``paper_links`` (``_shared/prints.html``). A PDF is an entry in the trail before it leaves.
    """
    asked = front.request.query_params
    usual = fixed or paper_of(front)
    links = _links(front, usual, fixed)
    page = front.page(template, title, paper_links=links, program_version=VERSION, **more)
    if asked.get("as") != "pdf":
        return page
    paper = fixed or (asked["paper"] if asked.get("paper") in PAPERS else usual)
    try:
        data = make_pdf(bytes(page.body).decode(), PAPERS[paper])
    except NoPdf:
        return front.page("prints/no_pdf.html", "No PDF from this computer yet", status=503)
    with acting(front.house, front.actor(), "make_pdf") as act:
        note_pdf(act, name, PAPERS[paper], hashlib.sha256(data).hexdigest())
    return Response(
        data, media_type=PDF, headers={"Content-Disposition": f'inline; filename="{_file(name)}.pdf"'}
    )


def paper_of(front: Front) -> str:
    """Return the shop's paper, "a4" or "letter"."""
    row = shop_row(front.session)
    return row.paper if row is not None and row.paper in PAPERS else "a4"


def make_pdf(html: str, size: str) -> bytes:
    """Return a page of ours as a PDF on A4 or Letter; raises NoPdf."""
    try:
        # Loads Pango and takes half a second: only when somebody asks for a PDF.
        from app.web.pdf import pdf_of
    except (OSError, ImportError) as error:
        raise NoPdf from error
    return pdf_of(html, size)


def _links(front: Front, usual: str, fixed: str) -> tuple[PaperLink, ...]:
    query = front.request.query_params.multi_items()
    kept = [(key, value) for key, value in query if key not in OWN_QUERY]
    papers = [fixed] if fixed else sorted(PAPERS, key=lambda one: one != usual)
    return tuple(
        PaperLink(
            f"PDF on {PAPERS[one]}",
            f"{front.request.url.path}?{urlencode([*kept, ('as', 'pdf'), ('paper', one)])}",
        )
        for one in papers
    )


def _file(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9-]+", "-", name).strip("-") or "print"

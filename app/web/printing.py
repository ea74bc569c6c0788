"""Prints: a page for the screen that is also a PDF on the shop's paper, made from the same template.

A route calls ``printed`` where another page would call ``front.page``. Its buttons post to ``make_pdf``: that
notes in the trail that the print leaves the shop and leads back with ``?as=pdf``, and the page then answers
with the PDF. Without that note it stays a page. Making a PDF reads nothing but our own static folder.
"""

import re
from typing import Any
from urllib.parse import urlencode

from fastapi.responses import Response

from app.records.keep.prints import left_as_pdf, pdf_reason
from app.records.setup.shop import shop_row
from app.settings.config import VERSION
from app.web.front import Front

PDF = "application/pdf"
# What a browser is asked with -> how it is called in words and in style sheets.
PAPERS = {"a4": "A4", "letter": "Letter"}
# Not carried over into the links that lead to the PDFs of a page.
OWN_QUERY = ("as", "paper", "done")


class NoPdf(Exception):
    """This computer lacks the library that sets the text of a PDF."""


def printed(front: Front, template: str, title: str, *, name: str, fixed: str = "", **more: Any) -> Response:
    """Show a print, or answer with its PDF once its leaving the shop is noted (``left_as_pdf``).

    name: what the print is, for the file's name, for example "day-sheet-2026-07-15"; no person's name.
    fixed: the one paper of a print that fits no other ("a4"). The template shows ``paper_bar``
    (``_shared/prints.html``).
    """
    asked = front.request.query_params
    usual = fixed or paper_of(front)
    own = _own_address(front)
    papers = [
        (one, PAPERS[one]) for one in ([fixed] if fixed else sorted(PAPERS, key=lambda one: one != usual))
    ]
    paper = fixed or (asked["paper"] if asked.get("paper") in PAPERS else usual)
    reason = pdf_reason(own, PAPERS[paper])
    made = asked.get("as") == "pdf" and left_as_pdf(
        front.session, asked.get("done", ""), front.visitor.person_id, reason
    )
    more = {**more, "saved": None} if made else more
    page = front.page(template, title, papers=papers, own_address=own, program_version=VERSION, **more)
    if not made:
        return page
    try:
        data = make_pdf(bytes(page.body).decode(), PAPERS[paper])
    except NoPdf:
        return front.page("prints/no_pdf.html", "No PDF from this computer yet", status=503)
    return Response(
        data, media_type=PDF, headers={"Content-Disposition": f'inline; filename="{_file(name)}.pdf"'}
    )


def pdf_address(own: str, paper: str) -> str:
    """Return where a print answers as a PDF; ``own``: the address of its page."""
    return f"{own}{'&' if '?' in own else '?'}{urlencode({'as': 'pdf', 'paper': paper})}"


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


def _own_address(front: Front) -> str:
    query = front.request.query_params.multi_items()
    kept = urlencode([(key, value) for key, value in query if key not in OWN_QUERY])
    return front.request.url.path + (f"?{kept}" if kept else "")


def _file(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9-]+", "-", name).strip("-") or "print"

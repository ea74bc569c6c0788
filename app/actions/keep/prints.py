"""What left the shop on paper or as a PDF, and on which paper the shop prints."""

from app.actions.act import Act, Invalid
from app.records.keep.prints import pdf_reason
from app.records.setup.shop import shop_row

PAPERS = ("a4", "letter")
LABELS = {"paper": "Paper"}


def note_pdf(act: Act, address: str, paper: str) -> None:
    """Note that a print leaves the shop as a PDF: the address of its page, the paper, never its content."""
    act.about, act.reason = ("print", address.partition("?")[0]), pdf_reason(address, paper)


def choose_paper(act: Act, version: int, paper: str) -> None:
    """Keep the paper on which the shop prints, "a4" or "letter"; raises Invalid, Clash."""
    row = shop_row(act.session)
    if row is None or paper not in PAPERS:
        raise Invalid({"paper": "Choose A4 or Letter."})
    act.about = ("shop", str(row.id))
    act.edit(row, version, {"paper": paper}, LABELS)

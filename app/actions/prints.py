"""What left the shop on paper or as a PDF, and on which paper the shop prints."""

from app.actions.act import Act, Invalid
from app.records.shop import shop_row

PAPERS = ("a4", "letter")
LABELS = {"paper": "Paper"}


def note_pdf(act: Act, name: str, paper: str, sha256: str) -> None:
    """Note that a PDF was made: which print, which paper, and the file's digest. Never its content."""
    act.about, act.reason = ("print", name), f"PDF on {paper}, sha256 {sha256}"


def choose_paper(act: Act, version: int, paper: str) -> None:
    """Keep the paper on which the shop prints, "a4" or "letter"; raises Invalid, Clash."""
    row = shop_row(act.session)
    if row is None or paper not in PAPERS:
        raise Invalid({"paper": "Choose A4 or Letter."})
    act.about = ("shop", str(row.id))
    act.edit(row, version, {"paper": paper}, LABELS)

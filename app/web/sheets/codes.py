"""QR codes (ISO/IEC 18004) as drawings in a page: black on white, with the quiet margin that readers need."""

from dataclasses import dataclass
from functools import lru_cache

# ISO/IEC 18004 asks for four modules of white on every side.
MARGIN = 4
# M mends 15 % of a code: wet, scratched, curved around a cylinder.
MENDS = "m"


@dataclass(frozen=True)
class Code:
    """One code. size: modules on a side with the margin; path: the black modules as an SVG path."""

    link: str
    size: int
    path: str


def draw_code(link: str) -> Code:
    """Return the QR code of a link; error correction M, or better where the size stays the same."""
    import segno

    matrix = segno.make(link, error=MENDS, micro=False, boost_error=True).matrix
    strokes = []
    for y, row in enumerate(matrix):
        x = 0
        while x < len(row):
            end = x
            while end < len(row) and row[end]:
                end += 1
            if end > x:
                strokes.append(f"M{x + MARGIN} {y + MARGIN}h{end - x}v1h-{end - x}z")
            x = end + 1
    return Code(link, len(matrix) + 2 * MARGIN, "".join(strokes))


@lru_cache(maxsize=512)
def code_of(link: str) -> Code:
    """Return the QR code of a link that is no secret; drawn once, because a sheet of labels asks for many."""
    return draw_code(link)

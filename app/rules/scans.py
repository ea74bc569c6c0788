"""What counts as a scanned page: a PDF, JPEG or PNG, told by its content, whole, and not too large.

Pictures are written anew from what shows them. A PDF is kept as it is: nothing here reads inside it, and it
is never shown, only handed out as a file. Sources: ISO 32000-1 for a PDF's header and trailer.
"""

import re
from dataclasses import dataclass

from app.rules.pictures import HEIC, MIB, NotAPicture, clean_picture

MOST_BYTES = 10 * MIB
PDF = "application/pdf"
NO_SCAN = "This file is no PDF, JPEG or PNG. Scan the page as PDF, or take a photo of it."
DAMAGED_PDF = "This PDF is cut off or damaged. Save it once more, or take a photo of the page."

# The header stands at the very beginning here: what hides a PDF behind other bytes is not taken.
_HEADER = re.compile(rb"%PDF-[12]\.[0-9][\r\n \t%]")
_START = re.compile(rb"startxref\s+(\d{1,10})\s+%%EOF")
# Readers look for the end within the last 1024 bytes (ISO 32000-1, Annex H, implementation note).
_TAIL = 1024
_REST = re.compile(rb"[\s\x00]*")
_OBJECT = re.compile(rb"xref\b|\d{1,10}\s+\d{1,5}\s+obj\b")


class NotAScan(ValueError):
    """The bytes cannot be kept as a page; the text is a sentence for whoever sent them."""


@dataclass(frozen=True, slots=True)
class Scan:
    """A page as it is kept."""

    data: bytes
    content_type: str


def clean_scan(data: bytes) -> Scan:
    """Return the page as it is kept; raises NotAScan with a sentence."""
    if len(data) > MOST_BYTES:
        raise NotAScan(
            f"The file has {len(data) / MIB:.1f} MiB. At most {MOST_BYTES / MIB:g} MiB can be kept: "
            "scan it in grey or with fewer dots."
        )
    if data.startswith(b"%PDF-"):
        return _pdf(data)
    try:
        picture = clean_picture(data, MOST_BYTES)
    except NotAPicture as problem:
        known = data.startswith((b"\xff\xd8", b"\x89PNG")) or str(problem) == HEIC
        raise NotAScan(str(problem) if known else NO_SCAN) from None
    return Scan(picture.data, picture.content_type)


def _pdf(data: bytes) -> Scan:
    """Return a PDF as it came, once its header, its end and where its list of objects starts fit together."""
    tail = data[-_TAIL:]
    starts = list(_START.finditer(tail))
    if not _HEADER.match(data) or not starts:
        raise NotAScan(DAMAGED_PDF)
    last = starts[-1]
    if not _REST.fullmatch(tail[last.end() :]) or not _OBJECT.match(data, int(last.group(1))):
        raise NotAScan(DAMAGED_PDF)
    return Scan(data, PDF)

"""A page of ours as a PDF. Importing this module loads Pango: import it where a PDF is asked for.

Style sheets and pictures come from our static folder; whatever else a page names is left out.
"""

import logging
import threading

from weasyprint import CSS, HTML
from weasyprint.urls import URLFetcher, URLFetcherResponse

from app.settings.config import STATIC

# The address that a page's own links are read against. It leads nowhere.
BASE = "http://shop.invalid/"
OURS = f"{BASE}static/"
KINDS = {".css": "text/css", ".svg": "image/svg+xml"}
# The sheet's size and where its foot stands; all else is the print part of daybuoy.css, which makes the
# body a table so that browsers repeat its foot.
SHEET = """
@page {{ size: {size};
  @bottom-left {{ content: element(foot); width: 84%; vertical-align: top; padding-top: 2mm; }}
  @bottom-right {{ width: 16%; vertical-align: top; padding-top: 2mm; white-space: nowrap; }} }}
body, .water-side, .guest-side {{ display: block !important; width: auto !important; margin: 0 !important; }}
.print-foot {{ position: running(foot) !important; display: block !important; margin: 0; }}
details > summary {{ list-style: none; }}
.hear {{ display: none; }}
.labels-page .print-foot {{ display: none !important; }}
.label-sheet {{ display: block !important; width: 212mm !important; height: 296.5mm !important;
  box-sizing: border-box; }}
.label-place {{ display: block !important; float: left; box-sizing: border-box; width: 70mm; height: 37mm; }}
.label-place .qr {{ float: left; margin-inline-end: 1mm; }}
.label-words {{ display: block !important; height: 25mm; padding-top: 3mm; }}
.label-words > * {{ display: block; }}
.label-link {{ display: block; clear: both; }}
"""
# One at a time: two at once would leave nobody else a turn on a small computer.
_ONE = threading.Lock()
# It tells of styles that it does not know, with the words of the page around them.
logging.getLogger("weasyprint").setLevel(logging.CRITICAL)


class OwnFolder(URLFetcher):  # type: ignore[misc] # the library has no types
    """Hands out files of our static folder, and nothing from the network or the computer's other files."""

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:  # noqa: ARG002 - its caller's shape
        """Return one of our files; raises ValueError for anything else, which is then left out."""
        found = STATIC / url.removeprefix(OURS)
        if not url.startswith(OURS) or found.parent != STATIC or found.suffix not in KINDS:
            raise ValueError("a print reads our static folder alone")
        return URLFetcherResponse(url, found.read_bytes(), {"Content-Type": KINDS[found.suffix]})


def pdf_of(html: str, size: str) -> bytes:
    """Return a page of ours as a PDF. size: "A4" or "Letter"."""
    with _ONE:
        page = HTML(string=html, base_url=BASE, url_fetcher=OwnFolder())
        made: bytes = page.write_pdf(stylesheets=[CSS(string=SHEET.format(size=size))])
    return made

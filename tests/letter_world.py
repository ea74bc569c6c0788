"""A doctor's letter in a test shop: dropped in, recorded and compared through the pages."""

import re

from tests.web_world import Browser, Page, World


def pdf(words: bytes = b"a page") -> bytes:
    """Return the frame of a PDF around some words."""
    head = b"%PDF-1.7\n1 0 obj\n<<" + words + b">>\nendobj\n"
    return head + b"xref\n0 1\ntrailer\n<<>>\nstartxref\n%d\n%%%%EOF\n" % len(head)


def drop_in(browser: Browser, guest_id: int, data: bytes | None = None) -> Page:
    """Add a page of a letter on a guest's health page."""
    page = browser.open(f"/guests/{guest_id}/health")
    return page.send_files("add_letter_page", {"page": pdf(b"guest %d" % guest_id) if data is None else data})


def reasons(browser: Browser, guest_id: int, why: str = "letter") -> Page:
    """Look at a guest's reasons."""
    return browser.open(f"/guests/{guest_id}/health").send("look_at_reasons", why=why)


def words_of(verdict: str, issued: str, expires: str | None = None, limits: str = "") -> dict[str, str]:
    """Return what the keeper types; dates in ISO 8601."""
    said = {
        "doctor": "Dr Ada Reef", "register_no": "BR 1234, Brannock", "contact": "555 0222",
        "not_relative": "yes", "verdict": verdict, "limits": limits,
    }  # fmt: skip
    for name, day in (("issued", issued), ("expires", expires)):
        year, month, number = (day or "--").split("-")
        said |= {f"{name}_year": year, f"{name}_month": month, f"{name}_day": number}
    return said


def record(keeper: Browser, guest_id: int, said: dict[str, str], *covers: str, pages: bool = True) -> Page:
    """Record a letter as its keeper, with every page that waits."""
    page = reasons(keeper, guest_id)
    waiting = [e.get("value", "") for e in page.find("input", name="pages", type="checkbox")]
    lists: dict[str, list[str]] = {"covers": list(covers), "pages": waiting if pages else []}
    return page.send("record_letter", **said, **{name: some for name, some in lists.items() if some})


def to_compare(lead: Browser, guest_id: int) -> Page:
    """Open the record of a guest's letter that waits, as the lead."""
    page = lead.open("/health/letters")
    found = [
        form.get("action", "")
        for form in page.forms("look_at_letter")
        if re.match(rf"/guests/{guest_id}/", form.get("action", ""))
    ]
    assert found, page.words()
    return page.send("look_at_letter", at=found[0])


def compare(lead: Browser, guest_id: int, agrees: str = "yes") -> Page:
    """Open every page of a letter that waits, then say whether the record says the same."""
    page = to_compare(lead, guest_id)
    for form in page.forms("open_letter_page"):
        assert page.send("open_letter_page", at=form.get("action")).status == 200
    return page.send("compare_letter", agrees=agrees)


def whole_letter(world: World, guest_id: int, said: dict[str, str], *covers: str) -> None:
    """Drop a letter in at the desk, record it as the keeper and compare it as the lead."""
    assert drop_in(world.browser("Dora Desk"), guest_id).status == 200
    recorded = record(world.browser("Kim Keeper"), guest_id, said, *covers)
    assert recorded.status == 200, recorded.words()
    assert compare(world.browser("Lena Lead"), guest_id).status == 200

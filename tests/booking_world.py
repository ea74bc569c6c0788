"""A party as the desk types it, for tests of booking and of everything after it."""

from tests.web_world import Browser, Page, World

CONTACT = {
    "contact_name": "Pella Windrow",
    "phone": "555 0111",
    "email": "pella@example.org",
    "emergency_name": "Corin Windrow",
    "emergency_phone": "555 0112",
}


def guest_form(
    name: str = "Pella Windrow", prefix: str = "", year: str = "1991", **other: str
) -> dict[str, str]:
    """Return the fields of one guest."""
    typed = {
        "full_name": name,
        "call_name": "",
        "birth_day": "3",
        "birth_month": "4",
        "birth_year": year,
        "height_cm": "168",
        "mass_kg": "62",
        "shoe_size": "38",
        "languages": "English, German",
        "swimming": "some",
        "flight": "none",
        "flight_clock": "",
        **other,
    }
    return {f"{prefix}{key}": value for key, value in typed.items()}


def begin(desk: Browser, slot: int = 1, people: int = 1) -> Page:
    """Open the booking form."""
    return desk.open(f"/welcome/book?slot={slot}&people={people}")


def review(desk: Browser, slot: int = 1, names: tuple[str, ...] = ("Pella Windrow",), **other: str) -> Page:
    """Type a party and send it to the review page."""
    typed = {"walk_in": "yes", **CONTACT}
    for number, name in enumerate(names, 1):
        typed |= guest_form(name, f"g{number}_")
    return begin(desk, slot, len(names)).send("review_party", slot=str(slot), **{**typed, **other})


def booked(world: World, slot: int = 1, names: tuple[str, ...] = ("Pella Windrow",)) -> Page:
    """Book a party at the desk and return its page."""
    page = review(world.browser("Dora Desk"), slot, names).send("book_party")
    assert "/parties/" in page.url, page.words()
    return page

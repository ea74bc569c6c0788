"""The two cookies, what they are called, and the form token bound to a sign-in."""

from app.records.store.house import House

COOKIE = "daybuoy"
DEVICE_COOKIE = "daybuoy-device"


def cookie_name(name: str, *, secure: bool) -> str:
    """Return the cookie's name; with https it gets the prefix that browsers guard."""
    return f"__Host-{name}" if secure else name


def form_token(house: House, cookie: str) -> str:
    """Return the token that forms of one sign-in carry."""
    return house.master.digest("form-token", cookie)

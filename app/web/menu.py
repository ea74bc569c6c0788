"""The menu of each role: at most five entries, the same on every page."""

from dataclasses import dataclass


@dataclass(frozen=True)
class MenuItem:
    """One entry of the role's menu."""

    label: str
    href: str
    current: bool


# Area -> (label, address, roles); at most five show for one role.
MENU = (
    ("Today", "/today", frozenset({"desk", "instructor", "lead", "keeper", "manager"})),
    ("Welcome", "/welcome", frozenset({"desk"})),
    ("Kit rail", "/kit", frozenset({"desk"})),
    ("Who goes with whom", "/groups", frozenset({"desk", "lead", "manager"})),
    ("Water side", "/water", frozenset({"instructor"})),
    ("Gas room", "/gas", frozenset({"instructor", "desk"})),
    ("Look back", "/look-back", frozenset({"manager"})),
    ("Health records", "/health-records", frozenset({"keeper"})),
    ("Shop set-up", "/setup", frozenset({"manager"})),
    ("Keep and share", "/share", frozenset({"manager"})),
)
MENU_MOST = 5
# Pages of an area that have addresses of their own.
ALSO = {"/share": ("/backups", "/prints")}
# What a manager with many roles reaches from Today.
LEFT_OUT = ("/kit", "/welcome", "/gas")


def menu_of(roles: frozenset[str], here: str) -> list[MenuItem]:
    """Return the entries of somebody with these roles; ``here`` is the address of the page."""
    mine = [row for row in MENU if roles & row[2]]
    if len(mine) > MENU_MOST and "manager" in roles:
        mine = [row for row in mine if row[1] not in LEFT_OUT]
    return [
        MenuItem(label, href, any(_is_under(here, one) for one in (href, *ALSO.get(href, ()))))
        for label, href, _ in mine[:MENU_MOST]
    ]


def _is_under(here: str, place: str) -> bool:
    return here == place or here.startswith(place + "/")

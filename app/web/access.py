"""Route x role: the one table of who may do what. A route that is not in it is open to nobody.

``roles``: the roles that may, of which one is enough. ``rule``: which objects, in words; the fetch that
enforces it is named in the route. ``away``: True for what must never be refused because a sign-in
lapsed: coming out of the water, an abort, a missing person, an incident.
"""

from dataclasses import dataclass

DESK = "desk"
INSTRUCTOR = "instructor"
LEAD = "lead"
KEEPER = "keeper"
MANAGER = "manager"
GUEST = "guest"
ANYBODY = "anybody"

ROLES = (DESK, INSTRUCTOR, LEAD, KEEPER, MANAGER)
ROLE_WORDS = {
    DESK: "Front desk",
    INSTRUCTOR: "Instructor",
    LEAD: "Lead of the day",
    KEEPER: "Keeper of health records",
    MANAGER: "Manager",
}
TEAM = frozenset(ROLES)


@dataclass(frozen=True)
class Access:
    """Who may use one route, on which objects."""

    roles: frozenset[str]
    rule: str = "any"
    away: bool = False


TABLE: dict[str, Access] = {}


def allow(name: str, *roles: str, rule: str = "any", away: bool = False) -> None:
    """Write one line of the table; a second line for the same route is a mistake."""
    if name in TABLE:
        raise ValueError(f"{name} is in the access table twice")
    wrong = set(roles) - TEAM - {GUEST, ANYBODY}
    if wrong or not roles:
        raise ValueError(f"{name}: {wrong or 'nobody'} is no role")
    TABLE[name] = Access(frozenset(roles), rule, away)


# Anybody: nothing about the shop or a person is shown.
allow("up", ANYBODY)
allow("static", ANYBODY)
allow("start", ANYBODY)
allow("sign_in_page", ANYBODY)
allow("sign_in", ANYBODY)
allow("first_manager_page", ANYBODY, rule="only while the shop has no manager")
allow(
    "first_manager", ANYBODY, rule="only while the shop has no manager, with the code from the shop computer"
)

# Everybody on the team.
allow("sign_out", *ROLES)
allow("today", *ROLES)
allow("water_board", *ROLES)
allow("search", *ROLES)
allow("day_sheet", *ROLES)

# Welcome: bookings.
allow("welcome", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("book_party_page", DESK)
allow("book_party", DESK)
allow("party", DESK, INSTRUCTOR, LEAD, MANAGER, rule="instructor: without phone, mail and emergency contact")
allow("edit_party_page", DESK)
allow("edit_party", DESK)
allow("move_party", DESK)
allow("cancel_party", DESK)
allow("no_show_party", DESK)
allow("rebook_party", DESK)
allow("mark_paid", DESK)
allow("add_guest_page", DESK)
allow("add_guest", DESK)
allow("edit_guest_page", DESK)
allow("edit_guest", DESK)
allow("leave_out_guest", DESK)

# Shop set-up.
for _name in (
    "setup", "shop_page", "change_shop", "limits_page", "set_limit", "sites_page", "add_site", "edit_site",
    "people_page", "add_person", "person_page", "change_person", "change_passphrase", "new_pin",
    "devices_page", "pair_device", "end_device",
):  # fmt: skip
    allow(_name, MANAGER)

# The day's emergency kit.
allow("emergency_kit", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("check_emergency_kit", INSTRUCTOR, LEAD, MANAGER)

# Gas room.
for _name in ("gas_room", "cylinder", "give_page", "give_cylinder", "take_back_cylinder"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in (
    "fill_page", "fill_several", "fill_cylinder", "read_cylinder", "drain_cylinder", "set_cylinder_aside",
    "read_compressor",
):  # fmt: skip
    allow(_name, INSTRUCTOR, LEAD, MANAGER)
for _name in ("back_in_use", "add_cylinder_page", "add_cylinder"):
    allow(_name, INSTRUCTOR, MANAGER)
for _name in ("edit_cylinder_page", "edit_cylinder", "retire_cylinder"):
    allow(_name, MANAGER)

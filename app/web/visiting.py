"""Who asks: a person of the shop, a guest in whose hands a tablet is, or nobody; and whether they may."""

from dataclasses import dataclass
from datetime import datetime

from app.planning.units import METRIC, Units
from app.records.setup import visits
from app.records.store.problems import NotHere
from app.records.tables.people import DeviceRow, PersonRow, VisitRow
from app.web.access import ANYBODY, GUEST, Access


class SignInFirst(Exception):
    """The page needs somebody signed in."""


class GuestOver(Exception):
    """The tablet is not in this guest's hands any more: signed, handed back, or left alone too long."""


@dataclass(frozen=True)
class Visitor:
    """Who asks. kind: staff, guest (locked to one guest) or nobody.

    ended_device: the shop has ended the device that asks; it still brings its own group out of the water.
    """

    kind: str = "nobody"
    name: str = ""
    roles: frozenset[str] = frozenset()
    device: str = ""
    person_id: int | None = None
    guest_id: int | None = None
    visit_id: int | None = None
    device_id: int | None = None
    proof: str = ""
    confirmed_at: datetime | None = None
    lapsed: bool = False
    ended_device: bool = False
    units: Units = METRIC
    # The language that a guest chose for this visit; "" for the one that the booking knows.
    language: str = ""

    @property
    def own_phone(self) -> bool:
        """Whether a guest fills the form in on a phone of their own."""
        return self.kind == "guest" and self.proof == visits.OWN_PHONE

    @property
    def idle_minutes(self) -> int:
        """Minutes without a touch after which a guest's page empties itself."""
        limit = visits.OWN_PHONE_IDLE if self.own_phone else visits.GUEST_IDLE
        return int(limit.total_seconds() // 60)

    def has(self, *roles: str) -> bool:
        """Return whether the visitor holds any of these roles."""
        return bool(self.roles & set(roles))


def admitted(seen: visits.Seen | None, device: DeviceRow | None, access: Access) -> Visitor:
    """Return who asks for a page with this line of the access table.

    A lapsed sign-in counts as nobody, but for what is never refused. Raises SignInFirst, GuestOver, and
    NotHere for somebody of another role.
    """
    visitor = _visitor(seen, device)
    if visitor.lapsed and not access.away:
        visitor = Visitor(device=visitor.device, device_id=visitor.device_id)
    if ANYBODY in access.roles and (visitor.kind != "guest" or GUEST in access.roles):
        return visitor
    if visitor.kind == "nobody":
        raise GuestOver if access.roles == {GUEST} else SignInFirst
    if not visitor.roles & access.roles:
        raise NotHere("not for this role")
    return visitor


def _visitor(seen: visits.Seen | None, device: DeviceRow | None) -> Visitor:
    where = {"device": device.name if device else "", "device_id": device.id if device else None}
    if seen is None:
        return Visitor(**where)  # type: ignore[arg-type]
    visit: VisitRow = seen.visit
    person: PersonRow | None = seen.person
    return Visitor(
        kind=visit.kind,
        name=person.name if person else "Guest",
        roles=person.role_set() if person else frozenset({GUEST}),
        person_id=visit.person_id,
        guest_id=visit.guest_id,
        language=visit.language,
        visit_id=visit.id,
        proof=visit.proof,
        confirmed_at=visit.confirmed_at,
        lapsed=seen.lapsed,
        ended_device=device is not None and device.ended_at is not None,
        units=Units.of(person.units.split()) if person else METRIC,
        **where,  # type: ignore[arg-type]
    )

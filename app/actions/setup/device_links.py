"""Linking a phone: a link made at the shop, used up once by the phone, or taken back."""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.actions.act import Act, Invalid
from app.actions.setup.sign_in import TooOften
from app.records.setup import device_links, visits
from app.records.setup.device_links import GOOD_FOR, OPEN, PLACE
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.device_links import DeviceLinkRow
from app.records.tables.people import DeviceRow, PersonRow, WrongTryRow

DIGITS = 6
# Wrong tries that one address has in an hour, whatever links are open.
ADDRESS_TRIES = 20
TRIES_WINDOW = timedelta(hours=1)
# Under no person's name: a name is never empty.
NOBODY = ""
OVER = "This link is over: it was used, taken back, or too old. Ask the desk for a new one."


class LinkOver(Invalid):
    """The link cannot be used any more, or another phone was quicker."""

    status = 409

    def __init__(self) -> None:
        super().__init__({"digits": OVER})


@dataclass(frozen=True)
class NewLink:
    """What a phone needs, shown once: the token of the code to scan, and the digits to type."""

    id: int
    token: str
    digits: str
    until: datetime


def make_link(act: Act, name: str, person_id: int | None) -> NewLink:
    """Make a link for one phone. Raises NotHere for a person who does not work here."""
    if person_id is not None and not act.get(PersonRow, person_id).active:
        raise NotHere(f"person {person_id}")
    taken = {row.digits_hash for row in device_links.open_links(act.session, act.now)}
    digits = _deal()
    while digits_hash(act.house, digits) in taken:
        digits = _deal()
    token = secrets.token_urlsafe(32)
    row = act.add(
        DeviceLinkRow(
            name=name,
            person_id=person_id,
            token_hash=visits.token_hash(token),
            digits_hash=digits_hash(act.house, digits),
            tries_from=device_links.newest_try(act.session),
            made_at=act.now,
            made_by=act.actor.name,
        )
    )
    return NewLink(row.id or 0, token, digits, act.now + GOOD_FOR)


def take_back(act: Act, link_id: int) -> None:
    """End a link that no phone has used. Raises LinkOver when one has, or when it is over already."""
    row = act.get(DeviceLinkRow, link_id)
    if row.used_at is not None or row.ended_at is not None:
        raise LinkOver
    act.edit(row, None, {"ended_at": act.now}, {})


def use_link(act: Act, link_id: int) -> str:
    """Use a link up and pair the phone that asks; return the token of its device cookie.

    Raises LinkOver when the link is over: of two phones at one moment one is paired.
    """
    row = act.get(DeviceLinkRow, link_id)
    if device_links.state_of(act.session, row, act.now) != OPEN:
        raise LinkOver
    token = secrets.token_urlsafe(32)
    device = act.add(
        DeviceRow(
            name=row.name,
            kind="phone",
            token_hash=visits.token_hash(token),
            paired_at=act.now,
            paired_by=row.made_by,
        )
    )
    act.edit(row, None, {"used_at": act.now, "device_id": device.id}, {})
    act.about = ("device", str(device.id))
    return token


def link_typed(house: House, digits: str, address: str, now: datetime) -> int | None:
    """Return the open link that six digits belong to; None, and a try counted, for wrong ones.

    Judged and counted in one transaction, so that many tries at one moment are no more tries. Raises
    TooOften for an address that guessed too much.
    """
    place = f"{PLACE}{address}"
    with house.store.writing() as session:
        wrong = visits.wrong_tries(session, device=place, since=now - TRIES_WINDOW)
        if len(wrong) >= ADDRESS_TRIES:
            raise TooOften(max(1, int((TRIES_WINDOW - (now - wrong[0])).total_seconds() + 0.999)))
        said = digits_hash(house, digits)
        for row in device_links.open_links(session, now):
            if secrets.compare_digest(row.digits_hash, said):
                return row.id
        session.add(WrongTryRow(who=NOBODY, device=place, at=now))
    return None


def digits_hash(house: House, digits: str) -> str:
    """Return how six digits are stored: keyed, because a plain hash of a million is guessed in a second."""
    return house.master.digest("link-digits", digits)


def _deal() -> str:
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"

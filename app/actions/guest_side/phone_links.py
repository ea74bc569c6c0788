"""A link to the guest's own form on the guest's own phone: made, taken back, used up by its Start."""

import secrets
from datetime import datetime, timedelta

from app.actions.act import Act, Invalid
from app.actions.setup import sign_in
from app.records.guest_side.guest_form import guest_form
from app.records.guest_side.phone_links import live_links, opened
from app.records.setup import visits
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.people import WrongTryRow
from app.records.tables.phone_links import PhoneLinkRow

# A link that nobody made is a slip of a scanner or a guess; guesses are also far too many to succeed.
TRIES = 20
TRIES_WINDOW = timedelta(hours=1)
# Under no person's name: a name is never empty.
NOBODY = ""


def make_link(act: Act, guest_id: int) -> str:
    """Make a link for one guest and end every earlier one; return the token that stands in it.

    The token is not stored. Raises NotHere for a guest who is not booked or whose day is over, Invalid for
    one who has nothing left to sign.
    """
    form = guest_form(act.session, act.house, guest_id, act.now)
    if form.all_signed:
        raise Invalid(
            {"form": "Everything is signed for now. Hand the tablet over if something has changed."}
        )
    end_links(act, guest_id, "a newer one")
    token = secrets.token_urlsafe(32)
    act.add(
        PhoneLinkRow(
            guest_id=guest_id, token_hash=visits.token_hash(token), made_at=act.now, made_by=act.actor.name
        )
    )
    act.about = ("guest", str(guest_id))
    return token


def take_back(act: Act, guest_id: int) -> None:
    """End a guest's link, and the form that is open on the guest's phone."""
    guest_form(act.session, act.house, guest_id, act.now)
    end_links(act, guest_id, "taken back")
    act.about = ("guest", str(guest_id))


def end_links(act: Act, guest_id: int, why: str) -> None:
    """End every link of a guest and whatever they opened."""
    for link in live_links(act.session, guest_id):
        act.edit(link, None, {"ended_at": act.now, "why_ended": why}, {})
    for visit in visits.guest_visits(act.session, guest_id):
        if visit.proof == visits.OWN_PHONE:
            sign_in.end(act, visit.id or 0, why)


def start(act: Act, token: str) -> str:
    """Use a link up and begin a visit locked to its guest; return the token of its cookie.

    A tablet that is in the same guest's hands ends: one guest, one form. Raises NotHere for a dead link.
    """
    found = opened(act.session, act.house, token, act.now)
    if found.row is None or found.form is None:
        raise NotHere("this link is dead")
    act.edit(found.row, None, {"used_at": act.now}, {})
    for visit in visits.guest_visits(act.session, found.row.guest_id):
        sign_in.end(act, visit.id or 0, "begun on the guest's own phone")
    act.about = ("guest", str(found.row.guest_id))
    return sign_in.begin_guest(act, found.row.guest_id, None, visits.OWN_PHONE)


def check_tries(house: House, address: str, now: datetime) -> None:
    """Let one address go on; raises TooOften after too many links that nobody made."""
    with house.store.reading() as session:
        wrong = visits.wrong_tries(session, device=_place(address), since=now - TRIES_WINDOW)
    if len(wrong) >= TRIES:
        left = TRIES_WINDOW - (now - wrong[0])
        raise sign_in.TooOften(max(1, int(left.total_seconds() + 0.999)))


def count_try(house: House, address: str, now: datetime) -> None:
    """Count a link that nobody made."""
    with house.store.writing() as session:
        session.add(WrongTryRow(who=NOBODY, device=_place(address), at=now))


def _place(address: str) -> str:
    return f"link:{address}"

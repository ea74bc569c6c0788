"""Telling a guest the result: a named person explains it, and the guest may ask for a second look."""

from app.actions.act import Act, Invalid
from app.records.health.health import standing_of
from app.records.health.health_day import ASKS_LOOK, LOOKED, TOLD, look_asked
from app.records.health.health_reads import guest_on
from app.records.setup.shop import the_shop
from app.records.store.problems import NotHere
from app.records.tables.health_day import ToldRow
from app.records.tables.parties import GuestRow


def tell_outcome(act: Act, guest_id: int, about: str, *, asks_look: bool) -> None:
    """Store that the result was explained, and whether the guest asks for a person to look again.

    about: fingerprint of the result on the page; another one by now is not what was told. Raises Invalid.
    """
    guest, day = guest_on(act.session, guest_id)
    stands = standing_of(act.session, act.house, guest, day)
    if stands.outcome is None or stands.settled:
        raise Invalid({"told": "There is nothing to explain."})
    if about != stands.about:
        raise Invalid({"told": "The result has changed since you looked. Open the page again."})
    _add(act, guest, TOLD, about, "")
    if asks_look:
        _add(act, guest, ASKS_LOOK, about, "")


def look_again(act: Act, guest_id: int, note: str) -> None:
    """Store that a person looked again at a guest's result, as the guest asked; the lead or the keeper does.

    It changes nothing by itself: what may change a result is another answer, a letter or a talk.
    """
    guest, day = guest_on(act.session, guest_id)
    asked = look_asked(act.session, [guest.ref], the_shop(act.session).day_of(act.now)).get(guest.ref)
    if asked is None:
        raise NotHere("nobody asked")
    stands = standing_of(act.session, act.house, guest, day)
    _add(act, guest, LOOKED, stands.about, note)


def _add(act: Act, guest: GuestRow, step: str, about: str, note: str) -> None:
    act.about = ("guest", str(guest.id))
    act.add(
        ToldRow(
            guest_ref=guest.ref,
            day=the_shop(act.session).day_of(act.now),
            step=step,
            about=about,
            note=note,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )

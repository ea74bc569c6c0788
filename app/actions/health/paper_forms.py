"""Health forms on paper: that one is there and who keeps it. Nobody answers for a guest, so no answer."""

from datetime import date

from app.actions.act import Act
from app.records.groups.groups import booked_guests
from app.records.keep.paper import forms_kept
from app.records.store.problems import NotHere
from app.records.tables.paper import PaperFormRow


def keep_paper_form(act: Act, guest_id: int, day: date) -> None:
    """Note that whoever acts keeps a guest's health form of a day on paper; raises NotHere.

    The guest stays as not asked: what is on paper settles nothing here. Noted twice, the first note stays.
    """
    booked = {one.id for many in booked_guests(act.session, day).values() for one in many}
    if guest_id not in booked:
        raise NotHere(f"guest {guest_id} on {day}")
    act.about = ("guest", str(guest_id))
    if guest_id in forms_kept(act.session, day):
        return
    act.add(
        PaperFormRow(
            guest_id=guest_id,
            day=day,
            kept_by_id=act.actor.person_id or 0,
            kept_by=act.actor.name,
            at=act.now,
        )
    )

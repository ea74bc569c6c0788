"""After each dive of the story: the guide asks everybody how they are and hands the cards out."""

from app.actions.guest_side import aftercare as acts
from app.actions.welcome import parties
from app.actions.welcome.welcome import NewGuest
from app.records.groups.groups import group_view
from app.records.guest_side.aftercare import group_after
from app.records.welcome.bookings import guest as guest_row
from app.rules.aftercare import NO, QUESTIONS
from app.rules.flying import Flight
from seed_demo.teller import Teller


def ask_and_give(story: Teller, guide: str, *group_ids: int) -> None:
    """Ask every guest of these groups, who all say no, and give each the card in the own language."""
    for group_id in group_ids:
        with story.house.store.reading() as session:
            guests = group_after(session, story.house, group_view(session, group_id), story.now)
        for one in guests:
            with story.act(guide, "write_exit_check") as act:
                said = {question.code: NO for question in QUESTIONS}
                acts.write_exit_check(act, group_id, one.guest.id or 0, said)
        with story.act(guide, "give_all_cards") as act:
            acts.give_all_cards(act, group_id)


def comes_again(story: Teller) -> None:
    """Sorrel, who dived yesterday, comes again tomorrow with Clemency: the desk links the two visits."""
    with story.house.store.reading() as session:
        was = guest_row(session, story.guests["Sorrel Haddow"])
    again = NewGuest(
        was.full_name, was.call_name, was.birth_date, was.height_cm, was.mass_kg, was.shoe_size,
        was.languages, was.swimming, Flight("none"), was.id,
    )  # fmt: skip
    with story.act("Odile Marsh", "add_guest") as act:
        parties.add_guest(act, story.parties["Clemency Vane"], again)

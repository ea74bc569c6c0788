"""Aftercare cards: given in a guest's language, written down, and shown for the screen and the print."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import aftercare as acts
from app.records.groups.groups import GroupView
from app.records.guest_side.aftercare import GuestAfter, group_after
from app.records.guest_side.aftercare_card import Line, card_languages, card_lines
from app.records.guest_side.languages import Words, words_in
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.tables.aftercare import AftercareCardRow
from app.rules.limits import GOING_HIGH_FROM
from app.web.aftercare.pages import aftercare_page, cared_for, one_cared_for
from app.web.front import Desk, Front
from app.web.posted import PostedForm, button_only
from app.web.printing import printed

router = APIRouter()


@dataclass(frozen=True)
class CardView:
    """One card, ready for the page: whose it is, its words, and each line by its code."""

    row: AftercareCardRow
    one: GuestAfter
    words: Words
    lines: dict[str, Line]

    def part(self, code: str) -> list[Line]:
        """Return the numbered lines under a heading, "card.now.1" and so on."""
        return [line for name, line in self.lines.items() if name.removeprefix(f"{code}.").isdecimal()]


@router.post("/water/{group_id}/cards/{guest_id}", name="give_card")
def give_card(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Give one guest a card in a language."""
    cared_for(front, group_id)

    def give(act: Act) -> None:
        fields = posted.fields()
        language = fields.choice("language", "a language", card_languages(front.session))
        fields.done()
        acts.give_card(act, group_id, guest_id, language)

    return front.do(
        posted,
        give,
        then=lambda _: f"/water/{group_id}/cards/{guest_id}",
        again=lambda problem: aftercare_page(front, group_id, problem),
    )


@router.post("/water/{group_id}/cards", name="give_all_cards")
def give_all_cards(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Give each guest of a group a card in the guest's own language."""
    cared_for(front, group_id)
    return front.do(
        posted,
        button_only(posted, lambda act: acts.give_all_cards(act, group_id)),
        then=lambda _: f"/water/{group_id}/cards",
        again=lambda problem: aftercare_page(front, group_id, problem),
    )


@router.get("/water/{group_id}/cards/{guest_id}", name="aftercare_card")
def aftercare_card(front: Desk, group_id: int, guest_id: int) -> Response:
    """Show the card that a guest was given."""
    view, one = one_cared_for(front, group_id, guest_id)
    if one.card is None:
        raise NotHere("no card was given yet")
    return _cards_page(front, view, [one], f"Card of {one.guest.call_name}")


@router.get("/water/{group_id}/cards", name="group_cards")
def group_cards(front: Desk, group_id: int) -> Response:
    """Show the cards of a whole group, one on each sheet."""
    view = cared_for(front, group_id)
    given = [one for one in group_after(front.session, front.house, view, front.now) if one.card is not None]
    return _cards_page(front, view, given, f"Cards of group {view.group.name}")


def _cards_page(front: Front, view: GroupView, given: Iterable[GuestAfter], title: str) -> Response:
    height = limits_now(front.session)[GOING_HIGH_FROM].number or 0.0
    cards = []
    for one in given:
        if one.card is not None:
            words = words_in(front.session, one.card.language)
            cards.append(CardView(one.card, one, words, card_lines(one.card, words, height, front.shop.zone)))
    more: dict[str, Any] = {"view": view, "cards": cards}
    return printed(front, "aftercare/cards.html", title, name=f"aftercare-{view.slot.day}", **more)

"""Guests of a test shop who read another language, and the whole form as their tablet shows it."""

from datetime import date

from app.actions.setup import languages as acts
from app.records.guest_side.languages import words_in
from app.records.tables.parties import GuestRow
from app.rules.translations import TextStatus
from tests.health_world import ADULT, add_guest, alone
from tests.web_world import Page, World


def add_reader(world: World, code: str, name: str = "Gwen", born: date = ADULT) -> int:
    """Book one guest whose booking knows one language; return the guest's number."""
    number = add_guest(world, name, born)
    with world.act() as act:
        act.edit(act.get(GuestRow, number), None, {"languages": code}, {})
    return number


def agree(page: Page, **more: str) -> Page:
    """Give the health-data consent on its page."""
    return page.send("agree_health_data", agree="yes", signed_name="Gwen Guest", **more)


def answer_no(page: Page) -> Page:
    """Answer No until the questions end; return the review."""
    for _ in range(90):
        if "/guest/questions/" not in page.url:
            return page
        page = alone(page).send("answer_question", answer="no")
    raise AssertionError("the questions do not end")


def check_all(world: World, code: str) -> None:
    """Let two people check every text of a language."""
    with world.act() as act:
        drafts = [
            entry.mark
            for entry in words_in(act.session, code).entries.values()
            if entry.status is not TextStatus.CHECKED
        ]
        acts.check_texts(act, code, drafts, "Tomas Reader", "Dita Diver", date(2026, 7, 14))

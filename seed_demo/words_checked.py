"""Two people have read the German words: they stand alone. The other languages are still drafts."""

from datetime import date

from app.actions.setup import languages
from app.records.guest_side.languages import words_in
from seed_demo.teller import Teller


def check_german(story: Teller, day: date) -> None:
    """Tell that a translator and an instructor read every German text beside its original."""
    with story.act("Wren Tallow", "check_texts") as act:
        marks = [entry.mark for entry in words_in(act.session, "de").entries.values()]
        languages.check_texts(act, "de", marks, "Anke Lindholt", "Bram Keelan", day)

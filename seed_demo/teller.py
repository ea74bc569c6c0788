"""Acting as the invented people do: one act, one person, one moment."""

import contextlib
from collections.abc import Iterator
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from app.actions.act import Act, Actor, acting
from app.actions.guest_side import guest_form
from app.actions.guest_side.guest_words import Spoken
from app.records.guest_side.guest_form import guest_form as form_of
from app.records.guest_side.guest_form import mark_of
from app.records.store.house import House
from app.records.tables.people import PersonRow
from app.rules.asking import Answer

ZONE = ZoneInfo("Europe/Lisbon")
YES = {"Y": Answer.YES, "?": Answer.NOT_SURE}
# An invented signature, as a finger draws it.
DRAWN = (
    "60,130 80,90 100,60 110,80 100,120 90,140 110,130 140,100 160,110 150,135 170,125 200,95|"
    "210,130 225,105 240,100 238,120 245,132 270,110 300,100 330,118 380,104 430,112 500,96"
)


class Teller:
    """Holds the house, its clock, and who is who."""

    def __init__(self, house: House, today: date) -> None:
        self.house = house
        self.today = today
        self.people: dict[str, PersonRow] = {}
        self.sites: dict[str, int] = {}
        self.slots: dict[tuple[int, str], int] = {}
        self.guests: dict[str, int] = {}
        self.parties: dict[str, int] = {}
        self.cylinders: dict[str, int] = {}
        self._told: datetime | None = None

    @property
    def now(self) -> datetime:
        """The moment of the story; raises ValueError before it begins."""
        if self._told is None:
            raise ValueError("the story has not begun")
        return self._told

    def at(self, day: date, clock: str) -> None:
        """Move the story to a clock time of a day; it never goes back."""
        hours, minutes = (int(part) for part in clock.split(":"))
        moment = datetime.combine(day, time(hours, minutes), ZONE)
        if self._told is not None and moment < self._told:
            raise ValueError(f"the story would go back to {moment}")
        self._told = moment
        self.house.clock = lambda: moment

    @contextlib.contextmanager
    def act(self, who: str, verb: str) -> Iterator[Act]:
        """Act as a person of the team."""
        person = self.people[who]
        actor = Actor(person.name, person.role_set(), person.id, None, "Demo story")
        with acting(self.house, actor, verb) as act:
            yield act

    def fill_form(
        self,
        name: str,
        answers: dict[str, str],
        guardian: guest_form.GuardianWords | None,
        language: str = "en",
    ) -> None:
        """Fill a guest's form in as the guest does on the handed-over tablet, and sign it.

        Who reads words that nobody has checked says that English is understood as well.
        """
        spoken = Spoken(language, understands="en")
        actor = Actor("Guest", frozenset({"guest"}), None, self.guests[name], "Front desk tablet")
        with acting(self.house, actor, "agree_health_data") as act:
            guest_form.agree_to_health_data(act, name, spoken)
        with acting(self.house, actor, "begin_form") as act:
            guest_form.begin(act)
        with acting(self.house, actor, "answer_question") as act:
            while True:
                form = form_of(act.session, self.house, actor.guest_id, act.now)
                if form.next_number is None:
                    break
                question = form.asks[form.next_number - 1]
                said = YES.get(answers.get(question.code, ""), Answer.NO)
                mark = mark_of(self.house, form, question)
                guest_form.answer(act, form.next_number, mark, said, None, spoken)
        if guardian is not None:
            with acting(self.house, actor, "sign_guardian") as act:
                guest_form.sign_as_guardian(act, guardian, spoken)
        with acting(self.house, actor, "sign_form") as act:
            guest_form.sign(act, name, DRAWN, spoken)

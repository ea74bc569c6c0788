"""Does an authority have to be told of an incident, how soon, and for how long is the record kept?

Which incidents count is the law's own question: the program shows what is known of it and the clock, and
somebody answers by name. A country that is not here has its own law: look it up.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from app.rules.incidents import is_serious

ASK = "Ask your authority. This is a starting point, not the law."


@dataclass(frozen=True, slots=True)
class Duty:
    """What one country asks after an incident.

    first_hours: hours until the authority is told; 0 is at once. written_hours: until the written report,
    None where none is known. keep_years: how long the record is kept, None where not known.
    """

    whom: str
    what: str
    first_hours: float
    written_hours: float | None
    keep_place: bool
    keep_years: int | None
    source: str


@dataclass(frozen=True, slots=True)
class Deadline:
    """One thing to do towards the authority, and by when. at_once: there is no time to wait for."""

    what: str
    due_at: datetime
    at_once: bool

    def is_late(self, now: datetime) -> bool:
        """Whether its time is over."""
        return now > self.due_at


DUTIES: Mapping[str, Duty] = MappingProxyType(
    {
        "queensland": Duty(
            "the state's workplace health and safety regulator",
            "a death, a serious injury or illness (among them: treatment in hospital as an in-patient), "
            "or a dangerous incident",
            0,
            None,
            True,
            5,
            "Australia, Work Health and Safety Act 2011, ss 35 to 39",
        ),
        "united_kingdom": Duty(
            "the Health and Safety Executive",
            "a death; somebody not at work taken from the place to hospital for treatment; life-support "
            "gear that failed and put a diver at risk; a pressure vessel that failed and could have killed",
            0,
            240,
            False,
            3,
            "UK RIDDOR 2013 (SI 2013/1471), Sch 2 Part 1 paras 2 and 13; regs 5, 6 and 12 and the ten days "
            "from memory and lawyers' pages",
        ),
        "france": Duty(
            "the prefect's service for youth and sport",
            "a serious accident, or a situation whose dangers could have had serious consequences",
            48,
            None,
            False,
            None,
            "France, Code du sport R322-6; the 48 hours from prefectures' pages",
        ),
    }
)


def duty_of(preset: str) -> Duty | None:
    """Return what a country preset is known to ask; None: look up your own law."""
    return DUTIES.get(preset)


def deadlines(duty: Duty, happened_at: datetime) -> tuple[Deadline, ...]:
    """Return what is due towards the authority after an incident, the first one first."""
    first = Deadline(
        f"Tell {duty.whom}", happened_at + timedelta(hours=duty.first_hours), duty.first_hours == 0
    )
    if duty.written_hours is None:
        return (first,)
    report = Deadline("Send the written report", happened_at + timedelta(hours=duty.written_hours), False)
    return first, report


def is_asked(severity: str, answer: str) -> bool:
    """Does the page ask whether an authority has to be told? While nobody answered, for what is serious.

    answer: "yes", "no", "not sure" or "" as it stands. Not sure goes on asking.
    """
    return answer in {"yes", "not sure"} or (answer == "" and is_serious(severity))

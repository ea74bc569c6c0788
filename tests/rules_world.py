"""A group of Harbour Steps that may go in, for tests that then break one thing at a time."""

from dataclasses import fields, is_dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from app.rules import briefing, limits, presets, sign_off
from app.rules.briefing import Answer
from app.rules.conditions import Conditions, Grade
from app.rules.cylinders import CylinderFacts
from app.rules.decision import Decision
from app.rules.emergency_gate import EmergencyKitFacts
from app.rules.emergency_kit import KEYS
from app.rules.flying import NOT_FLYING
from app.rules.groups import GroupFacts, limits_in_force
from app.rules.people import GuardianPlace, GuestFacts, ShoreLook, StaffFacts, TeachingGrade
from app.rules.readiness import DiverEntry, EntryFacts
from app.rules.resolve import Limits, limits_for, preset_source
from app.rules.sign_off import Mark, SkillMark

DAY = date(2026, 7, 15)
START = datetime(2026, 7, 15, 9, 0, tzinfo=UTC)
END = START + timedelta(minutes=90)
NOW = START + timedelta(minutes=20)
LATER = date(2027, 1, 1)
GENERAL: Limits = limits_for([preset_source(presets.GENERAL)])

GOOD_WATER = Conditions(10, 0.1, "calm", Grade.GOOD, "Ilka Toft", DAY)
GUIDE = StaffFacts("s1", "Ilka Toft", TeachingGrade.LEVEL_2, LATER, LATER, LATER, (), dives_said=True)
ASSISTANT = StaffFacts("s2", "Oru Bell", TeachingGrade.ASSISTANT, LATER, LATER, LATER, (), dives_said=True)


def guest(number: int = 1, **changes: Any) -> GuestFacts:
    """A cleared adult who is booked; `changes` replaces fields."""
    made = GuestFacts(f"g{number}", f"Guest {number}", 30, "CLEARED", DAY, DAY, True, False, 0, ())
    return replace(made, **({"flight": NOT_FLYING, "look": ShoreLook(True, "Ilka Toft", DAY)} | changes))


def minor(number: int, age: int, **changes: Any) -> GuestFacts:
    """A cleared minor with everything a guardian gives."""
    consent = {
        "guardian_consent_on": DAY,
        "guardian_consent_until": DAY,
        "guardian_place": GuardianPlace.POOLSIDE,
    }
    return guest(number, age=age, **(consent | changes))


def group(*guests: GuestFacts, **changes: Any) -> GroupFacts:
    """A group in good open water at Long Jetty; with no guests given, one adult."""
    made = GroupFacts(
        "k1",
        "10:00 Toft",
        DAY,
        START,
        END,
        "open",
        "Long Jetty",
        9.0,
        GUIDE,
        guests or (guest(),),
        GOOD_WATER,
    )
    return replace(made, **changes)


def limits_of(facts: GroupFacts, **shop: Any) -> Limits:
    """The limits in force for a group under the general preset and these settings of the shop."""
    return limits_in_force(facts, presets.GENERAL, shop)


def cylinder(number: str = "7", **changes: Any) -> CylinderFacts:
    """A full steel 12 L cylinder in test, with nobody."""
    made = CylinderFacts(
        f"c{number}", number, 12.0, 232.0, "steel", date(2026, 1, 10), date(2024, 1, 10), 200.0, False, "", ()
    )
    return replace(made, **changes)


def briefing_answers() -> tuple[Answer, ...]:
    """The whole briefing, answered well."""
    return tuple(
        Answer(item.key, item.states[0] if item.states else _figure(item), "Ilka Toft", DAY, by_key="s1")
        for item in briefing.BRIEFING
    )


def kit_answers(person: str) -> tuple[Answer, ...]:
    """One person's kit check, all in order."""
    items = (Answer(item.key, item.states[0], "Ilka Toft", DAY, person, "s1") for item in briefing.KIT_CHECK)
    return (*items, Answer(briefing.SECOND_EYES, "s9", "Oru Bell", DAY, person, "s9"))


def skill_marks(person: str) -> tuple[SkillMark, ...]:
    """Every skill shown today."""
    return tuple(SkillMark(person, skill, Mark.SHOWN, "Ilka Toft", DAY) for skill in sign_off.SKILLS)


KIT = EmergencyKitFacts(DAY, "Oru Bell", frozenset(KEYS), 400.0, True, DAY)


def entry(facts: GroupFacts | None = None, **changes: Any) -> EntryFacts:
    """Everything before the water, all in order, for a group."""
    whole = facts or group()
    assert whole.guide is not None
    staff = [person for person in (whole.guide, whole.assistant) if person is not None]
    people = [(person.id, person.name) for person in staff] + [(one.id, one.name) for one in whole.guests]
    divers = tuple(
        DiverEntry(key, name, cylinder(str(number), out_with=name), 200.0)
        for number, (key, name) in enumerate(people, 1)
    )
    answers = briefing_answers() + tuple(answer for key, _ in people for answer in kit_answers(key))
    marks = tuple(mark for one in whole.guests for mark in skill_marks(one.id))
    made = EntryFacts(
        whole,
        divers,
        answers,
        marks,
        KIT,
        "mark",
        "mark",
        8.0,
        30.0,
        "Pia Noor",
        None,
        frozenset(),
        False,
        False,
        DAY,
        False,
    )
    return replace(made, **changes)


def plain(decision: Decision) -> Decision:
    """Check that every reason and note can be shown: a known rule, a short sentence, found and needed."""
    for reason in (*decision.reasons, *decision.notes):
        assert reason.rule in limits.ALL, reason
        assert reason.text.endswith("."), reason
        assert len(reason.text.split()) <= 20, reason
        assert reason.found and reason.needed, reason
        assert "None" not in reason.text + reason.found + reason.needed, reason
    return decision


def unknowns(facts: Any) -> list[str]:
    """Names of the fields of a dataclass that are known now, so that a test can forget each in turn."""
    assert is_dataclass(facts)
    return [field.name for field in fields(facts) if getattr(facts, field.name) is not None]


def _figure(item: briefing.Item) -> float:
    assert item.limit is not None
    return float(str(item.limit.value))

"""Who is in the water: one record per person, decided by name and by order of arrival."""

from datetime import datetime, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.gas import Reading
from app.rules.resolve import Kind, Source, limits_for
from app.rules.roll_call import (
    BACK,
    IN,
    NEVER_ENTERED,
    DiverEnd,
    EventWord,
    Lateness,
    PersonEvent,
    entered,
    in_water,
    lateness,
    names_back,
    pressures_read,
    times_in_order,
)
from tests.rules_world import GENERAL, NOW, plain

PEOPLE = {"s1": "Ilka Toft", "g1": "Guest 1", "g2": "Guest 2"}


def told(
    person: str, event: EventWord, arrival: int, by: str | None = "Ilka Toft", minutes: int = 0
) -> PersonEvent:
    return PersonEvent(person, event, NOW + timedelta(minutes=minutes), by, arrival)


ALL_IN = (told("s1", IN, 1), told("g1", IN, 2), told("g2", IN, 3))
ALL_BACK = (
    told("s1", BACK, 4, minutes=30),
    told("g1", BACK, 5, minutes=30),
    told("g2", BACK, 6, minutes=31),
)


def test_in_until_back_by_name() -> None:
    assert in_water(()) == frozenset()
    assert in_water(ALL_IN) == {"s1", "g1", "g2"}
    assert in_water(ALL_IN + ALL_BACK[:2]) == {"g2"}
    assert in_water(ALL_IN + ALL_BACK) == frozenset()


@pytest.mark.parametrize("word", [BACK, NEVER_ENTERED])
@pytest.mark.parametrize("by", [None, ""])
def test_nobody_leaves_the_water_without_a_name_answering_for_it(word: EventWord, by: str | None) -> None:
    assert in_water((*ALL_IN, told("g1", word, 9, by))) == {"s1", "g1", "g2"}


def test_going_in_counts_whoever_says_so() -> None:
    assert in_water((told("g1", IN, 1, None),)) == {"g1"}


def test_order_is_arrival_not_the_clock_of_a_phone() -> None:
    back_first_by_clock = (told("g1", IN, 1, minutes=50), told("g1", BACK, 2, minutes=-10))
    assert in_water(back_first_by_clock) == frozenset()
    late_in = (told("g1", BACK, 1), told("g1", IN, 2))
    assert in_water(late_in) == {"g1"}


def test_the_order_in_which_records_are_handed_over_does_not_matter() -> None:
    events = (told("g1", IN, 1), told("g1", BACK, 2), told("g2", IN, 3), told("g2", NEVER_ENTERED, 4))
    assert {in_water(order) for order in permutations(events)} == {frozenset()}


EVENTS = st.lists(
    st.builds(
        PersonEvent,
        st.sampled_from(sorted(PEOPLE)),
        st.sampled_from((IN, BACK, NEVER_ENTERED)),
        st.just(NOW),
        st.sampled_from((None, "", "Ilka Toft")),
        st.integers(0, 99),
    ),
    max_size=8,
    unique_by=lambda event: event.arrival,
)


@given(EVENTS)
def test_everybody_who_went_in_is_in_the_water_or_named_back(events: list[PersonEvent]) -> None:
    went_in = {event.person_id for event in events if event.event == IN}
    answered = {event.person_id for event in events if event.event != IN and event.by}
    assert went_in - answered <= in_water(events) <= went_in
    assert in_water(events) <= entered(events)


@given(EVENTS)
def test_everyone_is_back_by_name_only_when_nobody_is_in_the_water(events: list[PersonEvent]) -> None:
    if in_water(events):
        assert not names_back({}, events).allowed


def test_back_by_name() -> None:
    assert names_back(PEOPLE, ALL_IN + ALL_BACK).allowed
    assert names_back(PEOPLE, (*ALL_IN[:2], *ALL_BACK[:2], told("g2", NEVER_ENTERED, 9))).allowed
    missing = plain(names_back(PEOPLE, ALL_IN + ALL_BACK[:2]))
    assert [(reason.rule, reason.who, reason.found) for reason in missing.reasons] == [
        ("roll_call_by_name", "Guest 2", "in the water")
    ]
    assert not plain(names_back(PEOPLE, ALL_IN[:2] + ALL_BACK[:2])).allowed


def test_somebody_nobody_expected_is_still_looked_for() -> None:
    stray = (*ALL_IN, *ALL_BACK, told("x", IN, 9))
    assert {reason.who for reason in plain(names_back(PEOPLE, stray)).reasons} == {"person x"}


@pytest.mark.parametrize(("minutes", "allowed"), [(30, True), (0, False), (-1, False)])
def test_out_comes_after_in(minutes: int, allowed: bool) -> None:
    events = (told("g1", IN, 1), told("g1", BACK, 2, minutes=minutes))
    assert plain(times_in_order(PEOPLE, events)).allowed is allowed


def test_a_return_without_an_entry_is_flagged_and_no_return_is_not() -> None:
    assert plain(times_in_order(PEOPLE, (told("g1", BACK, 1),))).rules == {"exit_after_entry"}
    assert times_in_order(PEOPLE, ALL_IN).allowed


@pytest.mark.parametrize(
    ("minutes", "state"),
    [(4.9, Lateness.ON_TIME), (5, Lateness.LATE), (9.9, Lateness.LATE), (10, Lateness.EMERGENCY)],
)
def test_lateness(minutes: float, state: Lateness) -> None:
    due: datetime = NOW - timedelta(minutes=minutes)
    assert lateness(due, NOW, GENERAL) is state


def test_lateness_without_a_time_or_a_limit() -> None:
    assert lateness(None, NOW, GENERAL) is Lateness.NO_TIME
    gone = limits_for([Source(Kind.SHOP, "shop", {"overdue_after_planned_exit_emergency": None})])
    assert lateness(NOW + timedelta(hours=1), NOW, gone) is Lateness.EMERGENCY


def test_the_end_pressure_of_everybody_who_dived_is_read() -> None:
    divers = (
        DiverEnd("s1", "Ilka Toft", 80.0, (Reading(200, NOW),)),
        DiverEnd("g1", "Guest 1", None),
        DiverEnd("g2", "Guest 2", None),
    )
    events = (told("s1", IN, 1), told("g1", IN, 2), told("g2", NEVER_ENTERED, 3))
    assert {reason.who for reason in plain(pressures_read(divers, events)).reasons} == {"Guest 1"}

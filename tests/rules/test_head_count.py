"""Counts that check the names, the recount, and a procedure that only ends with who and where."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.head_count import (
    Count,
    CountState,
    DiveEnd,
    Found,
    MissingPerson,
    Round,
    count_state,
    counts_agree,
    everyone_back,
    may_close_dive,
    missing_settled,
)
from app.rules.roll_call import BACK, IN, NEVER_ENTERED, DiverEnd, PersonEvent
from tests.rules_world import GENERAL, NOW, plain

PEOPLE = {"s1": "Ilka Toft", "g1": "Guest 1", "g2": "Guest 2"}


def _events(*words: str) -> tuple[PersonEvent, ...]:
    """Everybody in, then these words in the order of PEOPLE, a minute later each."""
    from datetime import timedelta

    ins = [PersonEvent(person, IN, NOW, "Ilka Toft", place) for place, person in enumerate(PEOPLE)]
    outs = [
        PersonEvent(person, word, NOW + timedelta(minutes=30 + place), "Ilka Toft", 10 + place)  # type: ignore[arg-type]
        for place, (person, word) in enumerate(zip(PEOPLE, words, strict=False))
    ]
    return (*ins, *outs)


BACK_ALL = _events(BACK, BACK, BACK)
TWO = (Count("Ilka Toft", "heads", 3, None), Count("Pia Noor", "heads", 3, True))
LONE = (Count("Ilka Toft", "heads", 3, None), Count("Ilka Toft", "names", 3, None))
GOOD = Round(TWO, 3)
WRONG = Round((Count("Ilka Toft", "heads", 2, None), Count("Pia Noor", "heads", 3, True)), 3)
MISSING = MissingPerson({"g2": "Guest 2"}, {})


@pytest.mark.parametrize(
    ("results", "people", "rules"),
    [
        (TWO, 3, set()),
        (LONE, 3, set()),
        ((), 3, {"count_methods", "count_active_methods"}),
        (TWO[:1], 3, {"count_methods", "count_active_methods"}),
        (LONE[1:], 3, {"count_methods"}),
        (TWO[:1] * 2, 3, {"count_methods", "count_active_methods"}),
        ((TWO[0], replace(TWO[1], blind=False)), 3, {"second_count_blind"}),
        ((TWO[0], replace(TWO[1], blind=None)), 3, {"second_count_blind"}),
        ((TWO[0], replace(TWO[1], counter=None)), 3, {"count_methods", "count_active_methods"}),
        ((TWO[0], replace(TWO[1], number=None)), 3, {"count_methods", "count_active_methods"}),
        ((TWO[0], replace(TWO[1], number=2)), 3, {"counts_agree"}),
        (TWO, 2, {"counts_agree"}),
    ],
)
def test_two_independent_results_that_equal_the_names(
    results: tuple[Count, ...], people: int, rules: set[str]
) -> None:
    assert plain(counts_agree(Round(results, people), people, GENERAL)).rules == rules


@pytest.mark.parametrize(
    ("rounds", "state"),
    [
        ((), CountState.COUNT),
        ((Round(TWO[:1], 3),), CountState.COUNT),
        ((GOOD,), CountState.AGREED),
        ((WRONG,), CountState.RECOUNT),
        ((WRONG, GOOD), CountState.AGREED),
        ((WRONG, Round(TWO[:1], 3)), CountState.RECOUNT),
        ((WRONG, WRONG), CountState.MISSING),
        ((WRONG, WRONG, GOOD), CountState.MISSING),
        ((GOOD, WRONG), CountState.RECOUNT),
    ],
)
def test_states(rounds: tuple[Round, ...], state: CountState) -> None:
    assert count_state(rounds, 3, None, GENERAL) is state


def test_a_round_is_held_against_the_names_of_its_own_time() -> None:
    two_then = Round(tuple(replace(count, number=2) for count in TWO), 2)
    assert count_state((two_then,), 2, None, GENERAL) is CountState.AGREED
    assert count_state((Round(TWO, 2),), 3, None, GENERAL) is CountState.RECOUNT


def test_correcting_the_names_afterwards_does_not_make_a_wrong_count_right() -> None:
    assert count_state((WRONG, Round(WRONG.results[:1], 3)), 2, None, GENERAL) is CountState.MISSING


@pytest.mark.parametrize(
    ("missing", "settled"),
    [
        (MISSING, False),
        (MissingPerson({}, {}), False),
        (replace(MISSING, found={"g2": Found("on the beach", "Ilka Toft")}), True),
        (replace(MISSING, found={"g2": Found("on the beach", None)}), False),
        (replace(MISSING, found={"g2": Found("", "Ilka Toft")}), False),
        (replace(MISSING, found={"g1": Found("on the beach", "Ilka Toft")}), False),
    ],
)
def test_the_procedure_ends_only_with_who_and_where(missing: MissingPerson, settled: bool) -> None:
    assert plain(missing_settled(missing)).allowed is settled
    state = CountState.FOUND if settled else CountState.MISSING
    assert count_state((GOOD,), 3, missing, GENERAL) is state


def test_everyone_is_back() -> None:
    assert everyone_back(PEOPLE, BACK_ALL, (GOOD,), None, GENERAL).allowed
    assert everyone_back(PEOPLE, BACK_ALL, (WRONG, GOOD), None, GENERAL).allowed


@pytest.mark.parametrize(
    ("events", "rounds", "missing", "rule"),
    [
        (_events(BACK, BACK), (GOOD,), None, "roll_call_by_name"),
        (BACK_ALL, (), None, "count_methods"),
        (BACK_ALL, (WRONG,), None, "counts_agree"),
        (BACK_ALL, (WRONG, WRONG, GOOD), None, "missing_settled"),
        (BACK_ALL, (GOOD,), MISSING, "missing_settled"),
        (_events(BACK, BACK, NEVER_ENTERED), (GOOD,), None, "counts_agree"),
    ],
)
def test_what_keeps_everyone_from_being_back(
    events: tuple[PersonEvent, ...], rounds: tuple[Round, ...], missing: MissingPerson | None, rule: str
) -> None:
    assert rule in plain(everyone_back(PEOPLE, events, rounds, missing, GENERAL)).rules


def test_a_matching_number_never_replaces_a_name() -> None:
    """Three heads counted while one person is still in the water: somebody else was counted."""
    assert not everyone_back(PEOPLE, _events(BACK, BACK), (GOOD,), None, GENERAL).allowed


COUNTS = st.builds(
    Count,
    st.sampled_from((None, "Ilka Toft", "Pia Noor")),
    st.sampled_from(("heads", "names")),
    st.none() | st.integers(0, 4),
    st.none() | st.booleans(),
)
ROUNDS = st.lists(st.builds(Round, st.lists(COUNTS, max_size=3).map(tuple), st.integers(2, 4)), max_size=4)


@given(ROUNDS, st.lists(st.sampled_from((IN, BACK, NEVER_ENTERED)), max_size=3))
def test_no_count_lets_anybody_be_forgotten(rounds: list[Round], words: list[str]) -> None:
    decision = everyone_back(PEOPLE, _events(*words), tuple(rounds), None, GENERAL)
    if decision.allowed:
        assert len(words) == 3 and IN not in words


@given(ROUNDS, ROUNDS)
def test_once_the_procedure_must_run_no_later_count_ends_it(first: list[Round], later: list[Round]) -> None:
    if count_state(tuple(first), 3, None, GENERAL) is CountState.MISSING:
        assert count_state((*first, *later), 3, None, GENERAL) is CountState.MISSING


DIVERS = tuple(DiverEnd(person, name, 80.0) for person, name in PEOPLE.items())
END = DiveEnd(PEOPLE, BACK_ALL, (GOOD,), None, DIVERS, "nothing")


def test_a_dive_with_everything_in_is_closed() -> None:
    assert may_close_dive(END, GENERAL).allowed


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"happened": None}, {"incident_answered"}),
        ({"happened": "  "}, {"incident_answered"}),
        ({"rounds": ()}, {"count_methods", "count_active_methods"}),
        ({"missing": MISSING}, {"missing_settled"}),
        ({"divers": DIVERS[1:]}, {"pressure_read"}),
        ({"divers": (replace(DIVERS[0], end_bar=None), *DIVERS[1:])}, {"pressure_read"}),
        ({"events": _events(BACK, BACK)}, {"roll_call_by_name"}),
        (
            {"events": (*BACK_ALL[:-1], replace(BACK_ALL[-1], at=NOW))},
            {"exit_after_entry"},
        ),
    ],
)
def test_each_reason_alone_keeps_a_dive_open(changes: dict[str, Any], rules: set[str]) -> None:
    assert plain(may_close_dive(replace(END, **changes), GENERAL)).rules == rules

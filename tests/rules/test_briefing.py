"""The briefing and the kit check: each item answered today, by name, with a state or a value."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from app.rules.briefing import BRIEFING, KIT_CHECK, SECOND_EYES, briefing_complete, kit_checked
from tests.rules_world import DAY, GENERAL, briefing_answers, kit_answers, plain


def test_each_pause_keeps_to_nine_items_with_words_source_and_one_way_to_answer() -> None:
    for pause in (BRIEFING, KIT_CHECK):
        assert len(pause) <= 9
        assert len({item.key for item in pause}) == len(pause)
        for item in pause:
            assert item.words and item.source
            assert (len(item.states) > 1) is (item.limit is None)


def test_all_answered_well_is_complete() -> None:
    assert briefing_complete(briefing_answers(), GENERAL, DAY).allowed
    assert kit_checked(kit_answers("g1"), GENERAL, DAY, "g1", "Guest 1").allowed


@pytest.mark.parametrize("place", range(len(BRIEFING)))
def test_each_open_item_is_its_own_reason(place: int) -> None:
    answers = briefing_answers()
    left = answers[:place] + answers[place + 1 :]
    (reason,) = plain(briefing_complete(left, GENERAL, DAY)).reasons
    assert reason.rule == "briefing_complete"


@pytest.mark.parametrize("place", range(len(KIT_CHECK)))
def test_each_state_but_the_first_holds_the_kit_back(place: int) -> None:
    answers = list(kit_answers("g1"))
    answers[place] = replace(answers[place], value=KIT_CHECK[place].states[1])
    (reason,) = plain(kit_checked(answers, GENERAL, DAY, "g1", "Guest 1")).reasons
    assert (reason.rule, reason.who) == ("kit_check_complete", "Guest 1")


@pytest.mark.parametrize(
    "changes", [{"value": None}, {"by": None}, {"by": ""}, {"on": None}, {"on": DAY - timedelta(days=1)}]
)
def test_answers_that_do_not_count(changes: dict[str, Any]) -> None:
    answers = (replace(briefing_answers()[0], **changes), *briefing_answers()[1:])
    assert not plain(briefing_complete(answers, GENERAL, DAY)).allowed


@pytest.mark.parametrize(
    ("key", "value", "allowed"),
    [
        ("turn", 100.0, True),
        ("turn", 120, True),
        ("turn", 90.0, False),
        ("turn", "100", False),
        ("lost", 1.0, True),
        ("lost", 2.0, False),
        ("time", 30.0, True),
        ("time", 36.0, False),
    ],
)
def test_a_value_is_held_against_its_limit(key: str, value: str | float, allowed: bool) -> None:
    answers = [
        replace(answer, value=value) if answer.item == key else answer for answer in briefing_answers()
    ]
    assert plain(briefing_complete(answers, GENERAL, DAY)).allowed is allowed


def test_the_last_answer_counts_and_another_persons_kit_is_not_mine() -> None:
    first = briefing_answers()[0]
    worse = replace(first, value="not yet")
    assert not briefing_complete((*briefing_answers(), worse), GENERAL, DAY).allowed
    assert briefing_complete((worse, *briefing_answers()), GENERAL, DAY).allowed
    assert not kit_checked(kit_answers("g2"), GENERAL, DAY, "g1", "Guest 1").allowed


@pytest.mark.parametrize(
    ("second", "seen"),
    [("s9", True), ("g2", True), ("s1", False), ("g1", False), ("", False), (None, False)],
)
def test_the_second_pair_of_eyes_is_neither_the_wearers_nor_the_first_checkers(
    second: str | None, seen: bool
) -> None:
    *items, look = kit_answers("g1")
    assert look.item == SECOND_EYES and {one.by_key for one in items} == {"s1"}
    decision = kit_checked((*items, replace(look, value=second)), GENERAL, DAY, "g1", "Guest 1")
    assert decision.allowed is seen
    assert seen or "Only one person looked" in decision.reasons[0].text
    assert not plain(kit_checked(items, GENERAL, DAY, "g1", "Guest 1")).allowed


def test_what_was_changed_after_the_second_look_is_looked_at_again() -> None:
    *items, look = kit_answers("g1")
    again = [replace(items[0], value="closed"), items[0]]
    assert not kit_checked((*items, look, *again), GENERAL, DAY, "g1", "Guest 1").allowed
    assert kit_checked((*items, look, *again, look), GENERAL, DAY, "g1", "Guest 1").allowed
    assert kit_checked((*items, look, items[0]), GENERAL, DAY, "g1", "Guest 1").allowed, (
        "said again, the same"
    )

"""Joining answers: allowed only when nothing stands in the way."""

from hypothesis import given
from hypothesis import strategies as st

from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, all_of, note, refuse
from app.rules.measure import must, within
from tests.rules_world import GENERAL, plain

REASONS = st.builds(Reason, *(st.sampled_from(("a", "b", "c")) for _ in range(4)))
DECISIONS = st.builds(
    Decision, st.lists(REASONS, max_size=3).map(tuple), st.lists(REASONS, max_size=3).map(tuple)
)


@given(st.lists(DECISIONS, max_size=5))
def test_joined_answer_allows_only_when_each_does_and_loses_no_reason(answers: list[Decision]) -> None:
    joined = all_of(answers)
    assert joined.allowed is all(answer.allowed for answer in answers)
    assert set(joined.reasons) == {reason for answer in answers for reason in answer.reasons}
    assert set(joined.notes) == {reason for answer in answers for reason in answer.notes}
    assert len(set(joined.reasons)) == len(joined.reasons)


def test_notes_do_not_refuse_and_a_refusal_can_become_notes() -> None:
    reason = Reason("turn_pressure", "Text.", "1", "2")
    assert ALLOWED.allowed and note(reason).allowed
    refusal = refuse(reason) + note(reason)
    assert not refusal.allowed and refusal.rules == {"turn_pressure"}
    assert refusal.as_notes() == note(reason)


def test_the_edge_of_a_limit_is_allowed_and_past_it_is_not() -> None:
    depth, turn = GENERAL[L.DEPTH_MAX_OPEN_WATER], GENERAL[L.TURN_PRESSURE]
    asked = {"unknown": "Not known.", "broken": "Broken."}
    assert within(depth, 12, **asked).allowed and not within(depth, 12.1, **asked).allowed
    assert within(turn, 100, **asked).allowed and not within(turn, 99.9, **asked).allowed
    (reason,) = plain(within(turn, 99.9, **asked, who="Guest 1")).reasons
    assert (reason.found, reason.needed, reason.unit, reason.who) == (
        "99.9",
        "at least 100",
        "bar",
        "Guest 1",
    )


def test_not_a_number_is_never_within() -> None:
    nan = float("nan")
    for limit in (L.DEPTH_MAX_OPEN_WATER, L.TURN_PRESSURE):
        assert not within(GENERAL[limit], nan, unknown="Not known.", broken="Broken.").allowed


def test_unknown_fact_and_missing_limit_refuse_with_their_own_words() -> None:
    from dataclasses import replace

    turn = GENERAL[L.TURN_PRESSURE]
    assert within(turn, None, unknown="Not known.", broken="Broken.").reasons[0].text == "Not known."
    gone = within(replace(turn, value=None), 200, unknown="Not known.", broken="Broken.")
    assert "no value is set" in plain(gone).reasons[0].text


def test_only_a_plain_yes_meets_a_rule() -> None:
    for met, allowed in ((True, True), (False, False), (None, False)):
        assert must(L.GUEST_BOOKED, met, "Text.", found="x", needed="y").allowed is allowed

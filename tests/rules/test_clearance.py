"""Health and consent: only a cleared outcome, or a talk settled today, lets a guest go in."""

from dataclasses import replace
from datetime import timedelta

import pytest

from app.rules.clearance import may_dive_on_consent, may_dive_on_health, talk_today
from app.rules.people import Talk
from tests.rules_world import DAY, GENERAL, guest, minor, plain

GO = Talk("GO", "Ilka Toft", DAY)


@pytest.mark.parametrize(
    ("outcome", "talk", "allowed"),
    [
        ("CLEARED", None, True),
        ("TALK", GO, True),
        ("TALK", replace(GO, result="GO-LIMIT"), True),
        ("TALK", None, False),
        ("TALK", replace(GO, result="ASHORE"), False),
        ("TALK", replace(GO, result="go"), False),
        ("TALK", replace(GO, by=None), False),
        ("TALK", replace(GO, on=None), False),
        ("TALK", replace(GO, on=DAY - timedelta(days=1)), False),
        ("CLEARED", replace(GO, result="ASHORE"), False),
        ("INCOMPLETE", GO, False),
        ("LETTER", GO, False),
        ("ASHORE", GO, False),
        ("cleared", None, False),
        (None, GO, False),
    ],
)
def test_outcome(outcome: str | None, talk: Talk | None, allowed: bool) -> None:
    decision = plain(may_dive_on_health(guest(1, outcome=outcome, talk=talk), "open", DAY, GENERAL))
    assert decision.allowed is allowed
    assert decision.rules <= {"screening_any_flag_blocks"}


def test_a_talk_may_keep_a_guest_in_the_pool() -> None:
    pool = guest(1, outcome="TALK", talk=replace(GO, result="GO-LIMIT", confined_only=True))
    assert may_dive_on_health(pool, "confined", DAY, GENERAL).allowed
    assert not plain(may_dive_on_health(pool, "open", DAY, GENERAL)).allowed


@pytest.mark.parametrize(
    ("field", "days", "rule"),
    [
        ("today_signed_on", 1, "health_today_signed"),
        ("today_signed_on", None, "health_today_signed"),
        ("history_signed_on", 31, "declaration_valid_for"),
        ("history_signed_on", None, "declaration_valid_for"),
        ("history_signed_on", -1, "declaration_valid_for"),
    ],
)
def test_old_and_missing_signatures(field: str, days: int | None, rule: str) -> None:
    signed = None if days is None else DAY - timedelta(days=days)
    assert plain(may_dive_on_health(guest(1, **{field: signed}), "open", DAY, GENERAL)).rules == {rule}


def test_a_history_of_thirty_days_still_counts() -> None:
    signed = DAY - timedelta(days=30)
    assert may_dive_on_health(guest(1, history_signed_on=signed), "open", DAY, GENERAL).allowed


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({}, set()),
        ({"guardian_consent_on": None}, {"guardian_consent", "consent_valid_for"}),
        ({"guardian_consent_until": None}, {"guardian_consent"}),
        ({"guardian_consent_until": DAY - timedelta(days=1)}, {"guardian_consent"}),
        ({"guardian_consent_on": DAY + timedelta(days=1)}, {"guardian_consent"}),
        ({"guardian_consent_on": DAY - timedelta(days=31)}, {"consent_valid_for"}),
        ({"guardian_place": None}, {"guardian_near"}),
    ],
)
def test_consent_of_a_minor(changes: dict[str, object], rules: set[str]) -> None:
    assert plain(may_dive_on_consent(minor(1, 12, **changes), DAY, GENERAL)).rules == rules


def test_adults_sign_alone_and_an_unknown_age_counts_as_a_minor() -> None:
    assert may_dive_on_consent(guest(1), DAY, GENERAL).allowed
    assert not plain(may_dive_on_consent(guest(1, age=None), DAY, GENERAL)).allowed


def test_sentences_never_say_the_cause() -> None:
    for outcome in ("TALK", "LETTER", "ASHORE", "INCOMPLETE", None):
        held = guest(1, outcome=outcome, outcome_word="Not today")
        for reason in may_dive_on_health(held, "open", DAY, GENERAL).reasons:
            assert "LUNG" not in reason.text + reason.found and reason.found == "Not today"


def test_only_todays_named_talk_is_a_talk() -> None:
    assert talk_today(guest(1, talk=GO), DAY) == GO
    assert talk_today(guest(1, talk=replace(GO, by="")), DAY) is None

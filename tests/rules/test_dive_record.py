"""What may be written about a dive, and when."""

import pytest

from app.rules.dive_record import may_prepare, may_put_right, may_take_mark_back, may_write
from tests.rules_world import plain


def test_briefing_and_kit_check_end_with_going_in() -> None:
    assert plain(may_prepare(False)).allowed
    assert plain(may_prepare(True)).rules == {"entry_still_open"}
    assert plain(may_prepare(None)).rules == {"entry_still_open"}


@pytest.mark.parametrize(
    ("entered", "signed_off", "rules"),
    [
        (True, False, set()),
        (False, False, {"roll_call_by_name"}),
        (None, False, {"roll_call_by_name"}),
        (True, True, {"dive_closed"}),
        (True, None, {"dive_closed"}),
        (False, True, {"roll_call_by_name", "dive_closed"}),
    ],
)
def test_figures_are_written_after_going_in_and_before_the_sign_off(
    entered: bool | None, signed_off: bool | None, rules: set[str]
) -> None:
    assert plain(may_write(entered, signed_off)).rules == rules


def test_an_earlier_figure_stays_once_the_day_is_signed_off() -> None:
    assert plain(may_put_right(False)).allowed
    assert not plain(may_put_right(True)).allowed
    assert not plain(may_put_right(None)).allowed


@pytest.mark.parametrize(
    ("event", "allowed"), [("in", True), ("back", True), ("never-entered", False), ("", False), ("x", False)]
)
def test_nobody_goes_in_by_a_correction(event: str, allowed: bool) -> None:
    assert plain(may_take_mark_back("Pia", event)).allowed is allowed

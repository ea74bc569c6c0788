"""A guide's day: both sides of the margin, the table's second opinion, and silence that is no answer."""

from dataclasses import replace

import pytest

from app.planning.dive_day import Budget
from app.rules import limits as L
from app.rules.guide_day import Left, dives_are_known, what_is_left
from app.rules.readiness import may_enter_water
from app.rules.resolve import Kind, Source, limits_for
from tests.rules_world import ASSISTANT, GENERAL, GUIDE, NOW, entry, group, guest


def budget(zhl_min: float | None, navy_min: float | None) -> Budget:
    """Return a budget with these minutes."""
    return Budget(10, zhl_min, 5, 0.2, navy_min, "C", "D", True)


@pytest.mark.parametrize(
    ("zhl", "navy", "word"),
    [
        (36.0, 100.0, Left.ENOUGH),
        (35.9, 100.0, Left.NOT_ENOUGH),
        (None, None, Left.ENOUGH),
        (100.0, 36.0, Left.ENOUGH),
        (100.0, 35.9, Left.TABLE_ASKS),
        (None, 0.0, Left.TABLE_ASKS),
        (10.0, 0.0, Left.NOT_ENOUGH),
    ],
)
def test_thirty_five_minutes_and_one_that_must_be_left(
    zhl: float | None, navy: float | None, word: Left
) -> None:
    """1 min must be left when the way up begins; ZH-L16C binds, the table only asks."""
    assert what_is_left(budget(zhl, navy), 35, GENERAL) is word


def test_a_margin_without_a_value_leaves_nothing() -> None:
    unset = limits_for([Source(Kind.SHOP, "shop", {L.NO_STOP_LEFT_MIN.key: None})])
    assert what_is_left(budget(None, None), 5, unset) is Left.NOT_ENOUGH


@pytest.mark.parametrize("said", [None, False])
def test_silence_of_guide_or_assistant_keeps_the_group_ashore(said: bool | None) -> None:
    for who in (GUIDE, ASSISTANT):
        told = dives_are_known((replace(who, dives_said=said),))
        assert told.rules == {L.STAFF_DIVES_SAID.key} and told.reasons[0].who == who.name
    assert dives_are_known((GUIDE, ASSISTANT)).allowed
    silent = replace(GUIDE, dives_said=said)
    assert L.STAFF_DIVES_SAID.key in may_enter_water(entry(group(guide=silent)), GENERAL, NOW).rules
    pool = group(guest(), guide=silent, where="confined", site_depth_m=2.5)
    assert L.STAFF_DIVES_SAID.key not in may_enter_water(entry(pool), GENERAL, NOW).rules

"""What the emergency kit holds, and its oxygen."""

import pytest

from app.rules.emergency_kit import ITEMS, KEYS, missing, oxygen_litres, oxygen_minutes


def test_the_list_fits_one_pause_and_every_item_says_what_working_means_and_its_source() -> None:
    assert len(ITEMS) <= 9
    assert len(set(KEYS)) == len(KEYS)
    assert all(item.name and item.check.endswith(".") and item.source for item in ITEMS)


def test_whatever_was_not_found_is_missing_and_strange_words_count_for_nothing() -> None:
    assert missing(KEYS) == ()
    assert [item.key for item in missing([*KEYS[1:], "oxygen tent"])] == [KEYS[0]]
    assert missing([]) == ITEMS


@pytest.mark.parametrize(("bar", "litres", "oxygen"), [(150, 5, 750), (200, 2, 400), (0, 5, 0)])
def test_oxygen_is_pressure_times_size(bar: float, litres: float, oxygen: float) -> None:
    assert oxygen_litres(bar, litres) == oxygen


@pytest.mark.parametrize(("bar", "litres"), [(-1, 5), (100, -5)])
def test_less_than_nothing_is_refused(bar: float, litres: float) -> None:
    with pytest.raises(ValueError, match="below zero"):
        oxygen_litres(bar, litres)


@pytest.mark.parametrize(
    ("litres", "flow", "minutes"), [(300, 15, 20), (299.9, 15, 19), (0, 15, 0), (750, 15, 50), (4.5, 0.9, 5)]
)
def test_whole_minutes_of_oxygen(litres: float, flow: float, minutes: int) -> None:
    """ISO 24803:2017, from memory: 15 L/min until help is there. 4.5 / 0.9 is 5 in whole minutes, not 4."""
    assert oxygen_minutes(litres, flow) == minutes


@pytest.mark.parametrize(("litres", "flow"), [(300, 0), (300, -1), (-1, 15)])
def test_minutes_need_a_flow(litres: float, flow: float) -> None:
    with pytest.raises(ValueError, match="flow above zero"):
        oxygen_minutes(litres, flow)

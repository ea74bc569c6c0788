"""Which cylinder is suggested to whom."""

from app.rules.cylinder_choice import Offer, suggest

TENS = [Offer(1, "01", 10, 195), Offer(2, "02", 10, 200)]
TWELVES = [Offer(3, "03", 12, 200), Offer(4, "04", 12, 190)]
FIFTEEN = Offer(5, "05", 15, 200)


def test_the_guide_gets_twelve_litres_and_guests_the_smallest_the_fuller_first() -> None:
    divers = [(11, "guest"), (12, "guest"), (10, "guide"), (13, "guest")]
    assert suggest(divers, [FIFTEEN, *TWELVES, *TENS]) == {10: 3, 11: 2, 12: 1, 13: 4}


def test_without_twelve_the_guide_gets_the_nearest_size() -> None:
    assert suggest([(10, "guide")], [*TENS, FIFTEEN]) == {10: 2}


def test_each_cylinder_is_suggested_once_and_who_comes_too_late_gets_none() -> None:
    assert suggest([(11, "guest"), (12, "guest"), (10, "assistant")], TENS) == {10: 2, 11: 1}
    assert suggest([(11, "guest")], []) == {}

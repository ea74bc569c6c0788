"""What the shop decides about fill plans, and its words for a slot that comes short."""

import pytest

from app.planning.air import HIGHEST_C
from app.rules.fill_plan import guides_to_choose, least_bar, say_short, way_of
from app.rules.resolve import limits_from_record
from tests.rules_world import GENERAL


def test_how_the_shop_fills() -> None:
    way = way_of(110.0, 20.0, GENERAL)
    assert (way.free_air_l_min, way.gas_c, way.cooling_min, way.handling_min) == (110.0, 40, 30, 3)
    # A limit without a value counts as the warmest air that can be reckoned with.
    assert way_of(None, 20.0, limits_from_record({})).gas_c == HIGHEST_C


@pytest.mark.parametrize(("guests", "where", "guides"), [(0, "open", 0), (3, "open", 2), (4, "confined", 1)])
def test_guides_still_to_choose(guests: int, where: str, guides: int) -> None:
    assert guides_to_choose(guests, "open" if where == "open" else "confined", GENERAL) == guides
    assert guides_to_choose(guests, "open", limits_from_record({})) == guests


def test_least_start_pressure_by_water() -> None:
    assert (least_bar("open", GENERAL), least_bar("confined", GENERAL)) == (180, 100)


@pytest.mark.parametrize(
    ("missing", "late", "earliest", "said"),
    [
        (0, 0, "13:10", ""),
        (0, 2, "14:25", "2 cylinders short for 14:00. The earliest is 14:25."),
        (1, 0, None, "1 cylinder short for 14:00. Nothing else can be filled for 14:00 Long Jetty."),
        (
            2,
            1,
            "14:25",
            "3 cylinders short for 14:00. 1 cylinder can be ready at 14:25, and nothing else can be filled.",
        ),
    ],
)
def test_what_is_said_of_a_slot(missing: int, late: int, earliest: str | None, said: str) -> None:
    assert say_short("14:00 Long Jetty", "14:00", missing, late, earliest) == said

"""The plan of a group: what limits it, who limits it, and that every figure follows from the parts."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.planning import breathing, weights
from app.planning.consumption import Sea
from app.planning.diver_gas import rates_along
from app.planning.group_plan import plan_group, what_if
from app.planning.plan_parts import EarlierDive, GroupCase, GroupDiver
from app.planning.sharing import Sharing


def guest(
    name: str = "Ada", litres: float = 12, fill: float = 200, careful: float = 25, likely: float = 20
) -> GroupDiver:
    return GroupDiver(name, name, litres, fill, 17, careful, likely)


GUIDE = GroupDiver("Bram", "Bram", 12, 200, 17, 16, 13.5, is_guide=True)


def case(*divers: GroupDiver, depth: float = 8, minutes: float = 25) -> GroupCase:
    return GroupCase(
        sea=Sea(17, 1025.5, 1.01325),
        depth_m=depth,
        minutes=minutes,
        descent_m_min=9,
        ascent_m_min=9,
        stop_m=5,
        stop_min=3,
        turn_bar=100,
        reserve_bar=50,
        reserve_rounding_bar=10,
        sharing=Sharing(2, 1.5, 1, 9, 5, 3, 10),
        gradient_factor=0.85,
        divers=divers or (GUIDE, guest()),
    )


def test_first_to_turn_decides_and_is_named() -> None:
    plan = plan_group(case(GUIDE, guest("Ada"), guest("Ben", careful=32)))
    assert plan.first_to_turn == "Ben"
    ben = next(one for one in plan.divers if one.id == "Ben")
    assert (
        plan.minutes_to_first_turn
        == ben.minutes_to_turn
        < min(one.minutes_to_turn for one in plan.divers if one.id != "Ben")
    )


def test_the_reserve_in_force_is_the_larger_of_rule_and_sharing() -> None:
    big = plan_group(case(GUIDE, guest(litres=18), depth=5)).divers[1]
    small = plan_group(case(GUIDE, guest(litres=7), depth=10)).divers[1]
    assert (
        big.reserve_in_force_bar == 50
        and big.reserve_bound_by == "end_pressure_min"
        and big.reserve_covers_sharing
    )
    assert small.reserve_in_force_bar == 80 and small.reserve_bound_by == "sharing_gas"
    assert small.reserve_in_force_bar >= small.sharing_gauge_bar > small.reserve_in_force_bar - 10


def test_leaving_at_the_latest_minute_surfaces_with_the_reserve() -> None:
    plan = plan_group(case(GUIDE, guest()))
    ada = plan.divers[1]
    again = plan_group(case(GUIDE, guest(), minutes=ada.latest_ascent_min))
    assert again.divers[1].end_gauge_bar == pytest.approx(ada.reserve_in_force_bar, abs=0.01)


def test_what_limits_is_said() -> None:
    assert plan_group(case(minutes=5)).limit == "planned_minutes"
    long = plan_group(case(minutes=60))
    assert long.limit == "reserve" and long.limit_who == "Ada"
    assert {warn.key for warn in long.warnings} >= {"ends_under_reserve"}
    day = tuple(EarlierDive(((0, 0), (1, 12), (150, 12), (151.4, 0)), 60, 12) for _ in range(2))
    tired = plan_group(case(replace(GUIDE, earlier_dives=day), guest(), depth=12, minutes=5))
    assert tired.limit == "no_stop" and tired.limit_who == "Bram"


def test_for_guests_the_stricter_model_binds_and_for_guides_the_budget() -> None:
    plan = plan_group(case(depth=10))
    guide, ada = plan.nitrogen
    assert guide.binding_model == "ZH-L16C" and guide.navy_is_stricter
    assert ada.binding_model == "navy table" and ada.binding_minutes_total == 232


def test_the_picture_starts_full_ends_at_the_surface_and_only_falls() -> None:
    plan = plan_group(case())
    assert plan.curve[0].gauges_bar[1] == pytest.approx(plan.divers[1].start_gauge_bar)
    assert plan.curve[-1].gauges_bar[1] == pytest.approx(plan.divers[1].end_gauge_bar)
    assert plan.curve[-1].depth_m == 0
    for before, after in pairwise(plan.curve):
        assert all(b <= a for a, b in zip(before.gauges_bar, after.gauges_bar, strict=True))


def test_the_way_up_is_at_the_rate_with_the_stop() -> None:
    plan = plan_group(case(depth=12, minutes=20))
    assert plan.ascent_min == pytest.approx(7 / 9 + 3 + 5 / 9)
    assert plan_group(case(depth=4, minutes=20)).ascent_min == pytest.approx(4 / 9)


def test_what_if_marks_this_plan_and_gets_worse_with_depth_and_time() -> None:
    cells = what_if(case(), (6, 8, 10), (15, 25))
    assert [cell.is_this_plan for cell in cells].count(True) == 1
    by = {(cell.depth_m, cell.minutes): cell.lowest_end_gauge_bar for cell in cells}
    assert by[6, 15] > by[8, 15] > by[10, 15] > by[10, 25]


def test_a_plan_needs_divers_and_depth() -> None:
    with pytest.raises(ValueError, match="at least one diver"):
        plan_group(replace(case(), divers=()))
    with pytest.raises(ValueError, match="above 0"):
        plan_group(case(depth=0))


def test_the_first_minutes_cost_more_and_add_up() -> None:
    pieces = rates_along(((0, 0), (1, 8), (30, 8), (31, 0)), 20)
    litres = sum(piece.rate_l_min * piece.minutes for piece in pieces)
    assert litres == pytest.approx(20 * breathing.effective_minutes(31))
    assert pieces[0].rate_l_min > pieces[-1].rate_l_min >= 20


@settings(max_examples=25)
@given(st.permutations(["Ada", "Ben", "Cleo"]))
def test_order_of_divers_changes_nothing(names: list[str]) -> None:
    rates = {"Ada": 22.0, "Ben": 30.0, "Cleo": 26.0}
    plan = plan_group(case(*(guest(name, careful=rates[name]) for name in names)))
    assert plan.first_to_turn == "Ben" and plan.limit_who in ("Ben", "")
    ends = {one.id: one.end_gauge_bar for one in plan.divers}
    assert ends["Ben"] < ends["Cleo"] < ends["Ada"]


def test_breathing_band_and_learning() -> None:
    before = breathing.prior()
    rates = breathing.predict(before, 72)
    assert rates.low_l_min < 21 < rates.high_l_min and rates.expected_l_min == pytest.approx(21)
    belief = before
    for _ in range(300):
        belief = breathing.learn(belief, breathing.LoggedDive(200, 80, 12, 30, 8, 72))
    seen = breathing.logged_rate_l_min(breathing.LoggedDive(200, 80, 12, 30, 8, 72))
    assert breathing.predict(belief, 72).expected_l_min == pytest.approx(seen, rel=0.02)
    with pytest.raises(ValueError, match="uses gas"):
        breathing.logged_rate_l_min(breathing.LoggedDive(100, 100, 12, 30, 8, 72))


def test_student_t_agrees_with_scipy() -> None:
    """scipy 1.17.1."""
    from scipy.stats import t

    for freedom in (8, 12, 30, 1000):
        assert breathing.student_t_95(freedom) == pytest.approx(t.ppf(0.95, freedom), abs=0.002)


def test_lead_is_for_the_end_of_the_dive_and_more_in_the_sea() -> None:
    """Cylinder lifts against shell masses and metal densities (from memory): 12 L steel empty about -1 kg."""
    assert weights.cylinder_lift_kg(12, "steel", 0, 1025, 20) == pytest.approx(-1.0, abs=0.1)
    assert weights.cylinder_lift_kg(11.1, "aluminium", 0, 1025, 20) == pytest.approx(1.9, abs=0.2)
    sea = weights.suggest(175, 75, 7, 12, "steel", 1025.5, 17)
    fresh = weights.suggest(175, 75, 7, 12, "steel", 1000, 17)
    assert sea.kg > fresh.kg > 0
    assert sum(kg for _, kg in sea.steps) <= sea.kg
    assert weights.suggest(175, 75, 3, 12, "steel", 1025.5, 17).kg < sea.kg


def test_a_diver_without_any_no_stop_time_limits_the_group() -> None:
    """No minutes at all is a limit, not the absence of one."""
    tired = replace(
        guest("Cleo"),
        earlier_dives=(EarlierDive(((0.0, 0.0), (2.0, 18.0), (70.0, 18.0), (72.0, 0.0)), 0, 12),),
    )
    plan = plan_group(case(GUIDE, guest(), tired))
    assert (plan.limit, plan.limit_who, plan.latest_ascent_min) == ("no_stop", "Cleo", 0)
    assert not any(cell.no_stop_holds for cell in what_if(case(GUIDE, guest(), tired), [8], [10, 20]))
    assert all(cell.no_stop_holds for cell in what_if(case(GUIDE, guest()), [8], [10, 20]))


def test_the_latest_ascent_is_found_to_a_thousandth_of_a_minute() -> None:
    """A thousandth of a minute later, the reserve is touched."""
    for careful in (8.0, 14.0, 22.0, 35.0):
        one = case(guest(careful=careful, likely=careful * 0.8))
        latest = plan_group(one).divers[0].latest_ascent_min
        for minutes, holds in ((latest, True), (latest + 0.001, False)):
            gas = plan_group(replace(one, minutes=minutes)).divers[0]
            assert (gas.end_gauge_bar >= gas.reserve_in_force_bar - 1e-9) is holds
    assert plan_group(case(guest(fill=40))).divers[0].latest_ascent_min == 0


def test_the_picture_shows_the_figures_of_the_plan() -> None:
    plan = plan_group(case(GUIDE, guest(), minutes=25.5))
    for place, gas in enumerate(plan.divers):
        at = {point.minute: point.gauges_bar[place] for point in plan.curve}
        assert at[0] == pytest.approx(gas.start_gauge_bar, abs=1e-9)
        assert at[25.5] == pytest.approx(gas.gauge_at_ascent_bar, abs=1e-9)
        assert at[plan.run_min] == pytest.approx(gas.end_gauge_bar, abs=1e-9)


def test_nine_of_ten_end_between_the_cautious_and_the_light_end() -> None:
    """The light end is a plan on the light rate; without such a rate there is none."""
    plan = plan_group(case(GUIDE, replace(guest(), light_rate_l_min=13)))
    guide, ada = plan.divers
    on_light = plan_group(case(guest(careful=13))).divers[0]
    assert guide.light_end_gauge_bar is None
    assert ada.light_end_gauge_bar == pytest.approx(on_light.end_gauge_bar)
    assert ada.end_gauge_bar < ada.expected_end_gauge_bar < on_light.end_gauge_bar

"""The plan of a group: what limits it, who limits it, and that every figure follows from the parts."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.planning import breathing, consumption, profile
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


def test_what_comes_first_is_named_and_what_bounds_the_way_up_apart_from_it() -> None:
    """The turn is a decision at depth; the way up is bounded by time, reserve or no-stop time."""
    short = plan_group(case(minutes=5))
    assert (short.limit, short.limit_who, short.limit_min) == ("planned_minutes", "", 5)
    assert (short.ascent_limit, short.latest_ascent_min) == ("planned_minutes", 5)
    middle = plan_group(case(minutes=25))
    assert (middle.limit, middle.limit_who) == ("turn_pressure", "Ada")
    assert middle.limit_min == middle.minutes_to_first_turn < 25
    assert (middle.ascent_limit, middle.latest_ascent_min) == ("planned_minutes", 25)
    long = plan_group(case(minutes=60))
    assert (long.limit, long.ascent_limit, long.ascent_limit_who) == ("turn_pressure", "reserve", "Ada")
    assert long.limit_min < long.latest_ascent_min == long.divers[1].latest_ascent_min < 60
    assert {warn.key for warn in long.warnings} >= {"ends_under_reserve"}


def test_a_reserve_over_the_turn_pressure_comes_first() -> None:
    """A small cylinder: what the way up and sharing take is gone before anybody turns at 100 bar."""
    plan = plan_group(case(GUIDE, guest(litres=7), depth=12, minutes=30))
    assert plan.divers[1].reserve_in_force_bar == 90
    assert (plan.limit, plan.limit_who) == (plan.ascent_limit, plan.ascent_limit_who) == ("reserve", "Ada")
    assert plan.latest_ascent_min < plan.minutes_to_first_turn


def test_who_starts_under_the_turn_pressure_turns_at_once() -> None:
    plan = plan_group(case(GUIDE, guest(fill=95), minutes=10))
    assert (plan.limit, plan.limit_who, plan.limit_min) == ("turn_pressure", "Ada", 0)


def test_no_stop_time_of_a_day_of_dives_limits() -> None:
    day = tuple(EarlierDive(((0, 0), (1, 12), (150, 12), (151.4, 0)), 60, 12) for _ in range(2))
    tired = plan_group(case(replace(GUIDE, earlier_dives=day), guest(), depth=12, minutes=5))
    assert (tired.limit, tired.limit_who) == ("no_stop", "Bram")
    assert (tired.ascent_limit, tired.ascent_limit_who) == ("no_stop", "Bram")


def test_turn_reserve_and_sharing_come_in_the_order_of_their_pressures() -> None:
    for one in plan_group(case(GUIDE, guest(litres=15), guest("Ben", careful=30))).divers:
        marks = {
            100.0: one.minutes_to_turn,
            one.reserve_in_force_bar: one.minutes_to_reserve,
            one.sharing_gauge_bar: one.minutes_to_sharing,
        }
        in_order = [marks[bar] for bar in sorted(marks, reverse=True)]
        assert in_order == sorted(in_order) and in_order[0] < in_order[-1]


def test_minutes_at_depth_do_not_hang_on_the_planned_ones() -> None:
    """If the group stays, the first minutes count higher and the planned way up does not matter."""
    short, long = (plan_group(case(minutes=minutes)).divers[1] for minutes in (3, 22))
    for key in ("minutes_to_turn", "minutes_to_reserve", "minutes_to_sharing"):
        assert getattr(short, key) == pytest.approx(getattr(long, key), abs=0.1)
    own = consumption.Cylinder(12, long.start_gauge_bar)
    stays = rates_along(((0, 0), (8 / 9, 8), (long.minutes_to_sharing, 8)), 25)
    left = consumption.gauge_after(own, consumption.mass_g(stays, case().sea), case().sea)
    assert left == pytest.approx(long.sharing_gauge_bar, abs=0.3)


def test_a_dive_over_several_levels_counts_until_the_last_way_up() -> None:
    """Ten minutes at 12 m and half an hour at 8 m are forty minutes of bottom time for the navy table."""
    levels = ((0, 0), (1, 12), (10, 12), (10.5, 8), (40, 8), (41, 0))
    assert profile.bottom_minutes(levels) == 40
    assert profile.bottom_minutes(((0, 0), (1, 9), (30, 9), (30.5, 5), (33.5, 5), (34, 0))) == 33.5
    assert profile.bottom_minutes(((0, 0), (1, 9), (20, 9), (40, 0))) == 40
    assert profile.bottom_minutes(((0, 0), (1, 9), (31, 9), (32, 0))) == 31
    assert profile.bottom_minutes(((0, 0), (4, 12), (5.5, 0))) == 4
    flat = ((0, 0), (1, 12), (40, 12), (41.3, 0))
    first, second = (
        plan_group(case(GUIDE, replace(guest(), earlier_dives=(EarlierDive(points, 0, 60),)), depth=12))
        for points in (levels, flat)
    )
    assert first.nitrogen[1].navy_minutes_total == second.nitrogen[1].navy_minutes_total


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
    assert [piece.end_min for piece in pieces] == [1, 2, 4, 7, 10, 14, 21, 30, 31]
    used = [piece.rate_l_min for piece in pieces]
    assert used == sorted(used, reverse=True)


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

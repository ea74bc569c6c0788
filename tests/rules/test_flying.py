"""Flying after diving: both sides of each limit, real hours on the clock-change days, and what must hold."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules import limits as L
from app.rules import presets
from app.rules.flying import (
    NOT_FLYING,
    DivesDone,
    Flight,
    FlyingTimes,
    flights_fit,
    flying_times,
    may_dive_before_flight,
    no_fly_hours,
)
from app.rules.groups import may_form
from app.rules.limits import Value
from app.rules.readiness import may_enter_water
from app.rules.resolve import Limits, limits_for, preset_source, shop_source
from tests.rules_world import GENERAL, START, entry, group, guest

BACK = datetime(2026, 7, 15, 10, 0, tzinfo=UTC)
LISBON = ZoneInfo("Europe/Lisbon")


def shop(**values: Value) -> Limits:
    """Return the limits of a shop that set these."""
    return limits_for([preset_source(presets.GENERAL), shop_source(values)])


def times(done: DivesDone, limits: Limits = GENERAL) -> FlyingTimes:
    """Return when somebody may fly."""
    found = flying_times(done, limits)
    assert found is not None
    return found


@pytest.mark.parametrize("dives", [1, 2, None])
def test_both_sides_of_the_limit_and_of_the_advice(dives: int | None) -> None:
    """18 h block, 24 h advise (the 2002 workshop says 12 and 18). The hour itself is allowed."""
    second = timedelta(seconds=1)
    for hours, refuses, notes in ((18, False, True), (24, False, False)):
        for early in (False, True):
            flight = Flight("at", BACK + timedelta(hours=hours) - (second if early else timedelta()))
            told = may_dive_before_flight("Ada", flight, BACK, dives, GENERAL)
            assert told.allowed == (not refuses and not (early and hours == 18))
            assert bool(told.notes) == (told.allowed and (notes or early))
    late = may_dive_before_flight(
        "Ada", Flight("at", BACK + timedelta(hours=17, minutes=59)), BACK, 1, GENERAL
    )
    assert [(one.found, one.needed, one.unit) for one in late.reasons] == [("17.9", "at least 18", "h")]
    gone = may_dive_before_flight("Ada", Flight("at", BACK - second), BACK, 1, GENERAL)
    assert gone.reasons[0].found == "before the dive ends"


def test_unknown_is_not_no() -> None:
    """A note until the water, a refusal there; "from" is a time, and a word without its time is none."""
    for flight in (None, Flight(), Flight("unknown"), Flight("at"), Flight("from")):
        before = may_dive_before_flight("Ada", flight, BACK, 1, GENERAL)
        assert before.allowed and "Nobody knows when Ada flies" in before.notes[0].text
        assert not may_dive_before_flight("Ada", flight, BACK, 1, GENERAL, at_entry=True).allowed
    for flight in (NOT_FLYING, Flight("signed"), Flight("from", BACK + timedelta(hours=24))):
        told = may_dive_before_flight("Ada", flight, BACK, 1, GENERAL, at_entry=True)
        assert told.allowed and not told.notes
    assert not may_dive_before_flight("Ada", Flight("from", BACK), BACK, 1, GENERAL).allowed


def test_the_stricter_of_one_and_several_dives() -> None:
    """A shop that waits longer after one dive waits as long after two; nobody goes under 12 h."""
    long_single = shop(no_fly_single=20)
    assert [no_fly_hours(dives, long_single).number for dives in (1, 2, None)] == [20, 20, 20]
    short_single = shop(no_fly_single=12)
    assert [no_fly_hours(dives, short_single).number for dives in (1, 2, None)] == [12, 18, 18]
    assert no_fly_hours(1, shop(no_fly_single=6)).number == 12


def test_a_limit_without_a_value_lets_nobody_fly() -> None:
    unset = limits_for([replace(preset_source(presets.GENERAL), values={L.NO_FLY_REPEAT.key: None})])
    assert flying_times(DivesDone(BACK, 2), unset) is None
    assert not may_dive_before_flight("Ada", Flight("at", BACK + timedelta(days=9)), BACK, 2, unset).allowed


def test_the_longer_source_binds_after_the_dive() -> None:
    """From memory, believed US Navy rev 7 table 9-6: to 8,000 ft group N 19 h 4 min, Z 21 h 1 min."""
    plain = times(DivesDone(BACK, 1, "C"))
    assert (plain.hours, plain.bound_by) == (18, "shipped value")
    assert plain.allowed_from == BACK + timedelta(hours=18)
    assert plain.advised_from == BACK + timedelta(hours=24)
    table = times(DivesDone(BACK, 3, "N"))
    assert table.bound_by == "navy altitude table"
    assert table.allowed_from == BACK + timedelta(hours=19, minutes=4)
    unknown = times(DivesDone(BACK, 1, None, knows_group=False))
    assert (unknown.hours, unknown.rule) == (24, L.NO_FLY_ADVISE.key)


def test_seconds_are_rounded_up_to_the_minute() -> None:
    found = times(DivesDone(BACK + timedelta(seconds=1), 1))
    assert found.allowed_from == BACK + timedelta(hours=18, minutes=1)


@pytest.mark.parametrize(
    ("surfaced", "clock"),
    [
        # The night of 29 March 2026 has no 01:30: 18 h after 15:00 the clock shows 10:00.
        (datetime(2026, 3, 28, 15, 0, tzinfo=LISBON), "10:00"),
        # The night of 25 October 2026 has 01:30 twice: 18 h after 15:00 the clock shows 08:00.
        (datetime(2026, 10, 24, 15, 0, tzinfo=LISBON), "08:00"),
    ],
)
def test_the_two_clock_change_days_count_real_hours(surfaced: datetime, clock: str) -> None:
    back = surfaced.astimezone(UTC)
    found = times(DivesDone(back, 1))
    assert f"{found.allowed_from.astimezone(LISBON):%H:%M}" == clock
    at_that_clock = Flight("at", found.allowed_from)
    assert may_dive_before_flight("Ada", at_that_clock, back, 1, GENERAL).allowed
    sooner = Flight("at", found.allowed_from - timedelta(minutes=1))
    assert not may_dive_before_flight("Ada", sooner, back, 1, GENERAL).allowed


def test_a_booking_counts_the_whole_slot() -> None:
    """A slot of 90 min from 9:00 UTC ends at 10:30; a flight at 4:30 is 18 h later."""
    flight = datetime(2026, 7, 16, 4, 30, tzinfo=UTC)
    people = [("Ada", Flight("at", flight)), ("Bo", NOT_FLYING)]
    assert flights_fit(people, START, GENERAL).allowed
    late = flights_fit(people, START + timedelta(minutes=1), GENERAL)
    assert [one.who for one in late.reasons] == ["Ada"] and late.rules == {L.NO_FLY_SINGLE.key}
    assert flights_fit([], START, GENERAL).allowed


def test_a_group_that_is_late_loses_the_guest_who_flies() -> None:
    """Made at 9:00 with a flight 18 h after its slot; half an hour late it may not go in with that guest."""
    flight = Flight("at", START + timedelta(minutes=90, hours=18))
    flier = guest(1, flight=flight)
    made = group(flier)
    assert may_form(made, GENERAL).allowed
    facts = entry(made, run_minutes=30.0)
    for minutes, refuses in ((60, False), (61, True)):
        told = may_enter_water(facts, GENERAL, START + timedelta(minutes=minutes))
        assert (L.NO_FLY_SINGLE.key in told.rules) is refuses
    sooner = replace(flier, flight=Flight("at", flight.at - timedelta(minutes=1) if flight.at else None))
    assert L.NO_FLY_SINGLE.key in may_form(group(sooner), GENERAL).rules
    again = may_form(group(replace(sooner, dives_today=1)), GENERAL)
    assert L.NO_FLY_REPEAT.key in again.rules


GROUPS = st.sampled_from(["A", "D", "J", "N", "Z"])


@given(
    st.integers(1, 6), GROUPS, st.floats(0, 72 * 60), st.integers(0, 3), GROUPS,
    st.floats(12, 48), st.floats(18, 48), st.floats(24, 72),
)  # fmt: skip
def test_a_later_dive_never_allows_earlier_flying(
    dives: int, first: str, minutes: float, more: int, other: str, single: float, repeat: float, advise: float
) -> None:
    limits = shop(no_fly_single=single, no_fly_repeat=repeat, no_fly_advise=advise)
    before = times(DivesDone(BACK, dives, first), limits)
    after = times(DivesDone(BACK + timedelta(minutes=minutes), dives + more, max(first, other)), limits)
    assert after.allowed_from >= before.allowed_from and after.advised_from >= before.advised_from
    assert before.advised_from >= before.allowed_from >= BACK + timedelta(hours=12)


@given(st.floats(-48, 96), st.floats(0, 48), st.integers(1, 3))
def test_a_later_flight_never_refuses_more(hours: float, later: float, dives: int) -> None:
    flight = Flight("at", BACK + timedelta(hours=hours))
    then = Flight("at", BACK + timedelta(hours=hours + later))
    sooner = may_dive_before_flight("Ada", flight, BACK, dives, GENERAL)
    if sooner.allowed:
        assert may_dive_before_flight("Ada", then, BACK, dives, GENERAL).allowed
    if sooner.allowed and not sooner.notes:
        assert not may_dive_before_flight("Ada", then, BACK, dives, GENERAL).notes

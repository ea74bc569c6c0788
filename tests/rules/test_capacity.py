"""Can the shop take so many more? Each reason, and that more of anything never turns a yes into a no."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules import presets
from app.rules.booking import SlotFacts
from app.rules.capacity import Asked, CapacityFacts, Cylinders, Guide, Kit, group_places, may_take, sizes_left
from app.rules.decision import Decision
from app.rules.guide_day import Left
from app.rules.kit_offers import Piece, Want
from tests.rules_world import DAY, END, GENERAL, GUIDE, START, group, guest

NOW = START - timedelta(hours=2)
CLEAN = END + timedelta(minutes=30)
KINDS = ("suit", "jacket", "regulator")


def rail(*sizes: str, free_from: Any = NOW) -> tuple[Piece, ...]:
    """A suit, a jacket and a regulator for each size."""
    return tuple(
        Piece(number * 10 + place, kind, "" if kind == "regulator" else size, free_from, True)
        for number, size in enumerate(sizes)
        for place, kind in enumerate(KINDS)
    )


def facts(**changes: Any) -> CapacityFacts:
    """A slot with 6 places, nobody booked, one free guide in good water, and kit for four of size M."""
    made = CapacityFacts(
        slot=SlotFacts("10:00 Long Jetty", DAY, START, "open", 6, 0, True),
        waiting=0,
        groups=(),
        guides=(Guide(replace(group(), guests=()), Left.ENOUGH),),
        cylinders=Cylinders(0, 0, ""),
        kit=Kit(rail("M", "M", "M", "M"), (), START, CLEAN, frozenset(KINDS)),
    )
    return replace(made, **changes)


def ask(people: int, found: CapacityFacts, **sizes: int) -> Decision:
    """Ask under the general preset."""
    return may_take(Asked(people, sizes), found, NOW, GENERAL, presets.GENERAL, {})


def test_yes_when_nothing_is_in_the_way() -> None:
    yes = ask(2, facts(), M=2)
    assert yes.allowed and yes.notes == ()


def test_places_and_time() -> None:
    full = facts(slot=SlotFacts("10:00 Long Jetty", DAY, START, "open", 6, 5, True))
    assert ask(2, full).rules == {"places_left"} and ask(1, full).allowed
    shut = facts(slot=SlotFacts("10:00 Long Jetty", DAY, START, "open", 6, 0, False))
    assert ask(1, shut).rules == {"places_left"}
    begun = may_take(Asked(1, {}), facts(), START, GENERAL, presets.GENERAL, {})
    assert begun.rules == {"booking_closes_before"}
    assert "party_size_max" in ask(13, facts()).rules


def test_guides_by_ratio_groups_and_guests_who_wait() -> None:
    assert ask(3, facts()).rules == {"guide_required"}
    with_group = facts(groups=(group(guest(1)),))
    assert group_places(with_group, presets.GENERAL, {}) == 1
    assert ask(3, with_group).allowed
    assert ask(3, replace(with_group, waiting=1)).rules == {"guide_required"}
    assert ask(1, facts(guides=())).reasons[0].text == "No guide is free for them."


def test_a_guide_without_papers_time_or_nitrogen_is_named() -> None:
    late = replace(GUIDE, cpr_o2_until=DAY - timedelta(days=1))
    no_papers = facts(guides=(Guide(replace(group(), guests=(), guide=late), Left.ENOUGH),))
    assert ask(1, no_papers).rules == {"guide_required", "cpr_o2_valid"}
    tired = facts(guides=(Guide(replace(group(), guests=()), Left.NOT_ENOUGH),))
    assert ask(1, tired).rules == {"guide_required", "nitrogen_gradient_factor"}
    table = ask(1, facts(guides=(Guide(replace(group(), guests=()), Left.TABLE_ASKS),)))
    assert table.allowed and "navy table" in table.notes[0].text


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Cylinders(2, 0, "09:00"), "no cylinder for 2 people"),
        (Cylinders(0, 1, "10:25"), "not all full and cool before 10:25"),
        (Cylinders(0, None, ""), "Nobody wrote down what the compressor delivers"),
        (Cylinders(0, 0, "09:00", ("14:00 Long Jetty",)), "leave 14:00 Long Jetty short"),
    ],
)
def test_cylinders(found: Cylinders, words: str) -> None:
    no = ask(1, facts(cylinders=found))
    assert no.rules == {"cylinder_given"} and words in no.reasons[0].text


def test_kit_by_size_after_those_who_are_booked_and_after_rinsing() -> None:
    booked = tuple(Want(number, "jacket", ("M", "L"), START, CLEAN) for number in (1, 2, 3))
    taken = replace(facts().kit, wants=booked)
    assert sizes_left("jacket", taken) == {"M": 1}
    no = ask(2, facts(kit=taken), M=2)
    assert no.rules == {"kit_free"} and "1 of size M" in no.reasons[0].text
    assert ask(1, facts(kit=taken), M=1).allowed
    # One larger is worth trying, one smaller is not.
    assert ask(1, facts(kit=taken), S=1).allowed and not ask(1, facts(kit=taken), L=1).allowed
    wet = replace(facts().kit, pieces=rail("M", "M", free_from=START + timedelta(minutes=5)))
    assert sizes_left("jacket", wet) == {} and "kit_free" in ask(1, facts(kit=wet)).rules
    none = replace(facts().kit, pieces=(), kinds=frozenset())
    unlisted = ask(1, facts(kit=none))
    assert unlisted.allowed and len(unlisted.notes) == len(KINDS)


def test_a_later_slot_is_not_left_without_its_kit() -> None:
    later = START + timedelta(minutes=60)
    wants = (Want(1, "jacket", ("M",), later, later + timedelta(hours=2)),)
    kit = replace(facts().kit, pieces=rail("M"), wants=wants)
    assert ask(1, facts(kit=kit), M=1).rules == {"kit_rinsed"}


@given(st.integers(1, 6), st.integers(0, 6), st.integers(0, 5), st.integers(0, 3))
def test_asking_for_fewer_is_never_harder(people: int, taken: int, late: int, waiting: int) -> None:
    found = facts(
        slot=SlotFacts("10:00 Long Jetty", DAY, START, "open", 6, taken, True),
        cylinders=Cylinders(0, late, "10:25"),
        waiting=waiting,
    )
    if ask(people, found).allowed:
        assert all(ask(fewer, found).allowed for fewer in range(1, people))

"""Sharing the rail out among slots: nothing twice at one time, earlier slots first, the best size first."""

from datetime import UTC, datetime, timedelta
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from app.rules.kit_offers import Piece, Want, share_out

NINE = datetime(2026, 7, 15, 9, 0, tzinfo=UTC)


def at(hours: float) -> datetime:
    return NINE + timedelta(hours=hours)


def want(guest: int, begins: float, sizes: tuple[str, ...] = ("M", "L")) -> Want:
    return Want(guest, "suit", sizes, at(begins), at(begins + 2))


def test_the_best_size_that_is_free_in_time_is_offered() -> None:
    pieces = [Piece(1, "suit", "L", NINE, True), Piece(2, "suit", "M", at(1), False)]
    offers, shorts = share_out([want(7, 1)], pieces)
    assert [(one.item_id, one.ready, one.free_from) for one in offers] == [(2, False, at(1))] and not shorts
    offers, _ = share_out([want(7, 0.9)], pieces)
    assert [(one.item_id, one.ready) for one in offers] == [(1, True)]


def test_what_hangs_there_goes_before_what_must_come_back() -> None:
    pieces = [Piece(1, "suit", "M", at(1), False), Piece(2, "suit", "M", NINE, True)]
    assert share_out([want(7, 3)], pieces)[0][0].item_id == 2


def test_the_earlier_slot_chooses_first_and_the_piece_serves_again_when_it_is_back() -> None:
    pieces = [Piece(1, "suit", "M", NINE, True)]
    offers, shorts = share_out([want(2, 3), want(1, 1)], pieces)
    assert [(one.guest_id, one.ready, one.free_from) for one in offers] == [
        (1, True, NINE),
        (2, False, at(3)),
    ]
    assert not shorts
    offers, shorts = share_out([want(2, 2.9), want(1, 1)], pieces)
    assert [one.guest_id for one in offers] == [1]
    assert [(one.guest_id, one.item_id, one.free_from, one.meant_for) for one in shorts] == [(2, 1, at(3), 1)]


def test_nothing_that_fits_is_said_with_the_size() -> None:
    _, shorts = share_out([want(1, 1), want(2, 1, ())], [Piece(1, "suit", "S", NINE, True)])
    assert [(one.guest_id, one.size, one.item_id) for one in shorts] == [(1, "M", None), (2, "", None)]


WANTS = st.lists(
    st.builds(
        want,
        st.integers(1, 9),
        st.sampled_from([1.0, 1.5, 2.0, 3.0, 4.5]),
        st.sampled_from([("M", "L"), ("S", "M"), ("L",)]),
    ),
    max_size=12,
    unique_by=lambda one: one.guest_id,
)
PIECES = st.lists(
    st.builds(
        lambda number, size, hours: Piece(number, "suit", size, at(hours), hours == 0),
        st.integers(1, 6),
        st.sampled_from(["S", "M", "L"]),
        st.sampled_from([0.0, 1.0, 2.5]),
    ),
    max_size=6,
    unique_by=lambda one: one.item_id,
)


@given(WANTS, PIECES)
def test_no_piece_is_offered_to_two_at_one_time_and_each_want_is_answered_once(
    wants: list[Want], pieces: list[Piece]
) -> None:
    offers, shorts = share_out(wants, pieces)
    assert sorted(one.guest_id for one in (*offers, *shorts)) == sorted(one.guest_id for one in wants)
    of_guest, of_piece = {one.guest_id: one for one in wants}, {one.item_id: one for one in pieces}
    for one in offers:
        asked, piece = of_guest[one.guest_id], of_piece[one.item_id]
        assert piece.size in asked.sizes and piece.free_from <= one.free_from <= asked.at
    for one, other in combinations(offers, 2):
        if one.item_id == other.item_id:
            first, second = of_guest[one.guest_id], of_guest[other.guest_id]
            assert first.until <= second.at or second.until <= first.at
    for item_id in {one.item_id for one in offers}:
        ready = [one for one in offers if one.item_id == item_id and one.ready]
        assert len(ready) <= 1

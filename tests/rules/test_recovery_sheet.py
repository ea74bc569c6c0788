"""The words of a recovery sheet: read back however they are typed, and a wrong sign told with its group."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.recovery_sheet import BYTES_NEEDED, SIGNS, Mistyped, read_words, words_from

chance = st.binary(min_size=BYTES_NEEDED, max_size=BYTES_NEEDED)


@given(chance, st.sampled_from([" ", "-", "", " - ", "\n"]))
def test_words_are_read_back_in_any_case_and_with_any_gaps(random: bytes, gap: str) -> None:
    words = words_from(random)
    assert read_words(gap.join(words.split()).lower()) == words
    assert read_words(words.replace("0", "O").replace("1", "l")) == words


@given(chance, st.integers(0, 29), st.sampled_from(SIGNS))
def test_one_wrong_sign_is_told_with_its_group(random: bytes, place: int, sign: str) -> None:
    signs = list(words_from(random).replace(" ", ""))
    if signs[place] == sign:
        return
    signs[place] = sign
    with pytest.raises(Mistyped, match=f"^Group {place // 5 + 1} "):
        read_words("".join(signs))


@given(chance)
def test_two_groups_swapped_are_found(random: bytes) -> None:
    groups = words_from(random).split()
    groups[0], groups[1] = groups[1], groups[0]
    with pytest.raises(Mistyped):
        read_words(" ".join(groups))


@pytest.mark.parametrize("typed", ["", "ABCDE", "UUUUU " * 6, "ÄÖÜßé " * 6, "0" * 31])
def test_nonsense_is_no_sheet(typed: str) -> None:
    with pytest.raises(Mistyped):
        read_words(typed)


def test_too_little_chance_makes_no_sheet() -> None:
    with pytest.raises(ValueError, match="random bytes"):
        words_from(b"short")

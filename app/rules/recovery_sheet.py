"""The words of a recovery sheet: groups of letters and digits that survive being copied by hand.

Letters and digits are Crockford's base 32 (I, L read as 1 and O as 0; U is not used). The last sign of
each group checks the others and the group's place, so that a wrong sign is told with its group.
"""

from collections.abc import Sequence

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
GROUPS, RANDOM_SIGNS = 6, 4
# Random bytes that a sheet is made from, of which 5 bits make each sign: 120 bits in all.
BYTES_NEEDED = GROUPS * RANDOM_SIGNS
# Odd, so that any one wrong sign changes the check.
WEIGHTS = (1, 3, 5, 7)
PLACE_WEIGHT = 11
READ_AS = str.maketrans({"I": "1", "L": "1", "O": "0"})


class Mistyped(ValueError):
    """What was typed is not a recovery sheet; the text says which group to look at."""


def words_from(chance: bytes) -> str:
    """Return the sheet's groups ("7KQ2M 04ZXA ...") made from random bytes; raises ValueError for too few."""
    if len(chance) != BYTES_NEEDED:
        raise ValueError(f"a sheet is made from {BYTES_NEEDED} random bytes")
    values = [byte % len(SIGNS) for byte in chance]
    groups = [values[start : start + RANDOM_SIGNS] for start in range(0, len(values), RANDOM_SIGNS)]
    return " ".join(
        "".join(SIGNS[value] for value in (*group, _check(group, place)))
        for place, group in enumerate(groups, 1)
    )


def read_words(typed: str) -> str:
    """Return typed groups as the sheet has them; raises Mistyped with the group that is wrong."""
    said = "".join(typed.upper().translate(READ_AS).replace("-", " ").split())
    length = RANDOM_SIGNS + 1
    if len(said) != GROUPS * length:
        raise Mistyped(
            f"The sheet has {GROUPS} groups of {length} signs, {GROUPS * length} in all; "
            f"{len(said)} were typed."
        )
    groups = [said[start : start + length] for start in range(0, len(said), length)]
    for place, group in enumerate(groups, 1):
        values = [SIGNS.find(sign) for sign in group]
        if min(values) < 0 or values[-1] != _check(values[:-1], place):
            raise Mistyped(f"Group {place} ({group}) is not as printed on a sheet. Look at it again.")
    return " ".join(groups)


def _check(values: Sequence[int], place: int) -> int:
    total = sum(weight * value for weight, value in zip(WEIGHTS, values, strict=True))
    return (total + PLACE_WEIGHT * place) % len(SIGNS)

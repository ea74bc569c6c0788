"""The US Navy air no-decompression table, as a second opinion: look-ups only, no model.

Enter at the equal or next deeper depth and the equal or next longer time. Bottom time runs from leaving
the surface to leaving the bottom; the way up is 30 ft/min. Depths in feet of sea water; 1 fsw = 0.3063 m
of sea water. All figures from memory, believed US Navy Diving Manual rev 7 (2016), tables 9-7 and 9-8:
they must be compared with the manual before anybody relies on them.
"""

from dataclasses import dataclass
from math import inf

FSW_PER_METRE = 1 / 0.3063
GROUPS = "ABCDEFGHIJKLMNOZ"
# Interval under which two dives count as one, in minutes.
SAME_DIVE_UNDER_MIN = 10
# After a dive that the table has no group for, this long until a dive is taken for the first one again. The
# longest wait of any group is 15 h 50 min; a whole day is our own cautious choice.
AFTER_NO_GROUP_MIN = 24 * 60
# Where 25 fsw has no residual time for the highest groups, the 30 fsw row is used.
NEXT_DEEPER_FOR_RESIDUAL = {25: 30}

# Depth in fsw -> (no-stop limit in min or None for unlimited, longest bottom time for each group).
LIMITS: dict[int, tuple[int | None, tuple[int, ...]]] = {
    10: (None, (57, 101, 158, 245, 426,)),
    15: (None, (36, 60, 88, 121, 163, 217, 297, 449,)),
    20: (None, (26, 43, 61, 82, 106, 133, 165, 205, 256, 330, 461,)),
    25: (1102, (20, 33, 47, 62, 78, 97, 117, 140, 166, 198, 236, 285, 354, 469, 992, 1102,)),
    30: (371, (17, 27, 38, 50, 62, 76, 91, 107, 125, 145, 167, 193, 223, 260, 307, 371,)),
    35: (232, (14, 23, 32, 42, 52, 63, 74, 87, 100, 115, 131, 148, 168, 190, 215, 232,)),
    40: (163, (12, 20, 27, 36, 44, 53, 63, 73, 84, 95, 108, 121, 135, 151, 163,)),
    45: (125, (11, 17, 24, 31, 39, 46, 55, 63, 72, 82, 92, 102, 114, 125,)),
    50: (92, (9, 15, 21, 28, 34, 41, 48, 56, 63, 71, 80, 89, 92,)),
    55: (74, (8, 14, 19, 25, 31, 37, 43, 50, 56, 63, 71, 74,)),
    60: (63, (7, 12, 17, 22, 28, 33, 39, 45, 51, 57, 63,)),
}  # fmt: skip

# Depth in fsw -> residual nitrogen time in min for groups A, B, C ... (shorter rows: no usable value).
RESIDUAL: dict[int, tuple[int, ...]] = {
    10: (58, 101, 159, 246, 427),
    15: (37, 61, 89, 122, 164, 218, 298, 450),
    20: (27, 44, 62, 83, 106, 134, 166, 206, 257, 331, 462),
    25: (21, 34, 48, 63, 79, 98, 118, 141, 167, 198, 237, 286, 354, 470),
    30: (18, 28, 39, 51, 63, 77, 92, 108, 126, 146, 168, 194, 224, 261, 308, 372),
    35: (15, 24, 33, 43, 53, 64, 75, 88, 101, 116, 132, 149, 169, 191, 216, 245),
    40: (13, 21, 29, 37, 45, 55, 64, 74, 85, 97, 109, 122, 136, 152, 169, 188),
    45: (12, 18, 25, 32, 40, 48, 56, 64, 73, 83, 93, 104, 115, 127, 140, 154),
    50: (11, 17, 23, 29, 35, 42, 49, 57, 65, 73, 81, 90, 99, 109, 120, 131),
    55: (10, 15, 20, 26, 32, 38, 44, 51, 58, 65, 72, 80, 88, 96, 105, 114),
    60: (9, 14, 19, 24, 29, 35, 40, 46, 52, 58, 65, 72, 79, 86, 93, 101),
}  # fmt: skip

# Group at the start -> longest interval in min after which it is still group (start, ..., B, A).
INTERVALS: dict[str, tuple[int, ...]] = {
    "A": (140,),
    "B": (76, 216,),
    "C": (55, 131, 271,),
    "D": (52, 107, 183, 323,),
    "E": (52, 104, 159, 235, 375,),
    "F": (52, 104, 157, 211, 288, 428,),
    "G": (52, 104, 157, 209, 263, 340, 480,),
    "H": (52, 104, 157, 209, 261, 316, 392, 532,),
    "I": (52, 104, 157, 209, 261, 313, 368, 444, 584,),
    "J": (52, 104, 157, 209, 261, 313, 366, 420, 496, 636,),
    "K": (52, 104, 157, 209, 261, 313, 366, 418, 472, 549, 689,),
    "L": (52, 104, 157, 209, 261, 313, 366, 418, 470, 524, 601, 741,),
    "M": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 577, 653, 793,),
    "N": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 574, 629, 705, 845,),
    "O": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 574, 627, 681, 757, 898,),
    "Z": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 574, 627, 679, 733, 810, 950,),
}  # fmt: skip


@dataclass(frozen=True)
class TableDive:
    """One dive as the table sees it: depth row, bottom time with residual time added, group after it."""

    depth_fsw: int
    bottom_min: float
    residual_min: int
    group: str | None
    over_limit: bool


def depth_row(depth_m: float) -> int:
    """Return the row in fsw for a depth in metres of sea water: equal or next deeper; raises ValueError."""
    feet = depth_m * FSW_PER_METRE
    for row in LIMITS:
        if feet <= row + 1e-9:
            return row
    raise ValueError(f"the table ends at {max(LIMITS)} fsw; {feet:.0f} fsw was asked")


def no_stop_limit(depth_m: float) -> int | None:
    """Return the no-stop limit in minutes for a single dive; None for unlimited."""
    return LIMITS[depth_row(depth_m)][0]


def group_after(depth_m: float, bottom_min: float) -> str | None:
    """Return the repetitive group after a bottom time; None when the no-stop limit is exceeded.

    On unlimited rows a longer time than the last one listed takes the next group and stays there.
    """
    return _group_in(depth_row(depth_m), bottom_min)


def group_after_interval(group: str, interval_min: float) -> str | None:
    """Return the group after an interval (surface interval credit); None when the next dive is a first one.

    Intervals under 10 min are no interval (raises ValueError): both dives count as one.
    """
    if interval_min < SAME_DIVE_UNDER_MIN:
        raise ValueError("under 10 min both dives count as one")
    down = GROUPS[: GROUPS.index(group) + 1][::-1]
    for after, longest in zip(down, INTERVALS[group], strict=True):
        if interval_min <= longest:
            return after
    return None


def residual_min(group: str, depth_m: float) -> int | None:
    """Return the residual nitrogen time in minutes; None where the table has no usable value."""
    return _residual_in(group, depth_row(depth_m))


def day(dives: tuple[tuple[float, float, float], ...]) -> tuple[TableDive, ...]:
    """Run the dives of a day or two through the table: (depth m, bottom min, interval before it in min) each.

    The interval of the first dive is ignored. A dive over the limit, or deeper than the table goes, has no
    group; what follows it within 24 h then has none either.
    """
    seen: list[TableDive] = []
    for depth_m, bottom, interval in dives:
        before = seen[-1] if seen and not _forgotten(seen[-1], interval) else None
        deeper = depth_m * FSW_PER_METRE > max(LIMITS) + 1e-9
        if deeper:
            seen.append(TableDive(max(LIMITS), bottom, 0, None, True))
        else:
            seen.append(_next_dive(before, depth_row(depth_m), bottom, interval))
    return tuple(seen)


def bottom_time_left(
    earlier: tuple[tuple[float, float, float], ...], depth_m: float, interval_min: float
) -> float | None:
    """Return the longest bottom time in min of the next dive within the no-stop limit; None for unlimited.

    0 when the table allows nothing, or has no value for it.
    """
    row = depth_row(depth_m)
    if not earlier:
        return _time_in(row, 0)
    last = day(earlier)[-1]
    if _forgotten(last, interval_min):
        return _time_in(row, 0)
    if last.group is None:
        return 0.0
    if interval_min < SAME_DIVE_UNDER_MIN:
        return _time_in(max(row, last.depth_fsw), last.bottom_min)
    left = group_after_interval(last.group, interval_min)
    residual = 0 if left is None else _residual_in(left, row)
    # Without a residual time in a limited row nothing can be worked out; an unlimited row needs none.
    return _time_in(row, inf if residual is None else residual)


def group_now(dives: tuple[tuple[float, float, float], ...], interval_min: float) -> str | None:
    """Return the repetitive group an interval after the last dive; None when the next is not repetitive.

    Under 10 min the group is still the one after the dive. Raises ValueError when the table has no group.
    """
    if not dives:
        return None
    last = day(dives)[-1]
    if _forgotten(last, interval_min):
        return None
    if last.group is None:
        raise ValueError("the table has no group after these dives")
    return (
        last.group if interval_min < SAME_DIVE_UNDER_MIN else group_after_interval(last.group, interval_min)
    )


def _forgotten(last: TableDive, interval_min: float) -> bool:
    return last.group is None and interval_min >= AFTER_NO_GROUP_MIN


def _time_in(row: int, taken_min: float) -> float | None:
    limit = LIMITS[row][0]
    return None if limit is None else max(0.0, limit - taken_min)


def _next_dive(before: TableDive | None, row: int, bottom: float, interval: float) -> TableDive:
    residual = 0
    if before is not None:
        if before.group is None:
            return TableDive(row, bottom, 0, None, True)
        if interval < SAME_DIVE_UNDER_MIN:
            row, bottom = max(row, before.depth_fsw), bottom + before.bottom_min
        else:
            left = group_after_interval(before.group, interval)
            found = 0 if left is None else _residual_in(left, row)
            if left is not None and found is None:
                return _without_residual(left, row, bottom)
            residual = found or 0
    group = _group_in(row, bottom + residual)
    return TableDive(row, bottom + residual, residual, group, group is None)


def _without_residual(left: str, row: int, bottom: float) -> TableDive:
    """A dive for which the table has no residual time.

    In an unlimited row the diver already holds more nitrogen than the row gives: the group stays as it was
    after the interval, or becomes the row's last one where that is later. In a limited row there is none.
    """
    limit, times = LIMITS[row]
    if limit is not None:
        return TableDive(row, bottom, 0, None, True)
    return TableDive(row, bottom, 0, max(left, GROUPS[len(times)], key=GROUPS.index), False)


def _group_in(row: int, bottom_min: float) -> str | None:
    limit, times = LIMITS[row]
    if limit is not None and bottom_min > limit:
        return None
    for group, longest in zip(GROUPS, times, strict=False):
        if bottom_min <= longest:
            return group
    return GROUPS[min(len(times), len(GROUPS) - 1)]


def _residual_in(group: str, row: int) -> int | None:
    for one in (row, NEXT_DEEPER_FOR_RESIDUAL.get(row, row)):
        times = RESIDUAL[one]
        if GROUPS.index(group) < len(times):
            return times[GROUPS.index(group)]
    return None

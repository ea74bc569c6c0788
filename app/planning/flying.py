"""Hours between diving and flying, from two published sources; the longer one counts.

- Consensus workshop of 2002 on recreational flying after diving, for air dives without symptoms and cabin
  altitudes of 2,000 to 8,000 ft: 12 h after a single no-stop dive, 18 h after several dives in a day or on
  several days, substantially longer than 18 h after dives with stops. It is no guarantee.
- US Navy Diving Manual rev 7 (2016), table 9-6, required interval before ascent to altitude, by the highest
  repetitive group in the last 24 h: from memory, to be compared with the manual. An older edition has other
  figures; they must not be mixed.

Driving over a pass counts as going to altitude. A shop's own stricter hours are handled elsewhere.
"""

from dataclasses import dataclass
from typing import Literal

from app.planning.navy_table import GROUPS

FEET_PER_METRE = 1 / 0.3048
SINGLE_DIVE_H = 12.0
SEVERAL_DIVES_H = 18.0
ALTITUDE_STEP_FT = 1000
# Rows: groups A to O, then Z. Columns: 1,000 to 10,000 ft higher. Minutes.
BEFORE_ALTITUDE_MIN: tuple[tuple[int, ...], ...] = (
    (0, 0, 0, 0, 0, 0, 0, 0, 0, 0),
    (0, 0, 0, 0, 0, 0, 0, 0, 0, 102),
    (0, 0, 0, 0, 0, 0, 0, 0, 108, 383),
    (0, 0, 0, 0, 0, 0, 0, 105, 324, 599),
    (0, 0, 0, 0, 0, 0, 97, 279, 498, 774),
    (0, 0, 0, 0, 0, 92, 244, 426, 645, 920),
    (0, 0, 0, 0, 79, 218, 370, 553, 772, 1047),
    (0, 0, 0, 66, 190, 329, 482, 664, 883, 1158),
    (0, 0, 56, 165, 290, 429, 581, 764, 982, 1258),
    (0, 41, 145, 255, 379, 519, 671, 853, 1072, 1347),
    (30, 123, 227, 337, 461, 600, 753, 935, 1154, 1429),
    (105, 198, 302, 412, 536, 675, 828, 1010, 1229, 1504),
    (174, 268, 372, 481, 606, 745, 897, 1080, 1298, 1574),
    (239, 332, 436, 546, 670, 809, 962, 1144, 1363, 1638),
    (299, 393, 497, 606, 731, 870, 1022, 1205, 1423, 1699),
    (356, 449, 553, 663, 787, 926, 1079, 1261, 1480, 1755),
)


@dataclass(frozen=True)
class BeforeFlying:
    """Hours from surfacing until going to altitude, and which source asked for the most.

    with_stops: the dives had stops, for which the workshop names no figure: hours is then a floor.
    """

    hours: float
    bound_by: Literal["workshop_2002", "navy_table"]
    workshop_h: float
    navy_h: float | None
    with_stops: bool


def navy_interval_min(group: str, higher_by_m: float) -> int:
    """Return the minutes before going this much higher, in the equal or next higher column.

    Raises ValueError for a group the table does not know or for more than 10,000 ft (3,048 m).
    """
    if group not in GROUPS or len(group) != 1:
        raise ValueError(f"a repetitive group is one of {GROUPS}")
    feet = higher_by_m * FEET_PER_METRE
    row = BEFORE_ALTITUDE_MIN[GROUPS.index(group)]
    if feet <= 0:
        return 0
    # Whole feet within rounding noise: 2,438.4 m are 8,000 ft and not a hair more.
    column = -int(-(feet - 1e-6) // ALTITUDE_STEP_FT)
    if column > len(row):
        raise ValueError("the table ends at 10,000 ft, 3,048 m")
    return row[column - 1]


def before_flying(
    dives: int, group: str | None, higher_by_m: float, with_stops: bool = False
) -> BeforeFlying:
    """Return the hours before flying after a number of dives in the last days.

    group: highest repetitive group of the last 24 h; None when the table has none, and then the workshop
    alone speaks. Raises ValueError without a dive.
    """
    if dives < 1:
        raise ValueError("hours before flying need at least one dive")
    workshop = SINGLE_DIVE_H if dives == 1 and not with_stops else SEVERAL_DIVES_H
    navy = None if group is None else navy_interval_min(group, higher_by_m) / 60
    if navy is not None and navy > workshop:
        return BeforeFlying(navy, "navy_table", workshop, navy, with_stops)
    return BeforeFlying(workshop, "workshop_2002", workshop, navy, with_stops)

"""One diver's last two days: the dives done, and what nitrogen leaves for the next dive, by two models.

ZH-L16C with a gradient factor (`nitrogen`) and the navy table (`navy_table`) stand side by side; which of
them binds is decided elsewhere. All minutes are on one clock whose zero does not matter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from app.planning import navy_table, nitrogen
from app.planning.consumption import Sea
from app.planning.plan_parts import EarlierDive
from app.planning.profile import bottom_minutes, group_profile

# Dives that ended longer ago are left out: the slowest tissue (half time 635 min) then holds 4 % of what it
# took up, and the navy table forgets every group in 15 h 50 min (our own cautious choice).
LOOK_BACK_MIN = 48 * 60
DAY_MIN = 24 * 60


@dataclass(frozen=True)
class DoneDive:
    """A dive as logged: minutes when it left the surface and was back, greatest depth in metres."""

    went_min: float
    back_min: float
    depth_m: float


@dataclass(frozen=True)
class Budget:
    """What is left for a dive to a depth that begins at a minute.

    zhl_min, navy_min: no-stop minutes from leaving the surface, None without limit. zhl_share: the fullest
    tissue's share of its limit at the surface under the gradient factor, counted from being long ashore.
    navy_group: the repetitive group when the dive begins, None when it counts as the first one;
    navy_after: the group right after the last dive. navy_knows: False when the table has no figure after
    these dives (over its limit, or deeper than it goes); navy_min is then 0.
    """

    depth_m: float
    zhl_min: float | None
    zhl_compartment: int | None
    zhl_share: float
    navy_min: float | None
    navy_group: str | None
    navy_after: str | None
    navy_knows: bool

    @property
    def navy_is_stricter(self) -> bool:
        """Whether the table leaves less time than ZH-L16C."""
        return self.navy_min is not None and (self.zhl_min is None or self.navy_min < self.zhl_min)


def waypoints(dive: DoneDive, rate_m_min: float) -> tuple[tuple[float, float], ...]:
    """Return a dive as if all of it but the way down and up was spent at its greatest depth.

    rate_m_min: metres a minute, down and up. Raises ValueError for a dive without time or depth.
    """
    run, way = dive.back_min - dive.went_min, dive.depth_m / rate_m_min
    if run <= 0 or dive.depth_m <= 0:
        raise ValueError("a dive has minutes and a depth")
    if run <= 2 * way:
        return ((0.0, 0.0), (run / 2, dive.depth_m), (run, 0.0))
    return group_profile(dive.depth_m, run - way, rate_m_min, rate_m_min, 0.0, 0.0)


def earlier_dives(dives: Sequence[DoneDive], begins_min: float, rate_m_min: float) -> tuple[EarlierDive, ...]:
    """Return the dives that still count for one that begins at a minute, first dive first."""
    counted = _counted(dives, begins_min)
    found = []
    for number, dive in enumerate(counted):
        after = counted[number + 1].went_min if number + 1 < len(counted) else begins_min
        before = counted[number - 1].back_min if number else dive.went_min
        found.append(
            EarlierDive(
                waypoints(dive, rate_m_min),
                max(0.0, dive.went_min - before),
                max(0.0, after - dive.back_min),
            )
        )
    return tuple(found)


def budget(
    dives: Sequence[DoneDive],
    begins_min: float,
    depth_m: float,
    sea: Sea,
    gradient_factor: float,
    rate_m_min: float,
) -> Budget:
    """Return what the dives done leave for a dive to this depth that begins at a minute.

    ZH-L16C: the minutes count from leaving the surface, the way down at rate_m_min included.
    """
    earlier = earlier_dives(dives, begins_min, rate_m_min)
    tissues = nitrogen.carried(
        ((one.waypoints, one.surface_interval_min) for one in earlier), sea.density_kg_m3, sea.surface_bar
    )
    left = nitrogen.no_stop_from_surface(
        tissues, sea.pressure(depth_m), depth_m / rate_m_min, sea.surface_bar, gradient_factor
    )
    table, interval = table_dives(earlier), earlier[-1].surface_interval_min if earlier else 0.0
    return Budget(
        depth_m=depth_m,
        zhl_min=left.minutes,
        zhl_compartment=left.compartment,
        zhl_share=_share(tissues, sea.surface_bar, gradient_factor),
        navy_min=navy_table.bottom_time_left(table, depth_m, interval),
        navy_group=_group(table, interval),
        navy_after=navy_table.day(table)[-1].group if table else None,
        navy_knows=_knows(table, interval),
    )


def table_dives(earlier: Sequence[EarlierDive]) -> tuple[tuple[float, float, float], ...]:
    """Return dives as the navy table reads them: depth m, bottom min, interval before it in min."""
    return tuple(
        (max(depth for _, depth in one.waypoints), bottom_minutes(one.waypoints), one.interval_before_min)
        for one in earlier
    )


def highest_group(dives: Sequence[DoneDive], at_min: float, rate_m_min: float) -> str | None:
    """Return the highest repetitive group that the last 24 h reached; None when the table has no figure.

    That is what the navy's altitude table is entered with. Raises ValueError without a dive in that time.
    """
    seen = navy_table.day(table_dives(earlier_dives(dives, at_min, rate_m_min)))
    groups = [
        one.group
        for one, dive in zip(seen, _counted(dives, at_min), strict=True)
        if dive.back_min > at_min - DAY_MIN
    ]
    if not groups:
        raise ValueError("no dive in the last 24 h")
    if None in groups:
        return None
    return max((group for group in groups if group is not None), key=navy_table.GROUPS.index)


def _counted(dives: Sequence[DoneDive], at_min: float) -> list[DoneDive]:
    """Return the dives that still count at a minute, in the order in which they began.

    Dives that overlap, as two logs of one dive do, become one: all of the time, at the deeper depth.
    """
    counted: list[DoneDive] = []
    for dive in sorted(dives, key=lambda one: one.went_min):
        if not counted or dive.went_min >= counted[-1].back_min:
            counted.append(dive)
            continue
        last = counted[-1]
        counted[-1] = DoneDive(
            last.went_min, max(last.back_min, dive.back_min), max(last.depth_m, dive.depth_m)
        )
    return [one for one in counted if one.back_min > at_min - LOOK_BACK_MIN]


def _share(tissues: nitrogen.Tissues, surface_bar: float, gradient_factor: float) -> float:
    rest = nitrogen.saturated(surface_bar)[0]
    shares = []
    for pressure, m0 in zip(tissues, nitrogen.m0_bar(surface_bar), strict=True):
        limit = surface_bar + gradient_factor * (m0 - surface_bar)
        shares.append(max(0.0, pressure - rest) / (limit - rest))
    return max(shares)


def _group(table: tuple[tuple[float, float, float], ...], interval: float) -> str | None:
    return navy_table.group_now(table, interval) if _knows(table, interval) else None


def _knows(table: tuple[tuple[float, float, float], ...], interval: float) -> bool:
    try:
        navy_table.group_now(table, interval)
    except ValueError:
        return False
    return True

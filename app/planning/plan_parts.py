"""What goes into a group's plan and what comes out: plain, frozen, every number with its unit in the name."""

from dataclasses import dataclass

from app.planning.consumption import Sea
from app.planning.sharing import Sharing


@dataclass(frozen=True)
class EarlierDive:
    """A dive of the same day: waypoints (minute, metre), the surface time before it and after it."""

    waypoints: tuple[tuple[float, float], ...]
    interval_before_min: float
    surface_interval_min: float


@dataclass(frozen=True)
class GroupDiver:
    """One diver of a group. Rates: L/min at the diver's pressure, settled after the first minutes.

    Nine of ten breathe between light and cautious. light_rate_l_min None: the light end is not reckoned.
    """

    id: str
    name: str
    litres: float
    fill_gauge_bar: float
    fill_temp_c: float
    cautious_rate_l_min: float
    expected_rate_l_min: float
    is_guide: bool = False
    earlier_dives: tuple[EarlierDive, ...] = ()
    light_rate_l_min: float | None = None


@dataclass(frozen=True)
class GroupCase:
    """A group's dive. minutes: from leaving the surface to the start of the final ascent."""

    sea: Sea
    depth_m: float
    minutes: float
    descent_m_min: float
    ascent_m_min: float
    stop_m: float
    stop_min: float
    turn_bar: float
    reserve_bar: float
    reserve_rounding_bar: float
    sharing: Sharing
    gradient_factor: float
    divers: tuple[GroupDiver, ...]


@dataclass(frozen=True)
class DiverGas:
    """Gas of one diver on the cautious rate, with the expected end beside it.

    Nine of ten end between end_gauge_bar and light_end_gauge_bar (None: not reckoned; plans frozen before
    there was such a figure lack the key).
    minutes_to_turn, _reserve, _sharing: from leaving the surface, if the group stays at depth; sharing is the
    gauge with which two could still come up. reserve_bound_by: "end_pressure_min" or "sharing_gas".
    """

    id: str
    name: str
    litres: float
    start_gauge_bar: float
    used_bar_litres: float
    used_litres: float
    gauge_at_ascent_bar: float
    end_gauge_bar: float
    expected_end_gauge_bar: float
    minutes_to_turn: float
    minutes_to_reserve: float
    minutes_to_sharing: float
    minutes_to_turn_on_profile: float | None
    out_of_gas_min: float | None
    sharing_gauge_bar: float
    reserve_covers_sharing: bool
    reserve_in_force_bar: float
    reserve_bound_by: str
    latest_ascent_min: float
    light_end_gauge_bar: float | None


@dataclass(frozen=True)
class DiverNitrogen:
    """No-stop minutes of one diver, counted from leaving the surface; None means without limit.

    For guests the stricter model binds, for guides ZH-L16C; binding_model says which one speaks.
    """

    id: str
    name: str
    zhl_minutes_total: float | None
    zhl_compartment: int | None
    navy_minutes_total: float | None
    binding_minutes_total: float | None
    binding_model: str
    navy_is_stricter: bool
    minutes_left: float | None


@dataclass(frozen=True)
class Warn:
    """Something the plan does not keep: a key, whom it concerns, the figure and its unit."""

    key: str
    who: str
    value: float
    unit: str


@dataclass(frozen=True)
class Step:
    """One line of the working: what, the numbers put in, the figure, its unit, where the method comes from.

    formula: the same in words. margin: what was added to be careful. who: id of the diver, empty for the
    whole group. Plans frozen earlier lack the last three.
    """

    what: str
    how: str
    value: float
    unit: str
    source: str
    formula: str = ""
    margin: str = ""
    who: str = ""


@dataclass(frozen=True)
class Point:
    """One moment of the picture: minute, depth, and each diver's gauge on the cautious rate."""

    minute: float
    depth_m: float
    gauges_bar: tuple[float, ...]


@dataclass(frozen=True)
class WhatIf:
    """One cell of the what-if table."""

    depth_m: float
    minutes: float
    lowest_end_gauge_bar: float
    lowest_id: str
    reserve_holds: bool
    no_stop_holds: bool
    is_this_plan: bool


@dataclass(frozen=True)
class GroupPlan:
    """A group's plan at full precision.

    Turning and going up are two decisions. limit: what comes first, and at which minute: "turn_pressure" (the
    first gauge at the turn, so all start back), "reserve", "no_stop" or "planned_minutes". ascent_limit: what
    bounds the start of the way up (latest_ascent_min): one of the last three. Plans frozen earlier lack
    ascent_limit, ascent_limit_who and minutes_to_sharing, and their limit is what bounds the way up.
    """

    waypoints: tuple[tuple[float, float], ...]
    ascent_starts_min: float
    ascent_min: float
    run_min: float
    divers: tuple[DiverGas, ...]
    nitrogen: tuple[DiverNitrogen, ...]
    first_to_turn: str
    minutes_to_first_turn: float
    minutes_to_first_reserve: float
    latest_ascent_min: float
    limit: str
    limit_min: float
    limit_who: str
    ascent_limit: str
    ascent_limit_who: str
    sharing_rate_l_min: float
    warnings: tuple[Warn, ...]
    working: tuple[Step, ...]
    curve: tuple[Point, ...]

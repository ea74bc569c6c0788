"""Reading a case for ``daybuoy plan``: every key named, every range said, nothing guessed."""

import json
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import Any

from app.planning.consumption import Sea
from app.planning.sharing import Sharing

KEYS = (
    "water_temp_c", "water_density_kg_m3", "surface_pressure_bar", "profile_min_m", "final_ascent_starts_min",
    "sharing", "nostop", "divers",
)  # fmt: skip
SHARING_KEYS = (
    "divers", "stress_factor", "reaction_min", "ascent_rate_m_min", "stop_depth_m", "stop_min",
    "residual_gauge_bar",
)  # fmt: skip
DIVER_KEYS = ("id", "cylinder_litres", "fill_gauge_bar", "fill_temp_c", "rmv_l_per_min")
DEEPEST_M = 100.0
LONGEST_MIN = 1440.0
LONGEST_QUOTE = 60
LOWEST_RATE, HIGHEST_RATE = 0.1, 300.0


class Unusable(Exception):
    """The case cannot be used; the text is one line naming the key and what it may hold."""


@dataclass(frozen=True)
class Before:
    """An earlier dive and the time at the surface after it."""

    waypoints: tuple[tuple[float, float], ...]
    surface_interval_min: float


@dataclass(frozen=True)
class Diver:
    """One diver: cylinder as filled, and a gas rate in L/min for each segment."""

    id: str
    litres: float
    fill_gauge_bar: float
    fill_temp_c: float
    rates: tuple[float, ...]


@dataclass(frozen=True)
class Case:
    """A whole case, checked."""

    sea: Sea
    waypoints: tuple[tuple[float, float], ...]
    ascent_starts_min: float
    sharing: Sharing
    gradient_factor: float
    previous_dives: tuple[Before, ...]
    divers: tuple[Diver, ...]


def read_case(raw: bytes) -> Case:
    """Return the case of a JSON text in UTF-8; raises Unusable for the first thing wrong with it."""
    try:
        data = json.loads(raw.decode("utf-8-sig"), object_pairs_hook=_once)
    except UnicodeDecodeError:
        raise Unusable("case: is not UTF-8 text") from None
    except RecursionError:
        raise Unusable("case: is nested too deeply") from None
    except ValueError as error:
        raise Unusable(f"case: is not JSON ({error})") from None
    top = _object(data, "case", KEYS)
    temp = _number(top, "water_temp_c", -2, 40)
    density = _number(top, "water_density_kg_m3", 950, 1300)
    surface = _number(top, "surface_pressure_bar", 0.5, 1.1)
    waypoints = _profile(top["profile_min_m"], "profile_min_m")
    ascent = _number(top, "final_ascent_starts_min", 0, waypoints[-1][0])
    share = _object(top["sharing"], "sharing", SHARING_KEYS)
    stops = _object(top["nostop"], "nostop", ("gf", "previous_dives"))
    return Case(
        sea=Sea(temp, density, surface),
        waypoints=waypoints,
        ascent_starts_min=ascent,
        sharing=Sharing(
            divers=_whole(share, "sharing.divers", 1, 10),
            stress_factor=_number(share, "sharing.stress_factor", 0.1, 10),
            reaction_min=_number(share, "sharing.reaction_min", 0, 60),
            ascent_rate_m_min=_number(share, "sharing.ascent_rate_m_min", 0.5, 60),
            stop_depth_m=_number(share, "sharing.stop_depth_m", 0, DEEPEST_M),
            stop_min=_number(share, "sharing.stop_min", 0, 60),
            residual_gauge_bar=_number(share, "sharing.residual_gauge_bar", 0, 100),
        ),
        gradient_factor=_number(stops, "nostop.gf", 0.05, 1),
        previous_dives=tuple(
            _before(one, f"nostop.previous_dives[{n}]")
            for n, one in enumerate(_list(stops["previous_dives"], "nostop.previous_dives", 0, 50))
        ),
        divers=_divers(top["divers"], len(waypoints) - 1),
    )


def _divers(value: Any, segments: int) -> tuple[Diver, ...]:
    divers: list[Diver] = []
    for n, one in enumerate(_list(value, "divers", 1, 100)):
        where = f"divers[{n}]"
        row = _object(one, where, DIVER_KEYS)
        name = row["id"]
        if not isinstance(name, str) or not name.strip():
            raise Unusable(f"{where}.id must be a text that is not empty, not {_quoted(name)}")
        if any(diver.id == name for diver in divers):
            raise Unusable(f"{where}.id must differ from the other divers' ids; {_quoted(name)} stands twice")
        said = row["rmv_l_per_min"]
        if isinstance(said, list):
            if len(said) != segments:
                raise Unusable(
                    f"{where}.rmv_l_per_min must be a number between {LOWEST_RATE:g} and {HIGHEST_RATE:g}, "
                    f"or a list of {segments} of them, one for each segment"
                )
            rates = tuple(
                _in_range(r, f"{where}.rmv_l_per_min[{i}]", LOWEST_RATE, HIGHEST_RATE)
                for i, r in enumerate(said)
            )
        else:
            rates = (_in_range(said, f"{where}.rmv_l_per_min", LOWEST_RATE, HIGHEST_RATE),) * segments
        divers.append(
            Diver(
                id=name,
                litres=_number(row, f"{where}.cylinder_litres", 0.5, 50),
                fill_gauge_bar=_number(row, f"{where}.fill_gauge_bar", 0, 300),
                fill_temp_c=_number(row, f"{where}.fill_temp_c", -5, 69),
                rates=rates,
            )
        )
    return tuple(divers)


def _before(value: Any, where: str) -> Before:
    row = _object(value, where, ("profile_min_m", "surface_interval_min"))
    return Before(
        _profile(row["profile_min_m"], f"{where}.profile_min_m"),
        _number(row, f"{where}.surface_interval_min", 0, 1e6),
    )


def _profile(value: Any, where: str) -> tuple[tuple[float, float], ...]:
    points = []
    for n, point in enumerate(_list(value, where, 2, 1000)):
        pair = _list(point, f"{where}[{n}]", 2, 2)
        points.append(
            (
                _in_range(pair[0], f"{where}[{n}][0]", 0, LONGEST_MIN),
                _in_range(pair[1], f"{where}[{n}][1]", 0, DEEPEST_M),
            )
        )
    if points[0] != (0.0, 0.0):
        raise Unusable(f"{where}[0] must be [0, 0]: a profile begins at minute 0 at the surface")
    for n, ((before, _), (after, _)) in enumerate(pairwise(points), 1):
        if after <= before:
            raise Unusable(f"{where}[{n}][0] must be a number above {before:g}, the minute before it")
    if points[-1][1] != 0:
        raise Unusable(f"{where}[{len(points) - 1}][1] must be 0: a profile ends at the surface")
    return tuple(points)


def _object(value: Any, where: str, keys: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise Unusable(f"{where} must be an object with the keys {', '.join(keys)}, not {_quoted(value)}")
    for key in value:
        if key not in keys:
            raise Unusable(f"{where}: unknown key {_quoted(key)}; it holds {', '.join(keys)}")
    for key in keys:
        if key not in value:
            raise Unusable(f"{where}: missing key {_quoted(key)}; it holds {', '.join(keys)}")
    return value


def _list(value: Any, where: str, least: int, most: int) -> list[Any]:
    if not isinstance(value, list) or not least <= len(value) <= most:
        how_many = f"{least}" if least == most else f"{least} to {most}"
        raise Unusable(f"{where} must be a list of {how_many} entries, not {_quoted(value)}")
    return value


def _number(row: dict[str, Any], where: str, low: float, high: float) -> float:
    return _in_range(row[where.rpartition(".")[2]], where, low, high)


def _whole(row: dict[str, Any], where: str, low: int, high: int) -> int:
    number = _number(row, where, low, high)
    if number != int(number):
        raise Unusable(f"{where} must be a whole number between {low} and {high}, not {_quoted(number)}")
    return int(number)


def _in_range(value: Any, where: str, low: float, high: float) -> float:
    fits = isinstance(value, int | float) and not isinstance(value, bool) and _finite(value)
    if not fits or not low <= value <= high:
        raise Unusable(f"{where} must be a number between {low:g} and {high:g}, not {_quoted(value)}")
    return float(value)


def _finite(value: float) -> bool:
    try:
        return isfinite(value)
    except OverflowError:
        return False


def _quoted(value: Any) -> str:
    """Return a value as JSON for an error line: plain ASCII, one line, cut when long."""
    try:
        text = json.dumps(value)
    except ValueError:
        return "a number beyond any measure"
    return text if len(text) <= LONGEST_QUOTE else text[:LONGEST_QUOTE] + "..."


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise Unusable(f"case: the key {_quoted(key)} stands twice in one object")
        found[key] = value
    return found

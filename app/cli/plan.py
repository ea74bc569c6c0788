"""``daybuoy plan CASE.json``: gas, sharing gas and no-stop time of one case, at full precision.

Touches no database, reads no clock; the same input gives the same output.
"""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from app.cli.plan_case import Case, Diver, Unusable, read_case
from app.planning import consumption, cylinder, nitrogen, profile, sharing
from app.planning.air import HIGHEST_BAR, REFERENCE_DENSITY_G_L

UNUSABLE = 2


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``plan`` takes."""
    parser.add_argument("case", metavar="CASE.json", help="the case as JSON; - reads standard input")


def run(chosen: argparse.Namespace) -> int:
    """Print the answer as JSON; 2 and one line on standard error for a case that cannot be used."""
    try:
        raw = sys.stdin.buffer.read() if chosen.case == "-" else Path(chosen.case).read_bytes()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "not a file name"
        return _refuse(f"{json.dumps(chosen.case)} cannot be read: {why}")
    try:
        answer = answer_of(read_case(raw))
    except Unusable as error:
        return _refuse(str(error))
    print(json.dumps(answer, indent=1, allow_nan=False))
    return 0


def answer_of(case: Case) -> dict[str, Any]:
    """Work one case out; keys and meanings are fixed, numbers are not rounded."""
    sea = case.sea
    deepest = max(depth for _, depth in case.waypoints)
    largest = max(max(diver.rates) for diver in case.divers)
    tissues = nitrogen.carried(
        ((before.waypoints, before.surface_interval_min) for before in case.previous_dives),
        sea.density_kg_m3,
        sea.surface_bar,
    )
    whole = profile.segments(case.waypoints, 1.0)
    at_ascent = nitrogen.dive(
        tissues, profile.cut_at(whole, case.ascent_starts_min), sea.density_kg_m3, sea.surface_bar
    )
    stay_m = profile.depth_at(case.waypoints, case.ascent_starts_min)
    left = nitrogen.no_stop(at_ascent, sea.pressure(stay_m), sea.surface_bar, case.gradient_factor)
    end = nitrogen.dive(tissues, whole, sea.density_kg_m3, sea.surface_bar)
    return {
        "shared_ascent_min": sharing.minutes_up(deepest, case.sharing),
        "nostop_remaining_min_at_final_ascent": left.minutes,
        "nostop_limiting_compartment": left.compartment,
        "surfacing_max_tissue_fraction_of_M0": nitrogen.surfacing_fraction(end, sea.surface_bar),
        "divers": [_diver(case, diver, deepest, largest, stay_m) for diver in case.divers],
    }


def _diver(case: Case, diver: Diver, deepest: float, largest: float, stay_m: float) -> dict[str, Any]:
    sea = case.sea
    start = cylinder.settled_gauge(diver.fill_gauge_bar, diver.fill_temp_c, sea.temp_c, sea.surface_bar)
    own = consumption.Cylinder(diver.litres, start)
    pieces = profile.segments(case.waypoints, diver.rates)
    before = profile.cut_at(pieces, case.ascent_starts_min)
    # The last rate used before the ascent; at minute 0 nothing was used yet, so the first one counts.
    last_rate = before[-1].rate_l_min if before else pieces[0].rate_l_min
    used_g = consumption.mass_g(pieces, sea)
    out = consumption.out_of_gas_minute(own, pieces, sea)
    try:
        least = sharing.sharing_gauge_bar(diver.litres, deepest, largest, case.sharing, sea)
    except ValueError:
        raise Unusable(
            f"divers {json.dumps(diver.id)}: cylinder_litres {diver.litres:g} is too small for the shared "
            f"ascent; its minimum gas must be between 0 and {HIGHEST_BAR:g} bar absolute"
        ) from None

    def on_profile(gauge: float) -> float | None:
        return consumption.minute_at_gauge(own, pieces, gauge, sea)

    def staying(gauge: float) -> float:
        return consumption.minute_at_gauge_staying(own, before, stay_m, last_rate, gauge, sea)

    return {
        "id": diver.id,
        "start_gauge_bar_at_water_temp": start,
        "used_bar_litres": consumption.bar_litres(pieces, sea),
        "used_litres_15C_1.01325bar": used_g / REFERENCE_DENSITY_G_L,
        "end_gauge_bar": None if out is not None else consumption.gauge_after(own, used_g, sea),
        "out_of_gas_min_on_profile": out,
        "min_to_100_bar_if_staying": staying(100.0),
        "min_to_50_bar_if_staying": staying(50.0),
        "min_to_100_bar_on_profile": on_profile(100.0),
        "min_to_50_bar_on_profile": on_profile(50.0),
        "minimum_gas_gauge_bar_at_max_depth": least,
        "min_to_minimum_gas_if_staying": staying(least),
    }


def _refuse(line: str) -> int:
    print("daybuoy plan:", " ".join(line.split()), file=sys.stderr)
    return UNUSABLE

"""Cases for ``daybuoy plan`` and a way to ask it in process."""

import contextlib
import copy
import io
import json
import sys
from typing import Any

from app.cli import main

BASE: dict[str, Any] = {
    "water_temp_c": 17,
    "water_density_kg_m3": 1025.5,
    "surface_pressure_bar": 1.01325,
    "profile_min_m": [[0, 0], [1, 9], [31, 9], [31.45, 5], [34.45, 5], [35, 0]],
    "final_ascent_starts_min": 31,
    "sharing": {
        "divers": 2, "stress_factor": 2.0, "reaction_min": 1.0, "ascent_rate_m_min": 9.0,
        "stop_depth_m": 5.0, "stop_min": 3.0, "residual_gauge_bar": 10.0,
    },
    "nostop": {"gf": 1.0, "previous_dives": []},
    "divers": [
        {"id": "a", "cylinder_litres": 12, "fill_gauge_bar": 200, "fill_temp_c": 17, "rmv_l_per_min": 20}
    ],
}  # fmt: skip


def case(**changes: Any) -> dict[str, Any]:
    """Return the base case with keys changed; ``diver``, ``share`` and ``stops`` change inside."""
    made = copy.deepcopy(BASE)
    made["divers"][0].update(changes.pop("diver", {}))
    made["sharing"].update(changes.pop("share", {}))
    made["nostop"].update(changes.pop("stops", {}))
    made.update(changes)
    return made


def plan(asked: dict[str, Any]) -> dict[str, Any]:
    """Return what the command answers to a case on standard input."""
    said, kept = io.StringIO(), sys.stdin
    sys.stdin = io.TextIOWrapper(io.BytesIO(json.dumps(asked).encode()))
    try:
        with contextlib.redirect_stdout(said):
            status = main(["plan", "-"])
    finally:
        sys.stdin = kept
    assert status == 0
    answer: dict[str, Any] = json.loads(said.getvalue())
    return answer

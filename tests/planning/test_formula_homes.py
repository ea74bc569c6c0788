"""Each formula has one home, and one search for its usual name finds it."""

from importlib import import_module
from pathlib import Path

import pytest

import app.planning

SOURCES = {file.stem: file.read_text() for file in Path(app.planning.__path__[0]).glob("*.py")}
# The name to search for; the one module of app/planning that says it; what works it out there.
HOMES = [
    ("virial", "air", "density"),
    ("constant volume", "cylinder", "settled_gauge"),
    ("EN 13319", "water", "pressure_at"),
    ("ISO 2533", "water", "surface_bar_at"),
    ("EOS-80", "water_density", "density_kg_m3"),
    ("bar.L of a straight piece", "consumption", "bar_litres"),
    ("pressure around it", "consumption", "out_of_gas_minute"),
    ("sharing gas", "sharing", "sharing_gauge_bar"),
    ("way up begins", "profile", "bottom_minutes"),
    ("Haldane", "nitrogen", "stay"),
    ("Schreiner", "nitrogen", "travel"),
    ("closed form", "nitrogen", "no_stop"),
    ("surface interval credit", "navy_table", "group_after_interval"),
    ("residual nitrogen", "navy_table", "residual_min"),
    ("consensus workshop", "flying", "before_flying"),
    ("equivalent", "oxygen", "acts_like_ppm"),
    ("free air delivery", "filling", "charging_minutes"),
    ("in cascade", "filling", "cascade"),
    ("Archimedes", "weights", "suggest"),
    ("Mosteller", "weights", "Body"),
    ("Huber", "breathing", "learn"),
    ("Student", "breathing", "student_t_95"),
    ("another cylinder", "edge_reading", "reading_agrees"),
    ("Garwood", "event_rates", "count_interval"),
]


@pytest.mark.parametrize(("name", "module", "home"), HOMES)
def test_a_formula_is_found_by_its_name_in_one_module(name: str, module: str, home: str) -> None:
    said = [stem for stem, source in SOURCES.items() if name.lower() in source.lower()]
    assert said == [module]
    assert callable(getattr(import_module(f"app.planning.{module}"), home))


@pytest.mark.parametrize("word", ["9.80665", "0.7902", "0.0627", "2.25577e-5", "0.3063"])
def test_a_constant_stands_in_one_place(word: str) -> None:
    """Gravity, nitrogen's share, water vapour, the lapse of the air, a foot of sea water."""
    lines = [line for source in SOURCES.values() for line in source.splitlines()]
    assert (
        len([line for line in lines if line[:1].isupper() and f"= {word}" in line.replace("1 / ", "")]) == 1
    )

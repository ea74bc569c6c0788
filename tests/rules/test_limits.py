"""The shipped values, written down a second time by hand: a changed number means changing two files."""

import re
from pathlib import Path

import pytest

from app.rules import limits, presets
from app.rules.limits import Value

ROOT = Path(__file__).resolve().parents[2]

# key, value, unit, direction, hard, words of the source as published (or that there is none)
SHIPPED: tuple[tuple[str, Value, str, str, bool, str], ...] = (
    ("depth_max_open_water", 12, "m", "max", True, "ISO 11121"),
    ("depth_plan_default", 10, "m", "max", False, "our own cautious choice"),
    ("depth_max_confined", 4, "m", "max", False, "Malta"),
    ("depth_max_age_8_9", 2, "m", "max", False, "common practice"),
    ("depth_max_age_10_11", 5, "m", "max", False, "common practice"),
    ("depth_max_age_12_14", 8, "m", "max", False, "common practice"),
    ("depth_max_age_15_17", 10, "m", "max", False, "common practice"),
    ("age_min_open_water", 10, "years", "min", True, "common practice"),
    ("age_min_pool", 8, "years", "min", True, "common practice"),
    ("majority_age", 18, "years", "min", False, "local law"),
    ("bottom_time_max", 35, "min", "max", False, "our own cautious choice"),
    ("minutes_max_age_8_9", 20, "min", "max", False, "common practice"),
    ("minutes_max_age_10_11", 25, "min", "max", False, "common practice"),
    ("ascent_rate_max", 9, "m/min", "max", False, "US Navy Diving Manual rev 7"),
    ("safety_stop_minutes", 3, "min", "min", False, "common practice"),
    ("safety_stop_depth", 5, "m", "min", False, "common practice"),
    ("safety_stop_from_depth", 6, "m", "max", False, "common practice"),
    ("no_stop_left_min", 1, "min", "min", False, "Real Decreto 550/2020"),
    ("nitrogen_gradient_factor", 0.85, "share of the limit", "max", False, "our own cautious choice"),
    ("dives_per_guest_per_day", 2, "dives", "max", False, "our own cautious choice"),
    ("surface_interval_min", 60, "min", "min", False, "common practice"),
    ("no_fly_single", 18, "h", "min", False, "2002 consensus workshop"),
    ("no_fly_repeat", 18, "h", "min", False, "2002 consensus workshop"),
    ("no_fly_advise", 24, "h", "min", False, "our own cautious choice"),
    ("ratio_open_water_good", 2, "guests", "max", False, "Thailand, marine measures of 22 Apr 2025"),
    ("ratio_open_water_fair", 2, "guests", "max", False, "our own cautious choice"),
    ("ratio_open_water_poor", 1, "guests", "max", False, "Queensland Coroners Court"),
    ("ratio_open_water_ceiling", 4, "guests", "max", True, "ISO 11121"),
    ("ratio_confined", 4, "guests", "max", False, "our own cautious choice"),
    ("ratio_with_minor_8_9", 1, "guests", "max", False, "common practice"),
    ("ratio_with_minor_10_11", 1, "guests", "max", False, "our own cautious choice"),
    ("ratio_with_minor_12_17", 2, "guests", "max", False, "common practice"),
    ("assistant_bonus", 0, "guests", "max", False, "from memory"),
    ("surface_watch_required", True, "yes/no", "flag", False, "UK HSE"),
    ("safety_diver_required", False, "yes/no", "flag", False, "UK HSE"),
    ("visibility_fair_below", 8, "m", "min", False, "our own cautious choice"),
    ("visibility_poor_below", 5, "m", "min", False, "our own cautious choice"),
    ("visibility_nogo_below", 3, "m", "min", False, "our own cautious choice"),
    ("current_poor_above", 0.25, "m/s", "max", False, "our own cautious choice"),
    ("current_nogo_above", 0.5, "m/s", "max", False, "our own cautious choice"),
    ("start_pressure_min", 180, "bar", "min", False, "our own cautious choice"),
    ("turn_pressure", 100, "bar", "min", False, "common practice"),
    ("end_pressure_min", 50, "bar", "min", True, "New Zealand coroner"),
    ("reserve_rounding", 10, "bar", "min", False, "our own cautious choice"),
    ("pressure_check_interval", 5, "min", "max", False, "our own cautious choice"),
    ("sharing_divers", 2, "people", "min", False, "common practice"),
    ("sharing_stress_factor", 1.5, "times", "min", False, "our own cautious choice"),
    ("sharing_reaction_minutes", 1, "min", "min", False, "common practice"),
    ("sharing_residual", 10, "bar", "min", False, "from memory"),
    ("gauge_lowest_start", 1, "bar", "min", False, "our own cautious choice"),
    ("gauge_highest", 300, "bar", "max", False, "our own cautious choice"),
    ("cylinder_visual_every", 12, "months", "max", False, "BS EN ISO 18119:2018"),
    ("cylinder_pressure_test_every", 60, "months", "max", True, "BS EN ISO 18119:2018"),
    ("cylinder_test_notice", 60, "days", "min", False, "our own cautious choice"),
    ("air_oxygen_min", 20, "% oxygen", "min", True, "EN 12021:2014"),
    ("air_oxygen_max", 22, "% oxygen", "max", True, "EN 12021:2014"),
    ("air_co_max", 5, "ppm", "max", True, "EN 12021:2014"),
    ("air_co2_max", 500, "ppm", "max", True, "EN 12021:2014"),
    ("air_oil_max", 0.5, "mg/m³", "max", True, "EN 12021:2014"),
    ("air_water_max", 50, "mg/m³", "max", True, "EN 12021:2014"),
    ("air_water_max_high", 35, "mg/m³", "max", True, "EN 12021:2014"),
    ("air_water_high_above", 200, "bar", "max", True, "EN 12021:2014"),
    ("compressor_filter_hours", 25, "h", "max", False, "the maker's manual"),
    ("compressor_oil_hours", 100, "h", "max", False, "the maker's manual"),
    ("compressor_hours_notice", 5, "h", "min", False, "our own cautious choice"),
    ("fill_gas_temp", 40, "°C", "min", False, "common practice"),
    ("fill_cooling_minutes", 30, "min", "min", False, "common practice"),
    ("fill_handling_minutes", 3, "min", "min", False, "common practice"),
    ("compressor_air_test_every", 6, "months", "max", False, "our own cautious choice"),
    ("count_methods", 2, "counts", "min", True, "Water Activities Regulation 2024, s 15"),
    ("count_active_methods", 1, "counts", "min", True, "Regulation 2024, s 15"),
    ("recounts_before_emergency", 1, "counts", "max", True, "Regulation 2024, s 16"),
    ("overdue_after_planned_exit_warn", 5, "min", "max", False, "our own cautious choice"),
    ("overdue_after_planned_exit_emergency", 10, "min", "max", False, "our own cautious choice"),
    ("oxygen_flow", 15, "L/min", "min", False, "ISO 24803"),
    ("oxygen_min", 300, "L", "min", True, "ISO 24803"),
    ("emergency_kit_check_age", 0, "days", "max", True, "our own cautious choice"),
    ("emergency_drill_every", 90, "days", "max", False, "our own cautious choice"),
    ("declaration_valid_for", 30, "days", "max", False, "our own cautious choice"),
    ("consent_valid_for", 30, "days", "max", False, "our own cautious choice"),
    ("screening_any_flag_blocks", True, "yes/no", "flag", True, "stricter than"),
    ("guardian_consent", True, "yes/no", "flag", True, "ISO 24803:2017"),
    ("instructor_credential_valid", True, "yes/no", "flag", True, "UK HSE"),
    ("cpr_o2_valid", True, "yes/no", "flag", True, "Queensland workplace regulator"),
    ("diver_medical_valid", True, "yes/no", "flag", True, "UK HSE"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("key", "value", "unit", "direction", "hard", "source"), SHIPPED, ids=[row[0] for row in SHIPPED]
)
def test_shipped_value(key: str, value: Value, unit: str, direction: str, hard: bool, source: str) -> None:
    limit = limits.ALL[key]
    assert (limit.value, limit.unit, limit.direction, limit.hard) == (value, unit, direction, hard)
    assert source in limit.source


def test_skills_required() -> None:
    assert limits.SKILLS_REQUIRED_SET.value == (
        "mask_clear",
        "regulator_recover",
        "air_sharing",
        "inflate_at_surface",
        "drop_weights",
        "equalise",
        "read_gauge",
        "hand_signals",
    )
    assert limits.SKILLS_REQUIRED_SET.hard


# Limits that a manager may loosen, and how far; every other limit may only be tightened.
LOOSENABLE: dict[str, Value] = {
    "depth_plan_default": 12,
    "no_fly_single": 12,
    "ratio_open_water_good": 4,
    "ratio_confined": 8,
    "assistant_bonus": 2,
    "start_pressure_min": 150,
    "cylinder_visual_every": 30,
    "compressor_filter_hours": 200,
    "compressor_oil_hours": 2000,
    "fill_gas_temp": 25,
    "fill_cooling_minutes": 0,
    "fill_handling_minutes": 0,
    "kit_rinse_minutes": 5,
    "kit_hood_below": 0,
    "party_size_max": 30,
    "booking_closes_before": 0,
    "slot_length": 30,
}


def test_only_these_may_be_loosened_and_only_so_far() -> None:
    loose = {key: limit.outermost for key, limit in limits.ALL.items() if limit.outermost != limit.value}
    assert loose == LOOSENABLE
    assert not any(limits.ALL[key].hard for key in LOOSENABLE)


def test_every_limit_has_its_words_and_its_name() -> None:
    for key, limit in limits.ALL.items():
        assert limit.key == key
        assert re.fullmatch(r"[a-z][a-z0-9_]*", key)
        assert limit.unit and limit.what and limit.source
        assert getattr(limits, key.upper()) is limit


def test_every_limit_is_used_outside_the_registry() -> None:
    registry = {Path("app/rules/limits.py"), Path("app/rules/presets.py")}
    code = "\n".join(
        path.read_text(encoding="utf-8")
        for path in sorted((ROOT / "app").rglob("*.py"))
        if path.relative_to(ROOT) not in registry
    )
    used = set(re.findall(r"\b[A-Z][A-Z0-9_]+\b", code))
    assert [key for key in limits.ALL if key.upper() not in used] == []


def test_a_limit_cannot_be_written_twice() -> None:
    with pytest.raises(ValueError, match="twice"):
        limits._row("turn_pressure", 90, "bar", "min", "again", "nowhere")


def test_national_presets_are_stricter_and_say_where_from() -> None:
    from app.rules.resolve import is_looser

    for preset in presets.ALL.values():
        assert preset.source
        for key, value in preset.values.items():
            assert not is_looser(limits.ALL[key], value, limits.ALL[key].outermost), (preset.key, key)


def test_france_and_thailand_as_published() -> None:
    france, thailand = presets.FRANCE, presets.THAILAND
    assert (france.values["depth_max_open_water"], france.values["ratio_open_water_good"]) == (6, 1)
    assert "Annex III-16a" in france.source
    assert thailand.values["ratio_open_water_good"] == 2
    assert "22 Apr 2025" in thailand.source
    assert presets.UNITED_KINGDOM.values == {"safety_diver_required": True}


def test_every_country_says_where_each_thing_comes_from() -> None:
    assert set(presets.ALL) >= {"france", "thailand", "united_kingdom", "queensland", "spain", "malta"}
    for preset in presets.ALL.values():
        assert preset.said and all(one.text.endswith(".") and one.source for one in preset.said), preset.key
    assert presets.QUEENSLAND.values["ratio_open_water_ceiling"] == 2
    assert presets.QUEENSLAND.values["cylinder_pressure_test_every"] == 12
    assert presets.MALTA.values["depth_max_confined"] == 4

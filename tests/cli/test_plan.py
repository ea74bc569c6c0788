"""``daybuoy plan`` as written: keys, meanings, and refusals in one line."""

import copy
import io
import json
from pathlib import Path
from typing import Any

import pytest

from app.cli import main

CASE: dict[str, Any] = {
    "water_temp_c": 17,
    "water_density_kg_m3": 1025.5,
    "surface_pressure_bar": 1.01325,
    "profile_min_m": [[0, 0], [1, 9], [31, 9], [31.45, 5], [34.45, 5], [35, 0]],
    "final_ascent_starts_min": 31,
    "sharing": {
        "divers": 2, "stress_factor": 2.0, "reaction_min": 1.0, "ascent_rate_m_min": 9.0,
        "stop_depth_m": 5.0, "stop_min": 3.0, "residual_gauge_bar": 10.0,
    },
    "nostop": {
        "gf": 1.0,
        "previous_dives": [
            {"profile_min_m": [[0, 0], [1, 10], [40, 10], [41.2, 0]], "surface_interval_min": 70}
        ],
    },
    "divers": [
        {
            "id": "guest-1", "cylinder_litres": 12, "fill_gauge_bar": 200, "fill_temp_c": 35,
            "rmv_l_per_min": 22,
        }
    ],
}  # fmt: skip


def ask(case: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    file = tmp_path / "case.json"
    file.write_text(case if isinstance(case, str) else json.dumps(case))
    status = main(["plan", str(file)])
    said = capsys.readouterr()
    return status, said.out, said.err


def changed(path: str, value: Any) -> dict[str, Any]:
    case = copy.deepcopy(CASE)
    place: Any = case
    *way, last = path.split("/")
    for step in way:
        place = place[int(step) if step.isdigit() else step]
    if value is ...:
        del place[last]
    else:
        place[int(last) if last.isdigit() else last] = value
    return case


def test_a_case_by_hand(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = ask(CASE, tmp_path, capsys)
    assert status == 0 and err == ""
    answer = json.loads(out)
    diver = answer["divers"][0]
    assert set(answer) == {
        "shared_ascent_min", "nostop_remaining_min_at_final_ascent", "nostop_limiting_compartment",
        "surfacing_max_tissue_fraction_of_M0", "divers",
    }  # fmt: skip
    assert len(diver) == 12
    # 35 C to 17 C loses about 16 bar (one bar for each kelvin at 200 bar, Lemmon et al. 2000).
    assert diver["start_gauge_bar_at_water_temp"] == pytest.approx(183.7, abs=1)
    by_hand = 22 * (1 * 1.466 + 30 * 1.918 + 0.45 * 1.717 + 3 * 1.516 + 0.55 * 1.265)
    assert diver["used_bar_litres"] == pytest.approx(by_hand, rel=0.001)
    assert diver["out_of_gas_min_on_profile"] is None and diver["min_to_50_bar_on_profile"] is None
    assert diver["min_to_100_bar_on_profile"] == pytest.approx(diver["min_to_100_bar_if_staying"])
    assert answer["shared_ascent_min"] == pytest.approx(1 + 4 / 9 + 3 + 5 / 9)


def test_standard_input_and_same_answer_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, first, _ = ask(CASE, tmp_path, capsys)
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(json.dumps(CASE).encode())))
    assert main(["plan", "-"]) == 0
    assert capsys.readouterr().out == first


def test_gas_that_runs_out_has_no_end_pressure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = ask(changed("divers/0/rmv_l_per_min", 45), tmp_path, capsys)
    diver = json.loads(out)["divers"][0]
    assert diver["end_gauge_bar"] is None and 25 < diver["out_of_gas_min_on_profile"] < 31


def test_a_low_cylinder_is_there_already(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = ask(changed("divers/0/fill_gauge_bar", 45), tmp_path, capsys)
    diver = json.loads(out)["divers"][0]
    for key in (
        "min_to_100_bar_if_staying",
        "min_to_50_bar_if_staying",
        "min_to_100_bar_on_profile",
        "min_to_50_bar_on_profile",
    ):
        assert diver[key] == 0


def test_a_rate_for_each_segment(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, same, _ = ask(changed("divers/0/rmv_l_per_min", [22] * 5), tmp_path, capsys)
    _, plain, _ = ask(CASE, tmp_path, capsys)
    assert same == plain
    _, out, _ = ask(changed("divers/0/rmv_l_per_min", [30, 20, 20, 20, 20]), tmp_path, capsys)
    more = json.loads(out)["divers"][0]["minimum_gas_gauge_bar_at_max_depth"]
    assert more > json.loads(plain)["divers"][0]["minimum_gas_gauge_bar_at_max_depth"]


def test_without_limit_is_null(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = changed("profile_min_m", [[0, 0], [1, 5], [31, 5], [35, 0]])
    _, out, _ = ask(case, tmp_path, capsys)
    answer = json.loads(out)
    assert (
        answer["nostop_remaining_min_at_final_ascent"] is None
        and answer["nostop_limiting_compartment"] is None
    )


@pytest.mark.parametrize(
    ("path", "value", "names"),
    [
        ("water_temp_c", ..., "water_temp_c"),
        ("water_temp_c", "17", "water_temp_c"),
        ("water_temp_c", True, "water_temp_c"),
        ("water_temp_c", 99, "-2 and 40"),
        ("water_temp_c", None, "water_temp_c"),
        ("surprise", 1, "surprise"),
        ("sharing/surprise", 1, "surprise"),
        ("sharing/divers", 1.5, "sharing.divers"),
        ("sharing/ascent_rate_m_min", 0, "ascent_rate_m_min"),
        ("nostop/gf", 0, "nostop.gf"),
        ("nostop/previous_dives", None, "previous_dives"),
        ("nostop/previous_dives/0/surface_interval_min", -1, "surface_interval_min"),
        ("profile_min_m", [[0, 0]], "profile_min_m"),
        ("profile_min_m", [[1, 0], [2, 5]], "minute 0"),
        ("profile_min_m", [[0, 9], [31, 9], [35, 0]], "profile_min_m[0]"),
        ("profile_min_m", [[0, 0], [5, 9], [5, 3], [9, 0]], "profile_min_m[2][0]"),
        ("profile_min_m", [[0, 0], [1, 9], [35, 9]], "profile_min_m[2][1]"),
        ("profile_min_m/2", [31], "profile_min_m[2]"),
        ("nostop/previous_dives/0/profile_min_m/0", [2, 0], "nostop.previous_dives[0].profile_min_m[0]"),
        ("water_temp_c", float("nan"), "water_temp_c must be a number between -2 and 40"),
        ("divers/0/fill_temp_c", float("inf"), "divers[0].fill_temp_c"),
        ("divers/0/id", 7, "divers[0].id"),
        ("divers/0/rmv_l_per_min", [22, 22, "22", 22, 22], "divers[0].rmv_l_per_min[2]"),
        ("profile_min_m", [[0, 0], [5, 5], [4, 0]], "profile_min_m"),
        ("profile_min_m/1", [1, -3], "profile_min_m[1][1]"),
        ("final_ascent_starts_min", 36, "final_ascent_starts_min"),
        ("divers", [], "divers"),
        ("divers/0/id", "", "divers[0].id"),
        ("divers/0/rmv_l_per_min", [22, 22], "rmv_l_per_min"),
        ("divers/0/rmv_l_per_min", 0, "rmv_l_per_min"),
        ("divers/0/fill_gauge_bar", 400, "0 and 300"),
        ("divers/0/cylinder_litres", 10**400, "cylinder_litres"),
    ],
)
def test_unusable_cases_are_refused_in_one_line(
    path: str, value: Any, names: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = ask(changed(path, value), tmp_path, capsys)
    assert status == 2 and out == ""
    assert err.count("\n") == 1 and names in err


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "NaN", '{"water_temp_c": NaN}', '{"a": 1, "a": 2}', "[" * 100_000]
)
def test_what_is_no_case_is_refused(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = ask(text, tmp_path, capsys)
    assert status == 2 and out == "" and err.count("\n") == 1


def test_what_is_no_text_and_no_file_name_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b'{"water_temp_c": "\xff"}')))
    assert main(["plan", "-"]) == 2
    said = capsys.readouterr()
    assert said.out == "" and "UTF-8" in said.err and said.err.count("\n") == 1
    for name in (str(tmp_path), "no\x00name", "two\nlines"):
        assert main(["plan", name]) == 2
        said = capsys.readouterr()
        assert said.out == "" and said.err.count("\n") == 1


def test_a_byte_order_mark_is_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, plain, _ = ask(CASE, tmp_path, capsys)
    assert ask("\ufeff" + json.dumps(CASE), tmp_path, capsys) == (0, plain, "")


def test_a_small_cylinder_is_told_what_sharing_would_need(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """More than any cylinder holds is still a figure; only what no equation of air reaches is refused."""
    _, out, _ = ask(changed("divers/0/cylinder_litres", 1.5), tmp_path, capsys)
    assert 700 < json.loads(out)["divers"][0]["minimum_gas_gauge_bar_at_max_depth"] < 900
    status, out, err = ask(changed("divers/0/cylinder_litres", 0.5), tmp_path, capsys)
    assert status == 2 and out == "" and "cylinder_litres" in err and "1000 bar" in err


def test_everybody_sharing_breathes_the_largest_rate_of_all(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = {**CASE["divers"][0], "id": "guest-2", "rmv_l_per_min": [15, 30, 15, 15, 15]}
    _, out, _ = ask(changed("divers", [CASE["divers"][0], other]), tmp_path, capsys)
    first, second = json.loads(out)["divers"]
    key = "minimum_gas_gauge_bar_at_max_depth"
    assert first[key] == second[key]
    _, alone, _ = ask(CASE, tmp_path, capsys)
    assert first[key] > json.loads(alone)["divers"][0][key]


def test_two_divers_need_two_ids_and_a_missing_file_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    twice = changed("divers", CASE["divers"] * 2)
    assert ask(twice, tmp_path, capsys)[0] == 2
    assert main(["plan", str(tmp_path / "none.json")]) == 2
    assert "cannot be read" in capsys.readouterr().err


def leaves(value: Any, way: str = "") -> list[str]:
    """Return the way to every single value of a case."""
    if isinstance(value, dict | list):
        inside = value.items() if isinstance(value, dict) else enumerate(value)
        return [leaf for key, one in inside for leaf in leaves(one, f"{way}/{key}".lstrip("/"))]
    return [way]


@pytest.mark.parametrize("path", leaves(CASE))
def test_no_value_anywhere_may_be_of_another_kind_or_beyond_its_range(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each value of the case in turn: every wrong kind, both ends overshot, and left out."""
    *_, last = [step for step in path.split("/") if not step.isdigit()]
    wrong: list[Any] = [None, True, {}, [], [[]], -1e9, 1e9, float("nan"), "\u200b" * 200, {"a": 1}]
    for value in [*wrong, ...] if not path[-1].isdigit() else wrong:
        if last == "id" and isinstance(value, str):
            continue
        status, out, err = ask(changed(path, value), tmp_path, capsys)
        assert status == 2 and out == "", (path, value)
        assert err.count("\n") == 1 and last in err and len(err) < 300, (path, value, err)
        says = "missing key" if value is ... else "text" if last == "id" else "number between"
        assert says in err, (path, value, err)

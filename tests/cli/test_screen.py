"""``daybuoy screen`` as somebody uses it: results in order, or one clear line and nothing else."""

import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest

from app.cli import main

VECTORS = json.loads(
    (Path(__file__).parents[1] / "rules" / "screening_vectors.json").read_text(encoding="utf-8")
)
LETTER = {"verdict": "fit", "iss": "2026-05-01", "exp": None, "scan": "Y", "cov": ["LUNG.c"]}
CASE: dict[str, Any] = {
    "id": "Harbour 7",
    "age": 30,
    "site": "open",
    "lang": "ok",
    "guardian": "-",
    "hist_days": 0,
    "today": "Y",
    "dive_date": "2026-07-15",
    "answers": {"LUNG": "Y", "LUNG.c": "Y"},
    "fly_h": None,
    "letter": LETTER,
}

Captured = pytest.CaptureFixture[str]


def screen_bytes(content: bytes, monkeypatch: pytest.MonkeyPatch) -> int:
    """Run the command on standard input."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(content)))
    return main(["screen", "-"])


def refusal(content: bytes, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> str:
    """The one line that refused input ends with."""
    assert screen_bytes(content, monkeypatch) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.endswith("\n")
    assert err.count("\n") == 1
    return err


def test_every_vector_in_one_file_in_the_same_order(tmp_path: Path, capsys: Captured) -> None:
    path = tmp_path / "cases.json"
    path.write_text(json.dumps([row["case"] for row in VECTORS]), encoding="utf-8")

    assert main(["screen", str(path)]) == 0

    found = json.loads(capsys.readouterr().out)
    assert [row["id"] for row in found] == [row["case"]["id"] for row in VECTORS]
    for row, expected in zip(found, VECTORS, strict=True):
        assert set(row) == {"id", "outcome", "reasons"}
        assert row["outcome"] == expected["outcome"], row["id"]
        assert sorted(row["reasons"]) == sorted(expected["reasons"]), row["id"]


def test_standard_input_and_the_exact_answer(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    assert screen_bytes(json.dumps([CASE]).encode(), monkeypatch) == 0

    out, err = capsys.readouterr()
    assert json.loads(out) == [{"id": "Harbour 7", "outcome": "TALK", "reasons": ["LUNG.c/T"]}]
    assert err == ""


def test_reasons_are_sorted_worst_first_then_by_code(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    answers = {"WILL": "Y", "MEDS.b": "Y", "HART.c": "?", "COLD": "-", "LUNG": "Y>Nok", "BABY.a": "Y>N"}
    screen_bytes(json.dumps([CASE | {"answers": answers, "letter": None}]).encode(), monkeypatch)

    assert json.loads(capsys.readouterr().out)[0]["reasons"] == [
        "BABY.a/A",
        "MEDS.b/A",
        "HART.c/L",
        "COLD/I",
        "FLIP/T",
        "WILL/T",
    ]


def test_no_cases_no_results_and_a_byte_order_mark_is_harmless(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    assert screen_bytes(b"\xef\xbb\xbf[]", monkeypatch) == 0
    assert json.loads(capsys.readouterr().out) == []


def test_limits_in_a_letter_ask_for_a_talk(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    case = CASE | {"answers": {}, "letter": LETTER | {"limits": "Y"}}
    screen_bytes(json.dumps([case]).encode(), monkeypatch)

    assert json.loads(capsys.readouterr().out)[0]["reasons"] == ["LTR-LIMITS/T"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"age": -1}, 'key "age" must be a whole number from 0 to 120, not -1'),
        ({"age": 121}, 'key "age" must be a whole number from 0 to 120, not 121'),
        ({"age": 30.0}, 'key "age" must be a whole number from 0 to 120, not 30.0'),
        ({"age": True}, 'key "age" must be a whole number from 0 to 120, not true'),
        ({"age": "30"}, 'key "age" must be a whole number from 0 to 120, not "30"'),
        ({"age": None}, 'key "age" must be a whole number from 0 to 120, not null'),
        ({"hist_days": -1}, 'key "hist_days" must be a whole number from 0 to 36500, not -1'),
        ({"hist_days": False}, 'key "hist_days" must be a whole number from 0 to 36500, not false'),
        ({"fly_h": -0.5}, 'key "fly_h" must be null or a number of hours from 0 to 8760, not -0.5'),
        ({"fly_h": True}, 'key "fly_h" must be null or a number of hours from 0 to 8760, not true'),
        ({"fly_h": "18"}, 'key "fly_h" must be null or a number of hours from 0 to 8760, not "18"'),
        ({"fly_h": 10**400}, 'key "fly_h" must be null or a number of hours from 0 to 8760, not 1000'),
        ({"site": "pool"}, 'key "site" must be one of open, confined, not "pool"'),
        ({"lang": "de"}, 'key "lang" must be one of ok, draft, not "de"'),
        ({"guardian": None}, 'key "guardian" must be one of Y, N, -, not null'),
        ({"today": True}, 'key "today" must be one of Y, N, not true'),
        ({"dive_date": "2026-02-29"}, 'key "dive_date" must be a day of the calendar written YYYY-MM-DD'),
        ({"dive_date": "20260715"}, 'key "dive_date" must be a day of the calendar written YYYY-MM-DD'),
        ({"dive_date": 20260715}, 'key "dive_date" must be a day of the calendar written YYYY-MM-DD'),
        ({"answers": []}, 'key "answers" must be an object, not a list'),
        ({"answers": {"LUNG": "N"}}, 'key "answers.LUNG" must be one of Y, ?, -, Y>N, Y>Nok, not "N"'),
        ({"answers": {"LUNG": True}}, 'key "answers.LUNG" must be one of Y, ?, -, Y>N, Y>Nok, not true'),
        ({"answers": {"LUNGS": "Y"}}, 'key "answers.LUNGS" is not a question; allowed: LUNG, LUNG.a,'),
        ({"letter": "none"}, 'key "letter" must be an object, not "none"'),
        ({"letter": LETTER | {"iss": None}}, 'key "letter.iss" must be a day of the calendar'),
        ({"letter": LETTER | {"exp": "2027-13-01"}}, 'key "letter.exp" must be a day of the calendar'),
        ({"letter": LETTER | {"scan": "yes"}}, 'key "letter.scan" must be one of Y, N, not "yes"'),
        ({"letter": LETTER | {"verdict": "ok"}}, 'key "letter.verdict" must be one of fit, notfit, not "ok"'),
        (
            {"letter": LETTER | {"cov": "LUNG.c"}},
            'key "letter.cov" must be a list of reason codes, not "LUNG.c"',
        ),
        (
            {"letter": LETTER | {"cov": ["LUNG.z"]}},
            'key "letter.cov" must list reason codes, not "LUNG.z"; allowed:',
        ),
        (
            {"letter": LETTER | {"cov": [["LUNG"]]}},
            'key "letter.cov" must list reason codes, not a list; allowed:',
        ),
        ({"letter": LETTER | {"limits": True}}, 'key "letter.limits" must be one of Y, N, not true'),
        ({"letter": LETTER | {"doctor": "x"}}, 'key "letter.doctor" is unknown; allowed: verdict, iss, exp,'),
        ({"colour": "red"}, 'key "colour" is unknown; allowed: id, age, site,'),
    ],
)
def test_a_bad_value_names_case_key_and_range(
    change: dict[str, Any], said: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    content = json.dumps([CASE | {"id": "good"}, CASE | change]).encode()

    assert f'case "Harbour 7": {said}' in refusal(content, monkeypatch, capsys)


@pytest.mark.parametrize("key", CASE)
def test_a_missing_key_is_named(key: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    case = {name: value for name, value in CASE.items() if name != key}
    who = "case number 1" if key == "id" else 'case "Harbour 7"'

    assert f'{who}: key "{key}" is missing' in refusal(json.dumps([case]).encode(), monkeypatch, capsys)


@pytest.mark.parametrize("key", LETTER)
def test_a_missing_key_of_a_letter_is_named(
    key: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    letter = {name: value for name, value in LETTER.items() if name != key}
    content = json.dumps([CASE | {"letter": letter}]).encode()

    assert f'key "letter.{key}" is missing' in refusal(content, monkeypatch, capsys)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the input is not JSON"),
        (b"[{]", "the input is not JSON"),
        (b"[NaN]", "NaN is not a number"),
        (b"[-Infinity]", "-Infinity is not a number"),
        (b'["\xff"]', "the input must be UTF-8 text"),
        (b"[" * 200_000, "the input is nested too deeply"),
        (b"[" + b"9" * 5000 + b"]", "the input is not JSON"),
        (b"{}", "the input must be a list of cases, not an object"),
        (b"[null]", "case number 1: it must be an object, not null"),
        (b'[{"id": 7}]', 'case number 1: key "age" is missing'),
        (b'[{"id": "a", "id": "b"}]', 'key "id" is written twice'),
        (b'[{"id": "two\\nlines"}]', 'case "two\\nlines": key "age" is missing'),
    ],
)
def test_what_is_no_list_of_cases_is_refused(
    content: bytes, said: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    assert said in refusal(content, monkeypatch, capsys)


def test_an_answer_written_twice_cannot_hide_a_yes(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    content = json.dumps([CASE]).replace('"LUNG.c": "Y"', '"LUNG.b": "Y", "LUNG.b": "Y>Nok"').encode()

    assert 'key "LUNG.b" is written twice' in refusal(content, monkeypatch, capsys)


@pytest.mark.parametrize("name", ["gone.json", ".", "nul\0byte"])
def test_a_file_that_cannot_be_read_is_named(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.chdir(tmp_path)

    assert main(["screen", name]) == 2

    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"daybuoy screen: cannot read {json.dumps(name)}: ")
    assert err.count("\n") == 1

"""What is loaded at the start: nothing heavy, because a shop opens in the morning on an old computer."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.plan_cases import BASE

ROOT = Path(__file__).resolve().parents[2]
# Libraries for one page, for writing migrations, or for tests; and the web stack, which `plan` does without.
ELSEWHERE = {"numpy", "scipy", "CoolProp", "gsw", "openpyxl", "segno", "alembic", "pytest", "hypothesis"}
WEB = {
    "fastapi",
    "starlette",
    "sqlmodel",
    "sqlalchemy",
    "pydantic",
    "jinja2",
    "uvicorn",
    "cryptography",
    "argon2",
}
PLAN = f"""
import io, sys
sys.stdin = io.TextIOWrapper(io.BytesIO({json.dumps(BASE).encode()!r}))
from app.cli import main
kept, sys.stdout = sys.stdout, io.StringIO()
status = main(["plan", "-"])
sys.stdout = kept
assert status == 0
"""


def loaded(code: str) -> set[str]:
    """Return the top names of every module that a fresh Python has after this code."""
    after = "\nimport sys; print(*sorted({name.partition('.')[0] for name in sys.modules}))"
    done = subprocess.run(
        [sys.executable, "-c", code + after], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return set(done.stdout.split())


@pytest.mark.parametrize(
    ("what", "without"), [("import app.main", ELSEWHERE), (PLAN, ELSEWHERE | WEB)], ids=["server", "plan"]
)
def test_nothing_heavy_is_loaded_at_the_start(what: str, without: set[str]) -> None:
    assert loaded(what) & without == set()


def test_the_names_are_those_under_which_the_libraries_are_loaded() -> None:
    """All are there once they are asked for, so that the other test can go red."""
    names = sorted(ELSEWHERE | WEB)
    assert set(names) <= loaded("import " + ", ".join(names))

"""htmx is one known file, and the pages speak its version: old habits fail in silence."""

import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from tests.house.tree import ROOT

# dist/htmx.min.js and dist/scripts/upgrade-check.py of the npm package htmx.org 4.0.1 (0BSD).
HTMX = "a0abb04f2f45a1f89d1d4844023245537e5e6014c87b144553e0607b4cc32130"
CHECK = "c06a7bec8f48e5d96e2672dc9aee6795136a4822af4893aa85adb60440c12cd4"
CHECK_FILE = ROOT / "tests/house/htmx_upgrade_check.py"


def _check(*places: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, CHECK_FILE, *places], capture_output=True, text=True, check=False, cwd=ROOT
    )


@pytest.mark.parametrize(("file", "known"), [(ROOT / "static/htmx.min.js", HTMX), (CHECK_FILE, CHECK)])
def test_the_file_is_the_published_one(file: Path, known: str) -> None:
    assert sha256(file.read_bytes()).hexdigest() == known


def test_pages_and_script_speak_this_version() -> None:
    done = _check(ROOT / "templates", ROOT / "static/daybuoy.js")
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    "planted",
    [
        '<div hx-ext="sse"></div>',
        '<div hx-target="#list"><button hx-post="/x">Go</button></div>',
        '<form hx-post="/x" hx-disabled-elt="button"></form>',
    ],
)
def test_a_planted_old_habit_is_found(tmp_path: Path, planted: str) -> None:
    (tmp_path / "page.html").write_text(planted)
    assert _check(tmp_path).returncode == 1

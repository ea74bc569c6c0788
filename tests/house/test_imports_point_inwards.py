"""Imports point one way, and the check that says so can go red."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.tree import ROOT

LINT_IMPORTS = Path(sys.executable).parent / "lint-imports"


def _lint(tree: Path) -> subprocess.CompletedProcess[str]:
    """Run the contracts of the tree's pyproject.toml in a process of its own, so that its ``app`` is read."""
    return subprocess.run(
        [LINT_IMPORTS, "--no-logo", "--no-cache"], cwd=tree, capture_output=True, text=True, check=False
    )


def _copied(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "app", tmp_path / "app", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_the_tree_keeps_every_contract() -> None:
    done = _lint(ROOT)
    assert done.returncode == 0, done.stdout
    assert "0 broken" in done.stdout


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("app/rules/planted.py", "from app.records import db", "Imports point inwards"),
        ("app/rules/planted.py", "import app.settings.clock", "Imports point inwards"),
        ("app/planning/planted.py", "from app.rules import limits", "Imports point inwards"),
        ("app/actions/planted.py", "from app.web import pages", "Imports point inwards"),
        ("app/utils/__init__.py", "", "Imports point inwards"),
        ("app/rules/planted.py", "from random import choice", "Rules and planning: no I/O, no chance"),
        ("app/rules/planted.py", "from pathlib import Path", "Rules and planning: no I/O, no chance"),
        ("app/planning/planted.py", "import sqlmodel", "Rules and planning: no I/O, no chance"),
        ("app/web/planted.py", "from sqlmodel import select", "Pages do not speak SQL"),
        ("app/web/planted.py", "import sqlalchemy", "Pages do not speak SQL"),
    ],
)
def test_a_planted_violation_is_found(tmp_path: Path, module: str, line: str, contract: str) -> None:
    tree = _copied(tmp_path)
    planted = tree / module
    planted.parent.mkdir(exist_ok=True)
    planted.write_text(line + "\n")
    done = _lint(tree)
    assert done.returncode == 1, done.stdout + done.stderr
    assert f"{contract} BROKEN" in done.stdout

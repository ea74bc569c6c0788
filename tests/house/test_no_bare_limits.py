"""Limits live in `app.rules.limits`: no rule or action compares with a number of its own.

The linter sees bare numbers only in comparisons; ``min(100, x)`` and the built-in ``open`` are seen here.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import ROOT, python_files

COUNTING = {-1, 0, 1}
"""Numbers that say none, one or more, and not how much is allowed."""

SPEAKS = {"open", "print", "input", "exec", "eval", "__import__"}
"""Built-ins that reach out of a floor that only reckons."""


def bare_limits(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and text of each comparison, min() or max() with a number written on the spot."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare):
            values = [node.left, *node.comparators]
        elif (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"min", "max"}
        ):
            values = [*node.args, *(word.value for word in node.keywords)]
        else:
            continue
        if any(_is_bare(value) for value in values):
            yield node.lineno, ast.unparse(node)


def reaches_out(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and name of each use of a built-in that reads, writes or runs something."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in SPEAKS:
            yield node.lineno, node.id


def _is_bare(node: ast.expr) -> bool:
    sign = -1 if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) else 1
    inner = node.operand if isinstance(node, ast.UnaryOp) else node
    if isinstance(inner, ast.BinOp):
        # Two numbers reckoned on the spot are one number: 60 * 3.
        return _is_bare(inner.left) and _is_bare(inner.right)
    if not isinstance(inner, ast.Constant) or isinstance(inner.value, bool):
        return False
    return isinstance(inner.value, int | float) and sign * inner.value not in COUNTING


@pytest.mark.parametrize("floor", ["app/rules", "app/actions"])
def test_no_rule_or_action_has_a_number_of_its_own(floor: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}: {text}"
        for path in python_files(floor)
        for line, text in bare_limits(path.read_text("utf-8"))
    ]
    assert found == []


@pytest.mark.parametrize("floor", ["app/rules", "app/planning"])
def test_floors_that_reckon_neither_read_nor_write(floor: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}: {name}"
        for path in python_files(floor)
        for line, name in reaches_out(path.read_text("utf-8"))
    ]
    assert found == []


@pytest.mark.parametrize(
    "planted",
    [
        "def f(bar): return bar < 100",
        "def f(bar): return 50.0 <= bar",
        "def f(bar): return min(100, bar)",
        "def f(bars): return max(bars, default=30)",
        "def f(metres): return metres > -12",
        "def f(minutes): return minutes > 60 * 3",
        "def f(age): return age in (8, 10) or age == 12",
    ],
)
def test_a_planted_number_is_found(planted: str, tmp_path: Path) -> None:
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "planted.py").write_text(planted)
    (path,) = python_files("rules", root=tmp_path)
    assert [line for line, _ in bare_limits(path.read_text())] == [1]


@pytest.mark.parametrize(
    "counting", ["x > 0", "len(x) == 1", "max(x, 0)", "x is None", "x == True", "x < limits.TURN_PRESSURE"]
)
def test_counting_and_named_limits_pass(counting: str) -> None:
    assert list(bare_limits(counting)) == []


@pytest.mark.parametrize("planted", ["open('f')", "print(x)", "say = print", "x = eval('1')"])
def test_a_planted_reach_outside_is_found(planted: str) -> None:
    assert [line for line, _ in reaches_out(planted)] == [1]


def test_a_field_named_like_a_built_in_passes() -> None:
    assert list(reaches_out("class Slot:\n    open: bool")) == []

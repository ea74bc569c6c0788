"""A module is one idea that fits on a few screens."""

from pathlib import Path

from tests.house.tree import ROOT, python_files

MOST_LINES = 400


def too_long(paths: list[Path]) -> dict[str, int]:
    """Return name and lines of each module over the house's size."""
    lines = {path: len(path.read_text("utf-8").splitlines()) for path in paths}
    return {str(path): count for path, count in lines.items() if count > MOST_LINES}


def test_no_module_is_too_long() -> None:
    assert too_long([path.relative_to(ROOT) for path in python_files("app", "seed_demo")]) == {}


def test_a_planted_long_module_is_found(tmp_path: Path) -> None:
    (tmp_path / "long.py").write_text("x = 1\n" * (MOST_LINES + 1))
    (tmp_path / "short.py").write_text("x = 1\n" * MOST_LINES)
    assert list(too_long(sorted(tmp_path.iterdir()))) == [str(tmp_path / "long.py")]

"""The files of the project, as the house checks read them."""

from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def python_files(*folders: str, root: Path = ROOT) -> list[Path]:
    """Return the Python files under these folders of ``root``, in order; never none without saying so."""
    found = sorted(path for folder in folders for path in (root / folder).rglob("*.py"))
    if not found:
        raise FileNotFoundError(f"no Python file under {folders} of {root}")
    return found


def texts(*places: str) -> Iterator[tuple[str, str]]:
    """Yield address within the project and text of every file at or under these places that is text."""
    for place in places:
        start = ROOT / place
        for path in [start] if start.is_file() else sorted(start.rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                try:
                    yield path.relative_to(ROOT).as_posix(), path.read_text("utf-8")
                except UnicodeDecodeError:
                    continue

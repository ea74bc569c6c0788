"""``daybuoy restore``: put a backup back, or rehearse that without touching anything."""

import argparse
import getpass
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.records.backups.restore import Source
    from app.settings.config import Settings


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``restore`` takes."""
    parser.add_argument("file", type=Path, metavar="FILE", help="the backup (its name ends in .backup)")
    parser.add_argument("--rehearse", action="store_true", help="open and check it; touch nothing")
    parser.add_argument(
        "--keys", type=Path, default=None, help="a key copy (.keys); else the newest beside FILE"
    )
    parser.add_argument("--data", type=Path, default=None, help="the shop's data folder (./data)")


def run(chosen: argparse.Namespace) -> int:
    """Say what was restored or rehearsed; 1 and a plain sentence on the first thing wrong."""
    from app.actions.keep.restoring import put_back
    from app.cli.serve import tell
    from app.records.backups.restore import rehearse
    from app.records.store.problems import StoreProblem
    from app.settings.config import UnsafeSettings, read_settings

    try:
        settings = read_settings(data=chosen.data)
        given = _source(settings, chosen.file.expanduser().resolve())
        if chosen.rehearse:
            checked = rehearse(settings, given, _progress)
            print(
                f"This backup is whole: {checked.words}, up to {checked.header.reaches or 'nothing'}. "
                "Nothing was touched."
            )
            return 0
        done = put_back(settings, given, chosen.keys, say=_progress)
    except (StoreProblem, UnsafeSettings) as problem:
        return tell(str(problem))
    checked = done.checked
    print(
        f"Restored: {checked.words}. The records reach up to {checked.header.reaches or 'nothing'}; "
        "what was entered later must be entered again. Everybody signs in anew. "
        f"The old records lie in {done.aside}."
    )
    return 0


def _source(settings: "Settings", path: Path) -> "Source":
    """Return the backup; asks for the words of its sheet when no key at hand opens it."""
    from app.records.backups.restore import opens, source

    given = source(settings.data, path)
    if opens(given):
        return given
    question = f"Words of recovery sheet {given.header.sheet} (they are not shown): "
    typed = getpass.getpass(question) if sys.stdin.isatty() else sys.stdin.readline()
    return source(settings.data, path, typed)


def _progress(step: str) -> None:
    print(step, flush=True)

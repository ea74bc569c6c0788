"""``daybuoy verify``: check the trail and the store, without changing either."""

import argparse
from pathlib import Path


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``verify`` takes."""
    parser.add_argument("--data", type=Path, default=None, help="the data folder to check (./data)")
    parser.add_argument("--head", metavar="CODE", default=None, help="the code printed on a day sheet")


def run(chosen: argparse.Namespace) -> int:
    """Print what was found; 1 and a plain sentence on the first thing wrong."""
    from app.cli.serve import tell
    from app.records.store.check import check_folder
    from app.settings.config import UnsafeSettings, read_settings

    try:
        wrong, said = check_folder(read_settings(data=chosen.data), chosen.head)
    except UnsafeSettings as problem:
        return tell(str(problem))
    if wrong is not None:
        return tell(wrong)
    print(said)
    return 0

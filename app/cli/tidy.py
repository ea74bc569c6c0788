"""``daybuoy tidy``: seal and erase the health records whose time has come, as the nightly chore does."""

import argparse
from pathlib import Path


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``tidy`` takes."""
    parser.add_argument("--data", type=Path, default=None, help="the shop's data folder (./data)")


def run(chosen: argparse.Namespace) -> int:
    """Move records on and print counts; 1 and a plain sentence when the folder cannot be used."""
    from app.actions.health.retention import keep_and_erase
    from app.cli.serve import tell
    from app.records.store.folder import MARK
    from app.records.store.house import open_house
    from app.records.store.problems import StoreProblem
    from app.settings.config import UnsafeSettings, read_settings

    try:
        settings = read_settings(data=chosen.data)
        if not (settings.data / MARK).exists():
            return tell(f"{settings.data} is not a shop's data folder. Name one with --data.")
        house = open_house(settings)
    except (StoreProblem, UnsafeSettings) as problem:
        return tell(str(problem))
    try:
        print(keep_and_erase(house, asked=True).words)
    finally:
        house.close()
    return 0

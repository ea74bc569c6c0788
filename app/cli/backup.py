"""``daybuoy backup``: make a checked backup now, also while the shop is served."""

import argparse
from pathlib import Path


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``backup`` takes."""
    parser.add_argument("folder", type=Path, metavar="DIR", help="where the backup goes")
    parser.add_argument("--data", type=Path, default=None, help="the shop's data folder (./data)")


def run(chosen: argparse.Namespace) -> int:
    """Make the backup and say what it holds; 1 and a plain sentence when it cannot be made."""
    from app.cli.serve import tell
    from app.records.backups.backup import make_backup, shop_zone
    from app.records.store.folder import MARK
    from app.records.store.problems import StoreProblem
    from app.settings.clock import wall_clock
    from app.settings.config import UnsafeSettings, read_settings

    try:
        settings = read_settings(data=chosen.data)
        if not (settings.data / MARK).exists():
            return tell(f"{settings.data} is not a shop's data folder. Name it with --data.")
        target = chosen.folder.expanduser().resolve()
        target.mkdir(parents=True, exist_ok=True)
        made = make_backup(settings, target, wall_clock(), shop_zone(settings))
    except (StoreProblem, UnsafeSettings) as problem:
        return tell(str(problem))
    except OSError as error:
        return tell(f"{chosen.folder} cannot be written ({error.strerror}). Choose another folder.")
    print(
        f"Backup made and checked in {target}: {made.words}. "
        f"It opens with recovery sheet {made.header.sheet}."
    )
    return 0

"""``daybuoy demo``: an invented shop in a folder of its own, at eleven in the morning of its day."""

import argparse
from pathlib import Path


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``demo`` takes."""
    parser.add_argument(
        "--data", type=Path, default=Path("demo-data"), help="the demo's own folder (./demo-data)"
    )
    parser.add_argument("--port", type=int, default=8000, help="port to listen on (8000)")
    parser.add_argument("--chores", action="store_true", help="run the daily chores too, such as the backup")


def run(chosen: argparse.Namespace) -> int:
    """Make the demo shop when its folder is new, then serve it."""
    from app.cli.serve import serve_house, tell
    from app.records.store.problems import StoreProblem
    from app.settings.config import UnsafeSettings, read_settings
    from seed_demo.make import open_demo

    try:
        house = open_demo(read_settings(data=chosen.data, port=chosen.port, demo=True))
    except (StoreProblem, UnsafeSettings) as problem:
        return tell(str(problem))
    print(f"Demo sign-ins are in {house.settings.data / 'demo-sign-ins.json'}")
    return serve_house(house, chores=chosen.chores)

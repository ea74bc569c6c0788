"""The ``daybuoy`` command: a second front beside the web pages, equally thin.

Each command lives in its own module and is imported only when it is asked for,
so that ``daybuoy plan`` starts without loading the web stack.
"""

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

COMMANDS = {
    "serve": "run the shop on its own data folder",
    "demo": "run an invented shop with demo data, kept apart from any real one",
    "plan": "plan gas, sharing gas and no-stop time for a case given as JSON",
    "screen": "run health answers given as JSON through the screening rules",
    "routes": "print which role may use which address, as JSON",
    "verify": "check the trail and the store",
    "backup": "make a checked backup into a folder",
    "restore": "put a backup back, or rehearse that",
    "tidy": "seal and erase the health records whose time has come",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status (0 done, 1 something is wrong, 2 unusable input)."""
    parser = argparse.ArgumentParser(prog="daybuoy", description=__doc__.splitlines()[0] if __doc__ else None)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    given = list(sys.argv[1:] if argv is None else argv)
    for name, what in COMMANDS.items():
        command = commands.add_parser(name, help=what, description=what)
        if name in given[:1]:
            import_module(f"app.cli.{name}").arguments(command)
    chosen = parser.parse_args(given)
    return int(import_module(f"app.cli.{chosen.command}").run(chosen))


if __name__ == "__main__":
    sys.exit(main())

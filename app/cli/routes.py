"""``daybuoy routes``: the table route x role, as JSON."""

import argparse
import json


def arguments(parser: argparse.ArgumentParser) -> None:
    """``routes`` takes nothing."""


def run(_chosen: argparse.Namespace) -> int:
    """Print every route with who may use it."""
    from app.web.route_table import route_table

    print(json.dumps(route_table(), indent=1))
    return 0

"""Reading the tables beside this file. Their first line names the published source and how they were made."""

import csv
from pathlib import Path

DENSITY = {"EN13319": 1019.7, "fresh": 1000.0}


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of ``data/<name>.csv``."""
    with (Path(__file__).parent / "data" / f"{name}.csv").open(encoding="utf-8") as file:
        next(file)
        return list(csv.DictReader(file))

"""What this program is made of and where its records lie, for the manager and for whoever helps."""

import platform
import shutil
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from pathlib import Path

from sqlalchemy import text
from sqlmodel import Session

from app.records.store.folder import DATABASE
from app.records.store.house import House
from app.settings.config import STATIC, VERSION

PROGRAM = "daybuoy"
MEGA = 1_000_000


@dataclass(frozen=True)
class Part:
    """One library that is shipped or needed: name, version, licence as its own papers say."""

    name: str
    version: str
    licence: str


@dataclass(frozen=True)
class Store:
    """Where the records lie. size_mb: of the database; free_mb: on the disk under the folder."""

    folder: Path
    kind: str
    size_mb: float
    free_mb: float


@dataclass(frozen=True)
class Program:
    """The program's own version, Python's, the machine's, and every library at run time."""

    version: str
    python: str
    machine: str
    parts: tuple[Part, ...]


def where_records_lie(session: Session, house: House) -> Store:
    """Return where the records lie and how large they are."""
    folder = house.settings.data
    if house.settings.database_url is None:
        kind = f"SQLite {sqlite3.sqlite_version}"
        size = sum(path.stat().st_size for path in folder.glob(f"{DATABASE}*"))
    else:
        kind = "PostgreSQL " + str(session.execute(text("SHOW server_version")).scalar_one())
        size = int(session.execute(text("SELECT pg_database_size(current_database())")).scalar_one())
    return Store(folder.resolve(), kind, size / MEGA, shutil.disk_usage(folder).free / MEGA)


@cache
def the_program() -> Program:
    """Return what the program is made of; read once, because it does not change while it runs."""
    return Program(
        VERSION,
        platform.python_version(),
        f"{platform.system()} {platform.machine()}",
        (Part("htmx", _htmx_version(), "0BSD"), *_libraries()),
    )


def _htmx_version() -> str:
    """Return the version that the script says of itself; "pinned" when it says none."""
    said = (STATIC / "htmx.min.js").read_text(encoding="utf-8").partition('version="')[2]
    return said.partition('"')[0] or "pinned"


def _libraries() -> tuple[Part, ...]:
    """Return the libraries that the program itself names, with what their own papers say."""
    try:
        wanted = metadata.requires(PROGRAM) or []
    except metadata.PackageNotFoundError:
        return ()
    names = [one.partition("==")[0].partition("[")[0] for one in wanted if "extra ==" not in one]
    return tuple(_part(name) for name in sorted(names, key=str.lower))


def _part(name: str) -> Part:
    try:
        papers = metadata.metadata(name)
    except metadata.PackageNotFoundError:
        return Part(name, "not installed", "")
    told = papers.json
    said = str(told.get("license_expression", "")) or _classified(told.get("classifier", []))
    return Part(name, str(papers["Version"]), said or str(told.get("license", "")).partition("\n")[0])


def _classified(classifiers: Iterable[str]) -> str:
    named = [one.rpartition(" :: ")[2] for one in classifiers if one.startswith("License :: ")]
    return ", ".join(one for one in named if one != "OSI Approved")

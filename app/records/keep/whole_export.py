"""Everything the shop wrote down as one JSON text, in pieces: what one needs to leave with one's own data.

Left out: secrets and machinery (passphrases, visits, used keys), and health, which only its own export
gives, guest by guest, for a reason. The text says what is left out.
"""

import json
from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from sqlalchemy import Table, select
from sqlmodel import Session, SQLModel

from app.records.tables.base import Row
from app.settings.config import VERSION

# Rows read at once: enough to be quick, few enough to stay small.
CHUNK = 500
HEALTH = "health: exported guest by guest, by the keeper"
MACHINERY = "machinery of signing in and sending, of no use elsewhere"
TRAIL = "the trail: what it says of people is sealed; a backup holds it whole"
# No answer stands in these; but that there is a row tells that somebody was unwell or had a letter.
TELL_OF_HEALTH = frozenset({"exit_care", "letter_page", "letter_check"})


def whole_json(session: Session, made_at: datetime) -> Iterator[str]:
    """Yield the text in pieces, table after table in the order of their names."""
    kept, left_out = _tables()
    yield "{" + f'"program": "Daybuoy", "version": {json.dumps(VERSION)}, '
    yield f'"made_at": {json.dumps(made_at.isoformat())}, "left_out": {json.dumps(left_out)}, "tables": {{'
    for number, (name, row) in enumerate(sorted(kept.items())):
        yield f"{', ' if number else ''}\n{json.dumps(name)}: ["
        yield from _rows(session, row)
        yield "]"
    yield "\n}}\n"


def count_rows(session: Session) -> int:
    """Return how many rows the text will hold."""
    from sqlalchemy import func

    kept, _ = _tables()
    return sum(session.scalar(select(func.count()).select_from(_table(row))) or 0 for row in kept.values())


def _tables() -> tuple[dict[str, type[Row]], dict[str, str]]:
    """Return the tables that are in it, by name, and those that are not, with the reason."""
    kept: dict[str, type[Row]] = {}
    left_out: dict[str, str] = {}
    for row in _every(Row):
        table = SQLModel.metadata.tables.get(str(getattr(row, "__tablename__", "")))
        if table is None:
            continue
        if "guest_ref" in table.columns or table.name in TELL_OF_HEALTH:
            left_out[table.name] = HEALTH
        elif table.name == "trail":
            left_out[table.name] = TRAIL
        elif not row.in_trail:
            left_out[table.name] = MACHINERY
        else:
            kept[table.name] = row
    return kept, dict(sorted(left_out.items()))


def _every(row: type[Row]) -> Iterator[type[Row]]:
    for one in row.__subclasses__():
        yield one
        yield from _every(one)


def _rows(session: Session, row: type[Row]) -> Iterator[str]:
    table = _table(row)
    columns = [column for column in table.columns if column.name not in row.secret]
    asked = select(*columns).order_by(*table.primary_key.columns).execution_options(yield_per=CHUNK)
    first = True
    for values in session.execute(asked):
        said = {column.name: _plain(value) for column, value in zip(columns, values, strict=True)}
        yield ("" if first else ",") + "\n" + json.dumps(said, ensure_ascii=False)
        first = False


def _table(row: type[Row]) -> Table:
    return SQLModel.metadata.tables[str(row.__tablename__)]


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    # Pictures are sealed bytes in the store; their pages show them.
    return None if isinstance(value, bytes) else value

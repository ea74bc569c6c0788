"""Checking a data folder from outside: the store, the trail's chain, each record beside it. Reads only."""

import sqlite3
from contextlib import closing

from sqlalchemy import create_engine, func, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session, col, select

from app.records.health.look_check import first_wrong_look
from app.records.look_back.day_seal import first_wrong_seal
from app.records.store import trail
from app.records.store.compare import first_difference
from app.records.store.db import look_only
from app.records.store.folder import DATABASE, KEYS, SECRET
from app.records.store.head import Head
from app.records.store.sealing import KeyRing, MasterKey
from app.records.tables.house import TrailRow
from app.records.tables.keeping import DaySealRow
from app.settings.config import Settings

# Characters of the trail's head that a day sheet shows.
SHORT = 12


def short_head(number: int, chain: str) -> str:
    """Return the head of the trail as printed on a day sheet: number of the newest entry, then its hash."""
    return f"{number}-{chain[:SHORT]}"


def check_folder(settings: Settings, head: str | None = None) -> tuple[str | None, str]:
    """Return (the first thing wrong, "") or (None, what was checked)."""
    database, secret = settings.data / DATABASE, settings.data / SECRET
    if not secret.exists():
        return f"{secret} is missing: the trail cannot be checked without it.", ""
    if settings.database_url is None and not database.exists():
        return f"{database} is missing.", ""
    if settings.database_url:
        engine = create_engine(settings.database_url, hide_parameters=True)
    else:
        engine = create_engine("sqlite://", creator=lambda: look_only(database), hide_parameters=True)
    try:
        with Session(engine) as session:
            if settings.database_url is None:
                # One row for each fault that the store finds; the first says enough.
                found = session.execute(text("PRAGMA integrity_check")).scalars().first()
                if found != "ok":
                    return f"The database file is damaged: {found}.", ""
            master = MasterKey(secret)
            wrong = trail.first_wrong(session, master.named("trail"))
            if wrong is not None:
                return wrong, ""
            if (wrong := first_wrong_look(session)) is not None:
                return wrong, ""
            number, _ = trail.head(session)
            if (sentence := missing_tail(session, Head(settings.data, master))) is not None:
                return sentence, ""
            if head is not None and (sentence := _check_head(session, head)) is not None:
                return sentence, ""
            with closing(KeyRing(settings.data / KEYS, master, look=True)) as ring:
                wrong = first_difference(session, ring) or first_wrong_seal(session, master)
            if wrong is not None:
                return wrong, ""
            days = session.scalar(select(func.count()).select_from(DaySealRow))
    except (DatabaseError, sqlite3.Error, TypeError, ValueError) as error:
        return f"The data cannot be read ({type(error).__name__}). Put the newest backup back.", ""
    finally:
        engine.dispose()
    return None, (
        f"Store and trail are whole: {number} entries. "
        f"Every record is as its entries say, and {days} closed days are as they were sealed."
    )


def missing_tail(session: Session, note: Head) -> str | None:
    """Return a plain sentence when the note beside the database knows entries that are gone."""
    try:
        noted = note.noted()
    except ValueError:
        return f"{note.path} is not what was written: the end of the trail cannot be vouched for."
    number, _ = trail.head(session)
    if noted is None:
        return f"{note.path} is missing: the end of the trail cannot be vouched for." if number else None
    entry = session.get(TrailRow, noted[0])
    if entry is None:
        return (
            f"{note.path} knows trail entry {noted[0]}, the records end at {number}: "
            "the end was cut, or an older copy was put back."
        )
    if entry.chain != noted[1]:
        return f"Trail entry {noted[0]} is not the one that {note.path} knows."
    return None


def _check_head(session: Session, code: str) -> str | None:
    number, _, start = code.strip().partition("-")
    if not number.isdecimal() or not start:
        return "The code of a day sheet looks like 1234-0a1b2c3d4e5f."
    entry = session.exec(select(TrailRow).where(col(TrailRow.id) == int(number))).first()
    if entry is None:
        return f"The day sheet knows trail entry {number}, this folder does not: it is an older copy."
    if not entry.chain.startswith(start.lower()):
        return f"Trail entry {number} is not the one that the day sheet was printed from."
    return None

"""Making backups: one consistent copy, sealed, opened again and checked before it counts, old ones thinned.

Two files each time. The data backup holds the whole store, without the key file. The key copy holds the
guests' keys and the key file: it is thinned to 35 days, so that a destroyed key is gone from every copy
by then, and the data backups that are kept for a year say nothing of an erased guest. Both open with the
recovery sheet alone.
"""

import contextlib
import shutil
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import create_engine, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session

from app.records.backups import copying, sealed_file
from app.records.backups.copying import copy_server, copy_sqlite
from app.records.backups.erasures import ERASED
from app.records.backups.recovery import Sheet, newest_sheet, read_sheets
from app.records.backups.sealed_file import PART, CopyProblem, Header
from app.records.store import folder, trail
from app.records.store.db import look_only, make_engine
from app.records.store.scratch import scratch
from app.records.store.sealing import MasterKey
from app.rules.thinning import KEY_COPY_DAYS, kept, kept_keys
from app.settings.config import VERSION, Settings

DATA, KEY_COPY = "data", "keys"
ENDINGS = {DATA: ".backup", KEY_COPY: ".keys"}
# Beside the data folder, so that it goes along when a shop is moved by hand.
BESIDE = "-backups"
NAMED = "daybuoy-%Y-%m-%dT%H%M%SZ"
# Free room that is needed at least besides the copy itself.
ROOM_LEFT = 50_000_000
LENGTH_BYTES = 8
# What a restore put aside, inside the data folder, with the time of it.
ASIDE = "before-restore-"
ASIDE_TIME = "%Y%m%dT%H%M%SZ"
Say = Callable[[str], None]


@dataclass(frozen=True)
class Copy:
    """One backup file as its folder shows it."""

    path: Path
    header: Header
    size: int


@dataclass(frozen=True)
class Checked:
    """What was found in a backup that was opened: all of it is in order."""

    header: Header
    days: int
    guests: int
    entries: int

    @property
    def words(self) -> str:
        """What it holds, in one line."""
        counted = ((self.days, "day"), (self.guests, "guest"))
        said = [f"{number} {what if number == 1 else f'{what}s'}" for number, what in counted]
        return f"{', '.join(said)}, {self.entries} trail {'entry' if self.entries == 1 else 'entries'}"


def default_folder(data: Path) -> Path:
    """Return where backups go unless the shop chose another folder."""
    return data.with_name(data.name + BESIDE)


def chosen_folder(data: Path, said: str) -> Path:
    """Return the folder for backups that a shop chose; the default for none."""
    return Path(said).expanduser() if said else default_folder(data)


def shop_zone(settings: Settings) -> ZoneInfo:
    """Return the time zone of the shop in a data folder that may be in use."""
    engine = (
        make_engine(settings.database_url)
        if settings.database_url
        else create_engine("sqlite://", creator=lambda: look_only(settings.data / folder.DATABASE))
    )
    try:
        with engine.connect() as connection:
            return ZoneInfo(connection.execute(text("SELECT timezone FROM shop")).scalar() or "UTC")
    except (sqlite3.Error, DatabaseError) as error:
        raise CopyProblem(
            f"The records cannot be read ({type(error).__name__}). Run daybuoy verify."
        ) from None
    finally:
        engine.dispose()


def make_backup(
    settings: Settings, target: Path, now: datetime, zone: ZoneInfo, say: Say = lambda _: None
) -> Checked:
    """Make, check and keep a backup, then thin the older ones; raises CopyProblem in plain words.

    Reads only, so it may run beside a serving program. Nothing older is taken away before the new one
    was opened and found whole.
    """
    try:
        return _make(settings, target, now.astimezone(UTC), zone, say)
    except OSError as error:
        where = error.filename or target
        raise CopyProblem(
            f"The backup could not be written to {where} ({error.strerror}). "
            "See that the disk is there, has room and may be written. Older backups are untouched."
        ) from None
    except (sqlite3.Error, DatabaseError) as error:
        raise CopyProblem(
            f"The records could not be copied ({type(error).__name__}). Older backups are untouched."
        ) from None


def copies(target: Path, kind: str) -> list[Copy]:
    """Return the backups of one kind in a folder, newest first; files that are none of ours are left out."""
    found = []
    for path in target.glob(f"*{ENDINGS[kind]}"):
        try:
            header = sealed_file.read_header(path)
            found.append(Copy(path, header, path.stat().st_size))
        except (CopyProblem, OSError):
            continue
    return sorted(
        (one for one in found if one.header.kind == kind), key=lambda one: one.header.made, reverse=True
    )


def check_copy(path: Path, keys: Iterable[bytes], data: Path, trail_key: bytes | None) -> Checked:
    """Open a data backup in a private folder and check everything in it; raises CopyProblem.

    trail_key: the key of the trail's chain, None where it is not at hand.
    """
    with scratch(data) as place:
        header = sealed_file.open_sealed(path, keys, place / folder.DATABASE)
        return check_opened(place / folder.DATABASE, header, path, trail_key)


def check_opened(file: Path, header: Header, path: Path, trail_key: bytes | None) -> Checked:
    """Check a data backup that was opened into ``file``: the store, every count, the trail and its end."""
    try:
        with closing(look_only(file)) as store:
            if store.execute("PRAGMA integrity_check(1)").fetchone()[0] != "ok":
                raise CopyProblem(f"The store in {path} is damaged. Take another backup.")
            if copying.counts(store) != header.counts:
                raise CopyProblem(f"{path} does not hold as many records as it says. Take another backup.")
            days = store.execute("SELECT count(DISTINCT day) FROM slot").fetchone()[0]
            guests = store.execute("SELECT count(*) FROM guest").fetchone()[0]
    except sqlite3.Error as error:
        raise CopyProblem(
            f"The store in {path} cannot be read ({type(error).__name__}). Take another backup."
        ) from None
    engine = create_engine("sqlite://", creator=lambda: look_only(file), hide_parameters=True)
    try:
        with Session(engine) as session:
            wrong = trail.first_wrong(session, trail_key) if trail_key is not None else None
            head = trail.head(session)
    finally:
        engine.dispose()
    if wrong is not None:
        raise CopyProblem(f"{path}: {wrong}")
    if head != (header.trail_number, header.trail_head):
        raise CopyProblem(f"{path} does not end where it says. Take another backup.")
    return Checked(header, days, guests, head[0])


def sheet_keys(data: Path) -> list[bytes]:
    """Return the keys of the folder's recovery sheets, newest first; raises StoreProblem."""
    return [one.key_bytes for one in reversed(read_sheets(data))]


def thin(target: Path, now: datetime, zone: ZoneInfo) -> int:
    """Take away the backups that are not kept any more, and what was left unfinished; return how many."""
    data, keys = copies(target, DATA), copies(target, KEY_COPY)
    stay = kept([one.header.made for one in data], zone)
    stay_keys = kept_keys([one.header.made for one in keys], now)
    gone = [one.path for one in data if one.header.made not in stay]
    gone += [one.path for one in keys if one.header.made not in stay_keys]
    for path in gone:
        path.unlink()
    for ending in ENDINGS.values():
        for path in target.glob(f"daybuoy-*{ending}{PART}"):
            path.unlink()
    return len(gone)


def thin_asides(data: Path, now: datetime) -> None:
    """Take the keys out of what restores put aside, as key copies are thinned."""
    for place in data.glob(f"{ASIDE}*"):
        made = datetime.strptime(place.name.removeprefix(ASIDE), ASIDE_TIME).replace(tzinfo=UTC)
        if now - made > timedelta(days=KEY_COPY_DAYS):
            for path in (place / folder.SECRET, *place.glob(f"{folder.KEYS}*")):
                path.unlink(missing_ok=True)


def _make(settings: Settings, target: Path, now: datetime, zone: ZoneInfo, say: Say) -> Checked:
    data = settings.data
    if not target.exists() and target != default_folder(data):
        raise CopyProblem(
            f"{target} is not there. If it is on another disk, plug that in; "
            "or choose another folder. Older backups are untouched."
        )
    target.mkdir(mode=0o700, exist_ok=True)
    sheet, master = newest_sheet(data, now), folder.open_key(data)
    try:
        with scratch(data) as place:
            say("Copying the records.")
            file = place / folder.DATABASE
            if settings.database_url:
                copy_server(settings.database_url, file)
            else:
                _room(data, (data / folder.DATABASE).stat().st_size)
                copy_sqlite(data / folder.DATABASE, file)
            _room(target, file.stat().st_size // 2)
            say("Sealing the copy.")
            header = _header(settings, DATA, now, master, file)
            part = sealed_file.write_sealed(file, target / _name(now, DATA), header, sheet)
            # After the records: every key that they need was made before they were.
            say("Copying the guests' keys.")
            _copy_keys(settings, master, sheet, target, place, now)
        say("Opening the backup and checking it.")
        checked = check_copy(part, [sheet.key_bytes], data, master.named("trail"))
    except BaseException:
        # A disk that is gone keeps its half file until the next backup there takes it away.
        with contextlib.suppress(OSError):
            for kind in ENDINGS:
                (target / f"{_name(now, kind)}{PART}").unlink(missing_ok=True)
        raise
    sealed_file.finish(part)
    say("Clearing away older backups.")
    thin(target, now, zone)
    thin_asides(data, now)
    return checked


def _copy_keys(
    settings: Settings, master: MasterKey, sheet: Sheet, target: Path, place: Path, now: datetime
) -> None:
    """Write the key copy: the key file, then the guests' keys, and see that it opens again."""
    data, ring, plain = settings.data, place / folder.KEYS, place / "keys.plain"
    copy_sqlite(data / folder.KEYS, ring)
    erased = data / ERASED
    content = b"".join(
        len(one).to_bytes(LENGTH_BYTES, "big") + one
        for one in (
            (data / folder.SECRET).read_bytes(),
            ring.read_bytes(),
            erased.read_bytes() if erased.exists() else b"",
        )
    )
    plain.touch(mode=0o600)
    plain.write_bytes(content)
    header = _header(settings, KEY_COPY, now, master, None)
    part = sealed_file.write_sealed(plain, target / _name(now, KEY_COPY), header, sheet)
    again = place / "keys.again"
    sealed_file.open_sealed(part, [sheet.key_bytes], again)
    if again.read_bytes() != content:
        raise CopyProblem(f"The key copy in {target} did not open as it was written. Choose another disk.")
    sealed_file.finish(part)


def open_keys(path: Path, keys: Iterable[bytes], into: Path) -> Header:
    """Take a key copy apart: the key file, the guests' keys and the list of who was erased, in a folder.

    Raises CopyProblem.
    """
    plain = into / "keys.plain"
    header = sealed_file.open_sealed(path, keys, plain)
    content, start = plain.read_bytes(), 0
    for name in (folder.SECRET, folder.KEYS, ERASED):
        length = int.from_bytes(content[start : start + LENGTH_BYTES], "big")
        start += LENGTH_BYTES + length
        (into / name).touch(mode=0o600)
        (into / name).write_bytes(content[start - length : start])
    plain.unlink()
    return header


def _header(settings: Settings, kind: str, now: datetime, master: MasterKey, file: Path | None) -> Header:
    mark = folder.read_mark(settings.data)
    said = Header(
        kind=kind, program=VERSION, schema="", made_at=now.isoformat(), house_kind=str(mark.get("kind")),
        house_key=master.digest("folder", str(mark.get("kind"))),
        store="postgresql" if settings.database_url else "sqlite",
    )  # fmt: skip
    if file is None:
        return said
    with closing(look_only(file)) as store:
        counts = copying.counts(store)
        schema = store.execute("SELECT version_num FROM alembic_version").fetchone()[0]
        newest = store.execute("SELECT id, chain, at FROM trail ORDER BY id DESC LIMIT 1").fetchone()
    number, chain, at = newest or (0, trail.FIRST, "")
    return Header(
        **{**vars(said), "schema": schema, "counts": counts, "trail_number": number, "trail_head": chain,
           "reaches": datetime.fromisoformat(at).replace(tzinfo=UTC).isoformat() if at else ""}
    )  # fmt: skip


def _name(now: datetime, kind: str) -> str:
    return f"{now:{NAMED}}{ENDINGS[kind]}"


def _room(where: Path, needed: int) -> None:
    free = shutil.disk_usage(where).free
    if free < needed + ROOM_LEFT:
        raise CopyProblem(
            f"There is not enough room at {where}: {free // 1_000_000} MB are free and about "
            f"{(needed + ROOM_LEFT) // 1_000_000} MB are needed. Older backups are untouched."
        )

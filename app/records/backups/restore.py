"""Putting a backup back: the new folder is made whole first, then takes the old one's place by renames.

A journal in the data folder says that the new files are ready. Until it is written nothing of the old
records was touched; from then on every start finishes the renames, however often it is cut short.
"""

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import inspect, text

from app.records.backups import backup, sealed_file
from app.records.backups.backup import ASIDE, ASIDE_TIME, KEY_COPY, Checked, Say, check_opened
from app.records.backups.copying import copy_sqlite, fill_server
from app.records.backups.erasures import ERASED
from app.records.backups.recovery import FILE as SHEETS
from app.records.backups.recovery import Sheet, key_from, write_sheets
from app.records.backups.sealed_file import CopyProblem, Header, NeedsSheet
from app.records.store import folder, migrate
from app.records.store.db import make_engine
from app.records.store.head import HEAD
from app.records.store.problems import StoreProblem
from app.records.store.scratch import scratch
from app.records.store.sealing import MasterKey
from app.rules.recovery_sheet import Mistyped, read_words
from app.settings.config import Settings

NEW, JOURNAL = "restoring", "restore.json"
# What the old store may have left beside itself: never to be read with the new one.
SIDE_FILES = tuple(
    f"{name}-{ending}" for name in (folder.DATABASE, folder.KEYS) for ending in ("wal", "shm", "journal")
)
REPLACED = (*SIDE_FILES, folder.DATABASE, folder.KEYS, folder.SECRET, HEAD, ERASED, SHEETS, folder.MARK)


@dataclass(frozen=True)
class Source:
    """A backup to put back: the file, its header, the keys that may open it, the words if they were typed."""

    path: Path
    header: Header
    keys: tuple[bytes, ...]
    words: str = ""


def source(data: Path, path: Path, typed: str | None = None) -> Source:
    """Return a backup with the keys at hand; raises CopyProblem, NeedsSheet if typed words do not fit."""
    if not path.is_file():
        raise CopyProblem(f"{path} is not there.")
    try:
        header = sealed_file.read_header(path)
    except OSError as error:
        raise CopyProblem(f"{path} cannot be read ({error.strerror}).") from None
    if header.kind != backup.DATA:
        raise CopyProblem(f"{path} is a key copy. Name the backup itself; its key copy lies beside it.")
    if not migrate.known(header.schema):
        raise CopyProblem(
            f"{path} was made by a newer Daybuoy ({header.program}). Update the program; nothing was changed."
        )
    try:
        keys = tuple(backup.sheet_keys(data))
    except StoreProblem:
        keys = ()
    if typed is None:
        return Source(path, header, keys)
    try:
        words = read_words(typed)
    except Mistyped as problem:
        raise NeedsSheet(str(problem)) from None
    given = Source(path, header, (key_from(words, bytes.fromhex(header.salt)), *keys), words)
    if not opens(given):
        raise NeedsSheet(
            f"These are not the words of recovery sheet {header.sheet}, which this backup needs. "
            "Look for the sheet with that number."
        )
    return given


def opens(given: Source) -> bool:
    """Return whether the keys at hand open it, or its recovery sheet is needed."""
    return sealed_file.fits(given.header, given.keys)


def rehearse(settings: Settings, given: Source, say: Say = lambda _: None) -> Checked:
    """Open a backup beside the live data and check all of it; touches nothing and leaves nothing behind."""
    with _place(settings.data) as place:
        say("Opening the guests' keys.")
        master = _keys(settings.data, given, place, None)
        say("Opening the backup.")
        file = place / folder.DATABASE
        header = sealed_file.open_sealed(given.path, given.keys, file)
        say("Checking every record and the trail.")
        return check_opened(file, header, given.path, master.named("trail"))


def prepare(settings: Settings, given: Source, key_copy: Path | None, say: Say = lambda _: None) -> Checked:
    """Make the new folder whole inside the data folder; nothing of the old records is touched."""
    data, header = settings.data, given.header
    new = data / NEW
    shutil.rmtree(new, ignore_errors=True)
    new.mkdir(mode=0o700)
    say("Opening the guests' keys.")
    master = _keys(data, given, new, key_copy)
    say("Opening the backup.")
    file = new / folder.DATABASE
    sealed_file.open_sealed(given.path, given.keys, file)
    say("Checking every record and the trail.")
    checked = check_opened(file, header, given.path, master.named("trail"))
    folder.finish(new, header.house_kind, master)
    if not (data / SHEETS).exists():
        made = (given.keys[0].hex(), header.made_at)
        write_sheets(new, [Sheet(header.sheet, header.salt, *made, printed_at=header.made_at)])
    if settings.database_url:
        say("Filling the database.")
        _fill(settings.database_url, file)
        file.unlink()
    return checked


def swap(data: Path, now: datetime) -> Path:
    """Let the new files take the place of the old ones; return where those are."""
    new, aside = data / NEW, data / f"{ASIDE}{now:{ASIDE_TIME}}"
    for path in new.iterdir():
        _sync(path)
    sealed_file.sync_folder(new)
    journal = data / f"{JOURNAL}.new"
    journal.write_text(json.dumps({"aside": aside.name}), encoding="utf-8")
    _sync(journal)
    journal.replace(data / JOURNAL)
    sealed_file.sync_folder(data)
    finish_swap(data)
    return aside


def finish_swap(data: Path) -> None:
    """Do what is left of a swap that was ready; nothing when none was. The caller holds the folder's lock."""
    journal = data / JOURNAL
    if not journal.exists():
        return
    aside, new = data / str(json.loads(journal.read_text(encoding="utf-8"))["aside"]), data / NEW
    aside.mkdir(mode=0o700, exist_ok=True)
    for name in REPLACED:
        comes = (new / name).exists()
        # Once the new file is in its place the old one lies aside, or there was none.
        if (comes or name in SIDE_FILES) and (data / name).exists():
            os.replace(data / name, aside / name)
        if comes:
            os.replace(new / name, data / name)
    sealed_file.sync_folder(aside)
    shutil.rmtree(new, ignore_errors=True)
    journal.unlink()
    sealed_file.sync_folder(data)


def cut_short(data: Path) -> bool:
    """Return whether a swap was ready and is not finished."""
    return (data / JOURNAL).exists()


def _keys(data: Path, given: Source, into: Path, key_copy: Path | None) -> MasterKey:
    """Put key file, guests' keys and the list of who was erased into a folder: the live ones where they fit.

    Live keys know every erasure up to now; a key copy those up to its day.
    """
    live = _live_master(data, given.header)
    if live is not None and key_copy is None and (data / folder.KEYS).exists():
        shutil.copyfile(data / folder.SECRET, into / folder.SECRET)
        copy_sqlite(data / folder.KEYS, into / folder.KEYS)
        if (data / ERASED).exists():
            shutil.copyfile(data / ERASED, into / ERASED)
    else:
        found = key_copy or _newest_key_copy(given)
        sheet_key = given.keys
        if given.words:
            salt = bytes.fromhex(sealed_file.read_header(found).salt)
            sheet_key = (key_from(given.words, salt), *given.keys)
        backup.open_keys(found, sheet_key, into)
        if (data / ERASED).exists() and live is not None:
            shutil.copyfile(data / ERASED, into / ERASED)
    for name in (folder.SECRET, ERASED):
        if (into / name).exists():
            (into / name).chmod(0o600)
    master = MasterKey(into / folder.SECRET)
    if master.digest("folder", given.header.house_kind) != given.header.house_key:
        raise CopyProblem("The key copy and the backup belong to different shops.")
    return master


def _live_master(data: Path, header: Header) -> MasterKey | None:
    """Return the data folder's own key, None where there is none that can be used; refuses another shop's."""
    if not (data / folder.SECRET).exists():
        return None
    try:
        master = MasterKey(data / folder.SECRET)
    except ValueError:
        return None
    if master.digest("folder", header.house_kind) != header.house_key:
        raise CopyProblem(
            f"This backup belongs to another shop than {data}. "
            "Put it back into a folder of its own: name that with --data."
        )
    return master


def _newest_key_copy(given: Source) -> Path:
    fitting = [
        one
        for one in backup.copies(given.path.parent, KEY_COPY)
        if one.header.house_key == given.header.house_key
    ]
    if not fitting:
        raise CopyProblem(
            f"No key copy of this shop lies beside {given.path}. Without it sealed answers cannot be read; "
            "name one with --keys."
        )
    return fitting[0].path


def _fill(url: str, file: Path) -> None:
    engine = make_engine(url)
    try:
        with engine.connect() as connection:
            in_use = (
                inspect(connection).has_table("trail")
                and connection.execute(text("SELECT count(*) FROM trail")).scalar()
            )
        if in_use:
            raise StoreProblem(
                "The database of DAYBUOY_DATABASE_URL holds records. Name a new, empty one: "
                "the old one stays as it is."
            )
        fill_server(file, engine)
    finally:
        engine.dispose()


@contextmanager
def _place(data: Path) -> Iterator[Path]:
    if data.is_dir():
        with scratch(data) as place:
            yield place
    else:
        with tempfile.TemporaryDirectory(prefix="daybuoy-") as place:
            yield Path(place)


def _sync(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())

"""The keys of backups: drawn from the words of a printed recovery sheet, kept beside the records.

With its sheet a backup opens on any computer, and with this file on the shop's own without typing. The
words stand in the file only until the sheet was printed. An earlier sheet's key stays, because backups
made under it need it; its words do not.
"""

import json
import os
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path

from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from app.records.store.problems import StoreProblem
from app.rules.recovery_sheet import BYTES_NEEDED, words_from

FILE = "recovery.key"
SALT_BYTES = 16
# scrypt with 32 MiB (N = 2^15, r = 8, p = 1; RFC 7914). The words carry 120 random bits of their own.
COST, BLOCK, LANES = 2**15, 8, 1


@dataclass(frozen=True)
class Sheet:
    """One recovery sheet. words: empty once it was printed. key and salt: hex. times: UTC ISO 8601."""

    number: int
    salt: str
    key: str
    made_at: str
    words: str = ""
    printed_at: str = ""
    printed_by: str = ""

    @property
    def key_bytes(self) -> bytes:
        """The 32-byte key that wraps the keys of backups."""
        return bytes.fromhex(self.key)


def key_from(words: str, salt: bytes) -> bytes:
    """Return the 32-byte key that a sheet's words give with its salt (scrypt, RFC 7914)."""
    return Scrypt(salt=salt, length=32, n=COST, r=BLOCK, p=LANES).derive(words.encode())


def make_sheet(number: int, now: datetime) -> Sheet:
    """Return a new sheet with random words."""
    words, salt = words_from(os.urandom(BYTES_NEEDED)), os.urandom(SALT_BYTES)
    return Sheet(number, salt.hex(), key_from(words, salt).hex(), now.isoformat(), words)


def read_sheets(folder: Path) -> list[Sheet]:
    """Return the folder's sheets, oldest first; raises StoreProblem for a file that cannot be read."""
    path = folder / FILE
    if not path.exists():
        return []
    try:
        return [Sheet(**one) for one in json.loads(path.read_text(encoding="utf-8"))]
    except (TypeError, ValueError):
        raise StoreProblem(f"{path} is not what this program wrote. Make a new recovery sheet.") from None


def newest_sheet(folder: Path, now: datetime) -> Sheet:
    """Return the sheet that backups are made under, making the first one."""
    sheets = read_sheets(folder)
    if not sheets:
        sheets = [make_sheet(1, now)]
        write_sheets(folder, sheets)
    return sheets[-1]


def add_sheet(folder: Path, now: datetime, after: int = 0) -> Sheet:
    """Make a new sheet, under which backups are made from now on; earlier ones open what they opened.

    after: the highest number that backups name. A file that cannot be read is kept aside.
    """
    try:
        sheets = read_sheets(folder)
    except StoreProblem:
        (folder / FILE).replace(folder / f"{FILE}.unreadable")
        sheets = []
    fresh = make_sheet(max([after, *(one.number for one in sheets)]) + 1, now)
    write_sheets(folder, [*(replace(one, words="") for one in sheets), fresh])
    return fresh


def mark_printed(folder: Path, number: int, who: str, now: datetime) -> None:
    """Note that a sheet was printed and forget its words."""
    write_sheets(
        folder,
        [
            replace(one, words="", printed_at=now.isoformat(), printed_by=who)
            if one.number == number
            else one
            for one in read_sheets(folder)
        ],
    )


def write_sheets(folder: Path, sheets: list[Sheet]) -> None:
    """Write the sheets whole or not at all, for their owner only."""
    fresh = folder / f"{FILE}.new"
    fresh.unlink(missing_ok=True)
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump([asdict(one) for one in sheets], file, indent=1)
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(folder / FILE)

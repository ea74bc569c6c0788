"""Who was erased: a list beside the database, so that older records put back are erased again.

One line for each owner of a key (``guest:<ref>`` or ``party:<ref>``), signed with the folder's key. It is
only added to and holds no name. Whoever puts a backup back keeps the folder's list; two lists are joined by
adding one's owners to the other.
"""

import hmac
import os
from collections.abc import Iterable
from pathlib import Path

from app.records.store.sealing import MasterKey

ERASED = "erased-people"
PURPOSE = "erased"


class Erasures:
    """The list of one data folder."""

    def __init__(self, folder: Path, master: MasterKey) -> None:
        self.path = folder / ERASED
        self._master = master

    def add(self, owners: Iterable[str]) -> None:
        """Add owners, on the disk before this returns; those on the list are not written twice."""
        known = self.owners()
        lines = "".join(f"{one} {self._signed(one)}\n" for one in dict.fromkeys(owners) if one not in known)
        if not lines:
            return
        handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with os.fdopen(handle, "wb") as file:
            # A line that a kill cut short is ended first, so that it spoils no other.
            file.write(b"\n" + lines.encode() if self._cut_short() else lines.encode())
            file.flush()
            os.fsync(file.fileno())

    def owners(self) -> frozenset[str]:
        """Return everybody on the list; a line that was cut short or not written by us counts for nothing."""
        try:
            lines = self.path.read_text(encoding="utf-8", errors="replace").splitlines()
        except FileNotFoundError:
            return frozenset()
        pairs = (line.rpartition(" ") for line in lines)
        return frozenset(
            who
            for who, _, signed in pairs
            if hmac.compare_digest(signed.encode(), self._signed(who).encode())
        )

    def _cut_short(self) -> bool:
        try:
            return not self.path.read_bytes().endswith(b"\n") and self.path.stat().st_size > 0
        except FileNotFoundError:
            return False

    def _signed(self, owner: str) -> str:
        return self._master.digest(PURPOSE, owner)

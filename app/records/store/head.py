"""The trail's newest entry, noted in a file beside the database, so that a cut tail is found out.

The note is written right after each COMMIT and signed with the folder's key. After a kill it may be one
entry behind the records, never ahead of them: a note ahead means that entries are gone.
"""

import hmac
import logging
import os
from pathlib import Path

from app.records.store.sealing import MasterKey

HEAD = "trail-head"
log = logging.getLogger("daybuoy")


class Head:
    """The note beside the database."""

    def __init__(self, folder: Path, master: MasterKey) -> None:
        self.path = folder / HEAD
        self._master = master

    def note(self, number: int, chain: str) -> None:
        """Note the newest entry. A note that cannot be written must not undo what is committed."""
        line = f"{number:020d} {chain} {self._signed(number, chain)}\n".encode()
        try:
            handle = os.open(self.path, os.O_WRONLY | os.O_CREAT, 0o600)
            try:
                # Always as long as before and in one piece: a kill leaves the old note or the new one.
                os.pwrite(handle, line, 0)
            finally:
                os.close(handle)
        except OSError as error:
            log.warning("trail head not noted kind=%s", type(error).__name__)

    def noted(self) -> tuple[int, str] | None:
        """Return number and hash as noted; None when there is no note; raises ValueError for a false one."""
        try:
            number, chain, signed = self.path.read_text(encoding="ascii").split()
        except FileNotFoundError:
            return None
        if not number.isdecimal() or not hmac.compare_digest(signed, self._signed(int(number), chain)):
            raise ValueError("the note of the trail's head is not what was written")
        return int(number), chain

    def _signed(self, number: int, chain: str) -> str:
        return self._master.digest("head", f"{number} {chain}")

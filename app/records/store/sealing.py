"""Sealing: values that only a person's own key opens, and the files those keys lie in.

A person's key (``guest:<ref>`` or ``party:<ref>``) is random and lies in a store of its own, wrapped
by the master key. The master key lies in a file of its own, outside the database. Destroying a
person's key makes every sealed value of that person unreadable, wherever a copy of it lies.
AES-256-GCM with a random 96-bit nonce; the owner and the field are bound in as associated data, so
that swapping two rows is noticed.
"""

import base64
import hashlib
import hmac
import os
import sqlite3
import threading
from collections.abc import Iterable
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from app.records.store.db import StoreTrouble, look_only

KEY_BYTES = 32
NONCE_BYTES = 12


class Sealed(Exception):
    """The value cannot be opened: its key is destroyed, or it was changed or moved."""


class MasterKey:
    """The key file of one data folder; other keys are drawn from it by name."""

    def __init__(self, path: Path) -> None:
        self._root = path.read_bytes()
        if len(self._root) != KEY_BYTES:
            raise ValueError(f"The key file {path} must hold exactly {KEY_BYTES} bytes.")

    @staticmethod
    def make(path: Path) -> None:
        """Write a new random key file, readable by its owner only; refuses to replace one."""
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(os.urandom(KEY_BYTES))
            file.flush()
            os.fsync(file.fileno())

    def named(self, purpose: str) -> bytes:
        """Return the 32-byte key for one purpose (trail, forms, wrapping, secrets)."""
        return hmac.new(self._root, purpose.encode(), hashlib.sha256).digest()

    def digest(self, purpose: str, value: str) -> str:
        """Return a keyed digest of a text, for comparing without keeping it."""
        return hmac.new(self.named(purpose), value.encode(), hashlib.sha256).hexdigest()

    def seal_bytes(self, purpose: str, bound: str, data: bytes) -> bytes:
        """Return bytes sealed with the key for one purpose, bound to the record that holds them."""
        nonce = os.urandom(NONCE_BYTES)
        return nonce + AESGCM(self.named(purpose)).encrypt(nonce, data, bound.encode())

    def open_bytes(self, purpose: str, bound: str, sealed: bytes) -> bytes:
        """Return sealed bytes; raises Sealed when they were changed or lie in another record."""
        try:
            cipher = AESGCM(self.named(purpose))
            return cipher.decrypt(sealed[:NONCE_BYTES], sealed[NONCE_BYTES:], bound.encode())
        except InvalidTag:
            raise Sealed(f"{bound} was changed or moved") from None


class KeyRing:
    """The store of people's own keys, and sealing with them."""

    def __init__(self, path: Path, master: MasterKey, *, look: bool = False) -> None:
        """Open the store of keys. look: read only, beside a program that may be serving."""
        self._wrap = AESGCM(master.named("wrap"))
        self._lock = threading.Lock()
        self._known: dict[str, bytes] = {}
        if look:
            self._file = look_only(path)
            return
        self._file = sqlite3.connect(path, check_same_thread=False, isolation_level=None)
        try:
            for pragma in ("journal_mode=WAL", "synchronous=FULL", "secure_delete=ON", "busy_timeout=5000"):
                self._file.execute(f"PRAGMA {pragma}")
            self._file.execute(
                "CREATE TABLE IF NOT EXISTS own_key (owner TEXT PRIMARY KEY, wrapped BLOB NOT NULL)"
            )
        except sqlite3.Error:
            self._file.close()
            raise

    def seal(self, owner: str, field: str, value: str) -> str:
        """Return ``value`` sealed for ``owner``; makes the owner's key when there is none yet.

        Raises Sealed for an owner whose key was destroyed.
        """
        return base64.urlsafe_b64encode(self.seal_bytes(owner, field, value.encode())).decode()

    def open(self, owner: str, field: str, sealed: str) -> str:
        """Return the value; raises Sealed when the key is gone or the value was changed or moved."""
        return self.open_bytes(owner, field, base64.urlsafe_b64decode(sealed)).decode()

    def seal_bytes(self, owner: str, field: str, data: bytes) -> bytes:
        """Return bytes sealed for ``owner``, as ``seal`` does text."""
        nonce = os.urandom(NONCE_BYTES)
        return nonce + AESGCM(self._key(owner, make=True)).encrypt(nonce, data, _bound(owner, field))

    def open_bytes(self, owner: str, field: str, sealed: bytes) -> bytes:
        """Return sealed bytes; raises Sealed when the key is gone or they were changed or moved."""
        try:
            cipher = AESGCM(self._key(owner, make=False))
            return cipher.decrypt(sealed[:NONCE_BYTES], sealed[NONCE_BYTES:], _bound(owner, field))
        except InvalidTag:
            raise Sealed(f"{field} of {owner} was changed or moved") from None

    def destroy(self, owner: str) -> None:
        """Destroy the owner's key for good."""
        self.destroy_all([owner])

    def destroy_all(self, owners: Iterable[str]) -> None:
        """Destroy several owners' keys for good, all or none; nobody of them is ever given a new one."""
        gone = [(owner,) for owner in owners]
        with self._lock:
            for (owner,) in gone:
                self._known.pop(owner, None)
            self._file.execute("BEGIN IMMEDIATE")
            self._file.executemany("DELETE FROM own_key WHERE owner = ?", gone)
            # An empty key in its place: what is written about the owner later must not make another.
            self._file.executemany("INSERT INTO own_key VALUES (?, x'')", gone)
            self._file.execute("COMMIT")
            self._file.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def owners(self) -> frozenset[str]:
        """Return everybody who has a key that was not destroyed."""
        with self._lock:
            found = self._file.execute("SELECT owner FROM own_key WHERE length(wrapped) > 0").fetchall()
        return frozenset(owner for (owner,) in found)

    def close(self) -> None:
        """Close the key store's file."""
        self._file.close()

    def _key(self, owner: str, *, make: bool) -> bytes:
        with self._lock:
            if owner in self._known:
                return self._known[owner]
            row = self._file.execute("SELECT wrapped FROM own_key WHERE owner = ?", (owner,)).fetchone()
            if (row is None and not make) or (row is not None and not row[0]):
                raise Sealed(f"the key of {owner} does not exist any more")
            if row is None:
                fresh = os.urandom(KEY_BYTES)
                nonce = os.urandom(NONCE_BYTES)
                wrapped = nonce + self._wrap.encrypt(nonce, fresh, owner.encode())
                try:
                    self._file.execute("INSERT INTO own_key VALUES (?, ?)", (owner, wrapped))
                except sqlite3.OperationalError as error:
                    # A full disk is met here as in the database, and is told alike.
                    raise StoreTrouble("the key store", None, error, hide_parameters=True) from None
            else:
                wrapped = bytes(row[0])
                fresh = self._wrap.decrypt(wrapped[:NONCE_BYTES], wrapped[NONCE_BYTES:], owner.encode())
            self._known[owner] = fresh
            return fresh


def _bound(owner: str, field: str) -> bytes:
    return f"{owner}\n{field}".encode()

"""The file that a backup is: a readable header, then sealed parts that open with a recovery sheet's key.

A random key seals the parts (AES-256-GCM, numbered, the last one marked, so that nothing can be cut,
swapped or added); that key is wrapped with the sheet's. The header is bound to every part. It says what
the file holds in counts, and nothing about a person. A file is written under another name, and takes its
own only when it lies on the disk whole.
"""

import hashlib
import json
import os
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from app.records.backups.recovery import Sheet
from app.records.store.problems import StoreProblem

MAGIC = b"Daybuoy sealed copy 1\n"
PART = ".part"
CHUNK = 1 << 20
KEY_BYTES, NONCE_BYTES, LENGTH_BYTES = 32, 12, 4
MOST_HEADER = 1 << 20
# A part is at most a little longer than what went into it.
MOST_SEALED = CHUNK + 4096
WRAPPING = b"the key of a sealed copy"


class CopyProblem(StoreProblem):
    """A backup cannot be made or used; the text is one plain sentence with what to do."""


class NeedsSheet(CopyProblem):
    """None of the keys at hand opens the file: the words of its recovery sheet are needed."""


@dataclass(frozen=True)
class Header:
    """What a sealed file says about itself. Times: UTC ISO 8601; salt and wrapped: hex."""

    kind: str
    program: str
    schema: str
    made_at: str
    house_kind: str
    house_key: str
    store: str = "sqlite"
    reaches: str = ""
    trail_number: int = 0
    trail_head: str = ""
    counts: dict[str, int] | None = None
    sheet: int = 0
    salt: str = ""
    wrapped: str = ""

    @property
    def made(self) -> datetime:
        """When it was made."""
        return datetime.fromisoformat(self.made_at)


def write_sealed(source: Path, target: Path, header: Header, sheet: Sheet) -> Path:
    """Seal a file for a sheet; return where it lies under an unfinished name, which ``finish`` ends."""
    key, nonce = os.urandom(KEY_BYTES), os.urandom(NONCE_BYTES)
    wrapped = nonce + AESGCM(sheet.key_bytes).encrypt(nonce, key, WRAPPING)
    said = {**asdict(header), "sheet": sheet.number, "salt": sheet.salt, "wrapped": wrapped.hex()}
    head = json.dumps(said).encode()
    part = target.with_name(target.name + PART)
    with source.open("rb") as plain, _create(part) as file:
        file.write(MAGIC + len(head).to_bytes(LENGTH_BYTES, "big") + head)
        digest, number, size = hashlib.sha256(), 0, 0
        while chunk := plain.read(CHUNK):
            digest.update(chunk)
            size += len(chunk)
            _put(file, key, head, number, zlib.compress(chunk, 1), last=False)
            number += 1
        end = json.dumps({"size": size, "sha256": digest.hexdigest()}).encode()
        _put(file, key, head, number, end, last=True)
        file.flush()
        os.fsync(file.fileno())
    return part


def finish(part: Path) -> Path:
    """Give a file that is whole its own name, for good."""
    target = part.with_name(part.name.removesuffix(PART))
    part.replace(target)
    sync_folder(target.parent)
    return target


def read_header(path: Path) -> Header:
    """Return what a file says about itself; raises CopyProblem for what is no sealed copy of ours."""
    with path.open("rb") as file:
        return _header(file, path)[0]


def open_sealed(path: Path, keys: Iterable[bytes], target: Path) -> Header:
    """Write what a sealed file holds to ``target``; raises NeedsSheet, or CopyProblem if it is not whole."""
    with path.open("rb") as file:
        header, head = _header(file, path)
        key = _unwrap(header, keys)
        with _create(target) as plain:
            digest, size = hashlib.sha256(), 0
            for chunk, last in _parts(file, path, key, head):
                if last:
                    end = json.loads(chunk)
                    break
                plain.write(chunk)
                digest.update(chunk)
                size += len(chunk)
            plain.flush()
            os.fsync(plain.fileno())
        if file.read(1) or (end["size"], end["sha256"]) != (size, digest.hexdigest()):
            raise _damaged(path)
    return header


def fits(header: Header, keys: Iterable[bytes]) -> bool:
    """Return whether one of these keys opens the file."""
    try:
        return bool(_unwrap(header, keys))
    except NeedsSheet:
        return False


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder lie on the disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _create(path: Path) -> IO[bytes]:
    path.unlink(missing_ok=True)
    return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb")


def _put(file: IO[bytes], key: bytes, head: bytes, number: int, content: bytes, *, last: bool) -> None:
    sealed = AESGCM(key).encrypt(_nonce(number, last=last), content, head)
    file.write(len(sealed).to_bytes(LENGTH_BYTES, "big") + sealed)


def _parts(file: IO[bytes], path: Path, key: bytes, head: bytes) -> Iterator[tuple[bytes, bool]]:
    cipher, number = AESGCM(key), 0
    while True:
        length = int.from_bytes(file.read(LENGTH_BYTES), "big")
        sealed = file.read(length) if 0 < length <= MOST_SEALED else b""
        if not sealed or len(sealed) != length:
            raise CopyProblem(f"{path} is cut short or damaged. Take another backup.")
        try:
            yield zlib.decompress(cipher.decrypt(_nonce(number, last=False), sealed, head)), False
        except InvalidTag:
            try:
                yield cipher.decrypt(_nonce(number, last=True), sealed, head), True
            except InvalidTag:
                raise _damaged(path) from None
        number += 1


def _nonce(number: int, *, last: bool) -> bytes:
    """Return the nonce of a part: used once, because each file has a random key of its own."""
    return number.to_bytes(NONCE_BYTES - 1, "big") + (b"\1" if last else b"\0")


def _unwrap(header: Header, keys: Iterable[bytes]) -> bytes:
    wrapped = bytes.fromhex(header.wrapped)
    for key in keys:
        try:
            return AESGCM(key).decrypt(wrapped[:NONCE_BYTES], wrapped[NONCE_BYTES:], WRAPPING)
        except InvalidTag:
            continue
    raise NeedsSheet(
        f"This backup opens with recovery sheet {header.sheet} alone. Type the words of that sheet."
    )


def _header(file: IO[bytes], path: Path) -> tuple[Header, bytes]:
    if file.read(len(MAGIC)) != MAGIC:
        raise CopyProblem(f"{path} is not a backup that this program made.")
    length = int.from_bytes(file.read(LENGTH_BYTES), "big")
    head = file.read(length) if length <= MOST_HEADER else b""
    try:
        header = Header(**json.loads(head))
        datetime.fromisoformat(header.made_at)
        bytes.fromhex(header.wrapped + header.salt)
    except (TypeError, ValueError):
        raise _damaged(path) from None
    return header, head


def _damaged(path: Path) -> CopyProblem:
    return CopyProblem(f"{path} is damaged: it does not hold what was written. Take another backup.")

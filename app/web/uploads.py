"""Which routes take files, of what size, and reading such a form without anything touching the disk.

A route that is not in this table takes no file at all. What a file is, is judged later and by its content;
here it is only counted. Nothing is known of its name or of what kind its sender says it is.
"""

import hashlib
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

import anyio
from fastapi import Request
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser

from app.records.keep import sheet_files
from app.rules import pictures
from app.web.guard import FORM_BYTES

# Forms with a file that are read at the same time: together they hold at most this many times the largest.
AT_ONCE = 4
MIB = 1024 * 1024


@dataclass(frozen=True)
class Upload:
    """What one route takes: files under these names, none of them larger than this.

    most_bytes: of one file. Larger ones are still read up to twice the size, so that the form comes back
    with all that was typed and a sentence beside the field.
    """

    names: tuple[str, ...]
    most_bytes: int

    @property
    def whole(self) -> int:
        """How many bytes the whole form may hold."""
        return FORM_BYTES + 2 * self.most_bytes * len(self.names)


TABLE: dict[str, Upload] = {}


def takes_files(route: str, *names: str, most_bytes: int) -> None:
    """Write one line of the table; a second line for the same route is a mistake."""
    if route in TABLE:
        raise ValueError(f"{route} is in the table of uploads twice")
    TABLE[route] = Upload(names, most_bytes)


for _route in ("add_cylinder_picture", "add_emergency_kit_picture"):
    takes_files(_route, "photo", most_bytes=pictures.MOST_BYTES)
takes_files("read_sheet", "sheet", most_bytes=sheet_files.MOST_BYTES)


@dataclass(frozen=True)
class PostedFile:
    """One file as it came, with its digest (SHA-256, hex)."""

    data: bytes
    digest: str

    @staticmethod
    def of(data: bytes) -> "PostedFile":
        """Return the file with its digest."""
        return PostedFile(data, hashlib.sha256(data).hexdigest())


class _InMemory(MultiPartParser):
    """Keeps files in memory: they are counted, and may hold what must not lie in a folder for all."""

    def __init__(self, request: Request, upload: Upload, most_fields: int) -> None:
        super().__init__(
            request.headers,
            request.stream(),
            max_files=len(upload.names),
            max_fields=most_fields,
            max_part_size=FORM_BYTES,
        )
        self.spool_max_size = upload.whole + 1

        self._whole = False

    async def parse(self) -> FormData:
        """Read the form; raises MultiPartException for one that ends before its end."""
        form = await super().parse()
        if not self._whole:
            for file in self._files_to_close_on_error:
                file.close()
            raise MultiPartException("The form was cut off.")
        return form

    def on_end(self) -> None:
        """Note that the last boundary came."""
        self._whole = True

    def on_part_end(self) -> None:
        """Refuse text that is no UTF-8, as in every other form; raises UnicodeDecodeError."""
        if self._current_part.file is None:
            self._current_part.data.decode("utf-8")
        super().on_part_end()


def upload_of(request: Request) -> Upload | None:
    """Return what files the asked route takes; None for most routes."""
    return TABLE.get(getattr(request.scope.get("route"), "name", ""))


@asynccontextmanager
async def in_turn(request: Request) -> AsyncIterator[None]:
    """Wait until there is room in memory for one more form with files."""
    turns: anyio.Semaphore | None = request.app.state.uploads
    if turns is None:
        yield
        return
    async with turns:
        yield


async def read_form(request: Request, upload: Upload, most_fields: int) -> FormData:
    """Read a form with files; raises MultiPartException, TooBig."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "multipart/form-data":
        return await request.form(max_files=0, max_fields=most_fields)
    return await _InMemory(request, upload, most_fields).parse()


async def files_of(form: FormData) -> tuple[tuple[str, PostedFile], ...]:
    """Return the files of a form by field name; a field left empty is not among them."""
    found: list[tuple[str, PostedFile]] = []
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            data: Any = await value.read()
            await value.close()
            if data:
                found.append((name, PostedFile.of(data)))
    return tuple(found)


def say_bytes(count: int) -> str:
    """Say a size in the unit that suits it."""
    return f"{count / MIB:g} MiB" if count >= MIB else f"{count // 1024} KiB"

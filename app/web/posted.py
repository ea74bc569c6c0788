"""A posted form: read whole within its limits, its token checked, its one-use key at hand."""

import hmac
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, TypeVar

import anyio
from fastapi import Depends, Request
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException

from app.actions.act import Act, AlreadyDone, FormUse, content_digest, earlier_answer
from app.planning.units import UNITS
from app.records.store.house import House
from app.web.cookies import COOKIE, cookie_name, form_token
from app.web.fields import Fields, ShownIn
from app.web.guard import FORM_BYTES, MOST_BYTES, TooBig
from app.web.uploads import PostedFile, files_of, in_turn, read_form, upload_of

R = TypeVar("R")
MOST_FIELDS = 200
READ_SECONDS = 30
KEY = re.compile(r"^[0-9A-Za-z_-]{22,64}$")
MACHINERY = ("key", "token", "version", "device_at", "units")
# "bar_7=psi", or "depth_m=ft:26.2:8.0" for a box that was not empty: what stood in it, and the kept figure.
SHOWN_IN = re.compile(r"^([a-z0-9_]{1,60})=([^\s=:]{1,4})(?::(-?[\d.]{1,12}):(-?[\d.]{1,24}))?$")


class Forged(Exception):
    """A form came without the token of this very sign-in."""


class BadForm(Exception):
    """The form as a whole cannot be taken; carries the status and a sentence."""

    def __init__(self, status: int, sentence: str) -> None:
        super().__init__(sentence)
        self.status = status


@dataclass(frozen=True)
class Posted:
    """One posted form."""

    path: str
    pairs: tuple[tuple[str, str], ...]
    machinery: dict[str, str]
    files: tuple[tuple[str, PostedFile], ...] = ()

    @property
    def values(self) -> dict[str, str]:
        """Every field that came once, as typed."""
        return {name: value for name, value in self.pairs if self._count(name) == 1}

    @property
    def lists(self) -> dict[str, tuple[str, ...]]:
        """Every field with all its values, as typed."""
        return {name: tuple(value for one, value in self.pairs if one == name) for name, _ in self.pairs}

    @property
    def token(self) -> str:
        """The form token that came with it."""
        return self.machinery.get("token", "")

    @property
    def version(self) -> int | None:
        """The version of the record that the form was made from; None when it carries none."""
        said = self.machinery.get("version", "")
        return int(said) if said.isdecimal() and len(said) < 10 else None  # noqa: PLR2004 - digits of an int

    @property
    def edits(self) -> int:
        """The version for an edit: a form without one never matches the record."""
        return -1 if self.version is None else self.version

    @property
    def device_at(self) -> datetime | None:
        """When the device says that the entry was made, if it says so readably."""
        try:
            moment = datetime.fromisoformat(self.machinery.get("device_at", ""))
        except ValueError:
            return None
        return moment if moment.tzinfo is not None else None

    def file(self, name: str) -> bytes | None:
        """The bytes of a file; None when none was chosen. What they are is for the rules to judge."""
        return next((file.data for one, file in self.files if one == name), None)

    def fields(self) -> Fields:
        """Return the fields for reading."""
        names = {name for name, _ in self.pairs}
        many = {n: [value for name, value in self.pairs if name == n] for n in names if self._count(n) > 1}
        return Fields(self.values, many, units_shown(self.machinery.get("units", "")))

    def use(self, house: House) -> FormUse:
        """Return the key and content digest under which this form is carried out at most once."""
        files = [(f"file {name}", file.digest) for name, file in self.files]
        return FormUse(self.machinery["key"], content_digest(house, self.path, [*self.pairs, *files]))

    def _count(self, name: str) -> int:
        return sum(1 for one, _ in self.pairs if one == name)


def units_shown(said: str) -> dict[str, ShownIn]:
    """Return which fields a page showed in another unit; raises BadForm for what no page of ours says."""
    shown = {}
    for part in said.split():
        name, unit, text, kept = found.groups() if (found := SHOWN_IN.match(part)) else ("", "", None, None)
        try:
            shown[name] = ShownIn(UNITS[unit], text, None if kept is None else float(kept))
        except (KeyError, ValueError):
            raise BadForm(
                422, "The form has changed. Open the page again and fill it in once more."
            ) from None
    return shown


async def read_posted(request: Request) -> Posted | None:
    """Read a posted form within 30 s (None for a GET); raises BadForm for a form that cannot be taken."""
    if request.method != "POST":
        return None
    try:
        with anyio.fail_after(READ_SECONDS):
            form, files = await _read(request)
    except TimeoutError:
        raise BadForm(422, "The form took too long to arrive. Send it again.") from None
    except (HTTPException, MultiPartException, UnicodeDecodeError, ValueError) as error:
        if "too many fields" in str(error).lower():
            raise BadForm(413, f"A form may hold {MOST_FIELDS} fields. Send fewer.") from None
        if "exceeded maximum size" in str(error).lower():
            raise TooBig(FORM_BYTES) from None
        raise BadForm(422, "The form could not be read. Open the page again and send it once more.") from None
    return _checked(request, form, files)


async def _read(request: Request) -> tuple[FormData, tuple[tuple[str, PostedFile], ...]]:
    upload = upload_of(request)
    if upload is None:
        return await request.form(max_files=0, max_fields=MOST_FIELDS), ()
    setattr(request.state, MOST_BYTES, upload.whole)
    async with in_turn(request):
        form = await read_form(request, upload, MOST_FIELDS)
        files = await files_of(form)
    names = [name for name, _ in files]
    if set(names) - set(upload.names) or len(set(names)) != len(names):
        raise BadForm(422, "A file came that this form does not have. Open the page again.")
    if (
        sum(len(name) + len(value) for name, value in form.multi_items() if isinstance(value, str))
        > FORM_BYTES
    ):
        raise TooBig(FORM_BYTES)
    return form, files


def _checked(request: Request, form: FormData, files: tuple[tuple[str, PostedFile], ...]) -> Posted:
    pairs = tuple((name, value) for name, value in form.multi_items() if isinstance(value, str))
    if len(pairs) > MOST_FIELDS:
        raise BadForm(413, f"A form may hold {MOST_FIELDS} fields. Send fewer.")
    machinery: dict[str, str] = {}
    for name in MACHINERY:
        values = [value for one, value in pairs if one == name]
        if len(values) > 1:
            raise BadForm(422, "The form came with a doubled field. Open the page again.")
        if values:
            machinery[name] = values[0]
    if not KEY.match(machinery.get("key", "")):
        raise BadForm(
            422, "The form came without its one-use key. Open the page again and send it from there."
        )
    typed = tuple(pair for pair in pairs if pair[0] not in MACHINERY)
    return Posted(request.url.path, typed, machinery, files)


def check_post(request: Request, posted: Annotated[Posted | None, Depends(read_posted)]) -> Posted | None:
    """Runs before every route: a form that was already carried out is acknowledged, a forged one refused.

    Raises AlreadyDone, KeyReused or Forged. Acknowledging comes first, so that a phone that sends again
    after its sign-in ended still learns that its entry arrived.
    """
    if posted is None:
        return None
    house: House = request.app.state.house
    with house.store.reading() as session:
        answer = earlier_answer(session, posted.use(house))
    if answer is not None:
        raise AlreadyDone(answer)
    cookie = request.cookies.get(cookie_name(COOKIE, secure=house.settings.https), "")
    if not cookie or not hmac.compare_digest(posted.token, form_token(house, cookie)):
        raise Forged(request.url.path)
    return posted


def the_post(posted: Annotated[Posted | None, Depends(check_post)]) -> Posted:
    """Hand a checked form to its route."""
    if posted is None:
        raise BadForm(405, "This address takes a form.")
    return posted


def button_only(posted: Posted, action: Callable[[Act], R]) -> Callable[[Act], R]:
    """Return an act whose form holds nothing but its button."""

    def run(act: Act) -> R:
        posted.fields().done()
        return action(act)

    return run


PostedForm = Annotated[Posted, Depends(the_post)]

"""What a chore is: something that the program does by itself once a day, or beside the pages when asked."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time

from app.records.store.at_work import Say
from app.records.store.house import House


class ChoreFailed(Exception):
    """A chore could not be done; the text is one plain sentence with what to do."""


@dataclass(frozen=True)
class Chore:
    """One chore. what: as pages call it; clock: the shop's time from which it is due, None on demand only.

    work is handed the house, the time, and a way to say what it is at; it returns what came of it, in
    words without a person in them, or raises ChoreFailed.
    """

    key: str
    what: str
    clock: time | None
    work: Callable[[House, datetime, Say], str]

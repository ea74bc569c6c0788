"""Reading one TOML table field by field, keeping a sentence for everything that is wrong with it."""

from collections.abc import Callable
from enum import StrEnum
from typing import Any, TypeVar

from app.rules.people import Where
from app.rules.question_set import WATERS
from app.rules.screening_reasons import Level

Word = TypeVar("Word", bound=StrEnum)
_OLDEST = 120


class Table:
    """A table with its name for messages; tables inside it write into the same list of faults."""

    def __init__(self, raw: dict[str, Any], name: str, faults: list[str] | None = None) -> None:
        self.raw = raw
        self.name = name
        self.faults: list[str] = [] if faults is None else faults
        self._read: set[str] = set()

    def text(self, key: str) -> str:
        """Return a text that must be there and say something; ``""`` with a fault otherwise."""
        if key not in self.raw:
            self._fault(key, "is missing")
        return self.optional_text(key) or ""

    def optional_text(self, key: str) -> str | None:
        """Return a text, or ``None`` when it is absent or not a text that says something."""
        value = self._take(key)
        if value is None or (isinstance(value, str) and value.strip()):
            return value
        self._fault(key, "must be a text that is not empty")
        return None

    def word(self, key: str, words: type[Word]) -> Word | None:
        """Return one of a few words; ``None`` with a fault for any other."""
        value = self._take(key)
        for word in words:
            if value == word.value:
                return word
        self._fault(key, f"must be one of {', '.join(words)}, not {value!r}")
        return None

    def level(self, key: str) -> Level:
        """Return a level; staying ashore, with a fault, for an unknown one."""
        return self.word(key, Level) or Level.ASHORE

    def water(self, key: str) -> Where | None:
        """Return open or confined, or ``None`` when the table does not ask for one."""
        value = self._take(key)
        for water in WATERS:
            if value == water:
                return water
        if value is not None:
            self._fault(key, f"must be one of {', '.join(WATERS)}, not {value!r}")
        return None

    def age(self, key: str) -> int | None:
        """Return an age in whole years, or ``None`` when it is absent."""
        value = self._take(key)
        if value is None or (type(value) is int and 0 <= value <= _OLDEST):
            return value
        self._fault(key, f"must be a whole number from 0 to {_OLDEST}, not {value!r}")
        return None

    def flag(self, key: str) -> bool:
        """Return a flag; absent is false."""
        value = self._take(key)
        if value is not None and not isinstance(value, bool):
            self._fault(key, f"must be true or false, not {value!r}")
        return value is True

    def tables(self, key: str, name: Callable[[int, dict[str, Any]], str] | None = None) -> list["Table"]:
        """Return the tables of a list, none when it is absent; ``name`` names each for messages."""
        rows = self._take(key)
        if rows is None:
            return []
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self._fault(key, "must be a list of tables")
            return []
        return [
            Table(row, name(number, row) if name else f"{self.name} {key}", self.faults)
            for number, row in enumerate(rows, start=1)
        ]

    def nothing_else(self) -> None:
        """Note every key that nobody asked for: a misspelt one must not pass as absent."""
        for key in sorted(self.raw.keys() - self._read):
            self._fault(key, "is not a known key")

    def _take(self, key: str) -> Any:
        self._read.add(key)
        return self.raw.get(key)

    def _fault(self, key: str, text: str) -> None:
        self.faults.append(f"{self.name}: {key} {text}")

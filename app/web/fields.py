"""Reading a form: one line per field, every mistake collected as a sentence beside its field.

Values are judged only here and by the rules; nothing typed is lost, because the page is shown again
with the same text. Unknown, repeated or oddly shaped fields are refused.
"""

import re
import unicodedata
from collections.abc import Collection, Mapping
from datetime import date

from app.actions.act import Invalid

NAME_MOST = 100
NOTE_MOST = 2000
# Overrides of writing direction and isolates hide what a text says; the page isolates names itself.
DIRECTION = {0x202A, 0x202B, 0x202C, 0x202D, 0x202E, 0x2066, 0x2067, 0x2068, 0x2069}
NUMBER = re.compile(r"^([+-]?\d{1,6}(?:[.,]\d{1,6})?)\s*([^\d\s].{0,9})?$")


class Fields:
    """The text fields of one posted form, taken out one by one."""

    def __init__(self, values: Mapping[str, str], many: Mapping[str, list[str]]) -> None:
        self.values = dict(values)
        self.lists = dict(many)
        self.errors: dict[str, str] = {}
        self._left = set(values) | set(many)

    def text(self, name: str, what: str, *, most: int = NAME_MOST, needed: bool = True) -> str:
        """Return a line of text; ``what`` fits "Enter ...", for example "the contact's name"."""
        value = self._clean(name)
        if not value and needed:
            self.errors.setdefault(name, f"Enter {what}.")
        if len(value) > most:
            self.errors[name] = f"Shorten {what} to {most} characters; it has {len(value)}."
        return value

    def note(self, name: str, what: str, *, needed: bool = False) -> str:
        """Return a longer text, lines kept."""
        return self.text(name, what, most=NOTE_MOST, needed=needed)

    def number(
        self, name: str, label: str, low: float, high: float, unit: str, *, needed: bool = True
    ) -> float | None:
        """Return a number inside its possible range; "200 bar" and decimal commas are understood."""
        value = self._clean(name)
        if not value:
            if needed:
                called = f"{label[0].lower()}{label[1:]}"
                self.errors.setdefault(name, f"Enter {called} in {unit}." if unit else f"Enter {called}.")
            return None
        match = NUMBER.match(value)
        said = (match.group(2) or "").strip().lower() if match else ""
        if match is None or (said and said != unit.lower()):
            self.errors[name] = (
                f"Write {label[0].lower()}{label[1:]} as a number{f' in {unit}' if unit else ''}, "
                f"for example {_short((low + high) / 2)}."
            )
            return None
        number = float(match.group(1).replace(",", "."))
        if not low <= number <= high:
            self.errors[name] = (
                f"{label} must be between {_short(low)} and {_short(high)}{f' {unit}' if unit else ''}."
            )
            return None
        return number

    def whole(self, name: str, label: str, low: int, high: int, *, needed: bool = True) -> int | None:
        """Return a whole number inside its range."""
        number = self.number(name, label, low, high, "", needed=needed)
        if number is not None and number != int(number):
            self.errors[name] = f"{label} must be a whole number."
            return None
        return None if number is None else int(number)

    def required_number(self, name: str, label: str, low: float, high: float, unit: str) -> float:
        """Like ``number``, for a field that must be there (0 stands in until ``done`` refuses)."""
        return self.number(name, label, low, high, unit) or 0.0

    def choice(self, name: str, what: str, options: Collection[str], *, needed: bool = True) -> str:
        """Return one of the offered values; ``what`` fits "Choose ..."."""
        value = self._clean(name)
        if not value and not needed:
            return ""
        if value not in options:
            self.errors[name] = f"Choose {what}."
            return ""
        return value

    def several(self, name: str, what: str, options: Collection[str]) -> list[str]:
        """Return every ticked value of a list of ticks."""
        self._left.discard(name)
        values = self.lists.get(name) or ([self.values[name]] if self.values.get(name) else [])
        if any(value not in options for value in values) or len(set(values)) != len(values):
            self.errors[name] = f"Choose {what} from the list."
            return []
        return values

    def tick(self, name: str) -> bool:
        """Return whether a box is ticked."""
        return self._clean(name) not in ("", "no")

    def date3(
        self, name: str, what: str, earliest: date, latest: date, *, needed: bool = True
    ) -> date | None:
        """Return a date typed into three boxes ``name_day``, ``name_month``, ``name_year``."""
        parts = [self._clean(f"{name}_{part}") for part in ("day", "month", "year")]
        if not any(parts) and not needed:
            return None
        try:
            value = date(int(parts[2]), int(parts[1]), int(parts[0]))
        except ValueError:
            self.errors[name] = f"Enter {what} as day, month and year, for example 27 3 1995."
            return None
        if not earliest <= value <= latest:
            self.errors[name] = (
                f"{what[0].upper()}{what[1:]} must be between {earliest:%d %m %Y} and {latest:%d %m %Y}."
            )
            return None
        return value

    def clock(self, name: str, what: str, *, needed: bool = True) -> str:
        """Return a time of day as HH:MM."""
        value = self._clean(name)
        if not value and not needed:
            return ""
        match = re.fullmatch(r"(\d{1,2})[:.](\d{2})", value)
        if match is None or int(match.group(1)) > 23 or int(match.group(2)) > 59:  # noqa: PLR2004 - a clock's face
            self.errors[name] = f"Enter {what} as hours and minutes, for example 14:05."
            return ""
        return f"{int(match.group(1)):02d}:{match.group(2)}"

    def wrong(self, name: str, sentence: str) -> None:
        """Add a mistake found outside."""
        self.errors[name] = sentence

    def done(self) -> None:
        """Raise Invalid when anything was wrong, or when a field came that this form does not have."""
        if self._left:
            self.errors.setdefault(
                "form", "This form has changed. Open the page again and fill it in once more."
            )
        if self.errors:
            raise Invalid(self.errors)

    def _clean(self, name: str) -> str:
        self._left.discard(name)
        if name in self.lists:
            self.errors[name] = "This was sent twice. Choose one and send again."
            return ""
        value = unicodedata.normalize("NFC", self.values.get(name, "")).strip()
        if (
            any(
                ord(letter) in DIRECTION
                or (unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\r\t")
                for letter in value
            )
            or "\ufffd" in value
        ):
            self.errors[name] = "Remove hidden control characters from this text."
            return ""
        return value


def _short(number: float) -> str:
    return f"{number:g}"

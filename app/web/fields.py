"""Reading a form: one line per field, every mistake collected as a sentence beside its field.

Values are judged only here and by the rules; nothing typed is lost, because the page is shown again
with the same text. Unknown, repeated or oddly shaped fields are refused.
"""

import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from app.actions.act import Invalid
from app.planning.units import BASES, UNITS, AsRead, Unit, Way, other_units, unit_typed
from app.rules.sentences import Sentence

NAME_MOST = 100
NOTE_MOST = 2000
# Overrides of writing direction and isolates hide what a text says; the page isolates names itself.
DIRECTION = {0x202A, 0x202B, 0x202C, 0x202D, 0x202E, 0x2066, 0x2067, 0x2068, 0x2069}
NUMBER = re.compile(r"^([+-]?\d{1,6}(?:[.,]\d{1,6})?)\s*([^\d\s].{0,9})?$")


@dataclass(frozen=True)
class ShownIn:
    """How a page showed a field whose reader reads another unit than the records keep.

    text, kept: what stood in the box, and the kept figure it was made from; both None for an empty box.
    """

    unit: Unit
    text: str | None = None
    kept: float | None = None


class Fields:
    """The text fields of one posted form, taken out one by one.

    shown: fields that the page showed in another unit, by name; a bare number there is in that unit.
    """

    def __init__(
        self,
        values: Mapping[str, str],
        many: Mapping[str, list[str]],
        shown: Mapping[str, ShownIn] | None = None,
    ) -> None:
        self.values = dict(values)
        self.lists = dict(many)
        self.errors: dict[str, str] = {}
        self._left = set(values) | set(many)
        self._shown = dict(shown or {})
        self._measured: set[str] = set()

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
        """Return a number inside its possible range, in ``unit``.

        "200 bar", "2900 psi" and decimal commas are understood; a bare number is in the unit that the page
        showed beside the field. What stands in the form as it was shown stays the figure it was.
        """
        read = self.reading(name, label, low, high, unit, needed=needed)
        return None if read is None else read.base

    def reading(
        self, name: str, label: str, low: float, high: float, unit: str, *, needed: bool = True
    ) -> AsRead | None:
        """Like ``number``, with the figure and the unit as somebody wrote them; low and high in ``unit``."""
        self._measured.add(name)
        value = self._clean(name)
        shown = self._shown.get(name)
        bare = unit if shown is None else shown.unit.name
        # "Ann's pressure" begins with a name.
        called = label if "'s " in label else f"{label[:1].lower()}{label[1:]}"
        if not value:
            if needed:
                self.errors.setdefault(name, f"Enter {called} in {bare}." if bare else f"Enter {called}.")
            return None
        if shown is not None and shown.kept is not None and value == shown.text:
            return AsRead(shown.kept, shown.kept, unit)
        match = NUMBER.match(value)
        said = (match.group(2) or "").strip() if match else ""
        typed = UNITS[bare] if bare in UNITS and not said else unit_typed(said, unit)
        if match is None or (typed is None and said.lower() != unit.lower() and said):
            example = _short(
                round((low + high) / 2) if low == int(low) and high - low > 1 else (low + high) / 2
            )
            in_unit = f" in {unit}" if unit else ""
            self.errors[name] = f"Write {called} as a number{in_unit}, for example {example}{_after(unit)}."
            return None
        number = float(match.group(1).replace(",", "."))
        base = number if typed is None else typed.kept(number)
        if not low <= base <= high:
            self.errors[name] = _out_of_range(label, low, high, unit, typed) + _meant(
                number, low, high, typed
            )
            return None
        return AsRead(base, number, unit if typed is None else typed.name)

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

    def required_reading(self, name: str, label: str, low: float, high: float, unit: str) -> AsRead:
        """Like ``reading``, for a field that must be there (0 stands in until ``done`` refuses)."""
        return self.reading(name, label, low, high, unit) or AsRead.as_kept(0.0, unit)

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
        except (ValueError, OverflowError):
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
        if self._left or set(self._shown) - self._measured:
            self.errors.setdefault(
                "form", Sentence("This form has changed. Open the page again and fill it in once more.")
            )
        if self.errors:
            raise Invalid(self.errors)

    def _clean(self, name: str) -> str:
        self._left.discard(name)
        if name in self.lists:
            self.errors[name] = Sentence("This was sent twice. Choose one and send again.")
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
            self.errors[name] = Sentence("Remove hidden control characters from this text.")
            return ""
        return value


def _short(number: float) -> str:
    return f"{number:g}"


def _after(unit: str) -> str:
    return f" {unit}" if unit in BASES else ""


def _out_of_range(label: str, low: float, high: float, unit: str, typed: Unit | None) -> str:
    """Say the range, first in the unit that was typed, then as it is kept."""
    said = f"{_short(low)} and {_short(high)}{f' {unit}' if unit else ''}"
    if typed is not None and typed.name != unit:
        step = typed.step if (high - low) * typed.per_base > 10 * typed.step else typed.step / 100
        inside = (typed.rounded(low, Way.UP, step), typed.rounded(high, Way.DOWN, step))
        said = f"{_short(inside[0])} and {_short(inside[1])} {typed.name} ({said})"
    return f"{label} must be between {said}."


def _meant(number: float, low: float, high: float, typed: Unit | None) -> str:
    """Ask for the unit when the number fits in another one."""
    for unit in () if typed is None else (UNITS[typed.base], *other_units(typed.base)):
        if unit is not typed and low <= unit.kept(number) <= high:
            return f" If the gauge shows {unit.name}, write {_short(number)} {unit.name}."
    return ""

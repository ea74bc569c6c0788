"""Which value of a limit binds now, and who set it: the strictest of all that speak.

A source that knows it has no value (None) makes the limit missing, and a missing limit allows nothing.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import IntEnum
from math import isfinite, isnan
from types import MappingProxyType
from typing import Any

from app.rules import limits
from app.rules.decision import ALLOWED, Decision, Reason, refuse
from app.rules.limits import Direction, Limit, Value
from app.rules.presets import Preset


class Kind(IntEnum):
    """Who speaks. When two give the same value, the lower number is named."""

    HARD = 0
    PRESET = 1
    SHOP = 2
    SITE = 3
    CONDITIONS = 4
    AGE = 5
    CARE = 6
    GUIDE = 7
    SHIPPED = 8


@dataclass(frozen=True, slots=True)
class Source:
    """One voice: values by limit key. None means "should know, does not": nothing is allowed then."""

    kind: Kind
    name: str
    values: Mapping[str, Value | None]


@dataclass(frozen=True, slots=True)
class InForce:
    """The value that binds, with its unit, who set it, the shipped value and the limit's source."""

    key: str
    value: Value | None
    unit: str
    bound_by: str
    default: Value
    source: str

    @property
    def number(self) -> float | None:
        """The value as a number; None when it is missing."""
        return None if self.value is None or isinstance(self.value, tuple) else float(self.value)

    @property
    def required(self) -> bool:
        """A flag's answer. A missing flag asks: unknown never makes anything easier."""
        return self.value is None or bool(self.value)

    @property
    def names(self) -> tuple[str, ...] | None:
        """The keys of a required set; None when it is missing."""
        return self.value if isinstance(self.value, tuple) else None


def preset_source(preset: Preset) -> Source:
    """The preset's voice."""
    return Source(Kind.PRESET, f"preset {preset.name}", preset.values)


def shop_source(values: Mapping[str, Value]) -> Source:
    """The shop's own settings, by limit key."""
    return Source(Kind.SHOP, "shop", values)


def in_force(key: str, sources: Iterable[Source]) -> InForce:
    """The strictest value of one limit among the hard limit and these sources.

    While the shop has set nothing, the shipped value speaks in its place.
    Raises KeyError for a key that is no limit: a misspelt rule must never pass as "no rule".
    """
    limit = limits.ALL[key]
    given = [source for source in sources if key in source.values]
    voices: list[tuple[Value | None, Kind, str]] = [
        (_known(source.values[key]), source.kind, source.name) for source in given
    ]
    if limit.hard:
        voices.append((limit.value, Kind.HARD, "hard limit"))
    elif all(source.kind is not Kind.SHOP for source in given):
        voices.append((limit.value, Kind.SHIPPED, "shipped value"))
    voices.append((limit.outermost, Kind.HARD if limit.hard else Kind.PRESET, _outermost_name(limit)))
    value, _, name = min(voices, key=lambda voice: (_rank(limit.direction, voice[0]), voice[1], voice[2]))
    if limit.direction == "set" and value is not None:
        value, name = _union(limit, voices)
    return InForce(key, value, limit.unit, name, limit.value, limit.source)


def strictest(first: InForce, *others: InForce) -> InForce:
    """The strictest of several limits of the same direction and unit; missing is strictest of all.

    The answer keeps the key of the limit that binds. Raises ValueError when the limits do not compare.
    """
    direction = limits.ALL[first.key].direction
    for other in others:
        if limits.ALL[other.key].direction != direction or other.unit != first.unit:
            raise ValueError(f"{first.key} and {other.key} cannot be compared")
    return min((first, *others), key=lambda one: _rank(direction, one.value))


@dataclass(frozen=True, slots=True)
class Limits:
    """Every limit in force for one group at one time: what gates ask, and what a plan keeps."""

    _values: Mapping[str, InForce]

    def __getitem__(self, limit: Limit | str) -> InForce:
        """The value in force of one limit. Raises KeyError for a key that is no limit."""
        return self._values[limit if isinstance(limit, str) else limit.key]

    def __iter__(self) -> Iterator[InForce]:
        return iter(self._values.values())

    def __len__(self) -> int:
        return len(self._values)

    def as_record(self) -> dict[str, dict[str, Any]]:
        """Plain JSON-able form, to be kept with a plan so that later edits do not rewrite history."""
        return {
            one.key: {
                "value": list(one.value) if isinstance(one.value, tuple) else one.value,
                "unit": one.unit,
                "bound_by": one.bound_by,
            }
            for one in self
        }


def limits_for(sources: Iterable[Source]) -> Limits:
    """Resolve every limit of the registry among these sources."""
    voices = tuple(sources)
    return Limits(MappingProxyType({key: in_force(key, voices) for key in limits.ALL}))


def limits_from_record(record: Mapping[str, Mapping[str, Any]]) -> Limits:
    """Read back what `Limits.as_record` gave.

    A limit that the record does not know, because it was added later, is missing and allows nothing.
    """
    found: dict[str, InForce] = {}
    for key, limit in limits.ALL.items():
        kept = record.get(key)
        value = None if kept is None else kept["value"]
        found[key] = InForce(
            key,
            tuple(value) if isinstance(value, list) else value,
            limit.unit,
            "not in the record" if kept is None else str(kept["bound_by"]),
            limit.value,
            limit.source,
        )
    return Limits(MappingProxyType(found))


def is_looser(limit: Limit, value: Value, than: Value) -> bool:
    """Whether `value` gives up anything that `than` asks for."""
    if limit.direction == "set":
        return not set(_names(value)) >= set(_names(than))
    return _rank(limit.direction, value) > _rank(limit.direction, than)


def may_set(key: str, value: Value, role: str, preset: Preset, current: Value | None = None) -> Decision:
    """May a person with this role make `value` the shop's own value of a limit?

    Never past the hard limit or the preset. Anyone may tighten the current value (the shipped one while
    the shop has none); only the manager may loosen it. Raises KeyError for a key that is no limit.
    """
    limit = limits.ALL[key]
    if not _same_shape(value, limit.value):
        text = "This value does not fit the limit. Enter one like the value shown."
        return refuse(Reason(key, text, show(value), show(limit.value), limit.unit, "shipped value"))
    edge = in_force(key, (preset_source(preset), shop_source({key: limit.outermost})))
    if edge.value is not None and is_looser(limit, value, edge.value):
        text = f"This is looser than the {edge.bound_by} allows. Enter a stricter value."
        return refuse(Reason(key, text, show(value), needed(edge), edge.unit, edge.bound_by))
    standing = limit.value if current is None else current
    if is_looser(limit, value, standing) and role != "manager":
        text = "Only the manager may loosen a limit. Ask the manager."
        return refuse(Reason(limits.MAY_SET.key, text, show(value), show(standing), limit.unit, "hard limit"))
    return ALLOWED


def show(value: Value | None) -> str:
    """A limit's or a reading's value as shown in a reason, without its unit."""
    if value is None:
        return "not known"
    if isinstance(value, tuple):
        return ", ".join(name.replace("_", " ") for name in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}"


def needed(limit: InForce) -> str:
    """What a limit asks for, in words and without its unit."""
    words = {"max": "at most ", "min": "at least ", "flag": "", "set": ""}
    return "a value" if limit.value is None else words[limits.ALL[limit.key].direction] + show(limit.value)


def _rank(direction: Direction, value: Value | None) -> float:
    """Smaller is stricter; a missing value is strictest of all."""
    if value is None:
        return float("-inf")
    if isinstance(value, tuple):
        return -float(len(value))
    return float(value) if direction == "max" else -float(value)


def _known(value: Value | None) -> Value | None:
    """A figure that is not a number is not known: it would compare as neither strict nor loose."""
    return None if isinstance(value, float) and isnan(value) else value


def _union(limit: Limit, voices: list[tuple[Value | None, Kind, str]]) -> tuple[Value, str]:
    """All names that any voice asks for, in registry order first, and the first voice that asks them all."""
    asked = {name for value, _, _ in voices for name in _names(value)}
    first = [name for name in _names(limit.value) if name in asked]
    everything = (*first, *sorted(asked - set(first)))
    full = sorted((kind, name) for value, kind, name in voices if set(_names(value)) == asked)
    return everything, full[0][1] if full else "several together"


def _names(value: Value | None) -> tuple[str, ...]:
    return value if isinstance(value, tuple) else ()


def _same_shape(value: Value, like: Value) -> bool:
    """Whether a value is of the limit's kind; a number must be finite and not below zero."""
    if isinstance(like, bool) or isinstance(value, bool):
        return isinstance(like, bool) and isinstance(value, bool)
    if isinstance(like, tuple) or isinstance(value, tuple):
        return isinstance(like, tuple) and isinstance(value, tuple)
    return isfinite(value) and value >= 0


def _outermost_name(limit: Limit) -> str:
    return "hard limit" if limit.hard else "preset general"

"""Kit on the rail: the words for kinds and sizes, and whether a piece may be given out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from app.rules import limits as L
from app.rules.cylinders import add_months
from app.rules.decision import ALLOWED, Decision, all_of
from app.rules.measure import must
from app.rules.resolve import Limits, needed

_CHILD = ("130", "140", "150")
_BODY = ("XXS", "XS", "S", "M", "L", "XL", "XXL", "3XL")
_FEET = tuple(str(size) for size in range(28, 50))

SIZES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "suit": (*_CHILD, *_BODY),
        "jacket": _BODY,
        "boots": _FEET,
        "fins": _FEET,
        "mask": ("small", "medium", "large"),
        "regulator": (),
    }
)
"""Kind of kit -> its size words, smallest first; none for a regulator. Feet in European sizes, children's
suits by body height in cm."""

SERVICED = frozenset({"jacket", "regulator"})
"""Kinds a life hangs on: they need a service in date. Source: common practice."""


@dataclass(frozen=True, slots=True)
class KitFacts:
    """One piece of kit. service_due: last day its service counts, None while no service is on file.

    quarantined: None while not known. out_with: who has it, "" for nobody, None while not known.
    """

    number: str
    kind: str
    size: str
    quarantined: bool | None
    out_with: str | None
    service_due: date | None
    quarantine_reason: str = ""


def may_give(item: KitFacts, day: date, limits: Limits, to: str = "") -> Decision:
    """May this piece go to a guest on `day`? to: the guest's name; kit already with that guest is free."""
    what = f"{item.kind.capitalize()} {item.number}"
    set_aside = must(
        L.KIT_NOT_QUARANTINED,
        item.quarantined is False,
        f"{what} is set aside. Take another.",
        found=item.quarantine_reason or "set aside",
        needed="in use",
        who=item.number,
    )
    free = must(
        L.KIT_FREE,
        item.out_with is not None and item.out_with in {"", to},
        f"{what} is with someone else. Take another.",
        found=item.out_with or "not known",
        needed="with nobody",
        who=item.number,
    )
    return all_of((set_aside, free, _serviced(item, day, limits, what)))


def may_hold(name: str, item: KitFacts, has: str) -> Decision:
    """May this guest have one more piece of this kind? has: the number of the one in hand, "" for none."""
    return must(
        L.KIT_FREE,
        has == "",
        f"{name} has {item.kind} {has} already. Take that back first.",
        found=f"{item.kind} {has}",
        needed="one of a kind",
        who=item.number,
    )


def next_service(last: date, limits: Limits) -> date | None:
    """The last day a service done on `last` counts; None when no interval is set."""
    months = limits[L.KIT_SERVICE_EVERY].number
    return None if months is None else add_months(last, int(months))


def _serviced(item: KitFacts, day: date, limits: Limits, what: str) -> Decision:
    if item.kind not in SERVICED:
        return ALLOWED
    interval = limits[L.KIT_SERVICE_EVERY]
    return must(
        L.KIT_SERVICE_EVERY,
        item.service_due is not None and day <= item.service_due,
        f"{what} is due for service. Set it aside.",
        found="no date" if item.service_due is None else item.service_due.isoformat(),
        needed=f"serviced {needed(interval)} {interval.unit} ago",
        who=item.number,
    )

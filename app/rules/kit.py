"""Kit on the rail: the words for kinds and sizes, and whether a piece may be given out."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from types import MappingProxyType

from app.rules import limits as L
from app.rules.cylinders import add_months
from app.rules.decision import ALLOWED, Decision, all_of
from app.rules.measure import must, within
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
        "hood": _BODY,
        "gloves": _BODY,
        "belt": (),
        "torch": (),
    }
)
"""Kind of kit -> its size words, smallest first, in the order of the rail; none where one size is for all.
Feet in European sizes, children's suits by body height in cm. A belt or a pair of pouches carries lead,
which is counted in kg and not piece by piece."""

KINDS: Mapping[str, str] = MappingProxyType(
    {
        "suit": "Suits",
        "jacket": "Jackets",
        "boots": "Boots",
        "fins": "Fins",
        "mask": "Masks",
        "regulator": "Regulators",
        "hood": "Hoods",
        "gloves": "Gloves",
        "belt": "Weight belts and pouches",
        "torch": "Torches",
    }
)
"""Kind of kit -> what many of them are called."""

FIRST_DIVE = ("suit", "jacket", "boots", "fins", "mask", "regulator")
"""What a first dive needs until the shop says otherwise. Source: common practice."""

SERVICED = frozenset({"jacket", "regulator"})
"""Kinds a life hangs on: they need a service in date. Source: common practice."""

DISINFECTED = frozenset({"mask", "regulator"})
"""Kinds that touch mouth, nose and eyes: rinsing is not enough. Source: common practice."""


@dataclass(frozen=True, slots=True)
class KitFacts:
    """One piece of kit. service_due: last day its service counts, None while no service is on file.

    quarantined: None while not known. out_with: who has it, "" for nobody, None while not known.
    back_at: when it last came back from a guest, None when it never went out. rinsed: somebody said by
    hand that it is clean and dry since then.
    """

    number: str
    kind: str
    size: str
    quarantined: bool | None
    out_with: str | None
    service_due: date | None
    quarantine_reason: str = ""
    back_at: datetime | None = None
    rinsed: bool = False


def may_give(item: KitFacts, day: date, now: datetime, limits: Limits, to: str = "") -> Decision:
    """May this piece go to a guest now, for a dive on `day`? The one gate before any piece is handed out.

    to: the guest's name; kit already with that guest is free.
    """
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
    return all_of((set_aside, free, _serviced(item, day, limits, what), _rinsed(item, now, limits, what)))


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


def clean_from(back_at: datetime, limits: Limits) -> datetime | None:
    """From when a piece that came back counts as rinsed and dry; None when the shop has no time for it."""
    minutes = limits[L.KIT_RINSE_MINUTES].number
    return None if minutes is None else back_at + timedelta(minutes=minutes)


def how_to_clean(kind: str) -> str:
    """What is done with a piece of this kind before the next guest, as it stands in a sentence."""
    return "rinsed and disinfected" if kind in DISINFECTED else "rinsed and dry"


def first_dive_needs(shop: Collection[str], water_c: float | None, limits: Limits) -> tuple[str, ...]:
    """The kinds that a first dive needs in water of this temperature in °C, in the order of the rail.

    shop: the shop's list. A hood is added in cold water, and when nobody knows how cold it is.
    """
    cold = not within(limits[L.KIT_HOOD_BELOW], water_c, unknown="", broken="").allowed
    return tuple(kind for kind in SIZES if kind in shop or (kind == "hood" and cold))


def lacking(needs: Iterable[str], has: Collection[str]) -> tuple[str, ...]:
    """The kinds still missing until a guest is fitted; empty for a guest who has all of them."""
    return tuple(kind for kind in needs if kind not in has)


def next_service(last: date, limits: Limits) -> date | None:
    """The last day a service done on `last` counts; None when no interval is set."""
    months = limits[L.KIT_SERVICE_EVERY].number
    return None if months is None else add_months(last, int(months))


def service_asked(item: KitFacts, day: date, limits: Limits) -> bool:
    """Whether a service is due or will be within the notice, counted from `day`."""
    notice = limits[L.KIT_SERVICE_NOTICE].number
    if item.kind not in SERVICED:
        return False
    return item.service_due is None or notice is None or item.service_due <= day + timedelta(days=notice)


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


def _rinsed(item: KitFacts, now: datetime, limits: Limits, what: str) -> Decision:
    if item.back_at is None or item.rinsed:
        return ALLOWED
    wait = limits[L.KIT_RINSE_MINUTES]
    since = (now - item.back_at) / timedelta(minutes=1)
    return must(
        L.KIT_RINSED,
        wait.number is not None and since >= wait.number,
        f"{what} just came back. Mark it when it is {how_to_clean(item.kind)}, or take another.",
        found=f"back {max(since, 0):.0f} min ago",
        needed=f"{how_to_clean(item.kind)}, or {needed(wait)} {wait.unit}",
        who=item.number,
    )

"""Can the shop take so many more people in a slot? Yes or no, and everything that stands in the way.

Asked over plain facts and answered at once: places, guides under today's conditions, cylinders that are full
and cool in time, and kit that is back and rinsed. Asking books nothing and keeps nothing.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.rules import limits as L
from app.rules.booking import SlotFacts, places_left
from app.rules.decision import ALLOWED, Decision, Reason, all_of, note, refuse
from app.rules.group_change import planned_limits, planned_ratio
from app.rules.groups import GroupFacts, staff_may_lead
from app.rules.guide_day import Left
from app.rules.kit import SIZES
from app.rules.kit_offers import Piece, Want, share_out
from app.rules.limits import Value
from app.rules.measure import must, within
from app.rules.presets import Preset
from app.rules.resolve import Limits
from app.rules.size_chart import sizes_to_try

BODY_KINDS = ("suit", "jacket")
"""Kit that goes by body size; a regulator fits everybody. Boots, fins and masks wait for the guest."""
ONE_FOR_ALL = "regulator"


@dataclass(frozen=True, slots=True)
class Asked:
    """How many more people. sizes: body size -> how many of them wear it, as far as anybody knows."""

    people: int
    sizes: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Guide:
    """Somebody who could lead. group: the slot with this guide and no guests; left: what nitrogen says."""

    group: GroupFacts
    left: Left


@dataclass(frozen=True, slots=True)
class Cylinders:
    """What the fill plan says with these people counted in.

    missing: people for whom there is no cylinder; late: how many are ready too late, None while the
    compressor's delivery is not known; ready_at: clock time of the last. others: later slots left short.
    """

    missing: int
    late: int | None
    ready_at: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kit:
    """pieces: free when; wants: what booked guests still need; until: when a piece given is clean again.

    kinds: kinds of kit that the shop keeps on its rail at all; others are not counted, and that is said.
    """

    pieces: tuple[Piece, ...]
    wants: tuple[Want, ...]
    begins: datetime
    until: datetime
    kinds: frozenset[str]


@dataclass(frozen=True, slots=True)
class CapacityFacts:
    """All that the answer rests on. waiting: booked guests of the slot who are in no group yet."""

    slot: SlotFacts
    waiting: int
    groups: tuple[GroupFacts, ...]
    guides: tuple[Guide, ...]
    cylinders: Cylinders
    kit: Kit


def may_take(
    asked: Asked, facts: CapacityFacts, now: datetime, limits: Limits, preset: Preset, shop: dict[str, Value]
) -> Decision:
    """May so many more come? Every reason against it; notes are worth knowing when the answer is yes."""
    return all_of(
        (
            _in_time(facts.slot, now),
            _places(asked, facts.slot, limits),
            _guides(asked, facts, preset, shop),
            _cylinders(facts.cylinders, facts.slot),
            *(_kit(kind, asked, facts.kit) for kind in (*BODY_KINDS, ONE_FOR_ALL)),
        )
    )


def group_places(facts: CapacityFacts, preset: Preset, shop: dict[str, Value]) -> int:
    """Return how many guests the groups there are can still hold, those who wait for a group counted off."""
    spare = sum(
        max(0, _most(group, preset, shop) - len(group.guests))
        for group in facts.groups
        if group.guide is not None
    )
    return spare - facts.waiting


def sizes_left(kind: str, kit: Kit) -> dict[str, int]:
    """Return size -> pieces that are back and rinsed when the slot begins and are meant for nobody."""
    offers, _ = share_out(kit.wants, kit.pieces)
    until = {want.guest_id: want.until for want in kit.wants}
    taken = {one.item_id for one in offers if until[one.guest_id] > kit.begins}
    free = Counter(
        piece.size
        for piece in kit.pieces
        if piece.kind == kind and piece.free_from <= kit.begins and piece.item_id not in taken
    )
    known = SIZES.get(kind, ())
    return dict(sorted(free.items(), key=lambda one: known.index(one[0]) if one[0] in known else len(known)))


def _in_time(slot: SlotFacts, now: datetime) -> Decision:
    return must(
        L.BOOKING_CLOSES_BEFORE,
        slot.start - now > timedelta(),
        f"{slot.label} has begun. Choose a later time.",
        found="begun",
        needed="not begun yet",
    )


def _places(asked: Asked, slot: SlotFacts, limits: Limits) -> Decision:
    left = places_left(slot)
    count = "no place" if left == 0 else "1 place" if left == 1 else f"{left} places"
    size = within(
        limits[L.PARTY_SIZE_MAX],
        asked.people,
        unknown="Enter the number of people.",
        broken="That is too many for one booking. Ask for two parties.",
    )
    return size + must(
        L.PLACES_LEFT,
        asked.people <= left,
        f"{slot.label} is not open for booking."
        if slot.open is not True
        else f"{slot.label} has {count} left.",
        found=str(left),
        needed=str(asked.people),
    )


def _guides(asked: Asked, facts: CapacityFacts, preset: Preset, shop: dict[str, Value]) -> Decision:
    room = group_places(facts, preset, shop)
    against: list[Decision] = []
    notes: list[Decision] = []
    for guide in facts.guides:
        asked_of = staff_may_lead(guide.group, planned_limits(guide.group, preset, shop)) + _nitrogen(guide)
        if asked_of.allowed:
            room += _most(guide.group, preset, shop)
            notes.append(asked_of)
        else:
            against.append(asked_of)
    if asked.people <= room:
        return all_of(notes).as_notes()
    free = max(0, room)
    text = (
        "No guide is free for them." if free == 0 else f"The guides who are free have room for {free} only."
    )
    return refuse(Reason(L.GUIDE_REQUIRED.key, text, str(free), str(asked.people), "guests")) + all_of(
        against
    )


def _most(group: GroupFacts, preset: Preset, shop: dict[str, Value]) -> int:
    return int(planned_ratio(group, planned_limits(group, preset, shop)).number or 0)


def _nitrogen(guide: Guide) -> Decision:
    name = "" if guide.group.guide is None else guide.group.guide.name
    key = L.NITROGEN_GRADIENT_FACTOR.key
    if guide.left is Left.NOT_ENOUGH:
        text = f"{name}'s dives leave too little no-stop time for one more. Choose someone else."
        return refuse(Reason(key, text, str(guide.left), str(Left.ENOUGH), "", "", name))
    if guide.left is Left.TABLE_ASKS:
        text = f"The navy table is stricter for {name}, who must look at it and say so."
        return note(Reason(key, text, "", "", "", "", name))
    return ALLOWED


def _cylinders(found: Cylinders, slot: SlotFacts) -> Decision:
    key = L.CYLINDER_GIVEN.key
    reasons = []
    if found.missing:
        short = "1 person" if found.missing == 1 else f"{found.missing} people"
        text = f"There is no cylinder for {short}: nothing else can be filled for {slot.label}."
        reasons.append(Reason(key, text, "none", "one each"))
    if found.late is None:
        text = "Nobody wrote down what the compressor delivers, so no time is known. Write it down."
        reasons.append(Reason(key, text, "not known", "full and cool in time"))
    elif found.late:
        text = f"The cylinders for {slot.label} are not all full and cool before {found.ready_at}."
        reasons.append(Reason(key, text, found.ready_at, "in time"))
    reasons += [
        Reason(key, f"It would leave {label} short of cylinders.", "short", "enough")
        for label in found.others
    ]
    return refuse(*reasons)


def _kit(kind: str, asked: Asked, kit: Kit) -> Decision:
    if kind not in kit.kinds:
        text = f"No {kind} is on the kit rail's list, so none is counted here."
        return note(Reason(L.KIT_FREE.key, text, "", ""))
    wants = [one for one in kit.wants if one.kind == kind]
    pieces = [one for one in kit.pieces if one.kind == kind]
    before = len(share_out(wants, pieces)[1])
    shorts = share_out([*wants, *_new_wants(kind, asked, kit)], pieces)[1]
    theirs = [short for short in shorts if short.guest_id < 0]
    others = len(shorts) - len(theirs) - before
    reasons = []
    if theirs:
        sizes = Counter(_sizes(asked)[-1 - short.guest_id] if kind in BODY_KINDS else "" for short in theirs)
        text = f"No {kind} is left for {len(theirs)} of them{_said_sizes(sizes)}. {_said_left(kind, kit)}"
        reasons.append(Reason(L.KIT_FREE.key, text, f"{len(theirs)} short", "none short"))
    if others > 0:
        text = f"It would leave {others} of a later slot without a {kind} that is rinsed."
        reasons.append(Reason(L.KIT_RINSED.key, text, f"{others} short", "none short"))
    return refuse(*reasons)


def _new_wants(kind: str, asked: Asked, kit: Kit) -> list[Want]:
    """The newcomers' wants, known sizes first; they have numbers below 0, so that nobody is confused."""
    wants = []
    for place, size in enumerate(_sizes(asked)):
        tried = SIZES.get(kind, ()) or ("",)
        if size and kind in BODY_KINDS:
            tried = sizes_to_try(kind, size)
        wants.append(Want(-1 - place, kind, tried, kit.begins, kit.until))
    return wants


def _sizes(asked: Asked) -> list[str]:
    """One size for each of them, "" for those whose size nobody knows."""
    known = [size for size, count in sorted(asked.sizes.items()) for _ in range(count)][: asked.people]
    return known + [""] * (asked.people - len(known))


def _said_sizes(sizes: Counter[str]) -> str:
    known = ", ".join(f"{count} of size {size}" for size, count in sorted(sizes.items()) if size)
    return f" ({known})" if known else ""


def _said_left(kind: str, kit: Kit) -> str:
    left = ", ".join(
        f"{size}: {count}" if size else str(count) for size, count in sizes_left(kind, kit).items()
    )
    return f"Left then: {left}." if left else "None is left then."

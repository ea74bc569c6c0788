"""What some weeks teach about the day's work: skills, waiting, where booked guests end, who does not come.

Holds are counted by what a named instructor decided and by the guests' own wish; never by cause.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from statistics import median, quantiles
from typing import Any

from sqlalchemy import case, func, select
from sqlmodel import Session, col

from app.planning.shares import Share
from app.records.setup.shop import Shop
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.health import ConsentRow, TalkRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.water import SkillRow, WaterEventRow
from app.records.welcome.arrivals import here_between
from app.records.welcome.bookings import BOOKED
from app.rules.sign_off import Mark

# How long before the day a party booked, in days: the last group has no end.
AHEAD = ((0, "on the day"), (1, "the day before"), (6, "2 to 6 days before"), (None, "7 days or more before"))


@dataclass(frozen=True)
class SkillLearned:
    """One skill: how many of its guests needed it more than once, and how often it was tried in all."""

    skill: str
    again: Share
    tries: int


@dataclass(frozen=True)
class Wait:
    """Minutes from arriving to the water at one start time. middle, nine_of_ten: of the parties."""

    clock: str
    parties: int
    middle: float
    nine_of_ten: float


@dataclass(frozen=True)
class Learning:
    """What a span of days teaches. ends: booked guests by where they ended; no_shows: by how they booked."""

    skills: tuple[SkillLearned, ...]
    waits: tuple[Wait, ...]
    without_arrival: int
    ends: Mapping[str, int]
    no_shows: tuple[tuple[str, Share], ...]


@dataclass(frozen=True)
class _Booked:
    """One guest of the span: which party and slot, and how the booking stands."""

    guest_id: int
    ref: str
    party: PartyRow
    day: date
    clock: str
    starts_at: datetime
    state: str


DIVED, ASHORE_TALK, OWN_WISH, NOT_COME, CANCELLED, OTHER = (
    "dived", "stayed ashore after a talk", "would rather not dive", "did not come", "cancelled",
    "stayed ashore, nothing written down",
)  # fmt: skip
ENDS = (DIVED, ASHORE_TALK, OWN_WISH, NOT_COME, CANCELLED, OTHER)


# Whoever is not in the water so long after the slot began does not dive in it any more.
OVER_AFTER = timedelta(hours=3)


def learning(session: Session, shop: Shop, first: date, last: date, now: datetime) -> Learning:
    """Return what the days from one to another teach, both included; the queries do not grow with them."""
    entered = _first_in(session, first, last)
    booked = [
        one
        for one in _booked(session, first, last)
        if one.state != BOOKED or one.starts_at + OVER_AFTER < now or one.guest_id in entered
    ]
    begin = datetime.combine(first, time(0), shop.zone)
    end = datetime.combine(last + timedelta(days=1), time(0), shop.zone)
    here = here_between(session, {one.party.id: one.party for one in booked}.values(), begin, end)
    waits, without = _waits(booked, entered, here)
    return Learning(
        _skills(session, first, last),
        waits,
        without,
        _ends(booked, entered, _decided(session, first, last), _wishes(session, begin, end)),
        _no_shows(shop, booked),
    )


def _booked(session: Session, first: date, last: date) -> list[_Booked]:
    spans = col(SlotRow.day) >= first, col(SlotRow.day) <= last
    slots = {slot.id: slot for slot in session.scalars(select(SlotRow).where(*spans))}
    asked = select(PartyRow).join(SlotRow, col(SlotRow.id) == col(PartyRow.slot_id)).where(*spans)
    parties = {party.id: party for party in session.scalars(asked)}
    guests = (
        select(col(GuestRow.id), col(GuestRow.ref), col(GuestRow.state), col(GuestRow.party_id))
        .join(PartyRow, col(PartyRow.id) == col(GuestRow.party_id))
        .join(SlotRow, col(SlotRow.id) == col(PartyRow.slot_id))
        .where(*spans)
    )
    found = []
    for guest, ref, state, party_id in session.execute(guests):
        party = parties[party_id]
        slot, stands = slots[party.slot_id], party.state if party.state != BOOKED else state
        found.append(_Booked(guest, ref, party, slot.day, slot.clock, slot.starts_at, stands))
    return found


def _first_in(session: Session, first: date, last: date) -> dict[int, datetime]:
    """When each guest of the span first went into the water."""
    asked = (
        select(col(MemberRow.guest_id), func.min(col(WaterEventRow.happened_at)))
        .join(MemberRow, col(MemberRow.id) == col(WaterEventRow.member_id))
        .join(GroupRow, col(GroupRow.id) == col(MemberRow.group_id))
        .join(SlotRow, col(SlotRow.id) == col(GroupRow.slot_id))
        .where(col(SlotRow.day) >= first, col(SlotRow.day) <= last)
        .where(col(WaterEventRow.event) == "in", col(MemberRow.guest_id).is_not(None))
        .group_by(col(MemberRow.guest_id))
    )
    return _pairs(session.execute(asked))


def _skills(session: Session, first: date, last: date) -> tuple[SkillLearned, ...]:
    # A mark that was taken back was no try: the row that takes it back comes right after it.
    of_one = [col(SkillRow.guest_id), col(SkillRow.group_id), col(SkillRow.skill)]
    after = func.lead(col(SkillRow.correction)).over(partition_by=of_one, order_by=col(SkillRow.id))
    rows = (
        select(
            col(SkillRow.guest_id),
            col(SkillRow.skill),
            col(SkillRow.outcome),
            col(SkillRow.correction),
            func.coalesce(after, "").label("after"),
        )
        .join(GroupRow, col(GroupRow.id) == col(SkillRow.group_id))
        .join(SlotRow, col(SlotRow.id) == col(GroupRow.slot_id))
        .where(col(SlotRow.day) >= first, col(SlotRow.day) <= last)
        .subquery()
    )
    again = func.max(case((rows.c.outcome != Mark.SHOWN.value, 1), else_=0)).label("again")
    each = (
        select(rows.c.skill, again, func.count().label("tries"))
        .where(rows.c.correction == "", rows.c.after == "")
        .group_by(rows.c.skill, rows.c.guest_id)
        .subquery()
    )
    asked = select(each.c.skill, func.sum(each.c.again), func.count(), func.sum(each.c.tries))
    found = [
        SkillLearned(skill, Share(int(needed), guests), int(tries))
        for skill, needed, guests, tries in session.execute(asked.group_by(each.c.skill))
    ]
    return tuple(sorted(found, key=lambda one: (-(one.again.share or 0.0), one.skill)))


def _waits(
    booked: Sequence[_Booked], entered: Mapping[int, datetime], here: Mapping[int, datetime]
) -> tuple[tuple[Wait, ...], int]:
    """Return the waits by start time, and how many parties dived without a mark of their arrival."""
    begun: dict[int, tuple[str, datetime]] = {}
    for one in booked:
        went = entered.get(one.guest_id)
        if went is None:
            continue
        party = one.party.id or 0
        told = begun.get(party)
        begun[party] = (one.clock, went if told is None else min(told[1], went))
    minutes: dict[str, list[float]] = defaultdict(list)
    for party, (clock, went) in begun.items():
        if party in here and here[party] <= went:
            minutes[clock].append((went - here[party]).total_seconds() / 60)
    waits = tuple(
        Wait(clock, len(told), median(told), _ninth(told)) for clock, told in sorted(minutes.items())
    )
    return waits, sum(party not in here for party in begun)


def _ninth(told: Sequence[float]) -> float:
    """Return what nine of ten do not go past; the longest while there are few."""
    return max(told) if len(told) < 10 else quantiles(told, n=10, method="inclusive")[-1]  # noqa: PLR2004


def _decided(session: Session, first: date, last: date) -> dict[str, str]:
    """What the newest talk with each guest of the span decided, by guest reference."""
    asked = select(col(TalkRow.guest_ref), col(TalkRow.decision))
    asked = asked.where(col(TalkRow.day) >= first, col(TalkRow.day) <= last)
    return _pairs(session.execute(asked.order_by(col(TalkRow.id))))


def _wishes(session: Session, begin: datetime, end: datetime) -> dict[str, bool]:
    """Whether each guest last said that they want to dive, by guest reference."""
    asked = select(col(ConsentRow.guest_ref), col(ConsentRow.given)).where(col(ConsentRow.kind) == "dive")
    asked = asked.where(col(ConsentRow.at) >= begin, col(ConsentRow.at) < end)
    return _pairs(session.execute(asked.order_by(col(ConsentRow.id))))


def _ends(
    booked: Sequence[_Booked],
    entered: Mapping[int, datetime],
    decided: Mapping[str, str],
    wished: Mapping[str, bool],
) -> dict[str, int]:
    counted: Counter[str] = Counter(_end(one, entered, decided, wished) for one in booked)
    return {end: counted[end] for end in ENDS}


def _end(
    one: _Booked,
    entered: Mapping[int, datetime],
    decided: Mapping[str, str],
    wished: Mapping[str, bool],
) -> str:
    if one.guest_id in entered:
        return DIVED
    if one.state == "no-show":
        return NOT_COME
    if one.state != BOOKED:
        return CANCELLED
    if wished.get(one.ref) is False:
        return OWN_WISH
    return ASHORE_TALK if decided.get(one.ref) == "ashore" else OTHER


def _no_shows(shop: Shop, booked: Sequence[_Booked]) -> tuple[tuple[str, Share], ...]:
    """Return who did not come of those who had not cancelled, by how long before they booked."""
    counted: dict[str, list[bool]] = {label: [] for _, label in AHEAD}
    for one in booked:
        if one.state in (BOOKED, "no-show") and not one.party.walk_in:
            days = max(0, (one.day - shop.day_of(one.party.booked_at)).days)
            label = next(label for most, label in AHEAD if most is None or days <= most)
            counted[label].append(one.state == "no-show")
    return tuple((label, Share(sum(told), len(told))) for label, told in counted.items())


def _pairs(rows: Iterable[Any]) -> dict[Any, Any]:
    return {key: value for key, value in rows}  # noqa: C416 - rows are no pairs to the type checker

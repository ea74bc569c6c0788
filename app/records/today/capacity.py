"""What "can we take more?" is answered from: places, groups, guides, cylinders and kit as they are now."""

from collections.abc import Callable
from datetime import datetime, timedelta

from sqlmodel import Session

from app.records.gas_room.cylinders_out import where_of
from app.records.gas_room.fill_plan import DayPlan, day_plan
from app.records.groups.facts import conditions_of, day_facts, free_staff, site_depth_m
from app.records.groups.groups import booked_guests, groups_of, newest_conditions
from app.records.kit_rail import kit, kit_offers, kit_sizes
from app.records.setup.shop import limits_now, own_limits, the_shop
from app.records.store.house import House
from app.records.today.guide_day import NextDive, guide_days, sea_of
from app.records.welcome.bookings import SlotView, slot_facts, slots_of
from app.rules import limits as L
from app.rules.capacity import (
    BODY_KINDS,
    ONE_FOR_ALL,
    Asked,
    CapacityFacts,
    Cylinders,
    Guide,
    Kit,
    group_places,
)
from app.rules.fill_plan import guides_to_choose
from app.rules.groups import GroupFacts
from app.rules.guide_day import Left
from app.rules.kit import clean_from
from app.rules.kit_offers import Want
from app.rules.people import TeachingGrade
from app.rules.resolve import Limits
from app.rules.size_chart import first_sizes, sizes_to_try

Clock = Callable[[datetime], str]


def capacity_facts(
    session: Session, house: House, slot: SlotView, asked: Asked, now: datetime, clock: Clock
) -> CapacityFacts:
    """Return the facts for so many more people in a slot. clock: how an instant is said."""
    limits = limits_now(session)
    facts = day_facts(session, house, slot.slot.day, now)
    groups = [view for view in groups_of(session, slot.slot.day) if view.slot.id == slot.slot.id]
    placed = {one.row.guest_id for view in groups for one in view.guests if view.group.aborted_at is None}
    booked = booked_guests(session, slot.slot.day).get(slot.slot.id or 0, [])
    found = CapacityFacts(
        slot=slot_facts(slot),
        waiting=sum(guest.id not in placed for guest in booked),
        groups=tuple(facts[view.id] for view in groups if view.may_change),
        guides=_guides(session, slot, limits, now),
        cylinders=Cylinders(0, 0, ""),
        kit=_kit(session, slot, limits, now),
    )
    room = max(0, group_places(found, the_shop(session).preset, own_limits(session)))
    more = guides_to_choose(max(0, asked.people - room), where_of(slot.site), limits)
    cylinders = _cylinders(session, slot, asked.people + more, now, clock)
    return CapacityFacts(found.slot, found.waiting, found.groups, found.guides, cylinders, found.kit)


def _guides(session: Session, slot: SlotView, limits: Limits, now: datetime) -> tuple[Guide, ...]:
    people = [
        (person, facts)
        for person, facts in free_staff(session, slot.slot, now)
        if facts.grade is not TeachingGrade.ASSISTANT
    ]
    looked = newest_conditions(session, [slot.slot.id]).get(slot.slot.id or 0)
    seen = None
    if looked is not None:
        seen = conditions_of(looked, looked.at.astimezone(the_shop(session).zone).date())
    depth = site_depth_m(slot.site, limits)
    begins = slot.slot.starts_at
    usual = limits[L.DEPTH_MAX_CONFINED if slot.site.confined else L.DEPTH_PLAN_DEFAULT].number or 0.0
    dive = NextDive(
        max(begins, now),
        usual if depth is None else min(usual, depth),
        limits[L.BOTTOM_TIME_MAX].number or 0.0,
        sea_of(session, slot.site, slot.slot.id),
    )
    days = guide_days(session, [person for person, _ in people], dive, now, limits) if dive.depth_m else []
    left = {one.person.id: one.word for one in days}
    end = begins + timedelta(minutes=limits[L.SLOT_LENGTH].number or 0.0)
    return tuple(
        Guide(
            GroupFacts(
                id="",
                label=f"a new group at {slot.slot.clock}",
                day=slot.slot.day,
                start=begins,
                end=end,
                where=where_of(slot.site),
                site=slot.site.name,
                site_depth_m=depth,
                guide=facts,
                guests=(),
                conditions=seen,
            ),
            left.get(person.id, Left.NOT_ENOUGH),
        )
        for person, facts in people
    )


def _cylinders(session: Session, slot: SlotView, more: int, now: datetime, clock: Clock) -> Cylinders:
    key = slot.slot.id or 0
    before = day_plan(session, slot.slot.day, now)
    after = day_plan(session, slot.slot.day, now, {key: more})
    mine = next((one for one in after.slots if one.need.slot.slot.id == key), None)
    if mine is None:
        return Cylinders(0, 0, "")
    short = _short_slots(after, key) - _short_slots(before, key)
    return Cylinders(
        mine.answer.missing,
        mine.answer.late,
        "" if mine.ready_at is None else clock(mine.ready_at),
        tuple(sorted(short)),
    )


def _short_slots(plan: DayPlan, without: int) -> set[str]:
    return {one.need.slot.label for one in plan.short if one.need.slot.slot.id != without}


def _kit(session: Session, slot: SlotView, limits: Limits, now: datetime) -> Kit:
    """The rail for this slot and every later one of the day: who is booked already chooses first."""
    day = slot.slot.day
    booked = booked_guests(session, day)
    ahead = [one for one in slots_of(session, day) if one.slot.starts_at > now]
    guests = [guest for one in ahead for guest in booked.get(one.slot.id or 0, [])]
    loans = kit.loans_of(session, [guest.id for guest in guests])
    told, chart = kit_sizes.told_of(session, guests), kit_sizes.chart_now(session)
    wants = []
    for one in ahead:
        begins = one.slot.starts_at
        for guest in booked.get(one.slot.id or 0, []):
            number = guest.id or 0
            has = {loan.item.kind for loan in loans.get(number, ())}
            first = first_sizes(guest.height_cm, guest.mass_kg, guest.shoe_size, chart)
            wants += [
                Want(
                    number,
                    kind,
                    sizes_to_try(kind, first[kind], told.get(number, {}).get(kind, ())),
                    begins,
                    _until(begins, limits),
                )
                for kind in (*BODY_KINDS, ONE_FOR_ALL)
                if kind not in has
            ]
    begins = max(slot.slot.starts_at, now)
    rail = kit.items(session)
    pieces = kit_offers.pieces(rail, day, now, limits)
    kinds = frozenset(view.row.kind for view in rail)
    return Kit(tuple(pieces), tuple(wants), begins, _until(begins, limits), kinds)


def _until(begins: datetime, limits: Limits) -> datetime:
    back = begins + timedelta(minutes=limits[L.SLOT_LENGTH].number or 0.0)
    return clean_from(back, limits) or back + timedelta(days=1)

"""The day as it is put together: for each slot the water, the guests without a place, and the groups."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.records.groups import groups as groups_records
from app.records.groups.facts import conditions_of, day_facts
from app.records.groups.groups import GroupView, MemberView
from app.records.health.health import HealthStanding, standing
from app.records.setup.shop import limits_now, own_limits, the_shop
from app.records.store.house import House
from app.records.tables.parties import ConditionsRow, GuestRow
from app.records.welcome.bookings import SlotView, slot_view, slots_of
from app.rules import limits as L
from app.rules.ages import age_on
from app.rules.conditions import Grade, grade_of
from app.rules.decision import Decision
from app.rules.group_change import may_plan, planned_dive_fits, planned_limits, planned_ratio
from app.rules.languages import say_languages
from app.rules.plan_check import depth_in_force
from app.rules.resolve import InForce, Limits, show


@dataclass(frozen=True)
class GuestLine:
    """A guest as the people who make groups need to see one. Never a cause, only the outcome's word."""

    guest: GuestRow
    age: int
    party: str
    health: HealthStanding

    @property
    def detail(self) -> str:
        """Age, languages and swimming in one line."""
        swims = {"strong": "swims well", "some": "swims some", "none": "does not swim"}
        said = swims.get(self.guest.swimming, "swimming not known")
        return f"{self.age} years · {say_languages(self.guest.languages)} · {said}"


@dataclass(frozen=True)
class GroupBoard:
    """A group with what the gate says of it now, and what binds it."""

    view: GroupView
    decision: Decision
    ratio: InForce
    depth: InForce
    minutes: InForce
    guests: tuple[tuple[MemberView, GuestLine], ...]

    @property
    def guests_words(self) -> str:
        """How many guests, in words."""
        return "1 guest" if len(self.guests) == 1 else f"{len(self.guests)} guests"

    @property
    def ratio_most(self) -> str:
        """The most guests, as shown."""
        return show(self.ratio.value)

    @property
    def depth_most(self) -> str:
        """The deepest plan in metres, as shown."""
        return show(self.depth.value)


@dataclass(frozen=True)
class SlotBoard:
    """One slot: its water, who waits for a place, its groups, and a free name for the next group."""

    slot: SlotView
    conditions: ConditionsRow | None
    grade: Grade | None
    waiting: tuple[GuestLine, ...]
    groups: tuple[GroupBoard, ...]
    next_name: str

    @property
    def open_groups(self) -> tuple[GroupBoard, ...]:
        """The groups that still take people."""
        return tuple(one for one in self.groups if one.view.may_change)

    @property
    def grade_word(self) -> str:
        """How the water is, in a word. Pool-like water needs no grade."""
        if self.grade is None and self.slot.site.confined:
            return "pool-like, needs no grade"
        return "not looked at" if self.grade is None else self.grade.word

    @property
    def grade_shape(self) -> str:
        """The word's shape: a person is needed for ungraded and for no-go water."""
        needed = self.grade is None and not self.slot.site.confined
        return "triangle" if needed or self.grade is Grade.NO_GO else "dot"


def slot_board(session: Session, house: House, slot_id: int, now: datetime) -> SlotBoard:
    """Return one slot as it is put together; raises NotHere."""
    day = slot_view(session, slot_id).slot.day
    return day_board(session, house, day, now, slot_id)[0]


def day_board(
    session: Session, house: House, day: date, now: datetime, only: int | None = None
) -> list[SlotBoard]:
    """Return every slot of a day, or only one, as it is put together. The count of queries does not grow."""
    slots = [view for view in slots_of(session, day) if only in (None, view.slot.id)]
    views = groups_records.groups_of(session, day)
    facts = day_facts(session, house, day, now)
    booked = groups_records.booked_guests(session, day)
    # Guests of a group that was called off may go with another one, once they are out of the water.
    placed = {
        one.row.guest_id
        for view in views
        for one in view.guests
        if view.group.aborted_at is None or one.in_water
    }
    members = [one.guest for view in views for one in view.guests if one.guest is not None]
    everybody = {guest.id or 0: guest for guest in [*members, *(g for row in booked.values() for g in row)]}
    health = standing(session, house, everybody.values(), day)
    parties = groups_records.party_names(session, everybody.values())
    lines = {
        key: GuestLine(guest, age_on(guest.birth_date, day), parties.get(guest.party_id, ""), health[key])
        for key, guest in everybody.items()
    }
    newest = groups_records.newest_conditions(session, [view.slot.id for view in slots])
    shop, own, general = the_shop(session), own_limits(session), limits_now(session)
    name = groups_records.free_name(view.group.name for view in views)

    def group_board(view: GroupView) -> GroupBoard:
        group = facts[view.id]
        limits: Limits = planned_limits(group, shop.preset, own)
        fits = planned_dive_fits(view.group.depth_m, view.group.minutes, group, limits)
        return GroupBoard(
            view,
            may_plan(group, limits) + fits,
            planned_ratio(group, limits),
            depth_in_force(limits, group.where),
            limits[L.BOTTOM_TIME_MAX],
            tuple((one, lines[one.row.guest_id or 0]) for one in view.guests if one.guest is not None),
        )

    def one_slot(slot: SlotView) -> SlotBoard:
        key = slot.slot.id or 0
        row = newest.get(key)
        seen = None if row is None else conditions_of(row, row.at.astimezone(shop.zone).date())
        return SlotBoard(
            slot,
            row,
            grade_of(seen, general),
            tuple(lines[one.id or 0] for one in booked.get(key, []) if one.id not in placed),
            tuple(group_board(view) for view in views if view.slot.id == key),
            name,
        )

    return [one_slot(slot) for slot in slots]

"""Records turned into the plain facts that the gates ask for: a group, its guests, its staff, its water."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session, col, select

from app.records.groups.groups import GroupView, MemberView, group_view, groups_of, newest_conditions, team
from app.records.health.health import HealthStanding, standing
from app.records.plans.dive_history import said_today
from app.records.setup.shop import limits_now, own_limits, the_shop
from app.records.store.house import House
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import ConditionsRow, GuestRow, PartyRow, SlotRow
from app.records.tables.people import PersonRow
from app.records.tables.water import WaterEventRow
from app.records.welcome.bookings import BOOKED, flight_of
from app.rules import limits as L
from app.rules.ages import age_on
from app.rules.conditions import Conditions, Grade
from app.rules.flying import Flight
from app.rules.groups import GroupFacts, limits_in_force
from app.rules.people import Engagement, GuestFacts, StaffFacts, TeachingGrade
from app.rules.resolve import Limits

# ("person" | "ashore" | "guest", number) -> the groups that keep them busy, each with its number.
_Busy = dict[tuple[str, int], list[tuple[int, Engagement]]]
GRADES = {grade.word: grade for grade in Grade}


@dataclass(frozen=True)
class _Dives:
    """What a guest already dived today: in how many groups, and when last back at the surface."""

    groups: frozenset[int]
    back_at: dict[int, datetime]


@dataclass(frozen=True)
class _Known:
    """Everything read for the groups of one day."""

    day: date
    length: timedelta
    limits: Limits
    busy: _Busy
    health: dict[int, HealthStanding]
    booked: dict[int, int]
    conditions: dict[int, Conditions]
    dives: dict[int, _Dives]
    said: frozenset[int]


def group_facts(session: Session, house: House, group_id: int, now: datetime) -> GroupFacts:
    """Return the facts of one group; raises NotHere."""
    view = group_view(session, group_id)
    return day_facts(session, house, view.slot.day, now)[group_id]


def day_facts(session: Session, house: House, day: date, now: datetime) -> dict[int, GroupFacts]:
    """Return the facts of every group of a day, by group number. The count of queries does not grow."""
    views = groups_of(session, day)
    guests = [one.guest for view in views for one in view.guests if one.guest is not None]
    limits = limits_now(session)
    length = _slot_length(limits)
    slots = {view.slot.id for view in views}
    conditions = newest_conditions(session, slots)
    zone = the_shop(session).zone
    known = _Known(
        day=day,
        length=length,
        limits=limits,
        busy=_busy(views, length, now),
        health=standing(session, house, guests, day),
        booked=_booked(session, guests),
        conditions={
            key: conditions_of(row, row.at.astimezone(zone).date()) for key, row in conditions.items()
        },
        dives=_dives(session, day),
        said=frozenset(said_today(session, _staff_ids(views), day)),
    )
    return {view.id: _group(view, known) for view in views}


def limits_for_group(session: Session, house: House, group_id: int, now: datetime) -> Limits:
    """Return every limit in force for one group; raises NotHere."""
    return limits_of(session, group_facts(session, house, group_id, now))


def limits_of(session: Session, facts: GroupFacts) -> Limits:
    """Return every limit in force for a group whose facts are at hand."""
    return limits_in_force(facts, the_shop(session).preset, own_limits(session))


def diving_elsewhere(
    session: Session, view: GroupView, person_id: int, now: datetime
) -> tuple[Engagement, ...]:
    """Return the other groups of the day in which a person of the team is in the water."""
    busy = _busy(groups_of(session, view.slot.day), _slot_length(limits_now(session)), now)
    return _others(("person", person_id), view, busy)


def free_staff(session: Session, slot: SlotRow, now: datetime) -> list[tuple[PersonRow, StaffFacts]]:
    """Return everybody who leads under water as the gates read them for one more group of a slot, by name."""
    views = groups_of(session, slot.day)
    busy = _busy(views, _slot_length(limits_now(session)), now)
    people = [person for person in team(session) if person.grade]
    said = said_today(session, [person.id or 0 for person in people], slot.day)

    def engaged(person: PersonRow) -> tuple[Engagement, ...]:
        rows = [*busy.get(("person", person.id or 0), []), *busy.get(("ashore", person.id or 0), [])]
        return tuple(one for _, one in rows)

    return [(person, _staff_facts(person, engaged(person), said=person.id in said)) for person in people]


def conditions_of(row: ConditionsRow, seen_on: date) -> Conditions:
    """Return a look at the water as the rules read it. An unknown grade word counts as not said."""
    return Conditions(
        visibility_m=row.visibility_m,
        current_m_s=row.current_m_s,
        sea=row.sea or None,
        stated=GRADES.get(row.grade),
        assessed_by=row.seen_by,
        assessed_on=seen_on,
    )


def site_depth_m(site: SiteRow, limits: Limits) -> float | None:
    """Return how deep a site may be planned; one that sets nothing leaves it to the rules for its water."""
    if site.depth_cap_m is not None:
        return site.depth_cap_m
    return limits[L.DEPTH_MAX_CONFINED if site.confined else L.DEPTH_MAX_OPEN_WATER].number


def staff_key(person_id: int | None) -> str:
    """Return how the gates call a person of the team; guests have other numbers of the same kind."""
    return f"staff-{person_id}"


def guest_key(guest_id: int | None) -> str:
    """Return how the gates call a guest."""
    return f"guest-{guest_id}"


def member_key(member: MemberRow) -> str:
    """Return how the gates call a member of a group."""
    return guest_key(member.guest_id) if member.guest_id is not None else staff_key(member.person_id)


def shared_language(first: str, second: str) -> bool:
    """Return whether two lists of languages ("en pt") have one in common."""
    return bool(set(first.replace(",", " ").lower().split()) & set(second.replace(",", " ").lower().split()))


def _slot_length(limits: Limits) -> timedelta:
    # A limit without a value would keep people busy for the whole day.
    return timedelta(minutes=limits[L.SLOT_LENGTH].number or 24 * 60)


def _group(view: GroupView, known: _Known) -> GroupFacts:
    guide, assistant = view.guide, view.assistant
    return GroupFacts(
        id=str(view.id),
        label=view.label,
        day=known.day,
        start=view.slot.starts_at,
        end=view.slot.starts_at + known.length,
        where="confined" if view.site.confined else "open",
        site=view.site.name,
        site_depth_m=site_depth_m(view.site, known.limits),
        guide=_staff(guide, view, known),
        guests=tuple(_guest(one.guest, view, guide, known) for one in view.guests if one.guest is not None),
        conditions=known.conditions.get(view.slot.id or 0),
        assistant=_staff(assistant, view, known),
        help_travel_minutes=view.site.help_travel_minutes,
    )


def _staff_ids(views: Iterable[GroupView]) -> list[int]:
    return [one.row.person_id for view in views for one in view.members if one.row.person_id is not None]


def _staff(member: MemberView | None, view: GroupView, known: _Known) -> StaffFacts | None:
    person = None if member is None else member.person
    if person is None:
        return None
    # Nobody watches from the surface while under water.
    others = _others(("person", person.id or 0), view, known.busy)
    others += _others(("ashore", person.id or 0), view, known.busy)
    return _staff_facts(person, others, said=person.id in known.said)


def _staff_facts(person: PersonRow, others: tuple[Engagement, ...], *, said: bool) -> StaffFacts:
    grade = person.grade if person.active else ""
    return StaffFacts(
        id=staff_key(person.id),
        name=person.name,
        grade=TeachingGrade(grade) if grade in set(TeachingGrade) else None,
        credential_until=person.credential_until,
        cpr_o2_until=person.first_aid_until,
        diver_medical_until=person.diver_medical_until,
        other_groups=others,
        depth_cap_m=person.depth_cap_m,
        max_guests=person.max_guests,
        dives_said=said,
    )


def _guest(guest: GuestRow, view: GroupView, guide: MemberView | None, known: _Known) -> GuestFacts:
    health = known.health[guest.id or 0]
    dives = known.dives.get(guest.id or 0, _Dives(frozenset(), {}))
    other_dives = dives.groups - {view.id}
    backs = [at for group_id, at in dives.back_at.items() if group_id in other_dives]
    return GuestFacts(
        id=guest_key(guest.id),
        name=guest.call_name,
        age=age_on(guest.birth_date, known.day),
        outcome=health.outcome,
        outcome_word=health.word,
        history_signed_on=health.history_signed_on,
        today_signed_on=health.today_signed_on,
        booked=known.booked.get(guest.id or 0) == view.slot.id,
        needs_more_care=health.needs_more_care or not _understands(guest, guide),
        dives_today=len(other_dives),
        other_groups=_others(("guest", guest.id or 0), view, known.busy),
        talk=health.talk,
        guardian_consent_on=health.guardian_consent_on,
        guardian_consent_until=health.guardian_consent_until,
        guardian_place=health.guardian_place,
        last_surfaced_at=max(backs, default=None),
        flight=_flight(guest, health, known.day),
        look=health.look,
    )


def _flight(guest: GuestRow, health: HealthStanding, day: date) -> Flight:
    told = flight_of(guest)
    # The health questions of the day ask for it too and judge it; nobody reads their answers here.
    return Flight("signed") if not told.is_known and health.today_signed_on == day else told


def _understands(guest: GuestRow, guide: MemberView | None) -> bool:
    person: PersonRow | None = None if guide is None else guide.person
    # A group without a guide is refused for that; nothing is known of languages then.
    return person is None or shared_language(guest.languages, person.languages)


def _others(who: tuple[str, int], view: GroupView, busy: _Busy) -> tuple[Engagement, ...]:
    return tuple(one for group_id, one in busy.get(who, []) if group_id != view.id)


def _busy(views: Iterable[GroupView], length: timedelta, now: datetime) -> _Busy:
    """Return when each person and guest is busy: the slot's length, or until closed or called off.

    Whoever is still in the water is busy until now at least, whatever was planned or called off.
    """
    busy: _Busy = {}
    for view in views:
        planned = view.slot.starts_at + length
        over = min((at for at in (view.group.closed_at, view.group.aborted_at) if at), default=planned)
        for one in view.members:
            end = max(planned, now) if one.in_water else min(planned, over)
            who = ("guest", one.guest.id or 0) if one.guest else ("person", one.row.person_id or 0)
            busy.setdefault(who, []).append((view.id, Engagement(view.label, view.slot.starts_at, end)))
        for role, person in (("surface watch", view.surface_watch), ("safety diver", view.safety_diver)):
            if person is not None:
                end = max(planned, now) if view.anybody_in else min(planned, over)
                entry = (view.id, Engagement(f"{view.label} as {role}", view.slot.starts_at, end))
                busy.setdefault(("ashore", person.id or 0), []).append(entry)
    return busy


def _booked(session: Session, guests: Iterable[GuestRow]) -> dict[int, int]:
    """Return the slot for which each guest is booked, by guest number; nothing for who is not coming."""
    coming = [guest for guest in guests if guest.state == BOOKED]
    asked = select(PartyRow.id, PartyRow.slot_id).where(
        col(PartyRow.id).in_({guest.party_id for guest in coming}), PartyRow.state == BOOKED
    )
    slots = dict(session.exec(asked).all())
    return {guest.id or 0: slots[guest.party_id] for guest in coming if guest.party_id in slots}


def _dives(session: Session, day: date) -> dict[int, _Dives]:
    """Return what each guest dived on a day, whether still in that group's list or not."""
    found = (
        select(MemberRow.guest_id, WaterEventRow)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(SlotRow.day == day, col(MemberRow.guest_id).is_not(None))
        .order_by(col(WaterEventRow.id))
    )
    went: dict[int, set[int]] = {}
    backs: dict[int, dict[int, datetime]] = {}
    for guest_id, event in session.exec(found):
        if event.event == "in":
            went.setdefault(guest_id or 0, set()).add(event.group_id)
        elif event.event == "back":
            backs.setdefault(guest_id or 0, {})[event.group_id] = event.happened_at
    return {key: _Dives(frozenset(ids), backs.get(key, {})) for key, ids in went.items()}

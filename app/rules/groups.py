"""May these guests go with this guide at this time and place?

The same gate is asked when a group is made, on every change, and again before the water. At planning,
papers that can still be put right today are notes; at entry they refuse.
"""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from app.rules import ages, clearance, conditions
from app.rules import limits as L
from app.rules.conditions import Conditions, Grade
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.flying import may_dive_before_flight
from app.rules.limits import Limit, Value
from app.rules.measure import must, within
from app.rules.people import Engagement, GuestFacts, StaffFacts, TeachingGrade, Where
from app.rules.presets import Preset
from app.rules.resolve import InForce, Kind, Limits, Source, limits_for, preset_source, shop_source, strictest


@dataclass(frozen=True, slots=True)
class GroupFacts:
    """One guide and the guests held by that guide in a slot.

    start, end: aware UTC; day: the shop's date. site_depth_m: the site's own deepest, in metres.
    help_travel_minutes: until help is at this site; None means the shop's own figure holds.
    assistant: None means there is none. conditions: looked at in open water only.
    """

    id: str
    label: str
    day: date
    start: datetime
    end: datetime
    where: Where
    site: str | None
    site_depth_m: float | None
    guide: StaffFacts | None
    guests: tuple[GuestFacts, ...]
    conditions: Conditions | None = None
    assistant: StaffFacts | None = None
    help_travel_minutes: float | None = None


def limits_in_force(group: GroupFacts, preset: Preset, shop: dict[str, Value]) -> Limits:
    """Every limit for this group: the strictest of preset, shop, site, conditions, ages, talks and guide."""
    voices = [preset_source(preset), shop_source(shop)]
    general = limits_for(voices)
    voices.append(_site_source(group))
    if group.where == "open":
        voices.append(conditions.source_of(conditions.grade_of(group.conditions, general)))
    voices += [ages.source_of(guest.age, general) for guest in group.guests]
    voices += [source for guest in group.guests for source in _talk_sources(guest)]
    if group.guide is not None:
        voices.append(
            _own_caps(Kind.GUIDE, "guide's own cap", group.guide.depth_cap_m, group.guide.max_guests)
        )
    return limits_for(voices)


def may_form(group: GroupFacts, limits: Limits, *, at_entry: bool = False) -> Decision:
    """May this group exist as it is? Holds and consents are notes at planning and reasons at entry.

    At planning a guest's flight is held against the end of the slot; at entry the real time counts
    (`app.rules.readiness`).
    """
    papers = all_of(
        all_of(
            (
                clearance.may_dive_on_health(guest, group.where, group.day, limits),
                clearance.may_dive_on_consent(guest, group.day, limits),
            )
        )
        for guest in group.guests
    )
    return all_of(
        (
            _whole(group),
            ratio_holds(group, limits),
            all_of(ages.may_dive_at_age(guest, group.where, limits) for guest in group.guests),
            _guests_booked_and_free(group, limits),
            staff_may_lead(group, limits),
            papers if at_entry else papers.as_notes() + flights_hold(group, group.end, limits),
        )
    )


def ratio_in_force(group: GroupFacts, limits: Limits) -> InForce:
    """How many guests this guide may hold, all things counted, and who bound it.

    A worse grade counts every better grade's limit too, so it never allows more. An assistant adds
    only what every source grants; a guest who needs more care takes some away, never below one.
    """
    keys = _ratio_limits(group, limits)
    base = strictest(limits[keys[0]], *(limits[key] for key in keys[1:]))
    bonus = limits[L.ASSISTANT_BONUS].number if group.assistant is not None else 0.0
    less = limits[L.RATIO_LESS_FOR_CARE].number
    if base.number is None or bonus is None or less is None:
        return replace(base, value=None)
    if any(guest.needs_more_care is not False for guest in group.guests):
        careful = max(base.number + bonus - less, min(base.number, 1.0))
        return replace(base, value=careful, bound_by=f"{base.bound_by}, fewer for more care")
    return replace(base, value=base.number + bonus) if bonus else base


def ratio_holds(group: GroupFacts, limits: Limits) -> Decision:
    """Are there few enough guests for one guide?"""
    ratio = ratio_in_force(group, limits)
    count = len(group.guests)
    return within(
        ratio,
        count,
        unknown="The number of guests is not known. Open the group again.",
        broken=f"{_guide_name(group)} has {count} guests, too many here today. Move guests to another guide.",
    )


def staff_may_lead(group: GroupFacts, limits: Limits) -> Decision:
    """Is there a guide of the right grade, are all papers in date, and is nobody needed elsewhere?"""
    if group.guide is None:
        text = "This group has no guide. Choose one."
        return refuse(Reason(L.GUIDE_REQUIRED.key, text, "none", "one guide", "", "hard limit"))
    staff = (group.guide,) if group.assistant is None else (group.guide, group.assistant)
    twice = must(
        L.NO_OVERLAP,
        group.assistant is None or group.assistant.id != group.guide.id,
        f"{group.guide.name} cannot be guide and assistant at once. Choose another assistant.",
        found="one person twice",
        needed="two people",
        who=group.guide.name,
    )
    return all_of(
        (
            _grade_fits(group.guide, group.where),
            twice,
            *(_papers_in_date(person, group.day) for person in staff),
            *(_free(person.name, person.other_groups, group, limits) for person in staff),
        )
    )


def flights_hold(
    group: GroupFacts, surfaces_at: datetime, limits: Limits, *, at_entry: bool = False
) -> Decision:
    """Does nobody of the group fly too soon after being back at the surface at an instant (aware UTC)?"""
    return all_of(
        may_dive_before_flight(
            guest.name,
            guest.flight,
            surfaces_at,
            None if guest.dives_today is None else guest.dives_today + 1,
            limits,
            at_entry=at_entry,
        )
        for guest in group.guests
    )


def overlapping(
    others: tuple[Engagement, ...], start: datetime, end: datetime, gap_minutes: float
) -> tuple[Engagement, ...]:
    """Those engagements that take place between start and end, with a gap in minutes kept on both sides."""
    gap = timedelta(minutes=gap_minutes)
    return tuple(other for other in others if other.start < end + gap and start < other.end + gap)


def _whole(group: GroupFacts) -> Decision:
    ids = [guest.id for guest in group.guests]
    some = must(
        L.GUESTS_IN_GROUP,
        bool(ids) and len(set(ids)) == len(ids),
        "This group has no guests. Add one." if not ids else "A guest is in this group twice. Take one out.",
        found=str(len(ids)),
        needed="at least 1, each once",
    )
    site = must(
        L.SITE_KNOWN,
        bool(group.site) and group.site_depth_m is not None,
        "The site or its depth is not known. Choose a site with a depth.",
        found=group.site or "not known",
        needed="a site with its depth",
    )
    return some + site


def _guests_booked_and_free(group: GroupFacts, limits: Limits) -> Decision:
    return all_of(
        must(
            L.GUEST_BOOKED,
            guest.booked,
            f"{guest.name} is not booked for this slot. Book a place first.",
            found="not booked" if guest.booked is False else "not known",
            needed="booked",
            who=guest.name,
        )
        + _free(guest.name, guest.other_groups, group, limits)
        for guest in group.guests
    )


def _free(name: str, others: tuple[Engagement, ...] | None, group: GroupFacts, limits: Limits) -> Decision:
    gap = limits[L.SLOT_GAP].number
    if others is None or gap is None:
        text = f"Nobody knows whether {name} is in another group. Open the day again."
        return refuse(Reason(L.NO_OVERLAP.key, text, "not known", "free", "", "hard limit", name))
    return refuse(
        *(
            Reason(
                L.NO_OVERLAP.key,
                f"{name} is also in {other.label} at that time. Choose one of the two.",
                other.label,
                "free",
                "",
                "hard limit",
                name,
            )
            for other in overlapping(others, group.start, group.end, gap)
        )
    )


def _grade_fits(guide: StaffFacts, where: Where) -> Decision:
    fitting = {TeachingGrade.LEVEL_2} if where == "open" else {TeachingGrade.LEVEL_2, TeachingGrade.LEVEL_1}
    return must(
        L.INSTRUCTOR_GRADE,
        guide.grade in fitting,
        f"{guide.name}'s grade does not allow leading here. Choose another guide.",
        found="not known" if guide.grade is None else str(guide.grade),
        needed=" or ".join(sorted(fitting)),
        who=guide.name,
    )


def _papers_in_date(person: StaffFacts, day: date) -> Decision:
    papers: tuple[tuple[Limit, str, date | None], ...] = (
        (L.INSTRUCTOR_CREDENTIAL_VALID, "teaching papers", person.credential_until),
        (L.CPR_O2_VALID, "first-aid and oxygen training", person.cpr_o2_until),
        (L.DIVER_MEDICAL_VALID, "dive medical", person.diver_medical_until),
    )
    return all_of(
        must(
            rule,
            until is not None and day <= until,
            f"{person.name}'s {what} is not in date. Enter the new date or choose someone else.",
            found="not known" if until is None else until.isoformat(),
            needed=f"{day.isoformat()} or later",
            who=person.name,
        )
        for rule, what, until in papers
    )


def _ratio_limits(group: GroupFacts, limits: Limits) -> tuple[Limit, ...]:
    if group.where == "confined":
        return (L.RATIO_CONFINED,)
    chain = (L.RATIO_OPEN_WATER_GOOD, L.RATIO_OPEN_WATER_FAIR, L.RATIO_OPEN_WATER_POOR)
    grade = conditions.grade_of(group.conditions, limits)
    worst = Grade.POOR if grade is None else min(grade, Grade.POOR)
    return (*chain[: worst + 1], L.RATIO_OPEN_WATER_CEILING)


def _site_source(group: GroupFacts) -> Source:
    key = L.DEPTH_MAX_OPEN_WATER.key if group.where == "open" else L.DEPTH_MAX_CONFINED.key
    values: dict[str, Value | None] = {key: group.site_depth_m}
    if group.help_travel_minutes is not None:
        values[L.HELP_TRAVEL_MINUTES.key] = group.help_travel_minutes
    return Source(Kind.SITE, f"site {group.site or 'not known'}", values)


def _talk_sources(guest: GuestFacts) -> tuple[Source, ...]:
    talk = guest.talk
    if talk is None:
        return ()
    return (_own_caps(Kind.CARE, f"talk with {guest.name}", talk.depth_cap_m, talk.ratio_cap),)


def _own_caps(kind: Kind, name: str, depth_m: float | None, guests: int | None) -> Source:
    """The voice of caps that a person may have but need not."""
    values: dict[str, Value | None] = {}
    if depth_m is not None:
        values |= dict.fromkeys((L.DEPTH_MAX_OPEN_WATER.key, L.DEPTH_MAX_CONFINED.key), depth_m)
    if guests is not None:
        values |= dict.fromkeys((L.RATIO_OPEN_WATER_CEILING.key, L.RATIO_CONFINED.key), guests)
        values[L.ASSISTANT_BONUS.key] = 0
    return Source(kind, name, values)


def _guide_name(group: GroupFacts) -> str:
    return "The guide" if group.guide is None else group.guide.name

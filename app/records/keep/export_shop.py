"""What leaves the shop of its days: shop, team, guests, kit, emergency kit, days signed off.

Of health the outcome word and the dates of the form alone: never a reason, an answer or a letter.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from sqlmodel import col, func, select

from app.records.groups.groups import GroupView
from app.records.health.health import HealthStanding, standing
from app.records.keep.export_table import ExportTable, Scope, rounded, table
from app.records.tables.days import (
    DayRow,
    DrillRow,
    EmergencyCheckRow,
    EmergencyOxygenRow,
    IncidentRow,
)
from app.records.tables.health import ConsentRow, HealthFormRow
from app.records.tables.incidents import DayNoteRow
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.kit_keeping import KitFaultRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.people import PersonRow
from app.rules.ages import age_on
from app.rules.choices import PHOTOS
from app.rules.kit import KINDS
from app.rules.languages import say_languages


def shop(scope: Scope) -> ExportTable:
    """Return the shop, the rules it follows, and whom it calls for help."""
    return table(
        "shop",
        "Shop",
        [scope.shop],
        (
            ("Shop", lambda one: one.name),
            ("Clock", lambda one: one.timezone),
            ("Rules followed", lambda one: f"preset {one.preset.name}"),
            ("Ambulance", lambda one: one.phone_ambulance or None),
            ("Shop's own number", lambda one: one.phone_shop or None),
            ("Dive doctor or chamber", lambda one: one.phone_dive_doctor or None),
        ),
    )


def team(scope: Scope) -> ExportTable:
    """Return the team of these groups with their papers as they are on file now."""
    people: dict[int, PersonRow] = {}
    for view in scope.views:
        for person in _staff_of(view):
            people[person.id or 0] = person
    return table(
        "team",
        "Team",
        sorted(people.values(), key=lambda one: one.name),
        (
            ("Name", lambda one: one.name),
            ("Roles", lambda one: one.roles or None),
            ("Grade", lambda one: one.grade or None),
            ("Teaching papers until", lambda one: one.credential_until),
            ("First aid and oxygen until", lambda one: one.first_aid_until),
            ("Diver's medical until", lambda one: one.diver_medical_until),
            ("Own depth cap (m)", lambda one: one.depth_cap_m),
            ("Most guests", lambda one: one.max_guests),
            ("Languages", lambda one: say_languages(one.languages)),
        ),
    )


def _staff_of(view: GroupView) -> Iterable[PersonRow]:
    yield from (one.person for one in view.members if one.person is not None)
    yield from (one for one in (view.surface_watch, view.safety_diver) if one is not None)


def guests(scope: Scope) -> ExportTable:
    """Return the guests of the days, with sizes and where each stands for that day in one word."""
    asked = (
        select(GuestRow, PartyRow, SlotRow)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .where(col(SlotRow.day) >= scope.first, col(SlotRow.day) <= scope.last)
        .order_by(col(SlotRow.starts_at), col(GuestRow.id))
    )
    rows = [row for row in scope.session.exec(asked) if scope.has_guest(row[0].id)]
    health: dict[int, HealthStanding] = {}
    for day in sorted({slot.day for _, _, slot in rows}):
        of_day = [guest for guest, _, slot in rows if slot.day == day]
        health |= standing(scope.session, scope.house, of_day, day)
    refs = [guest.ref for guest, _, _ in rows]
    forms, photos = _form_versions(scope, refs), _photos(scope, refs)
    return table(
        "guests",
        "Guests",
        rows,
        (
            ("Day", lambda row: row[2].day),
            ("Start", lambda row: row[2].clock),
            ("Party number", lambda row: row[1].id),
            ("Guest number", lambda row: row[0].id),
            ("Full name", lambda row: row[0].full_name),
            ("Call name", lambda row: row[0].call_name),
            ("Born on", lambda row: row[0].birth_date),
            ("Age on the day (years)", lambda row: age_on(row[0].birth_date, row[2].day)),
            ("Languages", lambda row: say_languages(row[0].languages)),
            ("Emergency contact", lambda row: row[1].emergency_name or None),
            ("Emergency phone", lambda row: row[1].emergency_phone or None),
            ("Height (cm)", lambda row: row[0].height_cm),
            ("Body mass (kg)", lambda row: row[0].mass_kg),
            ("Shoe size (EU)", lambda row: row[0].shoe_size),
            ("Booking", lambda row: row[1].state if row[1].state != "booked" else row[0].state),
            ("Health", lambda row: health[row[0].id or 0].word),
            ("Form version", lambda row: forms.get(row[0].ref)),
            ("Form signed on", lambda row: health[row[0].id or 0].history_signed_on),
            ("Today's part signed on", lambda row: health[row[0].id or 0].today_signed_on),
            ("Looked at on shore by", lambda row: _looked_by(health[row[0].id or 0])),
            ("Photos allowed", lambda row: photos.get(row[0].ref)),
            ("Guardian's consent on", lambda row: health[row[0].id or 0].guardian_consent_on),
            ("Guardian's consent until", lambda row: health[row[0].id or 0].guardian_consent_until),
        ),
    )


def _looked_by(one: HealthStanding) -> str | None:
    return None if one.look is None else one.look.by


def _photos(scope: Scope, refs: Iterable[str]) -> dict[str, bool]:
    """Return what each guest said last about photos, by reference; nobody who was not asked."""
    asked = select(ConsentRow.guest_ref, ConsentRow.given).where(
        col(ConsentRow.guest_ref).in_(list(refs)), ConsentRow.kind == PHOTOS.kind
    )
    return dict(scope.session.exec(asked.order_by(col(ConsentRow.id))).all())


def _form_versions(scope: Scope, refs: Iterable[str]) -> dict[str, str]:
    """Return which version of the questions each guest signed last, by the guest's reference."""
    asked = select(HealthFormRow.guest_ref, HealthFormRow.question_version).where(
        col(HealthFormRow.guest_ref).in_(list(refs)), col(HealthFormRow.history_signed_at).is_not(None)
    )
    return dict(scope.session.exec(asked.order_by(col(HealthFormRow.id))).all())


def kit(scope: Scope) -> ExportTable:
    """Return what each guest was given, with its number."""
    asked = (
        select(KitLoanRow, KitItemRow, GuestRow, SlotRow)
        .join(KitItemRow, col(KitItemRow.id) == KitLoanRow.item_id)
        .join(GuestRow, col(GuestRow.id) == KitLoanRow.guest_id)
        .join(SlotRow, col(SlotRow.id) == KitLoanRow.slot_id)
        .where(col(SlotRow.day) >= scope.first, col(SlotRow.day) <= scope.last)
        .order_by(col(SlotRow.starts_at), col(GuestRow.id), col(KitLoanRow.id))
    )
    return table(
        "kit",
        "Kit",
        [row for row in scope.session.exec(asked) if scope.has_guest(row[2].id)],
        (
            ("Day", lambda row: row[3].day),
            ("Start", lambda row: row[3].clock),
            ("Guest", lambda row: row[2].call_name),
            ("What", lambda row: KINDS.get(row[1].kind, row[1].kind)),
            ("Number", lambda row: row[1].number),
            ("Size", lambda row: row[1].size or None),
            ("Service due on", lambda row: row[1].service_due),
            ("Out at", lambda row: scope.local(row[0].out_at)),
            ("Given by", lambda row: row[0].out_by),
            ("Back at", lambda row: scope.local(row[0].back_at)),
            ("Taken back by", lambda row: row[0].back_by or None),
        ),
    )


def kit_faults(scope: Scope) -> ExportTable:
    """Return every fault of kit that was told in these days, and how it ended."""
    asked = (
        select(KitFaultRow, KitItemRow)
        .join(KitItemRow, col(KitItemRow.id) == KitFaultRow.item_id)
        .where(col(KitFaultRow.at) >= scope.begin, col(KitFaultRow.at) < scope.end)
        .order_by(col(KitFaultRow.at), col(KitFaultRow.id))
    )
    return table(
        "kit faults",
        "Kit faults",
        scope.session.exec(asked),
        (
            ("Told at", lambda row: scope.local(row[0].at)),
            ("What", lambda row: KINDS.get(row[1].kind, row[1].kind)),
            ("Number", lambda row: row[1].number),
            ("Service due on", lambda row: row[1].service_due),
            ("Fault", lambda row: row[0].what or None),
            ("Told by", lambda row: row[0].by),
            ("Seen by", lambda row: row[0].seen_by or None),
            ("Seen at", lambda row: scope.local(row[0].seen_at)),
            ("Closed by", lambda row: row[0].closed_by or None),
            ("Closed at", lambda row: scope.local(row[0].closed_at)),
            ("How it ended", lambda row: row[0].closed_why or None),
        ),
    )


def lead(scope: Scope) -> ExportTable:
    """Return the lead of each guest: suggested, given, and what the check in the water said."""
    asked = (
        select(WeightsRow, GuestRow, SlotRow)
        .join(GuestRow, col(GuestRow.id) == WeightsRow.guest_id)
        .join(SlotRow, col(SlotRow.id) == WeightsRow.slot_id)
        .where(col(SlotRow.day) >= scope.first, col(SlotRow.day) <= scope.last)
        .order_by(col(SlotRow.starts_at), col(GuestRow.id), col(WeightsRow.id))
    )
    return table(
        "lead",
        "Lead",
        [row for row in scope.session.exec(asked) if scope.has_guest(row[1].id)],
        (
            ("Day", lambda row: row[2].day),
            ("Start", lambda row: row[2].clock),
            ("Guest", lambda row: row[1].call_name),
            ("Suggested (kg)", lambda row: row[0].suggested_kg),
            ("Given (kg)", lambda row: row[0].given_kg),
            ("Given by", lambda row: row[0].given_by),
            ("Given at", lambda row: scope.local(row[0].at)),
            ("At the surface", lambda row: row[0].float_check or None),
            ("Checked by", lambda row: row[0].checked_by or None),
        ),
    )


def emergency(scope: Scope) -> ExportTable:
    """Return every check of the emergency kit."""
    asked = select(EmergencyCheckRow).where(
        col(EmergencyCheckRow.day) >= scope.first, col(EmergencyCheckRow.day) <= scope.last
    )
    rows = list(scope.session.exec(asked.order_by(col(EmergencyCheckRow.id))))
    oxygen: dict[int, list[str]] = {}
    read = select(EmergencyOxygenRow).where(col(EmergencyOxygenRow.check_id).in_([row.id for row in rows]))
    for one in scope.session.exec(read.order_by(col(EmergencyOxygenRow.id))):
        oxygen.setdefault(one.check_id, []).append(f"{one.cylinder_litres:g} L at {one.bar:g} bar")
    return table(
        "emergency kit",
        "Emergency kit",
        rows,
        (
            ("Day", lambda row: row.day),
            ("There and working", lambda row: row.present.replace("_", " ")),
            ("Oxygen (bar)", lambda row: row.oxygen_bar),
            ("Oxygen (L)", lambda row: row.oxygen_litres),
            ("Each oxygen cylinder", lambda row: ", ".join(oxygen.get(row.id or 0, ())) or None),
            ("Note", lambda row: row.note or None),
            ("By", lambda row: row.by),
            ("At", lambda row: scope.local(row.at)),
        ),
    )


def drills(scope: Scope) -> ExportTable:
    """Return every emergency drill."""
    asked = select(DrillRow).where(col(DrillRow.held_on) >= scope.first, col(DrillRow.held_on) <= scope.last)
    return table(
        "drills",
        "Drills",
        scope.session.exec(asked.order_by(col(DrillRow.id))),
        (
            ("Day", lambda row: row.held_on),
            ("Practised", lambda row: row.what),
            ("By", lambda row: row.by),
            ("Written at", lambda row: scope.local(row.at)),
        ),
    )


def days(scope: Scope) -> ExportTable:
    """Return every day that the manager signed off, with its gas, incidents and kit, and what was added."""
    asked = select(DayRow).where(col(DayRow.day) >= scope.first, col(DayRow.day) <= scope.last)
    breathed: dict[date, float] = defaultdict(float)
    for dive in scope.dives:
        breathed[dive.view.slot.day] += sum(line.used_litres or 0 for line in dive.lines)
    told, read = _incidents(scope, read=False), _incidents(scope, read=True)
    out, back = _kit_of_days(scope, back=False), _kit_of_days(scope, back=True)
    added: dict[date, list[str]] = {}
    notes = select(DayNoteRow).where(col(DayNoteRow.day) >= scope.first, col(DayNoteRow.day) <= scope.last)
    for note in scope.session.exec(notes.order_by(col(DayNoteRow.id))):
        added.setdefault(note.day, []).append(f"{note.by}: {note.note}")
    return table(
        "days",
        "Days signed off",
        scope.session.exec(asked.order_by(col(DayRow.day))),
        (
            ("Day", lambda row: row.day),
            ("Closed at", lambda row: scope.local(row.closed_at)),
            ("Closed by", lambda row: row.closed_by),
            ("Persons in", lambda row: row.persons_in),
            ("Persons back", lambda row: row.persons_back),
            ("Breathed (L at 1.01325 bar and 15 °C)", lambda row: rounded(breathed[row.day], 1)),
            ("Incidents", lambda row: told.get(row.day, 0)),
            ("Incidents read", lambda row: read.get(row.day, 0)),
            ("Pieces of kit given out", lambda row: out.get(row.day, 0)),
            ("Pieces of kit back", lambda row: back.get(row.day, 0)),
            ("Note", lambda row: row.note or None),
            ("Added later", lambda row: " / ".join(added.get(row.day, ())) or None),
            ("Code of the trail", lambda row: row.trail_head),
        ),
    )


def _incidents(scope: Scope, *, read: bool) -> dict[date, int]:
    """Return how many incidents there are by day: all of them, or those that the manager read."""
    asked = select(col(IncidentRow.day), func.count()).where(
        col(IncidentRow.day) >= scope.first, col(IncidentRow.day) <= scope.last
    )
    if read:
        asked = asked.where(col(IncidentRow.read_at).is_not(None))
    return dict(scope.session.exec(asked.group_by(col(IncidentRow.day))).all())


def _kit_of_days(scope: Scope, *, back: bool) -> dict[date, int]:
    """Return how many pieces of kit were given out for the slots by day: all, or those that came back."""
    asked = (
        select(col(SlotRow.day), func.count())
        .join(KitLoanRow, col(KitLoanRow.slot_id) == SlotRow.id)
        .where(col(SlotRow.day) >= scope.first, col(SlotRow.day) <= scope.last)
    )
    if back:
        asked = asked.where(col(KitLoanRow.back_at).is_not(None))
    return dict(scope.session.exec(asked.group_by(col(SlotRow.day))).all())

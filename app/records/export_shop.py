"""What leaves the shop of its days: guests, kit, fills, incidents, emergency kit, days signed off.

Of health the outcome word and the dates of the form alone: never a reason, an answer or a letter.
"""

from datetime import datetime, time, timedelta

from sqlmodel import col, select

from app.records.export_dives import AIR
from app.records.export_table import ExportTable, Scope, table
from app.records.health import HealthStanding, standing
from app.records.tables.cylinders import CylinderRow, FillRow
from app.records.tables.days import DayRow, DrillRow, EmergencyCheckRow, IncidentNoteRow, IncidentRow
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.rules.ages import age_on
from app.rules.incidents import CATEGORIES, PHASES
from app.rules.kit import KINDS
from app.rules.languages import say_languages


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
            ("Age on the day (years)", lambda row: age_on(row[0].birth_date, row[2].day)),
            ("Languages", lambda row: say_languages(row[0].languages)),
            ("Height (cm)", lambda row: row[0].height_cm),
            ("Body mass (kg)", lambda row: row[0].mass_kg),
            ("Shoe size (EU)", lambda row: row[0].shoe_size),
            ("Booking", lambda row: row[1].state if row[1].state != "booked" else row[0].state),
            ("Health", lambda row: health[row[0].id or 0].word),
            ("Form signed on", lambda row: health[row[0].id or 0].history_signed_on),
            ("Today's part signed on", lambda row: health[row[0].id or 0].today_signed_on),
            ("Guardian's consent until", lambda row: health[row[0].id or 0].guardian_consent_until),
        ),
    )


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
            ("Out at", lambda row: scope.local(row[0].out_at)),
            ("Given by", lambda row: row[0].out_by),
            ("Back at", lambda row: scope.local(row[0].back_at)),
            ("Taken back by", lambda row: row[0].back_by or None),
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


def fills(scope: Scope) -> ExportTable:
    """Return every fill of the days."""
    begin = datetime.combine(scope.first, time(0), scope.shop.zone)
    end = datetime.combine(scope.last + timedelta(days=1), time(0), scope.shop.zone)
    asked = (
        select(FillRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == FillRow.cylinder_id)
        .where(col(FillRow.at) >= begin, col(FillRow.at) < end)
        .order_by(col(FillRow.at), col(FillRow.id))
    )
    return table(
        "fills",
        "Fills",
        scope.session.exec(asked),
        (
            ("At", lambda row: scope.local(row[0].at)),
            ("Cylinder", lambda row: row[1].number),
            ("Size (L)", lambda row: row[1].litres),
            ("Working pressure (bar)", lambda row: row[1].working_pressure_bar),
            ("Looked inside on", lambda row: row[1].last_visual),
            ("Pressure tested on", lambda row: row[1].last_pressure_test),
            ("From (bar)", lambda row: row[0].start_bar),
            ("To (bar)", lambda row: row[0].end_bar),
            ("Gas after filling (°C)", lambda row: row[0].temp_c),
            ("Gas", lambda _: AIR),
            ("Oxygen (%)", lambda row: row[0].oxygen_percent),
            ("Carbon monoxide (ppm)", lambda row: row[0].co_ppm),
            ("By", lambda row: row[0].by),
        ),
    )


def incidents(scope: Scope) -> ExportTable:
    """Return every incident of the days, or of the group, with what was added later."""
    asked = select(IncidentRow).where(col(IncidentRow.day) >= scope.first, col(IncidentRow.day) <= scope.last)
    if scope.one_group:
        asked = asked.where(col(IncidentRow.group_id).in_([view.id for view in scope.views]))
    rows = list(scope.session.exec(asked.order_by(col(IncidentRow.happened_at), col(IncidentRow.id))))
    notes: dict[int, list[str]] = {}
    added = select(IncidentNoteRow).where(col(IncidentNoteRow.incident_id).in_([row.id for row in rows]))
    for note in scope.session.exec(added.order_by(col(IncidentNoteRow.id))):
        notes.setdefault(note.incident_id, []).append(f"{note.by}: {note.note}")
    return table(
        "incidents",
        "Incidents",
        rows,
        (
            ("Number", lambda row: row.id),
            ("Day", lambda row: row.day),
            ("Happened at", lambda row: scope.local(row.happened_at)),
            ("How bad", lambda row: row.severity),
            ("Kind", lambda row: CATEGORIES.get(row.category, row.category)),
            ("Where in the dive", lambda row: PHASES.get(row.phase, row.phase) or None),
            ("Made by", lambda row: row.made_by),
            ("What", lambda row: row.what),
            ("What was done", lambda row: row.action_taken or None),
            ("Added later", lambda row: " / ".join(notes.get(row.id or 0, ())) or None),
            ("Group number", lambda row: row.group_id),
            ("Written by", lambda row: row.written_by),
            ("Written at", lambda row: scope.local(row.written_at)),
            ("Read by", lambda row: row.read_by or None),
            ("Read at", lambda row: scope.local(row.read_at)),
            ("To be done", lambda row: row.follow_up or None),
            ("Closed by", lambda row: row.closed_by or None),
            ("Closed at", lambda row: scope.local(row.closed_at)),
        ),
    )


def emergency(scope: Scope) -> ExportTable:
    """Return every check of the emergency kit."""
    asked = select(EmergencyCheckRow).where(
        col(EmergencyCheckRow.day) >= scope.first, col(EmergencyCheckRow.day) <= scope.last
    )
    return table(
        "emergency kit",
        "Emergency kit",
        scope.session.exec(asked.order_by(col(EmergencyCheckRow.id))),
        (
            ("Day", lambda row: row.day),
            ("There and working", lambda row: row.present.replace("_", " ")),
            ("Oxygen (bar)", lambda row: row.oxygen_bar),
            ("Oxygen (L)", lambda row: row.oxygen_litres),
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
    """Return every day that the manager signed off."""
    asked = select(DayRow).where(col(DayRow.day) >= scope.first, col(DayRow.day) <= scope.last)
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
            ("Note", lambda row: row.note or None),
            ("Code of the trail", lambda row: row.trail_head),
        ),
    )

"""What is still open on a day, gathered for closing it."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.groups.groups import GroupView, groups_of
from app.records.look_back.incidents import incidents_of
from app.records.setup.shop import limits_now
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.kit import KitItemRow, KitLoanRow
from app.records.tables.parties import SlotRow
from app.records.water_side.counts import events_by_group, missing_by_group, rounds_by_group
from app.records.water_side.water import in_the_water, newest_events
from app.rules import limits as L
from app.rules.day_close import DayFacts
from app.rules.head_count import counts_agree, missing_settled
from app.rules.incidents import is_serious
from app.rules.roll_call import entered

# Where something open is put right: what it is, and its number in the store.
Place = tuple[str, int]


@dataclass(frozen=True)
class DayEnd:
    """A day about to be closed. places: (rule, who or what) -> where it is put right.

    went_in, back: persons of the day who went into the water, and those of them whose return is recorded.
    """

    facts: DayFacts
    places: dict[tuple[str, str], Place]
    went_in: int
    back: int


def day_end(session: Session, day: date) -> DayEnd:
    """Return what is open on a day, where each thing is put right, and the persons counted by name."""
    views = [view for view in groups_of(session, day) if view.group.entered_at is not None]
    newest = newest_events(session, [view.id for view in views])
    went = [row for row in newest.values() if row.event != "never-entered"]
    places: dict[tuple[str, str], Place] = {}
    for view in views:
        places[L.COUNTS_AGREE.key, view.label] = ("group", view.id)
        places[L.DIVE_CLOSED.key, _capital(view)] = ("group", view.id)
        places[L.LOG_ENTRIES_VERIFIED.key, view.label] = ("group", view.id)
    for person in in_the_water(session):
        places[L.ROLL_CALL_BY_NAME.key, person.name] = ("back", person.group_id)
    for view in views:
        places |= {(L.MISSING_SETTLED.key, one.name): ("back", view.id) for one in view.members}
    for number, row_id in _cylinders_out(session, day):
        places[L.CYLINDERS_RETURNED.key, number] = ("cylinder", row_id)
    for number, row_id in _kit_out(session, day):
        places[L.KIT_RETURNED.key, number] = ("kit", row_id)
    for one in incidents_of(session, day):
        places.setdefault((L.SERIOUS_INCIDENT_READ.key, one.row.what), ("incident", one.row.id or 0))
    back = sum(row.event == "back" for row in went)
    return DayEnd(day_facts(session, day), places, len(went), back)


def day_facts(session: Session, day: date) -> DayFacts:
    """Return what is open: persons, counts, dives, cylinders, kit, incidents, by name or label."""
    views = [view for view in groups_of(session, day) if view.group.entered_at is not None]
    limits = limits_now(session)
    ids = [view.id for view in views]
    events, rounds = events_by_group(session, ids), rounds_by_group(session, ids)
    counts = []
    for view in views:
        went, told = entered(events.get(view.id, ())), rounds.get(view.id, ())
        if not counts_agree(told[-1] if told else None, len(went), limits).allowed:
            counts.append(view.label)
    procedures = missing_by_group(session, ids).values()
    missing = [reason.who for one in procedures for reason in missing_settled(one).reasons]
    return DayFacts(
        not_back=tuple(person.name for person in in_the_water(session)),
        open_counts=tuple(counts),
        open_missing=tuple(missing),
        open_dives=tuple(_capital(view) for view in views if view.group.closed_at is None),
        cylinders_out=tuple(number for number, _ in _cylinders_out(session, day)),
        kit_out=tuple(number for number, _ in _kit_out(session, day)),
        unread_serious_incidents=tuple(
            one.row.what
            for one in incidents_of(session, day)
            if is_serious(one.row.severity) and one.row.read_at is None
        ),
        unverified_entries=tuple(
            view.label for view in views if view.group.closed_at is not None and not view.group.closed_by
        ),
    )


def _capital(view: GroupView) -> str:
    return view.label[0].upper() + view.label[1:]


def _cylinders_out(session: Session, day: date) -> list[tuple[str, int]]:
    found = (
        select(CylinderRow.number, CylinderRow.id)
        .join(CylinderOutRow, col(CylinderOutRow.cylinder_id) == CylinderRow.id)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(SlotRow.day <= day, col(CylinderOutRow.back_at).is_(None))
        .order_by(CylinderRow.number)
    )
    return [(number, row_id or 0) for number, row_id in session.exec(found)]


def _kit_out(session: Session, day: date) -> list[tuple[str, int]]:
    found = (
        select(KitItemRow.number, KitItemRow.id)
        .join(KitLoanRow, col(KitLoanRow.item_id) == KitItemRow.id)
        .join(SlotRow, col(SlotRow.id) == KitLoanRow.slot_id)
        .where(SlotRow.day <= day, col(KitLoanRow.back_at).is_(None))
        .order_by(KitItemRow.number)
    )
    return [(number, row_id or 0) for number, row_id in session.exec(found)]

"""The file of one incident: what was said later, what was done, what was kept aside, what is to be done."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.groups.groups import GroupView, group_view
from app.records.look_back.incidents import IncidentView, incident
from app.records.tables.cylinders import CylinderRow, QuarantineRow
from app.records.tables.days import IncidentRow
from app.records.tables.groups import CylinderOutRow, MemberRow
from app.records.tables.incidents import IncidentFactRow, IncidentKeptRow, IncidentStepRow, IncidentTaskRow
from app.records.tables.kit import KitItemRow, KitLoanRow
from app.records.tables.parties import GuestRow
from app.records.tables.people import PersonRow
from app.records.water_side.water import member_names
from app.rules.incident_close import CloseFacts
from app.rules.incident_file import Step, authority_told


@dataclass(frozen=True)
class Kept:
    """A cylinder or a piece of kit: what it is called, and whether it is set aside now."""

    kind: str
    number: int
    label: str
    aside: bool


@dataclass(frozen=True)
class TaskView:
    """A follow-up and whose it is."""

    row: IncidentTaskRow
    owner: str


@dataclass(frozen=True)
class IncidentFile:
    """Everything that is kept of one incident. facts: by key, the newest first.

    group: whose it was; about: the name of the member it is about, "" for nobody in particular.
    kept: what was set aside because of it; offered: what its group had that is not kept yet.
    """

    view: IncidentView
    group: GroupView | None
    about: str
    facts: dict[str, list[IncidentFactRow]]
    steps: tuple[IncidentStepRow, ...]
    kept: tuple[Kept, ...]
    offered: tuple[Kept, ...]
    tasks: tuple[TaskView, ...]

    def said(self, fact: str) -> str:
        """What was said last to a question; "" while nobody said anything."""
        rows = self.facts.get(fact, [])
        return rows[0].value if rows else ""

    @property
    def steps_done(self) -> tuple[Step, ...]:
        """The steps as the rules read them."""
        return tuple(Step(one.kind, one.happened_at, one.flow_l_min, one.whom) for one in self.steps)

    @property
    def open_tasks(self) -> tuple[TaskView, ...]:
        """Follow-ups that are not done."""
        return tuple(one for one in self.tasks if one.row.done_at is None)

    @property
    def close_facts(self) -> CloseFacts:
        """What the rule for closing asks."""
        row = self.view.row
        return CloseFacts(
            row.severity,
            row.read_at is not None,
            self.said("notifiable"),
            authority_told(self.steps_done) is not None,
            tuple(one.row.what for one in self.open_tasks),
        )


def incident_file(session: Session, incident_id: int) -> IncidentFile:
    """Return the whole file of an incident; raises NotHere. The count of queries does not grow."""
    view = incident(session, incident_id)
    group = None if view.row.group_id is None else group_view(session, view.row.group_id)
    kept = _kept(session, incident_id)
    have = {(one.kind, one.number) for one in kept}
    offered = () if group is None else _offered(session, group)
    return IncidentFile(
        view,
        group,
        _about(session, view.row.member_id),
        facts_of(session, incident_id),
        _steps(session, incident_id),
        kept,
        tuple(one for one in offered if (one.kind, one.number) not in have),
        tasks_of(session, [incident_id]),
    )


def facts_of(session: Session, incident_id: int) -> dict[str, list[IncidentFactRow]]:
    """Return everything that was said to each question, the newest first, by the question's key."""
    asked = select(IncidentFactRow).where(IncidentFactRow.incident_id == incident_id)
    facts: dict[str, list[IncidentFactRow]] = {}
    for row in session.exec(asked.order_by(col(IncidentFactRow.id).desc())):
        facts.setdefault(row.fact, []).append(row)
    return facts


def tasks_of(session: Session, incident_ids: Iterable[int]) -> tuple[TaskView, ...]:
    """Return the follow-ups of incidents: open ones first, the soonest due first."""
    asked = (
        select(IncidentTaskRow, PersonRow.name)
        .join(PersonRow, col(PersonRow.id) == IncidentTaskRow.owner_id)
        .where(col(IncidentTaskRow.incident_id).in_(list(incident_ids)))
        .order_by(col(IncidentTaskRow.due_on), col(IncidentTaskRow.id))
    )
    views = [TaskView(row, owner) for row, owner in session.exec(asked)]
    return tuple(sorted(views, key=lambda one: one.row.done_at is not None))


def due_tasks(session: Session, day: date, person_id: int | None = None) -> tuple[TaskView, ...]:
    """Return open follow-ups that are due by a day, of everybody or of one person, the longest due first."""
    asked = (
        select(IncidentTaskRow, PersonRow.name)
        .join(PersonRow, col(PersonRow.id) == IncidentTaskRow.owner_id)
        .where(col(IncidentTaskRow.done_at).is_(None), col(IncidentTaskRow.due_on) <= day)
        .order_by(col(IncidentTaskRow.due_on), col(IncidentTaskRow.id))
    )
    if person_id is not None:
        asked = asked.where(IncidentTaskRow.owner_id == person_id)
    return tuple(TaskView(row, owner) for row, owner in session.exec(asked))


def guest_owner(session: Session, member_id: int | None) -> str:
    """Return whose key seals what is told of a member: "guest:<ref>", or "" for the team and for nobody."""
    if member_id is None:
        return ""
    asked = (
        select(GuestRow.ref).join(MemberRow, col(MemberRow.guest_id) == GuestRow.id)
        .where(MemberRow.id == member_id)
    )  # fmt: skip
    ref = session.exec(asked).first()
    return "" if ref is None else f"guest:{ref}"


def follows_up(session: Session, row: IncidentRow, person_id: int | None) -> bool:
    """Return whether a follow-up of an incident is, or was, this person's."""
    if person_id is None:
        return False
    asked = select(IncidentTaskRow.id).where(
        IncidentTaskRow.incident_id == row.id, IncidentTaskRow.owner_id == person_id
    )
    return session.exec(asked).first() is not None


def _about(session: Session, member_id: int | None) -> str:
    row = None if member_id is None else session.get(MemberRow, member_id)
    return "" if row is None else member_names(session, [row]).get(row.id or 0, "")


def _steps(session: Session, incident_id: int) -> tuple[IncidentStepRow, ...]:
    asked = select(IncidentStepRow).where(IncidentStepRow.incident_id == incident_id)
    order = (col(IncidentStepRow.happened_at), col(IncidentStepRow.id))
    return tuple(session.exec(asked.order_by(*order)))


def _kept(session: Session, incident_id: int) -> tuple[Kept, ...]:
    asked = select(IncidentKeptRow).where(IncidentKeptRow.incident_id == incident_id)
    rows = list(session.exec(asked.order_by(col(IncidentKeptRow.id))))
    cylinders = [row.cylinder_id for row in rows if row.cylinder_id is not None]
    items = [row.kit_item_id for row in rows if row.kit_item_id is not None]
    known = {(one.kind, one.number): one for one in things(session, cylinders, items)}
    wanted = [("cylinder", row.cylinder_id) if row.cylinder_id else ("kit", row.kit_item_id) for row in rows]
    return tuple(known[kind, number] for kind, number in wanted if number is not None)


def things(session: Session, cylinders: Iterable[int], items: Iterable[int]) -> list[Kept]:
    """Return cylinders and pieces of kit by their numbers in the store, with whether each is set aside."""
    ids = list(cylinders)
    aside = set(
        session.exec(
            select(QuarantineRow.cylinder_id).where(
                col(QuarantineRow.cylinder_id).in_(ids), col(QuarantineRow.lifted_at).is_(None)
            )
        )
    )
    found = [
        Kept("cylinder", row.id or 0, f"Cylinder {row.number}", row.id in aside)
        for row in session.exec(
            select(CylinderRow).where(col(CylinderRow.id).in_(ids)).order_by(CylinderRow.number)
        )
    ]
    wanted = select(KitItemRow).where(col(KitItemRow.id).in_(list(items)))
    for row in session.exec(wanted.order_by(KitItemRow.kind, KitItemRow.number)):
        label = f"{row.kind.capitalize()} {row.number}"
        found.append(Kept("kit", row.id or 0, label, row.out_of_use_since is not None))
    return found


def _offered(session: Session, group: GroupView) -> tuple[Kept, ...]:
    """Return what the group's people have or had with them in its slot."""
    members = [one.row.id for one in group.members]
    guests = [one.row.guest_id for one in group.members if one.row.guest_id is not None]
    cylinders = session.exec(
        select(CylinderOutRow.cylinder_id).where(col(CylinderOutRow.member_id).in_(members)).distinct()
    ).all()
    items = session.exec(
        select(KitLoanRow.item_id)
        .where(col(KitLoanRow.guest_id).in_(guests), KitLoanRow.slot_id == group.slot.id)
        .distinct()
    ).all()
    return tuple(things(session, cylinders, items))

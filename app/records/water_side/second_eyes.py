"""Who may be named at the briefing and the kit check, and in which language a briefing was said."""

from collections.abc import Iterable

from sqlmodel import Session, col, select

from app.records.groups.facts import member_key, staff_key
from app.records.groups.groups import GroupView, team
from app.records.tables.people import PersonRow
from app.records.tables.water import BriefingRow, SkillRow
from app.rules.briefing import SAID_IN

OTHER = "other"
"""Somebody who came with the guests and is in no list of the shop."""


def people_near(session: Session, view: GroupView) -> dict[str, str]:
    """Return whom one may name at the water, key -> name: who watches, the group itself, then the team."""
    watchers = [one for one in (view.surface_watch, view.safety_diver) if one is not None]
    return {
        **{staff_key(one.id): one.name for one in watchers},
        **{member_key(one.row): one.name for one in view.members},
        **{staff_key(one.id): one.name for one in team(session)},
    }


def said_in(session: Session, group_id: int) -> BriefingRow | None:
    """Return what was last noted of the briefing's language; None where nothing ever was."""
    asked = select(BriefingRow).where(BriefingRow.group_id == group_id, BriefingRow.item == SAID_IN)
    return session.exec(asked.order_by(col(BriefingRow.id).desc())).first()


def briefing_rows(session: Session, group_id: int) -> list[BriefingRow]:
    """Return every row of the briefing and the kit checks of a group, in the order of arrival."""
    asked = select(BriefingRow).where(BriefingRow.group_id == group_id)
    return list(session.exec(asked.order_by(col(BriefingRow.id))))


def skill_rows(session: Session, guest_id: int, group_id: int) -> list[SkillRow]:
    """Return every mark of a guest in a group, in the order of arrival."""
    asked = select(SkillRow).where(SkillRow.guest_id == guest_id, SkillRow.group_id == group_id)
    return list(session.exec(asked.order_by(col(SkillRow.id))))


def staff_names(session: Session, keys: Iterable[str]) -> dict[str, str]:
    """Return the names of people of the team, by key; guests and others are left out."""
    numbers = {int(number) for kind, _, number in (key.partition("-") for key in keys) if kind == "staff"}
    found = session.exec(select(PersonRow.id, PersonRow.name).where(col(PersonRow.id).in_(numbers)))
    return {staff_key(number): name for number, name in found}

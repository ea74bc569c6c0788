"""The day sheet: each group with its plan, sign-offs and logged pressures."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.records.entry import DiverView, answers_of, divers_of, marks_of
from app.records.groups import GroupView, groups_of
from app.records.issued import newest_plans
from app.records.shop import the_shop
from app.records.tables.groups import PlanRow
from app.records.water import newest_events
from app.rules import briefing
from app.rules.sign_off import SKILLS, Mark, standing


@dataclass(frozen=True)
class SheetLine:
    """One person of a group on the sheet. skills: shown of asked, by whom."""

    diver: DiverView
    state: str
    went: datetime | None
    shown: int
    not_shown: tuple[str, ...]
    signed_by: str


@dataclass(frozen=True)
class Sheet:
    """One group on the sheet."""

    view: GroupView
    plan: PlanRow | None
    lines: tuple[SheetLine, ...]
    briefing_answered: int
    briefing_items: int


def day_sheet(session: Session, day: date) -> list[Sheet]:
    """Return every group of a day, in order of time."""
    zone = the_shop(session).zone
    views = groups_of(session, day)
    plans = newest_plans(session, [view.id for view in views])
    events = newest_events(session, [view.id for view in views])
    sheets = []
    for view in views:
        divers = divers_of(session, [(one.row, one.name) for one in view.members])
        guests = [one.row.guest_id for one in view.members if one.row.guest_id is not None]
        marks = marks_of(session, guests, zone)
        answers = {
            one.item for one in answers_of(session, view.id, zone) if one.about == "" and one.on == day
        }
        lines = []
        for diver in divers:
            event = events.get(diver.member.id or 0)
            mine = standing(diver.key, marks, day) if diver.member.guest_id is not None else {}
            signed = {one.by or "" for one in marks if one.guest_id == diver.key and one.on == day}
            lines.append(
                SheetLine(
                    diver,
                    "" if event is None else event.event,
                    None if event is None else event.happened_at,
                    sum(mark is Mark.SHOWN for mark in mine.values()),
                    tuple(SKILLS[key].words for key in SKILLS if mine.get(key) not in (Mark.SHOWN,))
                    if diver.member.guest_id is not None
                    else (),
                    ", ".join(sorted(signed)),
                )
            )
        sheets.append(Sheet(view, plans.get(view.id), tuple(lines), len(answers), len(briefing.BRIEFING)))
    return sheets

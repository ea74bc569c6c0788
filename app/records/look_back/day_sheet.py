"""The day sheet: each group with its plan, sign-offs and logged pressures."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from app.records.groups.groups import GroupView, groups_of
from app.records.keep.paper import PaperView, sheets_by_group
from app.records.plans.plans import newest_plans
from app.records.setup.shop import limits_now, the_shop
from app.records.tables.groups import PlanRow
from app.records.water_side.entry import DiverView, answers_by_group, divers_of, marks_of
from app.records.water_side.water import DiveTimes, dive_times
from app.rules import briefing
from app.rules.briefing import Answer
from app.rules.limits import SKILLS_REQUIRED_SET
from app.rules.resolve import Limits
from app.rules.sign_off import SKILLS, Mark, SkillMark, standing


@dataclass(frozen=True)
class SheetLine:
    """One person of a group on the sheet. not_shown: skills that the shop asks for and nobody saw.

    signed_by: who saw the skills, the newest mark of each. event: the newest water event, "" for none.
    """

    diver: DiverView
    event: str
    times: DiveTimes | None
    kit_checked: bool
    shown: int
    not_shown: tuple[str, ...]
    signed_by: str


@dataclass(frozen=True)
class Sheet:
    """One group on the sheet. briefing_open: items of the briefing that were not answered well."""

    view: GroupView
    plan: PlanRow | None
    lines: tuple[SheetLine, ...]
    briefing_open: int
    briefed_by: str
    papers: tuple[PaperView, ...] = ()


def day_sheet(session: Session, day: date) -> list[Sheet]:
    """Return every group of a day, in order of time. The count of queries does not grow."""
    zone, limits = the_shop(session).zone, limits_now(session)
    views = groups_of(session, day)
    everybody = [one for view in views for one in view.members]
    plans = newest_plans(session, [view.id for view in views])
    divers = {one.id: one for one in divers_of(session, everybody)}
    times = dive_times(session, divers)
    answers = answers_by_group(session, [view.id for view in views], zone)
    marks = marks_of(session, [one.guest.id or 0 for one in everybody if one.guest is not None], zone)
    papers = sheets_by_group(session, [view.id for view in views])
    sheets = []
    for view in views:
        told = answers.get(view.id, ())
        said = [one for one in told if one.about == "" and one.on == day]
        lines = tuple(
            _line(divers[number], one.event, times.get(number), told, marks, limits, day)
            for one in view.members
            for number in [one.row.id or 0]
        )
        still_open = len(briefing.briefing_complete(told, limits, day).reasons)
        named = _names(one.by for one in said)
        sheets.append(Sheet(view, plans.get(view.id), lines, still_open, named, papers.get(view.id, ())))
    return sheets


def _line(
    diver: DiverView,
    event: str,
    times: DiveTimes | None,
    answers: tuple[Answer, ...],
    marks: tuple[SkillMark, ...],
    limits: Limits,
    day: date,
) -> SheetLine:
    is_guest = diver.member.guest_id is not None
    counting = standing(diver.key, marks, day) if is_guest else {}
    newest = {one.skill: one.by for one in marks if one.guest_id == diver.key and one.on == day}
    asked = (limits[SKILLS_REQUIRED_SET].names or ()) if is_guest else ()
    return SheetLine(
        diver,
        event,
        times,
        briefing.kit_checked(answers, limits, day, diver.key, diver.name).allowed,
        sum(mark is Mark.SHOWN for mark in counting.values()),
        tuple(SKILLS[key].words for key in asked if key in SKILLS and counting.get(key) is not Mark.SHOWN),
        _names(newest.values()),
    )


def _names(said: Iterable[str | None]) -> str:
    return ", ".join(sorted({name for name in said if name}))

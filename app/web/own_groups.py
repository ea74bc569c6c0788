"""Whose group it is: who runs it at the water, asked by every area that shows a group."""

from app.records.groups.groups import GroupView
from app.web.access import INSTRUCTOR, LEAD
from app.web.front import Front


def may_run(front: Front, view: GroupView) -> bool:
    """Return whether this visitor runs a group: its guide or assistant, or the lead."""
    if front.visitor.has(LEAD):
        return True
    team = [one.row.person_id for one in (view.guide, view.assistant) if one is not None]
    return front.visitor.has(INSTRUCTOR) and front.visitor.person_id in team

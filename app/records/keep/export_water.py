"""What leaves the shop of the waterside: roll calls, counts, briefings, skills, conditions."""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

from sqlmodel import col, select

from app.records.groups.facts import member_key
from app.records.keep.export_dives import of_group
from app.records.keep.export_table import ExportTable, Scope, table
from app.records.tables.parties import ConditionsRow
from app.records.tables.water import BriefingRow, CountRow, MissingRow, SkillRow, WaterEventRow
from app.records.water_side.second_eyes import OTHER, staff_names
from app.records.water_side.water import member_names
from app.rules import briefing
from app.rules.languages import NAMES
from app.rules.sign_off import SKILLS

ITEMS = {
    **{item.key: item.words for item in (*briefing.BRIEFING, *briefing.KIT_CHECK)},
    briefing.SAID_IN: "Said in",
    briefing.SECOND_EYES: "Second pair of eyes",
}
KEYED = frozenset({briefing.SECOND_EYES})
R = TypeVar("R", CountRow, SkillRow)


def roll_calls(scope: Scope) -> ExportTable:
    """Return every water event: in, back, never entered, person by person, as it arrived."""
    views = {view.id: view for view in scope.views}
    members = {one.row.id or 0: one.row for view in scope.views for one in view.members}
    names = member_names(scope.session, members.values())
    asked = select(WaterEventRow).where(col(WaterEventRow.group_id).in_(list(views)))
    return table(
        "roll calls",
        "Roll calls",
        [
            row
            for row in scope.session.exec(asked.order_by(col(WaterEventRow.id)))
            if row.member_id in members and scope.has(members[row.member_id])
        ],
        (
            *of_group(lambda row: views[row.group_id]),
            ("Person", lambda row: names.get(row.member_id)),
            ("Event", lambda row: row.event),
            ("Happened at", lambda row: scope.local(row.happened_at)),
            ("Said by the device", lambda row: scope.local(row.device_at)),
            ("Arrived at", lambda row: scope.local(row.at)),
            ("By", lambda row: row.by),
            ("Look at", lambda row: row.flag or None),
        ),
    )


def counts(scope: Scope) -> ExportTable:
    """Return every head count and call by name."""
    views = {view.id: view for view in scope.views}
    asked = select(CountRow).where(col(CountRow.group_id).in_(list(views)))
    rows = list(scope.session.exec(asked.order_by(col(CountRow.id))))
    tries = _tries(rows, lambda row: (row.group_id, row.way, row.method))
    return table(
        "counts",
        "Counts",
        rows,
        (
            *of_group(lambda row: views[row.group_id]),
            ("Way", lambda row: row.way),
            ("Try", lambda row: tries[row.id]),
            ("Method", lambda row: row.method),
            ("Counted", lambda row: row.counted),
            ("By the records", lambda row: row.expected),
            ("Agrees", lambda row: row.agrees),
            ("Counter", lambda row: row.counter),
            ("At", lambda row: scope.local(row.at)),
        ),
    )


def missing(scope: Scope) -> ExportTable:
    """Return every missing-person procedure."""
    views = {view.id: view for view in scope.views}
    names = member_names(scope.session, [one.row for view in scope.views for one in view.members])
    asked = select(MissingRow).where(col(MissingRow.group_id).in_(list(views)))
    return table(
        "missing",
        "Missing persons",
        scope.session.exec(asked.order_by(col(MissingRow.id))),
        (
            *of_group(lambda row: views[row.group_id]),
            ("Began", lambda row: scope.local(row.started_at)),
            ("Said by", lambda row: row.started_by),
            ("Last seen", lambda row: row.last_seen or None),
            ("Person", lambda row: names.get(row.member_id or 0)),
            ("Found where", lambda row: row.found_where or None),
            ("Ended", lambda row: scope.local(row.ended_at)),
            ("Ended by", lambda row: row.ended_by or None),
        ),
    )


def briefings(scope: Scope) -> ExportTable:
    """Return every answer of the briefing and the kit check."""
    views = {view.id: view for view in scope.views}
    asked = select(BriefingRow).where(col(BriefingRow.group_id).in_(list(views)))
    rows = list(scope.session.exec(asked.order_by(col(BriefingRow.id))))
    named = {key for row in rows for key in (row.interpreter, row.answer if row.item in KEYED else "") if key}
    names = {
        **staff_names(scope.session, named),
        **{member_key(one.row): one.name for view in scope.views for one in view.members},
        OTHER: "somebody who came with them",
    }

    def answered(row: BriefingRow) -> str | None:
        if row.item == briefing.SAID_IN:
            return NAMES[row.answer][0] if row.answer in NAMES else row.answer
        return names.get(row.answer) if row.item in KEYED else row.answer or None

    return table(
        "briefings",
        "Briefings and kit checks",
        rows,
        (
            *of_group(lambda row: views[row.group_id]),
            ("Item", lambda row: ITEMS.get(row.item, row.item)),
            ("Answer", answered),
            ("Language", lambda row: NAMES[row.language][0] if row.language in NAMES else None),
            ("Interpreter", lambda row: names.get(row.interpreter)),
            ("Taken back because", lambda row: row.correction or None),
            ("About", lambda row: names.get(row.about) if row.about else "the group"),
            ("By", lambda row: row.by),
            ("At", lambda row: scope.local(row.at)),
        ),
    )


def skills(scope: Scope) -> ExportTable:
    """Return every skill that was seen, each try."""
    views = {view.id: view for view in scope.views}
    names = {one.guest.id: one.name for view in scope.views for one in view.members if one.guest}
    asked = select(SkillRow).where(col(SkillRow.group_id).in_(list(views)))
    if scope.guest_id is not None:
        asked = asked.where(SkillRow.guest_id == scope.guest_id)
    rows = list(scope.session.exec(asked.order_by(col(SkillRow.id))))
    tries = _tries((row for row in rows if not row.correction), lambda row: (row.guest_id, row.skill))
    return table(
        "skills",
        "Skills",
        rows,
        (
            *of_group(lambda row: views[row.group_id]),
            ("Guest", lambda row: names.get(row.guest_id)),
            ("Skill", lambda row: SKILLS[row.skill].words if row.skill in SKILLS else row.skill),
            ("Try", lambda row: tries.get(row.id)),
            ("Outcome", lambda row: row.outcome or None),
            ("Taken back because", lambda row: row.correction or None),
            ("Seen by", lambda row: row.by),
            ("At", lambda row: scope.local(row.at)),
        ),
    )


def conditions(scope: Scope) -> ExportTable:
    """Return every look at the water."""
    slots = {view.slot.id or 0: view for view in scope.views}
    asked = select(ConditionsRow).where(col(ConditionsRow.slot_id).in_(list(slots)))
    return table(
        "conditions",
        "Conditions",
        scope.session.exec(asked.order_by(col(ConditionsRow.id))),
        (
            ("Day", lambda row: slots[row.slot_id].slot.day),
            ("Start", lambda row: slots[row.slot_id].slot.clock),
            ("Site", lambda row: slots[row.slot_id].site.name),
            ("Grade", lambda row: row.grade),
            ("Visibility (m)", lambda row: row.visibility_m),
            ("Current (m/s)", lambda row: row.current_m_s),
            ("Sea", lambda row: row.sea or None),
            ("Wind", lambda row: row.wind or None),
            ("Water (°C)", lambda row: row.water_temp_c),
            ("Seen by", lambda row: row.seen_by),
            ("At", lambda row: scope.local(row.at)),
        ),
    )


def _tries(rows: Iterable[R], of: Callable[[R], Hashable]) -> dict[int | None, int]:
    """Return which try each row is, by number: the second count is a recount."""
    seen: Counter[Hashable] = Counter()
    found = {}
    for row in rows:
        seen[of(row)] += 1
        found[row.id] = seen[of(row)]
    return found

"""What leaves the shop of the dives: divers, roll calls, counts, briefings, skills, plans, conditions."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlmodel import col, select

from app.records.dive_lines import DiveLines, DiverLine, dives_of
from app.records.entry import DiverView, divers_of
from app.records.export_table import Column, ExportTable, Scope, Value, rounded, table
from app.records.groups import GroupView
from app.records.plans import newest_plans
from app.records.tables.groups import PlanRow
from app.records.tables.parties import ConditionsRow
from app.records.tables.water import BriefingRow, CountRow, MissingRow, PressureRow, SkillRow, WaterEventRow
from app.records.water import DiveTimes, dive_times, member_names
from app.rules import briefing
from app.rules.sign_off import SKILLS

AIR = "air"
ITEMS = {item.key: item for item in (*briefing.BRIEFING, *briefing.KIT_CHECK)}


def _of_group(view: Callable[[Any], GroupView]) -> tuple[Column[Any], ...]:
    """Return the columns that say which group a line is about."""
    return (
        ("Day", lambda row: view(row).slot.day),
        ("Start", lambda row: view(row).slot.clock),
        ("Site", lambda row: view(row).site.name),
        ("Group", lambda row: view(row).group.name),
        ("Group number", lambda row: view(row).id),
    )


@dataclass(frozen=True)
class _Diver:
    dive: DiveLines
    line: DiverLine
    gauge: DiverView
    times: DiveTimes


def divers(scope: Scope) -> ExportTable:
    """Return one line for each diver of each group that went in."""
    views = [view for view in scope.views if view.group.entered_at is not None]
    everybody = [one for view in views for one in view.members]
    gauges = {one.id: one for one in divers_of(scope.session, everybody)}
    times = dive_times(scope.session, gauges)
    rows = [
        _Diver(dive, line, gauges[line.member_id], times[line.member_id])
        for dive in dives_of(scope.session, views)
        for line in dive.lines
        if scope.has(gauges[line.member_id].member)
    ]

    def read_at(of: Callable[[DiverView], PressureRow | None]) -> Callable[[_Diver], Value]:
        def at(row: _Diver) -> Value:
            reading = of(row.gauge)
            return None if reading is None else scope.local(reading.at)

        return at

    return table(
        "divers",
        "Divers",
        rows,
        (
            *_of_group(lambda row: row.dive.view),
            ("Plan", lambda row: None if row.dive.plan is None else row.dive.plan.number),
            ("Diver", lambda row: row.line.name),
            ("Part", lambda row: row.line.part),
            ("Went in", lambda row: scope.local(row.times.went)),
            ("Back at the surface", lambda row: scope.local(row.times.back)),
            ("In the water (min)", lambda row: rounded(row.line.minutes, 1)),
            ("Greatest depth (m)", lambda row: row.line.greatest_depth_m),
            ("Mean depth (m)", lambda row: rounded(row.line.mean_depth_m, 2)),
            ("Gas", lambda _: AIR),
            ("Cylinder", lambda row: row.line.cylinder or None),
            ("Cylinder size (L)", lambda row: row.line.litres),
            ("Start (bar)", lambda row: row.line.start_bar),
            ("Start read at", read_at(lambda gauge: gauge.start)),
            ("Turn (bar)", lambda row: row.line.turn_bar),
            ("Turn read at", read_at(lambda gauge: gauge.during)),
            ("End (bar)", lambda row: row.line.end_bar),
            ("End read at", read_at(lambda gauge: gauge.end)),
            ("Used (L at 1.01325 bar and 15 °C)", lambda row: rounded(row.line.used_litres, 1)),
            ("Breathing rate (L/min)", lambda row: rounded(row.line.rate_l_min, 2)),
            ("Settled rate (L/min)", lambda row: rounded(row.line.settled_rate_l_min, 2)),
            ("Planned end, careful (bar)", lambda row: rounded(row.line.planned_end_bar, 1)),
            (
                "Planned end, expected (bar)",
                lambda row: (
                    None if row.line.planned is None else rounded(row.line.planned.expected_end_bar, 1)
                ),
            ),
            ("Reserve in force (bar)", lambda row: row.line.reserve_bar),
            ("Way up", lambda row: row.dive.view.group.ascent),
            ("Safety stop done", lambda row: row.dive.view.group.stop_done),
            ("What happened", lambda row: row.dive.view.group.happened or None),
            ("Entry verified by", lambda row: row.dive.view.group.closed_by or None),
            ("Verified at", lambda row: scope.local(row.dive.view.group.closed_at)),
        ),
    )


def groups(scope: Scope) -> ExportTable:
    """Return every group with its people, its plan and what became of the dive."""
    plans = newest_plans(scope.session, [view.id for view in scope.views])

    def of_plan(value: Callable[[PlanRow], Value]) -> Callable[[GroupView], Value]:
        return lambda view: value(plans[view.id]) if view.id in plans else None

    return table(
        "groups",
        "Groups",
        scope.views,
        (
            *_of_group(lambda view: view),
            ("Guide", lambda view: None if view.guide is None else view.guide.name),
            ("Assistant", lambda view: None if view.assistant is None else view.assistant.name),
            ("Guests", lambda view: len(view.guests)),
            ("Surface watch", lambda view: None if view.surface_watch is None else view.surface_watch.name),
            ("Safety diver", lambda view: None if view.safety_diver is None else view.safety_diver.name),
            ("Planned depth (m)", lambda view: view.group.depth_m),
            ("Planned time (min)", lambda view: view.group.minutes),
            ("Plan", of_plan(lambda plan: plan.number)),
            ("Plan issued by", of_plan(lambda plan: plan.issued_by)),
            ("Plan issued at", of_plan(lambda plan: scope.local(plan.issued_at))),
            ("First in", lambda view: scope.local(view.group.entered_at)),
            ("Due back", lambda view: scope.local(view.group.due_at)),
            ("Greatest depth (m)", lambda view: view.group.greatest_depth_m),
            ("Way up", lambda view: view.group.ascent),
            ("Safety stop done", lambda view: view.group.stop_done),
            ("Called off by", lambda view: view.group.aborted_by or None),
            ("Called off at", lambda view: scope.local(view.group.aborted_at)),
            ("Why", lambda view: view.group.aborted_why or None),
            ("Closed by", lambda view: view.group.closed_by or None),
            ("Closed at", lambda view: scope.local(view.group.closed_at)),
        ),
    )


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
            *_of_group(lambda row: views[row.group_id]),
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
    return table(
        "counts",
        "Counts",
        scope.session.exec(asked.order_by(col(CountRow.id))),
        (
            *_of_group(lambda row: views[row.group_id]),
            ("Way", lambda row: row.way),
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
            *_of_group(lambda row: views[row.group_id]),
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
    names = {
        f"guest-{one.guest.id}" if one.guest else f"staff-{one.row.person_id}": one.name
        for view in scope.views
        for one in view.members
    }
    asked = select(BriefingRow).where(col(BriefingRow.group_id).in_(list(views)))
    return table(
        "briefings",
        "Briefings and kit checks",
        scope.session.exec(asked.order_by(col(BriefingRow.id))),
        (
            *_of_group(lambda row: views[row.group_id]),
            ("Item", lambda row: ITEMS[row.item].words if row.item in ITEMS else row.item),
            ("Answer", lambda row: row.answer),
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
    return table(
        "skills",
        "Skills",
        scope.session.exec(asked.order_by(col(SkillRow.id))),
        (
            *_of_group(lambda row: views[row.group_id]),
            ("Guest", lambda row: names.get(row.guest_id)),
            ("Skill", lambda row: SKILLS[row.skill].words if row.skill in SKILLS else row.skill),
            ("Outcome", lambda row: row.outcome),
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
            ("Water (°C)", lambda row: row.water_temp_c),
            ("Seen by", lambda row: row.seen_by),
            ("At", lambda row: scope.local(row.at)),
        ),
    )

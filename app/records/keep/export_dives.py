"""What leaves the shop of the dives: groups, their plans with what ends a dive, and each diver."""

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlmodel import col, select

from app.records.groups.groups import GroupView
from app.records.guest_side.aftercare import cards_of
from app.records.keep.export_table import Column, ExportTable, Scope, Value, rounded, table
from app.records.keep.paper import sheets_by_group
from app.records.look_back.dive_lines import DiveLines, DiverLine
from app.records.plans.plans import newest_plans
from app.records.tables.aftercare import AftercareCardRow, ExitCheckRow
from app.records.tables.groups import PlanRow
from app.records.tables.kit import KitItemRow, KitLoanRow
from app.records.tables.water import PressureRow
from app.records.water_side.entry import DiverView, divers_of
from app.records.water_side.water import DiveTimes, dive_times
from app.rules.dive_record import had_computer

AIR = "air"
# Said in every briefing; common practice, and asked for by UK HSE information for paying divers (2020/2025).
ENDS_IT = "anyone, at any time, without a reason; the guide's word is final"


def of_group(view: Callable[[Any], GroupView]) -> tuple[Column[Any], ...]:
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

    @property
    def of_group(self) -> tuple[int, int | None]:
        """Group and guest, as cards and exit checks are kept."""
        return self.dive.view.id, self.gauge.member.guest_id


def divers(scope: Scope) -> ExportTable:
    """Return one line for each diver of each group that went in."""
    views = [view for view in scope.views if view.group.entered_at is not None]
    everybody = [one for view in views for one in view.members]
    gauges = {one.id: one for one in divers_of(scope.session, everybody)}
    times = dive_times(scope.session, gauges)
    rows = [
        _Diver(dive, line, gauges[line.member_id], times[line.member_id])
        for dive in scope.dives
        for line in dive.lines
        if scope.has(gauges[line.member_id].member)
    ]
    asked, kit = _exit_checks(scope), _kit_numbers(scope)
    cards = cards_of(scope.session, {row.gauge.member.guest_id for row in rows})

    def given(kind: str) -> Callable[[_Diver], Value]:
        return lambda row: kit.get((row.gauge.member.guest_id, row.dive.view.slot.id, kind))

    def check(value: Callable[[ExitCheckRow], Value]) -> Callable[[_Diver], Value]:
        return lambda row: value(asked[row.of_group]) if row.of_group in asked else None

    def card(value: Callable[[AftercareCardRow], Value]) -> Callable[[_Diver], Value]:
        def of(row: _Diver) -> Value:
            group, guest = row.of_group
            found = None if guest is None else cards.get((group, guest))
            return None if found is None else value(found)

        return of

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
            *of_group(lambda row: row.dive.view),
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
            ("Regulator", given("regulator")),
            ("Jacket", given("jacket")),
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
            ("Dive computer used", lambda row: had_computer(row.dive.view.group.computers, row.line.part)),
            ("Way up", lambda row: row.dive.view.group.ascent),
            ("Safety stop done", lambda row: row.dive.view.group.stop_done),
            ("Asked on coming out at", check(lambda one: scope.local(one.at))),
            ("Asked by", check(lambda one: one.by)),
            ("Aftercare card given at", card(lambda one: scope.local(one.at))),
            ("Flying never before", card(lambda one: scope.local(one.fly_allowed_from))),
            ("Flying advised from", card(lambda one: scope.local(one.fly_advised_from))),
            ("What happened", lambda row: row.dive.view.group.happened or None),
            ("Entry verified by", lambda row: row.dive.view.group.closed_by or None),
            ("Verified at", lambda row: scope.local(row.dive.view.group.closed_at)),
        ),
    )


def groups(scope: Scope) -> ExportTable:
    """Return every group with its people, its plan and what became of the dive."""
    plans = newest_plans(scope.session, [view.id for view in scope.views])
    asked, paper = _exit_checks(scope), sheets_by_group(scope.session, [view.id for view in scope.views])

    def of_plan(value: Callable[[PlanRow], Value]) -> Callable[[GroupView], Value]:
        return lambda view: value(plans[view.id]) if view.id in plans else None

    return table(
        "groups",
        "Groups",
        scope.views,
        (
            *of_group(lambda view: view),
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
            ("Guests back", lambda view: sum(one.event == "back" for one in view.guests)),
            (
                "Guests asked on coming out",
                lambda view: sum((view.id, one.row.guest_id) in asked for one in view.guests),
            ),
            ("Called off by", lambda view: view.group.aborted_by or None),
            ("Called off at", lambda view: scope.local(view.group.aborted_at)),
            ("Why", lambda view: view.group.aborted_why or None),
            ("What happened", lambda view: view.group.happened or None),
            ("Closed by", lambda view: view.group.closed_by or None),
            ("Closed at", lambda view: scope.local(view.group.closed_at)),
            (
                "Typed in from paper by",
                lambda view: (
                    ", ".join(dict.fromkeys(one.row.typed_by for one in paper.get(view.id, ()))) or None
                ),
            ),
        ),
    )


@dataclass(frozen=True)
class _Plan:
    """An issued plan as it was frozen: figures of the whole group, none that names a guest."""

    view: GroupView
    row: PlanRow

    @cached_property
    def case(self) -> dict[str, Any]:
        """What went into the plan."""
        kept: dict[str, Any] = json.loads(self.row.case)["case"]
        return kept

    @cached_property
    def answer(self) -> dict[str, Any]:
        """What came out."""
        answer: dict[str, Any] = json.loads(self.row.answer)
        return answer

    @cached_property
    def limits(self) -> dict[str, Any]:
        """Every limit in force, with who set it."""
        limits: dict[str, Any] = json.loads(self.row.limits)
        return limits

    def limit(self, key: str) -> Value:
        """A limit's value as it was in force; None in a plan frozen before there was such a limit."""
        value: Value = self.limits.get(key, {}).get("value")
        return value

    def least(self, key: str) -> float | None:
        """The lowest of a figure over all divers; None where nobody has one."""
        every = (one.get(key) for one in self.answer["divers"])
        return min((float(one) for one in every if one is not None), default=None)

    @property
    def reserve_bar(self) -> float:
        """The highest reserve in force in the group, bar gauge: the first gauge at it ends the dive."""
        return max(float(one["reserve_in_force_bar"]) for one in self.answer["divers"])

    @property
    def no_stop_min(self) -> float | None:
        """The shortest no-stop time of the group, minutes from leaving the surface; None without a limit."""
        every = (one["binding_minutes_total"] for one in self.answer["nitrogen"])
        return min((float(one) for one in every if one is not None), default=None)


def plans(scope: Scope) -> ExportTable:
    """Return every plan that was issued, with the figures at which the dive turns, goes up or ends."""
    views = {view.id: view for view in scope.views}
    asked = select(PlanRow).where(col(PlanRow.group_id).in_(list(views)))
    rows = [_Plan(views[row.group_id], row) for row in scope.session.exec(asked.order_by(col(PlanRow.id)))]
    return table(
        "plans",
        "Plans",
        rows,
        (
            *of_group(lambda row: row.view),
            ("Plan", lambda row: row.row.number),
            ("Rules followed", lambda _: f"preset {scope.shop.preset.name}"),
            ("Issued by", lambda row: row.row.issued_by),
            ("Issued at", lambda row: scope.local(row.row.issued_at)),
            ("Looked at and acknowledged", lambda row: row.row.acknowledged or None),
            ("Depth (m)", lambda row: row.case["depth_m"]),
            ("Time to the way up (min)", lambda row: row.case["minutes"]),
            ("Surface to surface (min)", lambda row: rounded(row.answer["run_min"], 1)),
            ("Water (°C)", lambda row: row.case["sea"]["temp_c"]),
            ("Fastest way up (m/min)", lambda row: row.case["ascent_m_min"]),
            ("Safety stop (min)", lambda row: row.case["stop_min"]),
            ("Safety stop (m)", lambda row: row.case["stop_m"]),
            ("All turn at (bar)", lambda row: row.case["turn_bar"]),
            ("All go up at (bar)", lambda row: row.reserve_bar),
            ("All go up by minute (min)", lambda row: rounded(row.answer["latest_ascent_min"], 1)),
            ("No-stop time of the strictest diver (min)", lambda row: rounded(row.no_stop_min, 1)),
            ("Lowest planned end, careful (bar)", lambda row: rounded(row.least("end_gauge_bar"), 1)),
            ("Look for a lost diver (min)", lambda row: row.limit("separation_search")),
            ("Nobody goes in with visibility under (m)", lambda row: row.limit("visibility_nogo_below")),
            ("Nobody goes in with current over (m/s)", lambda row: row.limit("current_nogo_above")),
            ("Ended at once by", lambda _: ENDS_IT),
        ),
    )


def _exit_checks(scope: Scope) -> dict[tuple[int, int | None], ExitCheckRow]:
    """Return the newest exit check of each guest of each group: that it was asked, never what was said."""
    asked = select(ExitCheckRow).where(col(ExitCheckRow.group_id).in_([view.id for view in scope.views]))
    rows = scope.session.exec(asked.order_by(col(ExitCheckRow.id)))
    return {(row.group_id, row.guest_id): row for row in rows}


def _kit_numbers(scope: Scope) -> dict[tuple[int | None, int | None, str], str]:
    """Return the number of the newest piece of a kind that a guest was given for a slot."""
    slots: Iterable[int] = {view.slot.id or 0 for view in scope.views}
    asked = (
        select(KitLoanRow.guest_id, KitLoanRow.slot_id, KitItemRow.kind, KitItemRow.number)
        .join(KitItemRow, col(KitItemRow.id) == KitLoanRow.item_id)
        .where(col(KitLoanRow.slot_id).in_(list(slots)))
        .order_by(col(KitLoanRow.id))
    )
    return {(guest, slot, kind): number for guest, slot, kind, number in scope.session.exec(asked)}

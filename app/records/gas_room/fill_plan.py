"""The fill plan of a day as it stands now: worked out anew from the records each time, never stale."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session

from app.planning import fill_plan as planning
from app.planning.fill_plan import Answer, FillPlan, Need, Step, Stock, Way
from app.planning.filling import charging_minutes, litres_to_fill
from app.records.gas_room import compressor, cylinders_out
from app.records.gas_room.compressor import ROOM_C, BankView
from app.records.gas_room.cylinders import CylinderView, cylinder_board
from app.records.gas_room.cylinders_out import where_of
from app.records.gas_room.gauges import FILLED
from app.records.groups.groups import GroupView, booked_guests, groups_of
from app.records.plans.plan_case import UNMEASURED_TEMP_C
from app.records.setup.shop import limits_now
from app.records.tables.compressor import CompressorOutputRow
from app.records.welcome.bookings import SlotView, slots_of
from app.rules import limits as L
from app.rules.compressor import Wear, wear_of
from app.rules.cylinders import may_fill
from app.rules.decision import Reason
from app.rules.fill_plan import guides_to_choose, least_bar, way_of
from app.rules.resolve import Limits

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class SlotNeed:
    """What a slot still asks for. guides: cylinders counted for guides who are not chosen yet."""

    slot: SlotView
    count: int
    guides: int
    least_bar: float


@dataclass(frozen=True)
class PlannedFill:
    """One fill of the plan with its cylinder and the clock times; None where a time is not known."""

    view: CylinderView
    step: Step
    starts_at: datetime | None
    ready_at: datetime | None
    out_until: datetime | None


@dataclass(frozen=True)
class SlotPlan:
    """What becomes of one slot's need: cylinders that are full already, and those to fill, in order."""

    need: SlotNeed
    answer: Answer
    ready: tuple[CylinderView, ...]
    fills: tuple[PlannedFill, ...]
    ready_at: datetime | None

    @property
    def here(self) -> tuple[PlannedFill, ...]:
        """Those that stand in the gas room now."""
        return tuple(one for one in self.fills if one.out_until is None)


@dataclass(frozen=True)
class LeftOut:
    """A cylinder that is not planned, and the first reason."""

    view: CylinderView
    reason: Reason


@dataclass(frozen=True)
class DayPlan:
    """The plan of fills for what is left of a day.

    latest_start: so that every slot is held; minutes: the compressor's running time.
    refill_minutes: to fill the banks again afterwards. filter_left: hours left after plan and banks.
    """

    day: date
    plan: FillPlan
    slots: tuple[SlotPlan, ...]
    left_out: tuple[LeftOut, ...]
    unread: tuple[CylinderView, ...]
    banks: tuple[tuple[BankView, float | None], ...]
    way: Way
    output: CompressorOutputRow | None
    latest_start: datetime | None
    minutes: float | None
    refill_minutes: float | None
    wear: tuple[Wear, Wear]
    filter_left: float | None

    @property
    def next_slot(self) -> SlotPlan | None:
        """The first slot for which something is to be filled."""
        return next((one for one in self.slots if one.fills), None)

    @property
    def short(self) -> tuple[SlotPlan, ...]:
        """The slots that are not held, as far as anybody knows."""
        return tuple(one for one in self.slots if one.answer.missing or one.answer.late)


def day_plan(session: Session, day: date, now: datetime, extra: dict[int, int] | None = None) -> DayPlan:
    """Return the plan of fills for a day. extra: cylinders more that a slot would ask for, by slot number."""
    limits = limits_now(session)
    needs = slot_needs(session, day, now, limits, extra or {})
    board = cylinder_board(session, day)
    output = compressor.output(session)
    way = way_of(None if output is None else output.free_air_l_min, ROOM_C, limits)
    stock, left_out = _stock(board, limits, day, now, way)
    views = {view.row.id or 0: view for view in board}
    banks = compressor.banks(session)
    plan = planning.plan_fills(
        stock.values(),
        [
            Need(
                one.slot.slot.id or 0,
                (one.slot.slot.starts_at - now) / MINUTE,
                one.count,
                one.least_bar,
                one.slot.site.usual_temp_c,
            )
            for one in needs
        ],
        {one.row.id or 0: one.store for one in banks if one.store is not None},
        way,
    )
    by_slot = {one.slot.slot.id or 0: one for one in needs}
    steps = {step.key: step for step in plan.steps}
    slots = tuple(
        SlotPlan(
            by_slot[answer.need.key],
            answer,
            tuple(views[key] for key in answer.ready),
            tuple(_planned(views[key], steps[key], stock[key], now) for key in answer.filled),
            None if answer.ready_in is None else now + answer.ready_in * MINUTE,
        )
        for answer in plan.answers
    )
    after = [
        (one, plan.banks[one.row.id or 0].gauge_bar if one.row.id in plan.banks else None) for one in banks
    ]
    refill = _refill(after, way)
    wear = wear_of(compressor.compressor_facts(session), limits)
    left = wear[0].left
    return DayPlan(
        day=day,
        plan=plan,
        slots=slots,
        left_out=left_out,
        unread=tuple(views[key] for key in steps if views[key].gauge is None),
        banks=tuple(after),
        way=way,
        output=output,
        latest_start=None if plan.latest_start is None else now + plan.latest_start * MINUTE,
        minutes=plan.minutes,
        refill_minutes=refill,
        wear=wear,
        filter_left=None
        if left is None or plan.minutes is None
        else left - (plan.minutes + (refill or 0.0)) / 60,
    )


def next_plan(session: Session, today: date, now: datetime) -> DayPlan:
    """Return the plan of what is left of today; when nothing is, that of tomorrow."""
    plan = day_plan(session, today, now)
    return plan if plan.slots else day_plan(session, today + timedelta(days=1), now)


def slot_needs(
    session: Session, day: date, now: datetime, limits: Limits, extra: dict[int, int]
) -> list[SlotNeed]:
    """Return what the slots of a day still ask for: people of groups without a cylinder, guests without a
    group, and a guide for these. A slot that has begun asks only for its groups that are still ashore."""
    with_one = {holder.member.id for holder in cylinders_out.holders(session).values()}
    groups: dict[int, list[GroupView]] = {}
    for view in groups_of(session, day):
        groups.setdefault(view.slot.id or 0, []).append(view)
    booked = booked_guests(session, day)
    found = []
    for slot in slots_of(session, day):
        key = slot.slot.id or 0
        mine = groups.get(key, [])
        ashore = [one for view in mine if view.may_change for one in view.members]
        lacking = sum(one.row.id not in with_one for one in ashore)
        placed = {one.row.guest_id for view in mine for one in view.guests}
        waiting = [guest for guest in booked.get(key, []) if guest.id not in placed]
        to_come = len(waiting) if slot.slot.starts_at > now else 0
        where = where_of(slot.site)
        guides = guides_to_choose(to_come, where, limits)
        count = lacking + to_come + guides + extra.get(key, 0)
        least = least_bar(where, limits)
        if count and least is not None:
            found.append(SlotNeed(slot, count, guides, least))
    return found


def _stock(
    board: list[CylinderView], limits: Limits, day: date, now: datetime, way: Way
) -> tuple[dict[int, Stock], tuple[LeftOut, ...]]:
    stock: dict[int, Stock] = {}
    left_out = []
    length = timedelta(minutes=limits[L.SLOT_LENGTH].number or 0)
    reserve = limits[L.END_PRESSURE_MIN].number or 0.0
    for view in board:
        row, key = view.row, view.row.id or 0
        asked = may_fill(view.facts, limits, day, row.working_pressure_bar)
        stopping = [reason for reason in asked.reasons if reason.rule != L.CYLINDER_FREE.key]
        if stopping:
            left_out.append(LeftOut(view, stopping[0]))
            continue
        if view.holder is not None:
            # It comes back after its slot, with no more than the reserve counted on.
            back = max(view.holder.slot.starts_at + length, now)
            stock[key] = Stock(
                key, row.litres, row.working_pressure_bar, reserve, UNMEASURED_TEMP_C, (back - now) / MINUTE
            )
            continue
        gauge = view.gauge
        # One that nobody read may be empty: that costs the compressor most.
        bar = 0.0 if gauge is None else min(gauge.bar, row.working_pressure_bar)
        temp = UNMEASURED_TEMP_C if gauge is None or gauge.temp_c is None else gauge.temp_c
        cool = 0.0
        if gauge is not None and gauge.why == FILLED:
            cool = max(0.0, way.cooling_min - (now - gauge.at) / MINUTE)
        stock[key] = Stock(key, row.litres, row.working_pressure_bar, bar, temp, 0.0, cool)
    return stock, tuple(left_out)


def _planned(view: CylinderView, step: Step, stock: Stock, now: datetime) -> PlannedFill:
    return PlannedFill(
        view,
        step,
        None if step.starts_in is None else now + step.starts_in * MINUTE,
        None if step.ready_in is None else now + step.ready_in * MINUTE,
        now + stock.free_in * MINUTE if view.holder is not None else None,
    )


def _refill(after: list[tuple[BankView, float | None]], way: Way) -> float | None:
    if way.free_air_l_min is None:
        return None
    litres = sum(
        litres_to_fill(one.row.litres, bar, one.row.rated_bar, ROOM_C)
        for one, bar in after
        if bar is not None
    )
    return charging_minutes(litres, way.free_air_l_min)

"""Pressures read off gauges at the water: at the start, on the way, at the end. Earlier figures stay."""

from collections.abc import Mapping
from datetime import datetime

from app.actions.act import Act, Invalid
from app.actions.gas_room.gauge_doubts import ask_about
from app.actions.water_side.dive_end import look_again
from app.planning.units import AsRead
from app.records.gas_room.gauge_doubts import Expected, expected_at_water
from app.records.groups.groups import GroupView, group_view
from app.records.setup.shop import closed_day, limits_now
from app.records.store.problems import NotHere
from app.records.tables.water import PressureRow
from app.records.water_side.entry import DiverView, divers_of
from app.rules.decision import Reason
from app.rules.dive_record import may_put_right, may_write
from app.rules.gas import Judgement, Level, ReadingKind, judge_pressure

# Nobody reads a gauge finer than this, in bar: what is within half of it is the same figure.
FINEST_BAR = 0.1

MOMENTS: dict[str, ReadingKind] = {"start": "start", "during": "turn", "end": "end"}


def read_pressures(
    act: Act, group_id: int, moment: str, read: Mapping[int, AsRead], device_at: datetime | None = None
) -> None:
    """Write pressures read off gauges: member number -> bar gauge, kept as read too.

    moment: start, during or end.

    device_at: the phone's time. Raises Invalid beside the member's field for an impossible pressure or for
    one who has no cylinder; an unusual one is stored, marked, and noted in act.notices, a start that the
    fill record does not explain is stored with a question. Raises Refused before going in (but for the
    start) and on a day signed off.
    """
    view = _may_write(act, group_id, moment)
    expected = expected_at_water(act.session, view) if moment == "start" else {}
    divers = {one.id: one for one in divers_of(act.session, view.members)}
    errors: dict[str, str] = {}
    for member_id, one in read.items():
        diver = divers.get(member_id)
        if diver is None:
            raise NotHere(f"member {member_id}")
        before = diver.newest(moment)
        if moment != "during" and before is not None and abs(before.bar - one.base) < FINEST_BAR / 2:
            continue
        sentence = _write(act, diver, moment, one, expected, device_at=device_at)
        if sentence:
            errors[f"bar_{member_id}"] = sentence
    if errors:
        raise Invalid(errors)
    act.about = ("dive_group", str(group_id))
    look_again(act, group_id)


def put_pressure_right(act: Act, group_id: int, member_id: int, moment: str, read: AsRead, why: str) -> None:
    """Write one pressure once more, bar gauge, and why; the earlier figure stays to be read.

    Raises Invalid for an impossible pressure, Refused on a day signed off, NotHere.
    """
    view = _may_write(act, group_id, moment)
    diver = next((one for one in divers_of(act.session, view.members) if one.id == member_id), None)
    if diver is None or diver.newest(moment) is None:
        raise NotHere(f"{moment} pressure of member {member_id}")
    act.about, act.reason = ("member", str(member_id)), why
    expected = expected_at_water(act.session, view) if moment == "start" else {}
    sentence = _write(act, diver, moment, read, expected, why=why)
    if sentence:
        raise Invalid({"bar": sentence})
    look_again(act, group_id)


def _may_write(act: Act, group_id: int, moment: str) -> GroupView:
    view = group_view(act.session, group_id)
    signed_off = closed_day(act.session, view.slot.day) is not None
    entered = view.group.entered_at is not None
    act.allow(may_put_right(signed_off) if moment == "start" else may_write(entered, signed_off))
    return view


def _write(
    act: Act,
    diver: DiverView,
    moment: str,
    read: AsRead,
    expected: Mapping[int, Expected],
    *,
    why: str = "",
    device_at: datetime | None = None,
) -> str:
    """Store one pressure; returns the sentence to show when it cannot be."""
    if diver.out is None:
        return f"{diver.name} has no cylinder. Give one out first."
    judgement = _judge(act, diver, moment, read.base)
    if judgement.level is Level.IMPOSSIBLE:
        return judgement.sentence
    unusual = judgement.level is Level.UNUSUAL
    if unusual:
        found = f"{read.base:g}"
        act.notices.append(Reason(judgement.rule, judgement.sentence, found, "", "bar", "", diver.name))
    row = act.add(
        PressureRow(
            member_id=diver.id,
            cylinder_id=diver.out.cylinder_id,
            moment=moment,
            bar=read.base,
            read_value=read.value,
            read_unit=read.unit,
            unusual=unusual,
            correction=why,
            by=act.actor.name,
            device_at=device_at,
            at=act.now,
        )
    )
    number = "" if diver.cylinder is None else diver.cylinder.number
    ask_about(act, row, number, expected.get(row.cylinder_id))
    return ""


def _judge(act: Act, diver: DiverView, moment: str, bar: float) -> Judgement:
    earlier = {"start": None, "during": diver.start, "end": diver.during or diver.start}[moment]
    stamp = None if diver.cylinder is None else diver.cylinder.working_pressure_bar
    previous = None if earlier is None else earlier.bar
    return judge_pressure(bar, MOMENTS[moment], previous, stamp, limits_now(act.session))

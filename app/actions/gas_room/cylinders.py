"""Giving cylinders out and taking them back, reading their gauges, setting them aside and back into use."""

from app.actions.act import Act, Invalid
from app.actions.gas_room.gauge_doubts import ask_about
from app.planning.units import AsRead
from app.records.gas_room import cylinders, cylinders_out
from app.records.gas_room.gauge_doubts import expected_in_room
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.tables.cylinders import QuarantineRow, ReadingRow
from app.records.tables.groups import CylinderOutRow, MemberRow
from app.records.water_side.water import member_names, newest_events
from app.rules import limits as L
from app.rules.cylinders import CylinderFacts, is_here, may_give
from app.rules.decision import Decision, Reason, refuse
from app.rules.gas import Judgement, Level, ReadingKind, judge_pressure

OUT_LABELS = {"back_at": "Back at", "back_by": "Taken back by"}
LIFT_LABELS = {"lifted_at": "Back in use at", "lifted_by": "Taken back into use by", "lifted_why": "Why"}


def give_cylinder(act: Act, cylinder_id: int, member_id: int) -> CylinderOutRow:
    """Give a cylinder to a member of a group; raises Refused with every reason, NotHere.

    Refused: out of test, set aside, not read or under the start pressure for this water, above its
    stamp, with somebody else; a person who has a cylinder already, has left, or whose dive is over.
    """
    member, group, slot = cylinders_out.member_place(act.session, member_id)
    limits = cylinders_out.limits_at(act.session, slot.site)
    facts = cylinders.facts_of(act.session, cylinder_id)
    start, end = cylinders_out.times_of(slot, limits)
    name = member_names(act.session, [member]).get(member_id, "")
    over = group.closed_at is not None or group.aborted_at is not None
    asked = may_give(facts, limits, slot.slot.day, start, end, cylinders_out.where_of(slot.site)) + _may_take(
        act, member, name, over=over
    )
    act.allow(asked)
    act.notices.extend(asked.notes)
    row = act.add(
        CylinderOutRow(
            cylinder_id=cylinder_id, member_id=member_id, given_at=act.now, given_by=act.actor.name
        )
    )
    act.about = ("cylinder_out", str(row.id))
    return row


def take_back_cylinder(
    act: Act, out_id: int, read: AsRead | None = None, version: int | None = None
) -> CylinderOutRow:
    """Take a cylinder back, with its end pressure if it was read now.

    Without an end pressure, here or at the water, the cylinder counts as not read until somebody reads it.
    Raises Invalid for an impossible pressure, Refused while its diver is in the water, Clash for a stale
    version. Without a version a cylinder that is back already stays as it is.
    """
    out = act.get(CylinderOutRow, out_id)
    if out.back_at is not None and version is None:
        return out
    act.allow(_is_out_of_the_water(act, act.get(MemberRow, out.member_id)))
    act.edit(out, version, {"back_at": act.now, "back_by": act.actor.name}, OUT_LABELS)
    if read is not None:
        add_reading(act, out.cylinder_id, read, why="end")
    act.about = ("cylinder_out", str(out.id))
    return out


def add_reading(
    act: Act,
    cylinder_id: int,
    read: AsRead,
    *,
    temp_c: float | None = None,
    why: ReadingKind = "check",
) -> ReadingRow:
    """Write down a pressure read off a gauge, bar gauge and as read; gas temperature in °C if measured.

    Raises Invalid for an impossible pressure; an unusual one is stored and noted in act.notices, and one
    that the fill record does not explain is stored with a question.
    """
    facts = cylinders.facts_of(act.session, cylinder_id)
    judgement = judge_pressure(
        read.base, why, facts.gauge_bar, facts.working_pressure_bar, limits_now(act.session)
    )
    if judgement.level is Level.IMPOSSIBLE:
        raise Invalid({"bar": judgement.sentence})
    note_unusual(act, facts, judgement)
    expected = expected_in_room(act.session, cylinder_id, temp_c) if why == "check" else None
    row = act.add(
        ReadingRow(
            cylinder_id=cylinder_id,
            bar=read.base,
            read_value=read.value,
            read_unit=read.unit,
            temp_c=temp_c,
            why=why,
            at=act.now,
            by=act.actor.name,
        )
    )
    ask_about(act, row, facts.number, expected)
    act.about = ("cylinder", str(cylinder_id))
    return row


def drain(act: Act, cylinder_id: int) -> ReadingRow:
    """Write down that a cylinder was drained; refused while somebody has it."""
    act.allow(must_be_free(cylinders.facts_of(act.session, cylinder_id)))
    return add_reading(act, cylinder_id, AsRead.as_kept(0.0), why="drained")


def quarantine(act: Act, cylinder_id: int, why: str) -> QuarantineRow:
    """Set a cylinder aside, wherever it is; raises Invalid when it is set aside already."""
    facts = cylinders.facts_of(act.session, cylinder_id)
    if facts.quarantined:
        raise Invalid({"why": f"Cylinder {facts.number} is set aside already: {facts.quarantine_reason}"})
    row = act.add(QuarantineRow(cylinder_id=cylinder_id, why=why, at=act.now, by=act.actor.name))
    act.about, act.reason = ("cylinder", str(cylinder_id)), why
    return row


def lift_quarantine(act: Act, cylinder_id: int, quarantine_id: int, version: int, why: str) -> QuarantineRow:
    """Take a cylinder back into use, saying what was found and done; raises Clash when somebody did."""
    row = act.get(QuarantineRow, quarantine_id)
    if row.cylinder_id != cylinder_id:
        raise NotHere(f"quarantine {quarantine_id} of cylinder {cylinder_id}")
    values = {"lifted_at": act.now, "lifted_by": act.actor.name, "lifted_why": why}
    act.edit(row, version, values, LIFT_LABELS)
    act.about, act.reason = ("cylinder", str(row.cylinder_id)), why
    return row


def note_unusual(act: Act, facts: CylinderFacts, judgement: Judgement) -> None:
    """Keep what is unusual about a stored pressure among the act's notices."""
    if judgement.level is Level.UNUSUAL:
        act.notices.append(Reason(judgement.rule, judgement.sentence, "", "", "", "", facts.number))


def must_be_free(facts: CylinderFacts) -> Decision:
    """Nobody may have the cylinder, nor a test station; for what is done to one that must be in the shop."""
    if facts.out_with == "":
        return is_here(facts)
    text = f"Cylinder {facts.number} is with {facts.out_with}. Take it back first."
    return refuse(
        Reason(
            L.CYLINDER_FREE.key,
            text,
            facts.out_with or "not known",
            "with nobody",
            "",
            "hard limit",
            facts.number,
        )
    )


def _is_out_of_the_water(act: Act, member: MemberRow) -> Decision:
    event = newest_events(act.session, [member.group_id]).get(member.id or 0)
    if event is None or event.event != "in":
        return Decision()
    name = member_names(act.session, [member]).get(member.id or 0, "")
    text = f"{name} is in the water. Answer for {name} on the roll call first."
    return refuse(Reason(L.ROLL_CALL_BY_NAME.key, text, "in the water", "back", "", "hard limit", name))


def _may_take(act: Act, member: MemberRow, name: str, *, over: bool) -> Decision:
    found = []
    if member.left_at is not None:
        found.append(
            (f"{name} is no longer in this group. Open the group again.", "left the group", "in the group")
        )
    if over:
        found.append((f"The dive of {name}'s group is over. Choose another slot.", "over", "still to come"))
    if (out := cylinders_out.out_of_member(act.session, member.id or 0)) is not None:
        facts = cylinders.cylinder_facts(act.session, [out.cylinder_id]).get(out.cylinder_id)
        number = "" if facts is None else facts.number
        found.append(
            (f"{name} has cylinder {number}. Take it back first.", f"cylinder {number}", "no cylinder yet")
        )
    return refuse(
        *(
            Reason(L.CYLINDER_GIVEN.key, text, was, needed, "", "hard limit", name)
            for text, was, needed in found
        )
    )

"""Before the water: the briefing, the kit check, the shallow skills, the start pressures."""

from app.actions.act import Act, Invalid
from app.records.entry import DiverView, divers_of
from app.records.facts import guest_key, member_key
from app.records.groups import GroupView, group_view
from app.records.problems import NotHere
from app.records.shop import limits_now
from app.records.tables.water import BriefingRow, PressureRow, SkillRow
from app.rules import briefing
from app.rules.decision import Reason
from app.rules.gas import Judgement, Level, ReadingKind, judge_pressure
from app.rules.sign_off import SKILLS, Mark

ITEMS = {item.key: item for item in briefing.BRIEFING}
KIT_ITEMS = {item.key: item for item in briefing.KIT_CHECK}
MOMENTS: dict[str, ReadingKind] = {"start": "start", "during": "turn", "end": "end"}


def answer_briefing(act: Act, group_id: int, answers: dict[str, str]) -> None:
    """Write answers to items of the briefing; raises NotHere for an item that is not on the list."""
    view = group_view(act.session, group_id)
    for item, answer in answers.items():
        if item not in ITEMS:
            raise NotHere(f"briefing item {item}")
        _answer(act, view, item, answer, "")
    act.about = ("dive_group", str(group_id))


def check_kit(act: Act, group_id: int, answers: dict[tuple[int, str], str]) -> None:
    """Write answers of the kit check: (member number, item) -> state."""
    view = group_view(act.session, group_id)
    members = {one.row.id: one.row for one in view.members}
    for (member_id, item), answer in answers.items():
        if item not in KIT_ITEMS or member_id not in members:
            raise NotHere(f"kit item {item} of member {member_id}")
        _answer(act, view, item, answer, member_key(members[member_id]))
    act.about = ("dive_group", str(group_id))


def sign_skills(act: Act, group_id: int, marks: dict[tuple[int, str], Mark]) -> None:
    """Write what the instructor saw: (guest number, skill) -> mark. Later marks win, earlier ones stay."""
    view = group_view(act.session, group_id)
    guests = {one.guest.id for one in view.guests if one.guest is not None}
    for (guest_id, skill), mark in marks.items():
        if guest_id not in guests or skill not in SKILLS:
            raise NotHere(f"skill {skill} of {guest_key(guest_id)}")
        act.add(
            SkillRow(
                guest_id=guest_id,
                group_id=group_id,
                skill=skill,
                outcome=mark.value,
                by_id=act.actor.person_id or 0,
                by=act.actor.name,
                at=act.now,
            )
        )
    act.about = ("dive_group", str(group_id))


def read_pressures(
    act: Act, group_id: int, moment: str, bars: dict[int, float], corrections: dict[int, str] | None = None
) -> None:
    """Write pressures read off gauges: member number -> bar gauge.

    Raises Invalid beside the member's field for an impossible pressure or for one who has no cylinder; an
    unusual one is stored, marked, and said.
    """
    view = group_view(act.session, group_id)
    divers = {one.member.id: one for one in divers_of(act.session, [(m.row, m.name) for m in view.members])}
    errors: dict[str, str] = {}
    for member_id, bar in bars.items():
        diver = divers.get(member_id)
        if diver is None:
            raise NotHere(f"member {member_id}")
        if diver.out is None:
            errors[f"bar_{member_id}"] = f"{diver.name} has no cylinder. Give one out first."
            continue
        judgement = _judge(act, diver, moment, bar)
        if judgement.level is Level.IMPOSSIBLE:
            errors[f"bar_{member_id}"] = judgement.sentence
            continue
        if judgement.level is Level.UNUSUAL:
            act.notices.append(
                Reason(judgement.rule, judgement.sentence, f"{bar:g}", "", "bar", "", diver.name)
            )
        act.add(
            PressureRow(
                member_id=member_id,
                cylinder_id=diver.out.cylinder_id,
                moment=moment,
                bar=bar,
                read_value=bar,
                unusual=judgement.level is Level.UNUSUAL,
                correction=(corrections or {}).get(member_id, ""),
                by=act.actor.name,
                at=act.now,
            )
        )
    if errors:
        raise Invalid(errors)
    act.about = ("dive_group", str(group_id))


def _judge(act: Act, diver: DiverView, moment: str, bar: float) -> Judgement:
    earlier = {"start": None, "during": diver.start, "end": diver.during or diver.start}[moment]
    stamp = None if diver.cylinder is None else diver.cylinder.working_pressure_bar
    previous = None if earlier is None else earlier.bar
    return judge_pressure(bar, MOMENTS[moment], previous, stamp, limits_now(act.session))


def _answer(act: Act, view: GroupView, item: str, answer: str, about: str) -> None:
    act.add(
        BriefingRow(
            group_id=view.id,
            item=item,
            answer=answer,
            about=about,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )

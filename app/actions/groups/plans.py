"""Issuing a plan: it is worked out once more, held against every limit, and frozen."""

import json

from app.actions.act import Act, Clash, Difference
from app.records.plans.plans import draft_plan, frozen, next_number
from app.records.tables.groups import PlanRow


def issue_plan(act: Act, group_id: int, seen: str, *, acknowledged: bool) -> PlanRow:
    """Freeze the plan of a group as it comes out now; ``seen`` is the mark of the plan that was looked at.

    Raises Clash when something it rests on changed since, Refused with every reason, NotHere. Where the
    navy table would not allow a guide's dive, the group's own guide has to acknowledge that by name.
    """
    draft = draft_plan(act.session, act.house, group_id, act.now)
    if draft.fingerprint != seen:
        raise Clash(
            [Difference("The plan", "as you saw it", "worked out again, because something changed")], "", None
        )
    guide = draft.basis.view.guide
    by_guide = guide is not None and guide.row.person_id == act.actor.person_id
    said = acknowledged and by_guide
    act.allow(draft.decision if said else draft.decision + draft.acknowledge)
    words = " ".join(reason.text for reason in draft.acknowledge.reasons)
    case, answer = frozen(draft)
    row = act.add(
        PlanRow(
            group_id=group_id,
            number=next_number(act.session),
            case=case,
            answer=answer,
            limits=json.dumps(draft.limits, ensure_ascii=False),
            fingerprint=draft.fingerprint,
            acknowledged=f"{act.actor.name}: {words}" if words else "",
            issued_at=act.now,
            issued_by=act.actor.name,
        )
    )
    act.about = ("plan", str(row.id))
    return row

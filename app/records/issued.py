"""Plans as issued, for lists that need no more than the newest of each group."""

from collections.abc import Iterable

from sqlmodel import Session, col, select

from app.records.tables.groups import PlanRow


def newest_plans(session: Session, group_ids: Iterable[int]) -> dict[int, PlanRow]:
    """Return the newest issued plan of each group, by group number."""
    found = select(PlanRow).where(col(PlanRow.group_id).in_(list(group_ids))).order_by(col(PlanRow.id))
    return {plan.group_id: plan for plan in session.exec(found)}

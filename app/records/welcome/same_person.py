"""Which rows of guests are the same person, by what the desk said of them.

Each booking writes a guest anew, with a random reference, a key and a health record of its own. A link says
that two rows are one person: what was learned of sizes, lead and breathing is then read over all of them.
Nothing of health follows a link.
"""

from collections.abc import Iterable

from sqlalchemy import and_, case, func, or_
from sqlalchemy import select as core_select
from sqlmodel import Session, col, select

from app.records.tables.parties import GuestRow
from app.records.tables.returning import GuestLinkRow

SAME, OTHER = "same", "not the same"


def same_person(session: Session, guest_ids: Iterable[int | None]) -> dict[int, frozenset[int]]:
    """Return the other rows of the same person for each guest, however they were linked; one query."""
    ids = sorted({one for one in guest_ids if one is not None})
    found: dict[int, set[int]] = {one: set() for one in ids}
    if not ids:
        return {}
    newest = select(func.max(col(GuestLinkRow.id))).group_by(
        col(GuestLinkRow.guest_id), col(GuestLinkRow.earlier_id)
    )
    stands = (
        core_select(col(GuestLinkRow.guest_id).label("one"), col(GuestLinkRow.earlier_id).label("other"))
        .where(col(GuestLinkRow.id).in_(newest), col(GuestLinkRow.said) == SAME)
        .cte("stands")
    )
    person = (
        core_select(col(GuestRow.id).label("asked"), col(GuestRow.id).label("row"))
        .where(col(GuestRow.id).in_(ids))
        .cte("person", recursive=True)
    )
    reached = case((stands.c.one == person.c.row, stands.c.other), else_=stands.c.one)
    person = person.union(
        core_select(person.c.asked, reached).join_from(
            person, stands, or_(stands.c.one == person.c.row, stands.c.other == person.c.row)
        )
    )
    asked = core_select(person.c.asked, person.c.row).where(and_(person.c.asked != person.c.row))
    for guest, other in session.execute(asked):
        found[guest].add(other)
    return {guest: frozenset(others) for guest, others in found.items()}


def links_of(session: Session, guest_id: int) -> list[GuestLinkRow]:
    """Return the links that a guest's own row stands in, either way, newest word of each pair alone."""
    asked = select(GuestLinkRow).where(
        or_(col(GuestLinkRow.guest_id) == guest_id, col(GuestLinkRow.earlier_id) == guest_id)
    )
    newest: dict[tuple[int, int], GuestLinkRow] = {}
    for row in session.exec(asked.order_by(col(GuestLinkRow.id))):
        newest[row.guest_id, row.earlier_id] = row
    return [row for row in newest.values() if row.said == SAME]


def everybody_linked(session: Session) -> dict[int, frozenset[int]]:
    """Return the other rows of the same person for everybody whom a link names; one query."""
    newest = select(func.max(col(GuestLinkRow.id))).group_by(
        col(GuestLinkRow.guest_id), col(GuestLinkRow.earlier_id)
    )
    asked = select(GuestLinkRow.guest_id, GuestLinkRow.earlier_id).where(
        col(GuestLinkRow.id).in_(newest), GuestLinkRow.said == SAME
    )
    people: dict[int, set[int]] = {}
    for one, other in session.exec(asked):
        both = people.get(one, {one}) | people.get(other, {other})
        people |= dict.fromkeys(both, both)
    return {row: frozenset(rows - {row}) for row, rows in people.items()}

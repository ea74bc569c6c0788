"""Head counts and the missing-person procedure of a group, as the rules read them."""

from collections.abc import Sequence

from sqlmodel import Session, col, select

from app.records.facts import member_key
from app.records.tables.groups import MemberRow
from app.records.tables.water import CountRow, MissingRow, WaterEventRow
from app.records.water import member_names
from app.rules.head_count import Count, CountMethod, Found, MissingPerson, Round, is_mismatch
from app.rules.roll_call import BACK, IN, NEVER_ENTERED, EventWord, PersonEvent

# Independent results that make a round whole.
RESULTS = 2


def events_of(session: Session, group_id: int) -> tuple[PersonEvent, ...]:
    """Return every water event of a group, in the order in which they arrived."""
    found = (
        select(WaterEventRow, MemberRow)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .where(WaterEventRow.group_id == group_id)
        .order_by(col(WaterEventRow.id))
    )
    words: dict[str, EventWord] = {"in": IN, "back": BACK, "never-entered": NEVER_ENTERED}
    return tuple(
        PersonEvent(member_key(member), words[event.event], event.happened_at, event.by, event.id or 0)
        for event, member in session.exec(found)
    )


def counts_of(session: Session, group_id: int, way: str = "in") -> list[CountRow]:
    """Return the counts of a group in one direction, oldest first."""
    found = select(CountRow).where(CountRow.group_id == group_id, CountRow.way == way)
    return list(session.exec(found.order_by(col(CountRow.id))))


def rounds_of(rows: Sequence[CountRow]) -> tuple[Round, ...]:
    """Return counts as rounds: a round ends with two results, or with one that does not agree."""
    rounds: list[Round] = []
    for row in rows:
        method: CountMethod = "names" if row.method == "names" else "heads"
        earlier = rounds[-1] if rounds else None
        begins = earlier is None or is_mismatch(earlier) or len(earlier.results) >= RESULTS
        # Pages never show a first result before the second is in: another counter has not seen it.
        blind = begins or all(one.counter != row.counter for one in (earlier.results if earlier else ()))
        count = Count(row.counter, method, row.counted, blind)
        if begins or earlier is None:
            rounds.append(Round((count,), row.expected))
        else:
            rounds[-1] = Round((*earlier.results, count), row.expected)
    return tuple(rounds)


def missing_rows(session: Session, group_id: int) -> list[MissingRow]:
    """Return the missing-person procedures of a group, oldest first."""
    found = select(MissingRow).where(MissingRow.group_id == group_id).order_by(col(MissingRow.id))
    return list(session.exec(found))


def missing_of(session: Session, group_id: int) -> MissingPerson | None:
    """Return the procedure as it stands; None when it never began."""
    rows = missing_rows(session, group_id)
    if not rows:
        return None
    members = list(
        session.exec(
            select(MemberRow).where(col(MemberRow.id).in_([row.member_id for row in rows if row.member_id]))
        )
    )
    names = member_names(session, members)
    keys = {member.id: member_key(member) for member in members}
    people, found = {}, {}
    for row in rows:
        # Nobody is named yet: that too is somebody who must be found.
        key = keys.get(row.member_id, f"unnamed-{row.id}")
        people[key] = names.get(row.member_id or 0, "somebody not named yet")
        if row.ended_at is not None and row.member_id is not None:
            found[key] = Found(row.found_where, row.ended_by)
    return MissingPerson(people, found)

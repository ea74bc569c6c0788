"""Head counts and the missing-person procedure of a group, as the rules read them."""

from collections.abc import Iterable, Sequence

from sqlmodel import Session, col, select

from app.records.groups.facts import member_key
from app.records.tables.groups import MemberRow
from app.records.tables.water import CountRow, MissingRow, WaterEventRow
from app.records.water_side.water import member_names
from app.rules.head_count import Count, CountMethod, Found, MissingPerson, Round, is_mismatch
from app.rules.roll_call import BACK, IN, NEVER_ENTERED, EventWord, PersonEvent

# Independent results that make a round whole.
RESULTS = 2
WORDS: dict[str, EventWord] = {"in": IN, "back": BACK, "never-entered": NEVER_ENTERED}


def events_of(session: Session, group_id: int) -> tuple[PersonEvent, ...]:
    """Return every water event of a group, in the order in which they arrived."""
    return events_by_group(session, [group_id]).get(group_id, ())


def events_by_group(session: Session, group_ids: Iterable[int]) -> dict[int, tuple[PersonEvent, ...]]:
    """Return every water event of groups, in the order in which they arrived, by group number."""
    found = (
        select(WaterEventRow, MemberRow)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .where(col(WaterEventRow.group_id).in_(list(group_ids)))
        .order_by(col(WaterEventRow.id))
    )
    groups: dict[int, tuple[PersonEvent, ...]] = {}
    for event, member in session.exec(found):
        told = PersonEvent(member_key(member), WORDS[event.event], event.happened_at, event.by, event.id or 0)
        groups[event.group_id] = (*groups.get(event.group_id, ()), told)
    return groups


def rounds_in(session: Session, group_id: int) -> tuple[Round, ...]:
    """Return the rounds of counting a group's return."""
    return rounds_by_group(session, [group_id]).get(group_id, ())


def rounds_by_group(session: Session, group_ids: Iterable[int]) -> dict[int, tuple[Round, ...]]:
    """Return the rounds of counting the return of groups, by group number."""
    found = select(CountRow).where(col(CountRow.group_id).in_(list(group_ids)), CountRow.way == "in")
    rows: dict[int, list[CountRow]] = {}
    for row in session.exec(found.order_by(col(CountRow.id))):
        rows.setdefault(row.group_id, []).append(row)
    return {group_id: rounds_of(counts) for group_id, counts in rows.items()}


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
    """Return the procedure of a group as it stands; None when it never began."""
    return missing_by_group(session, [group_id]).get(group_id)


def missing_by_group(session: Session, group_ids: Iterable[int]) -> dict[int, MissingPerson]:
    """Return the procedure of each group in which it began, by group number."""
    found = select(MissingRow).where(col(MissingRow.group_id).in_(list(group_ids)))
    rows = list(session.exec(found.order_by(col(MissingRow.id))))
    ids = [row.member_id for row in rows if row.member_id is not None]
    members = list(session.exec(select(MemberRow).where(col(MemberRow.id).in_(ids))))
    names = member_names(session, members)
    keys = {member.id: member_key(member) for member in members}
    groups: dict[int, MissingPerson] = {}
    for row in rows:
        one = groups.get(row.group_id, MissingPerson({}, {}))
        # Nobody is named yet: that too is somebody who must be found.
        key = keys.get(row.member_id, f"unnamed-{row.id}")
        name = names.get(row.member_id or 0, "somebody not named yet")
        told = {} if row.ended_at is None else {key: Found(row.found_where, row.ended_by)}
        # Missing once more after having been found: the newest procedure decides.
        earlier = {who: found for who, found in one.found.items() if who != key}
        groups[row.group_id] = MissingPerson({**one.people, key: name}, {**earlier, **told})
    return groups

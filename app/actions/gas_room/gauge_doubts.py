"""A gauge that does not read what the fill record says: kept as a question, answered by who looked."""

from app.actions.act import Act, Clash, Difference
from app.records.gas_room.gauge_doubts import Expected, doubt
from app.records.tables.breathing import GaugeDoubtRow, GaugeLookRow
from app.records.tables.cylinders import ReadingRow
from app.records.tables.water import PressureRow
from app.rules.gauge_check import agrees_with_fill


def ask_about(
    act: Act, row: PressureRow | ReadingRow, number: str, expected: Expected | None
) -> GaugeDoubtRow | None:
    """Keep a question with a stored reading that the fill record does not explain; note it in act.notices.

    number: the cylinder's. expected: what the record says, None when it says nothing. Nothing is refused:
    the reading stands.
    """
    if expected is None:
        return None
    asked = agrees_with_fill(row.bar, expected.low_bar, expected.high_bar, number)
    if not asked.notes:
        return None
    act.notices.extend(asked.notes)
    at_water = isinstance(row, PressureRow)
    return act.add(
        GaugeDoubtRow(
            cylinder_id=row.cylinder_id,
            pressure_id=row.id if at_water else None,
            reading_id=None if at_water else row.id,
            bar=row.bar,
            low_bar=expected.low_bar,
            high_bar=expected.high_bar,
            at=act.now,
            by=act.actor.name,
        )
    )


def look_at_gauge(act: Act, doubt_id: int, found: str) -> GaugeLookRow:
    """Write what was found at a doubtful gauge; raises NotHere, or Clash when somebody wrote it meanwhile."""
    asked = doubt(act.session, doubt_id)
    if asked.looks:
        last = asked.looks[-1]
        raise Clash([Difference("What was found", found, last.found)], last.by, last.at)
    row = act.add(
        GaugeLookRow(
            doubt_id=doubt_id, found=found, at=act.now, by_id=act.actor.person_id or 0, by=act.actor.name
        )
    )
    act.about, act.reason = ("cylinder", str(asked.row.cylinder_id)), found
    return row

"""Looking at the water of a slot: readings and the grade, stated by a named person."""

from dataclasses import dataclass

from app.actions.act import Act
from app.records.tables.parties import ConditionsRow, SlotRow


@dataclass(frozen=True)
class Look:
    """What somebody found: metres, m/s, °C. grade: a word of `Grade`.

    sea, wind: words of `SEA_WORDS` and `WIND_WORDS`.
    """

    grade: str
    visibility_m: float | None
    current_m_s: float | None
    sea: str
    water_temp_c: float | None
    wind: str = ""


def look_at_water(act: Act, slot_id: int, look: Look) -> ConditionsRow:
    """Store a look at the water. The newest of a slot counts, earlier ones stay; raises NotHere."""
    act.get(SlotRow, slot_id)
    row = act.add(
        ConditionsRow(
            slot_id=slot_id,
            grade=look.grade,
            visibility_m=look.visibility_m,
            current_m_s=look.current_m_s,
            sea=look.sea,
            wind=look.wind,
            water_temp_c=look.water_temp_c,
            seen_by_id=act.actor.person_id or 0,
            seen_by=act.actor.name,
            at=act.now,
        )
    )
    act.about = ("conditions", str(row.id))
    return row

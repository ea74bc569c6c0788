"""Looking at the emergency kit before the first entry of the day, and writing down emergency drills."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from app.actions.act import Act
from app.actions.keep.pictures import keep_picture
from app.records.setup.shop import the_shop
from app.records.tables.days import DrillRow, EmergencyCheckRow, EmergencyOxygenRow
from app.records.tables.pictures import PictureRow
from app.rules.emergency_kit import KEYS, OXYGEN, oxygen_litres


@dataclass(frozen=True)
class KitAnswers:
    """What somebody found: items there and working, gauge bar and litres of the oxygen cylinder.

    more_oxygen: bar and litres of every further oxygen cylinder.
    """

    present: Collection[str]
    oxygen_bar: float
    oxygen_cylinder_litres: float
    note: str = ""
    more_oxygen: tuple[tuple[float, float], ...] = ()

    @property
    def oxygen(self) -> tuple[tuple[float, float], ...]:
        """Bar and litres of every oxygen cylinder, the first one first."""
        return ((self.oxygen_bar, self.oxygen_cylinder_litres), *self.more_oxygen)


def check_emergency_kit(act: Act, answers: KitAnswers) -> EmergencyCheckRow:
    """Store a check of today's kit. What is missing is stored as well: the gate at the water asks for it.

    An oxygen set that is missing or does not work counts as no oxygen, whatever its gauge shows. Several
    cylinders add up.
    """
    works = OXYGEN.key in answers.present
    row = act.add(
        EmergencyCheckRow(
            day=the_shop(act.session).day_of(act.now),
            present=" ".join(key for key in KEYS if key in answers.present),
            oxygen_bar=answers.oxygen_bar,
            oxygen_cylinder_litres=answers.oxygen_cylinder_litres,
            oxygen_litres=sum(oxygen_litres(*one) for one in answers.oxygen) if works else 0.0,
            note=answers.note,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )
    for bar, litres in answers.oxygen if works else ():
        act.add(
            EmergencyOxygenRow(
                check_id=row.id or 0,
                bar=bar,
                cylinder_litres=litres,
                oxygen_litres=oxygen_litres(bar, litres),
            )
        )
    act.about = ("emergency_check", str(row.id))
    return row


def picture_emergency_kit(act: Act, check_id: int, data: bytes | None) -> PictureRow:
    """Keep a picture with a check of the kit; raises Invalid for what is no picture, NotHere."""
    act.get(EmergencyCheckRow, check_id)
    row = keep_picture(act, "emergency_check", check_id, data)
    act.about = ("emergency_check", str(check_id))
    return row


def write_drill(act: Act, held_on: date, what: str) -> DrillRow:
    """Write down an emergency drill that was held."""
    row = act.add(DrillRow(held_on=held_on, what=what, by=act.actor.name, at=act.now))
    act.about = ("drill", str(row.id))
    return row

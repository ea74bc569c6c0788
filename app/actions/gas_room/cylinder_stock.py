"""Which cylinders the shop has: adding one, changing what is stamped on it, retiring it."""

from typing import Any

from app.actions.act import Act, Invalid
from app.actions.gas_room.cylinders import must_be_free
from app.actions.keep.pictures import keep_picture
from app.records.gas_room import cylinders
from app.records.tables.cylinders import CylinderRow
from app.records.tables.pictures import PictureRow

LABELS = {
    "number": "Number",
    "litres": "Size",
    "working_pressure_bar": "Working pressure",
    "test_pressure_bar": "Test pressure",
    "material": "Material",
    "valve": "Valve",
    "inspection": "Inspection rules",
    "owner": "Owner",
    "last_visual": "Last looked inside",
    "last_pressure_test": "Last pressure test",
    "visual_interval_months": "Months between looks inside",
    "pressure_interval_months": "Months between pressure tests",
    "retired": "Retired",
}


def add_cylinder(act: Act, values: dict[str, Any]) -> CylinderRow:
    """Add a cylinder as stamped; raises Invalid when its number is taken."""
    _free_number(act, values["number"])
    row = act.add(CylinderRow(**values))
    act.about = ("cylinder", str(row.id))
    return row


def change_cylinder(act: Act, cylinder_id: int, version: int, values: dict[str, Any]) -> CylinderRow:
    """Change what is stamped on a cylinder; raises Clash, and Invalid when the new number is taken."""
    row = act.get(CylinderRow, cylinder_id)
    if values["number"] != row.number:
        _free_number(act, values["number"])
    act.edit(row, version, values, LABELS)
    act.about = ("cylinder", str(cylinder_id))
    return row


def set_retired(act: Act, cylinder_id: int, version: int, *, retired: bool) -> CylinderRow:
    """Take a cylinder out of the shop for good, or back into it; its history stays.

    Refused while somebody has it, and while it is away at a test station.
    """
    row = act.get(CylinderRow, cylinder_id)
    if not row.retired:
        act.allow(must_be_free(cylinders.facts_of(act.session, cylinder_id)))
    act.edit(row, version, {"retired": retired}, LABELS)
    act.about = ("cylinder", str(cylinder_id))
    return row


def picture_cylinder(act: Act, cylinder_id: int, data: bytes | None) -> PictureRow:
    """Keep a picture of a cylinder, retired or not; raises Invalid for what is no picture, NotHere."""
    act.get(CylinderRow, cylinder_id)
    row = keep_picture(act, "cylinder", cylinder_id, data)
    act.about = ("cylinder", str(cylinder_id))
    return row


def _free_number(act: Act, number: str) -> None:
    if (other := cylinders.cylinder_numbered(act.session, number)) is not None:
        where = "a retired cylinder" if other.retired else "another cylinder"
        raise Invalid({"number": f"{number} is the number of {where}. Choose another number."})

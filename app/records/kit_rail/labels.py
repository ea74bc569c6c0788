"""What can bear a label: cylinders and kit, by the number that is painted on them."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session, select

from app.records.gas_room import cylinders
from app.records.kit_rail import kit
from app.records.setup.shop import shop_row
from app.records.store.problems import NotHere
from app.records.tables.cylinders import CylinderRow
from app.records.tables.kit import KitItemRow

CYLINDER, KIT_ITEM = "cylinder", "kit_item"
KINDS = (CYLINDER, KIT_ITEM)


@dataclass(frozen=True)
class Labelled:
    """One thing that can bear a label. what: a few words that tell it from its neighbours."""

    id: int
    number: str
    what: str


def labelled(session: Session, kind: str, ids: Iterable[int] | None = None) -> list[Labelled]:
    """Return what can bear a label, cylinders or kit, in the order of the shop; raises NotHere."""
    wanted = None if ids is None else set(ids)
    if kind == CYLINDER:
        found = [
            Labelled(row.id or 0, row.number, f"{row.litres:g} L {row.material}")
            for row in cylinders.in_the_shop(session)
        ]
    elif kind == KIT_ITEM:
        found = [
            Labelled(
                view.row.id or 0, view.row.number, f"{view.row.kind.capitalize()} {view.row.size}".strip()
            )
            for view in kit.items(session)
        ]
    else:
        raise NotHere(f"no labels for {kind}")
    return [one for one in found if wanted is None or one.id in wanted]


def cylinder_by_number(session: Session, number: str) -> int:
    """Return which cylinder bears a number, as painted or in other letters; raises NotHere."""
    rows = [(row.number, row.id or 0) for row in session.exec(select(CylinderRow))]
    return _by_number(rows, number)


def kit_item_by_number(session: Session, number: str) -> int:
    """Return which item of kit bears a number, as painted or in other letters; raises NotHere."""
    rows = [(row.number, row.id or 0) for row in session.exec(select(KitItemRow))]
    return _by_number(rows, number)


def label_address(session: Session) -> tuple[str, int]:
    """Return where the codes on the shop's labels lead ("" while nobody said), with the shop's version."""
    row = shop_row(session)
    return ("", 0) if row is None else (row.label_address, row.version)


def _by_number(rows: list[tuple[str, int]], number: str) -> int:
    for same in (str, str.casefold):
        for painted, key in rows:
            if same(painted) == same(number):
                return key
    raise NotHere("nothing bears this number")

"""Which tables make an export of days, of one group, of one guest."""

from app.records import export_dives as dives
from app.records import export_shop as shop
from app.records.export_table import DAYS, GROUP, GUEST, ExportTable, Maker, Scope

OF: dict[str, tuple[Maker, ...]] = {
    DAYS: (
        shop.guests, dives.groups, dives.divers, dives.roll_calls, dives.counts, dives.missing,
        dives.briefings, dives.skills, dives.conditions, shop.kit, shop.lead, shop.fills, shop.incidents,
        shop.emergency, shop.drills, shop.days,
    ),
    GROUP: (
        dives.groups, shop.guests, dives.divers, dives.roll_calls, dives.counts, dives.missing,
        dives.briefings, dives.skills, dives.conditions, shop.kit, shop.lead, shop.incidents,
    ),
    # A guest's own: nothing of anybody else, no incident (it may tell of others).
    GUEST: (shop.guests, dives.divers, dives.skills, shop.kit, shop.lead),
}  # fmt: skip


def export_of(scope: Scope) -> list[ExportTable]:
    """Return the tables of a scope."""
    return [make(scope) for make in OF[scope.kind]]

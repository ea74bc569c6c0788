"""Which tables make an export of days, of one group, of one guest."""

from app.records.keep import export_dives as dives
from app.records.keep import export_gas as gas
from app.records.keep import export_incidents as incidents
from app.records.keep import export_shop as shop
from app.records.keep import export_water as water
from app.records.keep.export_table import DAYS, GROUP, GUEST, ExportTable, Maker, Scope

OF: dict[str, tuple[Maker, ...]] = {
    DAYS: (
        shop.shop, shop.team, shop.guests, dives.groups, dives.plans, dives.divers, water.roll_calls,
        water.counts, water.missing, water.briefings, water.skills, water.conditions, shop.kit,
        shop.kit_faults, shop.lead, gas.fills, gas.cylinders, gas.cylinder_tests, gas.set_aside,
        gas.compressor, incidents.incidents, incidents.steps, incidents.follow_ups, shop.emergency,
        shop.drills, shop.days,
    ),
    GROUP: (
        shop.shop, shop.team, dives.groups, dives.plans, shop.guests, dives.divers, water.roll_calls,
        water.counts, water.missing, water.briefings, water.skills, water.conditions, shop.kit, shop.lead,
        incidents.incidents, incidents.steps, incidents.follow_ups, shop.emergency,
    ),
    # A guest's own: nothing of anybody else, no incident (it may tell of others).
    GUEST: (shop.guests, dives.divers, water.skills, shop.kit, shop.lead),
}  # fmt: skip


def export_of(scope: Scope) -> list[ExportTable]:
    """Return the tables of a scope."""
    return [make(scope) for make in OF[scope.kind]]

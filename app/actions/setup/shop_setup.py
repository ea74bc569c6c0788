"""The shop's own settings: what it is called, its numbers, its limits, its sites."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from app.actions.act import Act, Invalid
from app.planning.water import STANDARD_SURFACE_BAR, surface_bar_at
from app.planning.water_density import FRESH, SEA, density_kg_m3
from app.records.setup import shop
from app.records.store.problems import NotHere
from app.records.tables.house import LimitRow, SiteRow
from app.rules import limits, presets, resolve

SHOP_LABELS = {
    "name": "Shop's name",
    "timezone": "Time zone",
    "preset": "Country",
    "open_wifi_accepted_by": "Open Wi-Fi accepted by",
    "currency": "Currency",
    "price_guest_cents": "Price for a guest",
    "phone_ambulance": "Ambulance",
    "phone_shop": "Shop's phone",
    "phone_dive_doctor": "Dive doctor",
    "surface_pressure_bar": "Air pressure at the shop",
}
SITE_LABELS = {
    "name": "Site",
    "confined": "Pool-like",
    "water": "Water",
    "salinity": "Salinity",
    "density_kg_m3": "Density",
    "altitude_m": "Height above the sea",
    "surface_pressure_bar": "Surface pressure",
    "usual_temp_c": "Usual water temperature",
    "depth_cap_m": "Deepest plan at this site",
    "active": "In use",
}


# How a site's density is known; a plain sea or lake is worked out from its salinity as well.
WATERS = ("salt", "fresh", "salinity", "measured")


@dataclass(frozen=True)
class SiteWater:
    """What is known of a site's water and the air above it. One of WATERS; Celsius, kg/m3, metres, bar.

    salinity counts for "salinity", measured_kg_m3 for "measured". Without a barometer the altitude counts.
    """

    kind: str
    usual_temp_c: float
    salinity: float | None
    measured_kg_m3: float | None
    altitude_m: float | None
    barometer_bar: float | None

    def as_columns(self) -> dict[str, Any]:
        """Return the site's columns; raises Invalid for what is missing or said twice."""
        wrong = dict(self._wrong())
        if wrong:
            raise Invalid(wrong)
        salinity = {"salt": SEA, "fresh": FRESH}.get(self.kind, self.salinity)
        density = self.measured_kg_m3 if salinity is None else density_kg_m3(salinity, self.usual_temp_c)
        surface = self.barometer_bar
        if surface is None:
            surface = STANDARD_SURFACE_BAR if not self.altitude_m else surface_bar_at(self.altitude_m)
        return {
            "water": self.kind,
            "usual_temp_c": self.usual_temp_c,
            "salinity": salinity,
            "density_kg_m3": density,
            "altitude_m": self.altitude_m,
            "surface_pressure_bar": surface,
        }

    def _wrong(self) -> Iterable[tuple[str, str]]:
        for field, kind, value, what in (
            ("salinity", "salinity", self.salinity, "the salinity"),
            ("measured_kg_m3", "measured", self.measured_kg_m3, "the density"),
        ):
            if self.kind == kind and value is None:
                yield field, f"Enter {what}."
            elif self.kind != kind and value is not None:
                yield field, f"Empty this box, or choose above that {what} is known."
        if self.altitude_m is not None and self.barometer_bar is not None:
            yield "barometer_hpa", "Enter the height or the barometer, and leave the other one empty."


def change_shop(act: Act, version: int, values: dict[str, str | float]) -> None:
    """Change the shop's own row."""
    row = shop.shop_row(act.session)
    if row is None:
        raise NotHere("the shop is not set up")
    act.edit(row, version, values, SHOP_LABELS)


def choose_country(act: Act, version: int, key: str) -> None:
    """Choose the country preset; raises NotHere for one that is not known, Clash for a stale version."""
    row = shop.shop_row(act.session)
    if row is None or key not in presets.ALL:
        raise NotHere(f"country {key}")
    act.about = ("shop", str(row.id))
    act.edit(row, version, {"preset": key}, SHOP_LABELS)


def accept_open_wifi(act: Act, version: int) -> None:
    """Note that the manager accepts that health answers travel open on the shop's Wi-Fi, by name."""
    row = shop.shop_row(act.session)
    if row is None:
        raise NotHere("the shop is not set up")
    act.about = ("shop", str(row.id))
    act.edit(row, version, {"open_wifi_accepted_by": act.actor.name}, SHOP_LABELS)


def set_limit(act: Act, key: str, value: float, reason: str) -> None:
    """Make a value the shop's own for a limit; the rules refuse what is too loose (raises Refused)."""
    limit = limits.ALL.get(key)
    if limit is None or limit.direction == "set":
        raise NotHere(f"limit {key}")
    said: limits.Value = bool(value) if limit.direction == "flag" else value
    role = "manager" if "manager" in act.actor.roles else ""
    preset = shop.the_shop(act.session).preset
    act.allow(resolve.may_set(key, said, role, preset, shop.own_limits(act.session).get(key)))
    act.reason = reason
    act.add(LimitRow(limit_key=key, value=float(value), set_at=act.now, set_by=act.actor.name, reason=reason))


def save_site(
    act: Act, site_id: int | None, version: int, values: dict[str, Any], water: SiteWater
) -> SiteRow:
    """Add a site (no number yet) or change one; raises Invalid for a name taken or water not known."""
    values = values | water.as_columns()
    same = [site for site in shop.sites(act.session) if site.name == values["name"] and site.id != site_id]
    if same:
        raise Invalid({"name": "There is a site with this name already."})
    if site_id is None:
        return act.add(SiteRow(**values))
    site = act.get(SiteRow, site_id)
    act.edit(site, version, values, SITE_LABELS)
    return site

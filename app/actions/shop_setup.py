"""The shop's own settings: what it is called, its numbers, its limits, its sites."""

from typing import Any

from app.actions.act import Act, Invalid
from app.records import shop
from app.records.problems import NotHere
from app.records.tables.house import LimitRow, SiteRow
from app.rules import limits, resolve

SHOP_LABELS = {
    "name": "Shop's name",
    "timezone": "Time zone",
    "preset": "Country preset",
    "currency": "Currency",
    "price_guest_cents": "Price for a guest",
    "phone_ambulance": "Ambulance",
    "phone_shop": "Shop's phone",
    "phone_dive_doctor": "Dive doctor",
}
SITE_LABELS = {
    "name": "Site",
    "confined": "Pool-like",
    "water": "Water",
    "density_kg_m3": "Density",
    "surface_pressure_bar": "Surface pressure",
    "usual_temp_c": "Usual water temperature",
    "depth_cap_m": "Deepest plan at this site",
    "active": "In use",
}


def change_shop(act: Act, version: int, values: dict[str, str | int]) -> None:
    """Change the shop's own row."""
    row = shop.shop_row(act.session)
    if row is None:
        raise NotHere("the shop is not set up")
    act.edit(row, version, values, SHOP_LABELS)


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


def save_site(act: Act, site_id: int | None, version: int, values: dict[str, Any]) -> SiteRow:
    """Add a site (no number yet) or change one; raises Invalid for a name that is taken."""
    same = [site for site in shop.sites(act.session) if site.name == values["name"] and site.id != site_id]
    if same:
        raise Invalid({"name": "There is a site with this name already."})
    if site_id is None:
        return act.add(SiteRow(**values))
    site = act.get(SiteRow, site_id)
    act.edit(site, version, values, SITE_LABELS)
    return site

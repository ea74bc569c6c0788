"""Shop set-up: the shop, its limits, its sites. People and devices have their own pages."""

from dataclasses import dataclass
from typing import Any
from zoneinfo import available_timezones

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.setup import shop_setup, team
from app.actions.setup.shop_setup import WATERS, SiteWater
from app.planning.water import HIGHEST_M, LOWEST_M, pressure_at
from app.planning.water_density import COLDEST_C, SALTIEST, WARMEST_C
from app.records.setup import shop as shop_records
from app.records.setup.setting_up import history_of
from app.records.store.problems import NotHere
from app.records.tables.house import SiteRow
from app.rules import limits, resolve
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm

router = APIRouter()
# Half a day: nobody dives further from help.
LONGEST_WAY_MIN = 720
# The depth for which a site without a ceiling of its own says the pressure.
EXAMPLE_M = 12.0
# Shops stand between the highest lakes that are dived in and a deep high at sea level.
LEAST_AIR_BAR, MOST_AIR_BAR = 0.5, 1.1


@dataclass(frozen=True)
class SiteView:
    """A site, and how its water and air are known: as the form asks for it, and in words."""

    row: SiteRow

    @property
    def kind(self) -> str:
        """Which of the form's choices holds; a density without a salinity behind it was measured."""
        return "measured" if self.row.salinity is None else self.row.water

    @property
    def barometer_hpa(self) -> float | None:
        """What was read off a barometer, unless the height says it."""
        return None if self.row.altitude_m is not None else round(self.row.surface_pressure_bar * 1000, 2)

    @property
    def figures(self) -> tuple[tuple[str, str], ...]:
        """What the plans at this site reckon with, and where each figure comes from."""
        row = self.row
        water = {
            "salt": f"open sea at {row.usual_temp_c:g} °C",
            "fresh": f"fresh water at {row.usual_temp_c:g} °C",
            "salinity": f"{row.salinity or 0:g} g/kg of salt at {row.usual_temp_c:g} °C",
            "measured": "as entered",
        }[self.kind]
        air = "as entered"
        if row.altitude_m is not None:
            air = f"at {row.altitude_m:g} m" if row.altitude_m else "at sea level"
        deepest = row.depth_cap_m or EXAMPLE_M
        below = pressure_at(deepest, row.density_kg_m3, row.surface_pressure_bar)
        return (
            ("Density", f"{row.density_kg_m3:.1f} kg/m³, {water}"),
            ("Air at the surface", f"{row.surface_pressure_bar:.5f} bar, {air}"),
            (f"Pressure at {deepest:g} m", f"{below:.3f} bar"),
        )


@router.get("/setup/shop", name="shop_page")
def shop_page(front: Desk) -> Response:
    """Show the shop's own settings."""
    return _shop_page(front)


@router.post("/setup/shop", name="change_shop")
def change_shop(front: Desk, posted: PostedForm) -> Response:
    """Change the shop's own settings."""

    def change(act: Act) -> None:
        fields = posted.fields()
        values: dict[str, str | float] = {
            "name": fields.text("name", "the shop's name"),
            "timezone": fields.choice("timezone", "a time zone such as Europe/Lisbon", available_timezones()),
            "currency": fields.text("currency", "the currency, three letters", most=3),
            "price_guest_cents": round(
                fields.required_number("price", "Price for a guest", 0, 10_000, "") * 100
            ),
        }
        values["surface_pressure_bar"] = fields.required_number(
            "surface_pressure_bar", "Air pressure at the shop", LEAST_AIR_BAR, MOST_AIR_BAR, "bar"
        )
        for name in ("phone_ambulance", "phone_shop", "phone_dive_doctor"):
            values[name] = fields.text(name, "a phone number", most=40, needed=False)
        confirm(front, act, fields)
        fields.done()
        shop_setup.change_shop(act, posted.edits, values)

    return front.do(
        posted, change, then=lambda _: "/setup/shop", again=lambda problem: _shop_page(front, problem)
    )


@router.get("/setup/limits", name="limits_page")
def limits_page(front: Desk) -> Response:
    """Show every limit and rule: value in force, who set it, source."""
    return _limits_page(front)


@router.get("/setup/limits/{key}", name="limit_page")
def limit_page(front: Desk, key: str) -> Response:
    """Show one limit with a form to set it."""
    return _limit_page(front, key)


@router.post("/setup/limits/{key}", name="set_limit")
def set_limit(front: Desk, posted: PostedForm, key: str) -> Response:
    """Make a value the shop's own."""
    limit = _settable(key)

    def change(act: Act) -> None:
        fields = posted.fields()
        if limit.direction == "flag":
            value = float(fields.choice("value", "yes or no", ("yes", "no")) == "yes")
        else:
            value = fields.required_number("value", limit.what, -1000, 100_000, limit.unit)
        reason = fields.text("reason", "why it changes", most=200)
        confirm(front, act, fields)
        fields.done()
        shop_setup.set_limit(act, key, value, reason)

    return front.do(
        posted,
        change,
        then=lambda _: f"/setup/limits#{key}",
        again=lambda problem: _limit_page(front, key, problem),
    )


@router.get("/setup/sites", name="sites_page")
def sites_page(front: Desk) -> Response:
    """Show the sites."""
    return _sites_page(front)


@router.post("/setup/sites", name="add_site")
def add_site(front: Desk, posted: PostedForm) -> Response:
    """Add a site."""
    return _save_site(front, posted, None)


@router.post("/setup/sites/{site_id}", name="edit_site")
def edit_site(front: Desk, posted: PostedForm, site_id: int) -> Response:
    """Change a site."""
    if front.session.get(SiteRow, site_id) is None:
        raise NotHere(f"site {site_id}")
    return _save_site(front, posted, site_id)


def confirm(front: Front, act: Act, fields: Fields) -> None:
    """Ask for the passphrase again when it was not typed in the last ten minutes."""
    typed = fields.values.get("confirm", "")
    fields.text("confirm", "your passphrase", most=128, needed=False)
    team.confirm(act, front.visitor.visit_id, front.visitor.confirmed_at, typed)


def asks_again(front: Front) -> bool:
    """Return whether a form needs the passphrase field."""
    return not team.freshly_confirmed(front.visitor.confirmed_at, front.now)


def _save_site(front: Front, posted: Posted, site_id: int | None) -> Response:
    def save(act: Act) -> SiteRow:
        fields = posted.fields()
        values: dict[str, Any] = {
            "name": fields.text("name", "the site's name"),
            "confined": fields.tick("confined"),
            "depth_cap_m": fields.number("depth_cap_m", "Deepest plan", 0.5, 12, "m", needed=False),
            "help_travel_minutes": fields.number(
                "help_travel_minutes", "Minutes until help is here", 1, LONGEST_WAY_MIN, "min", needed=False
            ),
            "active": not fields.tick("retire"),
        }
        barometer = fields.number("barometer_hpa", "Barometer", 600, 1100, "hPa", needed=False)
        water = SiteWater(
            kind=fields.choice("water", "what is known of the water", WATERS),
            usual_temp_c=fields.required_number(
                "usual_temp_c", "Usual water temperature", COLDEST_C, WARMEST_C, "°C"
            ),
            salinity=fields.number("salinity", "Salinity", 0, SALTIEST, "g/kg", needed=False),
            measured_kg_m3=fields.number("measured_kg_m3", "Density", 990, 1050, "kg/m³", needed=False),
            altitude_m=fields.number("altitude_m", "Height", LOWEST_M, HIGHEST_M, "m", needed=False),
            barometer_bar=None if barometer is None else barometer / 1000,
        )
        fields.done()
        return shop_setup.save_site(act, site_id, posted.edits, values, water)

    return front.do(
        posted,
        save,
        then=lambda _: "/setup/sites",
        again=lambda problem: _sites_page(front, problem, site_id),
    )


def _shop_page(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "setup/shop.html", "The shop", problem=problem, row=shop_records.shop_row(front.session),
        asks_again=asks_again(front),
    )  # fmt: skip


def _settable(key: str) -> limits.Limit:
    """Return a limit that the shop may set; a required set of skills is not a figure. Raises NotHere."""
    limit = limits.ALL.get(key)
    if limit is None or limit.direction == "set" or not limit.may_be_tightened:
        raise NotHere(f"limit {key}")
    return limit


def _limits_page(front: Front) -> Response:
    now = shop_records.limits_now(front.session)
    rows = [(limit, now[limit], resolve.needed(now[limit])) for limit in limits.ALL.values()]
    return front.page(
        "setup/limits.html",
        "Limits",
        figures=[row for row in rows if row[0].direction != "flag" or row[0].may_be_tightened],
        rules=[row for row in rows if row[0].direction == "flag" and not row[0].may_be_tightened],
        history=shop_records.limit_history(front.session),
    )


def _limit_page(front: Front, key: str, problem: ProblemView | None = None) -> Response:
    limit = _settable(key)
    now = shop_records.limits_now(front.session)[limit]
    return front.page(
        "setup/limit.html",
        limit.what,
        problem=problem,
        limit=limit,
        now_in_force=now,
        said=resolve.needed(now),
        loosest=resolve.show(limit.outermost),
        asks_again=asks_again(front),
        history=history_of(front.session, key),
    )


def _sites_page(front: Front, problem: ProblemView | None = None, sent: int | None = None) -> Response:
    return front.page(
        "setup/sites.html",
        "Sites",
        problem=problem,
        sites=[SiteView(site) for site in shop_records.sites(front.session)],
        sent=sent,
    )

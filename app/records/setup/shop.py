"""The shop itself: its row, its sites, its own limits, and which limits are in force."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.records.tables.days import DayRow
from app.records.tables.house import LimitRow, ShopRow, SiteRow
from app.rules import limits, presets, resolve
from app.rules.limits import Value


@dataclass(frozen=True)
class Shop:
    """What pages and actions need to know of the shop."""

    name: str
    timezone: str
    demo: bool
    preset: presets.Preset
    currency: str
    price_guest_cents: int
    phone_ambulance: str
    phone_shop: str
    phone_dive_doctor: str
    version: int

    @property
    def zone(self) -> ZoneInfo:
        """The shop's own time zone."""
        return ZoneInfo(self.timezone)

    def day_of(self, instant: datetime) -> date:
        """The shop's date at an instant."""
        return instant.astimezone(self.zone).date()


NO_SHOP = Shop("Daybuoy", "UTC", False, presets.GENERAL, "EUR", 0, "", "", "", 0)


def shop_row(session: Session) -> ShopRow | None:
    """Return the shop's row; None before set-up."""
    return session.exec(select(ShopRow)).first()


def the_shop(session: Session) -> Shop:
    """Return the shop; before set-up a nameless one."""
    row = shop_row(session)
    if row is None:
        return NO_SHOP
    return Shop(
        row.name, row.timezone, row.demo, presets.ALL.get(row.preset, presets.GENERAL), row.currency,
        row.price_guest_cents, row.phone_ambulance, row.phone_shop, row.phone_dive_doctor, row.version,
    )  # fmt: skip


def own_limits(session: Session) -> dict[str, Value]:
    """Return the newest value that the shop set for each limit."""
    values: dict[str, Value] = {}
    for row in session.exec(select(LimitRow).order_by(col(LimitRow.id))):
        if row.limit_key in limits.ALL:
            flag = limits.ALL[row.limit_key].direction == "flag"
            values[row.limit_key] = bool(row.value) if flag else row.value
    return values


def limit_history(session: Session) -> list[LimitRow]:
    """Return every value the shop ever set, newest first."""
    return list(session.exec(select(LimitRow).order_by(col(LimitRow.id).desc())))


def voices(session: Session) -> tuple[resolve.Source, ...]:
    """Return the sources that always speak: the country preset and the shop."""
    return (resolve.preset_source(the_shop(session).preset), resolve.shop_source(own_limits(session)))


def limits_now(session: Session, *more: resolve.Source) -> resolve.Limits:
    """Return every limit in force: preset, shop, and the sources given (site, conditions, ages, guide)."""
    if more:
        return resolve.limits_for((*voices(session), *more))
    return _general(the_shop(session).preset.key, tuple(sorted(own_limits(session).items())))


@lru_cache(maxsize=8)
def _general(preset: str, own: tuple[tuple[str, Value], ...]) -> resolve.Limits:
    """Resolve the limits that bind everywhere once for each setting of the shop: a page asks many times."""
    return resolve.limits_for((resolve.preset_source(presets.ALL[preset]), resolve.shop_source(dict(own))))


def site_source(site: SiteRow) -> resolve.Source | None:
    """Return the site's own voice; None when it sets nothing."""
    key = limits.DEPTH_MAX_CONFINED if site.confined else limits.DEPTH_MAX_OPEN_WATER
    told = {key.key: site.depth_cap_m, limits.HELP_TRAVEL_MINUTES.key: site.help_travel_minutes}
    values = {name: value for name, value in told.items() if value is not None}
    return resolve.Source(resolve.Kind.SITE, f"site {site.name}", values) if values else None


def sites(session: Session) -> list[SiteRow]:
    """Return the sites in use, by name."""
    return list(session.exec(select(SiteRow).where(col(SiteRow.active)).order_by(SiteRow.name)))


def closed_day(session: Session, day: date) -> DayRow | None:
    """Return the manager's sign-off of a day, if there is one."""
    return session.exec(select(DayRow).where(DayRow.day == day)).first()

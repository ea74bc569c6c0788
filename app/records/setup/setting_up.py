"""How far the shop is set up, read from its records."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, func, select

from app.records.backups.recovery import read_sheets
from app.records.gas_room.cylinders import in_the_shop
from app.records.guest_side.languages import complete_languages, own_name
from app.records.setup import visits
from app.records.setup.shop import own_limits, shop_row, sites
from app.records.store.chores import last_runs
from app.records.store.house import House
from app.records.tables.house import LimitRow, ShopRow, TrailRow
from app.records.tables.kit import KitItemRow
from app.records.tables.people import PersonRow
from app.records.water_side import emergency_kit
from app.rules.presets import GENERAL
from app.rules.setting_up import SetupFacts

CHOOSE_COUNTRY = "choose_country"
BACKUP = "backup"
# What the shop's numbers are called, by column.
NUMBERS = {"phone_ambulance": "ambulance", "phone_shop": "the shop", "phone_dive_doctor": "dive doctor"}


@dataclass(frozen=True)
class Chosen:
    """Who chose the country, and when."""

    who: str
    at: datetime


def setup_facts(session: Session, house: House, today: date) -> SetupFacts:
    """Return how far the shop is set up."""
    row = shop_row(session) or ShopRow(name="", timezone="UTC")
    team = visits.team(session)
    run = last_runs(session).get(BACKUP)
    return SetupFacts(
        priced=row.price_guest_cents > 0,
        country_chosen=row.preset != GENERAL.key or country_chosen(session) is not None,
        roles=frozenset().union(*(person.role_set() for person in team)),
        may_lead_open=any(_may_lead_open(person, today) for person in team),
        devices=sum(device.ended_at is None for device in visits.devices(session)),
        sites=len(sites(session)),
        numbers_missing=tuple(name for column, name in NUMBERS.items() if not getattr(row, column)),
        kit_checked=emergency_kit.newest_check(session) is not None,
        own_limits=len(own_limits(session)),
        sheet_printed=_sheet_printed(house),
        backed_up=run is not None and run.good is not None,
        languages=tuple(own_name(code) for code in complete_languages()),
        cylinders=len(in_the_shop(session)),
        kit=session.exec(select(func.count(col(KitItemRow.id)))).one(),
        encrypted=house.settings.https,
        wifi_accepted=row.open_wifi_accepted_by,
    )


def country_chosen(session: Session) -> Chosen | None:
    """Return who chose the country last; None while it is the one that every shop begins with."""
    asked = select(TrailRow).where(TrailRow.act == CHOOSE_COUNTRY).order_by(col(TrailRow.id).desc())
    entry = session.exec(asked.limit(1)).first()
    return None if entry is None else Chosen(entry.who, entry.at)


def history_of(session: Session, key: str) -> list[LimitRow]:
    """Return every value that the shop set for one limit, newest first."""
    asked = select(LimitRow).where(LimitRow.limit_key == key).order_by(col(LimitRow.id).desc())
    return list(session.exec(asked))


def _may_lead_open(person: PersonRow, today: date) -> bool:
    papers = (person.credential_until, person.first_aid_until, person.diver_medical_until)
    return (
        "instructor" in person.role_set()
        and person.grade == "level 2"
        and all(until is not None and until >= today for until in papers)
    )


def _sheet_printed(house: House) -> bool:
    """Return whether the sheet that backups are made under is printed; an unreadable file is not."""
    try:
        sheets = read_sheets(house.settings.data)
    except ValueError:
        return False
    return bool(sheets) and bool(sheets[-1].printed_at)

"""The day's look at the emergency kit: the newest of the day counts, earlier ones stay to be read."""

from dataclasses import dataclass
from datetime import date, datetime
from math import ceil

from sqlmodel import Session, col, select

from app.records.setup.shop import limits_now, site_source, the_shop
from app.records.tables.days import DrillRow, EmergencyCheckRow, EmergencyOxygenRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import SlotRow
from app.rules import limits as L
from app.rules.emergency_gate import EmergencyKitFacts, oxygen_needed
from app.rules.emergency_kit import KitItem, missing, oxygen_minutes
from app.rules.resolve import InForce, Limits


@dataclass(frozen=True)
class KitCheck:
    """One check as it was answered."""

    row: EmergencyCheckRow
    present: frozenset[str]
    cylinders: tuple[EmergencyOxygenRow, ...] = ()

    @property
    def missing(self) -> tuple[KitItem, ...]:
        """The items that were not there and working."""
        return missing(self.present)

    @property
    def at(self) -> datetime:
        """When it was stored."""
        return self.row.at


def checks_of(session: Session, day: date) -> list[KitCheck]:
    """Return the checks of a day, newest first."""
    found = (
        select(EmergencyCheckRow)
        .where(EmergencyCheckRow.day == day)
        .order_by(col(EmergencyCheckRow.id).desc())
    )
    return _views(session, list(session.exec(found)))


def check_of(session: Session, day: date) -> KitCheck | None:
    """Return the check that counts for a day; None while nobody looked."""
    found = checks_of(session, day)
    return found[0] if found else None


def newest_check(session: Session) -> KitCheck | None:
    """Return the newest check of any day: what is known of the oxygen cylinder's size."""
    row = session.exec(select(EmergencyCheckRow).order_by(col(EmergencyCheckRow.id).desc()).limit(1)).first()
    return None if row is None else _views(session, [row])[0]


def last_drill(session: Session) -> DrillRow | None:
    """Return the latest emergency drill on file."""
    found = select(DrillRow).order_by(col(DrillRow.held_on).desc(), col(DrillRow.id).desc()).limit(1)
    return session.exec(found).first()


def kit_facts(session: Session, day: date) -> EmergencyKitFacts:
    """Return what the gate at the water needs: the kit as the newest check of the day found it."""
    shop = the_shop(session)
    contacts = bool(shop.phone_ambulance and shop.phone_shop and shop.phone_dive_doctor)
    drill = last_drill(session)
    drilled = None if drill is None else drill.held_on
    check = check_of(session, day)
    if check is None:
        return EmergencyKitFacts(None, None, None, None, contacts, drilled)
    row = check.row
    return EmergencyKitFacts(row.day, row.by, check.present, row.oxygen_litres, contacts, drilled)


@dataclass(frozen=True)
class OxygenAtHand:
    """The oxygen that the newest check of a day found, against the way that help has to come.

    litres: None while nobody looked. flow, travel, needed: in force where it is needed most.
    """

    litres: float | None
    flow: InForce
    travel: InForce
    needed: InForce

    @property
    def minutes(self) -> int | None:
        """Whole minutes that it lasts at the flow in force; None while that cannot be said."""
        if self.litres is None or not self.flow.number:
            return None
        return oxygen_minutes(self.litres, self.flow.number)

    @property
    def needed_minutes(self) -> int | None:
        """Whole minutes that it has to last: the way of help, never under the floor in litres."""
        if self.needed.number is None or not self.flow.number:
            return None
        return ceil(self.needed.number / self.flow.number - 1e-9)

    @property
    def short(self) -> bool:
        """Whether it was looked at and is less than needed."""
        return self.litres is not None and (self.needed.number is None or self.litres < self.needed.number)


def oxygen_at_hand(session: Session, day: date, limits: Limits) -> OxygenAtHand:
    """Return the oxygen of a day against the limits in force for one group or one site."""
    check = check_of(session, day)
    return OxygenAtHand(
        None if check is None else check.row.oxygen_litres,
        limits[L.OXYGEN_FLOW],
        limits[L.HELP_TRAVEL_MINUTES],
        oxygen_needed(limits),
    )


def limits_of_day(session: Session, day: date) -> Limits:
    """Return the limits in force at that site of a day's slots to which help has the longest way."""
    asked = select(SiteRow).join(SlotRow, col(SlotRow.site_id) == SiteRow.id).where(SlotRow.day == day)
    sites = [site for site in session.exec(asked.distinct()) if site.help_travel_minutes is not None]
    furthest = max(sites, key=lambda site: site.help_travel_minutes or 0, default=None)
    source = None if furthest is None else site_source(furthest)
    return limits_now(session) if source is None else limits_now(session, source)


def _views(session: Session, rows: list[EmergencyCheckRow]) -> list[KitCheck]:
    asked = select(EmergencyOxygenRow).where(col(EmergencyOxygenRow.check_id).in_([row.id for row in rows]))
    found: dict[int, list[EmergencyOxygenRow]] = {}
    for one in session.exec(asked.order_by(col(EmergencyOxygenRow.id))):
        found.setdefault(one.check_id, []).append(one)
    return [KitCheck(row, frozenset(row.present.split()), tuple(found.get(row.id or 0, ()))) for row in rows]

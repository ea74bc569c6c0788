"""What is worth a look before a day is closed, gathered: none of it keeps the day open."""

from datetime import date, datetime

from sqlmodel import Session

from app.records.backups.backup_state import to_tell
from app.records.gas_room.cylinders import in_the_shop, open_quarantines
from app.records.gas_room.gas_account import gas_accounts
from app.records.gas_room.gauges import gauges
from app.records.guest_side.aftercare import without_check
from app.records.kit_rail import kit
from app.records.look_back.incident_file import due_tasks
from app.records.setup.shop import limits_now
from app.records.store.house import House
from app.rules import limits as L
from app.rules.day_close import DayWarnings

# Smaller gaps than this are a gauge's rounding, litres of free air.
LEAST_MISSING_L = 1.0


def day_warnings(session: Session, house: House, day: date, now: datetime, *, today: date) -> DayWarnings:
    """Return what is worth a look; what is so only now (empty cylinders, wet kit) for today alone."""
    (account,) = gas_accounts(session, day, day)
    is_now = day == today
    return DayWarnings(
        not_asked=tuple(member.name for _, member in without_check(session, day)),
        gas_missing=tuple((store.name, lost) for store, lost in account.losing if lost >= LEAST_MISSING_L),
        empty=_empty(session) if is_now else (),
        wet=_wet(session, now) if is_now else (),
        follow_ups=tuple(f"{one.row.what} ({one.owner})" for one in due_tasks(session, day)),
        backups=tuple(to_tell(session, house)) if is_now else (),
    )


def _empty(session: Session) -> tuple[str, ...]:
    """Return the cylinders in use that are below what the shop calls empty, or that nobody read."""
    least = limits_now(session)[L.CYLINDER_EMPTY_BELOW].number
    held, aside = gauges(session), open_quarantines(session)
    return tuple(
        row.number
        for row in in_the_shop(session)
        if row.id not in aside and (row.id not in held or least is None or held[row.id or 0].bar < least)
    )


def _wet(session: Session, now: datetime) -> tuple[str, ...]:
    limits = limits_now(session)
    return tuple(one.label for one in kit.items(session) if one.wet_until(now, limits) is not None)

"""What is known of each guest after a dive: the exit check, the times to fly, the card that was given."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, func, select

from app.records.groups.groups import GroupView, MemberView, groups_of
from app.records.health.health_forms import owner
from app.records.plans.flying import AfterDive, after_dives
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.store.sealing import Sealed
from app.records.tables.aftercare import AftercareCardRow, ExitCareRow, ExitCheckRow
from app.records.tables.parties import GuestRow
from app.records.water_side.water import DiveTimes, dive_times
from app.rules.aftercare import needs_somebody

ANSWERS, DONE = "exit-check", "exit-care"
# Every sheet fills the same room, so that its sealed length says nothing about what was answered.
ROOM = 256


@dataclass(frozen=True)
class CheckView:
    """An exit check. yes: somebody is needed; None when it cannot be opened any more. care: what followed."""

    row: ExitCheckRow
    guest: GuestRow
    yes: bool | None
    care: ExitCareRow | None

    @property
    def open(self) -> bool:
        """Whether a yes waits for somebody."""
        return self.yes is True and self.care is None

    @property
    def word(self) -> str:
        """What lists show. It never says what the yes was about."""
        if self.yes is None:
            return "asked"
        if not self.yes:
            return "asked, nothing"
        return "somebody is needed" if self.open else "looked after"


@dataclass(frozen=True)
class GuestAfter:
    """One guest of a group who went in: times, the check, when flying is allowed, and the newest card."""

    member: MemberView
    guest: GuestRow
    times: DiveTimes
    after: AfterDive | None
    check: CheckView | None
    card: AftercareCardRow | None

    @property
    def ready_for_card(self) -> bool:
        """Whether the times of a card are known: back ashore, and the limits have values."""
        return self.after is not None and self.after.times is not None

    @property
    def card_is_old(self) -> bool:
        """Whether times were put right, or another dive was made, after the card was given."""
        if self.card is None or self.after is None or self.after.times is None:
            return False
        now = (self.after.surfaced_at, self.after.times.allowed_from, self.after.times.advised_from)
        return now != (self.card.surfaced_at, self.card.fly_allowed_from, self.card.fly_advised_from)


def group_after(session: Session, house: House, view: GroupView, now: datetime) -> list[GuestAfter]:
    """Return what is known after a dive of each guest of a group who went in."""
    times = dive_times(session, [one.row.id for one in view.guests])
    went = [one for one in view.guests if one.guest is not None and one.row.id in times]
    guests = [one.guest for one in went if one.guest is not None]
    after = after_dives(session, guests, view.slot.day, now)
    checks = checks_of(session, house, [view.id])
    cards = cards_of(session, [one.id for one in guests])
    return [
        GuestAfter(
            one,
            one.guest,
            times[one.row.id or 0],
            after.get(one.guest.id or 0),
            checks.get((view.id, one.guest.id or 0)),
            cards.get((view.id, one.guest.id or 0)),
        )
        for one in went
        if one.guest is not None
    ]


def guest_after(session: Session, house: House, view: GroupView, guest_id: int, now: datetime) -> GuestAfter:
    """Return one guest of a group who went in; raises NotHere."""
    for one in group_after(session, house, view, now):
        if one.guest.id == guest_id:
            return one
    raise NotHere(f"guest {guest_id} in {view.label}")


def checks_of(session: Session, house: House, group_ids: Iterable[int]) -> dict[tuple[int, int], CheckView]:
    """Return the newest exit check of each guest of groups, by (group, guest)."""
    newest = (
        select(func.max(col(ExitCheckRow.id)))
        .where(col(ExitCheckRow.group_id).in_(list(group_ids)))
        .group_by(col(ExitCheckRow.group_id), col(ExitCheckRow.guest_id))
    )
    asked = (
        select(ExitCheckRow, GuestRow)
        .join(GuestRow, col(GuestRow.id) == ExitCheckRow.guest_id)
        .where(col(ExitCheckRow.id).in_(newest))
    )
    rows = list(session.exec(asked))
    cares = _cares(session, [row.id for row, _ in rows])
    return {
        (row.group_id, row.guest_id): _view(house, row, guest, cares.get(row.id or 0)) for row, guest in rows
    }


def check_of(session: Session, house: House, check_id: int) -> CheckView:
    """Return one exit check; raises NotHere."""
    row = session.get(ExitCheckRow, check_id)
    guest = None if row is None else session.get(GuestRow, row.guest_id)
    if row is None or guest is None:
        raise NotHere(f"exit check {check_id}")
    return _view(house, row, guest, _cares(session, [check_id]).get(check_id))


def open_checks(session: Session, house: House, day: date) -> list[tuple[CheckView, GroupView]]:
    """Return the exit checks of a day whose yes waits for somebody."""
    views = {view.id: view for view in groups_of(session, day) if view.group.entered_at is not None}
    found = checks_of(session, house, views)
    return [(one, views[group]) for (group, _), one in found.items() if one.open]


def without_check(session: Session, day: date) -> list[tuple[GroupView, MemberView]]:
    """Return the guests who dived on a day, are back, and were not asked how they are."""
    views = [view for view in groups_of(session, day) if view.group.entered_at is not None]
    rows = select(ExitCheckRow.group_id, ExitCheckRow.guest_id).where(
        col(ExitCheckRow.group_id).in_([view.id for view in views])
    )
    asked = set(session.exec(rows))
    return [
        (view, one)
        for view in views
        for one in view.guests
        if one.event == "back" and one.guest is not None and (view.id, one.guest.id) not in asked
    ]


def cards_of(session: Session, guest_ids: Iterable[int | None]) -> dict[tuple[int, int], AftercareCardRow]:
    """Return the newest card of each guest and group, by (group, guest)."""
    wanted = [one for one in guest_ids if one is not None]
    asked = select(AftercareCardRow).where(col(AftercareCardRow.guest_id).in_(wanted))
    rows = session.exec(asked.order_by(col(AftercareCardRow.id)))
    return {(row.group_id, row.guest_id): row for row in rows}


def answers_of(house: House, check: CheckView) -> Mapping[str, str]:
    """Return what was answered, for those who may see it; empty when it cannot be opened any more."""
    return _open(house, check.guest, ANSWERS, check.row.answers)


def done_of(house: House, check: CheckView) -> str:
    """Return what was done about a yes, by its key; "" while nothing was, or when it cannot be opened."""
    if check.care is None:
        return ""
    return str(_open(house, check.guest, DONE, check.care.done).get("done", ""))


def seal(house: House, guest: GuestRow, field: str, said: Mapping[str, str]) -> str:
    """Return answers sealed with the guest's own key."""
    return house.ring.seal(owner(guest.ref), field, json.dumps(dict(said)).ljust(ROOM))


def _view(house: House, row: ExitCheckRow, guest: GuestRow, care: ExitCareRow | None) -> CheckView:
    answers = _open(house, guest, ANSWERS, row.answers)
    return CheckView(row, guest, needs_somebody(answers) if answers else None, care)


def _open(house: House, guest: GuestRow, field: str, sealed: str) -> dict[str, str]:
    try:
        found = json.loads(house.ring.open(owner(guest.ref), field, sealed))
    except (Sealed, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _cares(session: Session, check_ids: Iterable[int | None]) -> dict[int, ExitCareRow]:
    asked = select(ExitCareRow).where(col(ExitCareRow.check_id).in_(list(check_ids)))
    return {row.check_id: row for row in session.exec(asked.order_by(col(ExitCareRow.id)))}

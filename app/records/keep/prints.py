"""What the prints of a day need: groups with people, cylinders and kit, and the kit to pick."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records.groups.groups import GroupView, MemberView, groups_of
from app.records.health.health import HealthStanding, standing
from app.records.kit_rail import kit
from app.records.kit_rail.kit import Loan
from app.records.kit_rail.kit_offers import Fitting, fittings
from app.records.kit_rail.lead import suggest_lead
from app.records.plans.plans import newest_plans
from app.records.store.house import House
from app.records.tables.groups import PlanRow
from app.records.tables.house import TrailRow
from app.records.tables.kit import WeightsRow
from app.records.tables.parties import GuestRow
from app.records.water_side.entry import DiverView, divers_of
from app.records.water_side.water import DiveTimes, dive_times
from app.records.welcome.bookings import SlotView, slots_of

# No entry of a trail has a longer number.
NUMBER_MOST = 9


@dataclass(frozen=True)
class PrintLine:
    """One person of a group on paper. health: the word alone reaches a print; None for the team.

    lead: the lead given for this slot, if any. times: when in and back, as far as the records know.
    """

    diver: DiverView
    guest: GuestRow | None
    kit: tuple[Loan, ...]
    lead: WeightsRow | None
    health: HealthStanding | None
    times: DiveTimes | None


@dataclass(frozen=True)
class GroupPrint:
    """One group on paper, with the newest plan issued for it."""

    view: GroupView
    plan: PlanRow | None
    lines: tuple[PrintLine, ...]


@dataclass(frozen=True)
class KitLine:
    """One guest on the kit list. suggested_kg: lead worked out for the guest, None once lead was given."""

    fit: Fitting
    lead: WeightsRow | None
    suggested_kg: int | None
    cylinder: str

    @property
    def numbers(self) -> dict[str, str]:
        """Kind -> number of the piece that the guest has, or that is kept for the guest."""
        offered = {one.view.row.kind: one.view.row.number for one in self.fit.offers}
        return {**offered, **{loan.item.kind: loan.item.number for loan in self.fit.has}}

    @property
    def sizes(self) -> dict[str, str]:
        """Kind -> size: of the piece that the guest has, else of the one kept, else to try first."""
        offered = {one.view.row.kind: one.view.row.size for one in self.fit.offers}
        return {**self.fit.first, **offered, **{loan.item.kind: loan.item.size for loan in self.fit.has}}


@dataclass(frozen=True)
class KitList:
    """The guests of one group of a slot, or of those without a group (group None)."""

    slot: SlotView
    group: GroupView | None
    needs: tuple[str, ...]
    lines: tuple[KitLine, ...]


def group_prints(session: Session, house: House, day: date) -> list[GroupPrint]:
    """Return every group of a day with people in it, in order of time. The count of queries does not grow."""
    views = [view for view in groups_of(session, day) if view.members]
    everybody = [one for view in views for one in view.members]
    guests = {one.guest.id or 0: one.guest for one in everybody if one.guest is not None}
    divers = {one.id: one for one in divers_of(session, everybody)}
    loans = kit.loans_of(session, guests)
    health = standing(session, house, guests.values(), day)
    times = dive_times(session, divers)
    plans = newest_plans(session, [view.id for view in views])
    weights = _lead_given(session, guests)

    def line(view: GroupView, one: MemberView) -> PrintLine:
        guest, member = one.row.guest_id or 0, one.row.id or 0
        return PrintLine(
            divers[member],
            one.guest,
            tuple(loans.get(guest, ())),
            weights.get((guest, view.slot.id or 0)),
            health.get(guest),
            times.get(member),
        )

    return [
        GroupPrint(view, plans.get(view.id), tuple(line(view, one) for one in view.members)) for view in views
    ]


def kit_lists(session: Session, day: date, now: datetime) -> list[KitList]:
    """Return what to pick off the rail for each guest booked on a day, group by group."""
    views, items = groups_of(session, day), kit.items(session)
    guests = [one for view in views for one in view.guests]
    cylinders = {
        one.member.guest_id or 0: one.cylinder.number
        for one in divers_of(session, guests)
        if one.cylinder is not None
    }
    lists = []
    for slot in slots_of(session, day):
        fits = {one.guest.id or 0: one for one in fittings(session, slot, now, items)}
        given = kit.weights_of(session, fits, slot.slot.id or 0)
        picked = {
            number: KitLine(
                fit,
                given.get(number),
                None if number in given else suggest_lead(session, fit.guest, slot, list(fit.has)).kg,
                cylinders.get(number, ""),
            )
            for number, fit in fits.items()
        }
        for view in (one for one in views if one.slot.id == slot.slot.id):
            mine = [picked.pop(one.row.guest_id or 0, None) for one in view.guests]
            lists += _list(slot, view, [one for one in mine if one is not None])
        lists += _list(slot, None, list(picked.values()))
    return lists


def _lead_given(session: Session, guest_ids: Iterable[int]) -> dict[tuple[int, int], WeightsRow]:
    """Return the newest lead given, by guest and slot."""
    asked = select(WeightsRow).where(col(WeightsRow.guest_id).in_(list(guest_ids)))
    return {(row.guest_id, row.slot_id): row for row in session.exec(asked.order_by(col(WeightsRow.id)))}


def _list(slot: SlotView, view: GroupView | None, lines: list[KitLine]) -> list[KitList]:
    return [KitList(slot, view, lines[0].fit.needs, tuple(lines))] if lines else []


def pdf_reason(address: str, paper: str) -> str:
    """Return what the trail says of a print that leaves the shop as a PDF."""
    return f"PDF on {paper} of {address}"


def left_as_pdf(session: Session, number: str, person_id: int | None, reason: str) -> bool:
    """Return whether an entry of the trail, by its number, says that this person took this print away."""
    if not number.isdecimal() or len(number) > NUMBER_MOST:
        return False
    entry = session.get(TrailRow, int(number))
    return entry is not None and (entry.act, entry.person_id, entry.reason) == ("make_pdf", person_id, reason)

"""How much lead a guest may need: the records turned into the figures that the arithmetic asks for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import or_
from sqlmodel import Session, col, select

from app.planning import weight_checks, weights
from app.planning.weight_checks import Correction
from app.planning.weights import Step
from app.records.gas_room.gauges import gauges
from app.records.kit_rail.kit import Loan
from app.records.setup.shop import limits_now, the_shop
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, MemberRow
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import SlotView
from app.records.welcome.same_person import same_person
from app.rules import limits as L

# The usual cylinder of a first dive, until one is given out.
USUAL_LITRES, USUAL_MATERIAL = 12.0, "steel"
USUAL_COVER = "full"
# As many of the newest checks as teach what a suit wants.
MOST_CHECKS = 200


@dataclass(frozen=True)
class OwnCheck:
    """The newest check of a guest in the water: on which day, with how much, what was seen and right."""

    day: date
    given_kg: float
    seen: str
    right_kg: float
    plain_kg: float


@dataclass(frozen=True)
class LeadSuggestion:
    """A suggestion in whole kg and how it came about. A suggestion is not an answer.

    plain_kg: what buoyancy alone asks for, not rounded. suit: which suits are counted as the same; "" for
    none. steps: each body's lift. so: what follows from them, in sentences. start: what differs at the
    start of the dive and at 5 m. assumed: what was taken for granted because nothing is given out yet.
    """

    kg: int
    plain_kg: float
    suit: str
    steps: tuple[Step, ...]
    so: tuple[str, ...]
    start: str
    assumed: str = ""

    @property
    def method(self) -> str:
        """The whole sum in words, as kept with the lead given."""
        lifts = "; ".join(f"{step.what} {step.kg:+.1f} kg" for step in self.steps)
        return " ".join((f"Lift in the water: {lifts}.", *self.so, self.assumed)).strip()


@dataclass(frozen=True)
class LeadLine:
    """The lead of one guest for a slot: what the guest has, and earlier lead with what was seen of it."""

    now: WeightsRow | None
    earlier: tuple[WeightsRow, ...]

    @property
    def next_kg(self) -> float | None:
        """What the check in the water asks for instead; None when nothing else is asked for."""
        if self.now is None or self.now.float_check not in weight_checks.MORE_KG:
            return None
        right = weight_checks.right_kg(self.now.given_kg, self.now.float_check)
        return None if right == self.now.given_kg else right


def lead_lines(session: Session, guest_ids: Iterable[int], slot_id: int) -> dict[int, LeadLine]:
    """Return the lead given to each guest for a slot, by guest number; guests without lead are in it too."""
    ids = list(guest_ids)
    asked = select(WeightsRow).where(col(WeightsRow.guest_id).in_(ids), WeightsRow.slot_id == slot_id)
    rows: dict[int, list[WeightsRow]] = {one: [] for one in ids}
    for row in session.exec(asked.order_by(col(WeightsRow.id))):
        rows[row.guest_id].append(row)
    return {one: LeadLine(mine[-1] if mine else None, tuple(mine[:-1])) for one, mine in rows.items()}


def suggest_lead(session: Session, guest: GuestRow, slot: SlotView, kit: list[Loan]) -> LeadSuggestion:
    """Suggest lead in the suit and with the cylinder given out, in the water of the slot's site.

    Who was checked in the water before gets what was right then, moved by how much the sum has moved;
    anybody else the sum and what the suit has wanted of others.
    """
    item = next((loan.item for loan in kit if loan.item.kind == "suit"), None)
    worn = item is not None
    item = item or _last_suit(session, guest)
    suit = None if item is None else _suit(item)
    tank, known = _tank(session, guest)
    water = weights.Water(slot.site.density_kg_m3, slot.site.usual_temp_c, slot.site.surface_pressure_bar)
    lead = weights.suggest(weights.Body(guest.height_cm, guest.mass_kg), suit, tank, water)
    key = "" if item is None or suit is None else suit_key(item)
    own = own_check(session, guest)
    correction = suit_correction(session, key) if own is None else Correction(0.0, 0)
    pull = weights.pull_per_kg(water)
    lift = sum(step.kg for step in lead.steps)
    so = [
        f"Together {_signed(lift)} kg of lift. A kilogram of lead pulls {pull:.3f} kg under water: "
        f"{lead.exact_kg:.1f} kg of lead, rounded up {lead.kg} kg."
    ]
    kg = lead.kg
    if own is not None:
        kg = weight_checks.for_this_dive(own.right_kg, own.plain_kg, lead.exact_kg)
        so.append(_own_words(own, lead.exact_kg, kg))
    elif correction.checks:
        kg = weights.whole_kg(lead.exact_kg + correction.kg)
        so.append(_suit_words(correction, kg))
    start = (
        f"At the start, at {tank.full_gauge_bar:g} bar, the cylinder pulls "
        f"{lead.heavier_at_start_kg:.1f} kg more. {_at_the_stop(lead)}"
    ).strip()
    return LeadSuggestion(
        kg, lead.exact_kg, key, lead.steps, tuple(so), start, _assumed(item, tank, known, worn)
    )


def suit_key(item: KitItemRow) -> str:
    """Return what makes suits the same: model, cover, thickness and size, in words."""
    words = f"{item.cover or USUAL_COVER} {item.thickness_mm or 0:g} mm {item.size}".strip()
    return f"{item.model}, {words}" if item.model else words


def own_check(session: Session, guest: GuestRow) -> OwnCheck | None:
    """Return the newest check of this guest, also of an earlier booking of the same person.

    The same person: linked by the desk, or the same full name and birth date.
    """
    linked = same_person(session, [guest.id])[guest.id or 0]
    found = (
        select(WeightsRow, GuestRow)
        .join(GuestRow, col(GuestRow.id) == WeightsRow.guest_id)
        .where(or_(col(GuestRow.birth_date) == guest.birth_date, col(GuestRow.id).in_(linked)), *_checked())
        .order_by(col(WeightsRow.id).desc())
    )
    name = _folded(guest.full_name)
    rows = (
        row
        for row, who in session.exec(found)
        if who.id in linked | {guest.id} or _folded(who.full_name) == name
    )
    row = next(rows, None)
    if row is None or row.plain_kg is None:
        return None
    right = weight_checks.right_kg(row.given_kg, row.float_check)
    day = the_shop(session).day_of(row.checked_at or row.at)
    return OwnCheck(day, row.given_kg, row.float_check, right, row.plain_kg)


def suit_correction(session: Session, key: str) -> Correction:
    """Return what suits of this key have wanted beside the sum: the newest check of each guest and slot."""
    if not key:
        return Correction(0.0, 0)
    found = (
        select(WeightsRow)
        .where(WeightsRow.suit == key, *_checked())
        .order_by(col(WeightsRow.id).desc())
        .limit(MOST_CHECKS)
    )
    newest: dict[tuple[int, int], float] = {}
    for row in session.exec(found):
        right = weight_checks.right_kg(row.given_kg, row.float_check)
        newest.setdefault((row.guest_id, row.slot_id), right - weights.whole_kg(row.plain_kg or 0.0))
    return weight_checks.suit_correction(list(newest.values()))


def _checked() -> tuple[bool, ...]:
    return (
        col(WeightsRow.float_check).in_(list(weight_checks.MORE_KG)),  # type: ignore[return-value]
        col(WeightsRow.plain_kg).is_not(None),
    )


def _last_suit(session: Session, guest: GuestRow) -> KitItemRow | None:
    """Return the suit that the guest had last, brought back by now; None for none."""
    found = (
        select(KitItemRow)
        .join(KitLoanRow, col(KitLoanRow.item_id) == KitItemRow.id)
        .where(KitLoanRow.guest_id == guest.id, KitItemRow.kind == "suit")
        .order_by(col(KitLoanRow.id).desc())
    )
    return session.exec(found).first()


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _suit(item: KitItemRow) -> weights.Suit | None:
    if item.thickness_mm is None:
        return None
    return weights.Suit(item.thickness_mm, item.cover if item.cover in weights.COVERS else USUAL_COVER)


def _tank(session: Session, guest: GuestRow) -> tuple[weights.Tank, bool]:
    """Return the cylinder that the guest has, and whether it is known: the usual one otherwise."""
    limits = limits_now(session)
    end, full = limits[L.END_PRESSURE_MIN].number or 0.0, limits[L.START_PRESSURE_MIN].number or 0.0
    found = (
        select(CylinderRow)
        .join(CylinderOutRow, col(CylinderOutRow.cylinder_id) == CylinderRow.id)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .where(MemberRow.guest_id == guest.id, col(CylinderOutRow.back_at).is_(None))
    )
    row = session.exec(found).first()
    if row is None or row.material not in weights.SHELL_KG_PER_LITRE:
        return weights.Tank(USUAL_LITRES, USUAL_MATERIAL, full, end), False
    gauge = gauges(session, [row.id or 0]).get(row.id or 0)
    holds = full if gauge is None else max(gauge.bar, end)
    return weights.Tank(row.litres, row.material, holds, end), True


def _own_words(own: OwnCheck, plain_now_kg: float, kg: int) -> str:
    moved = plain_now_kg - own.plain_kg
    said = {
        weight_checks.FLOATS: "the guest floated",
        weight_checks.LEVEL: "the guest hung level",
        weight_checks.SINKS: "the guest sank",
    }[own.seen]
    return (
        f"On {own.day:%a} {own.day.day} {own.day:%b} {own.day:%Y} {said} with {own.given_kg:g} kg, so "
        f"{own.right_kg:g} kg was right. Suit, cylinder, water and body since then: {_signed(moved)} kg. "
        f"That makes {kg} kg."
    )


def _suit_words(correction: Correction, kg: int) -> str:
    way = "more" if correction.kg >= 0 else "less"
    checks = "1 check" if correction.checks == 1 else f"{correction.checks} checks"
    return f"This suit has wanted {abs(correction.kg):.1f} kg {way}, from {checks}. That makes {kg} kg."


def _signed(kg: float) -> str:
    return f"{kg:+.1f}".replace("-", "−")


def _at_the_stop(lead: weights.Lead) -> str:
    if not lead.suit_lost_kg:
        return ""
    return (
        f"At {weights.STOP_M:g} m the squeezed suit lifts up to {lead.suit_lost_kg:.1f} kg less; "
        "a little air in the jacket makes up for it."
    )


def _assumed(item: KitItemRow | None, tank: weights.Tank, known: bool, worn: bool) -> str:
    taken = []
    if item is None:
        taken.append("No suit is given out yet: this is without one.")
    elif not worn:
        taken.append(f"No suit is given out now: this is with suit {item.number}, worn last.")
    elif item.thickness_mm is None:
        taken.append(f"How thick suit {item.number} is, nobody wrote down: this is without a suit.")
    if not known:
        taken.append(f"No cylinder is given out yet: this is with {tank.litres:g} L {tank.material}.")
    return " ".join(taken)

"""How much lead a guest may need: the records turned into the figures that the arithmetic asks for."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.planning import weights
from app.records.bookings import SlotView
from app.records.kit import Loan
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, MemberRow
from app.records.tables.parties import GuestRow

# The usual cylinder of a first dive, until one is given out.
USUAL_LITRES, USUAL_MATERIAL = 12.0, "steel"
END_BAR = 50.0


@dataclass(frozen=True)
class LeadSuggestion:
    """A suggestion in whole kg and how it came about, in words. A suggestion is not an answer.

    assumed: what was taken for granted because nothing is given out yet; empty when nothing was.
    """

    kg: int
    method: str
    assumed: str = ""


def suggest_lead(session: Session, guest: GuestRow, slot: SlotView, kit: list[Loan]) -> LeadSuggestion:
    """Suggest lead in the suit and with the cylinder given out, in the water of the slot's site."""
    suit = next((loan.item for loan in kit if loan.item.kind == "suit"), None)
    thickness = (suit.thickness_mm or 0.0) if suit is not None else 0.0
    cylinder = _cylinder(session, guest)
    litres, material = (
        (USUAL_LITRES, USUAL_MATERIAL) if cylinder is None else (cylinder.litres, cylinder.material)
    )
    lead = weights.suggest(
        guest.height_cm,
        guest.mass_kg,
        thickness,
        litres,
        material,
        slot.site.density_kg_m3,
        slot.site.usual_temp_c,
        END_BAR,
    )
    steps = "; ".join(f"{what} {kg:+.1f} kg" for what, kg in lead.steps)
    taken = []
    if suit is None:
        taken.append("No suit is given out yet: this is without one.")
    elif suit.thickness_mm is None:
        taken.append(f"How thick suit {suit.number} is, nobody wrote down: this is without a suit.")
    if cylinder is None:
        taken.append(f"No cylinder is given out yet: this is with {litres:g} L {material}.")
    assumed = " ".join(taken)
    return LeadSuggestion(lead.kg, f"Lift in the water: {steps}. {assumed}".strip(), assumed)


def _cylinder(session: Session, guest: GuestRow) -> CylinderRow | None:
    found = (
        select(CylinderRow)
        .join(CylinderOutRow, col(CylinderOutRow.cylinder_id) == CylinderRow.id)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .where(MemberRow.guest_id == guest.id, col(CylinderOutRow.back_at).is_(None))
    )
    return session.exec(found).first()

"""The page of the kit rail: which slot, whose sizes may be read, and each guest with what fits."""

from collections import Counter
from dataclasses import dataclass

from fastapi.responses import Response

from app.records.groups.groups import party_names
from app.records.groups.placements import own_guests
from app.records.kit_rail import kit, kit_faults, kit_offers
from app.records.kit_rail.kit import ItemView
from app.records.kit_rail.kit_offers import Fitting, Lack, Offered
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.tables.kit import WeightsRow
from app.records.welcome import bookings
from app.records.welcome.bookings import SlotView
from app.rules.kit import how_to_clean
from app.rules.size_chart import SOURCE
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.front import NUMBER_MOST, Front
from app.web.pages import ProblemView


@dataclass(frozen=True)
class RailLine:
    """One guest on the rail: sizes as told, how far the fitting is, and the lead."""

    fit: Fitting
    sizes: str
    lead: WeightsRow | None

    @property
    def state(self) -> tuple[str, str, str]:
        """State, word and shape: fitted, part of it, nothing yet."""
        if self.fit.fitted:
            return "has-kit", "fitted", "dot"
        if not self.fit.has:
            return "no-kit", "no kit yet", "ring"
        return "part-kit", f"missing {', '.join(self.fit.missing)}", "square"


def slot_asked(front: Front) -> SlotView | None:
    """The slot of ``?slot=``; without one the next of today that has not begun, else the last."""
    asked = front.request.query_params.get("slot", "")
    if asked:
        if not asked.isdecimal() or len(asked) > NUMBER_MOST:
            raise NotHere("no such slot")
        return bookings.slot_view(front.session, int(asked))
    slots = bookings.slots_of(front.session, front.today)
    ahead = [slot for slot in slots if slot.slot.starts_at > front.now]
    return next(iter(ahead or slots[-1:]), None)


def sizes_shown(front: Front, slot: SlotView) -> frozenset[int] | None:
    """Whose sizes the visitor may read; None for everybody's. A guide reads those of own groups of today."""
    who = front.visitor
    if who.has(DESK, MANAGER) or (who.has(LEAD) and slot.slot.day == front.today):
        return None
    if who.has(INSTRUCTOR) and slot.slot.day == front.today:
        return own_guests(front.session, who.person_id, front.today)
    return frozenset()


def later_words(front: Front, offered: Offered) -> str:
    """Say when a piece that is offered will be free: "suit W05 (M), after Ann of 10:30, about 12:40"."""
    about = f"about {front.clock(offered.free_from)}"
    if offered.after:
        return f"{offered.view.label}, after {offered.after}, {about}"
    return f"{offered.view.label}, {how_to_clean(offered.view.row.kind)} {about}"


def lack_words(front: Front, lack: Lack) -> str:
    """Say what is lacking, and which slot the piece that would fit belongs to."""
    what = f"{lack.kind} {lack.size}".strip()
    if lack.view is None or lack.free_from is None:
        return what
    clean = f"clean about {front.clock(lack.free_from)}"
    return f"{what} ({lack.view.row.number} goes to {lack.after} first, {clean})"


def lines_of(front: Front, slot: SlotView, views: list[ItemView]) -> list[RailLine]:
    """Return the guests of a slot, party by party, with what fits them."""
    fittings = kit_offers.fittings(front.session, slot, front.now, views)
    lead = kit.weights_of(front.session, [one.guest.id for one in fittings], slot.slot.id or 0)
    shown = sizes_shown(front, slot)
    lines = []
    for fit in fittings:
        guest = fit.guest
        sizes = f"{guest.height_cm:g} cm · {guest.mass_kg:g} kg · shoes {guest.shoe_size:g}"
        may_read = shown is None or guest.id in shown
        lines.append(RailLine(fit, sizes if may_read else "", lead.get(guest.id or 0)))
    return lines


def rail_page(front: Front, slot: SlotView | None, problem: ProblemView | None = None) -> Response:
    """Show a slot's guests with what they have and what fits them, and what waits to be rinsed."""
    views = kit.items(front.session)
    lines = [] if slot is None else lines_of(front, slot, views)
    limits = shop_records.limits_now(front.session)
    guests = [line.fit.guest for line in lines]
    wet = [(view, until) for view in views if (until := view.wet_until(front.now, limits)) is not None]
    return front.page(
        "kit_rail/kit.html",
        "Kit rail",
        problem=problem,
        slots=bookings.slots_of(front.session, front.today if slot is None else slot.slot.day),
        slot=slot,
        lines=lines,
        parties=party_names(front.session, guests),
        in_party=Counter(guest.party_id for guest in guests),
        total=len(views),
        aside=sum(1 for view in views if view.row.out_of_use_since is not None),
        wet=wet,
        wet_kinds=sorted({how_to_clean(view.row.kind) for view, _ in wet}, reverse=True),
        elsewhere=kit.still_out(front.session, [guest.id for guest in guests]),
        faults=kit_faults.not_seen(front.session, front.today),
        chosen=_chosen(front, problem, lines),
        later=lambda one: later_words(front, one),
        lack=lambda one: lack_words(front, one),
        may_give=front.visitor.has(DESK, LEAD),
        may_keep=front.visitor.has(DESK, MANAGER),
        source=SOURCE,
    )


def _chosen(front: Front, problem: ProblemView | None, lines: list[RailLine]) -> str:
    """Who gets what is scanned next: a guest's number, or "back"; "" before anything was scanned."""
    said = front.request.query_params.get("to", "")
    if problem is not None and problem.action == "scan_kit":
        said = problem.values.get("to", "")
    return said if said == "back" or said in {str(line.fit.guest.id) for line in lines} else ""

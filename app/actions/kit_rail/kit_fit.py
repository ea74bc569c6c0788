"""Sizes: how they sit on guests, the shop's own chart, and what a first dive needs."""

from collections.abc import Collection
from typing import Any

from app.actions.act import Act, Clash, Difference, Invalid
from app.actions.kit_rail.kit import LOAN_LABELS
from app.records.kit_rail import kit, kit_sizes
from app.records.tables.kit import KitLoanRow
from app.records.tables.kit_keeping import KitFitRow, KitNeedsRow, SizeChartRow
from app.records.tables.parties import SlotRow
from app.rules.kit import DISINFECTED, SIZES
from app.rules.size_chart import FITS, KindChart, chart_problems


def tell_fit(act: Act, loan_id: int, version: int, said: str) -> KitFitRow:
    """Remember how a size sits on the guest who has it; a size that does not fit comes back at once.

    What was only tried on ashore needs no rinse, but for what touches the face. Raises Clash, NotHere, and
    Invalid for kit without sizes.
    """
    loan = act.get(KitLoanRow, loan_id)
    item = kit.item(act.session, loan.item_id).row
    if not SIZES.get(item.kind):
        raise Invalid({"said": f"A {item.kind} has no size. Take it back if it does not suit."})
    values: dict[str, Any] = {}
    if said != FITS:
        values = {"back_at": act.now, "back_by": act.actor.name}
        if act.now < act.get(SlotRow, loan.slot_id).starts_at and item.kind not in DISINFECTED:
            values |= {"rinsed_at": act.now, "rinsed_by": act.actor.name}
    act.edit(loan, version, values, LOAN_LABELS)
    act.about = ("guest", str(loan.guest_id))
    return act.add(
        KitFitRow(
            guest_id=loan.guest_id,
            item_id=loan.item_id,
            kind=item.kind,
            size=item.size,
            said=said,
            at=act.now,
            by=act.actor.name,
        )
    )


def write_chart(act: Act, kind: str, seen: int, bands: KindChart, why: str) -> SizeChartRow:
    """Make bands the shop's own for a kind; suggestions use them at once.

    seen: the number of the newest chart of this kind that the form was made from, 0 for the built-in one.
    Raises Invalid with a sentence for each measure that has a gap or an overlap, and Clash.
    """
    wrong = chart_problems(kind, bands)
    if not any(bands.values()):
        wrong["form"] = "Write at least one size."
    if wrong:
        raise Invalid(wrong)
    rows = kit_sizes.chart_history(act.session, kind)
    said = kit_sizes.bands_said(bands)
    if rows and rows[0].id != seen:
        theirs = _in_words(kit_sizes.bands_of(rows[0]))
        raise Clash([Difference("Sizes", _in_words(bands), theirs)], rows[0].by, rows[0].at)
    act.reason = why
    act.about = ("size_chart", kind)
    return act.add(SizeChartRow(kind=kind, bands=said, at=act.now, by=act.actor.name, why=why))


def set_needs(act: Act, kinds: Collection[str], seen: int, why: str) -> KitNeedsRow:
    """Make these kinds the ones that a first dive needs. seen: as for a chart. Raises Clash."""
    rows = kit_sizes.needs_history(act.session)
    said = " ".join(kind for kind in SIZES if kind in kinds)
    if rows and rows[0].id != seen:
        raise Clash([Difference("What a first dive needs", said, rows[0].kinds)], rows[0].by, rows[0].at)
    act.reason = why
    act.about = ("kit_needs", "")
    return act.add(KitNeedsRow(kinds=said, at=act.now, by=act.actor.name, why=why))


def _in_words(bands: KindChart) -> str:
    return "; ".join(
        f"{measure}: " + ", ".join(f"{one.size} {one.low:g} to {one.high:g}" for one in rows)
        for measure, rows in bands.items()
        if rows
    )

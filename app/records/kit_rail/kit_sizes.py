"""The shop's sizes as read: its chart, what a first dive needs, and how sizes sat on guests."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, field

from sqlalchemy import or_
from sqlmodel import Session, col, func, select

from app.records.tables.kit_keeping import KitFitRow, KitNeedsRow, SizeChartRow
from app.records.tables.parties import GuestRow
from app.records.welcome.same_person import same_person
from app.rules.kit import FIRST_DIVE, SIZES
from app.rules.size_chart import BUILT_IN, LARGE, SMALL, Band, Chart, KindChart, Told


def chart_now(session: Session) -> Chart:
    """Return the chart in force: the shop's own bands of a kind, else the built-in ones."""
    return {**BUILT_IN, **{kind: bands_of(row) for kind, row in own_charts(session).items()}}


def own_charts(session: Session) -> dict[str, SizeChartRow]:
    """Return the newest chart that the shop wrote for each kind, for the kinds that it wrote one for."""
    newest = select(func.max(col(SizeChartRow.id))).group_by(SizeChartRow.kind)
    rows = session.exec(select(SizeChartRow).where(col(SizeChartRow.id).in_(newest)))
    return {row.kind: row for row in rows}


def bands_of(row: SizeChartRow) -> KindChart:
    """Return the bands that a row of the chart holds, lowest first."""
    return {
        measure: tuple(sorted((Band(*band) for band in bands), key=lambda band: band.low))
        for measure, bands in json.loads(row.bands).items()
    }


def bands_said(bands: KindChart) -> str:
    """Return bands as a row of the chart keeps them."""
    return json.dumps(
        {measure: [[one.low, one.high, one.size] for one in rows] for measure, rows in bands.items()}
    )


def chart_history(session: Session, kind: str) -> list[SizeChartRow]:
    """Return every chart that the shop wrote for a kind, newest first."""
    asked = select(SizeChartRow).where(SizeChartRow.kind == kind)
    return list(session.exec(asked.order_by(col(SizeChartRow.id).desc())))


def needs_history(session: Session) -> list[KitNeedsRow]:
    """Return every list of what a first dive needs that the shop wrote, newest first."""
    return list(session.exec(select(KitNeedsRow).order_by(col(KitNeedsRow.id).desc())))


def needs_now(session: Session) -> tuple[str, ...]:
    """Return the kinds on the shop's list for a first dive; the usual ones until it wrote its own."""
    newest = session.exec(select(KitNeedsRow).order_by(col(KitNeedsRow.id).desc()).limit(1)).first()
    return FIRST_DIVE if newest is None else tuple(kind for kind in SIZES if kind in newest.kinds.split())


def told_of(session: Session, guests: Iterable[GuestRow]) -> dict[int, dict[str, list[Told]]]:
    """Return what was told at the mirror: guest number -> kind -> notes, oldest first.

    A guest who was here before brings those notes along: linked by the desk, or under the same full name and
    birth date.
    """
    guests = list(guests)
    births = {guest.birth_date for guest in guests}
    linked = same_person(session, [guest.id for guest in guests])
    others = {other for rows in linked.values() for other in rows}
    found = (
        select(KitFitRow, GuestRow)
        .join(GuestRow, col(GuestRow.id) == KitFitRow.guest_id)
        .where(or_(col(GuestRow.birth_date).in_(births), col(GuestRow.id).in_(others)))
        .order_by(col(KitFitRow.id))
    )
    rows = list(session.exec(found))
    told: dict[int, dict[str, list[Told]]] = {guest.id or 0: {} for guest in guests}
    for guest in guests:
        for row, who in rows:
            if who.id in linked[guest.id or 0] or _person(who) == _person(guest):
                told[guest.id or 0].setdefault(row.kind, []).append(Told(row.size, row.said))
    return told


@dataclass
class Tried:
    """How one size sat on everybody who tried it. Heights in cm of whom it was too small or large for."""

    size: str
    tries: int = 0
    small: list[float] = field(default_factory=list)
    large: list[float] = field(default_factory=list)

    def sentences(self) -> list[str]:
        """Return what is worth knowing: "M was too small for 4 of 9, at 174 to 176 cm."."""
        told = ((SMALL, self.small), (LARGE, self.large))
        return [
            f"{self.size} was {word} for {len(heights)} of {self.tries}, at {_spread(heights)} cm."
            for word, heights in told
            if heights
        ]


def tried(session: Session, kind: str) -> list[Tried]:
    """Return how each size of a kind sat, in the order of sizes; the newest word of each guest counts."""
    found = (
        select(KitFitRow, GuestRow)
        .join(GuestRow, col(GuestRow.id) == KitFitRow.guest_id)
        .where(KitFitRow.kind == kind)
        .order_by(col(KitFitRow.id))
    )
    newest = {(row.guest_id, row.size): (row.said, guest.height_cm) for row, guest in session.exec(found)}
    sizes: dict[str, Tried] = {}
    for (_, size), (said, height) in newest.items():
        one = sizes.setdefault(size, Tried(size))
        one.tries += 1
        if said in (SMALL, LARGE):
            (one.small if said == SMALL else one.large).append(height)
    return [sizes[size] for size in SIZES[kind] if size in sizes]


def _person(guest: GuestRow) -> tuple[str, str]:
    return (" ".join(guest.full_name.casefold().split()), guest.birth_date.isoformat())


def _spread(heights: list[float]) -> str:
    low, high = f"{min(heights):g}", f"{max(heights):g}"
    return low if low == high else f"{low} to {high}"

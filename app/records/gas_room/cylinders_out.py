"""Which cylinder is with whom, and how many cylinders the coming slots ask for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session, col, select

from app.records.setup.shop import limits_now, site_source
from app.records.store.problems import NotHere
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import SlotRow
from app.records.tables.water import PressureRow
from app.records.water_side.water import member_names
from app.records.welcome.bookings import SlotView, slot_view, slots_of
from app.rules.limits import SLOT_LENGTH, START_PRESSURE_MIN, START_PRESSURE_MIN_CONFINED
from app.rules.people import Where
from app.rules.resolve import InForce, Limits


@dataclass(frozen=True)
class Holder:
    """Who has a cylinder now, in which group, and at which slot."""

    out: CylinderOutRow
    member: MemberRow
    group: GroupRow
    slot: SlotRow
    site: SiteRow
    name: str


@dataclass(frozen=True)
class Diver:
    """A member of a group of a slot, with the cylinder that the member has now.

    ended_bar: the end pressure already read at the water for this cylinder, if it was.
    """

    member: MemberRow
    group: GroupRow
    name: str
    out: CylinderOutRow | None
    cylinder: CylinderRow | None
    ended_bar: float | None


@dataclass(frozen=True)
class SlotNeed:
    """How many people of a slot dive, and how many of them have a cylinder already."""

    slot: SlotView
    people: int
    have: int

    @property
    def lacking(self) -> int:
        """Cylinders still to give out."""
        return max(0, self.people - self.have)


def holders(session: Session, ids: Iterable[int] | None = None) -> dict[int, Holder]:
    """Return who has each cylinder that is out now, by cylinder number."""
    found = (
        select(CylinderOutRow, MemberRow, GroupRow, SlotRow)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(col(CylinderOutRow.back_at).is_(None))
    )
    if ids is not None:
        found = found.where(col(CylinderOutRow.cylinder_id).in_(list(ids)))
    rows = list(session.exec(found))
    names = member_names(session, [member for _, member, _, _ in rows])
    wanted = {slot.site_id for *_, slot in rows}
    sites = {site.id: site for site in session.exec(select(SiteRow).where(col(SiteRow.id).in_(wanted)))}
    return {
        out.cylinder_id: Holder(out, member, group, slot, sites[slot.site_id], names.get(member.id or 0, ""))
        for out, member, group, slot in rows
    }


def member_place(session: Session, member_id: int) -> tuple[MemberRow, GroupRow, SlotView]:
    """Return a member with the group and the slot; raises NotHere."""
    member = session.get(MemberRow, member_id)
    group = None if member is None else session.get(GroupRow, member.group_id)
    if member is None or group is None:
        raise NotHere(f"member {member_id}")
    return member, group, slot_view(session, group.slot_id)


def limits_at(session: Session, site: SiteRow) -> Limits:
    """Return the limits in force for giving out cylinders at a site."""
    voice = site_source(site)
    return limits_now(session, *(() if voice is None else (voice,)))


def where_of(site: SiteRow) -> Where:
    """Return the kind of water of a site."""
    return "confined" if site.confined else "open"


def start_minimum(session: Session, site: SiteRow) -> InForce:
    """Return the least start pressure at a site, bar gauge, with who set it."""
    return limits_at(session, site)[START_PRESSURE_MIN_CONFINED if site.confined else START_PRESSURE_MIN]


def times_of(view: SlotView, limits: Limits) -> tuple[datetime, datetime]:
    """Return from when to when a slot keeps its cylinders busy."""
    start = view.slot.starts_at
    return start, start + timedelta(minutes=limits[SLOT_LENGTH].number or 0)


def out_with_end(session: Session, out_id: int) -> tuple[CylinderOutRow, float | None]:
    """Return one handing-out with the end pressure read at the water, if it was; raises NotHere."""
    out = session.get(CylinderOutRow, out_id)
    if out is None:
        raise NotHere(f"cylinder_out {out_id}")
    return out, _end_pressures(session, [out]).get(out.member_id)


def out_of_member(session: Session, member_id: int) -> CylinderOutRow | None:
    """Return the cylinder a member has now; None when there is none."""
    found = select(CylinderOutRow).where(
        CylinderOutRow.member_id == member_id, col(CylinderOutRow.back_at).is_(None)
    )
    return session.exec(found).first()


def divers_of_slot(session: Session, slot_id: int) -> list[Diver]:
    """Return everybody who is in a group of a slot, group by group, the guide first."""
    found = (
        select(MemberRow, GroupRow)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(GroupRow.slot_id == slot_id, col(MemberRow.left_at).is_(None))
        .order_by(GroupRow.name, col(GroupRow.id), col(MemberRow.id))
    )
    rows = list(session.exec(found))
    members = [member.id for member, _ in rows]
    names = member_names(session, [member for member, _ in rows])
    asked = (
        select(CylinderOutRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == CylinderOutRow.cylinder_id)
        .where(col(CylinderOutRow.member_id).in_(members), col(CylinderOutRow.back_at).is_(None))
    )
    outs = {out.member_id: (out, cylinder) for out, cylinder in session.exec(asked)}
    ends = _end_pressures(session, [out for out, _ in outs.values()])
    divers = []
    for member, group in rows:
        out, cylinder = outs.get(member.id or 0, (None, None))
        divers.append(
            Diver(member, group, names.get(member.id or 0, ""), out, cylinder, ends.get(member.id or 0))
        )
    parts = {"guide": 0, "assistant": 1}
    return sorted(divers, key=lambda one: (one.group.name, one.group.id or 0, parts.get(one.member.part, 2)))


def needs_of(session: Session, day: date, now: datetime) -> list[SlotNeed]:
    """Return what the slots of a day that are not over yet ask for: booked guests, and staff in groups."""
    length = timedelta(minutes=limits_now(session)[SLOT_LENGTH].number or 0)
    slots = [view for view in slots_of(session, day) if view.slot.starts_at + length > now]
    found = (
        select(GroupRow.slot_id, MemberRow)
        .join(MemberRow, col(MemberRow.group_id) == GroupRow.id)
        .where(
            col(GroupRow.slot_id).in_([view.slot.id for view in slots]),
            col(GroupRow.closed_at).is_(None),
            col(MemberRow.left_at).is_(None),
        )
    )
    rows = list(session.exec(found))
    with_cylinder = set(
        session.exec(
            select(CylinderOutRow.member_id).where(
                col(CylinderOutRow.back_at).is_(None),
                col(CylinderOutRow.member_id).in_([member.id for _, member in rows]),
            )
        )
    )
    return [
        SlotNeed(
            view,
            view.taken + sum(1 for slot, member in rows if slot == view.slot.id and member.guest_id is None),
            sum(1 for slot, member in rows if slot == view.slot.id and member.id in with_cylinder),
        )
        for view in slots
    ]


def _end_pressures(session: Session, outs: list[CylinderOutRow]) -> dict[int, float]:
    given = {(out.member_id, out.cylinder_id): out.given_at for out in outs}
    rows = session.exec(
        select(PressureRow)
        .where(col(PressureRow.member_id).in_([out.member_id for out in outs]), PressureRow.moment == "end")
        .order_by(col(PressureRow.id))
    )
    return {
        row.member_id: row.bar
        for row in rows
        if (at := given.get((row.member_id, row.cylinder_id))) is not None and row.at >= at
    }

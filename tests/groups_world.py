"""Guests, groups and cylinders for tests, written directly: the pages under test do the rest."""

from datetime import UTC, date, datetime

from sqlmodel import select

from app.records.tables.cylinders import CylinderRow, FillRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.parties import ConditionsRow, GuestRow, PartyRow
from app.records.tables.people import PersonRow
from app.records.tables.water import WaterEventRow
from tests.web_world import World

NOON = datetime(2026, 7, 15, 8, 0, tzinfo=UTC)


def book(world: World, *names: str, slot_id: int = 1, born: int = 1990, languages: str = "en") -> list[int]:
    """Book a party of guests and return their numbers; the party bears the first name."""
    with world.act() as act:
        party = act.add(
            PartyRow(
                ref=f"party-{names[0]}", slot_id=slot_id, contact_name=f"{names[0]} Vale", booked_at=NOON
            )
        )
        rows = [
            act.add(
                GuestRow(
                    ref=f"ref-{name}",
                    party_id=party.id or 0,
                    full_name=f"{name} Vale",
                    call_name=name,
                    birth_date=date(born, 1, 1),
                    height_cm=172,
                    mass_kg=70,
                    shoe_size=41,
                    languages=languages,
                    flight_told="none",
                )
            )
            for name in names
        ]
        return [row.id or 0 for row in rows]


def person_id(world: World, name: str) -> int:
    """Return the number of somebody on the team."""
    with world.house.store.reading() as session:
        row = session.exec(select(PersonRow).where(PersonRow.name == name)).one()
        return row.id or 0


def look_at_water(world: World, slot_id: int = 1, grade: str = "good", visibility_m: float = 12) -> None:
    """Write a look at the water."""
    with world.act() as act:
        act.add(
            ConditionsRow(
                slot_id=slot_id,
                grade=grade,
                visibility_m=visibility_m,
                current_m_s=0.1,
                sea="calm",
                water_temp_c=16,
                seen_by_id=1,
                seen_by="Ivo Instructor",
                at=world.clock(),
            )
        )


def group_of(
    world: World, guests: list[int], guide: str = "Ines Instructor", name: str = "A", slot_id: int = 1
) -> int:
    """Make a group as it stands, without asking any gate, and return its number."""
    guide_id = person_id(world, guide)
    with world.act() as act:
        group = act.add(GroupRow(slot_id=slot_id, name=name, depth_m=8, minutes=18))
        shared = {"group_id": group.id or 0, "joined_at": world.clock(), "joined_by": "a test"}
        act.add(MemberRow(part="guide", person_id=guide_id, **shared))
        for guest_id in guests:
            act.add(MemberRow(part="guest", guest_id=guest_id, **shared))
        return group.id or 0


def members_of(world: World, group_id: int) -> dict[str, int]:
    """Return the member numbers of who is in a group now, by name."""
    from app.records.groups.groups import members

    with world.house.store.reading() as session:
        return {one.name: one.row.id or 0 for one in members(session, group_id)}


def water_event(world: World, group_id: int, member_id: int, event: str) -> None:
    """Write that somebody went in or is back."""
    with world.act() as act:
        act.add(
            WaterEventRow(
                group_id=group_id,
                member_id=member_id,
                event=event,
                happened_at=world.clock(),
                at=world.clock(),
                by="a test",
            )
        )


def give_cylinders(world: World, group_id: int, bar: float = 200, litres: float = 15) -> None:
    """Give everybody of a group a freshly filled cylinder, 30 degrees warm."""
    numbers = members_of(world, group_id)
    with world.act() as act:
        for member_id in numbers.values():
            row = act.add(
                CylinderRow(
                    number=f"{group_id}-{member_id}",
                    litres=litres,
                    working_pressure_bar=232,
                    last_visual=date(2026, 3, 1),
                    last_pressure_test=date(2025, 3, 1),
                )
            )
            at = world.clock()
            act.add(
                FillRow(
                    cylinder_id=row.id or 0, start_bar=20, end_bar=bar, temp_c=30, at=at, by_id=1, by="a test"
                )
            )
            act.add(
                CylinderOutRow(cylinder_id=row.id or 0, member_id=member_id, given_at=at, given_by="a test")
            )

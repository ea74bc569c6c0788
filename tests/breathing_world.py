"""Simulated dives of a shop with a known truth, stored as closed dives. No real people; seeds are stated."""

import random
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import exp

from sqlmodel import Session, select

from app.planning.air import density, pressure_of
from app.planning.breathing import effective_minutes, predict, prior
from app.planning.consumption import Sea
from app.planning.water import STANDARD_SURFACE_BAR
from app.records.plans.logged_dives import mean_depth_m
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.water import PressureRow, WaterEventRow
from tests.web_world import START, World

# The water of the tests' first site, where all these dives are.
WATER_C = 17.0
SEA = Sea(WATER_C, 1025.5, STANDARD_SURFACE_BAR)


def believed(mass_kg: float) -> float:
    """Return the middle rate in L/min that is believed before the first dive."""
    return predict(prior(), mass_kg).expected_l_min


@dataclass(frozen=True)
class Dive:
    """One simulated dive: bar as the gauges were read, litres, minutes, greatest depth in m, kg."""

    start_bar: float
    end_bar: float
    litres: float
    minutes: float
    depth_m: float
    mass_kg: float


def simulated(seed: int, count: int, factor: float = 1.0, spread: float = 0.24) -> list[Dive]:
    """Return dives of guests who breathe ``factor`` times what is believed before the first dive."""
    chance = random.Random(seed)
    dives = []
    for _ in range(count):
        mass = chance.uniform(50, 100)
        rate = factor * believed(mass) * exp(chance.gauss(0, spread))
        minutes, depth = float(chance.randint(14, 24)), float(chance.choice((5, 6, 7, 8)))
        mean = mean_depth_m(depth, minutes, stopped=True)
        used_g_l = rate * effective_minutes(minutes) * density(SEA.pressure(mean), WATER_C) / 12
        start = chance.uniform(190, 205)
        held = density(start + SEA.surface_bar, WATER_C) - used_g_l
        end = max(5.0, pressure_of(held, WATER_C) - SEA.surface_bar + chance.gauss(0, 3))
        dives.append(Dive(round(start), round(end), 12, minutes, depth, round(mass, 1)))
    return dives


def store(
    world: World,
    dives: list[Dive],
    days_ago: float = 20,
    guide_id: int | None = None,
    guest_id: int | None = None,
) -> list[int]:
    """Store dives as closed dives, all in one act, and return their members' numbers.

    Each is another guest's unless a guide or one guest is named.
    """
    numbers = []
    with world.act() as act:
        began = START - timedelta(days=days_ago)
        slot = act.add(SlotRow(day=began.date(), clock="10:00", starts_at=began, site_id=1, places=999))
        party = act.add(
            PartyRow(ref=f"log-{slot.id}", slot_id=slot.id or 0, contact_name="Log", booked_at=began)
        )
        cylinder = act.add(
            CylinderRow(
                number=f"L{slot.id}",
                litres=dives[0].litres,
                working_pressure_bar=232,
                last_visual=date(2026, 3, 1),
                last_pressure_test=date(2025, 3, 1),
            )
        )
        for number, dive in enumerate(dives):
            went = began + timedelta(minutes=number)
            group = GroupRow(
                slot_id=slot.id or 0,
                name=f"{slot.id}.{number}",
                depth_m=dive.depth_m,
                minutes=dive.minutes,
                entered_at=went,
                closed_at=went + timedelta(hours=1),
                closed_by="a test",
                greatest_depth_m=dive.depth_m,
                stop_done=True,
                happened="nothing",
            )
            act.session.add(group)
            guest = GuestRow(
                ref=f"log-{slot.id}-{number}",
                party_id=party.id or 0,
                full_name=f"Logged {number}",
                call_name=f"Logged {number}",
                birth_date=date(1990, 1, 1),
                height_cm=172,
                mass_kg=dive.mass_kg,
                shoe_size=41,
            )
            act.session.add(guest)
            act.session.flush()
            whose = {"guest_id": guest_id or guest.id} if guide_id is None else {"person_id": guide_id}
            part = "guest" if guide_id is None else "guide"
            member = MemberRow(group_id=group.id or 0, part=part, joined_at=went, joined_by="a test", **whose)
            act.session.add(member)
            act.session.flush()
            _log(act.session, group.id or 0, member.id or 0, cylinder.id or 0, dive, went)
            numbers.append(member.id or 0)
    return numbers


def _log(
    session: Session, group_id: int, member_id: int, cylinder_id: int, dive: Dive, went: datetime
) -> None:
    back = went + timedelta(minutes=dive.minutes)
    session.add(
        CylinderOutRow(
            cylinder_id=cylinder_id,
            member_id=member_id,
            given_at=went,
            given_by="a test",
            back_at=back,
            back_by="a test",
        )
    )
    for moment, bar, at in (("start", dive.start_bar, went), ("end", dive.end_bar, back)):
        session.add(
            PressureRow(
                member_id=member_id,
                cylinder_id=cylinder_id,
                moment=moment,
                bar=bar,
                read_value=bar,
                by="a test",
                at=at,
            )
        )
    for event, at in (("in", went), ("back", back)):
        session.add(
            WaterEventRow(
                group_id=group_id, member_id=member_id, event=event, happened_at=at, at=at, by="a test"
            )
        )


def put_right(world: World, member_id: int, bar: float, moment: str = "end") -> None:
    """Write one pressure once more, as putting right does."""
    with world.act() as act:
        before = act.session.exec(select(PressureRow).where(PressureRow.member_id == member_id)).first()
        assert before is not None
        act.add(
            PressureRow(
                member_id=member_id,
                cylinder_id=before.cylinder_id,
                moment=moment,
                bar=bar,
                read_value=bar,
                correction="misread",
                by="a test",
                at=world.clock(),
            )
        )

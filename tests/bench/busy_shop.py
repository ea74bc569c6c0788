"""A busy shop of several years, made by bulk insert with a whole chain, for measuring backups and checks.

Every row has its entry, written as the actions write theirs: personal values sealed, values old and new,
entries chained. Guests, parties, slots, groups, members, pressures, water events and counts.
"""

import json
import os
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlmodel import Session, SQLModel

from app.actions.act import PROGRAM, acting
from app.records.store import trail
from app.records.store.house import House, open_house
from app.records.tables.base import Row
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import ShopRow, SiteRow, TrailRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.people import PersonRow
from app.records.tables.water import CountRow, PressureRow, WaterEventRow
from app.settings.config import Settings

FIRST_DAY = date(2021, 1, 4)
SLOTS_A_DAY, PARTIES_A_SLOT, GUESTS_A_PARTY = 7, 4, 2
GUESTS_A_DAY = SLOTS_A_DAY * PARTIES_A_SLOT * GUESTS_A_PARTY
WHO = "Odile Marsh"


class Writer:
    """Numbers rows, chains their entries and inserts both in bulk."""

    def __init__(self, session: Session, house: House) -> None:
        self.session, self.house = session, house
        self.key = house.master.named("trail")
        self.number, self.chain = trail.head(session)
        self.numbers: dict[type[Row], int] = {}
        self.waiting: dict[type[Row], list[dict[str, Any]]] = {}
        self.entries: list[dict[str, Any]] = []

    def act(self, verb: str, at: datetime, *rows: Row) -> None:
        """Write rows as one act of its own."""
        changes = []
        for row in rows:
            kind: Any = type(row)
            values = row.model_dump()
            if values["id"] is None:
                values["id"] = self.numbers[kind] = self.numbers.get(kind, 0) + 1
                row.id = values["id"]  # type: ignore[attr-defined]
            self.waiting.setdefault(kind, []).append(values)
            columns = {
                name: [None, self._told(row, name, trail.plain(value))]
                for name, value in values.items()
                if name not in ("id", "version") and value not in (None, "")
            }
            changes.append([kind.__tablename__, str(values["id"]), columns])
        self.number += 1
        entry = TrailRow(
            id=self.number, at=at, person_id=1, who=WHO, role="desk", device="", act=verb,
            record=changes[0][0], record_id=changes[0][1], changes=json.dumps(changes, ensure_ascii=False),
        )  # fmt: skip
        entry.chain = self.chain = trail.link_of(self.key, self.chain, entry)
        self.entries.append(entry.model_dump())

    def flush(self) -> None:
        """Insert what waits."""
        for table in SQLModel.metadata.sorted_tables:
            for kind, rows in self.waiting.items():
                if kind.__tablename__ == table.name and rows:
                    self.session.execute(table.insert(), rows)
                    rows.clear()
        self.session.execute(_table(TrailRow).insert(), self.entries)
        self.entries.clear()

    def _told(self, row: Row, name: str, value: Any) -> Any:
        owner = row.key_owner()
        if name not in row.personal or owner is None:
            return value
        return {"sealed": self.house.ring.seal(owner, f"trail:{name}", json.dumps(value)), "of": owner}


def make(folder: Path, guests: int) -> House:
    """Make the shop in a new folder and return it open."""
    house = open_house(Settings(data=folder))
    with acting(house, PROGRAM, "made_for_a_measurement") as act:
        act.add(ShopRow(name="Harbour Steps", timezone="Europe/Lisbon"))
        act.add(SiteRow(name="Long Jetty"))
        act.add(PersonRow(name=WHO, roles="desk instructor"))
        for number in range(60):
            act.add(CylinderRow(number=f"H{number}", litres=12, working_pressure_bar=232))
    # Each key of its own would wait for the disk: the whole crowd's keys are one transaction here.
    house.ring._file.execute("BEGIN")
    with house.store.writing() as session:
        writer = Writer(session, house)
        for number in range(-(-guests // GUESTS_A_DAY)):
            _day(writer, FIRST_DAY + timedelta(days=number))
            writer.flush()
    house.ring._file.execute("COMMIT")
    house.head.note(writer.number, writer.chain)
    return house


def _day(writer: Writer, day: date) -> None:
    for slot_number in range(SLOTS_A_DAY):
        at = datetime(day.year, day.month, day.day, 7 + slot_number, 30, tzinfo=UTC)
        slot = SlotRow(day=day, clock=f"{8 + slot_number:02d}:30", starts_at=at, site_id=1, places=8)
        writer.act("add_slot", at, slot)
        divers: list[GuestRow] = []
        for _ in range(PARTIES_A_SLOT):
            party = PartyRow(
                ref=os.urandom(8).hex(), slot_id=slot.id or 0, contact_name="Quillon Ashmere",
                phone="555 0100", email="quillon@example.com", booked_at=at - timedelta(days=9),
            )  # fmt: skip
            writer.act("book_party", at, party)
            people = [
                GuestRow(
                    ref=os.urandom(8).hex(), party_id=party.id or 0, full_name="Quillon Ashmere",
                    call_name="Quill", birth_date=date(1990, 1, 2), height_cm=180, mass_kg=80, shoe_size=43,
                )
                for _ in range(GUESTS_A_PARTY)
            ]  # fmt: skip
            writer.act("add_guest", at, *people)
            divers += people
        for pair in zip(divers[::2], divers[1::2], strict=True):
            _dive(writer, slot, list(pair), at)


def _dive(writer: Writer, slot: SlotRow, divers: list[GuestRow], at: datetime) -> None:
    group = GroupRow(
        slot_id=slot.id or 0, name="A", depth_m=8, minutes=30, entered_at=at, closed_at=at, closed_by=WHO,
        greatest_depth_m=7.5, stop_done=True, ascent="slower", happened="nothing",
    )  # fmt: skip
    writer.act("make_group", at, group)
    members = [
        MemberRow(group_id=group.id or 0, part="guest", guest_id=one.id, joined_at=at, joined_by=WHO)
        for one in divers
    ]
    members.append(MemberRow(group_id=group.id or 0, part="guide", person_id=1, joined_at=at, joined_by=WHO))
    writer.act("put_in_group", at, *members)
    for moment, bar in (("start", 200.0), ("end", 100.0)):
        said = {"moment": moment, "bar": bar, "read_value": bar, "by": WHO, "at": at}
        readings = [PressureRow(member_id=one.id or 0, cylinder_id=1, **said) for one in members]
        writer.act("read_pressures", at, *readings)
    for event, way in (("in", "out"), ("back", "in")):
        writer.act("go_in", at, *_events(group, members, event, at))
        told = {"way": way, "method": "heads", "counted": 3, "expected": 3, "agrees": True, "counter": WHO}
        writer.act("count_heads", at, CountRow(group_id=group.id or 0, at=at, **told))


def _events(group: GroupRow, members: list[MemberRow], event: str, at: datetime) -> Iterator[WaterEventRow]:
    for one in members:
        yield WaterEventRow(
            group_id=group.id or 0, member_id=one.id or 0, event=event, happened_at=at, at=at, by=WHO
        )


def _table(kind: Any) -> Any:
    return kind.__table__

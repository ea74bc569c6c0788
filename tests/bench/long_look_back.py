"""Years of closed days laid over a busy shop: fills, cylinders out, skills, incidents, seals, corrections."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import text
from sqlmodel import Session

from app.actions.act import PROGRAM, acting
from app.records.look_back.day_seal import make_seal
from app.records.store import trail
from app.records.store.house import House, open_house
from app.records.tables.base import Row
from app.records.tables.cylinders import CompressorRow, CylinderRow, FillRow
from app.records.tables.days import DayRow, IncidentRow
from app.records.tables.groups import CylinderOutRow, MemberRow
from app.records.tables.house import ShopRow, SiteRow, TrailRow
from app.records.tables.incidents import DayNoteRow
from app.records.tables.people import PersonRow
from app.records.tables.water import PressureRow, SkillRow, WaterEventRow
from app.rules.sign_off import SKILLS
from app.settings.config import Settings
from tests.bench import busy_shop
from tests.bench.busy_shop import FIRST_DAY, WHO, Writer

CYLINDERS = 60
# Every so many days something of a closed day is put right later.
AMENDED_EVERY = 5
SKILL_DAYS = 365


class LongWriter(Writer):
    """A writer whose dives have one cylinder for each diver, minutes and ends that differ, and skills."""

    skills = False
    turn = 0

    def act(self, verb: str, at: datetime, *rows: Row) -> None:
        """Write rows as one act; what belongs to a diver is given its cylinder and its figures."""
        for row in rows:
            if isinstance(row, PressureRow):
                row.cylinder_id = row.member_id % CYLINDERS + 1
                if row.moment == "end":
                    row.bar = row.read_value = float(70 + row.member_id * 7 % 60)
                    row.at = at + timedelta(minutes=30)
            if isinstance(row, WaterEventRow) and row.event == "back":
                row.happened_at = at + timedelta(minutes=22 + row.member_id % 8)
        super().act(verb, at, *rows)
        for row in rows:
            if isinstance(row, MemberRow):
                self._with_cylinder(row, at)

    def _with_cylinder(self, member: MemberRow, at: datetime) -> None:
        number = member.id or 0
        cylinder = number % CYLINDERS + 1
        before, after = at - timedelta(minutes=40), at + timedelta(minutes=40)
        fill = FillRow(cylinder_id=cylinder, start_bar=70, end_bar=200, temp_c=20, at=before, by_id=1, by=WHO)
        out = CylinderOutRow(
            cylinder_id=cylinder, member_id=number, given_at=before + timedelta(minutes=10), given_by=WHO,
            back_at=after, back_by=WHO,
        )  # fmt: skip
        super().act("fill", before, fill)
        super().act("give_cylinder", before, out)
        if self.skills and member.guest_id is not None:
            seen = [
                SkillRow(
                    guest_id=member.guest_id, group_id=member.group_id, skill=key, by_id=1, by=WHO, at=at,
                    outcome="needs-work" if (number + place) % 9 == 0 and told == 0 else "shown",
                )
                for place, key in enumerate(SKILLS)
                for told in range(2 if (number + place) % 9 == 0 else 1)
            ]  # fmt: skip
            super().act("sign_off", at, *seen)

    def edit(self, verb: str, at: datetime, row: IncidentRow, name: str, value: str) -> None:
        """Change one column of a row that is in the store, with its entry."""
        changes = [["incident", str(row.id), {name: [getattr(row, name), value]}]]
        self.number += 1
        entry = TrailRow(
            id=self.number, at=at, person_id=1, who=WHO, role="manager", device="", act=verb,
            record="incident", record_id=str(row.id), changes=json.dumps(changes),
        )  # fmt: skip
        entry.chain = self.chain = trail.link_of(self.key, self.chain, entry)
        self.entries.append(entry.model_dump())
        told = text(f"UPDATE incident SET {name} = :value WHERE id = :id")
        self.session.execute(told, {"value": value, "id": row.id})


def make_long(folder: Path, days: int) -> House:
    """Make the shop in a new folder and return it open."""
    house = open_house(Settings(data=folder))
    with acting(house, PROGRAM, "made_for_a_measurement") as act:
        act.add(ShopRow(name="Harbour Steps", timezone="Europe/Lisbon"))
        act.add(SiteRow(name="Long Jetty"))
        act.add(PersonRow(name=WHO, roles="manager desk instructor"))
        for number in range(CYLINDERS):
            act.add(CylinderRow(number=f"H{number}", litres=12, working_pressure_bar=232))
    house.ring._file.execute("BEGIN")
    with house.store.writing() as session:
        writer = LongWriter(session, house)
        for number in range(days):
            writer.skills = number >= days - SKILL_DAYS
            _day(writer, session, house, FIRST_DAY + timedelta(days=number), number)
    house.ring._file.execute("COMMIT")
    house.head.note(writer.number, writer.chain)
    return house


def _day(writer: LongWriter, session: Session, house: House, day: date, number: int) -> None:
    busy_shop._day(writer, day)
    evening = datetime(day.year, day.month, day.day, 18, tzinfo=UTC)
    writer.act("read_hours", evening, CompressorRow(hours=number * 3.0, at=evening, by=WHO))
    incident = IncidentRow(
        day=day, happened_at=evening, severity="near-miss", category="technique",
        made_by="end_pressure_min", what="Back under the reserve.", written_at=evening, written_by="Daybuoy",
        read_at=evening, read_by=WHO,
    )  # fmt: skip
    writer.act("close_dive", evening, incident)
    writer.flush()
    closed = DayRow(day=day, closed_at=evening, closed_by=WHO, persons_in=84, persons_back=84)
    seal = make_seal(session, house.master, day, evening)
    # The head of the trail in the store is the writer's once it has flushed.
    writer.act("close_day", evening, closed, seal)
    if number % AMENDED_EVERY == 0:
        later = evening + timedelta(days=1)
        writer.edit("correct_incident", later, incident, "severity", "minor")
        writer.act("add_to_day", later, DayNoteRow(day=day, note="Seen again.", by=WHO, at=later))
    writer.flush()

"""The demo shop: rich enough to show the whole job, the same every time, at eleven in the morning."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import Session, col, select

from app.records.gas_room.cylinders import cylinder_board
from app.records.groups.groups import groups_of
from app.records.health.health import standing
from app.records.store import trail
from app.records.store.house import House
from app.records.tables.cylinders import CylinderRow, FillRow
from app.records.tables.days import DayRow, IncidentRow
from app.records.tables.groups import PlanRow
from app.records.tables.house import TrailRow
from app.records.tables.kit import KitItemRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.people import PersonRow
from app.records.water_side.water import in_the_water
from app.settings.config import Settings
from seed_demo.make import SIGN_INS, open_demo

MORNING = datetime(2026, 7, 15, 6, 12, tzinfo=UTC)
TODAY = MORNING.date()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    folder = tmp_path_factory.mktemp("demo") / "demo-data"
    house = open_demo(Settings(data=folder, demo=True), lambda: MORNING)
    yield house
    house.close()


def all_of(session: Session, kind: Any) -> list[Any]:
    return list(session.exec(select(kind).order_by(col(kind.id))))


def test_the_shop_is_as_rich_as_a_real_one(demo: House) -> None:
    with demo.store.reading() as session:
        assert len(all_of(session, GuestRow)) >= 30
        assert len(all_of(session, PartyRow)) >= 10
        assert sum(bool(one.grade) for one in all_of(session, PersonRow)) >= 5
        assert len(all_of(session, CylinderRow)) == 24
        assert {one.kind for one in all_of(session, KitItemRow)} >= {
            "suit",
            "jacket",
            "boots",
            "fins",
            "mask",
        }
        assert {one.state for one in all_of(session, PartyRow)} == {"booked", "cancelled", "no-show"}
        states = {view.state.value for view in cylinder_board(session, TODAY)}
        assert {"full", "part", "in use", "out of test", "not read"} <= states, states


def test_today_stands_at_eleven_half_run(demo: House) -> None:
    assert demo.clock() == datetime(2026, 7, 15, 10, 0, tzinfo=UTC)
    with demo.store.reading() as session:
        steps = [view.step[0] for view in groups_of(session, TODAY)]
        assert (
            steps.count("dive closed") == 2 and steps.count("in the water") == 1 and "getting ready" in steps
        )
        assert {one.name for one in in_the_water(session)} == {"Bram Keelan", "Henrike", "Malte"}


def test_there_is_a_hold_a_letter_and_somebody_not_asked_yet(demo: House) -> None:
    with demo.store.reading() as session:
        today = all_of(session, GuestRow)
        words = {one.outcome for one in standing(session, demo, today, TODAY).values()}
    assert {"CLEARED", "TALK", "LETTER", None} <= words


def test_yesterday_is_closed_with_a_near_miss_made_by_the_program(demo: House) -> None:
    with demo.store.reading() as session:
        closed = all_of(session, DayRow)
        assert [one.day.isoformat() for one in closed] == ["2026-07-14"]
        made = {one.made_by for one in all_of(session, IncidentRow)}
        assert made == {"hand", "end_pressure_min"}
        assert all(one.read_at is not None for one in all_of(session, IncidentRow))
        assert len(all_of(session, PlanRow)) >= 7


def test_sign_ins_are_written_for_the_demo_only_and_the_trail_is_whole(demo: House) -> None:
    path = demo.settings.data / SIGN_INS
    rows = json.loads(path.read_text(encoding="utf-8"))
    assert path.stat().st_mode & 0o777 == 0o600
    assert {"person", "roles", "passphrase", "pin"} == set(rows[0])
    assert {role for row in rows for role in row["roles"]} == {
        "desk",
        "instructor",
        "lead",
        "keeper",
        "manager",
    }
    with demo.store.reading() as session:
        assert trail.first_wrong(session, demo.master.named("trail")) is None
        verbs = {one.act for one in all_of(session, TrailRow)}
    assert {
        "book_party",
        "give_cylinder",
        "issue_plan",
        "go_in",
        "mark_back",
        "close_dive",
        "close_day",
    } <= verbs


def test_two_tellings_are_alike_and_a_second_start_goes_on(tmp_path: Path, demo: House) -> None:
    settings = Settings(data=tmp_path / "again", demo=True)
    again = open_demo(settings, lambda: MORNING)

    def told(house: House) -> list[Any]:
        with house.store.reading() as session:
            return [
                [(g.full_name, g.birth_date, g.mass_kg) for g in all_of(session, GuestRow)],
                [(s.day, s.clock, s.places) for s in all_of(session, SlotRow)],
                [(f.cylinder_id, f.start_bar, f.end_bar, f.at) for f in all_of(session, FillRow)],
                [(p.group_id, p.number, p.answer, p.issued_at) for p in all_of(session, PlanRow)],
                [(t.act, t.who, t.at) for t in all_of(session, TrailRow)],
            ]

    assert told(again) == told(demo)
    again.close()
    later = open_demo(settings, lambda: datetime(2026, 9, 1, 6, 0, tzinfo=UTC))
    assert later.clock().date() == TODAY, "the demo's clock stood still while it was closed"
    assert told(later) == told(demo)
    later.close()


def test_a_story_that_was_cut_off_is_told_anew(tmp_path: Path) -> None:
    from app.records.store.house import open_house

    settings = Settings(data=tmp_path / "cut", demo=True)
    open_house(settings).close()
    house = open_demo(settings, lambda: MORNING)
    assert (settings.data / SIGN_INS).exists()
    house.close()

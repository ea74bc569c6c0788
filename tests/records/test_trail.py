"""The trail: complete, sealed where it is personal, and whole or found out."""

import json
import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlmodel import col, select

from app.actions.act import PROGRAM, Clash, acting
from app.cli import main
from app.records.store import trail
from app.records.store.check import check_folder, short_head
from app.records.store.head import HEAD, Head
from app.records.store.house import DATABASE, SECRET, House, open_house
from app.records.store.sealing import MasterKey, Sealed
from app.records.tables.house import SiteRow, TrailRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.settings.config import Settings


def shop(folder: Path) -> House:
    house = open_house(Settings(data=folder))
    with acting(house, PROGRAM, "add_site") as act:
        site = act.add(SiteRow(name="Long Jetty"))
    with acting(house, PROGRAM, "book_party") as act:
        slot = act.add(
            SlotRow(
                day=date(2026, 7, 15),
                clock="10:30",
                starts_at=datetime(2026, 7, 15, 9, 30, tzinfo=UTC),
                site_id=site.id or 0,
                places=4,
            )
        )
        party = act.add(
            PartyRow(
                ref="p1",
                slot_id=slot.id or 0,
                contact_name="Quillon Ashmere",
                phone="555 0100",
                booked_at=act.now,
            )
        )
        act.add(
            GuestRow(
                ref="g1",
                party_id=party.id or 0,
                full_name="Quillon Ashmere",
                call_name="Quill",
                birth_date=date(1990, 1, 2),
                height_cm=180,
                mass_kg=80,
                shoe_size=43,
            )
        )
    with acting(house, PROGRAM, "edit_site") as act:
        act.edit(act.get(SiteRow, site.id), 1, {"name": "Old Jetty"}, {"name": "Site"})
    return house


def test_one_entry_for_each_act_with_old_and_new(tmp_path: Path) -> None:
    house = shop(tmp_path / "shop")
    with house.store.reading() as session:
        entries = list(session.exec(select(TrailRow).order_by(col(TrailRow.id))))
    assert [entry.act for entry in entries] == ["add_site", "book_party", "edit_site"]
    assert json.loads(entries[2].changes) == [["site", "1", {"name": ["Long Jetty", "Old Jetty"]}]]
    assert {change[0] for change in json.loads(entries[1].changes)} == {"slot", "party", "guest"}
    house.close()


def test_personal_values_are_sealed_and_opened_only_with_the_persons_key(tmp_path: Path) -> None:
    house = shop(tmp_path / "shop")
    with house.store.reading() as session:
        booked = session.exec(select(TrailRow).where(TrailRow.act == "book_party")).one()
    assert "Ashmere" not in booked.changes and "555 0100" not in booked.changes
    guest = next(change for change in json.loads(booked.changes) if change[0] == "guest")
    sealed = guest[2]["full_name"][1]["sealed"]
    assert json.loads(house.ring.open("guest:g1", "trail:full_name", sealed)) == "Quillon Ashmere"
    with pytest.raises(Sealed):
        house.ring.open("guest:g1", "trail:call_name", sealed)
    house.ring.destroy("guest:g1")
    with pytest.raises(Sealed):
        house.ring.open("guest:g1", "trail:full_name", sealed)
    with house.store.reading() as session:
        assert trail.first_wrong(session, house.master.named("trail")) is None
    house.close()


def test_an_act_that_raises_leaves_nothing(tmp_path: Path) -> None:
    house = shop(tmp_path / "shop")
    with pytest.raises(Clash), acting(house, PROGRAM, "edit_site") as act:
        act.add(SiteRow(name="Quarry"))
        act.edit(act.get(SiteRow, 1), 1, {"name": "Other"}, {})
    with house.store.reading() as session:
        assert len(list(session.exec(select(SiteRow)))) == 1
        assert len(list(session.exec(select(TrailRow)))) == 3
    house.close()


@pytest.mark.parametrize(
    ("tamper", "says"),
    [
        ("UPDATE trail SET who = 'Somebody' WHERE id = 2", "entry 2"),
        ("UPDATE trail SET changes = replace(changes, 'Old', 'New') WHERE id = 3", "entry 3"),
        ("DELETE FROM trail WHERE id = 2", "entry 2"),
        ("UPDATE trail SET id = id + 1 WHERE id = 3", "entry 3"),
        ("UPDATE trail SET id = 100 WHERE id = 1; UPDATE trail SET id = 1 WHERE id = 2", "entry 1"),
    ],
)
def test_what_is_changed_behind_the_programs_back_is_named(tmp_path: Path, tamper: str, says: str) -> None:
    folder = tmp_path / "shop"
    shop(folder).close()
    raw = sqlite3.connect(folder / DATABASE)
    for name in ("trail_no_update", "trail_no_delete"):
        raw.execute(f"DROP TRIGGER {name}")
    raw.executescript(tamper)
    raw.commit()
    raw.close()
    wrong, _ = check_folder(Settings(data=folder))
    assert wrong is not None and says in wrong


def test_verify_says_whole_or_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "shop"
    house = shop(folder)
    with house.store.reading() as session:
        code = short_head(*trail.head(session))
    house.close()
    assert main(["verify", "--data", str(folder), "--head", code]) == 0
    assert "3 entries" in capsys.readouterr().out
    raw = sqlite3.connect(folder / DATABASE)
    raw.execute("DROP TRIGGER trail_no_delete")
    raw.execute("DELETE FROM trail WHERE id = 3")
    raw.execute("UPDATE site SET name = 'Long Jetty', version = 1")
    raw.commit()
    raw.close()
    assert main(["verify", "--data", str(folder)]) == 1
    assert "the end was cut" in capsys.readouterr().err
    (folder / HEAD).unlink()
    assert main(["verify", "--data", str(folder)]) == 1
    assert "cannot be vouched for" in capsys.readouterr().err
    house = open_house(Settings(data=folder))
    with house.store.reading() as session:
        number, chain = trail.head(session)
    house.close()
    Head(folder, MasterKey(folder / SECRET)).note(number, chain)
    assert main(["verify", "--data", str(folder)]) == 0, "only a day sheet tells"
    capsys.readouterr()
    assert main(["verify", "--data", str(folder), "--head", code]) == 1
    assert "older copy" in capsys.readouterr().err
    assert main(["verify", "--data", str(tmp_path / "none")]) == 1

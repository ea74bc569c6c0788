"""Keeping and erasing through the store: stages, keys, columns, the trail, and older records put back."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from app.actions.health.retention import keep_and_erase, repeat_erasures
from app.cli import main
from app.records.backups.erasures import ERASED
from app.records.health import health_answers
from app.records.health.health_forms import forms_of, open_sheet, owner
from app.records.health.retention import record_of
from app.records.setup.shop import the_shop
from app.records.store.check import check_folder
from app.records.store.folder import DATABASE, KEYS
from app.records.store.house import open_house
from app.records.store.sealing import Sealed
from app.records.tables.groups import MemberRow
from app.records.tables.health import HealthFormRow
from app.records.tables.house import TrailRow
from app.records.tables.parties import GuestRow, PartyRow, name_once_erased
from app.records.tables.privacy import HoldRow, StageRow, TidyRow
from app.records.tables.water import WaterEventRow
from app.records.welcome.bookings import guest as guest_of
from app.rules.retention import Stage
from tests.health_world import add_guest, group_with, screened, stands
from tests.web_world import World, make_world

NAME, OTHER = "Zebulina", "Quentorix"
REF, OTHER_REF = "7f3a9c51d0", "b41e55aa02"


@dataclass
class Shop:
    """A world with two guests who were screened: one dived, one did not."""

    world: World
    dived: int
    stayed: int

    def days(self, count: int) -> None:
        """Let days pass."""
        self.world.clock.at += timedelta(days=count)

    def rows(self, kind: Any, **where: object) -> list[Any]:
        """Return the rows of a table, oldest first."""
        with self.world.house.store.reading() as session:
            return list(session.exec(select(kind).filter_by(**where).order_by(kind.id)))

    def stage(self, guest: int) -> Stage:
        """Return where a guest's record is."""
        with self.world.house.store.reading() as session:
            return record_of(session, guest, the_shop(session).day_of(self.world.clock())).stage

    def bytes_of(self, name: str) -> bytes:
        """Return a file of the data folder with its log."""
        folder = self.world.house.settings.data
        found = [folder / name, folder / f"{name}-wal"]
        return b"".join(one.read_bytes() for one in found if one.exists())


def dive(world: World, guest: int) -> None:
    """Let a guest go in and come back."""
    group = group_with(world, "Ines Instructor", guest)
    with world.act() as act:
        member = act.session.exec(select(MemberRow).where(MemberRow.guest_id == guest)).one()
        for event in ("in", "back"):
            act.add(
                WaterEventRow(
                    group_id=group, member_id=member.id or 0, event=event, happened_at=act.now, at=act.now,
                    by="test",
                )
            )  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """A day with one guest who dives and one who stays ashore, in a file whose bytes can be looked at."""
    monkeypatch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)
    world = make_world(tmp_path)
    dived, stayed = add_guest(world, NAME, ref=REF), add_guest(world, OTHER, ref=OTHER_REF)
    for guest in (dived, stayed):
        screened(world, guest, LUNG="Y")
    dive(world, dived)
    yield Shop(world, dived, stayed)
    world.house.close()


def test_a_record_is_sealed_after_the_live_days_and_erased_after_its_time(shop: Shop) -> None:
    shop.days(30)
    assert keep_and_erase(shop.world.house).words.startswith("0 sealed, 0 erased, 0 keys destroyed.")
    shop.days(1)
    done = keep_and_erase(shop.world.house)
    assert (done.newly_sealed, done.newly_erased, done.keys_destroyed) == (1, 1, 2)
    assert (shop.stage(shop.dived), shop.stage(shop.stayed)) == (Stage.SEALED, Stage.ERASED)
    assert stands(shop.world, shop.dived).word == stands(shop.world, shop.stayed).word
    assert stands(shop.world, shop.dived).reasons == (), "nothing lies behind the word any more"
    assert keep_and_erase(shop.world.house).newly_erased == 0
    shop.days(1300)
    done = keep_and_erase(shop.world.house)
    assert (done.newly_erased, done.waiting) == (0, 1), "a clock that jumped erases nothing by itself"
    assert "Look at the computer's date" in done.words
    shop.days(61)
    done = keep_and_erase(shop.world.house, asked=True)
    assert (done.newly_sealed, done.newly_erased, done.erased) == (0, 1, 2)
    stubs = shop.rows(StageRow, guest_ref=REF)
    assert [(one.stage, one.why) for one in stubs] == [("sealed", "day over"), ("erased", "time over")]
    assert stubs[1].outcome == "TALK" and stubs[1].rule_version and stubs[1].dived
    assert [one.newly_erased for one in shop.rows(TidyRow)] == [0, 1, 0, 0, 1]


def test_after_erasing_nobody_can_read_who_it_was_and_the_chain_is_whole(shop: Shop) -> None:
    house = shop.world.house
    sealed = shop.rows(HealthFormRow, guest_ref=REF)[0].answers
    assert NAME.encode() in shop.bytes_of(DATABASE)
    shop.days(31)
    keep_and_erase(house)
    shop.days(1300)
    assert keep_and_erase(house, asked=True).emptied
    for word in (NAME, OTHER):
        for name in (DATABASE, KEYS, ERASED):
            assert word.encode() not in shop.bytes_of(name), (word, name)
            assert word.lower().encode() not in shop.bytes_of(name), (word, name)
    guest, party = shop.rows(GuestRow)[0], shop.rows(PartyRow)[0]
    assert guest.full_name == guest.call_name == name_once_erased(REF) and guest.shoe_size == 0
    assert (guest.height_cm, guest.mass_kg) == (170, 70)
    assert (
        party.contact_name == name_once_erased(party.ref)
        and party.phone == ""
        and party.emergency_phone == ""
    )
    form = shop.rows(HealthFormRow, guest_ref=REF)[0]
    assert form.answers == form.signature == ""
    with pytest.raises(Sealed):
        house.ring.open(owner(REF), "answers", sealed)
    assert check_folder(house.settings)[0] is None
    entry = shop.rows(TrailRow, act="keep_and_erase")[-1]
    assert NAME not in "".join(row.changes for row in shop.rows(TrailRow)) and entry.who == "Daybuoy"


def test_what_is_written_about_an_erased_guest_makes_no_new_key(shop: Shop) -> None:
    house = shop.world.house
    shop.days(31)
    keep_and_erase(house)
    with pytest.raises(Sealed):
        house.ring.seal(owner(OTHER_REF), "answers", "anything")
    with shop.world.act("edit_guest") as act:
        act.edit(act.get(GuestRow, shop.stayed), None, {"full_name": "Somebody New"}, {})
    assert "Somebody" not in shop.rows(TrailRow)[-1].changes
    assert owner(OTHER_REF) not in house.ring.owners() and check_folder(house.settings)[0] is None


def test_a_hold_stops_erasing_and_its_release_lets_it_go_on(shop: Shop) -> None:
    def step(word: str) -> None:
        with shop.world.act("hold") as act:
            act.add(HoldRow(guest_ref=OTHER_REF, step=word, reason="a claim", by_id=1, by="test", at=act.now))

    step("held")
    shop.days(400)
    done = keep_and_erase(shop.world.house)
    assert (done.held, done.newly_erased, done.newly_sealed) == (1, 0, 2)
    assert shop.stage(shop.stayed) is Stage.SEALED
    step("released")
    assert keep_and_erase(shop.world.house).newly_erased == 1
    assert shop.stage(shop.stayed) is Stage.ERASED


def test_a_key_destroyed_makes_the_answers_unreadable_here_and_in_an_older_copy(
    shop: Shop, tmp_path: Path
) -> None:
    house, clock = shop.world.house, shop.world.clock
    with house.store.reading() as session:
        form = forms_of(session, [OTHER_REF], the_shop(session).day_of(clock()), the_shop(session).zone)
        signed = form[OTHER_REF].signed
        assert signed is not None and open_sheet(house, signed) is not None, "readable while live"
    old = tmp_path / "old.sqlite3"
    with (
        closing(sqlite3.connect(house.settings.data / DATABASE)) as live,
        closing(sqlite3.connect(old)) as copy,
    ):
        live.backup(copy)
    shop.days(31)
    keep_and_erase(house)
    house.close()
    shutil.copyfile(old, house.settings.data / DATABASE)
    back = open_house(house.settings, clock)
    try:
        with back.store.reading() as session:
            guest = guest_of(session, shop.stayed)
            assert guest.full_name.startswith(OTHER), "the older copy holds the name again"
            opened = health_answers.open_answers(session, back, guest, the_shop(session).day_of(clock()))
            row = session.exec(select(HealthFormRow).where(HealthFormRow.guest_ref == OTHER_REF)).one()
            assert row.answers and not opened.readable and open_sheet(back, row) is None
            for field in ("answers", "signature"):
                with pytest.raises(Sealed):
                    back.ring.open(owner(OTHER_REF), field, getattr(row, field))
        assert repeat_erasures(back) == 1 and repeat_erasures(back) == 0
        with back.store.reading() as session:
            assert guest_of(session, shop.stayed).full_name == name_once_erased(OTHER_REF)
            assert guest_of(session, shop.dived).full_name.startswith(NAME), "who was only sealed stays"
        assert OTHER.encode() not in (back.settings.data / DATABASE).read_bytes()
    finally:
        back.close()


def test_an_older_key_store_put_back_loses_the_keys_again(shop: Shop, tmp_path: Path) -> None:
    house, clock = shop.world.house, shop.world.clock
    with (
        closing(sqlite3.connect(house.settings.data / KEYS)) as live,
        closing(sqlite3.connect(tmp_path / "keys")) as copy,
    ):
        live.backup(copy)
    shop.days(31)
    keep_and_erase(house)
    house.close()
    shutil.copyfile(tmp_path / "keys", house.settings.data / KEYS)
    back = open_house(house.settings, clock)
    assert owner(OTHER_REF) in back.ring.owners()
    repeat_erasures(back)
    assert owner(OTHER_REF) not in back.ring.owners() and owner(REF) in back.ring.owners()
    back.close()


def test_the_list_of_the_erased_takes_only_lines_of_ours(shop: Shop) -> None:
    erasures = shop.world.house.erasures
    erasures.add(["guest:one"])
    with erasures.path.open("a", encoding="utf-8") as file:
        file.write("guest:planted 00ff\nguest:cut short 1234")
    erasures.add(["guest:one", "guest:two"])
    assert erasures.owners() == {"guest:one", "guest:two"}
    assert erasures.path.read_text("utf-8").count("guest:one ") == 1


def test_the_command_prints_counts_and_leaves_a_running_shop_alone(
    shop: Shop, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    house = shop.world.house
    monkeypatch.delenv("DAYBUOY_DATABASE_URL", raising=False)
    assert main(["tidy", "--data", str(house.settings.data)]) == 1
    assert "already runs" in capsys.readouterr().err
    assert main(["tidy", "--data", str(tmp_path / "nowhere")]) == 1
    assert "not a shop" in capsys.readouterr().err
    house.close()
    assert main(["tidy", "--data", str(house.settings.data)]) == 0
    said = capsys.readouterr().out
    assert "sealed" in said and NAME not in said and "Now" in said

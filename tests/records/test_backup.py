"""Backups: whole under writes, refused in plain words when they are not ours, and put back without harm."""

import errno
import os
import re
import shutil
import sqlite3
import threading
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import select

from app.actions.act import PROGRAM, acting
from app.actions.keep.restoring import put_back
from app.records.backups import backup, recovery, restore, sealed_file
from app.records.backups.backup import Checked, make_backup
from app.records.backups.sealed_file import CopyProblem, NeedsSheet
from app.records.store.check import check_folder
from app.records.store.db import make_engine, sqlite_url
from app.records.store.house import DATABASE, KEYS, SECRET, House, open_house
from app.records.store.migrate import to_revision
from app.records.store.problems import StoreProblem
from app.records.tables.house import ShopRow, SiteRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.people import VisitRow
from app.settings.config import Settings

NOW = datetime(2026, 7, 15, 3, 30, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Lisbon")


class Killed(BaseException):
    """The program was ended here."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed shop with one guest, made once."""
    folder = tmp_path_factory.mktemp("kept") / "data"
    house = open_house(Settings(data=folder))
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(ShopRow(name="Harbour Steps", timezone="Europe/Lisbon"))
        site = act.add(SiteRow(name="Long Jetty"))
        slot = act.add(SlotRow(day=NOW.date(), clock="10:30", starts_at=NOW, site_id=site.id or 0, places=4))
        party = act.add(
            PartyRow(ref="p1", slot_id=slot.id or 0, contact_name="Quillon Ashmere", booked_at=act.now)
        )
        act.add(
            GuestRow(
                ref="g1", party_id=party.id or 0, full_name="Quillon Ashmere", call_name="Quill",
                birth_date=NOW.date(), height_cm=180, mass_kg=80, shoe_size=43,
            )
        )  # fmt: skip
        act.session.add(VisitRow(token_hash="t", started_at=NOW, seen_at=NOW))
    house.close()
    return folder


@pytest.fixture
def data(kept: Path, tmp_path: Path) -> Path:
    shutil.copytree(kept, tmp_path / "data")
    return tmp_path / "data"


@pytest.fixture
def disk(tmp_path: Path) -> Path:
    (tmp_path / "disk").mkdir()
    return tmp_path / "disk"


def back_up(data: Path, disk: Path, now: datetime = NOW) -> Path:
    made = make_backup(Settings(data=data), disk, now, ZONE)
    assert made.guests == 1
    return backup.copies(disk, backup.DATA)[0].path


def add_site(data: Path, name: str) -> None:
    house = open_house(Settings(data=data))
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name=name))
    house.close()


def sites(house: House) -> set[str]:
    with house.store.reading() as session:
        return {one.name for one in session.exec(select(SiteRow))}


def sites_in(data: Path) -> set[str]:
    house = open_house(Settings(data=data))
    found = sites(house)
    house.close()
    return found


def rehearsed(data: Path, path: Path, typed: str | None = None) -> Checked:
    return restore.rehearse(Settings(data=data), restore.source(data, path, typed))


def put(data: Path, path: Path, typed: str | None = None) -> None:
    put_back(Settings(data=data), restore.source(data, path, typed))


def refusal(data: Path, path: Path, typed: str | None = None) -> str:
    before = (data / DATABASE).read_bytes() if data.exists() else b""
    with pytest.raises(StoreProblem) as caught:
        put(data, path, typed)
    assert "\n" not in str(caught.value)
    assert ((data / DATABASE).read_bytes() if data.exists() else b"") == before
    assert not list(data.glob("copying-*"))
    return str(caught.value)


def snapshot(folder: Path) -> dict[str, bytes]:
    return {str(one.relative_to(folder)): one.read_bytes() for one in folder.rglob("*") if one.is_file()}


def test_a_backup_taken_during_writes_holds_what_was_acknowledged_and_is_whole(
    data: Path, disk: Path, tmp_path: Path
) -> None:
    house = open_house(Settings(data=data))
    over, written = threading.Event(), [[], [], []]  # type: ignore[var-annotated]

    def write(number: int) -> None:
        while not over.is_set():
            name = f"Quay {number} {len(written[number])}"
            with acting(house, PROGRAM, "made_for_a_test") as act:
                act.add(SiteRow(name=name))
            written[number].append(name)

    threads = [threading.Thread(target=write, args=(number,)) for number in range(3)]
    for thread in threads:
        thread.start()
    try:
        while min(map(len, written)) < 5:
            over.wait(0.01)
        before = {name for names in written for name in names}
        checked = make_backup(house.settings, disk, NOW, ZONE)
    finally:
        over.set()
        for thread in threads:
            thread.join()
    everything = sites(house)
    house.close()
    path = backup.copies(disk, backup.DATA)[0].path
    words = recovery.read_sheets(data)[0].words
    put(tmp_path / "fresh", path, words)
    assert check_folder(Settings(data=tmp_path / "fresh"))[0] is None
    restored = sites_in(tmp_path / "fresh")
    assert before <= restored < everything | {"Long Jetty"}
    counts = checked.header.counts
    assert counts is not None and counts["site"] == len(restored) and counts["guest"] == 1


def test_a_restore_puts_the_old_aside_ends_sessions_and_says_how_far_it_reaches(
    data: Path, disk: Path
) -> None:
    path = back_up(data, disk)
    add_site(data, "Later")
    done = put_back(Settings(data=data), restore.source(data, path))
    assert done.sessions_ended == 1 and done.checked.guests == 1
    assert done.checked.header.reaches.startswith("20")
    with closing(sqlite3.connect(done.aside / DATABASE)) as old:
        assert old.execute("SELECT count(*) FROM site WHERE name = 'Later'").fetchone() == (1,)
    assert check_folder(Settings(data=data))[0] is None
    house = open_house(Settings(data=data))
    assert sites(house) == {"Long Jetty"}
    with house.store.reading() as session:
        visit = session.exec(select(VisitRow)).one()
        assert visit.ended_at is not None and visit.why_ended == "restored"
    house.close()
    # Its keys go as key copies do.
    backup.thin_asides(data, datetime.now(UTC) + timedelta(days=33))  # noqa: TID251 - named by the real clock
    assert (done.aside / KEYS).exists()
    backup.thin_asides(data, datetime.now(UTC) + timedelta(days=35))  # noqa: TID251
    assert not list(done.aside.glob(f"{KEYS}*")) and not (done.aside / SECRET).exists()
    assert (done.aside / DATABASE).exists()


def test_a_rehearsal_touches_nothing(data: Path, disk: Path, tmp_path: Path) -> None:
    path = back_up(data, disk)
    words = recovery.read_sheets(data)[0].words
    before = snapshot(tmp_path)
    found = rehearsed(data, path)
    assert (found.days, found.guests, found.entries) == (1, 1, 1)
    # On a computer that never held the shop: words, backup and key copy are enough.
    assert rehearsed(tmp_path / "nowhere", path, words) == found
    assert snapshot(tmp_path) == before and not (tmp_path / "nowhere").exists()


def test_a_lost_computer_needs_the_sheet_the_backup_and_the_key_copy(
    data: Path, disk: Path, tmp_path: Path
) -> None:
    path = back_up(data, disk)
    words = recovery.read_sheets(data)[0].words
    fresh = tmp_path / "fresh"
    with pytest.raises(NeedsSheet, match="recovery sheet 1"):
        put(fresh, path)
    other = recovery.make_sheet(1, NOW).words
    with pytest.raises(NeedsSheet, match="not the words"):
        restore.source(fresh, path, other)
    with pytest.raises(NeedsSheet, match="Group 1"):
        restore.source(fresh, path, "ABCDE " + words[6:])
    (copied,) = backup.copies(disk, backup.KEY_COPY)
    copied.path.rename(tmp_path / "apart.keys")
    with pytest.raises(CopyProblem, match="No key copy"):
        put(fresh, path, words)
    with pytest.raises(StoreProblem, match="Run daybuoy restore again"):
        open_house(Settings(data=fresh))
    put_back(Settings(data=fresh), restore.source(fresh, path, words), tmp_path / "apart.keys")
    house = open_house(Settings(data=fresh))
    assert "guest:g1" in house.ring.owners()
    house.close()
    assert check_folder(Settings(data=fresh))[0] is None
    # The next backup there opens with the same sheet.
    back_up(fresh, disk, NOW + timedelta(days=1))
    assert backup.copies(disk, backup.DATA)[0].header.sheet == 1


def test_the_data_backup_holds_no_key_and_an_erased_guest_stays_erased(
    data: Path, disk: Path, tmp_path: Path
) -> None:
    path = back_up(data, disk)
    (tmp_path / "open").mkdir()
    plain = tmp_path / "open" / "plain"
    sealed_file.open_sealed(path, backup.sheet_keys(data), plain)
    assert (data / SECRET).read_bytes() not in plain.read_bytes()
    assert b"own_key" not in plain.read_bytes()
    for sealed in disk.iterdir():
        assert b"Quill" not in sealed.read_bytes() and b"SQLite" not in sealed.read_bytes()
    house = open_house(Settings(data=data))
    house.erasures.add(["guest:g1"])
    house.ring.destroy("guest:g1")
    house.close()
    put(data, path)
    house = open_house(Settings(data=data))
    assert "guest:g1" not in house.ring.owners() and "guest:g1" in house.erasures.owners()
    with house.store.reading() as session:
        guest = session.exec(select(GuestRow)).one()
        assert "Ashmere" not in guest.full_name, "erased again before anybody is let in"
    house.close()
    assert check_folder(Settings(data=data))[0] is None


def test_what_is_no_backup_of_this_shop_is_refused_and_nothing_touched(
    kept: Path, data: Path, disk: Path, tmp_path: Path
) -> None:
    path = back_up(data, disk)
    whole = path.read_bytes()
    foreign, newer, cut = disk / "a.backup", disk / "newer.backup", disk / "cut.backup"
    foreign.write_bytes(b"PK\3\4 something else")
    assert "not a backup" in refusal(data, foreign)
    assert "is not there" in refusal(data, disk / "none.backup")
    assert "is a key copy" in refusal(data, backup.copies(disk, backup.KEY_COPY)[0].path)
    newer.write_bytes(re.sub(rb'"schema": "\d{4}"', b'"schema": "9999"', whole))
    assert "newer Daybuoy" in refusal(data, newer)
    for length in (10, 100, len(whole) // 2, len(whole) - 1):
        cut.write_bytes(whole[:length])
        said = refusal(data, cut)
        assert "cut short" in said or "damaged" in said or "not a backup" in said, said
    for place in range(200, len(whole), len(whole) // 9):
        changed = bytearray(whole)
        changed[place] ^= 1
        cut.write_bytes(changed)
        assert refusal(data, cut), place
    cut.write_bytes(whole + b"x")
    assert "damaged" in refusal(data, cut)
    other = tmp_path / "other"
    house = open_house(Settings(data=other))
    house.close()
    words = recovery.read_sheets(data)[0].words
    assert "another shop" in refusal(other, path, words)
    house = open_house(Settings(data=data))
    assert "already runs" in refusal(data, path)
    house.close()


@pytest.mark.parametrize("step", range(1, 40, 2))
def test_a_restore_killed_at_any_step_leaves_the_old_or_the_new_records_whole(
    data: Path, disk: Path, monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    path = back_up(data, disk)
    add_site(data, "Later")
    steps, renamed, synced, unlinked = [0], os.replace, os.fsync, Path.unlink

    def count() -> None:
        steps[0] += 1
        if steps[0] == step:
            raise Killed

    def fsync(handle: int) -> None:
        count()
        synced(handle)

    def rename(*names: object) -> None:
        count()
        renamed(*names)  # type: ignore[arg-type]

    def unlink(self: Path, missing_ok: bool = False) -> None:
        count()
        unlinked(self, missing_ok)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", rename)
        patch.setattr(os, "fsync", fsync)
        patch.setattr(Path, "unlink", unlink)
        killed = False
        try:
            put(data, path)
        except Killed:
            killed = True
    assert killed or steps[0] < step
    found = sites_in(data)
    assert found in ({"Long Jetty"}, {"Long Jetty", "Later"})
    assert check_folder(Settings(data=data))[0] is None
    put(data, path)
    assert sites_in(data) == {"Long Jetty"} and check_folder(Settings(data=data))[0] is None


@pytest.mark.parametrize("after", [0, 1, 3])
def test_a_full_disk_leaves_no_half_file_and_the_older_backup(
    data: Path, disk: Path, monkeypatch: pytest.MonkeyPatch, after: int
) -> None:
    path = back_up(data, disk)
    before = snapshot(disk)
    put_part, calls = sealed_file._put, [0]

    def full(*given: object, **more: object) -> None:
        calls[0] += 1
        if calls[0] > after:
            raise OSError(errno.ENOSPC, "No space left on device")
        put_part(*given, **more)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(sealed_file, "_put", full)
        with pytest.raises(CopyProblem, match=r"No space left on device.*Older backups are untouched"):
            make_backup(Settings(data=data), disk, NOW + timedelta(days=1), ZONE)
    assert snapshot(disk) == before and not list(data.glob("copying-*"))
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(10**9, 10**9, 10**6))
    with pytest.raises(CopyProblem, match="not enough room"):
        make_backup(Settings(data=data), disk, NOW + timedelta(days=1), ZONE)
    assert snapshot(disk) == before and path.exists()


def test_a_new_backup_that_does_not_check_out_never_takes_an_older_ones_place(
    data: Path, disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    back_up(data, disk)
    before = snapshot(disk)
    seal = sealed_file.write_sealed

    def spoiled(*given: object) -> Path:
        part = seal(*given)  # type: ignore[arg-type]
        content = bytearray(part.read_bytes())
        content[-40] ^= 1
        part.write_bytes(content)
        return part

    monkeypatch.setattr(sealed_file, "write_sealed", spoiled)
    with pytest.raises(CopyProblem, match=r"damaged|did not open"):
        make_backup(Settings(data=data), disk, NOW + timedelta(days=1), ZONE)
    assert snapshot(disk) == before


def test_an_unplugged_disk_and_a_kill_in_the_middle_leave_nothing_that_looks_whole(
    data: Path, disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(CopyProblem, match="plug that in"):
        make_backup(Settings(data=data), disk / "gone", NOW, ZONE)

    def die(*given: object, **more: object) -> None:
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(backup, "check_copy", die)
        patch.setattr(backup.contextlib, "suppress", die)
        with pytest.raises(Killed):
            make_backup(Settings(data=data), disk, NOW, ZONE)
    assert list(disk.glob("*.part")) and not backup.copies(disk, backup.DATA)
    (data / "copying-left").mkdir()
    back_up(data, disk, NOW + timedelta(hours=1))
    assert not list(disk.glob("*.part")) and not list(data.glob("copying-*"))


def test_backups_are_thinned_as_they_are_made(data: Path, disk: Path) -> None:
    path = back_up(data, disk)
    header = sealed_file.read_header(path)
    sheet = recovery.read_sheets(data)[0]
    for day in range(1, 41):
        at = NOW - timedelta(days=day)
        for kind, ending in backup.ENDINGS.items():
            said = replace(header, kind=kind, made_at=at.isoformat())
            sealed_file.finish(
                sealed_file.write_sealed(data / SECRET, disk / f"daybuoy-{day}{ending}", said, sheet)
            )
    back_up(data, disk, NOW + timedelta(hours=1))
    ages = [(NOW - one.header.made).days for one in backup.copies(disk, backup.DATA)]
    assert ages[1:15] == list(range(1, 15)) or ages[:14] == [-1, *range(1, 14)]
    assert 16 <= len(ages) <= 23
    keys = [(NOW - one.header.made).days for one in backup.copies(disk, backup.KEY_COPY)]
    assert max(keys) <= 34 and len(keys) >= 34


def test_records_of_an_earlier_program_are_backed_up_before_they_are_changed(
    tmp_path: Path, data: Path
) -> None:
    house = open_house(Settings(data=data))
    house.close()
    for old in data.glob(f"{DATABASE}*"):
        old.unlink()
    engine = make_engine(sqlite_url(data / DATABASE))
    to_revision(engine, "0004")
    engine.dispose()
    open_house(Settings(data=data)).close()
    (made,) = backup.copies(backup.default_folder(data), backup.DATA)
    assert made.header.schema == "0004"
    open_house(Settings(data=data)).close()
    assert len(backup.copies(backup.default_folder(data), backup.DATA)) == 1
    with closing(sqlite3.connect(data / DATABASE)) as file:
        assert file.execute("SELECT version_num FROM alembic_version").fetchone() != ("0004",)
    put(data, made.path)
    assert check_folder(Settings(data=data))[0] is None

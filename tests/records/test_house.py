"""Opening a data folder: H1, H2, L4. Every doubt is one plain sentence, and nothing is made anew."""

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from app.actions.act import PROGRAM, acting
from app.actions.setup.opening import note_gap
from app.records.store import folder as folders
from app.records.store import trail
from app.records.store.check import check_folder
from app.records.store.head import HEAD
from app.records.store.house import DATABASE, KEYS, MARK, SECRET, open_house
from app.records.store.problems import StoreProblem
from app.records.tables.house import SiteRow, TrailRow
from app.settings.config import Settings

NOBODY = 65534


def used(folder: Path, acts: int = 3) -> Path:
    """Return a folder that was in use and is closed."""
    house = open_house(Settings(data=folder))
    for number in range(acts):
        with acting(house, PROGRAM, "made_for_a_test") as act:
            act.add(SiteRow(name=f"Site {number}"))
    house.close()
    return folder


def refusal(folder: Path) -> str:
    with pytest.raises(StoreProblem) as caught:
        open_house(Settings(data=folder)).close()
    return str(caught.value)


def test_h2_a_cut_a_foreign_and_an_empty_database_are_refused_and_left_alone(tmp_path: Path) -> None:
    folder = used(tmp_path / "a shop #1?")
    whole = (folder / DATABASE).read_bytes()
    for beside in folder.glob(f"{DATABASE}-*"):
        beside.unlink()
    foreign = tmp_path / "foreign.sqlite3"
    other = sqlite3.connect(foreign)
    other.execute("CREATE TABLE songs (title TEXT)")
    other.commit()
    other.close()
    half = len(whole) // 2
    for content in (whole[:half], whole[:512], b"", foreign.read_bytes(), b"not a database at all" * 200):
        (folder / DATABASE).write_bytes(content)
        said = refusal(folder)
        assert "newest backup" in said and "\n" not in said
        assert (folder / DATABASE).read_bytes() == content, "what is doubtful is not touched"
        for beside in folder.glob(f"{DATABASE}-*"):
            beside.unlink()
    (folder / DATABASE).write_bytes(whole)
    open_house(Settings(data=folder)).close()
    assert check_folder(Settings(data=folder))[0] is None


def test_h2_a_page_overwritten_in_the_middle_is_found_at_the_start(tmp_path: Path) -> None:
    folder = used(tmp_path / "shop", 20)
    with (folder / DATABASE).open("r+b") as file:
        file.seek(4096 * 3)
        file.write(b"\xff" * 4096)
    assert "newest backup" in refusal(folder)


@pytest.mark.parametrize("name", [SECRET, KEYS, DATABASE])
def test_h2_a_missing_file_of_a_used_folder_is_never_made_anew(tmp_path: Path, name: str) -> None:
    folder = used(tmp_path / "shop")
    (folder / name).unlink()
    assert f"{name} is missing" in refusal(folder)
    assert not (folder / name).exists()


def test_h2_a_damaged_key_store_and_a_foreign_or_cut_key_file_are_refused(tmp_path: Path) -> None:
    folder, other = used(tmp_path / "shop"), used(tmp_path / "other")
    key = (folder / SECRET).read_bytes()
    (folder / SECRET).write_bytes((other / SECRET).read_bytes())
    assert "belongs to another folder" in refusal(folder)
    (folder / SECRET).write_bytes(key[:10])
    assert "32 bytes" in refusal(folder)
    (folder / SECRET).write_bytes(key)
    (folder / KEYS).write_bytes(b"nonsense" * 1000)
    assert KEYS in refusal(folder)
    (folder / MARK).write_text("[]")
    assert MARK in refusal(folder)


def test_h2_a_first_start_that_was_cut_short_goes_on_with_the_next(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    folders.make(folder, "real")
    open_house(Settings(data=folder)).close()
    (folder / DATABASE).unlink()
    assert "no empty shop was made" in refusal(folder)


def test_h2_a_network_folder_is_refused(tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(f"/dev/vda / ext4 rw 0 0\nnas:/shop {tmp_path}/on\\040nas nfs4 rw 0 0\n")
    folders.check_local(tmp_path / "here", mounts)
    with pytest.raises(StoreProblem, match="network drive"):
        folders.check_local(tmp_path / "on nas" / "data", mounts)
    folders.check_local(tmp_path / "here", tmp_path / "no such list")


@contextmanager
def without_root() -> Iterator[Path]:
    """Yield a fresh folder as somebody whom the computer's file rights bind."""
    place = Path(tempfile.mkdtemp())
    root = os.geteuid() == 0
    if root:
        shutil.chown(place, NOBODY, NOBODY)
        os.seteuid(NOBODY)
    try:
        yield place
    finally:
        if root:
            os.seteuid(0)
        for path in (place, *place.rglob("*")):
            path.chmod(0o700)
        shutil.rmtree(place)


def test_h2_a_folder_or_database_that_cannot_be_written_is_refused() -> None:
    with without_root() as place:
        folder = used(place / "shop")
        (folder / DATABASE).chmod(0o400)
        assert "read-only" in refusal(folder)
        (folder / DATABASE).chmod(0o600)
        for path in folder.iterdir():
            path.chmod(0o400)
        folder.chmod(0o500)
        assert "cannot be used" in refusal(folder)
        folder.chmod(0o000)
        assert str(folder) in refusal(folder)
        folder.chmod(0o700)
        place.chmod(0o500)
        assert "cannot be used" in refusal(place / "new")


def test_h1_one_program_for_each_folder(tmp_path: Path) -> None:
    folder = used(tmp_path / "shop")
    house = open_house(Settings(data=folder))
    assert "already runs" in refusal(folder)
    house.close()
    open_house(Settings(data=folder)).close()


def test_l4_what_the_program_makes_is_for_its_owner_only(tmp_path: Path) -> None:
    folder = used(tmp_path / "shop")
    assert folder.stat().st_mode & 0o777 == 0o700
    assert (folder / SECRET).stat().st_mode & 0o777 == 0o600
    folder.chmod(0o750)
    assert "chmod 700" in refusal(folder)


def test_f2_an_older_database_put_back_is_written_into_the_trail_before_anything_else(tmp_path: Path) -> None:
    folder = used(tmp_path / "shop")
    older = (folder / DATABASE).read_bytes()
    house = open_house(Settings(data=folder))
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name="Later"))
    assert note_gap(house) is None
    house.close()
    (folder / DATABASE).write_bytes(older)
    house = open_house(Settings(data=folder))
    said = note_gap(house)
    assert said is not None and "knows trail entry 4, the records end at 3" in said
    assert note_gap(house) is None
    with house.store.reading() as session:
        entry = session.get(TrailRow, 4)
        assert entry is not None and entry.act == "open_older_records" and entry.reason == said
        assert trail.first_wrong(session, house.master.named("trail")) is None
    house.close()


def test_f2_a_note_that_was_rewritten_without_the_key_is_found(tmp_path: Path) -> None:
    folder = used(tmp_path / "shop")
    number, chain, signed = (folder / HEAD).read_text().split()
    (folder / HEAD).write_text(f"{int(number) - 1:020d} {chain} {signed}\n")
    house = open_house(Settings(data=folder))
    assert "not what was written" in (note_gap(house) or "")
    house.close()


def test_f2_an_act_that_fails_moves_no_note(tmp_path: Path) -> None:
    folder = used(tmp_path / "shop")
    before = (folder / HEAD).read_text()
    house = open_house(Settings(data=folder))
    with pytest.raises(ZeroDivisionError), acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name="Later"))
        raise ZeroDivisionError
    house.close()
    assert (folder / HEAD).read_text() == before

"""Backups on the manager's pages: begun at once, told when they fail or grow old, and the recovery sheet."""

import threading
from pathlib import Path

import pytest

from app.records.backups import backup, recovery, sealed_file
from app.records.backups.restore import Source, rehearse
from app.records.store.house import House
from tests.web_world import PASSPHRASE, Browser, Page, World

ROUTES = ("/backups", "/backups/sheet")


def done(world: World, page: Page) -> Page:
    """Wait until what was begun is done, and look again as the page offers."""
    world.house.at_work.wait(60)
    return page.browser.open("/backups")


def manager(world: World) -> Browser:
    return world.browser("Mona Manager")


def test_a_backup_begins_at_once_is_listed_and_can_be_rehearsed(world: World) -> None:
    mona = manager(world)
    page = mona.open("/setup")
    assert page.find("a", href="/backups")
    page = mona.open("/backups")
    assert "once one was made" in page.words() and "same disk" in page.words()
    page = done(world, page.send("back_up_now"))
    assert "The backup has begun" not in page.words()
    assert "0 guests" in page.words() and "in order" in page.words() and "Mona Manager" in page.words()
    folder = backup.default_folder(world.house.settings.data)
    assert [one.suffix for one in sorted(folder.iterdir())] == [".backup", ".keys"]
    before = {one: one.read_bytes() for one in folder.iterdir()}
    page = done(world, page.send("rehearse_backup"))
    assert "can be put back. 1 day, 0 guests" in page.words()
    assert {one: one.read_bytes() for one in folder.iterdir()} == before
    assert page.words().count("in order") == 2
    assert not list(world.house.settings.data.glob("copying-*"))


def test_a_long_work_tells_what_it_is_at_and_keeps_the_others_waiting(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def slow(house: House, now: object, say: object) -> str:
        house.at_work.say("Copying the records.")
        begun.set()
        go_on.wait(20)
        return "Done."

    from dataclasses import replace

    from app.actions import chores

    monkeypatch.setitem(chores.CHORES, "backup", replace(chores.CHORES["backup"], work=slow))
    mona = manager(world)
    waiting = mona.open("/backups")
    page = waiting.send("back_up_now")
    assert begun.wait(20)
    page = mona.open("/backups")
    assert "Copying the records." in page.words() and page.find("a", href="/backups")
    assert not page.forms("back_up_now") and not page.forms("rehearse_backup")
    # A page that was open before cannot begin a second one either.
    assert "Copying the records." in waiting.send("rehearse_backup").words()
    go_on.set()
    assert "Done." in done(world, page).words()


def test_a_failed_and_an_old_backup_are_told_on_today_to_the_manager(world: World, tmp_path: Path) -> None:
    mona, disk = manager(world), tmp_path / "disk"
    disk.mkdir()
    assert "recovery sheet" not in mona.open("/today").words(), "there is nothing to print before the first"
    mona.open("/backups").send("choose_backup_folder", folder=str(disk), confirm=PASSPHRASE)
    page = done(world, mona.open("/backups").send("back_up_now"))
    assert len(list(disk.iterdir())) == 2
    assert "The recovery sheet is not printed" in mona.open("/today").words()
    disk.rename(tmp_path / "unplugged")
    page = done(world, page.send("back_up_now"))
    assert "is not there" in page.words() and "plug that in" in page.words()
    today = mona.open("/today")
    assert "The backup did not work" in today.words()
    assert "The backup did not work" not in world.browser("Lena Lead").open("/today").words()
    (tmp_path / "unplugged").rename(disk)
    done(world, page.send("back_up_now"))
    assert "did not work" not in mona.open("/today").words()
    world.clock.pass_minutes(26 * 60 + 1)
    assert "The newest backup is of 15 Jul" in manager(world).open("/today").words()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("backups", "whole path"),
        ("/no/such/folder", "no such folder"),
        ("{data}", "outside the data folder"),
        ("{data}/deep", "outside the data folder"),
    ],
)
def test_a_folder_that_will_not_do_is_told_beside_its_field(world: World, typed: str, says: str) -> None:
    data = world.house.settings.data
    (data / "deep").mkdir()
    said = typed.format(data=data)
    page = manager(world).open("/backups").send("choose_backup_folder", folder=said, confirm=PASSPHRASE)
    assert page.status == 422 and says in page.words()
    assert page.find("input", name="folder")[0].get("value") == said


def test_two_managers_choosing_a_folder_see_both(world: World, tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    first, second = manager(world).open("/backups"), manager(world).open("/backups")
    first.send("choose_backup_folder", folder=str(tmp_path / "one"), confirm=PASSPHRASE)
    page = second.send("choose_backup_folder", folder=str(tmp_path / "two"), confirm=PASSPHRASE)
    assert page.status == 409 and str(tmp_path / "one") in page.words() and str(tmp_path / "two") in page.text


def test_the_sheet_is_shown_once_proved_and_forgotten(world: World) -> None:
    mona, data = manager(world), world.house.settings.data
    world.clock.pass_minutes(11)
    page = mona.open("/backups/sheet")
    assert page.find("ol", id="words") == []
    assert page.send("show_recovery_sheet", confirm="wrong words").status == 422
    page = page.send("show_recovery_sheet", confirm=PASSPHRASE)
    words = " ".join("".join(one.itertext()) for one in page.find("ol", id="words")[0].iter("code"))
    assert len(words.split()) == 6
    assert page.send("sheet_printed", last_group="00000").status == 422
    assert recovery.read_sheets(data)[0].words == words
    done(world, mona.open("/backups").send("back_up_now"))
    page = page.send("sheet_printed", last_group=words.split()[-1].lower())
    assert "Sheet 1 is on paper" in page.words()
    assert words.split()[0] not in (data / recovery.FILE).read_text()
    assert words.split()[0] not in mona.open("/backups/sheet").text
    newest = backup.copies(backup.default_folder(data), backup.DATA)[0]
    header = sealed_file.read_header(newest.path)
    key = recovery.key_from(words, bytes.fromhex(header.salt))
    assert rehearse(world.house.settings, Source(newest.path, header, (key,), words)).guests == 0
    # A new sheet: earlier backups still open here, new ones with the new words alone.
    page = mona.open("/backups/sheet").send(
        "new_recovery_sheet", reason="Left on the bus", confirm=PASSPHRASE
    )
    assert "Recovery sheet 2" in page.words()
    world.clock.pass_minutes(1)
    done(world, mona.open("/backups").send("back_up_now"))
    later = backup.copies(backup.default_folder(data), backup.DATA)[0]
    assert later.header.sheet == 2 and not sealed_file.fits(later.header, [key])
    assert sealed_file.fits(newest.header, backup.sheet_keys(data))


def test_what_is_printed_twice_or_not_made_is_not_there(world: World) -> None:
    mona = manager(world)
    page = mona.open("/backups/sheet").send("show_recovery_sheet", confirm=PASSPHRASE)
    words = recovery.read_sheets(world.house.settings.data)[0].words
    assert page.send("sheet_printed", number="7", last_group=words.split()[-1]).status == 404
    page.send("sheet_printed", last_group=words.split()[-1])
    assert page.send("sheet_printed", last_group=words.split()[-1], key="k" * 32).status == 404


def test_only_the_manager_sees_backups(world: World) -> None:
    for name in ("Dora Desk", "Lena Lead", "Kim Keeper", "Ines Instructor"):
        browser = world.browser(name)
        assert [browser.open(path).status for path in ROUTES] == [404, 404]


def test_a_recovery_file_that_is_damaged_is_told_and_put_right_by_a_new_sheet(world: World) -> None:
    mona, data = manager(world), world.house.settings.data
    page = done(world, mona.open("/backups").send("back_up_now"))
    (data / recovery.FILE).write_text("nonsense")
    world.clock.pass_minutes(1)
    page = done(world, page.send("back_up_now"))
    assert "Make a new recovery sheet" in page.words()
    assert mona.open("/today").status == 200
    page = mona.open("/backups/sheet").send("new_recovery_sheet", reason="Damaged", confirm=PASSPHRASE)
    assert "Recovery sheet 2" in page.words()
    done(world, mona.open("/backups").send("back_up_now"))
    assert backup.copies(backup.default_folder(data), backup.DATA)[0].header.sheet == 2

"""``backup`` and ``restore`` as a person runs them: in processes of their own, one of them killed."""

import signal
import subprocess
import time
from pathlib import Path

import pytest

from app.records.backups import recovery
from app.records.store.check import check_folder
from app.records.store.house import open_house
from app.settings.config import Settings
from tests.server_world import DAYBUOY, ROOT, command, make_folder, serving


def words_typed(words: str, *told: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*DAYBUOY, *told], cwd=ROOT, input=f"{words}\n",
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


@pytest.fixture(autouse=True)
def on_sqlite(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)


def test_a_backup_beside_a_running_server_is_rehearsed_and_put_back_once_it_ended(tmp_path: Path) -> None:
    folder, disk = make_folder(tmp_path), tmp_path / "disk"
    with serving(folder) as served:
        served.visitor().sign_in("Mona Manager")
        made = command("backup", str(disk), "--data", str(folder))
        assert made.returncode == 0 and "1 day, 0 guests" in made.stdout, made.stderr
        (path,) = disk.glob("*.backup")
        tried = command("restore", str(path), "--rehearse", "--data", str(folder))
        assert tried.returncode == 0 and "Nothing was touched" in tried.stdout, tried.stderr
        refused = command("restore", str(path), "--data", str(folder))
        assert refused.returncode == 1 and len(refused.stderr.strip().splitlines()) == 1
        assert "already runs" in refused.stderr
        assert served.visitor().get("/up")[0] == 200
    done = command("restore", str(path), "--data", str(folder))
    assert done.returncode == 0 and "Everybody signs in anew" in done.stdout, done.stderr
    assert command("verify", "--data", str(folder)).returncode == 0


def test_wrong_words_and_no_folder_are_one_plain_sentence(tmp_path: Path) -> None:
    folder, disk = make_folder(tmp_path), tmp_path / "disk"
    assert command("backup", str(disk), "--data", str(folder)).returncode == 0
    (path,) = disk.glob("*.backup")
    fresh = tmp_path / "fresh"
    refused = words_typed("nothing", "restore", str(path), "--data", str(fresh))
    assert refused.returncode == 1 and len(refused.stderr.strip().splitlines()) == 1
    assert "groups" in refused.stderr and not fresh.exists()
    words = recovery.read_sheets(folder)[0].words
    assert words_typed(words, "restore", str(path), "--data", str(fresh)).returncode == 0
    assert check_folder(Settings(data=fresh))[0] is None
    nowhere = command("backup", str(disk), "--data", str(tmp_path / "nowhere"))
    assert nowhere.returncode == 1 and "not a shop's data folder" in nowhere.stderr


def test_a_restore_killed_at_any_time_can_be_done_again(tmp_path: Path) -> None:
    folder, disk = make_folder(tmp_path), tmp_path / "disk"
    assert command("backup", str(disk), "--data", str(folder)).returncode == 0
    (path,) = disk.glob("*.backup")
    ended = set()
    for step in ("Opening the guests", "Opening the backup", "Checking", "Ending", "Changing"):
        process = subprocess.Popen(
            [*DAYBUOY, "restore", str(path), "--data", str(folder)],
            cwd=ROOT, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert process.stdout is not None
        for line in process.stdout:
            if line.startswith(step):
                time.sleep(0.01)
                process.send_signal(signal.SIGKILL)
                break
        process.stdout.close()
        ended.add(process.wait())
        open_house(Settings(data=folder)).close()
        assert check_folder(Settings(data=folder))[0] is None
    assert -signal.SIGKILL in ended
    assert command("restore", str(path), "--data", str(folder)).returncode == 0

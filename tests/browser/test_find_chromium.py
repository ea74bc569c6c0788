"""A missing browser is installed, or the checks stop with one sentence: they are never silently left out."""

from pathlib import Path

import pytest

from tests.browser import find_chromium


def _command(path: Path, script: str) -> None:
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of commands of a machine without any browser, where Playwright can fetch none."""
    _command(tmp_path / "python", "exit 1")
    monkeypatch.delenv("CHROMIUM", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(find_chromium, "USUAL_FOLDERS", str(tmp_path))
    monkeypatch.setattr(find_chromium, "MAC_PLACES", ())
    monkeypatch.setattr(find_chromium.sys, "executable", str(tmp_path / "python"))
    monkeypatch.setattr(find_chromium.os, "geteuid", lambda: 0)
    return tmp_path


def test_a_browser_that_is_there_is_found(bare: Path, capfd: pytest.CaptureFixture[str]) -> None:
    _command(bare / "chromium-browser", "exit 0")
    assert find_chromium.main([]) == 0
    assert capfd.readouterr().out == f"{bare / 'chromium-browser'}\n"


def test_root_gets_a_missing_browser_from_debian(bare: Path, capfd: pytest.CaptureFixture[str]) -> None:
    here = f"{bare}/chromium"
    _command(
        bare / "apt-get", f'test "$4" = chromium || exit 0; echo "#!/bin/sh" >{here}; /bin/chmod +x {here}'
    )
    assert find_chromium.main(["--install"]) == 0
    assert capfd.readouterr().out == f"{here}\n"


def test_without_any_the_checks_stop_with_a_sentence(bare: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert find_chromium.main(["--install"]) == 1
    said = capfd.readouterr()
    assert said.out == ""
    assert said.err.endswith(f"{find_chromium.NONE_FOUND}\n")


def test_a_wish_that_cannot_be_met_is_not_replaced(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    _command(bare / "chromium", "exit 0")
    monkeypatch.setenv("CHROMIUM", "/nowhere/chromium")
    assert find_chromium.main([]) == 1
    assert capfd.readouterr().err == "CHROMIUM is set to /nowhere/chromium, and that cannot be run.\n"

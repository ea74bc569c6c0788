"""Find Chromium for the browser tests, or install it: the tests are never silently left out.

``python tests/browser/find_chromium.py`` prints the path; with ``--install`` a missing browser is installed
first. Exit status 1 and one plain sentence when there is none.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
USUAL_FOLDERS = "/usr/bin:/usr/local/bin:/snap/bin:/opt/homebrew/bin"
MAC_PLACES = (
    Path("/Applications/Chromium.app/Contents/MacOS/Chromium"),
    Path("/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
)
ASK_PLAYWRIGHT = """
from playwright.sync_api import sync_playwright
with sync_playwright() as playwright:
    print(playwright.chromium.executable_path)
"""
NONE_FOUND = (
    "No Chromium was found and none could be installed: install it (Debian: apt-get install chromium), "
    "or set CHROMIUM to the path of one."
)


class NoChromium(Exception):
    """There is no Chromium to test with; the message says what to do."""


def find_chromium() -> Path | None:
    """Return the Chromium to use: $CHROMIUM, else one on this machine, else Playwright's own, else None.

    Raises NoChromium when $CHROMIUM names something that cannot be run: a wish is not replaced in silence.
    """
    wished = os.environ.get("CHROMIUM")
    if wished:
        found = shutil.which(wished)
        if found is None:
            raise NoChromium(f"CHROMIUM is set to {wished}, and that cannot be run.")
        return Path(found)
    for name in NAMES:
        found = shutil.which(name) or shutil.which(name, path=USUAL_FOLDERS)
        if found is not None:
            return Path(found)
    return next((place for place in (*MAC_PLACES, *_playwrights_own()) if os.access(place, os.X_OK)), None)


def install() -> None:
    """Install Chromium: Debian's when we are root and have apt, else the one that Playwright fetches."""
    if os.geteuid() == 0 and shutil.which("apt-get"):
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for command in (["apt-get", "-qq", "update"], ["apt-get", "-qq", "install", "-y", "chromium"]):
            subprocess.run(command, check=False, env=quiet, stdout=sys.stderr)
    if find_chromium() is None:
        fetch = [sys.executable, "-m", "playwright", "install", "chromium"]
        subprocess.run(fetch, check=False, stdout=sys.stderr)


def main(arguments: list[str]) -> int:
    """Print the path of the Chromium to use; 1 and one sentence on standard error when there is none."""
    try:
        if find_chromium() is None and "--install" in arguments:
            print("No Chromium here yet: installing one.", file=sys.stderr)
            install()
        found = find_chromium()
    except NoChromium as problem:
        print(problem, file=sys.stderr)
        return 1
    if found is None:
        print(NONE_FOUND, file=sys.stderr)
        return 1
    print(found)
    return 0


def _playwrights_own() -> list[Path]:
    """Return where Playwright keeps the Chromium it would start, if Playwright is here.

    Asked in another process, because Playwright may be started only once in a thread and the tests have it.
    """
    said = subprocess.run([sys.executable, "-c", ASK_PLAYWRIGHT], check=False, capture_output=True, text=True)
    return [Path(line) for line in said.stdout.splitlines()[:1]]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

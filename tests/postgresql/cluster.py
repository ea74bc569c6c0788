"""A PostgreSQL server of the tests' own: found or installed, started in a folder and reached by a socket."""

import argparse
import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
VARIABLE = "DAYBUOY_TEST_DATABASE_URL"
# The server refuses to run as root; Debian's package brings this user.
SERVER_USER = "postgres"
PORT = "54329"
MISSING = (
    "There is no PostgreSQL server on this machine (initdb and pg_ctl). "
    "On Debian and Ubuntu: apt-get install postgresql"
)


def find() -> Path | None:
    """Return the folder of the server's programs, the newest first; None when there is none."""
    on_path = shutil.which("initdb")
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: float(path.parent.name))
    found = [place for place in reversed(places) if (place / "pg_ctl").exists()]
    return found[0] if found else (Path(on_path).parent if on_path else None)


def install() -> None:
    """Install the server where that can be done without asking."""
    if os.geteuid() == 0 and shutil.which("apt-get"):
        subprocess.run(["apt-get", "update", "-qq"], check=False)
        subprocess.run(["apt-get", "install", "-y", "-qq", "postgresql"], check=False, stdout=sys.stderr)


@contextlib.contextmanager
def running(programs: Path) -> Iterator[str]:
    """Run a fresh server; yields the address of its maintenance database."""
    with tempfile.TemporaryDirectory(prefix="daybuoy-pg-") as place:
        data = Path(place) / "data"
        Path(place).chmod(0o755)
        data.mkdir()
        if os.geteuid() == 0:
            shutil.chown(place, SERVER_USER)
            shutil.chown(data, SERVER_USER)
        _run(programs / "initdb", "-D", data, "-U", SERVER_USER, "-A", "trust", "-E", "UTF8", "--no-sync")
        options = f"-c listen_addresses='' -c unix_socket_directories={place} -p {PORT} -c fsync=off"
        _run(programs / "pg_ctl", "-D", data, "-w", "-l", Path(place) / "log", "-o", options, "start")
        try:
            yield f"postgresql://{SERVER_USER}@/postgres?host={place}&port={PORT}"
        finally:
            _run(programs / "pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")


def _run(*words: Path | str) -> None:
    as_user = ["runuser", "-u", SERVER_USER, "--"] if os.geteuid() == 0 else []
    subprocess.run([*as_user, *map(str, words)], check=True, stdout=subprocess.DEVNULL, cwd="/")


def main() -> int:
    """Run the tests named on the command line against a server of their own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--install", action="store_true", help="install the server when it is missing")
    chosen, tests = parser.parse_known_args()
    if find() is None and chosen.install:
        install()
    programs = find()
    if programs is None:
        sys.stderr.write(f"{MISSING}\n")
        return 1
    with running(programs) as address:
        pytest = [sys.executable, "-m", "pytest", *tests]
        return subprocess.run(pytest, cwd=ROOT, env={**os.environ, VARIABLE: address}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())

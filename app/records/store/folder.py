"""The data folder as such: its mark, its privacy, its lock. Every doubt is one plain sentence."""

import fcntl
import json
import os
import stat
from pathlib import Path
from typing import IO, Any

from app.records.store.problems import StoreProblem
from app.records.store.sealing import MasterKey
from app.settings.config import VERSION

MARK = "daybuoy.json"
DATABASE = "shop.sqlite3"
KEYS = "keys.sqlite3"
SECRET = "secret.key"  # noqa: S105 - a file name
LOCK = "lock"
# Where the computer lists what is mounted (Linux). SQLite's locks do not hold over a network.
MOUNTS = Path("/proc/self/mounts")
NETWORK = frozenset(
    {"afs", "ceph", "cifs", "davfs", "fuse.sshfs", "glusterfs", "ncpfs", "nfs", "nfs4", "smb3", "smbfs"}
)


def make(folder: Path, kind: str) -> None:
    """Make a new data folder, or go on with one whose making was cut short; ``finish`` ends it."""
    if folder.exists() and any(folder.iterdir()) and not (folder / MARK).exists():
        raise StoreProblem(f"{folder} is not empty and not a shop's data folder. Choose another with --data.")
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    _write_mark(folder, {"kind": kind, "made_by": VERSION, "making": True})
    if not (folder / SECRET).exists():
        MasterKey.make(folder / SECRET)


def begin_restore(folder: Path, kind: str) -> None:
    """Make a folder for a backup to be put back into; until that is done it opens for nothing else."""
    if folder.exists() and any(one.name != LOCK for one in folder.iterdir()):
        raise StoreProblem(f"{folder} is not empty and not a shop's data folder. Choose another with --data.")
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    _write_mark(folder, {"kind": kind, "made_by": VERSION, "restoring": True})


def finish(folder: Path, kind: str, master: MasterKey) -> None:
    """Mark the folder as in use: from now on a missing file in it is an error."""
    _write_mark(folder, {"kind": kind, "made_by": VERSION, "key": master.digest("folder", kind)})


def is_new(folder: Path) -> bool:
    """Return whether this folder was never in use: not there, or its making was cut short."""
    return not (folder / MARK).exists() or bool(read_mark(folder).get("making"))


def read_mark(folder: Path) -> dict[str, Any]:
    """Return what the folder says about itself."""
    try:
        mark = json.loads((folder / MARK).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise StoreProblem(f"{folder / MARK} cannot be read. Put the newest backup back.") from None
    if not isinstance(mark, dict):
        raise StoreProblem(f"{folder / MARK} is not what this program wrote. Put the newest backup back.")
    return mark


def check_kind(folder: Path, kind: str) -> None:
    """Keep demo and shop apart, and a folder shut that waits for its backup."""
    if read_mark(folder).get("restoring"):
        raise StoreProblem(f"A backup was not put back whole into {folder}. Run daybuoy restore again.")
    found = read_mark(folder).get("kind")
    if found != kind:
        raise StoreProblem(
            f"{folder} holds a {found} shop, not a {kind} one. Choose another folder with --data."
        )


def check_private(folder: Path) -> None:
    """Refuse a folder or key file that others on this computer can read."""
    for path, allowed in ((folder, 0o700), (folder / SECRET, 0o600)):
        try:
            mode = stat.S_IMODE(path.stat().st_mode)
        except FileNotFoundError:
            raise StoreProblem(
                f"{path} is missing. Without it sealed answers cannot be read; put it back."
            ) from None
        if mode & ~allowed:
            raise StoreProblem(
                f"{path} can be read by others on this computer. Run: chmod {allowed:o} {path}"
            )


def check_local(folder: Path, mounts: Path = MOUNTS) -> None:
    """Refuse a folder on a network drive, as far as the computer says where it lies."""
    try:
        lines = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return
    kind, longest = "", -1
    for line in lines:
        _, place, found, *_ = line.split(" ")
        at = Path(place.replace("\\040", " "))
        if (at == folder or at in folder.parents) and len(at.parts) >= longest:
            kind, longest = found, len(at.parts)
    if kind in NETWORK:
        raise StoreProblem(
            f"{folder} lies on a network drive ({kind}), where records can be damaged. "
            "Choose a folder on this computer with --data."
        )


def open_key(folder: Path) -> MasterKey:
    """Return the folder's master key; refuses a cut one and one that belongs to another folder."""
    try:
        master = MasterKey(folder / SECRET)
    except ValueError as problem:
        raise StoreProblem(f"{problem} Put the right file back.") from None
    mark = read_mark(folder)
    said = mark.get("key")
    if said is not None and said != master.digest("folder", str(mark.get("kind"))):
        raise StoreProblem(f"{folder / SECRET} belongs to another folder. Put the right file back.")
    return master


def take_lock(folder: Path) -> IO[str]:
    """Hold the folder for this process alone."""
    lock = (folder / LOCK).open("a")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        lock.close()
        raise StoreProblem(
            f"Another Daybuoy already runs on {folder}. Close it first, or use its window."
        ) from None
    lock.truncate(0)
    lock.write(str(os.getpid()))
    lock.flush()
    return lock


def _write_mark(folder: Path, mark: dict[str, Any]) -> None:
    fresh = folder / f"{MARK}.new"
    fresh.write_text(json.dumps(mark) + "\n", encoding="utf-8")
    fresh.replace(folder / MARK)

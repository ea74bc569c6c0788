"""The lock files hold what pyproject.toml asks for, each at one version and with its hashes."""

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.house.tree import ROOT

RUNTIME = "requirements.lock"
DEV = "requirements-dev.lock"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
ASKED = PROJECT["project"]["dependencies"]
BUILD = PROJECT["dependency-groups"]["build"]
EXTRAS = [line for lines in PROJECT["project"]["optional-dependencies"].values() for line in lines]


class LockFault(Exception):
    """A lock file that does not pin every entry; the message names the entry."""


def read_lock(text: str) -> dict[str, set[str]]:
    """Return name -> locked versions (more than one where a marker tells them apart).

    Raises LockFault for an entry without one exact version or without a sha256 hash.
    """
    locked: dict[str, set[str]] = {}
    entries = re.sub(r"^\s*#.*\n", "", text, flags=re.M).replace("\\\n", " ").splitlines()
    for entry in filter(str.strip, entries):
        wanted, *hashes = entry.split(" --hash=")
        requirement = Requirement(wanted.strip())
        versions = [spec.version for spec in requirement.specifier if spec.operator == "=="]
        if len(versions) != 1 or len(requirement.specifier) != 1:
            raise LockFault(f"{requirement.name} has no exact version")
        if not hashes or not all(re.fullmatch(r"sha256:[0-9a-f]{64}", one.strip()) for one in hashes):
            raise LockFault(f"{requirement.name} has no sha256 hash")
        locked.setdefault(canonicalize_name(requirement.name), set()).update(versions)
    return locked


def missing(asked: list[str], locked: dict[str, set[str]]) -> list[str]:
    """Return the requirements that the lock does not meet."""
    wanted = [Requirement(line) for line in asked]
    return [
        str(one)
        for one in wanted
        if not (versions := locked.get(canonicalize_name(one.name)))
        or not all(one.specifier.contains(version) for version in versions)
    ]


@pytest.fixture(scope="module")
def locks() -> dict[str, dict[str, set[str]]]:
    """Both lock files, read."""
    return {name: read_lock((ROOT / name).read_text("utf-8")) for name in (RUNTIME, DEV)}


def test_the_runtime_lock_holds_what_the_program_and_its_build_ask_for(
    locks: dict[str, dict[str, set[str]]],
) -> None:
    assert missing([*ASKED, *BUILD, *PROJECT["build-system"]["requires"]], locks[RUNTIME]) == []


def test_the_dev_lock_holds_the_extras_too(locks: dict[str, dict[str, set[str]]]) -> None:
    assert missing([*ASKED, *BUILD, *EXTRAS], locks[DEV]) == []


def test_both_locks_agree(locks: dict[str, dict[str, set[str]]]) -> None:
    assert {name: locks[DEV].get(name) for name in locks[RUNTIME]} == locks[RUNTIME]


def test_the_program_is_not_shipped_with_the_tools_that_check_it(
    locks: dict[str, dict[str, set[str]]],
) -> None:
    tools = {canonicalize_name(Requirement(line).name) for line in EXTRAS}
    assert tools & locks[RUNTIME].keys() == set()


def test_every_requirement_names_one_version() -> None:
    loose = [line for line in [*ASKED, *BUILD, *EXTRAS] if not re.search(r"==[\w.]+$", line)]
    assert loose == []


@pytest.mark.parametrize(
    ("planted", "why"),
    [
        ("jinja2==3.1.6\n", "no sha256 hash"),
        ("jinja2==3.1.6 \\\n    --hash=md5:0123\n", "no sha256 hash"),
        (f"jinja2>=3 \\\n    --hash=sha256:{'0' * 64}\n", "no exact version"),
    ],
)
def test_a_planted_loose_entry_is_found(planted: str, why: str) -> None:
    with pytest.raises(LockFault, match=why):
        read_lock(planted)


def test_a_planted_stale_lock_is_found() -> None:
    locked = read_lock(f"jinja2==3.1.5 \\\n    --hash=sha256:{'0' * 64}\n    # via daybuoy\n")
    assert missing(["jinja2==3.1.6", "anyio==4.16.0"], locked) == ["jinja2==3.1.6", "anyio==4.16.0"]

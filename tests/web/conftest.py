"""A fresh small shop for every test through HTTP."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.web_ready import Ready, kept_ready, reopened
from tests.web_world import World, make_world


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    """A shop with people, sites and slots, and nothing booked."""
    made = make_world(tmp_path)
    yield made
    made.house.close()


@pytest.fixture(scope="session")
def kept_ready_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a shop with a group that may go in, made once."""
    return kept_ready(tmp_path_factory.mktemp("ready"))


@pytest.fixture
def ready(kept_ready_shop: Path, tmp_path: Path) -> Iterator[Ready]:
    """A group (Ines Instructor with Ann and Bo) that may go in."""
    made = reopened(kept_ready_shop, tmp_path)
    yield made
    made.world.house.close()

"""A fresh small shop for every test through HTTP."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.web_world import World, make_world


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    """A shop with people, sites and slots, and nothing booked."""
    made = make_world(tmp_path)
    yield made
    made.house.close()

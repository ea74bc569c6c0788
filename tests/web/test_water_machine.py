"""Nobody is lost, whatever is sent in whatever order: the program against an independent memory.

``DAYBUOY_WATER_EXAMPLES=250 pytest --log-cli-level=INFO tests/web/test_water_machine.py`` takes ten thousand
steps; the checks take a few hundred.
"""

import logging
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.water_machine import WaterMachine
from tests.water_sea import kept_sea

EXAMPLES = int(os.environ.get("DAYBUOY_WATER_EXAMPLES", "6"))
STEPS = 40
HEALTH = (HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large)


def test_nobody_is_lost(tmp_path_factory: pytest.TempPathFactory) -> None:
    kept: Path = kept_sea(tmp_path_factory.mktemp("sea"))
    WaterMachine.kept, WaterMachine.done = kept, type(WaterMachine.done)()
    run_state_machine_as_test(
        WaterMachine,
        settings=settings(
            max_examples=EXAMPLES, stateful_step_count=STEPS, deadline=None, suppress_health_check=HEALTH
        ),
    )
    logging.getLogger(__name__).info("%s", sorted(WaterMachine.done.items()))
    # A machine that never gets anybody wet proves nothing.
    assert (
        WaterMachine.done["go_in 303"] and WaterMachine.done["mark_back 303"] and WaterMachine.done["again"]
    )

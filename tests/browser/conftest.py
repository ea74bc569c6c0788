"""The browser that the browser tests drive."""

import os
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.find_chromium import NONE_FOUND, NoChromium, find_chromium

# Chromium talks to its maker at start unless told not to; nothing here may depend on a network.
QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# A busy machine is slow, not wrong: what a page shows in the end is what counts.
expect.set_options(timeout=20_000)


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the Chromium on this machine; without one every browser test fails and says why."""
    try:
        found = find_chromium()
    except NoChromium as problem:
        pytest.fail(str(problem), pytrace=False)
    if found is None:
        pytest.fail(NONE_FOUND, pytrace=False)
    return str(found)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any], chromium: str) -> dict[str, Any]:
    """Start that Chromium; its sandbox refuses to run as root, as checks in containers do."""
    sandbox = ("--no-sandbox",) if os.geteuid() == 0 else ()
    return {**browser_type_launch_args, "executable_path": chromium, "args": [*QUIET, *sandbox]}

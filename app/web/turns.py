"""How many requests may hold the store at once.

A request keeps one reading session while its steps wait for a thread. Without a limit a crowd of requests
takes every connection, and those that have a thread wait for those that have a connection.
"""

from collections.abc import AsyncIterator
from typing import Annotated

import anyio
from fastapi import Depends, Request

TURNS = 12


async def turn(request: Request) -> AsyncIterator[None]:
    """Wait in line, in order of arrival and without holding a thread, until there is a turn."""
    turns: anyio.Semaphore | None = request.app.state.turns
    if turns is None:
        yield
        return
    async with turns:
        yield


Turn = Annotated[None, Depends(turn, scope="function")]

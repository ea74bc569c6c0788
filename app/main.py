"""Joins the parts of the web front into one application; nothing else does."""

import contextlib
import gc
import threading
from collections.abc import AsyncIterator

import anyio
import anyio.to_thread
from fastapi import Depends, FastAPI
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from app.actions.chores import DailyChores
from app.records.guest_side.languages import complete_languages
from app.records.store.db import StoreTrouble
from app.records.store.house import House
from app.settings.config import STATIC
from app.web import AREAS, problems
from app.web.guard import Guard
from app.web.pages import plain_answer
from app.web.posted import check_post
from app.web.turns import TURNS
from app.web.uploads import AT_ONCE

# More threads than this only fight for the interpreter.
THREADS = 4


@contextlib.asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    app.state.turns = anyio.Semaphore(TURNS)
    app.state.uploads = anyio.Semaphore(AT_ONCE)
    anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
    # Collecting the libraries' objects again and again would stop a page for 30 ms each time.
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)
    # Years of dives take seconds to learn from: done beside the first pages, not inside one of them.
    learning = threading.Thread(target=_learn, args=(app.state.house,), name="breathing")
    learning.start()
    chores = DailyChores(app.state.house) if app.state.chores else None
    if chores is not None:
        chores.start()
    yield
    if chores is not None:
        chores.stop()
    learning.join()


def _learn(house: House) -> None:
    """Let the log teach what plans will ask for; a store that cannot be read says so to its page.

    The catalogues of guests' languages are read here too, so that no guest waits for them.
    """
    complete_languages()
    with contextlib.suppress(StoreTrouble), house.store.reading() as session:
        house.breathing.now(session)


def application(house: House, *, chores: bool = False) -> FastAPI:
    """Return the application with every area's routes; ``build`` wraps it for serving.

    chores: whether the daily chores run while it is served.
    """
    app = FastAPI(
        lifespan=_life, docs_url=None, redoc_url=None, openapi_url=None, dependencies=[Depends(check_post)],
        redirect_slashes=False,
    )  # fmt: skip
    app.state.house = house
    app.state.chores = chores
    # A server makes it: both belong to its event loop.
    app.state.turns = None
    app.state.uploads = None
    for area in AREAS:
        app.include_router(area)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    problems.install(app)
    return app


def build(house: House, *, chores: bool = False) -> ASGIApp:
    """Return what the server runs: the application inside its guard."""
    return Guard(application(house, chores=chores), house.settings, plain_answer)

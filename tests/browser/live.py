"""The shop as browsers meet it: a real server on a port of its own, stopped at the end."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from app.main import build
from app.records.store.house import House

START_SECONDS = 20


@contextmanager
def serving(house: House) -> Iterator[str]:
    """Serve a house on a free port of this computer; gives the origin that browsers type."""
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        server = uvicorn.Server(
            uvicorn.Config(
                build(house),
                access_log=False,
                server_header=False,
                proxy_headers=False,
                log_level="warning",
                timeout_graceful_shutdown=2,
            )
        )
        thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
        thread.start()
        try:
            until = time.monotonic() + START_SECONDS
            while not server.started:
                assert thread.is_alive() and time.monotonic() < until, "the server did not start"
                time.sleep(0.01)
            yield f"http://127.0.0.1:{door.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(START_SECONDS)

"""``daybuoy serve``: run the shop on its own data folder."""

import argparse
import logging
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.records.store.house import House
    from app.records.store.house_certificates import Certificates

BACKLOG = 512


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``serve`` takes."""
    parser.add_argument("--host", default=None, help="address to listen on (this computer only unless told)")
    parser.add_argument("--port", type=int, default=None, help="port to listen on (8000)")
    parser.add_argument(
        "--https",
        action="store_true",
        default=None,
        help="serve over https with the shop's own certificate; the next port shows phones how to trust it",
    )
    parser.add_argument("--data", type=Path, default=None, help="the shop's data folder (./data)")


def run(chosen: argparse.Namespace) -> int:
    """Open the data folder and serve until stopped; 1 and a plain sentence when that cannot be done."""
    from app.actions.setup.first_start import show_code
    from app.records.store.house import open_house
    from app.records.store.problems import StoreProblem
    from app.settings.config import UnsafeSettings, read_settings

    try:
        house = open_house(
            read_settings(host=chosen.host, port=chosen.port, data=chosen.data, https=chosen.https)
        )
    except (StoreProblem, UnsafeSettings) as problem:
        return tell(str(problem))
    code = show_code(house)
    if code is not None:
        print(f"This shop has no manager yet. Open the page below and type this code: {code}")
    return serve_house(house, chores=True)


def serve_house(house: "House", *, chores: bool) -> int:
    """Serve an open house until stopped; chores: whether the daily chores run meanwhile."""
    import uvicorn

    from app.actions.health.retention import repeat_erasures
    from app.actions.setup.opening import note_gap
    from app.main import build
    from app.records.store.problems import StoreProblem

    settings = house.settings
    log_to_stderr()
    if (missing := note_gap(house)) is not None:
        tell(missing)
    if again := repeat_erasures(house):
        tell(f"Older records were put back: {again} guests were erased again.")
    try:
        safe = _certificates(house) if settings.https else None
    except StoreProblem as problem:
        house.close()
        return tell(str(problem))
    try:
        listening = listen(settings.host, settings.port)
        # The door beside it speaks plain http: phones cannot trust https before they have the certificate.
        door = None if safe is None else listen(settings.host, settings.port and settings.port + 1)
    except OSError as error:
        house.close()
        return tell(
            f"{settings.host} port {settings.port} cannot be listened on ({error.strerror or error}). "
            "Choose another with --port, or close the program that uses it."
        )
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    address = f"{settings.scheme}://{host}:{listening.getsockname()[1]}"
    print(f"Daybuoy runs at {address} (stop with Ctrl+C)", flush=True)
    if safe is not None and door is not None:
        port = door.getsockname()[1]
        print(f"Phones learn to trust it at http://{host}:{port}/ (set-up shows the code)", flush=True)
        _open_door(safe, door, listening.getsockname()[1])
    server = uvicorn.Server(
        uvicorn.Config(
            build(house, chores=chores),
            access_log=False,
            server_header=False,
            log_level="warning",
            timeout_graceful_shutdown=5,
            # Headers of a proxy are not ours to believe.
            proxy_headers=False,
            ssl_certfile=None if safe is None else safe.pages,
            ssl_keyfile=None if safe is None else safe.pages_key,
        )
    )
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:
        pass
    finally:
        house.close()
    return 0 if server.started else 1


def _certificates(house: "House") -> "Certificates":
    """Return the shop's certificates for every name that its devices type."""
    from app.records.setup.shop import shop_row
    from app.records.store.house_certificates import certificates

    with house.store.reading() as session:
        row = shop_row(session)
    name = "Shop" if row is None else row.name
    return certificates(house.settings.data, house.settings.host_names(), name, house.clock())


def _open_door(safe: "Certificates", door: socket.socket, port: int) -> None:
    """Hand the authority's certificate out over plain http, in a thread that ends with the program."""
    import threading

    import uvicorn

    from app.web.trust_door import TrustDoor

    config = uvicorn.Config(
        TrustDoor(safe.authority_der(), port), access_log=False, server_header=False, log_level="warning",
        proxy_headers=False, lifespan="off",
    )  # fmt: skip
    server = uvicorn.Server(config)
    threading.Thread(target=server.run, kwargs={"sockets": [door]}, name="trust", daemon=True).start()


def listen(host: str, port: int) -> socket.socket:
    """Return a socket that listens there; raises OSError. Port 0 takes any free one."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
        listening.listen(BACKLOG)
    except BaseException:
        listening.close()
        raise
    return listening


def log_to_stderr() -> None:
    """Send this program's own log to standard error, one line for each request; other libraries: warnings."""
    lines = logging.StreamHandler()
    lines.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    logging.basicConfig(level=logging.WARNING, handlers=[lines])
    logging.getLogger("daybuoy").setLevel(logging.INFO)


def tell(sentence: str) -> int:
    """Say on standard error why nothing was started; the exit status is 1."""
    print(sentence, file=sys.stderr)
    return 1

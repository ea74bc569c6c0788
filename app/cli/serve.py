"""``daybuoy serve``: run the shop on its own data folder."""

import argparse
import logging
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.records.house import House


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what ``serve`` takes."""
    parser.add_argument("--host", default=None, help="address to listen on (this computer only unless told)")
    parser.add_argument("--port", type=int, default=None, help="port to listen on (8000)")
    parser.add_argument("--data", type=Path, default=None, help="the shop's data folder (./data)")


def run(chosen: argparse.Namespace) -> int:
    """Open the data folder and serve until stopped; 1 and a plain sentence when that cannot be done."""
    from pydantic import ValidationError

    from app.actions.first_start import show_code
    from app.records.house import open_house
    from app.records.problems import StoreProblem
    from app.settings.config import Settings, UnsafeSettings

    given = {name: getattr(chosen, name) for name in ("host", "port", "data")}
    try:
        settings = Settings(**{name: value for name, value in given.items() if value is not None})
        house = open_house(settings)
    except (StoreProblem, UnsafeSettings) as problem:
        return tell(str(problem))
    except ValidationError as problem:
        return tell(problem.errors()[0]["msg"].removeprefix("Value error, "))
    code = show_code(house)
    if code is not None:
        print(f"This shop has no manager yet. Open the page below and type this code: {code}")
    return serve_house(house)


def serve_house(house: "House") -> int:
    """Serve an open house until stopped."""
    import uvicorn

    from app.main import build

    settings = house.settings
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(message)s")
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    print(f"Daybuoy runs at {settings.scheme}://{host}:{settings.port} (stop with Ctrl+C)", flush=True)
    server = uvicorn.Server(
        uvicorn.Config(
            build(house),
            host=settings.host,
            port=settings.port,
            access_log=False,
            server_header=False,
            log_level="warning",
            timeout_graceful_shutdown=5,
            # Headers of a proxy are not ours to believe.
            proxy_headers=False,
        )
    )
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        house.close()
    return 0 if server.started else 1


def tell(sentence: str) -> int:
    """Say on standard error why nothing was started; the exit status is 1."""
    print(sentence, file=sys.stderr)
    return 1

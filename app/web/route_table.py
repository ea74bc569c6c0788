"""Every route beside its line of the access table, as plain data."""

from collections.abc import Iterable
from typing import Any

from fastapi.routing import APIRoute

from app.web import AREAS
from app.web.access import TABLE


def routes() -> Iterable[APIRoute]:
    """Return every route of every area."""
    for area in AREAS:
        for route in area.routes:
            if isinstance(route, APIRoute):
                yield route


def route_table() -> list[dict[str, Any]]:
    """Return method, path, action, roles and object rule of every route; files come last."""
    rows = [
        {
            "method": method,
            "path": route.path,
            "action": route.name,
            "roles": sorted(TABLE[route.name].roles),
            "object_rule": TABLE[route.name].rule,
        }
        for route in routes()
        for method in sorted(route.methods or ())
    ]
    files = TABLE["static"]
    rows.append(
        {"method": "GET", "path": "/static/{path}", "action": "static", "roles": sorted(files.roles),
         "object_rule": files.rule}
    )  # fmt: skip
    return rows

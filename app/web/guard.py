"""The outermost layer: which hosts and origins may ask, how much they may send, what every answer carries."""

import logging
import time
import uuid
from collections.abc import Awaitable, Callable
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.settings.config import Settings

log = logging.getLogger("daybuoy")

FORM_BYTES = 256 * 1024
HEADER_BYTES = 16 * 1024
# Where a route that takes files notes how many bytes its form may hold.
MOST_BYTES = "most_bytes"
# A file as it is, or as the browser has it.
FOUND = (200, 304)
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
        "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    # With no-referrer the Origin of a form would become "null".
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), bluetooth=()",
}
# The one worker: of itself it reaches its own folder alone; it may reach the water side, and no more.
WORKER, WORKER_REACH = "/static/water-worker.js", b"/water/"
# What a page may say more strictly than all the others.
MAY_BE_STRICTER = ("Referrer-Policy",)
PlainAnswer = Callable[[Scope, int, str, str], tuple[bytes, str]]
Refuse = Callable[[int, str, str], Awaitable[None]]


class TooBig(Exception):
    """More was sent than a form may hold; carries how many bytes it may."""

    def __init__(self, most: int) -> None:
        super().__init__(str(most))
        self.most = most


class Guard:
    """Wraps the whole application: nothing reaches it unchecked, nothing leaves it without the headers."""

    def __init__(self, app: ASGIApp, settings: Settings, plain: PlainAnswer) -> None:
        self.app = app
        self.hosts = settings.host_names()
        self.scheme = settings.scheme
        self.plain = plain

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check one request and pass it on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        reference = uuid.uuid4().hex[:8]
        scope.setdefault("state", {})["reference"] = reference
        head_only = scope["method"] == "HEAD"
        began = time.perf_counter()
        status = 0

        async def out(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                _dress(message, scope["path"])
            elif head_only and message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        async def refuse(status: int, title: str, what: str) -> None:
            body, kind = self.plain(scope, status, title, what)
            await out(
                {
                    "type": "http.response.start",
                    "status": status,
                    "headers": [(b"content-type", kind.encode())],
                }
            )
            await out({"type": "http.response.body", "body": body})

        try:
            await self._pass_on(scope, receive, out, refuse)
        except Exception as error:
            # The kind only: texts of errors can hold what somebody typed.
            log.error("ref=%s kind=%s", reference, type(error).__name__)
            log.debug("ref=%s", reference, exc_info=error)
            if not status:
                await refuse(
                    500,
                    "Our fault",
                    "Nothing was stored. Go back and try again; tell the manager if it happens twice.",
                )
        finally:
            _log(scope, status, began)

    async def _pass_on(self, scope: Scope, receive: Receive, out: Send, refuse: Refuse) -> None:
        headers = dict(scope["headers"])
        host = headers.get(b"host", b"").decode("latin-1").lower()
        if _without_port(host) not in self.hosts:
            await refuse(403, "Not this address", "Open the shop at the address shown on its computer.")
            return
        if scope["method"] not in ("GET", "HEAD", "POST"):
            await refuse(405, "Not possible here", "Go back and use the buttons of the page.")
            return
        if sum(len(name) + len(value) for name, value in scope["headers"]) > HEADER_BYTES:
            await refuse(
                413,
                "Too much was sent",
                "The request's headers are over 16 KiB. Close other tabs and try again.",
            )
            return
        if scope["method"] == "POST":
            origin = headers.get(b"origin", b"").decode("latin-1").lower()
            if origin != f"{self.scheme}://{host}":
                await refuse(
                    403, "Not sent from our own page", "Open the page again and send the form from there."
                )
                return
        if scope["method"] == "HEAD":
            # The body is left out on the way back.
            scope["method"] = "GET"
        await self.app(scope, _counted(receive, headers, scope["state"]), out)


def _log(scope: Scope, status: int, began: float) -> None:
    """Write the request's one line: never an address as asked for, which can hold a name or a token."""
    state = scope["state"]
    route = scope.get("route")
    pattern = getattr(route, "path", None) or ("/static" if scope["path"].startswith("/static/") else "-")
    log.info(
        "ref=%s route=%s person=%s device=%s status=%d ms=%d",
        state["reference"], pattern, state.get("person_id") or "-", state.get("device_id") or "-", status,
        round((time.perf_counter() - began) * 1000),
    )  # fmt: skip


def _dress(message: Message, path: str) -> None:
    present = {name.lower() for name, _ in message["headers"]}
    extra = [
        (name.encode(), value.encode())
        for name, value in HEADERS.items()
        if name not in MAY_BE_STRICTER or name.lower().encode() not in present
    ]
    if b"cache-control" not in present:
        is_file = path.startswith("/static/") and message["status"] in FOUND
        keep = b"public, max-age=3600" if is_file else b"no-store"
        extra.append((b"Cache-Control", keep))
    if path == WORKER:
        extra.append((b"Service-Worker-Allowed", WORKER_REACH))
    message["headers"] = [*message["headers"], *extra]


def _counted(
    receive: Receive, headers: dict[bytes, bytes], state: dict[str, Any]
) -> Callable[[], Awaitable[Any]]:
    """Count while reading. A route that takes files says so in ``state`` before its form is read."""
    said = headers.get(b"content-length", b"")
    total = 0

    async def counted() -> Message:
        nonlocal total
        most: int = state.get(MOST_BYTES, FORM_BYTES)
        if said.isdigit() and int(said) > most:
            raise TooBig(most)
        message = await receive()
        total += len(message.get("body", b""))
        if total > most:
            raise TooBig(most)
        return message

    return counted


def _without_port(host: str) -> str:
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]

"""The plain-http door beside an https shop: it hands the certificate out that phones trust, and nothing else.

Every other address leads to the same one over https. It knows no cookie, no form and no record.
"""

from starlette.types import Receive, Scope, Send

CERTIFICATE = "/shop.crt"
HOST_MOST = 253
PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Trust this shop</title>
<meta name="viewport" content="width=device-width, initial-scale=1"></head>
<body><h1>Trust this shop's computer</h1>
<ol><li><a href="/shop.crt">Save the certificate</a></li>
<li>Open it. If the phone asks for a use, choose web pages.</li>
<li>Some phones ask twice: also switch on full trust for it, in the settings about certificates.</li>
<li>Compare its SHA-256 fingerprint with the one on the shop's set-up page.</li>
<li><a href="{home}">Go to the shop</a></li></ol></body></html>
"""
HEADERS = (
    (b"content-security-policy", b"default-src 'none'; base-uri 'none'; form-action 'none'"),
    (b"x-content-type-options", b"nosniff"),
    (b"cache-control", b"no-store"),
)


class TrustDoor:
    """An application of two addresses. authority: the certificate (DER); port: where https is served."""

    def __init__(self, authority: bytes, port: int) -> None:
        """Keep what is handed out."""
        self._authority, self._port = authority, port

    async def __call__(self, scope: Scope, _receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        home = f"https://{_host(scope)}:{self._port}"
        path = scope["path"]
        if scope["method"] not in ("GET", "HEAD"):
            await _answer(send, 405, b"text/plain; charset=utf-8", b"Nothing is written here.")
        elif path == CERTIFICATE:
            more = ((b"content-disposition", b'attachment; filename="shop.crt"'),)
            await _answer(send, 200, b"application/x-x509-ca-cert", self._authority, more)
        elif path == "/":
            page = PAGE.replace("{home}", f"{home}/").encode()
            await _answer(send, 200, b"text/html; charset=utf-8", page)
        else:
            more = ((b"location", f"{home}{_plain(path)}".encode("ascii")),)
            await _answer(send, 307, b"text/plain; charset=utf-8", b"", more)


def _host(scope: Scope) -> str:
    """Return the host that was asked for, without its port; the address itself when it is odd."""
    headers: dict[bytes, bytes] = dict(scope["headers"])
    said = headers.get(b"host", b"").decode("latin-1")
    name = said.rpartition(":")[0] if ":" in said and not said.endswith("]") else said
    plain = name.replace(".", "").replace("-", "").replace(":", "").strip("[]")
    if plain.isalnum() and plain.isascii() and len(name) <= HOST_MOST:
        return name
    return str(scope["server"][0]) if scope.get("server") else "127.0.0.1"


def _plain(path: str) -> str:
    """Return a path that surely is one of ours; anything odd leads to the first page."""
    fine = path.isascii() and path.replace("/", "").replace("-", "").replace("_", "").isalnum()
    return path if fine and not path.startswith("//") else "/"


async def _answer(
    send: Send, status: int, kind: bytes, body: bytes, more: tuple[tuple[bytes, bytes], ...] = ()
) -> None:
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode()), *HEADERS, *more]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})

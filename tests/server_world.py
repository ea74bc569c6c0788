"""The real server in a process of its own, and browsers that reach it over the network."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import html5lib
import uvicorn

from tests.web_world import PASSPHRASE, World, make_world, sent_fields

ROOT = Path(__file__).resolve().parents[1]
READY_SECONDS = 60
DAYBUOY = (sys.executable, "-c", "import sys; from app.cli import main; sys.exit(main())")


def _environment(variables: dict[str, str]) -> dict[str, str]:
    """Start from compiled code, as a shop's computer does from its second start on."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    compiled = str(Path(tempfile.gettempdir()) / "daybuoy-tests-bytecode")
    return {**kept, "PYTHONPYCACHEPREFIX": compiled, "PYTHONUNBUFFERED": "1", **variables}


def make_folder(tmp_path: Path) -> Path:
    """Make the small shop of the tests in a folder and leave it closed."""
    world = make_world(tmp_path)
    world.house.close()
    return tmp_path / "data"


def command(*words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run the ``daybuoy`` command to its end."""
    return subprocess.run(
        [*DAYBUOY, *words], cwd=ROOT, env=_environment(variables),
        capture_output=True, text=True, timeout=READY_SECONDS, check=False,
    )  # fmt: skip


@dataclass
class Served:
    """A running server: its port, its process, what it wrote to standard error."""

    process: subprocess.Popen[str]
    port: int
    ready_after: float
    log: list[str] = field(default_factory=list)

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def visitor(self) -> "Visitor":
        """Return a fresh browser without scripts."""
        return Visitor(self.port)


@contextmanager
def serving(folder: Path, **variables: str) -> Iterator[Served]:
    """Serve a folder on a free port until the block ends."""
    began = time.perf_counter()
    process = subprocess.Popen(
        [*DAYBUOY, "serve", "--data", str(folder), "--port", "0"], cwd=ROOT,
        env=_environment(variables), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stdout is not None and process.stderr is not None
    log: list[str] = []
    reader = threading.Thread(target=lambda: log.extend(process.stderr or ()), daemon=True)
    reader.start()
    try:
        said = ""
        for said in process.stdout:
            if "Daybuoy runs at" in said:
                break
        found = re.search(r":(\d+) \(stop", said)
        assert found, f"no server: {said} {log}"
        served = Served(process, int(found.group(1)), 0.0, log)
        served.ready_after = _wait_until_up(served.port, began)
        yield served
    finally:
        if process.poll() is None:
            process.terminate()
            process.wait(20)
        process.stdout.close()
        reader.join(5)
        process.stderr.close()


@contextmanager
def serving_https(folder: Path) -> Iterator[tuple[int, int]]:
    """Serve a folder over https until the block ends; yields the port of the pages and of the plain door."""
    process = subprocess.Popen(
        [*DAYBUOY, "serve", "--https", "--data", str(folder), "--port", "0"], cwd=ROOT, env=_environment({}),
        text=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        ports: list[int] = []
        for said in process.stdout:
            found = re.search(r"(https?)://127.0.0.1:(\d+)/? \(", said)
            if found:
                ports.append(int(found.group(2)))
            if len(ports) == 2:
                break
        assert len(ports) == 2, "no server"
        yield ports[0], ports[1]
    finally:
        process.terminate()
        process.wait(20)
        process.stdout.close()


@contextmanager
def served_here(world: World) -> Iterator[int]:
    """Serve a test's own shop over the network from a thread; yields the port."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(world.app, log_config=None, access_log=False, server_header=False))
    thread = threading.Thread(target=lambda: server.run(sockets=[listening]))
    thread.start()
    try:
        port = listening.getsockname()[1]
        _wait_until_up(port, time.perf_counter())
        yield port
    finally:
        server.should_exit = True
        thread.join()
        listening.close()


def _wait_until_up(port: int, began: float) -> float:
    while time.perf_counter() - began < READY_SECONDS:
        try:
            if Visitor(port).get("/up")[0] == 200:
                return time.perf_counter() - began
        except OSError:
            time.sleep(0.02)
    raise AssertionError("the server did not come up")


@dataclass
class Visitor:
    """A browser over a real connection, with its own cookies."""

    port: int
    cookies: dict[str, str] = field(default_factory=dict)

    def get(self, path: str) -> tuple[int, str, dict[str, str]]:
        """Open an address; return status, text and headers."""
        return self._ask("GET", path, None)

    def post(self, path: str, pairs: list[tuple[str, str]]) -> tuple[int, str, dict[str, str]]:
        """Send a form as one of our own pages would."""
        return self._ask("POST", path, urlencode(pairs))

    def form(self, page: str, action: str, at: str | None = None) -> tuple[str, list[tuple[str, str]]]:
        """Return address and untouched fields of one form of a page."""
        status, text, _ = self.get(page)
        assert status == 200, (page, status)
        return form_in(text, action, at)

    def follow(self, path: str, pairs: list[tuple[str, str]]) -> tuple[int, str]:
        """Send a form and open where it leads; return status and address (of the form when it is refused)."""
        status, _, headers = self.post(path, pairs)
        return (status, headers["location"]) if status == 303 else (status, path)

    def sign_in(self, name: str) -> "Visitor":
        """Sign in by name."""
        to, pairs = self.form("/sign-in", "sign_in")
        status, _, headers = self.post(to, typed(pairs, name=name, secret=PASSPHRASE))
        assert (status, headers.get("location")) == (303, "/today")
        return self

    def _ask(self, method: str, path: str, body: str | None) -> tuple[int, str, dict[str, str]]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if body is not None:
            headers["Origin"] = f"http://127.0.0.1:{self.port}"
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            line.request(method, path, body, headers)
            answer = line.getresponse()
            text = answer.read().decode()
            for value in answer.headers.get_all("set-cookie") or ():
                name, _, rest = value.partition("=")
                self.cookies[name] = rest.partition(";")[0]
            return answer.status, text, {name.lower(): value for name, value in answer.headers.items()}
        finally:
            line.close()


def form_in(text: str, action: str, at: str | None = None) -> tuple[str, list[tuple[str, str]]]:
    """Return address and untouched fields of one form of a page's text."""
    root: Any = html5lib.parse(text, namespaceHTMLElements=False)
    for one in root.iter("form"):
        if one.get("data-action") == action and at in (None, one.get("action")):
            return one.get("action"), list(sent_fields(one))
    raise AssertionError(f"no form {action} in {text[:2000]}")


def typed(pairs: list[tuple[str, str]], **fields: str) -> list[tuple[str, str]]:
    """Return a form's fields with some of them filled in."""
    return [(name, value) for name, value in pairs if name not in fields] + list(fields.items())


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Do several things at the same moment, each in a thread; return their results in order."""
    gate, results = threading.Barrier(len(acts)), [None] * len(acts)

    def run(number: int, act: Callable[[], Any]) -> None:
        gate.wait()
        results[number] = act()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results

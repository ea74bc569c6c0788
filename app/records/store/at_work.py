"""One long work at a time beside the pages: begun at once, told on any page, ended with the house."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime


class Stopped(Exception):
    """The house is closing: leave the work where it is; it is done again later."""


@dataclass(frozen=True)
class Work:
    """What is being done, for the page that asks."""

    key: str
    what: str
    asked_by: str
    began_at: datetime
    step: str = ""


Say = Callable[[str], None]


class AtWork:
    """Holds the work that is under way, and the thread that does it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stopping = threading.Event()
        self._work: Work | None = None
        self._thread: threading.Thread | None = None

    @property
    def now(self) -> Work | None:
        """What is being done; None while nothing is."""
        return self._work

    def take(self, work: Work) -> bool:
        """Begin a work in the caller's own thread; False while another is under way. ``leave`` ends it."""
        with self._lock:
            if self._work is not None or self._stopping.is_set():
                return False
            self._work = work
            return True

    def leave(self) -> None:
        """End the work that was taken."""
        self._work = None

    def say(self, step: str) -> None:
        """Note what the work is at; raises Stopped when the house is closing."""
        if self._stopping.is_set():
            raise Stopped
        if self._work is not None:
            self._work = replace(self._work, step=step)

    def begin(self, work: Work, run: Callable[[], object]) -> bool:
        """Begin a work in a thread of its own and return at once; False while another is under way."""
        if not self.take(work):
            return False

        def go() -> None:
            try:
                run()
            finally:
                self.leave()

        self._thread = threading.Thread(target=go, name=f"work {work.key}")
        self._thread.start()
        return True

    def wait(self, seconds: float | None = None) -> None:
        """Wait until the work that was begun is done."""
        if self._thread is not None:
            self._thread.join(seconds)

    def stop(self) -> None:
        """Begin nothing any more, and wait until the work has left off."""
        self._stopping.set()
        self.wait()

"""Making pages: the templates, what every page is given, plain answers for when something is wrong."""

import uuid
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.types import Scope

from app.actions.act import Clash, Invalid, Problem, Refused
from app.records.guest_side.languages import Words
from app.rules.decision import Reason
from app.rules.sentences import Sentence
from app.settings.config import TEMPLATES
from app.web.speaking import speak


@lru_cache(maxsize=1)
def templates() -> Environment:
    """Return the one template environment: escaping always on, undefined names raise."""
    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        extensions=["jinja2.ext.i18n"],
    )
    speak(env)
    env.filters["day"] = say_day
    env.filters["short_day"] = lambda day: f"{day:%a} {day.day} {day:%b}"
    env.filters["money"] = lambda cents: f"{cents / 100:.2f}"
    env.filters["figure"] = say_figure
    return env


def say_day(day: date) -> str:
    """Say a date as "Tue 4 Mar 2025"."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def say_clock(instant: datetime, zone: ZoneInfo) -> str:
    """Say an instant as "14:05" on the shop's clock."""
    return f"{instant.astimezone(zone):%H:%M}"


def instant_of(day: date, clock: str, zone: ZoneInfo) -> datetime:
    """Return the instant, in UTC, that "14:05" meant on the shop's clock on a day."""
    return datetime.combine(day, time.fromisoformat(clock), zone).astimezone(UTC)


def say_moment(instant: datetime, zone: ZoneInfo) -> str:
    """Say an instant as "Tue 4 Mar 2025 14:05" on the shop's clock."""
    return f"{say_day(instant.astimezone(zone).date())} {say_clock(instant, zone)}"


def say_figure(number: float | None, digits: int = 0) -> str:
    """Say a number with a fixed count of decimals; a missing one is said to be missing."""
    return "not known" if number is None else f"{number:.{digits}f}"


def new_key() -> str:
    """Return a fresh one-use key for a form (128 random bits, hex)."""
    return uuid.uuid4().hex


@dataclass(frozen=True)
class ClashRow:
    """One value two people changed, ready for the page."""

    label: str
    yours: str
    theirs: str
    who: str
    when: str


@dataclass(frozen=True)
class ProblemView:
    """What went wrong with a posted form, as the page shows it. to: the address that the form was sent to."""

    title: str
    status: int
    action: str
    to: str = ""
    errors: dict[str, str] = field(default_factory=dict)
    reasons: tuple[Reason, ...] = ()
    values: dict[str, str] = field(default_factory=dict)
    # Every field with all its values: for lists of ticks.
    lists: dict[str, tuple[str, ...]] = field(default_factory=dict)
    clash: tuple[ClashRow, ...] = ()

    @staticmethod
    def of(
        problem: Problem, action: str, values: dict[str, str], zone: ZoneInfo, to: str = ""
    ) -> "ProblemView":
        """Turn what an action raised into what the page shows; typed values are kept."""
        shared: dict[str, Any] = {"status": problem.status, "action": action, "values": values, "to": to}
        if isinstance(problem, Invalid):
            count = len(problem.errors)
            title = Sentence.counted(
                "There is one thing to put right", "There are %(num)d things to put right", count
            )
            return ProblemView(title, errors=problem.errors, **shared)
        if isinstance(problem, Refused):
            return ProblemView(Sentence("Not possible yet"), reasons=problem.decision.reasons, **shared)
        if isinstance(problem, Clash):
            when = say_clock(problem.when, zone) if problem.when else ""
            rows = tuple(
                ClashRow(one.label, one.yours, one.theirs, problem.who, when) for one in problem.differences
            )
            at = f" at {when}" if when else ""
            by = f"{problem.who or 'Somebody'} changed this{at}. Choose which to keep."
            return ProblemView(by, clash=rows, **shared)
        return ProblemView(str(problem), **shared)

    def said_in(self, language: Words) -> "ProblemView":
        """Return the same problem in a reader's own language."""
        if language.original:
            return self
        errors = {name: language.say(sentence) for name, sentence in self.errors.items()}
        return replace(self, title=language.say(self.title), errors=errors)

    @staticmethod
    def of_store(action: str, values: dict[str, str], to: str, *, full: bool) -> "ProblemView":
        """Say that the store could not take the form (no room: 507, else 503); what was typed stays."""
        title = (
            Sentence(
                "Nothing was stored: the shop computer has no room left. "
                "Tell the manager now, then send this again."
            )
            if full
            else Sentence(
                "Nothing was stored: the shop computer is busy. Wait a moment, then send this again."
            )
        )
        status = 507 if full else 503
        return ProblemView(title, status=status, action=action, values=values, to=to)


def plain_answer(scope: Scope, status: int, title: str, what: str) -> tuple[bytes, str]:
    """Return a page that needs no store and no session: for refusals before or instead of a page."""
    reference = scope.get("state", {}).get("reference", "")
    page = templates().get_template("_shared/answer.html")
    text = page.render(
        status=status, shop_name="", wait=None, reference=reference, said_title=title, said=what
    )
    return text.encode(), "text/html; charset=utf-8"

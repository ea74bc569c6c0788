"""What an issued plan says and what comes out now: the figures that differ, side by side."""

from collections.abc import Iterator
from dataclasses import dataclass

from app.web.figures import Figures
from app.web.plans.sheet import DiverLine, PlanSheet

NOT_THERE = "not in the group"


@dataclass(frozen=True)
class Change:
    """One figure that is another now; all in words with their units."""

    what: str
    was: str
    now: str


def changes(was: PlanSheet, now: PlanSheet, say: Figures) -> tuple[Change, ...]:
    """Return every figure on which two sheets of one group differ, as a reader sees them."""
    then, here = dict(_said(was, say)), dict(_said(now, say))
    both = [*then, *(what for what in here if what not in then)]
    return tuple(
        Change(what, then.get(what, NOT_THERE), here.get(what, NOT_THERE))
        for what in both
        if then.get(what) != here.get(what)
    )


def _said(sheet: PlanSheet, say: Figures) -> Iterator[tuple[str, str]]:
    yield "Turn", str(say.bar(sheet.turn, "up"))
    yield "Reserve", str(say.bar(sheet.reserve, "up"))
    yield "Depth", str(say.metres(sheet.case["depth_m"]))
    yield "Time", f"{sheet.case['minutes']:g} min"
    yield "Way up at the latest", f"{sheet.latest} min"
    yield "Water", str(say.degrees(sheet.case["sea"]["temp_c"]))
    for one in sheet.divers:
        yield f"{one.name}: {one.part}", _diver(one, say)


def _diver(one: DiverLine, say: Figures) -> str:
    back = say.bar(one.end) if one.end > 0 else "empty"
    return f"cylinder {one.cylinder}, starts with {say.bar(one.start)}, back with {back}"

"""Gas account: what was in the cylinders, what came in, where it went, and what is missing."""

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.planning.gas_account import Flow, Line, bar_litres
from app.records.gas_room.gas_account import GasAccount, gas_accounts, whole_account
from app.records.look_back.dive_lines import DiveLines
from app.records.look_back.gas_log import gas_day
from app.records.store.problems import NotHere
from app.web.access import MANAGER
from app.web.figures import Figures, grouped
from app.web.front import FIRST_DAY, Desk, Front
from app.web.gas_room.account_picture import STEPS, day_picture, days_picture

router = APIRouter()
WEEK = 7
SPANS = ("day", "week")
# Less than this is not worth a sentence, in litres.
SPOKEN_FROM_L = 1.0


@router.get("/gas/account", name="gas_account")
def gas_account(front: Desk) -> Response:
    """Show the account of a day, or of the week that ends with it."""
    span = front.request.query_params.get("span", SPANS[0])
    if span not in SPANS:
        raise NotHere("no such span")
    return _week(front) if span == SPANS[1] else _day(front)


def _day(front: Front) -> Response:
    day = front.day_asked()
    (found,) = gas_accounts(front.session, day, day)
    total = found.total
    figures = Figures(front.visitor.units)
    return front.page(
        "gas_room/account.html",
        f"Gas account: {day:%a} {day.day} {day:%b}",
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        span="day",
        finding=_finding(found, figures),
        found=found,
        total=total,
        rows=_rows(total),
        moved=[(store, line) for store, line in found.lines if line.amounts],
        still=[(store, line) for store, line in found.lines if line.closing and not line.amounts],
        dives=[(one.view, _used(one)) for one in gas_day(front.session, day).dives],
        flow=Flow,
        bar_l=_bar_litres,
        picture=day_picture(total, lambda litres: str(figures.litres(litres, "near"))),
        manager=front.visitor.has(MANAGER),
    )


def _week(front: Front) -> Response:
    last = front.day_asked()
    first = max(FIRST_DAY, last - timedelta(days=WEEK - 1))
    days = gas_accounts(front.session, first, last)
    found = whole_account(front.session, first, last)
    figures = Figures(front.visitor.units)
    return front.page(
        "gas_room/account_week.html",
        f"Gas account: week to {last:%a} {last.day} {last:%b}",
        day=last,
        before=last - timedelta(days=WEEK),
        after=last + timedelta(days=WEEK),
        span="week",
        finding=_finding(found, figures),
        found=found,
        days_told=days,
        total=found.total,
        rows=_rows(found.total),
        flow=Flow,
        bar_l=_bar_litres,
        picture=days_picture(days, lambda litres: str(figures.litres(litres, "near"))),
    )


def _used(dive: DiveLines) -> float | None:
    """Return what a dive breathed in litres; None while no diver's start and end are both read."""
    read = [line.used_litres for line in dive.lines if line.used_litres is not None]
    return sum(read) if read else None


def _bar_litres(litres: float) -> str:
    """Say an amount of gas in bar·L, without the unit."""
    return grouped(f"{bar_litres(litres):.0f}")


def _rows(total: Line) -> list[tuple[str, float]]:
    """Return the account as words and amounts, signed, opening first and closing last."""
    moved = [(word, total.amounts[flow]) for flow, word, _ in STEPS if total.amounts.get(flow)]
    return [
        ("In the cylinders at the start", total.opening),
        *moved,
        ("In the cylinders at the end", total.closing),
    ]


def _finding(found: GasAccount, figures: Figures) -> str:
    """Say in one or two sentences what the account comes to."""
    total = found.total

    def say(litres: float) -> str:
        return str(figures.litres(litres, "near"))

    filled = total.of(Flow.FILLED)
    told = f"{say(total.of(Flow.BREATHED))} were breathed and "
    told += f"{say(filled)} filled." if filled else "nothing was filled."
    missing = total.of(Flow.LOST)
    if missing < SPOKEN_FROM_L:
        return f"{told} Nothing is missing beyond what heat and gauges explain."
    where = ", ".join(store.name for store, _ in found.losing[:4])
    more = f" and {len(found.losing) - 4} more" if len(found.losing) > 4 else ""  # noqa: PLR2004 - as shown
    return f"{told} {say(missing)} are missing: look at {where}{more}."

"""Gas log: each diver of a day against the plan, how one figure was worked out, and days, weeks, a season."""

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.planning.gas_account import Flow
from app.planning.plan_gap import Gap
from app.records.gas_room.gas_account import GasAccount, gas_accounts
from app.records.look_back.dive_lines import DiverLine, dive_line
from app.records.look_back.gas_log import GasDay, gas_day
from app.records.look_back.gas_periods import Period, days_before, gas_periods, months_before
from app.records.store.problems import NotHere
from app.web.figures import Figures
from app.web.front import FIRST_DAY, Desk, Front
from app.web.look_back.gas_pictures import ends_picture, periods_picture

router = APIRouter()
DAY, WEEK, SEASON = SPANS = ("day", "week", "season")
WEEK_DAYS, SEASON_MONTHS = 7, 12
# Causes smaller than this are not worth a word, in bar.
SPOKEN_FROM_BAR = 1.0


@router.get("/look-back/gas", name="gas_log")
def gas_log(front: Desk) -> Response:
    """Show the log of a day, of the week that ends with it, or of twelve months up to it."""
    span = front.request.query_params.get("span", DAY)
    if span not in SPANS:
        raise NotHere("no such span")
    return _day(front) if span == DAY else _periods(front, span)


@router.get("/look-back/gas/divers/{member_id}", name="gas_of_diver")
def gas_of_diver(front: Desk, member_id: int) -> Response:
    """Show how one diver's figures were worked out, and what explains the end against the plan."""
    dive, line = dive_line(front.session, member_id)
    day = dive.view.slot.day
    return front.page(
        "look_back/gas_diver.html",
        f"Gas of {line.name}",
        dive=dive,
        line=line,
        day=day,
        causes=[] if line.gap is None else _causes(line.gap),
    )


def _day(front: Front) -> Response:
    day = front.day_asked()
    found = gas_day(front.session, day)
    (account,) = gas_accounts(front.session, day, day)
    figures = Figures(front.visitor.units)
    lines = [(dive, line) for dive in found.dives for line in dive.lines]
    return front.page(
        "look_back/gas.html",
        f"Gas log {day:%a} {day.day} {day:%b}",
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        span=DAY,
        gas=found,
        lost=account.total.of(Flow.LOST),
        odd=[(dive, line, why_odd(line, figures)) for dive, line in lines if line.odd],
        finding=_finding(found, account, figures),
        picture=ends_picture(lines, front.visitor.units),
        bands=[line for _, line in lines if line.end_bar is not None and line.band_bar is not None],
    )


def _periods(front: Front, span: str) -> Response:
    last = front.day_asked()
    spans = days_before(last, WEEK_DAYS) if span == WEEK else months_before(last, SEASON_MONTHS)
    found = gas_periods(front.session, front.house, [one for one in spans if one[0] >= FIRST_DAY])
    # A season begins with the first month of which anything is known.
    while len(found) > 1 and span == SEASON and not (found[0].went_in or found[0].filled_litres):
        del found[0]
    figures = Figures(front.visitor.units)
    away = timedelta(days=WEEK_DAYS) if span == WEEK else timedelta(days=365)
    return front.page(
        "look_back/gas_periods.html",
        "Gas log of a week" if span == WEEK else "Gas log of a season",
        day=last,
        before=max(FIRST_DAY, last - away),
        after=last + away,
        span=span,
        periods=[(label_of(one, span), one) for one in found],
        finding=_periods_finding(found, span, figures),
        picture=periods_picture(
            [(label_of(one, span), one) for one in found], lambda litres: str(figures.litres(litres, "near"))
        ),
    )


def label_of(period: Period, span: str) -> str:
    """Call a period: a day by its date, a month by its name."""
    first = period.first
    return f"{first:%a} {first.day} {first:%b}" if span == WEEK else f"{first:%b %Y}"


def why_odd(line: DiverLine, figures: Figures) -> list[str]:
    """Say in words why somebody should look at a line first."""
    said = [f"no {word} written down" for word in line.missing]
    if line.under_reserve:
        said.append(f"back under the reserve of {figures.bar(line.reserve_bar, 'up')}")
    found = line.gap
    if line.outside_band and found is not None:
        more = "more" if found.whole_bar < 0 else "less"
        said.append(f"{figures.bar(abs(found.whole_bar), 'near')} {more} used than expected")
        said += [words for words, bar in _causes(found) if abs(bar) > abs(found.whole_bar) / 3]
    return said


def _causes(found: Gap) -> list[tuple[str, float]]:
    """Return what explains a gap, in words, with the bar each cause is worth, the largest first."""
    causes = [
        (_word(found.start_bar, "started fuller", "started emptier"), found.start_bar),
        (_word(found.depth_bar, "shallower than planned", "deeper than planned"), found.depth_bar),
        (_word(found.minutes_bar, "shorter than planned", "longer than planned"), found.minutes_bar),
        (_word(found.breathing_bar, "breathed less than expected", "breathed more than expected"),
         found.breathing_bar),
    ]  # fmt: skip
    told = [one for one in causes if abs(one[1]) >= SPOKEN_FROM_BAR]
    return sorted(told, key=lambda one: -abs(one[1]))


def _word(bar: float, left_more: str, left_less: str) -> str:
    return left_more if bar > 0 else left_less


def _finding(found: GasDay, account: GasAccount, figures: Figures) -> str:
    """Say what the day came to."""
    lines = [line for dive in found.dives for line in dive.lines]
    if not lines:
        return "Nobody has been in the water on this day."
    ends = [line.end_bar for line in lines if line.end_bar is not None]
    odd = sum(line.odd for line in lines)
    missing = sum(bool(line.missing) for line in lines)
    back = [line for line in lines if line.out]
    people = "1 person" if len(back) == 1 else f"{len(back)} people"
    said = [f"{people} dived and breathed {figures.litres(found.used_litres, 'near')}."] if back else []
    if len(lines) > len(back):
        said.append(f"{len(lines) - len(back)} still in the water.")
    if ends:
        said.append(f"The lowest gauge at the end read {figures.bar(min(ends))}.")
    if back:
        said.append(f"{odd} of them need a look." if odd else "Nothing stands out.")
    if missing:
        said.append(f"For {missing} a figure is missing.")
    lost = account.total.of(Flow.LOST)
    if lost >= 1:
        said.append(f"{figures.litres(lost, 'near')} are missing from the cylinders.")
    return " ".join(said)


def _periods_finding(found: list[Period], span: str, figures: Figures) -> str:
    dives = sum(one.guest_dives for one in found)
    whole = "week" if span == WEEK else "twelve months"
    if not dives:
        return f"No guest's dive with all its figures in this {whole}."
    litres = sum(one.guest_litres for one in found)
    said = f"{dives} guests' dives took {figures.litres(litres / dives, 'near')} each."
    busiest = max(found, key=lambda one: one.went_in)
    said += f" The busiest was {label_of(busiest, span)} with {busiest.went_in} people in the water."
    without = sum(one.without_figures for one in found)
    return said + (f" {without} more have no complete figures." if without else "")

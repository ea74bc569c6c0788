"""What the last weeks teach: bands, skills, waiting, where booked guests end, who does not come."""

from collections.abc import Iterable
from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup

from app.planning.shares import FEW, Share
from app.records.look_back.learning import DIVED, Learning, learning
from app.records.plans.breathing_report import breathing_report
from app.records.store.problems import NotHere
from app.rules.sign_off import SKILLS
from app.web.front import Desk
from app.web.look_back.learning_pictures import amounts_picture, shares_picture, waits_picture

router = APIRouter()
SPANS = {"30": "30 days", "90": "90 days", "365": "a year"}
PROMISED = 0.9


@router.get("/look-back/learning", name="what_we_learn")
def what_we_learn(front: Desk) -> Response:
    """Show five charts with the finding of each."""
    asked = front.request.query_params.get("days", "90")
    if asked not in SPANS:
        raise NotHere("no such span")
    last = front.today
    first = last - timedelta(days=int(asked) - 1)
    taught = learning(front.session, front.shop, first, last, front.now)
    report = breathing_report(front.session, front.house, front.now - timedelta(days=int(asked)))
    held = len(report.held)
    over = held - report.inside - report.under
    bands = [
        ("Inside the band", Share(report.inside, held)),
        ("Under it", Share(report.under, held)),
        ("Over it", Share(over, held)),
    ]
    skills = [(_skill(one.skill), one.again, one.tries) for one in taught.skills]
    return front.page(
        "look_back/learning.html",
        "What we learn",
        span=asked,
        spans=SPANS,
        first=first,
        last=last,
        taught=taught,
        bands=bands,
        bands_say=_bands_say(bands[0][1], report.under),
        bands_picture=shares_picture("bands", bands, PROMISED) if held else "",
        skills=skills,
        skills_say=_skills_say(taught),
        skills_picture=shares_picture("skills", [one[:2] for one in skills])
        if any(again.count for _, again, _ in skills)
        else "",
        waits_say=_waits_say(taught),
        waits_picture=waits_picture(taught.waits) if taught.waits else "",
        ends_say=_ends_say(taught),
        ends_picture=_ends_picture(taught),
        no_shows_say=_no_shows_say(taught),
        no_shows_picture=shares_picture("no-shows", taught.no_shows)
        if any(one.of for _, one in taught.no_shows)
        else "",
    )


def _skill(key: str) -> str:
    return SKILLS[key].words if key in SKILLS else key.replace("_", " ").capitalize()


def percent(share: float) -> str:
    """Say a share in whole per cent."""
    return f"{round(100 * share)} %"


def likely(one: Share) -> str:
    """Say where the true share lies."""
    low, high = one.interval
    return f"likely {round(100 * low)} to {percent(high)}"


def _bands_say(inside: Share, under: int) -> str:
    if inside.share is None:
        return "No dive with a plan, a start and an end pressure yet."
    said = f"{inside.count} of {inside.of} dives ended inside the band of their plan ({likely(inside)})."
    if inside.few:
        return f"{said} Too few to tell."
    low, high = inside.interval
    if high < PROMISED:
        return f"{said} That is less than the nine of ten that plans promise: look at the odd dives."
    if under > (inside.of - inside.count) * 2 / 3 and low < PROMISED:
        return f"{said} Most of the others ended under it: plan shorter until more dives are logged."
    return f"{said} The plans promise nine of ten."


def _skills_say(taught: Learning) -> str:
    tried = [(one.skill, one.again) for one in taught.skills if one.again.of]
    if not tried:
        return "No skill was signed off yet."
    if not any(again.count for _, again in tried):
        return "Every skill was shown at the first try."
    (skill, most), *others = _largest(tried)
    said = f"{_skill(skill)} needs most repeats: {most.count} of {most.of} guests ({likely(most)})."
    if most.few:
        return f"{said} Too few to tell yet."
    if others and (others[0][1].share or 0.0) > most.interval[0]:
        return f"{said} {_skill(others[0][0])} may need as many. Give both more time."
    return f"{said} Give it more time."


def _largest(shares: Iterable[tuple[str, Share]]) -> list[tuple[str, Share]]:
    """Order shares from the largest, those of too few people to tell after all others."""
    return sorted(shares, key=lambda pair: (pair[1].few, -(pair[1].share or 0.0)))


def _waits_say(taught: Learning) -> str:
    if not taught.waits:
        return 'No party was marked as here before its dive. On Welcome, tap "They are here".'
    longest = max(taught.waits, key=lambda one: one.middle)
    whole = sum(one.parties for one in taught.waits)
    if longest.parties == 1:
        said = f"The party of {longest.clock} waited {longest.middle:.0f} min"
    else:
        said = f"Half of the {longest.parties} parties of {longest.clock} waited {longest.middle:.0f} min"
    said += "" if longest.parties == 1 else " or more"
    said += " from arriving to the water"
    if whole < FEW:
        return f"{said}. Too few to tell yet."
    return f"{said}, longer than at any other start." if len(taught.waits) > 1 else f"{said}."


def _ends_say(taught: Learning) -> str:
    whole = sum(taught.ends.values())
    if not whole:
        return "Nobody was booked."
    lost = [(count, end) for end, count in taught.ends.items() if end != DIVED and count]
    said = f"{taught.ends[DIVED]} of {whole} booked guests dived."
    if not lost:
        return said
    others = ", ".join(f"{end} {count}" for count, end in sorted(lost, key=lambda one: -one[0]))
    return f"{said} The others: {others}."


def _no_shows_say(taught: Learning) -> str:
    booked = Share(sum(one.count for _, one in taught.no_shows), sum(one.of for _, one in taught.no_shows))
    if booked.share is None:
        return "Nobody booked ahead."
    if not booked.count:
        return f"All {booked.of} guests who booked ahead came."
    said = f"{booked.count} of {booked.of} did not come ({likely(booked)})."
    (when, worst), *_ = _largest(taught.no_shows)
    rest = Share(booked.count - worst.count, booked.of - worst.of)
    if worst.few:
        return f"{said} Too few to tell when to ring them."
    if rest.share is not None and rest.share >= worst.interval[0]:
        return f"{said} No time of booking stands out."
    return f"{said} Of those who booked {when} it is {percent(worst.share or 0.0)}. Ring them before."


def _ends_picture(taught: Learning) -> Markup | str:
    told = [(end, count) for end, count in taught.ends.items() if count]
    return amounts_picture("ends", told) if told else ""

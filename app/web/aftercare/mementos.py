"""A page that a guest takes home: the guest's own dive with its figures and a drawing. No certificate."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup

from app.records.groups.groups import GroupView
from app.records.guest_side.aftercare import GuestAfter, group_after
from app.records.guest_side.aftercare_card import Line, memento_lines, words_of_card
from app.records.guest_side.languages import Words
from app.records.plans.logged_dives import plain_dive
from app.records.store.problems import NotHere
from app.records.water_side.entry import divers_of
from app.web.aftercare.memento_picture import DivePicture, picture
from app.web.aftercare.pages import cared_for, one_cared_for
from app.web.front import Desk, Front
from app.web.printing import printed

router = APIRouter()


@dataclass(frozen=True)
class Memento:
    """One guest's page: the words of the guest's language, the figures, the drawing."""

    one: GuestAfter
    words: Words
    lines: dict[str, Line]
    day: str
    minutes: int
    depth: str
    end_bar: str
    drawing: Markup


@router.get("/water/{group_id}/mementos/{guest_id}", name="memento")
def memento(front: Desk, group_id: int, guest_id: int) -> Response:
    """Show the page of one guest's dive."""
    view, one = one_cared_for(front, group_id, guest_id)
    return _mementos_page(front, view, [one], f"The dive of {one.guest.call_name}")


@router.get("/water/{group_id}/mementos", name="group_mementos")
def group_mementos(front: Desk, group_id: int) -> Response:
    """Show the pages of a whole group, one on each sheet."""
    view = cared_for(front, group_id)
    guests = group_after(front.session, front.house, view, front.now)
    return _mementos_page(front, view, guests, f"The dive of group {view.group.name}")


def _mementos_page(front: Front, view: GroupView, guests: Iterable[GuestAfter], title: str) -> Response:
    """Show pages of a dive that was closed: before that its figures may still change. Raises NotHere."""
    if view.group.closed_at is None:
        raise NotHere("this dive is not closed yet")
    ends = {one.member.id: one for one in divers_of(front.session, view.members)}
    pages = []
    for one in guests:
        diver = ends.get(one.member.row.id)
        start = None if diver is None or diver.start is None else diver.start.bar
        end = None if diver is None or diver.end is None else diver.end.bar
        made = _memento(front, view, one, start, end)
        if made is not None:
            pages.append(made)
    more: dict[str, Any] = {"view": view, "pages": pages}
    return printed(front, "aftercare/mementos.html", title, name=f"mementos-{view.slot.day}", **more)


def _memento(
    front: Front, view: GroupView, one: GuestAfter, start_bar: float | None, end_bar: float | None
) -> Memento | None:
    if one.times.back is None or not view.group.greatest_depth_m:
        return None
    words = words_of_card(front.session, one.guest.languages)
    minutes = (one.times.back - one.times.went).total_seconds() / 60
    depth = view.group.greatest_depth_m
    values = {
        "place": view.site.name,
        "name": one.guest.call_name,
        "guide": view.guide.name if view.guide is not None else front.shop.name,
        "start": "" if start_bar is None else words.number(round(start_bar)),
    }
    lines = memento_lines(words, values, {**values, "start": "" if start_bar is None else f"{start_bar:.0f}"})
    dive = DivePicture(
        points=plain_dive(depth, minutes, stopped=bool(view.group.stop_done)),
        deepest_m=depth,
        share_left=None if not start_bar or end_bar is None else max(0.0, min(1.0, end_bar / start_bar)),
        surface=lines["memento.surface"].words,
        depth_said=f"{words.number(round(depth, 1))} m",
        minutes_said=f"{words.number(round(minutes))} min",
        words=lines["memento.line"].words,
        direction=words.direction,
    )
    return Memento(
        one,
        words,
        lines,
        words.day(view.slot.day),
        round(minutes),
        words.number(round(depth, 1)),
        "" if end_bar is None else words.number(round(end_bar)),
        picture(f"dive-{one.guest.id}", dive),
    )

"""Typing in what stood on paper: a group's sheet with its times and author; health forms that are kept."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import paper_forms
from app.actions.keep import paper_sheet
from app.actions.keep.paper_sheet import Dive, Diver, Happening, HeadCount, Sheet
from app.records.groups.groups import GroupView, booked_guests, group_view, team
from app.records.keep.paper import forms_kept, sheets_of
from app.records.setup.shop import closed_day, limits_now
from app.records.tables.parties import GuestRow
from app.records.water_side.entry import DiverView, divers_of
from app.records.water_side.water import dive_times
from app.rules import limits
from app.rules.incidents import CATEGORIES, SEVERITIES
from app.rules.sign_off import SKILLS
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.own_groups import may_run
from app.web.pages import ProblemView, instant_of
from app.web.posted import PostedForm
from app.web.water_side.pages import HIGHEST_BAR
from app.web.water_side.wrap import DEEPEST_M

router = APIRouter()
NUMBER_LENGTH = 20
HEADS_MOST = 99
# The counts of the paper, as the roll call sheet has them: field, words.
COUNTS = (("out", "Going in"), ("first", "Back: first counter"), ("second", "Back: second counter"))


@router.get("/paper/{group_id}", name="paper_of_group")
def paper_of_group(front: Desk, group_id: int) -> Response:
    """Show the form for a group's sheet of paper."""
    return _page(front, group_id)


@router.post("/paper/{group_id}", name="type_paper_in")
def type_paper_in(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Write a group's sheet of paper down."""
    view = group_view(front.session, group_id)
    divers = divers_of(front.session, view.members)

    def write(act: Act) -> None:
        fields = posted.fields()
        sheet = _sheet(front, fields, view, divers)
        fields.done()
        paper_sheet.type_in(act, group_id, sheet)

    return front.do(
        posted,
        write,
        then=lambda _: f"/paper/{group_id}",
        again=lambda problem: _page(front, group_id, problem),
    )


@router.get("/paper-forms", name="paper_forms")
def paper_forms_page(front: Desk) -> Response:
    """Show the guests of a day, and whose health form the keeper has on paper."""
    return _forms_page(front, front.day_asked())


@router.post("/paper-forms/{day}/{guest_id}", name="keep_paper_form")
def keep_paper_form(front: Desk, posted: PostedForm, day: date, guest_id: int) -> Response:
    """Note that the keeper has a guest's health form on paper: no answer is typed."""

    def keep(act: Act) -> None:
        posted.fields().done()
        paper_forms.keep_paper_form(act, guest_id, day)

    return front.do(
        posted,
        keep,
        then=lambda _: f"/paper-forms?day={day}",
        again=lambda problem: _forms_page(front, day, problem),
    )


def _sheet(front: Front, fields: Fields, view: GroupView, divers: Iterable[DiverView]) -> Sheet:
    people = {str(one.id): one.id or 0 for one in team(front.session)}
    told = dive_times(front.session, [one.id for one in divers])
    author = fields.choice("author", "who wrote on the paper", people)
    lines = tuple(_diver(front, fields, view, one, known=one.id in told) for one in divers)
    counts = {name: _count(front, fields, view, name, words, people) for name, words in COUNTS}
    signer = fields.choice("signer", "who signed the skills", people, needed=False)
    asked = _asked(front)
    skills = {
        one.guest.id or 0: shown
        for one in view.guests
        if one.guest is not None and (shown := _skills(fields, one.guest, asked))
    }
    if skills and not signer:
        fields.errors.setdefault("signer", "Choose who signed the skills on the paper.")
    return Sheet(
        people.get(author, 0),
        lines,
        counts["out"],
        tuple(one for name in ("first", "second") if (one := counts[name]) is not None),
        people.get(signer),
        skills,
        _dive(fields),
        _happening(fields),
    )


def _diver(front: Front, fields: Fields, view: GroupView, one: DiverView, *, known: bool) -> Diver:
    number, name = one.id, one.name
    stays = fields.tick(f"stays_{number}") and not known
    went = None if known else _at(front, fields, view, f"went_{number}", f"{name}'s time in")
    back = _at(front, fields, view, f"back_{number}", f"{name}'s time back")
    cylinder = fields.text(f"cylinder_{number}", "a cylinder's number", most=NUMBER_LENGTH, needed=False)
    read = {
        moment: fields.reading(
            f"{moment}_{number}", f"{name}'s {moment} pressure", 0, HIGHEST_BAR, "bar", needed=False
        )
        for moment in ("start", "turn", "end")
    }
    return Diver(number, stays, went, back, cylinder, read["start"], read["turn"], read["end"])


def _at(front: Front, fields: Fields, view: GroupView, name: str, what: str) -> datetime | None:
    said = fields.clock(name, what, needed=False)
    return instant_of(view.slot.day, said, front.shop.zone) if said else None


def _count(
    front: Front, fields: Fields, view: GroupView, name: str, words: str, people: dict[str, int]
) -> HeadCount | None:
    heads = fields.whole(f"heads_{name}", f"Heads, {words.lower()}", 0, HEADS_MOST, needed=False)
    who = fields.choice(f"counter_{name}", "who counted", people, needed=heads is not None)
    at = _at(front, fields, view, f"counted_{name}", "the time of the count")
    if heads is None:
        return None
    if at is None:
        fields.errors.setdefault(f"counted_{name}", "Enter the time of the count, for example 14:05.")
    elif at > front.now:
        fields.wrong(f"counted_{name}", "This time is still to come. Read the paper again.")
    return HeadCount(f"heads_{name}", heads, people.get(who, 0), at or front.now)


def _asked(front: Front) -> tuple[str, ...]:
    """Return the skills that the shop asks for, in the order of the water."""
    names = limits_now(front.session)[limits.SKILLS_REQUIRED_SET].names or ()
    return tuple(key for key in SKILLS if key in names)


def _skills(fields: Fields, guest: GuestRow, asked: tuple[str, ...]) -> tuple[str, ...]:
    name, box = guest.call_name, f"shown_{guest.id}"
    said = fields.choice(f"skills_{guest.id}", f"what is signed for {name}", ("all", "some"), needed=False)
    ticked = fields.several(box, f"the skills of {name}", asked)
    if said == "some" and not ticked:
        fields.wrong(box, f"Tick the skills that are signed for {name}.")
    return asked if said == "all" else tuple(ticked) if said == "some" else ()


def _dive(fields: Fields) -> Dive | None:
    depth = fields.number("depth", "The greatest depth", 0, DEEPEST_M, "m", needed=False)
    told = depth is not None
    ascent = fields.choice("ascent", "how fast the way up was", ("slower", "faster"), needed=told)
    stop = fields.choice("stop", "whether the stop was done", ("yes", "no", "none"), needed=told)
    happened = fields.note("happened", "what happened on the dive, or nothing", needed=told)
    if depth is None:
        for name, said in (("ascent", ascent), ("stop", stop), ("happened", happened)):
            if said:
                fields.errors.setdefault("depth", "Enter the greatest depth too, or leave the dive empty.")
                fields.errors.pop(name, None)
        return None
    return Dive(depth, ascent, {"yes": True, "no": False}.get(stop), happened)


def _happening(fields: Fields) -> Happening | None:
    what = fields.note("what", "what happened")
    severity = fields.choice("severity", "how bad it was", SEVERITIES, needed=bool(what))
    category = fields.choice("category", "what kind it was", CATEGORIES, needed=bool(what))
    done = fields.note("done", "what was done")
    if not what:
        if severity or category or done:
            fields.errors.setdefault("what", "Write what happened, or leave this part empty.")
        return None
    return Happening(severity, category, what, done)


def _page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    view = group_view(front.session, group_id)
    divers = divers_of(front.session, view.members)
    return front.page(
        "prints/typed_in.html",
        f"From paper: group {view.group.name} at {view.slot.clock}",
        problem=problem,
        view=view,
        mine=may_run(front, view),
        divers=divers,
        times=dive_times(front.session, [one.id for one in divers]),
        papers=sheets_of(front.session, group_id),
        closed=closed_day(front.session, view.slot.day),
        people=[("", "Choose"), *((one.id, one.name) for one in team(front.session))],
        counts=COUNTS,
        skills=[SKILLS[key] for key in _asked(front)],
        severities=[
            ("", "Nothing"),
            *((key, f"{key.replace('-', ' ')}: {text}") for key, text in SEVERITIES.items()),
        ],
        categories=[("", "Choose one"), *CATEGORIES.items()],
    )


def _forms_page(front: Front, day: date, problem: ProblemView | None = None) -> Response:
    guests = [one for many in booked_guests(front.session, day).values() for one in many]
    return front.page(
        "prints/forms.html",
        f"Health forms on paper, {day:%a} {day.day} {day:%b}",
        problem=problem,
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        guests=guests,
        kept=forms_kept(front.session, day),
    )

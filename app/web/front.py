"""What every route is handed: who asks, at what time, a reading session, pages, and carrying out an act.

Routes stay four steps long: who may (the access table, asked before the route runs), read the form, one
action, one page.
"""

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Annotated, Any, TypeVar
from urllib.parse import quote

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from app.actions.act import Act, Actor, AlreadyDone, Problem, acting
from app.actions.setup import sign_in
from app.records.guest_side import languages
from app.records.guest_side.languages import ENGLISH, Words
from app.records.setup import shop as shop_records
from app.records.setup import visits
from app.records.setup.shop import Shop
from app.records.store import trail
from app.records.store.db import Session, StoreTrouble, is_full, is_ours
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.house import TrailRow
from app.records.tables.people import PersonRow
from app.records.water_side.water import WaterStrip, water_strip
from app.web.access import TABLE
from app.web.cookies import COOKIE, DEVICE_COOKIE, cookie_name, form_token
from app.web.figures import Figures
from app.web.menu import MenuItem, menu_of
from app.web.pages import ProblemView, new_key, say_clock, say_moment, templates
from app.web.posted import Posted
from app.web.said import SAID
from app.web.turns import Turn
from app.web.visiting import Visitor, admitted

log = logging.getLogger("daybuoy")
TOUCH_EVERY = timedelta(minutes=1)
# A guest's three minutes are counted closely.
TOUCH_GUEST_EVERY = timedelta(seconds=5)
# No shop has days outside these, and days before and after them can still be said.
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2100, 12, 31)
# Digits of a row's number: more do not fit into every store.
NUMBER_MOST = 9
PAINTED = "number"
T = TypeVar("T")


@dataclass(frozen=True)
class Saved:
    """The line that says what was just stored, with a way to take it back where there is one."""

    text: str
    undo: None = None


@dataclass
class Front:
    """One request, as routes see it."""

    request: Request
    house: House
    session: Session
    visitor: Visitor
    shop: Shop
    now: datetime
    cookie: str
    fresh_cookie: bool = False
    _extra_cookies: list[tuple[str, str | None]] = field(default_factory=list)

    @property
    def today(self) -> date:
        """The shop's date now."""
        return self.shop.day_of(self.now)

    @property
    def token(self) -> str:
        """The form token of this very sign-in."""
        return form_token(self.house, self.cookie)

    @cached_property
    def language(self) -> Words:
        """The words that the reader is spoken to in: a guest's own language, English for the shop."""
        who = self.visitor
        if who.kind != "guest":
            return ENGLISH
        code = who.language or languages.language_of_guest(self.session, who.guest_id)
        return languages.words_in(self.session, code)

    def actor(self) -> Actor:
        """Return who acts, for the trail."""
        who = self.visitor
        return Actor(
            who.name, who.roles, who.person_id, who.guest_id, who.device, who.device_id, who.ended_device
        )

    def actor_for(self, person: PersonRow) -> Actor:
        """Return a person who has just proved who they are, for the trail."""
        return Actor(
            person.name, person.role_set(), person.id, None, self.visitor.device, self.visitor.device_id
        )

    @property
    def device_cookie(self) -> str:
        """The name of the paired device's cookie."""
        return cookie_name(DEVICE_COOKIE, secure=self.house.settings.https)

    def day_asked(self) -> date:
        """Return the day of ``?day=2026-07-15``, else today; raises NotHere for nonsense."""
        said = self.request.query_params.get("day")
        if not said:
            return self.today
        try:
            day = date.fromisoformat(said)
        except ValueError:
            raise NotHere("no such day") from None
        if not FIRST_DAY <= day <= LAST_DAY:
            raise NotHere("no such day")
        return day

    def clock(self, instant: datetime) -> str:
        """Say an instant as the shop's clock time."""
        return say_clock(instant, self.shop.zone)

    def page(
        self, template: str, title: str, *, problem: ProblemView | None = None, status: int = 200, **more: Any
    ) -> HTMLResponse:
        """Render a page of the shop with what every page is given; a problem sets the status."""
        context = {
            "shop": self.shop,
            "visitor": self.visitor,
            "menu": self._menu(),
            "title": title,
            "language": self.language,
            "guest_languages": [(code, languages.own_name(code)) for code in self._offered()],
            "here": self.request.url.path,
            "problem": problem and problem.said_in(more.get("language", self.language)),
            "saved": self._saved(),
            "token": self.token,
            "new_key": new_key,
            "now": self.now,
            "now_text": say_moment(self.now, self.shop.zone),
            "today": self.today,
            "clock": self.clock,
            "water_now": self._water_now(),
            **Figures(self.visitor.units).names(),
            **more,
        }
        text = templates().get_template(template).render(context)
        answer = HTMLResponse(text, status_code=problem.status if problem else status)
        self._set_cookies(answer)
        return answer

    def to(self, path: str) -> Response:
        """Send the browser to another page of ours after a post."""
        answer = RedirectResponse(path, status_code=303)
        self._set_cookies(answer)
        return answer

    def do(
        self,
        posted: Posted,
        action: Callable[[Act], T],
        *,
        then: Callable[[T], str],
        again: Callable[[ProblemView], Response],
        show: Callable[[T], Response] | None = None,
        actor: Actor | None = None,
    ) -> Response:
        """Carry out an act once: commit, then go to ``then``; show ``again`` with what is wrong.

        The same form sent twice is acknowledged and not carried out twice. ``show`` answers with a page
        instead of going on, for what is shown once and must not stand in an address (a dealt PIN).
        ``actor``: who acts, where the form itself proves it and no visit has begun.
        """
        name = self.request.scope["route"].name
        try:
            with acting(self.house, actor or self.actor(), name, posted.use(self.house)) as act:
                result = action(act)
                if not act.answer:
                    act.answer = then(result)
                act.session.flush()
                number = trail.head(act.session)[0] + 1
                act.answer = _with_saved(act.answer, number) if name in SAID else act.answer
                notices = tuple(f"{one.who}: {one.text}" if one.who else one.text for one in act.notices)
            self.house.remember(number, notices)
        except AlreadyDone as done:
            return self.to(done.answer)
        except Problem as problem:
            if isinstance(problem, sign_in.WrongSecret):
                sign_in.count_wrong(self.house, problem.who, problem.place, self.now)
            view = ProblemView.of(problem, name, posted.values, self.shop.zone, posted.path)
            return again(replace(view, lists=posted.lists))
        except StoreTrouble as trouble:
            if is_ours(trouble):
                raise
            view = ProblemView.of_store(name, posted.values, posted.path, full=is_full(trouble))
            return again(replace(view, lists=posted.lists))
        return self.to(act.answer) if show is None else show(result)

    def sign_in_as(self, token: str) -> None:
        """Give the browser the cookie of a new visit."""
        self._extra_cookies.append((COOKIE, token))

    def pair_as(self, token: str | None) -> None:
        """Give the browser the cookie of a paired device, or take it away."""
        self._extra_cookies.append((DEVICE_COOKIE, token))

    def forget(self) -> None:
        """Take the visit's cookie away."""
        self._extra_cookies.append((COOKIE, None))

    def _offered(self) -> tuple[str, ...]:
        return languages.complete_languages() if self.visitor.kind == "guest" else ()

    def _menu(self) -> list[MenuItem]:
        works_here = self.visitor.kind == "staff" and not self.visitor.ended_device
        return menu_of(self.visitor.roles, self.request.url.path) if works_here else []

    def _saved(self) -> Saved | None:
        number = self.request.query_params.get("done", "")
        if not number.isdecimal() or len(number) > NUMBER_MOST:
            return None
        entry = self.session.get(TrailRow, int(number))
        if entry is None or entry.person_id != self.visitor.person_id or entry.act not in SAID:
            return None
        worth_knowing = self.house.notices.get(entry.id or 0, ())
        return Saved(" ".join((SAID[entry.act], f"{self.clock(entry.at)}.", *worth_knowing)))

    def _water_now(self) -> WaterStrip | None:
        if self.visitor.kind != "staff" or not self.visitor.roles & TABLE["water_board"].roles:
            return None
        return water_strip(self.session, self.now)

    def _set_cookies(self, answer: Response) -> None:
        secure = self.house.settings.https
        jar = list(self._extra_cookies)
        if self.fresh_cookie and not any(name == COOKIE for name, _ in jar):
            jar.append((COOKIE, self.cookie))
        for name, value in jar:
            said = cookie_name(name, secure=secure)
            if value is None:
                answer.delete_cookie(said, httponly=True, samesite="strict", secure=secure)
            else:
                age = 365 * 86400 if name == DEVICE_COOKIE else None
                answer.set_cookie(said, value, httponly=True, samesite="strict", secure=secure, max_age=age)


def front(request: Request, _turn: Turn) -> Iterator[Front]:
    """Open one request: find who asks and ask the access table; every route depends on it."""
    house: House = request.app.state.house
    now = house.clock()
    secure = house.settings.https
    cookie = request.cookies.get(cookie_name(COOKIE, secure=secure), "")
    device_token = request.cookies.get(cookie_name(DEVICE_COOKIE, secure=secure), "")
    _check_numbers(request)
    with house.store.reading() as session:
        name = request.scope["route"].name
        access = TABLE.get(name)
        device = visits.device_of(session, device_token)
        if device is None and access is not None and access.ended_device:
            device = visits.ended_device_of(session, device_token)
        seen = visits.find(session, cookie, device, now) if cookie else None
        request.state.device_id = device.id if device else None
        request.state.person_id = seen.visit.person_id if seen else None
        shop = shop_records.the_shop(session)
        if access is None:
            raise NotHere(f"{name} is open to nobody")
        visitor = admitted(seen, device, access)
        fresh = not cookie
        every = TOUCH_GUEST_EVERY if visitor.kind == "guest" else TOUCH_EVERY
        # A lapsed sign-in may still bring people out of the water; that does not wake it up again.
        awake = seen is not None and visitor.kind != "nobody" and not visitor.lapsed
        if seen is not None and awake and now - seen.visit.seen_at > every:
            _touch(house, seen.visit.id or 0, now)
        yield Front(request, house, session, visitor, shop, now, cookie or new_key(), fresh)


def guest_words(request: Request, *, lapsed: bool = False) -> Words | None:
    """Return the words of the guest in whose hands the asking device is, whatever address it asks for.

    None where it is in nobody's or in the shop's own hands, and where the store cannot be asked.
    lapsed: a visit that was idle for too long tells its language as well.
    """
    house: House = request.app.state.house
    secure = house.settings.https
    cookie = request.cookies.get(cookie_name(COOKIE, secure=secure), "")
    if not cookie:
        return None
    token = request.cookies.get(cookie_name(DEVICE_COOKIE, secure=secure), "")
    try:
        with house.store.reading() as session:
            seen = visits.find(session, cookie, visits.device_of(session, token), house.clock())
            if seen is None or seen.visit.kind != "guest" or (seen.lapsed and not lapsed):
                return None
            code = seen.visit.language or languages.language_of_guest(session, seen.visit.guest_id)
            return languages.words_in(session, code)
    except StoreTrouble:
        return None


def _touch(house: House, visit_id: int, now: datetime) -> None:
    """Note that the visit is alive; a page is shown all the same when there is no room to note it."""
    try:
        sign_in.touch(house, visit_id, now)
    except StoreTrouble as trouble:
        log.warning("visit not noted kind=%s", type(trouble).__name__)


def _check_numbers(request: Request) -> None:
    """Refuse a number in the address that no row can have; raises NotHere.

    What is painted on a cylinder (``number``) may be longer.
    """
    for name, said in request.path_params.items():
        if name != PAINTED and str(said).lstrip("-").isdecimal() and len(str(said)) > NUMBER_MOST:
            raise NotHere("no such number")


Desk = Annotated[Front, Depends(front, scope="function")]


def _with_saved(path: str, number: int) -> str:
    join = "&" if "?" in path else "?"
    before, hash_mark, place = path.partition("#")
    return f"{before}{join}done={number}{hash_mark}{quote(place)}"

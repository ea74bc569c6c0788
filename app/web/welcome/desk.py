"""Welcome: the day's slots and parties, and booking a party: how many and when, one form, one review."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, Problem, Refused
from app.actions.welcome import welcome as acts
from app.actions.welcome.welcome import NewParty
from app.records.health.health import HealthStanding, standing
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.tables.parties import GuestRow, PartyRow
from app.records.welcome import bookings
from app.records.welcome.arrivals import here_since
from app.records.welcome.bookings import PartyView, SlotView
from app.rules.ages import age_on
from app.rules.flying import Flight
from app.rules.health_access import may_see_outcome
from app.rules.languages import say_languages
from app.web.access import DESK, LEAD
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm
from app.web.welcome import fields as reading
from app.web.welcome import returning
from app.web.welcome.flights import (
    flight_choices,
    flight_words,
    flights_typed,
    read_flight,
    say_gap,
    say_too_late,
    too_late,
)

router = APIRouter()
REVIEW = "/welcome/book/review"
STATE_WORDS = {"booked": "booked", "cancelled": "cancelled", "no-show": "did not come"}
DAYS_OFFERED = 7


@dataclass(frozen=True)
class SlotBook:
    """One slot of the day with its parties: who is still coming, and who is not."""

    slot: SlotView
    parties: tuple[PartyView, ...]
    ended: tuple[PartyView, ...]


@router.get("/welcome", name="welcome")
def welcome(front: Desk) -> Response:
    """Show the day: each slot's places and parties."""
    return welcome_page(front)


def welcome_page(front: Front, problem: ProblemView | None = None) -> Response:
    """Return the page of the day that was asked for."""
    day = front.day_asked()
    parties = bookings.parties_of(front.session, day)
    guests = [guest for party in parties for guest in party.guests]
    slots = [
        SlotBook(
            slot,
            tuple(one for one in parties if one.slot.slot.id == slot.slot.id and is_booked(one)),
            tuple(one for one in parties if one.slot.slot.id == slot.slot.id and not is_booked(one)),
        )
        for slot in bookings.slots_of(front.session, day)
    ]
    health = standing(front.session, front.house, guests, day)
    return front.page(
        "welcome/welcome.html",
        "Welcome",
        problem=problem,
        day=day,
        day_before=day - timedelta(days=1),
        day_after=day + timedelta(days=1),
        slots=slots,
        health=health,
        nothing_open=lambda row: nothing_open(row, health),
        person_state=person_state,
        states=STATE_WORDS,
        may_book=front.visitor.has(DESK, LEAD),
        knows_phones=front.visitor.has(DESK) or (front.visitor.has(LEAD) and day == front.today),
        opens_health=may_see_outcome(front.visitor.roles, is_today=day == front.today),
        over=lambda slot: is_over(front, slot),
        here=here_since(front.session, [one.party for one in parties]),
        may_mark=front.visitor.has(DESK, LEAD) and day == front.today,
    )


@router.get("/welcome/book", name="book_party_page")
def book_party_page(front: Desk) -> Response:
    """Ask how many and when, then show the one form."""
    asked = front.request.query_params
    slot = _slot_of(front, asked.get("slot", ""))
    earlier = returning.earlier_asked(front)
    people = asked.get("people", "") or (str(len(earlier)) if earlier else "")
    day = slot.slot.day if slot is not None else front.day_asked()
    if slot is None or not people:
        return _choose_page(front, day, slot)
    if not people.isdecimal() or not 1 <= int(people[:3]) <= reading.MOST_AT_ONCE:
        raise NotHere("no such number of people")
    begun = {"slot": str(slot.slot.id), "people": people, "walk_in": "" if day == front.today else "no"}
    flies, clock, _ = _flight_asked(front)
    for number in range(1, int(people) + 1):
        begun |= {f"g{number}_flight": flies, f"g{number}_flight_clock": clock}
    for number, visit in enumerate(earlier[: int(people)], 1):
        begun |= returning.begun_with(front, visit, f"g{number}_")
    if earlier:
        begun |= returning.contact_of(front, earlier[0])
    return _form_page(front, day, begun)


@router.post(REVIEW, name="review_party")
def review_party(front: Desk, posted: PostedForm) -> Response:
    """Check the form and show everything once more, before anything is stored."""
    fields = posted.fields()
    try:
        new = reading.read_party(fields, front)
        fields.done()
        decision = acts.may_book_party(front.session, new, front.now)
        if not decision.allowed:
            raise Refused(decision)
    except Problem as problem:
        view = ProblemView.of(problem, "review_party", posted.values, front.shop.zone, posted.path)
        return _form_again(front, posted, view)
    return _review_page(front, posted, new)


@router.get(REVIEW, name="review_party_page")
def review_party_page(front: Desk) -> Response:
    """A review reloaded without its form leads back to the start of booking."""
    return front.to("/welcome/book")


@router.post("/welcome/book/change", name="change_booking")
def change_booking(front: Desk, posted: PostedForm) -> Response:
    """Show the form again with what was typed: to change it, or for one person more or fewer."""
    kept = dict(posted.values)
    step = {"more": 1, "fewer": -1}.get(kept.pop("step", ""), 0)
    people = kept.get("people", "")
    if not people.isdecimal():
        raise NotHere("no such number of people")
    kept["people"] = str(min(max(int(people[:3]) + step, 1), reading.MOST_AT_ONCE))
    return _form_page(front, _day_kept(front, kept), kept)


@router.post("/welcome/book", name="book_party")
def book_party(front: Desk, posted: PostedForm) -> Response:
    """Book the party as reviewed; everything is checked again."""

    def book(act: Act) -> PartyRow:
        fields = posted.fields()
        new = reading.read_party(fields, front)
        fields.done()
        return acts.book_party(act, new)

    def again(problem: ProblemView) -> Response:
        return _form_again(front, posted, replace(problem, action="review_party", to=REVIEW))

    return front.do(posted, book, then=lambda party: f"/parties/{party.id}", again=again)


def is_booked(view: PartyView) -> bool:
    """Return whether a party is still coming."""
    return view.party.state == bookings.BOOKED


def is_over(front: Front, slot: SlotView) -> bool:
    """Return whether a slot has begun, so that nobody can be booked into it."""
    return slot.slot.starts_at < front.now


def nothing_open(row: SlotBook, health: Mapping[int, HealthStanding]) -> bool:
    """Return whether every party of a slot has paid and everybody in it may dive."""
    guests = [guest for party in row.parties for guest in party.booked]
    return (
        bool(guests)
        and all(party.party.paid_at is not None for party in row.parties)
        and all(health[guest.id or 0].settled for guest in guests)
    )


def person_state(guest: GuestRow, health: HealthStanding) -> str:
    """Return a guest's recorded state for the page: not coming, or where the health check stands."""
    if guest.state != bookings.BOOKED:
        return guest.state
    return (health.outcome or "not-asked").lower()


def _slot_of(front: Front, said: str) -> SlotView | None:
    if not said:
        return None
    if not said.isdecimal() or len(said) > 9:  # noqa: PLR2004 - digits of a row number
        raise NotHere("no such slot")
    return bookings.slot_view(front.session, int(said))


def _day_kept(front: Front, kept: Mapping[str, str]) -> date:
    """The day of the form that came back: of its slot, else of its day, else today."""
    said = kept.get("slot", "")
    try:
        if said.isdecimal():
            return bookings.slot_view(front.session, int(said[:9])).slot.day
        return date.fromisoformat(kept.get("day", ""))
    except (NotHere, ValueError):
        return front.today


def _choose_page(front: Front, day: date, slot: SlotView | None) -> Response:
    slots = bookings.slots_of(front.session, day)
    first = None if slot is None else slot.slot.id
    flies, clock, flight = _flight_asked(front)
    return front.page(
        "welcome/choose.html",
        "Book a party",
        day=day,
        days=[front.today + timedelta(days=ahead) for ahead in range(DAYS_OFFERED)],
        # The slot asked for stands first; the others follow in order of time.
        slots=sorted(slots, key=lambda one: one.slot.id != first),
        most=reading.MOST_AT_ONCE,
        over=lambda one: is_over(front, one),
        price=front.shop.price_guest_cents,
        flies=flies,
        flies_clock=clock,
        flights=flight_choices(front, day, flies),
        may_find=front.visitor.has(DESK),
        too_late={key: say_gap(why) for key, why in too_late(front, slots, [("this party", flight)]).items()},
    )


def _flight_asked(front: Front) -> tuple[str, str, Flight]:
    """Return ``?flight=2026-07-16&flight_clock=09:00`` as asked, and as a flight; nonsense is not asked."""
    asked = front.request.query_params
    said = {name: asked.get(name, "") for name in ("flight", "flight_clock")}
    fields = Fields(said, {})
    flight = read_flight(fields, front)
    if fields.errors:
        return "", "", Flight()
    return said["flight"], said["flight_clock"], flight


def _form_again(front: Front, posted: Posted, problem: ProblemView) -> Response:
    people = posted.values.get("people", "")
    kept = {
        **posted.values,
        "people": people if people in map(str, range(1, reading.MOST_AT_ONCE + 1)) else "1",
    }
    return _form_page(front, _day_kept(front, kept), kept, problem)


def _form_page(
    front: Front, day: date, kept: Mapping[str, str], problem: ProblemView | None = None
) -> Response:
    slots = bookings.slots_of(front.session, day)
    people = int(kept["people"])
    typed = dict(kept)
    for number in range(1, people + 1):
        typed[f"g{number}_birth"] = reading.typed_birth(typed, f"g{number}_")
    return front.page(
        "welcome/book.html",
        "Book 1 person" if people == 1 else f"Book {people} people",
        problem=problem,
        day=day,
        kept=typed,
        earlier=returning.kept_visits(front, typed, [f"g{one}_" for one in range(1, people + 1)]),
        people=people,
        most=reading.MOST_AT_ONCE,
        open_slots=[slot for slot in slots if slot.left and not is_over(front, slot) and slot.slot.open],
        shut_slots=[
            slot for slot in slots if not (slot.left and not is_over(front, slot) and slot.slot.open)
        ],
        over=lambda one: is_over(front, one),
        here=reading.HERE,
        swimming=list(reading.SWIMMING),
        flights=lambda chosen: flight_choices(front, day, chosen),
        too_late=_said_late(front, slots, flights_typed(front, typed, people)),
        price=front.shop.price_guest_cents,
    )


def _review_page(front: Front, posted: Posted, new: NewParty) -> Response:
    slot = bookings.slot_view(front.session, new.slot_id)
    computed = front.shop.price_guest_cents * len(new.guests)
    return front.page(
        "welcome/review.html",
        "Look it over",
        pairs=posted.pairs,
        new=new,
        slot=slot,
        price=computed if new.price_cents is None else new.price_cents,
        computed=new.price_cents is None,
        unusual=reading.unusual(new.guests, slot.slot.day, shop_records.limits_now(front.session)),
        ages=[age_on(guest.birth_date, slot.slot.day) for guest in new.guests],
        swims=reading.SWIMS,
        flies=lambda guest: flight_words(guest.flight, front.shop.zone),
        worth_knowing=acts.may_book_party(front.session, new, front.now).notes,
        say_languages=say_languages,
    )


def _said_late(
    front: Front, slots: Iterable[SlotView], people: Iterable[tuple[str, Flight]]
) -> dict[int, str]:
    """Say for each slot that ends too late for a flight why it does."""
    return {key: say_too_late(reasons) for key, reasons in too_late(front, slots, people).items()}

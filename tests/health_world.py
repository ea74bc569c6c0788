"""Guests in a test shop, and a guest's way through the form as the tablet shows it."""

from datetime import date

from app.actions.act import Actor, acting
from app.actions.guest_side import guest_form as acts
from app.records.guest_side.guest_form import mark_of
from app.records.health.health import HealthStanding, standing_of
from app.records.question_sets import shipped_question_set
from app.records.setup.visits import person_named
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import GuestRow, PartyRow
from app.records.welcome.bookings import guest as guest_of
from app.rules.asking import Answer
from tests.web_world import DAY, Browser, Page, World

ANSWER = {"Y": "yes", "N": "no", "?": "unsure"}
TEXTS = {question.text: question.code for question in shipped_question_set().questions}
ADULT = date(1995, 3, 27)
TEEN = date(2010, 1, 5)


def add_guest(
    world: World, name: str = "Gwen", born: date = ADULT, slot: int = 1, ref: str | None = None
) -> int:
    """Book one guest for a slot of the day and return the guest's number. ref: random in a real shop."""
    with world.act() as act:
        party = act.add(
            PartyRow(
                ref=f"party-{ref or name}",
                slot_id=slot,
                contact_name=f"{name} Contact",
                phone="555 0123",
                emergency_name=f"{name} Emergency",
                emergency_phone="555 0911",
                booked_at=act.now,
            )
        )
        guest = act.add(
            GuestRow(
                ref=ref or f"ref-{name}",
                party_id=party.id or 0,
                full_name=f"{name} Guest",
                call_name=name,
                birth_date=born,
                height_cm=172,
                mass_kg=68,
                shoe_size=40,
            )
        )
        return guest.id or 0


def group_with(world: World, guide: str, *guest_ids: int, slot: int = 1) -> int:
    """Put guests into a group of one guide; return its number."""
    with world.act() as act:
        person = person_named(act.session, guide)
        group = act.add(GroupRow(slot_id=slot, name=f"{guide}'s group", depth_m=6, minutes=25))
        people = [
            ("guide", person.id if person else None, None),
            *(("guest", None, one) for one in guest_ids),
        ]
        rows = [
            MemberRow(
                group_id=group.id or 0,
                part=part,
                person_id=person_id,
                guest_id=guest_id,
                joined_at=act.now,
                joined_by="test",
            )
            for part, person_id, guest_id in people
        ]
        for row in rows:
            act.add(row)
        return group.id or 0


def stands(world: World, guest_id: int, day: date = DAY) -> HealthStanding:
    """Return where a guest stands."""
    with world.house.store.reading() as session:
        return standing_of(session, world.house, guest_of(session, guest_id), day)


def hand_over(world: World, guest_id: int, by: str = "Dora Desk") -> Browser:
    """Return a tablet that a person of the team has handed to the guest."""
    tablet = world.browser(by)
    page = tablet.open(f"/guests/{guest_id}/health").send("hand_over")
    assert page.url.endswith("/guest"), page.words()
    return tablet


def to_questions(tablet: Browser) -> Page:
    """Agree to the health-data consent where it is asked for, and open the first question."""
    page = tablet.open("/guest")
    if page.forms("begin_form"):
        return page.send("begin_form")
    page = tablet.open("/guest/consent")
    return page.send("agree_health_data", agree="yes", signed_name="Gwen Guest")


def alone(page: Page) -> Page:
    """Go on where a minor is told that the next question is for nobody else."""
    leads = [href for link in page.find("a") if (href := link.get("href", "")).endswith("?alone=1")]
    return page.browser.open(leads[0]) if leads else page


def answer(page: Page, said: str, hours: str | None = None) -> Page:
    """Answer the question on the page."""
    fields: dict[str, str | list[str] | None] = {"answer": ANSWER[said]}
    if hours is not None:
        fields["hours"] = hours
    return page.send("answer_question", **fields)


def code_on(page: Page) -> str:
    """Return which question a page shows."""
    return TEXTS["".join(page.find("h1")[0].itertext())]


def answer_all(page: Page, hours: str | None = None, **said: str) -> Page:
    """Answer every question, No unless said otherwise (``LUNG_c="Y"``); return the review."""
    for _ in range(90):
        if "/guest/questions/" not in page.url:
            return page
        page = alone(page)
        code = code_on(page)
        page = answer(page, said.get(code.replace(".", "_"), "N"), hours if code == "TRIP.a" else None)
    raise AssertionError("the questions do not end")


def sign(page: Page, name: str = "Gwen Guest") -> Page:
    """Sign from the review page."""
    return page.browser.open("/guest/sign").send("sign_form", agree="yes", signed_name=name)


def sign_guardian(page: Page, place: str = "on site") -> Page:
    """Sign as the parent on the guardian's page."""
    return page.send(
        "sign_guardian", name="Parent Guest", relation="parent", phone="555 0777", place=place, id_seen="yes",
        rights="yes", agree="yes", agree_health="yes", urgent_care="yes",
    )  # fmt: skip


def screened(
    world: World,
    guest_id: int,
    hours: float | None = None,
    *,
    afresh: bool = False,
    guardian: bool = True,
    **said: str,
) -> None:
    """Let a guest agree, answer and sign (No unless said otherwise), a minor's guardian too.

    afresh: the history part is answered once more although it still counts. guardian: a guardian signs too.
    """
    guest = Actor("Guest", frozenset({"guest"}), guest_id=guest_id)
    with acting(world.house, guest, "made_for_a_test") as act:
        if acts.own_form(act).consented:
            acts.begin(act)
        else:
            acts.agree_to_health_data(act, "Gwen Guest")
        if afresh:
            acts.history_again(act)
        while (number := (form := acts.own_form(act)).next_number) is not None:
            question = form.asks[number - 1]
            word = Answer(said.get(question.code.replace(".", "_"), "N"))
            mark = mark_of(world.house, form, question)
            acts.answer(act, number, mark, word, hours if question.hours_text else None)
        if acts.sign(act, "Gwen Guest").guardian_missing and guardian:
            words = acts.GuardianWords("Parent Guest", "parent", "555 0777", "on site", True, "", True)
            acts.sign_as_guardian(act, words)

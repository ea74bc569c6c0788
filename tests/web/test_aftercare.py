"""After the dive: everybody is asked, a yes finds its people alone, and the card is whole or not given."""

from sqlmodel import select

from app.records.guest_side.aftercare import open_checks
from app.records.health.data_export import everything
from app.records.tables.aftercare import AftercareCardRow, ExitCheckRow
from app.records.tables.days import IncidentRow
from app.records.tables.health import HealthReadRow
from app.records.tables.house import ShopRow, TrailRow
from app.records.tables.parties import GuestRow
from app.rules.aftercare import QUESTIONS
from tests.water_world import rows_of
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Page

NO = {one.code: "no" for one in QUESTIONS}


def asked(ready: Ready, name: str, page: Page | None = None, **said: str | None) -> Page:
    """Ask one guest on coming out: no to everything that is not said."""
    page = page or ready.page("/aftercare")
    answers: dict[str, str | list[str] | None] = {**NO, **{f"X-{key}": word for key, word in said.items()}}
    return page.send("write_exit_check", ready.at(f"/aftercare/{ready.guests[name]}"), **answers)


def test_each_question_is_asked_and_nothing_is_a_no_by_itself(ready: Ready) -> None:
    assert "stands here after going in" in ready.page("/aftercare").words()
    ready.everybody_out()
    page = ready.page("/aftercare")
    assert not [e for e in page.find("input", type="radio") if "checked" in e.attrib]
    assert page.people()[f"guest-{ready.guests['Ann']}"] == "not asked"
    half = asked(ready, "Ann", page, EARS=None)
    assert half.status == 422 and "Ask: Do the ears hurt, ring or hear less?" in half.words()
    assert rows_of(ready, ExitCheckRow) == []
    whole = asked(ready, "Ann", half)
    assert "What the guest said is kept." in whole.words()
    assert whole.people()[f"guest-{ready.guests['Ann']}"] == "asked, nothing"
    assert rows_of(ready, IncidentRow) == []
    wrong = asked(ready, "Ann", EARS="maybe")
    assert wrong.status == 422 and len(rows_of(ready, ExitCheckRow)) == 1
    _, pairs = whole.form_fields("write_exit_check", ready.at(f"/aftercare/{ready.guests['Ann']}"))
    assert ready.phone.post("/water/1/aftercare/99", pairs).status == 404
    for name, status in (
        ("Ivo Instructor", 404),
        ("Kim Keeper", 404),
        ("Dora Desk", 200),
        ("Lena Lead", 200),
    ):
        assert ready.world.browser(name).open(ready.at("/aftercare")).status == status


def test_a_yes_is_kept_at_once_sealed_and_finds_the_lead(ready: Ready) -> None:
    ready.everybody_out()
    lead, manager = ready.world.browser("Lena Lead"), ready.world.browser("Mona Manager")
    assert "Somebody is needed" not in lead.open("/today").words()
    # Said with one answer alone: a yes does not wait for the others.
    call = asked(ready, "Ann", BRTH="yes", HEAD=None, EARS=None, SKIN=None)
    words = call.words()
    assert "/exit-checks/1" in call.url and "112" in words and "555 0199" in words
    assert "18 min" in words and "chest or cough" not in words, "the page to call from does not say the cause"
    (incident,) = rows_of(ready, IncidentRow)
    assert (incident.severity, incident.made_by, incident.member_id) == (
        "serious",
        "exit_check_asked",
        ready.members["Ann"],
    )
    with ready.world.house.store.reading() as session:
        told = "".join(str(row.changes) for row in session.exec(select(TrailRow)))
    assert "X-BRTH" not in told + incident.what and "X-BRTH" not in rows_of(ready, ExitCheckRow)[0].answers
    for browser in (lead, manager):
        assert "Somebody is needed for Ann" in browser.open("/today").words()
    for name in ("Dora Desk", "Kim Keeper", "Ivo Instructor"):
        today = ready.world.browser(name).open("/today")
        assert "Somebody is needed" not in today.words()
    seen = lead.open("/exit-checks/1").send("look_at_exit_check", why="care")
    assert "Any trouble with breath, chest or cough?" in seen.words() and "not asked" in seen.words()
    assert [(row.kind, row.who) for row in rows_of(ready, HealthReadRow)][-1] == ("exit check", "Lena Lead")
    desk = ready.world.browser("Dora Desk").open("/exit-checks/1")
    assert desk.status == 200 and not desk.forms("look_at_exit_check"), "the desk calls, and is not told why"
    assert desk.send("write_exit_care", done="").status == 422
    done = desk.send("write_exit_care", done="to-doctor")
    assert "What was done is kept." in done.words() and "looked after" in done.words()
    assert "Somebody is needed" not in lead.open("/today").words()
    with ready.world.house.store.reading() as session:
        assert open_checks(session, ready.world.house, DAY) == []
    assert lead.open("/exit-checks/9").status == 404


def test_what_was_asked_done_and_given_after_the_dive_is_part_of_a_guests_own_data(ready: Ready) -> None:
    ready.everybody_out()
    asked(ready, "Ann", BRTH="yes")
    ready.world.browser("Dora Desk").open("/exit-checks/1").send("write_exit_care", done="to-doctor")
    asked(ready, "Bo")
    lead = ready.page("/aftercare", ready.world.browser("Lena Lead"))
    lead.send("give_card", ready.at(f"/cards/{ready.guests['Bo']}"), language="en")
    with ready.world.house.store.reading() as session:
        ann, bo = (session.get_one(GuestRow, ready.guests[name]) for name in ("Ann", "Bo"))
        now = ready.world.clock()
        told = {one.call_name: everything(session, ready.world.house, one, now) for one in (ann, bo)}
    (check,) = told["Ann"]["after_the_dive"]
    assert check["answers"]["X-BRTH"] == "yes" and check["what_was_done"][0]["done"] == {"done": "to-doctor"}
    assert told["Bo"]["after_the_dive"][0]["what_was_done"] == [] == told["Ann"]["aftercare_cards"]
    (card,) = told["Bo"]["aftercare_cards"]
    assert card["language"] == "en" and card["phone_ambulance"] == "112" and "guest_id" not in card


def test_a_lapsed_sign_in_still_asks_and_an_erased_guest_is_not_opened(ready: Ready) -> None:
    ready.everybody_out()
    page = ready.page("/aftercare")
    ready.world.clock.pass_minutes(40)
    kept = asked(ready, "Ann", page, SKIN="yes")
    assert len(rows_of(ready, ExitCheckRow)) == 1, kept.words()
    (check,) = rows_of(ready, ExitCheckRow)
    with ready.world.house.store.reading() as session:
        guest = session.get(GuestRow, check.guest_id)
        assert guest is not None
    ready.world.house.ring.destroy(guest.key_owner())
    page = ready.world.browser("Lena Lead").open(ready.at("/aftercare"))
    assert page.people()[f"guest-{check.guest_id}"] == "asked"


def signed_in_again(ready: Ready) -> None:
    """Sign the guide in afresh: a dive is longer than a phone stays signed in."""
    ready.phone = ready.world.browser(GUIDE)


def test_no_card_without_its_numbers(ready: Ready) -> None:
    ready.everybody_out()
    signed_in_again(ready)
    with ready.world.act() as act:
        act.edit(act.get(ShopRow, 1), None, {"phone_dive_doctor": " "}, {})
    page = ready.page("/aftercare")
    assert "The number of the dive doctor or pressure chamber is missing." in page.words()
    assert "aftercare_numbers" in page.rules() and not page.forms("give_all_cards")
    manager = ready.world.browser("Mona Manager").open(ready.at("/aftercare"))
    assert any(e.get("href") == "/setup/shop" for e in manager.find("a"))
    assert (
        ready.page(f"/cards/{ready.guests['Ann']}").status == 404 and rows_of(ready, AftercareCardRow) == []
    )


def test_the_card_says_when_and_whom_to_call_and_is_written_down_as_given(ready: Ready) -> None:
    ready.go_in()
    assert not ready.page("/aftercare").forms("give_all_cards"), "nobody is back yet"
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        ready.back(name)
    signed_in_again(ready)
    page = ready.page("/aftercare")
    cards = page.send("give_all_cards")
    assert cards.url.split("?")[0].endswith(ready.at("/cards"))
    rows = rows_of(ready, AftercareCardRow)
    assert len(rows) == len(ready.guests) and {row.language for row in rows} == {"en"}
    assert {(row.text_status, row.by, row.dives) for row in rows} == {("original", "Ines Instructor", 1)}
    # In at 08:01 UTC and back at 08:19, which is 09:19 in Lisbon; 18 h and 24 h later.
    words = cards.words()
    assert (
        "You surfaced at Wed 15 Jul, 09:19." in words and "Keep this card until Thu 16 Jul, 09:19." in words
    )
    assert "Do not fly or go above 300 m before Thu 16 Jul, 03:19." in words
    assert "Better: wait until Thu 16 Jul, 09:19." in words
    assert (
        "Call 112 (ambulance) NOW if:" in words
        and "Call us 555 0100 or the dive doctor 555 0199 today" in words
    )
    assert len(cards.find("article")) == len(ready.guests)
    again = ready.page("/aftercare")
    assert not again.forms("give_all_cards"), "everybody has one"
    one = again.send("give_card", ready.at(f"/cards/{ready.guests['Ann']}"), language="xx")
    assert one.status == 422 and len(rows_of(ready, AftercareCardRow)) == len(rows)
    own = again.send("give_card", ready.at(f"/cards/{ready.guests['Ann']}"), language="en")
    assert len(own.find("article")) == 1 and "Ann" in own.words()
    # A time put right makes the card an old one.
    ready.end_pressures()
    ready.page("/wrap").send(
        "put_times_right",
        ready.at(f"/times/{ready.members['Ann']}"),
        went="09:02",
        back="09:30",
        why="Read off the slate",
    )
    assert "give a new one" in ready.page("/aftercare").words() and ready.page("/aftercare").forms(
        "give_all_cards"
    )


def test_the_page_to_take_home_is_of_a_closed_dive_and_claims_nothing(ready: Ready) -> None:
    ready.everybody_out()
    signed_in_again(ready)
    assert ready.page("/mementos").status == 404
    asked(ready, "Ann", BRTH="yes")
    ready.end_pressures(Ann=90)
    ready.write_dive()
    ready.close()
    page = ready.page(f"/mementos/{ready.guests['Ann']}")
    words = page.words()
    assert "A dive at Long Jetty" in words and "Ann, with Ines Instructor" in words and "7.5" in words
    assert "bar left of 200" in words and "45 %" in words and "gives no qualification" in words
    assert "chest" not in words and "exit" not in words.lower() and page.text.count("<svg") == 1
    assert len(ready.page("/mementos").find("article")) == len(ready.guests)


def test_a_card_in_the_guests_language_is_a_draft_beside_its_english(ready: Ready) -> None:
    ready.everybody_out()
    with ready.world.act() as act:
        act.edit(act.get(GuestRow, ready.guests["Ann"]), None, {"languages": "xx de en"}, {})
        act.edit(act.get(GuestRow, ready.guests["Bo"]), None, {"languages": "ar"}, {})
    signed_in_again(ready)
    cards = ready.page("/aftercare").send("give_all_cards")
    rows = {row.guest_id: row for row in rows_of(ready, AftercareCardRow)}
    ann, bo = rows[ready.guests["Ann"]], rows[ready.guests["Bo"]]
    assert (ann.language, ann.text_status, bo.language) == ("de", "draft", "ar")
    assert {e.get("lang") for e in cards.find("div", dir="rtl")} == {"ar"}
    words = cards.words()
    assert "Draft translation, not yet checked" in words and "09:19" in words
    assert "Lie down. Say: “I was scuba diving today.” Ask for oxygen." in words
    assert words.count("Not sure? Call. No call is silly.") == 2
    german = ready.page(f"/cards/{ready.guests['Ann']}")
    assert german.find("div", lang="de") and not german.find("div", lang="ar")
    home = ready.page("/aftercare").find("select", name="language")
    chosen = [o.get("value") for one in home for o in one.iter("option") if "selected" in o.attrib]
    assert sorted(str(one) for one in chosen) == ["ar", "de"]

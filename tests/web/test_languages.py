"""Guests in their own language: chosen first, the original beside, drafts marked, talked about, agreed to."""

import json
import re
from datetime import date

import pytest
from sqlmodel import select

from app.actions.guest_side.guest_words import UNDERSTANDS
from app.records.guest_side.languages import complete_languages, shipped_words, words_shown
from app.records.question_sets import shipped_question_set
from app.records.tables.health import ConsentRow, HealthFormRow, TalkRow
from app.records.tables.languages import TextCheckRow
from app.rules.consents import DIVE
from app.rules.hand_signals import SIGNALS, signal_code
from tests.health_world import TEEN, group_with, hand_over, stands
from tests.languages_world import add_reader, agree, answer_no, check_all
from tests.web_world import World

FOREIGN = [code for code in complete_languages() if code != "en"]
FIRST = shipped_question_set().questions[0]


def rows(world: World, kind: type) -> list:  # type: ignore[type-arg]
    with world.house.store.reading() as session:
        return list(session.exec(select(kind)))


def test_six_translations_are_offered() -> None:
    assert FOREIGN == ["ar", "de", "es", "fr", "it", "nl"]


@pytest.mark.parametrize("code", FOREIGN)
def test_a_guest_reads_every_page_in_the_language_of_the_booking(world: World, code: str) -> None:
    said = shipped_words(code)
    guest = add_reader(world, code)
    tablet = hand_over(world, guest)
    welcome = tablet.open("/guest")
    html = welcome.find("html")[0]
    assert (html.get("lang"), html.get("dir")) == (code, "rtl" if code == "ar" else "ltr")
    draft = said.gettext(
        "A reader has not yet checked these words. The English stands beside them. "
        "Ask us if something is not clear."
    )
    assert draft in welcome.text
    offered = [button.get("value") for button in welcome.find("button", name="language")]
    assert offered == list(complete_languages())
    page = agree(tablet.open("/guest/consent"), understands="en")
    assert "".join(page.find("h1")[0].itertext()) == said.pgettext(FIRST.code, FIRST.text)
    beside = ["".join(one.itertext()) for one in page.find("p", lang="en")]
    assert f"{FIRST.code} {FIRST.text}" in beside
    assert said.gettext("I am not sure") in page.words()
    refused = page.send("answer_question", answer="maybe")
    assert refused.status == 422 and said.gettext("Choose Yes, No or I am not sure.") in refused.words()
    review = answer_no(refused)
    shown = review.words()
    assert FIRST.text in shown and said.pgettext(FIRST.code, FIRST.text) in shown
    done = tablet.open("/guest/sign").send(
        "sign_form", agree="yes", signed_name="Gwen Guest", understands="en"
    )
    assert done.url.endswith(f"/guest/done?in={code}") and said.gettext("Thank you") in done.words()
    found = stands(world, guest)
    assert found.outcome == "TALK" and [str(one) for one in found.reasons] == ["LANG/T"]
    assert found.needs_more_care
    form = rows(world, HealthFormRow)[0]
    assert (form.language, form.text_status) == (code, "draft")
    with world.house.store.reading() as session:
        kept = words_shown(session, form.words_digest)
    assert kept is not None and kept.language == code
    assert json.loads(kept.words)[FIRST.code] == [said.pgettext(FIRST.code, FIRST.text)]


def test_the_language_is_changed_at_the_top_of_every_page(world: World) -> None:
    guest = add_reader(world, "sv de")
    tablet = hand_over(world, guest)
    page = tablet.open("/guest/not-today")
    assert page.find("html")[0].get("lang") == "de"
    page = page.send("choose_language", language="fr")
    assert page.url.endswith("/guest/not-today") and page.find("html")[0].get("lang") == "fr"
    for back in ("https://elsewhere.example/", "/today", "/guest/questions/x"):
        page = tablet.open("/guest").send("choose_language", language="en", back=back)
        assert page.url.endswith("/guest") and page.find("html")[0].get("lang") == "en"
    page = page.send("choose_language", language="xx")
    assert page.url.endswith("/guest") and page.find("html")[0].get("lang") == "en"
    desk = world.browser("Dora Desk")
    token = desk.open("/today").find("input", name="token")[0].get("value", "")
    sent = {"key": "k" * 32, "token": token, "language": "de", "back": "/guest"}
    assert desk.post("/guest/language", sent).status == 404


def test_a_guest_who_reads_only_arabic_finishes_with_an_interpreter(world: World) -> None:
    said = shipped_words("ar")
    guest = add_reader(world, "ar")
    tablet = hand_over(world, guest)
    page = agree(tablet.open("/guest/consent"))
    assert page.status == 422 and said.say(UNDERSTANDS) in page.words()
    assert tablet.open("/guest/questions").url.endswith("/guest")
    page = agree(tablet.open("/guest/consent"), understands="interpreter")
    assert said.gettext("Enter the name of the adult who interprets for you.") in page.words()
    page = agree(tablet.open("/guest/consent"), understands="interpreter", interpreter="Amal Haddad")
    answer_no(page)
    unsure = tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="Gwen Guest")
    assert unsure.status == 422 and stands(world, guest).outcome == "INCOMPLETE"
    done = unsure.send("sign_form", agree="yes", understands="interpreter", interpreter="Amal Haddad")
    assert done.url.endswith("/guest/done?in=ar"), done.words()
    assert stands(world, guest).outcome == "TALK"
    consents = rows(world, ConsentRow)
    assert {(one.kind, one.language, one.text_status, one.understood) for one in consents} == {
        ("health-data", "ar", "draft", ""),
        ("dive", "ar", "draft", ""),
    }
    assert all(one.interpreter and "Amal" not in one.interpreter for one in consents)


def test_no_talk_about_unchecked_words_ends_well_without_an_adult_who_speaks(
    world: World,
) -> None:
    guest = add_reader(world, "it")
    tablet = hand_over(world, guest)
    answer_no(agree(tablet.open("/guest/consent"), understands="en"))
    tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="G", understands="en")
    group_with(world, "Ines Instructor", guest)
    ines = world.browser("Ines Instructor")
    page = ines.open(f"/guests/{guest}/health").send("look_at_reasons", why="talk")
    refused = page.send("settle_talk", decision="go", note="ready")
    assert refused.status == 422
    assert {"speaker", "speaker_adult", "speaker_speaks"} <= {
        link.get("href", "").removeprefix("#wrong-") for link in refused.find("a")
    }
    refused = refused.send("settle_talk", speaker="Nino Piccolo", speaker_speaks="yes")
    assert refused.status == 422 and "never a child" in refused.words()
    assert rows(world, TalkRow) == []
    refused.send("settle_talk", speaker="Nadia Grande", speaker_adult="yes", speaker_speaks="yes")
    assert stands(world, guest).settled
    talk = rows(world, TalkRow)[0]
    assert talk.speaker and "Nadia" not in talk.speaker


def test_a_guest_who_does_not_go_needs_nobody_who_speaks_the_language(world: World) -> None:
    guest = add_reader(world, "nl")
    tablet = hand_over(world, guest)
    answer_no(agree(tablet.open("/guest/consent"), understands="en"))
    tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="G", understands="en")
    group_with(world, "Ines Instructor", guest)
    page = (
        world.browser("Ines Instructor").open(f"/guests/{guest}/health").send("look_at_reasons", why="talk")
    )
    page.send("settle_talk", decision="ashore", note="later")
    assert stands(world, guest).stopped


def test_words_that_two_people_checked_stand_alone(world: World) -> None:
    check_all(world, "de")
    guest = add_reader(world, "de")
    tablet = hand_over(world, guest)
    welcome = tablet.open("/guest")
    assert "geprüft" not in welcome.text
    consent = tablet.open("/guest/consent")
    assert not consent.find("input", name="understands")
    page = agree(consent)
    assert FIRST.text in page.words()
    answer_no(page)
    tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="Gwen Guest")
    assert stands(world, guest).outcome == "CLEARED"
    assert rows(world, HealthFormRow)[0].text_status == "checked"
    other = add_reader(world, "nl", "Otto")
    consent = hand_over(world, other).open("/guest/consent")
    asked = [one.get("value") for one in consent.find("input", name="understands")]
    assert asked == ["en", "de", "interpreter"]


def test_one_answer_read_in_a_draft_stays_with_the_form(world: World) -> None:
    guest = add_reader(world, "fr")
    tablet = hand_over(world, guest)
    page = agree(tablet.open("/guest/consent"), understands="en").send("answer_question", answer="no")
    page = answer_no(page.send("choose_language", language="en"))
    tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="Gwen Guest")
    assert [str(one) for one in stands(world, guest).reasons] == ["LANG/T"]
    tablet = hand_over(world, guest)
    welcome = tablet.open("/guest").send("choose_language", language="en")
    answer_no(welcome.send("begin_form"))
    tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="Gwen Guest")
    assert [str(one) for one in stands(world, guest).reasons] == ["LANG/T"]


def test_a_guardian_too_agrees_in_a_language_that_is_understood(world: World) -> None:
    guest = add_reader(world, "es", born=TEEN)
    tablet = hand_over(world, guest)
    page = agree(tablet.open("/guest/consent"), understands="en")
    answer_no(page)
    page = tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="G", understands="en")
    words = {
        "name": "Parent Guest", "relation": "parent", "phone": "555 0777", "place": "on site",
        "id_seen": "yes", "rights": "yes", "agree": "yes", "agree_health": "yes", "urgent_care": "yes",
    }  # fmt: skip
    refused = page.send("sign_guardian", **words)
    assert refused.status == 422 and stands(world, guest).guardian_consent_on is None
    refused.send("sign_guardian", understands="en")
    assert stands(world, guest).guardian_consent_on == date(2026, 7, 15)


def test_the_manager_sees_how_far_each_language_is_and_two_people_check_texts(world: World) -> None:
    mona = world.browser("Mona Manager")
    page = mona.open("/languages")
    assert "Deutsch" in page.words() and "0 of" in page.words()
    page = mona.open("/languages/de?area=consents")
    marks = [one.get("value", "") for one in page.find("input", name="text")]
    refused = page.send("check_texts", text=marks[:2], translator="Tomas Reader", reader=" tomas  READER")
    assert refused.status == 422 and "Two different people" in refused.words()
    assert len(refused.find("input", name="text", checked="")) == 2
    refused = page.send("check_texts", key="a" * 32, translator="Tomas Reader", reader="Dita Diver")
    assert refused.status == 422 and "Tick each text" in refused.words()
    refused = page.send(
        "check_texts", key="b" * 32, text=["0-0"], translator="Tomas Reader", reader="Dita Diver"
    )
    assert refused.status == 422 and "Read them again" in refused.words()
    assert rows(world, TextCheckRow) == []
    page = page.send("check_texts", text=marks[:2], translator="Tomas Reader", reader="Dita Diver")
    assert "Consents, 2 of" in page.words() and "Tomas Reader" in page.words()
    kept = rows(world, TextCheckRow)
    assert [(one.language, one.translator, one.reader, one.by) for one in kept] == [
        ("de", "Tomas Reader", "Dita Diver", "Mona Manager")
    ] * 2
    for path in (
        "/languages/en",
        "/languages/pl",
        "/languages/de?area=x",
        "/languages/de?page=99",
        "/languages/de/0",
    ):
        assert mona.open(path).status == 404, path
    desk = world.browser("Dora Desk")
    for path in ("/languages", "/languages/de"):
        assert desk.open(path).status == 404
    token = desk.open("/today").find("input", name="token")[0].get("value", "")
    assert desk.post("/languages/de", {"key": "d" * 32, "token": token}).status == 404


def test_better_words_reach_guests_and_keep_numbers_and_values(world: World) -> None:
    mona = world.browser("Mona Manager")
    page = mona.open("/languages/de?area=questions")
    link = next(
        a.get("href", "") for a in page.find("a") if re.search(r"/languages/de/\w+$", a.get("href", ""))
    )
    page = mona.open(link)
    assert FIRST.text in page.words()
    refused = page.send("correct_text", **{"words-0": "Husten seit 3 Tagen?"})
    assert refused.status == 422 and "Keep the numbers" in refused.words()
    assert "seit 3 Tagen" in refused.find("textarea", name="words-0")[0].itertext().__next__()
    refused = page.send("correct_text", key="c" * 32, **{"words-0": "  "})
    assert refused.status == 422 and rows(world, TextCheckRow) == []
    page.send("correct_text", **{"words-0": "Hatten Sie je <b>Asthma</b>?"})
    stale = page.send("correct_text", key="e" * 32, **{"words-0": "Noch anders?"})
    assert stale.status == 422 and "Read them again" in stale.words()
    guest = add_reader(world, "de")
    shown = agree(hand_over(world, guest).open("/guest/consent"), understands="en")
    assert "".join(shown.find("h1")[0].itertext()) == "Hatten Sie je <b>Asthma</b>?"
    assert "draft" in mona.open("/languages/de?area=questions").words()


def test_a_guide_holds_the_briefing_up_in_the_guests_language(world: World) -> None:
    guest = add_reader(world, "fr")
    group = group_with(world, "Ines Instructor", guest)
    ines = world.browser("Ines Instructor")
    assert f"/water/{group}/words" in {a.get("href") for a in ines.open(f"/water/{group}").find("a")}
    page = ines.open(f"/water/{group}/words")
    assert "Ne retenez jamais votre souffle" in page.words() and "Never hold your breath" in page.words()
    assert re.search(r"manomètre le plus bas indique \d+ bar", page.words())
    assert "turn_pressure" in page.rules()
    assert "تنفس" in ines.open(f"/water/{group}/words?in=ar").words()
    assert "Nobody has checked" not in ines.open(f"/water/{group}/words?in=en").words()
    assert ines.open(f"/water/{group}/words?in=xx").status == 404
    assert world.browser("Ivo Instructor").open(f"/water/{group}/words").status == 404


def test_a_draft_consent_without_an_understood_language_does_not_count(world: World) -> None:
    guest = add_reader(world, "en")
    tablet = hand_over(world, guest)
    answer_no(agree(tablet.open("/guest/consent")))
    tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name="Gwen Guest")
    assert stands(world, guest).outcome == "CLEARED"
    with world.act() as act:
        act.add(
            ConsentRow(
                guest_ref="ref-Gwen", kind="dive", given=True, text_version=DIVE.version, language="de",
                text_status="draft", at=act.now,
            )
        )  # fmt: skip
    assert stands(world, guest).outcome == "INCOMPLETE"


def test_a_guide_holds_hand_signals_up_in_the_guests_language(world: World) -> None:
    group = group_with(world, "Ines Instructor", add_reader(world, "ar"))
    guide = world.browser("Ines Instructor")
    assert f"/water/{group}/signals" in {a.get("href") for a in guide.open(f"/water/{group}").find("a")}
    page = guide.open(f"/water/{group}/signals")
    words = shipped_words("ar")
    svg = "{http://www.w3.org/2000/svg}svg"
    drawn = [one.get("aria-label") for one in page.find(svg)]
    assert drawn == [words.pgettext(signal_code(key), text) for key, text in SIGNALS.items()]
    assert all(list(one) for one in page.find(svg)), "each signal has its drawing"
    assert SIGNALS["out"] in page.words() and "Nobody has checked this translation." in page.words()
    alone = guide.open(f"/water/{group}/signals?in=en&show=out")
    assert len(alone.find(svg)) == 1 and "I have no air." in alone.words() and "Nobody" not in alone.words()
    assert any("show=share" in (a.get("href") or "") for a in alone.find("a")), "leads on to the next"
    for wrong in ("?show=dance", "?in=xx"):
        assert guide.open(f"/water/{group}/signals{wrong}").status == 404
    assert world.browser("Ivo Instructor").open(f"/water/{group}/signals").status == 404

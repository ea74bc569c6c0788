"""Holds as the team sees them: words for all, reasons behind a logged look, nothing cleared by a button."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import event

from app.records.health.health import standing
from app.records.health.health_forms import forms_of, owner
from app.records.health.health_reads import looks
from app.records.question_sets import shipped_question_set
from app.records.setup.shop import the_shop
from app.records.setup.visits import person_named
from app.records.store.trail import first_wrong
from app.records.tables.health import HealthFormRow
from app.records.tables.parties import GuestRow
from tests.health_world import TEEN, add_guest, group_with, hand_over, screened, stands
from tests.web_world import DAY, PEOPLE, Page, World, whole_store

CODES = re.compile(
    r"\b(?:" + "|".join(sorted({q.code.split(".")[0] for q in shipped_question_set().questions})) + r")\b"
)


def open_reasons(page: Page, why: str = "talk") -> Page:
    """Look at the reasons from a guest's health page."""
    return page.send("look_at_reasons", why=why)


def test_lists_and_desk_see_the_word_and_never_a_cause(world: World) -> None:
    lung = add_guest(world, "Liam")
    ashore = add_guest(world, "Asha")
    screened(world, lung, LUNG="Y")
    screened(world, ashore, BABY="Y", BABY_a="Y")
    desk = world.browser("Dora Desk")
    for guest, word in ((lung, "Instructor will talk first"), (ashore, "Not today")):
        page = desk.open(f"/guests/{guest}/health")
        assert page.people() == {str(guest): word} and word in page.words()
        assert not page.forms("look_at_reasons") and not page.forms("settle_talk")
        assert "/emergency" not in page.text
    for path in ("/today", f"/guests/{lung}/health", f"/guests/{ashore}/health"):
        page = desk.open(path)
        assert not CODES.search(page.text) and "pregnan" not in page.text and "Trapped" not in page.text
    assert desk.open("/guests/987654/health").status == 404
    token = page.find("input", name="token")[0].get("value", "")
    for verb in ("reasons", "talk", "letter", "slip"):
        sent = {"key": f"{verb}{'k' * 30}", "token": token, "why": "talk"}
        assert desk.post(f"/guests/{lung}/health/{verb}", sent).status == 404
    assert (
        desk.post(f"/guests/{lung}/emergency", {"key": "e" * 32, "token": token, "why": "now"}).status == 404
    )


def test_reasons_are_for_own_group_lead_and_keeper_and_every_look_is_logged(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    ines = world.browser("Ines Instructor")
    assert not ines.open(f"/guests/{guest}/health").forms("look_at_reasons")
    group_with(world, "Ines Instructor", guest)
    page = ines.open(f"/guests/{guest}/health")
    refused = page.send("look_at_reasons", why="curious")
    assert refused.status == 422 and "Choose why you look." in refused.words()
    shown = open_reasons(refused)
    assert "LUNG: Talk first" in shown.words() and "Trapped air swells" in shown.words()
    assert shown.headers["cache-control"] == "no-store"
    to, pairs = ines.open(f"/guests/{guest}/health").form_fields("look_at_reasons")
    fields = {**dict(pairs), "why": "plan"}
    assert "LUNG" in ines.post(to, fields).words()
    again = ines.post(to, fields)
    assert again.url.endswith(f"/guests/{guest}/health") and "LUNG" not in again.text
    for name in ("Lena Lead", "Kim Keeper"):
        assert "LUNG" in open_reasons(world.browser(name).open(f"/guests/{guest}/health")).words()
    ivo = world.browser("Ivo Instructor").open(f"/guests/{guest}/health")
    assert not ivo.forms("look_at_reasons")
    token = ivo.find("input", name="token")[0].get("value", "")
    sent = {"key": "k" * 32, "token": token, "why": "talk"}
    assert ivo.browser.post(f"/guests/{guest}/health/reasons", sent).status == 404
    with world.house.store.reading() as session:
        found = looks(session, world.clock.at - timedelta(days=1))
    assert [look.row.who for look in found] == [
        "Kim Keeper",
        "Lena Lead",
        "Ines Instructor",
        "Ines Instructor",
    ]
    assert {look.guest_id for look in found} == {guest} and not any(
        CODES.search(str(look.row)) for look in found
    )
    listed = world.browser("Kim Keeper").open("/health/looks")
    assert listed.words().count("reasons") == 4 and "Gwen" not in listed.text
    assert "reasons" not in world.browser("Lena Lead").open("/health/looks").words()


def test_a_talk_settles_only_what_was_talked_about_and_only_today(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    group_with(world, "Ines Instructor", guest)
    ines = world.browser("Ines Instructor")
    shown = open_reasons(ines.open(f"/guests/{guest}/health"))
    refused = shown.send("settle_talk")
    assert refused.status == 422 and "Choose how the talk ended." in refused.words()
    refused = shown.send("settle_talk", decision="go", note="ready", depth_cap_m="5")
    assert refused.status == 422 and "Go with limits" in refused.words()
    assert refused.find("input", name="depth_cap_m")[0].get("value") == "5"
    assert stands(world, guest).talk is None
    to, pairs = refused.form_fields("settle_talk")
    fields = {**dict(pairs), "decision": "go-with-limits", "note": "close", "max_guests": "1"}
    done = ines.post(to, fields)
    assert (
        done.status == 200 and "Ready (for today)" in done.words() and "not deeper than 5 m" in done.words()
    )
    assert ines.post(to, fields).status == 200
    found = stands(world, guest)
    assert found.settled and found.talk is not None and found.needs_more_care
    assert (found.outcome, found.talk.result, found.talk.by) == ("TALK", "GO-LIMIT", "Ines Instructor")
    assert (found.talk.depth_cap_m, found.talk.ratio_cap) == (5, 1)
    assert world.browser("Dora Desk").open(f"/guests/{guest}/health").words().count("5 m") == 0
    assert not stands(world, guest, DAY + timedelta(days=1)).settled
    screened(world, guest, SICK="Y")
    found = stands(world, guest)
    assert (found.word, found.talk, found.settled) == ("Instructor will talk first", None, False)
    stale = shown.send("settle_talk", key="s" * 32, decision="go", note="ready")
    assert stale.status == 422 and "changed since you looked" in stale.words()


@pytest.mark.parametrize(
    "said", [{"LUNG": "Y", "LUNG_c": "Y"}, {"DRNK": "?"}, {"TRIP": "Y", "TRIP_a": "?"}, {}], ids=str
)
def test_nobody_talks_a_letter_a_day_ashore_or_an_open_form_away(world: World, said: dict[str, str]) -> None:
    guest = add_guest(world)
    screened(world, guest, **said)
    before = stands(world, guest)
    for name in ("Lena Lead", "Ines Instructor"):
        group_with(world, name, guest)
        page = open_reasons(world.browser(name).open(f"/guests/{guest}/health"))
        assert not page.forms("settle_talk")
        token = page.find("input", name="token")[0].get("value", "")
        sent = {
            "key": name[:4] * 8, "token": token, "about": before.about, "decision": "go", "note": "ready",
        }  # fmt: skip
        refused = page.browser.post(f"/guests/{guest}/health/talk", sent)
        assert refused.status == 422 and "does not change this" in refused.words()
    assert stands(world, guest) == before


def test_everybody_may_stop_a_guest_and_only_the_lead_takes_it_back(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest)
    for name in PEOPLE:
        assert world.browser(name).open(f"/guests/{guest}/health").forms("stop_guest"), name
    desk = world.browser("Dora Desk")
    refused = desk.open(f"/guests/{guest}/health").send("stop_guest")
    assert refused.status == 422 and stands(world, guest).settled
    page = refused.send("stop_guest", stop_note="seen")
    assert "Not today" in page.words() and not page.forms("stop_guest")
    found = stands(world, guest)
    assert (found.outcome, found.screened, found.settled) == ("ASHORE", "CLEARED", False)
    screened(world, guest)
    assert stands(world, guest).outcome == "ASHORE"
    group_with(world, "Ines Instructor", guest)
    assert not open_reasons(world.browser("Ines Instructor").open(f"/guests/{guest}/health")).forms(
        "settle_talk"
    )
    lead = open_reasons(world.browser("Lena Lead").open(f"/guests/{guest}/health"))
    assert "Ready" in lead.send("settle_talk", decision="go", note="ready").words()
    assert stands(world, guest).settled


def test_a_letter_without_a_scan_is_kept_and_lifts_nothing(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y", LUNG_c="Y")
    keeper = world.browser("Kim Keeper")
    page = open_reasons(keeper.open(f"/guests/{guest}/health"), "letter")
    refused = page.send("record_letter", doctor="Dr Ada Reef", covers=["LUNG.c"], verdict="fit")
    assert refused.status == 422 and "Enter the doctor's register number" in refused.words()
    assert refused.find("input", name="doctor")[0].get("value") == "Dr Ada Reef"
    typed = {
        "doctor": "Dr Ada Reef", "register_no": "BR 1234", "contact": "555 0222", "not_relative": "yes",
        "issued_day": "1", "issued_month": "7", "issued_year": "2026", "verdict": "fit",
    }  # fmt: skip
    wrong = refused.send("record_letter", **typed, covers=["HART.a"])
    assert wrong.status == 422
    done = wrong.send("record_letter", **typed, covers=["LUNG.c"])
    assert done.status == 200 and "Letter recorded." in done.text
    assert {str(one) for one in stands(world, guest).reasons} == {"LUNG.c/L", "LTR-NOSCAN/L"}
    shown = open_reasons(keeper.open(f"/guests/{guest}/health"), "letter").words()
    assert "Dr Ada Reef" in shown and "No scan: it changes nothing yet." in shown
    page = open_reasons(keeper.open(f"/guests/{guest}/health"), "letter")
    page.send("record_letter", **{**typed, "verdict": "notfit"})
    assert stands(world, guest).outcome == "ASHORE"


def test_an_honest_slip_leaves_a_talk_and_its_keeper_does_not_settle_it(world: World) -> None:
    guest = add_guest(world)
    with world.act() as act:
        person = person_named(act.session, "Kim Keeper")
        assert person is not None
        act.edit(person, None, {"roles": "keeper lead"}, {})
    screened(world, guest, HART="Y", DRNK="Y")
    screened(world, guest, afresh=True)
    assert [str(one) for one in stands(world, guest).reasons] == ["DRNK/A", "HART/T"]
    keeper = world.browser("Kim Keeper")
    page = open_reasons(keeper.open(f"/guests/{guest}/health"), "letter")
    refused = page.send("record_slip", code="DRNK", slip_why="tapped")
    assert refused.status == 422 and "stands for the day" in refused.words()
    done = refused.send("record_slip", code="HART", slip_why="tapped")
    assert done.status == 200 and "Honest slip recorded." in done.text
    assert [str(one) for one in stands(world, guest).reasons] == ["DRNK/A", "FLIP/T"]
    other = add_guest(world, "Otto")
    screened(world, other, HART="Y")
    screened(world, other, afresh=True)
    page = open_reasons(keeper.open(f"/guests/{other}/health"), "letter")
    page.send("record_slip", code="HART", slip_why="misread")
    page = open_reasons(keeper.open(f"/guests/{other}/health"), "letter")
    refused = page.send("settle_talk", decision="go", note="ready")
    assert refused.status == 422 and "Somebody else settles" in refused.words()
    lead = open_reasons(world.browser("Lena Lead").open(f"/guests/{other}/health"))
    assert lead.send("settle_talk", decision="go", note="ready").status == 200
    assert stands(world, other).settled


def test_who_settled_a_talk_does_not_keep_the_record(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, HART="Y")
    with world.act() as act:
        person = person_named(act.session, "Lena Lead")
        assert person is not None
        act.edit(person, None, {"roles": "keeper lead"}, {})
    lead = world.browser("Lena Lead")
    page = open_reasons(lead.open(f"/guests/{guest}/health"))
    page.send("settle_talk", decision="go", note="ready")
    page = open_reasons(lead.open(f"/guests/{guest}/health"), "letter")
    typed = {
        "doctor": "Dr Ada Reef", "register_no": "BR 1234", "contact": "555 0222", "not_relative": "yes",
        "issued_day": "1", "issued_month": "7", "issued_year": "2026", "verdict": "fit",
    }  # fmt: skip
    assert "Another keeper" in page.send("record_letter", **typed).words()


def test_an_emergency_look_takes_two_taps_and_is_told(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    screened(world, guest, ELSE="Y", ELSE_b="Y", TRIP="Y", TRIP_a="Y", hours=20)
    ines = world.browser("Ines Instructor")
    page = ines.open(f"/guests/{guest}/health")
    assert f"/guests/{guest}/emergency" in {a.get("href") for a in page.find("a")}
    page = ines.open(f"/guests/{guest}/emergency")
    assert page.send("emergency_look", why="curious").status == 422
    world.clock.pass_minutes(200)
    page = ines.open(f"/guests/{guest}/emergency")
    shown = page.send("emergency_look", why="now")
    for words in ("allergy pen", "Gwen Emergency", "555 0911", "Parent Guest", "555 0777", "112", "20 h"):
        assert words in shown.words(), words
    assert "Gwen Guest" in shown.words() and "Emergency look." in shown.words()
    told = world.browser("Lena Lead").open("/health/looks").words()
    assert "Ines Instructor" in told and "The guest needs help now" in told
    for name in ("Dora Desk", "Kim Keeper", "Mona Manager"):
        assert world.browser(name).open(f"/guests/{guest}/emergency").status == 404
    world.clock.pass_minutes(24 * 60)
    assert world.browser("Lena Lead").open(f"/guests/{guest}/emergency").status == 200
    world.clock.pass_minutes(24 * 60)
    assert world.browser("Lena Lead").open(f"/guests/{guest}/emergency").status == 404


def test_where_the_guardian_is_can_be_noted_once_the_guardian_signed(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    desk = world.browser("Dora Desk")
    refused = desk.open(f"/guests/{guest}/health").send("guardian_place", place="poolside")
    assert refused.status == 422 and "has not signed yet" in refused.words()
    screened(world, guest)
    until = stands(world, guest).guardian_consent_until
    page = desk.open(f"/guests/{guest}/health").send("guardian_place", place="poolside")
    assert "Right beside the water" in page.words()
    found = stands(world, guest)
    assert (found.guardian_place, found.guardian_consent_until, found.outcome) == (
        "poolside",
        until,
        "CLEARED",
    )


def test_another_days_guest_is_not_there_for_the_water_side(world: World) -> None:
    guest = add_guest(world)
    world.clock.pass_minutes(24 * 60)
    for name in ("Ines Instructor", "Lena Lead"):
        assert world.browser(name).open(f"/guests/{guest}/health").status == 404
    page = world.browser("Dora Desk").open(f"/guests/{guest}/health")
    assert page.status == 200 and not page.forms("hand_over") and not page.forms("stop_guest")


def test_a_booked_flight_counts_although_the_guest_forgot_it(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest)
    for hours, outcome in ((19, "ASHORE"), (22, "TALK"), (40, "CLEARED")):
        with world.act() as act:
            row = act.get(GuestRow, guest)
            starts = datetime(2026, 7, 15, 9, 30, tzinfo=UTC)
            act.edit(row, None, {"flight_at": starts + timedelta(hours=hours)}, {})
        assert stands(world, guest).outcome == outcome, hours


def test_what_cannot_be_read_never_clears(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest)
    assert stands(world, guest).settled
    assert not stands(world, guest, DAY + timedelta(days=1)).settled
    assert not stands(world, guest, DAY - timedelta(days=1)).settled
    with world.house.store.reading() as session:
        form = forms_of(session, ["ref-Gwen"], DAY, the_shop(session).zone)["ref-Gwen"].signed
        assert form is not None
        right = form.answers
    other = world.house.ring.seal(owner("ref-Otto"), "answers", "{}")
    odd = world.house.ring.seal(owner("ref-Gwen"), "answers", '{"answers": {"LUNG": "no"}, "before": {}}')
    for answers in (other, odd, "AAAA", right[:-4] + "AAAA"):
        with world.act() as act:
            act.edit(act.get(HealthFormRow, form.id), None, {"answers": answers}, {})
        assert stands(world, guest).outcome == "INCOMPLETE", answers[:12]
    for field, value in (
        ("question_version", "1999-01"),
        ("text_status", "draft"),
        ("today_signed_for", None),
    ):
        with world.act() as act:
            act.edit(act.get(HealthFormRow, form.id), None, {"answers": right, field: value}, {})
        assert not stands(world, guest).settled, field
        with world.act() as act:
            act.edit(act.get(HealthFormRow, form.id), None, {field: getattr(form, field)}, {})
    assert stands(world, guest).settled
    world.house.ring.destroy(owner("ref-Gwen"))
    assert stands(world, guest).outcome == "INCOMPLETE"


def test_forty_guests_take_as_many_queries_as_one(world: World) -> None:
    guests = [add_guest(world, f"Guest{number}") for number in range(40)]
    for guest in guests[:3]:
        screened(world, guest, LUNG="Y")
    asked: list[str] = []
    event.listen(world.house.store.engine, "before_cursor_execute", lambda *a: asked.append(a[2]))
    counts = []
    for some in (guests[:1], guests):
        with world.house.store.reading() as session:
            rows = [session.get(GuestRow, one) for one in some]
            asked.clear()
            found = standing(session, world.house, [row for row in rows if row], DAY)
            counts.append(len(asked))
        assert set(found) == set(some)
    assert counts[0] == counts[1] <= 13


def test_no_answer_reaches_the_trail_the_store_or_the_log(
    world: World, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("DEBUG")
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    consent = tablet.open("/guest/consent").send(
        "agree_health_data", agree="yes", signed_name="Planted Signature"
    )
    page = consent.send("answer_question", answer="yes")
    assert page.url.endswith("/guest/questions/2")
    tablet.open("/guest").send("hand_back")
    screened(world, guest, LUNG="Y", LUNG_c="Y", HART="Y", BABY="?", BABY_a="Y")
    keeper = world.browser("Kim Keeper")
    page = open_reasons(keeper.open(f"/guests/{guest}/health"), "letter")
    typed = {
        "doctor": "Planted Doctor", "register_no": "BR 1234", "contact": "555 0222", "not_relative": "yes",
        "issued_day": "1", "issued_month": "7", "issued_year": "2026", "verdict": "notfit",
        "limits": "Planted Limits",
    }  # fmt: skip
    page.send("record_letter", **typed, covers=["LUNG.c", "BABY.a"])
    lead = world.browser("Lena Lead").open(f"/guests/{guest}/emergency")
    assert "Are you, or might you be, pregnant" in lead.send("emergency_look", why="now").words()
    with world.house.store.reading() as session:
        assert first_wrong(session, world.house.master.named("trail")) is None
    stored = repr(list(whole_store(world.house).values())).encode()
    world.house.store.close()
    stored += b"".join(path.read_bytes() for path in (tmp_path / "data").iterdir() if "shop" in path.name)
    assert b"guest_ref" in stored and b"Gwen" in stored
    words = {code for code in shipped_question_set().by_code if "." in code} | {
        "LUNG", "HART", "BABY", "DRNK", "Planted", "notfit", "pregnan", "ASHORE", "LETTER",
    }  # fmt: skip
    for word in words:
        assert word.encode() not in stored, word
        assert word not in caplog.text, word

"""A guest's own data through HTTP: stages, holds, requests, exports, reviews, breaches, the promise."""

import json
import sqlite3
import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlmodel import col, select

from app.actions.health.retention import keep_and_erase
from app.records.health.health_rows import consents_of
from app.records.health.look_check import first_wrong_look
from app.records.health.retention import record_of
from app.records.setup.shop import the_shop
from app.records.store.check import check_folder
from app.records.store.db import Session, make_engine, sqlite_url
from app.records.tables.days import IncidentRow
from app.records.tables.groups import MemberRow
from app.records.tables.health import HealthFormRow, HealthReadRow
from app.records.tables.parties import GuestRow
from app.records.tables.people import PersonRow
from app.records.tables.privacy import SecrecyRow
from app.records.tables.water import WaterEventRow
from app.records.welcome.bookings import guest as guest_of
from app.rules.retention import Stage
from tests.health_world import TEEN, add_guest, group_with, hand_over, screened, stands
from tests.web_world import DAY, PASSPHRASE, Browser, Page, World, make_world

REF = "c0ffee1234"


def data(browser: Browser, guest: int) -> Page:
    """Open a guest's data page."""
    return browser.open(f"/guests/{guest}/data")


def dive(world: World, guest: int) -> int:
    """Let a guest dive; return the member's number."""
    group = group_with(world, "Ines Instructor", guest)
    with world.act() as act:
        member = act.session.exec(select(MemberRow).where(MemberRow.guest_id == guest)).one()
        for event in ("in", "back"):
            act.add(
                WaterEventRow(
                    group_id=group, member_id=member.id or 0, event=event, happened_at=act.now, at=act.now,
                    by="test",
                )
            )  # fmt: skip
        return member.id or 0


def days(world: World, count: int) -> None:
    """Let days pass; everybody has to sign in again."""
    world.clock.at += timedelta(days=count)


def stage(world: World, guest: int) -> Stage:
    """Return where a record is."""
    with world.house.store.reading() as session:
        return record_of(session, guest, the_shop(session).day_of(world.clock())).stage


def guest_row(world: World, guest: int) -> GuestRow:
    """Return a guest."""
    with world.house.store.reading() as session:
        return guest_of(session, guest)


def erase(page: Page, **more: str) -> Page:
    """Send the request for erasure."""
    return page.send("ask_erasure", **{"asked_by": "guest", "papers_seen": "yes", **more})


def test_the_keepers_home_tells_what_waits_and_moves_records_on(world: World) -> None:
    guest = add_guest(world, "Gwen", ref=REF)
    screened(world, guest, LUNG="Y")
    kim = world.browser("Kim Keeper")
    home = kim.open("/health-records")
    assert home.find("a", href="/health-records", aria_current="page"), "it stands in the keeper's menu"
    assert "no deputy" in home.words() and "Live1" in home.words()
    days(world, 31)
    kim = world.browser("Kim Keeper")
    page = kim.open("/health-records").send("tidy_records")
    assert page.url.split("?")[0].endswith("/health-records") and "Erased1" in page.words()
    assert "0 sealed, 1 erased, 2 keys destroyed" in page.words()
    assert stage(world, guest) is Stage.ERASED and "LUNG" not in page.text
    gone = data(kim, guest)
    assert gone.people() == {str(guest): "erased"} and not gone.forms("export_data")
    assert "Gwen" not in gone.text and "a guest c0ffee" in gone.words()
    assert world.browser("Mona Manager").open("/health-records").status == 200
    assert world.browser("Dora Desk").open("/health-records").status == 404
    assert check_folder(world.house.settings)[0] is None


def test_without_a_dive_everything_is_erased_at_once_and_a_letter_says_so(world: World) -> None:
    guest = add_guest(world, "Zebulina", ref=REF)
    screened(world, guest, LUNG="Y")
    kim = world.browser("Kim Keeper")
    refused = erase(data(kim, guest))
    assert refused.status == 422 and "still booked" in refused.words() and stage(world, guest) is Stage.LIVE
    with world.act() as act:
        act.edit(act.get(GuestRow, guest), None, {"state": "cancelled"}, {})
    assert erase(data(kim, guest), papers_seen="").status == 422
    assert data(world.browser("Mona Manager"), guest).forms("ask_erasure") == []
    letter = erase(data(kim, guest))
    assert "We erased it the same day" in letter.words() and "Zebulina" not in letter.words()
    assert stage(world, guest) is Stage.ERASED and guest_row(world, guest).full_name == "a guest c0ffee"
    assert f"guest:{REF}" not in world.house.ring.owners() and f"guest:{REF}" in world.house.erasures.owners()
    assert data(kim, guest).status == 200
    with world.house.store.reading() as session:
        assert len(list(session.exec(select(HealthFormRow).where(HealthFormRow.answers != "")))) == 0


def test_after_a_dive_the_record_is_sealed_at_once_and_the_guest_is_told_why_and_until_when(
    world: World,
) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    dive(world, guest)
    kim = world.browser("Kim Keeper")
    letter = erase(data(kim, guest))
    assert "until Tue 15 Jan 2030" in letter.words() and "sealed it at once" in letter.words()
    assert stage(world, guest) is Stage.SEALED and stands(world, guest).put_away == "sealed"
    lena = world.browser("Lena Lead").open(f"/guests/{guest}/health")
    sent = lena.send("look_at_reasons", why="talk") if lena.forms("look_at_reasons") else lena
    assert "LUNG" not in sent.words(), "nobody but the keeper opens it now"
    opened = data(kim, guest).send("open_sealed", why="claim")
    assert "lung or breathing trouble" in opened.words() and "Yes" in opened.words()
    assert opened.headers["cache-control"] == "no-store"
    assert data(kim, guest).send("open_sealed", why="").status == 422
    assert world.browser("Mona Manager").post(f"/guests/{guest}/data/open", {}).status in (403, 404, 422)
    with world.house.store.reading() as session:
        kinds = list(session.exec(select(HealthReadRow.kind).order_by(col(HealthReadRow.id))))
    assert kinds[-1] == "sealed record"


def test_a_consent_taken_back_keeps_the_guest_ashore_and_empties_the_answers(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest)
    assert stands(world, guest).settled
    page = data(world.browser("Dora Desk"), guest)
    assert not page.forms("export_data") and not page.forms("hold_record")
    again = page.send("withdraw_consent")
    assert stands(world, guest).outcome == "INCOMPLETE" and not stands(world, guest).settled
    assert not again.forms("withdraw_consent")
    with world.house.store.reading() as session:
        form = session.exec(select(HealthFormRow)).one()
        assert form.answers == form.signature == ""
        newest = consents_of(session, guest_row(world, guest).ref)[-1]
    assert (newest.kind, newest.given, newest.recorded_by) == ("health-data", False, "Dora Desk")


def test_photos_and_offers_are_asked_apart_and_start_as_no(world: World) -> None:
    guest = add_guest(world)
    page = data(world.browser("Dora Desk"), guest)
    assert not [one for one in page.find("input", type="checkbox") if "checked" in one.attrib]
    again = page.send("tell_choices", photos="yes")
    ticked = [one.get("name") for one in again.find("input", type="checkbox") if "checked" in one.attrib]
    assert ticked == ["photos"]
    again.send("tell_choices", photos="yes")
    data(world.browser("Dora Desk"), guest).send("tell_choices", photos=None)
    with world.house.store.reading() as session:
        rows = consents_of(session, guest_row(world, guest).ref)
    assert [(row.kind, row.given) for row in rows] == [("photos", True), ("photos", False)]
    assert not stands(world, guest).outcome, "what a guest allows has nothing to do with health"


def test_a_hold_is_named_looked_at_again_and_released(world: World) -> None:
    guest = add_guest(world)
    member = dive(world, guest)
    with world.act() as act:
        act.add(
            IncidentRow(
                day=DAY, happened_at=act.now, severity="serious", category="people", what="x", made_by="hand",
                member_id=member, written_at=act.now, written_by="test",
            )
        )  # fmt: skip
    mona = world.browser("Mona Manager")
    assert "Guests in an incident" in mona.open("/health-records").words()
    page = data(mona, guest)
    assert page.send("hold_record", reason="").status == 422
    elsewhere = data(mona, guest)
    held = page.send("hold_record", reason="A lawyer wrote")
    assert "A lawyer wrote" in held.words() and "Thu 15 Jul 2027" in held.words()
    stale = elsewhere.send("hold_record", reason="Again")
    assert stale.status == 422 and "Open the page again" in stale.words()
    assert "Guests in an incident" not in mona.open("/health-records").words()
    days(world, 365 * 5)
    keep_and_erase(world.house, asked=True)
    assert stage(world, guest) is Stage.SEALED
    kim = world.browser("Kim Keeper")
    assert "Look at it again" in kim.open("/health-records").words()
    assert "hold again" in kim.open("/today").words()
    data(kim, guest).send("keep_hold", reason="The case goes on")
    assert "Look at it again" not in kim.open("/health-records").words()
    data(kim, guest).send("release_hold", reason="The case ended")
    keep_and_erase(world.house, asked=True)
    assert stage(world, guest) is Stage.ERASED


def test_everything_is_handed_out_as_a_page_and_as_a_file(world: World) -> None:
    guest, other = add_guest(world), add_guest(world, "Otherone")
    screened(world, guest, LUNG="Y")
    screened(world, other, LUNG="Y")
    kim = world.browser("Kim Keeper")
    page = data(kim, guest)
    for wrong in ({"papers_seen": ""}, {"asked_by": "guardian"}, {"asked_by": ""}, {"as_what": ""}):
        fields = {"asked_by": "guest", "papers_seen": "yes", "as_what": "page", **wrong}
        assert data(kim, guest).send("export_data", **fields).status == 422, wrong
    shown = page.send("export_data", asked_by="guest", papers_seen="yes", as_what="page")
    assert "Gwen Guest" in shown.words() and "lung or breathing trouble" in shown.words()
    assert "Otherone" not in shown.text
    file = data(kim, guest).send("export_data", asked_by="guest", papers_seen="yes", as_what="file")
    assert file.headers["content-disposition"] == f'attachment; filename="guest-{guest}.json"'
    found = json.loads(file.text)
    answers = {one["code"]: one["answer"] for one in found["forms"][0]["answers"]}
    assert answers["LUNG"] == "Yes" and "No" in answers.values()
    assert found["guest"]["full_name"] == "Gwen Guest" and found["outcome"] == "Instructor will talk first"
    assert [one["kind"] for one in found["consents"]] == ["health-data", "dive"]
    assert [one["what"] for one in found["who_looked"]] == ["export", "export"]
    assert found["forms"][0]["signed_as"] == "Gwen Guest" and "Otherone" not in file.text
    assert "export" in data(kim, guest).browser.open(f"/guests/{guest}/data/looks").words()
    world.clock.pass_minutes(11)
    asked = data(kim, guest)
    assert asked.find("input", name="confirm"), "the passphrase is asked for again"
    assert asked.send("export_data", asked_by="guest", papers_seen="yes", as_what="file").status == 422


def test_a_guardian_asks_only_for_a_child(world: World) -> None:
    child = add_guest(world, "Tim", born=TEEN)
    screened(world, child)
    kim = world.browser("Kim Keeper")
    sent = {"asked_by": "guardian", "papers_seen": "yes", "as_what": "page"}
    assert data(kim, child).send("export_data", **sent).status == 422
    shown = data(kim, child).send("export_data", **sent, right_seen="yes")
    assert shown.status == 200 and "Parent Guest" in shown.words()


def test_looks_are_reviewed_weekly_and_emergency_looks_the_day_after(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    ines = world.browser("Ines Instructor")
    first = ines.open(f"/guests/{guest}/emergency")
    shown = first.send("emergency_look", why="now")
    assert shown.status == 200 and "Emergency look." in shown.words(), "two taps, and a banner"
    lead = world.browser("Lena Lead").open("/today")
    assert "Ines Instructor looked" in lead.words() and "LUNG" not in lead.text
    kim = world.browser("Kim Keeper")
    assert "1 emergency look to review" in kim.open("/today").words()
    page = kim.open("/health-records/review")
    (emergency,) = page.forms("review_emergency")
    refused = page.send("review_emergency", found="asked about it")
    assert refused.status == 422 and "Write what you asked" in refused.words()
    assert emergency.get("action") == "/health-records/review/1"
    page.send("review_emergency", found="in order")
    assert "emergency look" not in kim.open("/today").words()
    assert "Emergency looks at health records" not in world.browser("Lena Lead").open("/today").words()
    days(world, 8)
    kim = world.browser("Kim Keeper")
    home = kim.open("/health-records")
    assert "Overdue" in home.words() and "weekly review" in kim.open("/today").words()
    done = kim.open("/health-records/review").send("review_looks", found="in order")
    assert "Looked through by Kim Keeper" in done.words()
    assert "Overdue" not in kim.open("/health-records").words()
    assert world.browser("Lena Lead").open("/health-records/review").status == 404
    assert kim.post("/health-records/review/99", {}).status in (403, 404, 422)


def test_who_looked_alone_does_not_review(world: World) -> None:
    guest = add_guest(world)
    with world.act() as act:
        person = act.session.exec(select(PersonRow).where(PersonRow.name == "Kim Keeper")).one()
        act.edit(person, None, {"roles": "instructor keeper"}, {})
    kim = world.browser("Kim Keeper")
    kim.open(f"/guests/{guest}/emergency").send("emergency_look", why="now")
    page = kim.open("/health-records/review")
    assert not page.forms("review_emergency") and "Another keeper reviews it" in page.words()


def test_looks_changed_behind_the_programs_back_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)
    world = make_world(tmp_path / "own")
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    ines = world.browser("Lena Lead")
    for _ in range(3):
        ines.open(f"/guests/{guest}/health").send("look_at_reasons", why="talk")
    house = world.house
    columns = "guest_ref, person_id, who, role, kind, why, at"
    for change, says in (
        ("UPDATE health_read SET who = 'Nobody' WHERE id = 2", "Look 2"),
        ("DELETE FROM health_read WHERE id = 3", "Look 3"),
        (
            f"INSERT INTO health_read (id, {columns}) SELECT 9, {columns} FROM health_read WHERE id = 1",
            "Look 9",
        ),
    ):
        assert says in tampered(house.settings.data, change), change
    house.close()


def tampered(folder: Path, change: str) -> str:
    """Change a copy of the folder's database behind the program's back; return what the check says."""
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "copy.sqlite3"
        with sqlite3.connect(folder / "shop.sqlite3") as live, sqlite3.connect(copy) as other:
            live.backup(other)
        raw = sqlite3.connect(copy)
        for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute(change)
        raw.commit()
        raw.close()
        engine = make_engine(sqlite_url(copy))
        with Session(engine) as session:
            said = first_wrong_look(session)
        engine.dispose()
    return said or ""


def test_a_breach_has_a_clock_names_whom_it_touches_and_closes_only_when_it_is_settled(world: World) -> None:
    guest, other = add_guest(world), add_guest(world, "Otherone")
    screened(world, guest, LUNG="Y")
    mona = world.browser("Mona Manager")
    mona.open("/setup/devices").send("pair_device", name="Front tablet", kind="tablet")
    mona.open(f"/guests/{guest}/health")
    mona.open("/today").send("sign-out")
    mona.sign_in("Dora Desk")
    mona.open(f"/guests/{guest}/health").send("hand_over")
    kim = world.browser("Kim Keeper")
    page = kim.open("/health-records/breaches")
    assert page.send("write_breach", kind="device").status == 422
    one = page.send(
        "write_breach", kind="device", what="The front tablet is gone", device="1", known_clock="08:30"
    )
    assert "71 h left" in one.words() and "1 guest filled" in one.words()
    assert f"Guest {guest}," in one.words() and f"Guest {other}," not in one.words()
    assert "still paired" in one.words() and "breach" in kim.open("/today").words()
    early = one.send("add_breach_step", step="closed", words="done")
    assert early.status == 422 and "authority" in early.words()
    one.send("add_breach_step", step="authority not told", words="The tablet was locked")
    one = kim.open("/health-records/breaches/1").send("add_breach_step", step="people told", words="By phone")
    one = one.send("add_breach_step", step="closed", words="Found again")
    assert "h left" not in one.words() and "Closed" in one.words()
    lost = world.browser("Mona Manager").open("/health-records/breaches/1")
    assert lost.find("a", href="/setup/devices")
    assert kim.open("/health-records/breaches/99").status == 404
    assert world.browser("Dora Desk").open("/health-records/breaches").status == 404
    opened = kim.open("/health-records/breaches").send(
        "write_breach", kind="person", what="Opened out of curiosity", person="3", known_clock="08:30"
    )
    assert "Nobody's form was filled in there" in opened.words()


def test_times_for_keeping_are_the_managers_and_keep_to_the_floor(world: World) -> None:
    mona = world.browser("Mona Manager")
    page = mona.open("/setup/keeping?country=queensland")
    assert "at least 12" in page.words()
    low = page.send("set_keeping", adult_months="6", reason="Less")
    assert low.status == 422 and "at least 12 months" in low.words()
    done = page.send("set_keeping", adult_months="24", reason="Our lawyer says so")
    assert "24 months" in done.words() and "Our lawyer says so" in done.words()
    guest = add_guest(world)
    dive(world, guest)
    assert "Sat 15 Jul 2028" in data(world.browser("Kim Keeper"), guest).words()
    assert world.browser("Kim Keeper").open("/setup/keeping").status == 404


def test_secrecy_is_promised_before_reasons_are_opened_but_never_before_an_emergency(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    with world.act() as act:
        hashed = (
            act.session.exec(select(PersonRow).where(PersonRow.name == "Lena Lead")).one().passphrase_hash
        )
        act.add(
            PersonRow(
                name="Nia New", roles="instructor lead", passphrase_hash=hashed, grade="level 2",
                credential_until=date(2027, 1, 1),
            )
        )  # fmt: skip
    nia = world.browser("Nia New")
    refused = nia.open(f"/guests/{guest}/health").send("look_at_reasons", why="talk")
    assert refused.status == 422 and "Promise secrecy first" in refused.words() and "LUNG" not in refused.text
    assert refused.rules() >= {"secrecy_signed"}
    emergency = nia.open(f"/guests/{guest}/emergency").send("emergency_look", why="now")
    assert "Emergency look." in emergency.words()
    assert "Not yet" in world.browser("Mona Manager").open("/health-records").words()
    promised = nia.open("/your-promise").send("promise_secrecy")
    assert "You promised this on Wed 15 Jul 2026" in promised.words()
    assert "LUNG" in nia.open(f"/guests/{guest}/health").send("look_at_reasons", why="talk").words()
    with world.house.store.reading() as session:
        assert session.exec(select(SecrecyRow).order_by(col(SecrecyRow.id).desc())).first() is not None


def test_access_ends_the_day_a_person_leaves(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    lena = world.browser("Lena Lead")
    assert lena.open(f"/guests/{guest}/health").status == 200
    with world.act() as act:
        person = act.session.exec(select(PersonRow).where(PersonRow.name == "Lena Lead")).one()
        act.edit(person, None, {"active": False}, {})
    assert lena.open(f"/guests/{guest}/health").url.endswith("/sign-in")
    assert lena.sign_in("Lena Lead", PASSPHRASE).status == 422


@pytest.fixture(autouse=True)
def whole_trail(world: World) -> Iterator[None]:
    """Whatever was done, the trail is whole afterwards."""
    yield
    if world.house.settings.database_url is None:
        assert check_folder(world.house.settings)[0] is None


def test_a_guest_on_the_tablet_finds_none_of_it(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    for path in ("/health-records", f"/guests/{guest}/data", "/your-promise", "/setup/keeping"):
        assert tablet.open(path).status == 404

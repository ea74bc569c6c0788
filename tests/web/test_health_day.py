"""The health day on shore: looks, results explained, slips undone by two, parents, own questions."""

from datetime import timedelta

import pytest

from app.records.guest_side.questions import questions_now
from app.records.setup.visits import person_named
from app.rules.shore_look import POINTS
from tests.health_world import TEEN, add_guest, group_with, hand_over, screened, stands
from tests.letter_world import pdf, reasons
from tests.web_ready import Ready
from tests.web_world import World, whole_store


def look_form(ready: Ready, name: str) -> str:
    """Return the address of the form for the look at one guest."""
    return ready.at(f"/look/{ready.guests[name]}")


def test_a_no_at_the_look_keeps_ashore_until_another_look(ready: Ready) -> None:
    to = look_form(ready, "Ann")
    page = ready.phone.open(to)
    assert page.send("look_on_shore", at=to, result="ashore").status == 422
    assert page.send("look_on_shore", at=to, result="well", wrong="calm").status == 422
    page = page.send("look_on_shore", at=to, result="ashore", wrong=["calm", "suit"])
    assert page.status == 200 and "stays ashore, seen by Ines Instructor" in page.words()
    world, ann = ready.world, ready.guests["Ann"]
    found = stands(world, ann)
    assert (found.outcome, found.word, found.settled) == ("ASHORE", "Not today", False)
    assert ready.go_in().status == 422
    desk = world.browser("Dora Desk").open(f"/guests/{ann}/health")
    assert desk.people() == {str(ann): "Not today"} and "Calm" not in desk.text
    seen = reasons(ready.phone, ann, "talk").words()
    assert "Not in order at the look on shore: calm; suit not tight" in seen
    assert ready.phone.open(to).send("look_on_shore", result="well").status == 200
    assert stands(world, ann).settled
    assert "calm" not in repr(whole_store(world.house)["shore_look"])
    assert ready.go_in().status == 200


def test_a_smell_of_alcohol_stands_for_the_day(ready: Ready) -> None:
    to = look_form(ready, "Bo")
    assert ready.phone.open(to).send("look_on_shore", result="ashore", wrong="sober").status == 200
    page = ready.phone.open(to)
    assert "This stands for the day" in page.words() and not page.forms("look_on_shore")
    assert stands(ready.world, ready.guests["Bo"]).outcome == "ASHORE"
    lead = reasons(ready.world.browser("Lena Lead"), ready.guests["Bo"], "talk")
    token = lead.find("input", name="token")[0].get("value", "")
    lead.browser.post(to, {"key": "w" * 32, "token": token, "result": "well"})
    assert stands(ready.world, ready.guests["Bo"]).outcome == "ASHORE"


def test_the_look_is_asked_every_day_of_own_groups_only(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest)
    group = group_with(world, "Ines Instructor", guest)
    page = world.browser("Ines Instructor").open(f"/water/{group}")
    assert "Nobody looked at Gwen on shore today" in page.words()
    assert all(point.words in page.words() for point in POINTS.values())
    assert "Nobody looked at" not in page.send("all_in_order").words()
    assert world.browser("Ivo Instructor").open(f"/water/{group}").status == 404
    assert stands(world, guest).look is not None
    world.clock.pass_minutes(24 * 60)
    assert stands(world, guest, world.clock.at.date()).look is None


def test_who_explained_a_result_is_kept_and_a_guest_may_ask_for_a_person(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, COLD="Y", COLD_a="Y")
    desk = world.browser("Dora Desk")
    page = desk.open(f"/guests/{guest}/health")
    assert page.send("tell_outcome").status == 422
    page = page.send("tell_outcome", asks="yes")
    assert "Explained to the guest by Dora Desk" in page.words()
    assert "asks for a person to look again" in page.words() and not page.forms("look_again")
    lead = world.browser("Lena Lead").open(f"/guests/{guest}/health")
    done = lead.send("look_again", looked="stands")
    assert done.status == 200 and not done.forms("look_again")
    assert stands(world, guest).outcome == "ASHORE", "a look changes nothing by itself"
    cleared = add_guest(world, "Otto")
    screened(world, cleared)
    assert not desk.open(f"/guests/{cleared}/health").forms("tell_outcome")


def test_a_slip_of_today_is_undone_by_lead_and_keeper_together(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, COLD="Y", COLD_a="Y")
    lead, keeper = world.browser("Lena Lead"), world.browser("Kim Keeper")
    page = reasons(lead, guest, "talk")
    assert page.send("undo_today_slip", today_code="COLD.a", today_why="tapped").status == 422
    assert page.send("undo_today_slip", today_code="COLD.a", today_why="tapped", role="lead").status == 200
    assert stands(world, guest).outcome == "ASHORE", "one word is not enough"
    again = reasons(lead, guest, "talk")
    assert "Lena Lead said so as lead" in again.words()
    twice = again.send("undo_today_slip", today_code="COLD.a", today_why="tapped", role="lead")
    assert twice.status == 422 and "It takes the other of the two" in twice.words()
    page = reasons(keeper, guest)
    assert page.send("undo_today_slip", today_code="COLD.a", today_why="tapped", role="keeper").status == 200
    assert {str(one) for one in stands(world, guest).reasons} == {"COLD/T", "FLIP/T"}
    assert reasons(lead, guest, "talk").send("settle_talk", decision="go", note="ready").status == 200
    assert stands(world, guest).settled
    assert "COLD" not in repr(whole_store(world.house))


def test_one_person_in_both_roles_is_not_two_people(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, COLD="Y", COLD_a="Y")
    with world.act() as act:
        person = person_named(act.session, "Kim Keeper")
        assert person is not None
        act.edit(person, None, {"roles": "keeper lead"}, {})
    both = world.browser("Kim Keeper")
    said = {"today_code": "COLD.a", "today_why": "tapped"}
    assert reasons(both, guest).send("undo_today_slip", **said, role="keeper").status == 200
    refused = reasons(both, guest).send("undo_today_slip", **said, role="lead")
    assert refused.status == 422 and stands(world, guest).outcome == "ASHORE"


def test_nothing_of_today_is_undone_after_the_guest_was_told_nor_alcohol_nor_an_own_wish(
    world: World,
) -> None:
    guest = add_guest(world)
    screened(world, guest, COLD="Y", COLD_a="Y", DRNK="Y", WILL="Y", WILL_a="Y")
    lead = world.browser("Lena Lead")
    page = reasons(lead, guest, "talk")
    offered = {e.get("value") for e in page.find("input", name="today_code")}
    assert offered == {"COLD.a"}
    for code in ("DRNK", "WILL.a", "SICK.a"):
        to, pairs = page.form_fields("undo_today_slip")
        sent = dict(pairs) | {
            "key": f"{code:k<32}".replace(".", "x"),
            "today_code": code,
            "today_why": "tapped",
        }
        assert lead.post(to, {**sent, "role": "lead"}).status == 422, code
    world.browser("Dora Desk").open(f"/guests/{guest}/health").send("tell_outcome", asks="no")
    refused = reasons(lead, guest, "talk").send(
        "undo_today_slip", today_code="COLD.a", today_why="tapped", role="lead"
    )
    assert refused.status == 422 and "was told the result" in refused.words()


def test_parents_who_disagree_keep_a_child_ashore_until_the_lead_takes_it_back(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    screened(world, guest)
    assert stands(world, guest).settled
    desk = world.browser("Dora Desk")
    page = desk.open(f"/guests/{guest}/health").send("note_parents")
    assert "noted by Dora Desk" in page.words() and page.people() == {str(guest): "Not today"}
    token = page.find("input", name="token")[0].get("value", "")
    sent = {"key": "p" * 32, "token": token, "parents": "agree"}
    assert desk.post(f"/guests/{guest}/health/parents", sent).status == 404
    screened(world, guest)
    assert {str(one) for one in stands(world, guest).reasons} == {"PARENTS/A"}
    lead = world.browser("Lena Lead").open(f"/guests/{guest}/health")
    assert lead.send("note_parents").status == 200 and stands(world, guest).settled
    adult = add_guest(world, "Otto")
    assert not desk.open(f"/guests/{adult}/health").forms("note_parents")


def test_an_adult_who_is_no_guardian_signs_only_with_a_parents_paper_on_file(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    screened(world, guest, guardian=False)
    tablet = hand_over(world, guest)
    said = {
        "name": "Aunt Guest", "relation": "paper", "phone": "555 0777", "place": "on site", "id_seen": "yes",
        "agree": "yes", "agree_health": "yes",
    }  # fmt: skip
    page = tablet.open("/guest/guardian")
    assert "written paper" not in page.words()
    assert page.send("sign_guardian", **said, rights="yes").status == 422
    tablet.open("/guest").send("hand_back")
    desk = world.browser("Dora Desk")
    done = desk.open(f"/guests/{guest}/health").send_files(
        "add_letter_page", {"page": pdf(b"paper")}, kind="parent-paper"
    )
    assert "Page 1 of a parent's paper" in done.words()
    page = hand_over(world, guest).open("/guest/guardian")
    assert "written paper" in page.words()
    assert page.send("sign_guardian", **{**said, "relation": "parent"}).status == 422, (
        "a parent has the rights"
    )
    assert page.send("sign_guardian", **said).status == 200
    found = stands(world, guest)
    assert found.settled and found.guardian_consent_on == world.clock.at.date()


@pytest.mark.parametrize("level", ["L", "A"])
def test_a_shop_makes_a_question_stricter_and_it_binds_at_once(world: World, level: str) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y")
    assert stands(world, guest).outcome == "TALK"
    manager = world.browser("Mona Manager")
    page = manager.open("/setup/questions/LUNG")
    assert page.send("raise_question", level="T", reason="No").status == 422
    assert page.send("raise_question", level=level, reason="Our doctor asks for it").status == 200
    assert stands(world, guest).outcome == {"L": "LETTER", "A": "ASHORE"}[level]
    assert not manager.open("/setup/questions/LUNG.b").forms("raise_question"), "nothing is stricter than A"
    back = manager.open("/setup/questions/LUNG").send("end_own_question", reason="Settled")
    assert back.status == 200 and stands(world, guest).outcome == "TALK"
    assert world.browser("Kim Keeper").open("/setup/questions").status == 404


def test_a_question_that_the_shop_adds_is_asked_of_everybody_and_the_history_anew(world: World) -> None:
    signed = add_guest(world, "Otto")
    screened(world, signed)
    manager = world.browser("Mona Manager")
    page = manager.open("/setup/questions")
    said = {"hazard": "Thin air", "part": "history", "level": "L", "reason": "Mountain guests"}
    assert page.send("add_question", text="High up lately", **said).status == 422
    page = page.send("add_question", text="Did you sleep above 3,000 m this week?", **said)
    assert page.status == 200 and "OWNA" in page.words() and "2026-11+1" in page.words()
    guest = add_guest(world)
    screened(world, guest, OWNA="Y")
    assert {str(one) for one in stands(world, guest).reasons} == {"OWNA/L"}
    assert stands(world, signed).outcome == "CLEARED", "it was not asked when this guest signed today"
    screened(world, signed, OWNA="Y")
    assert stands(world, signed).outcome == "LETTER"
    with world.house.store.reading() as session:
        assert questions_now(session).version == "2026-11+1"


def test_a_letter_for_each_child_is_a_limit_of_the_shop(world: World) -> None:
    guest = add_guest(world, born=world.clock.at.date() - timedelta(days=366 * 14))
    screened(world, guest)
    assert {str(one) for one in stands(world, guest).reasons} == {"AGE-CHILD/T"}
    manager = world.browser("Mona Manager")
    assert (
        manager.open("/setup/limits/child_letter_age").send("set_limit", value="16", reason="Asked").status
        == 200
    )
    assert {str(one) for one in stands(world, guest).reasons} == {"AGE-CHILD/L"}

"""Signing in and out."""

from tests.web_world import World


def test_a_person_signs_in_by_name_and_out_again(world: World) -> None:
    browser = world.browser("Dora Desk")
    assert "Dora Desk" in browser.open("/today").text
    page = browser.open("/today").send("sign-out")
    assert page.url.endswith("/sign-in")
    assert browser.open("/today").url.endswith("/sign-in")


def test_wrong_secret_and_unknown_name_answer_alike(world: World) -> None:
    browser = world.browser()
    wrong = browser.open("/sign-in").send("sign_in", name="Dora Desk", secret="not the right words")
    unknown = browser.open("/sign-in").send("sign_in", name="Nobody Here", secret="not the right words")
    assert wrong.status == unknown.status == 422
    assert "do not belong together" in wrong.words() and "do not belong together" in unknown.words()

"""Doctors' letters through the pages: dropped in blind, recorded, compared by another, never edited."""

import pytest

from app.records.health.health_reads import looks
from app.records.health.letters import scans_of
from app.records.setup.visits import person_named
from app.records.tables.letters import LetterScanRow
from tests.health_world import add_guest, screened, stands
from tests.letter_world import compare, drop_in, pdf, reasons, record, to_compare, whole_letter, words_of
from tests.picture_bytes import exif, jpeg
from tests.web_world import World, whole_store

FIT = words_of("fit", "2026-07-01")


def held(world: World, guest: int) -> set[str]:
    """Return a guest's reasons as written in results."""
    return {str(one) for one in stands(world, guest).reasons}


def lung_guest(world: World, name: str = "Gwen") -> int:
    """Return a guest who needs a letter."""
    guest = add_guest(world, name)
    screened(world, guest, LUNG="Y", LUNG_c="Y")
    return guest


def test_a_letter_counts_once_it_is_recorded_with_its_pages_and_compared_by_another(world: World) -> None:
    guest = lung_guest(world)
    desk, keeper, lead = (world.browser(name) for name in ("Dora Desk", "Kim Keeper", "Lena Lead"))
    page = drop_in(desk, guest)
    assert "Page 1 of a letter, from Dora Desk" in page.words()
    assert drop_in(desk, guest).status == 422, "the same page twice"
    assert drop_in(desk, guest, pdf(b"second page")).status == 200
    assert "Gwen Guest" in keeper.open("/health/letters").words()
    assert record(keeper, guest, FIT, "LUNG.c").status == 200
    assert held(world, guest) == {"LUNG.c/L", "LTR-NOSCAN/L"}, "not compared yet"
    assert desk.open(f"/guests/{guest}/health").people() == {str(guest): "Doctor's letter needed"}
    page = to_compare(lead, guest)
    assert "Dr Ada Reef" in page.words() and "BR 1234, Brannock" in page.words()
    assert page.send("compare_letter", agrees="yes").status == 422, "no page was opened"
    assert compare(lead, guest).status == 200
    assert held(world, guest) == {"LUNG.c/T"}
    assert not lead.open("/health/letters").forms("look_at_letter")
    with world.house.store.reading() as session:
        kinds = [one.row.kind for one in looks(session, world.clock.at)]
    assert kinds.count("scan") == 2 and "compare" in kinds and "letter" in kinds


def test_pages_are_opened_by_the_keeper_alone_and_as_a_file(world: World) -> None:
    guest = lung_guest(world)
    other = lung_guest(world, "Otto")
    desk, keeper, lead = (world.browser(name) for name in ("Dora Desk", "Kim Keeper", "Lena Lead"))
    drop_in(desk, guest, jpeg(40, 30, exif(b"Long Jetty"), behind=b"hidden"))
    token = desk.open(f"/guests/{guest}/health").find("input", name="token")[0].get("value", "")
    path = f"/guests/{guest}/health/pages/1"
    assert desk.post(path, {"key": "d" * 32, "token": token, "why": "record"}).status == 404
    page = reasons(keeper, guest)
    opened = page.send("open_letter_page", at=path)
    assert opened.headers["content-type"] == "image/jpeg"
    assert opened.headers["content-disposition"] == 'attachment; filename="page-1.jpg"'
    assert "sandbox" in opened.headers["content-security-policy"]
    assert opened.headers["x-content-type-options"] == "nosniff"
    assert "Long Jetty" not in opened.text and "hidden" not in opened.text
    token = page.find("input", name="token")[0].get("value", "")
    refused = keeper.post(path, {"key": "e" * 32, "token": token, "why": "curious"})
    assert refused.status == 422
    wrong = keeper.post(f"/guests/{other}/health/pages/1", {"key": "f" * 32, "token": token, "why": "record"})
    assert wrong.status == 404
    token = lead.open("/health/letters").find("input", name="token")[0].get("value", "")
    sent = {"key": "g" * 32, "token": token, "why": "compare"}
    assert lead.post(path, sent).status == 404, "no record waits to be compared with it"
    with world.house.store.reading() as session:
        row = session.get(LetterScanRow, 1)
        assert row is not None and b"JFIF" not in row.sealed[:64]
        assert [one.letter_id for one in scans_of(session, "ref-Gwen")] == [None]


def test_files_that_are_no_page_are_refused_and_nothing_is_kept(world: World) -> None:
    guest = add_guest(world)
    desk = world.browser("Dora Desk")
    for data in (b"<html>", pdf()[:-9], b"GIF89a", pdf() + b"<script>"):
        refused = drop_in(desk, guest, data)
        assert refused.status == 422 and refused.find("p", id="f-page-error")
    assert desk.open(f"/guests/{guest}/health").send_files("add_letter_page", {}).status == 422
    with world.house.store.reading() as session:
        assert scans_of(session, "ref-Gwen") == []
    assert desk.open("/health/letters").status == 404
    assert world.browser("Mona Manager").open(f"/guests/{guest}/health").forms("add_letter_page") == []


def test_nobody_compares_what_they_recorded_themselves(world: World) -> None:
    guest = lung_guest(world)
    with world.act() as act:
        person = person_named(act.session, "Kim Keeper")
        assert person is not None
        act.edit(person, None, {"roles": "keeper lead"}, {})
    keeper = world.browser("Kim Keeper")
    drop_in(keeper, guest)
    record(keeper, guest, FIT, "LUNG.c")
    page = keeper.open("/health/letters")
    assert not page.forms("look_at_letter") and "Another lead compares it" in page.words()
    token = page.browser.open(f"/guests/{guest}/health").find("input", name="token")[0].get("value", "")
    sent = {"key": "k" * 32, "token": token, "agrees": "yes"}
    assert keeper.post(f"/guests/{guest}/health/letters/1/compare", sent).status == 404
    assert "LTR-NOSCAN/L" in held(world, guest)


def test_a_record_found_wrong_is_recorded_anew_with_the_same_pages(world: World) -> None:
    guest = lung_guest(world)
    keeper, lead = world.browser("Kim Keeper"), world.browser("Lena Lead")
    drop_in(keeper, guest)
    record(keeper, guest, words_of("notfit", "2026-07-01"), "LUNG.c")
    assert stands(world, guest).outcome == "ASHORE"
    assert compare(lead, guest, "no").status == 200
    assert stands(world, guest).outcome == "ASHORE", "until it is recorded anew"
    page = reasons(keeper, guest)
    assert "does not say what the scan says" in page.words()
    done = page.send("record_letter", **FIT, covers=["LUNG.c"], replaces="1", pages=["1"])
    assert done.status == 200, done.words()
    assert compare(lead, guest).status == 200
    assert held(world, guest) == {"LUNG.c/T"}


def test_a_not_fit_is_not_replaced_by_a_fit_and_a_fit_after_it_needs_keeper_and_lead(world: World) -> None:
    guest = lung_guest(world)
    whole_letter(world, guest, words_of("notfit", "2026-06-01"), "LUNG.c")
    keeper, lead = world.browser("Kim Keeper"), world.browser("Lena Lead")
    drop_in(keeper, guest, pdf(b"a fit letter"))
    page = reasons(keeper, guest)
    page.send("record_letter", **FIT, covers=["LUNG.c"], replaces="1", pages=["2"])
    compare(lead, guest)
    assert held(world, guest) == {"LTR-NOTFIT/A", "LUNG.c/L"}, "a confirmed not-fit stays"
    assert reasons(keeper, guest).send("review_letter").status == 200
    assert stands(world, guest).outcome == "ASHORE", "the keeper alone is not enough"
    assert not reasons(keeper, guest).forms("review_letter")
    assert reasons(lead, guest, "talk").send("review_letter").status == 200
    assert held(world, guest) == {"LUNG.c/T"}


@pytest.mark.parametrize(
    ("said", "left"),
    [
        (words_of("fit", "2026-07-20"), {"LUNG.c/L", "LTR-DATE/L"}),
        (words_of("fit", "2025-07-14"), {"LUNG.c/L", "LTR-EXPIRED/L"}),
        (words_of("fit", "2025-07-15"), {"LUNG.c/T"}),
        (words_of("fit", "2026-07-01", "2026-07-14"), {"LUNG.c/L", "LTR-EXPIRED/L"}),
        (words_of("fit", "2026-07-01", "2026-07-15"), {"LUNG.c/T"}),
        (words_of("fit", "2026-07-01", None, "Only to 6 m"), {"LUNG.c/T", "LTR-LIMITS/T"}),
        (words_of("notfit", "2026-07-01"), {"LUNG.c/L", "LTR-NOTFIT/A"}),
    ],
    ids=["ahead", "over a year", "a year", "over", "last day", "limits", "not fit"],
)
def test_what_a_letter_says_decides_what_it_lifts(world: World, said: dict[str, str], left: set[str]) -> None:
    guest = lung_guest(world)
    whole_letter(world, guest, said, "LUNG.c")
    assert held(world, guest) == left


def test_a_letter_without_pages_lifts_nothing_until_they_are_tied_to_it_and_compared(world: World) -> None:
    guest = lung_guest(world)
    keeper = world.browser("Kim Keeper")
    record(keeper, guest, FIT, "LUNG.c")
    assert held(world, guest) == {"LUNG.c/L", "LTR-NOSCAN/L"}
    drop_in(world.browser("Dora Desk"), guest)
    assert reasons(keeper, guest).send("add_pages_to_letter").status == 200
    compare(world.browser("Lena Lead"), guest)
    assert held(world, guest) == {"LUNG.c/T"}


def test_no_word_of_a_letter_stands_in_the_open(world: World) -> None:
    guest = lung_guest(world)
    whole_letter(world, guest, words_of("notfit", "2026-07-01", None, "Planted Limits"), "LUNG.c")
    stored = repr(whole_store(world.house))
    for word in ("Planted", "Ada Reef", "BR 1234", "notfit", "LUNG.c", "%PDF"):
        assert word not in stored, word
    desk = world.browser("Dora Desk").open(f"/guests/{guest}/health")
    for word in ("Ada Reef", "LUNG", "LTR-", "not fit"):
        assert word not in desk.text

"""Prints: every sheet as a PDF on both papers, held against the records; nothing from outside gets in."""

import io
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import pytest
from pypdf import PdfReader
from sqlmodel import col, select

from app.records.groups.groups import groups_of
from app.records.question_sets import shipped_question_set
from app.records.setup.shop import shop_row
from app.records.tables.groups import MemberRow
from app.records.tables.house import TrailRow
from app.records.tables.parties import GuestRow
from app.records.tables.water import PressureRow
from app.records.water_side.entry import divers_of
from app.rules import briefing, paper_plan
from app.rules.limits import END_PRESSURE_MIN
from app.rules.sign_off import SKILLS
from app.web import pdf
from app.web.printing import PDF
from tests.groups_world import book, give_cylinders, group_of, members_of
from tests.rules_world import GENERAL
from tests.web_ready import GUIDE, Ready
from tests.web_world import BASE, DAY, Browser, World, sent_fields

POINTS = {"a4": (595, 842), "letter": (612, 792)}
FOOT = re.compile(r"Page (\d+) of (\d+)")
HOSTILE = '<b>Bo</b> & "O\'Neil" {{ 7*7 }}'
OF_A_DAY = ("groups", "roll-call", "slates", "kit")
ALL = (*(f"/prints/{DAY}/{name}" for name in OF_A_DAY), f"/days/{DAY}/sheet", "/groups/1/plan/slate",
       "/prints/blank", "/prints/blank/health")  # fmt: skip


@dataclass
class Printed:
    """A PDF as it was read back: the text of each page, line by line, and each page's size in points."""

    pages: list[str]
    sizes: set[tuple[int, int]]
    title: str

    @property
    def text(self) -> str:
        """Everything, spaces folded."""
        return " ".join(" ".join(self.pages).split())


def read(data: bytes) -> Printed:
    """Read a PDF back."""
    reader = PdfReader(io.BytesIO(data))
    pages = [page.extract_text() for page in reader.pages]
    sizes = {(round(page.mediabox.width), round(page.mediabox.height)) for page in reader.pages}
    return Printed(pages, sizes, (reader.metadata.title if reader.metadata else None) or "")


def leave(browser: Browser, path: str, paper: str = "") -> Any:
    """Press the button of a print's PDF, and return what comes."""
    page = browser.open(path)
    forms = [form for form in page.forms("make_pdf") if not paper or paper in html_of(form)]
    to, fields = forms[0].get("action", ""), dict(sent_fields(forms[0]))
    button = next(one for one in forms[0].iter("button"))
    sent = fields | {"paper": button.get("value", "")}
    return browser.client.post(to, data=sent, headers={"Origin": BASE})


def html_of(form: Any) -> str:
    """Return which papers a form's button stands for."""
    return " ".join(one.get("value", "") for one in form.iter("button"))


def pdf_at(browser: Browser, path: str, paper: str = "") -> Printed:
    """Ask for a page's PDF."""
    answer = leave(browser, path, paper)
    assert answer.status_code == 200 and answer.headers["content-type"] == PDF, (path, answer.status_code)
    assert answer.headers["cache-control"] == "no-store"
    return read(answer.content)


@pytest.fixture
def busy(world: World) -> Iterator[World]:
    """A day of nine groups with two guests each, all with cylinders and start pressures of their own."""
    for number in range(9):
        guests = book(world, f"Anna{number}", f"Bert{number}", slot_id=1 + number % 2)
        group_id = group_of(world, guests, name="ABCDEFGHI"[number], slot_id=1 + number % 2)
        give_cylinders(world, group_id)
        with world.house.store.reading() as session:
            view = next(one for one in groups_of(session, DAY) if one.id == group_id)
            held = {one.id: one.out.cylinder_id for one in divers_of(session, view.members) if one.out}
        with world.act() as act:
            for place, (member, cylinder) in enumerate(held.items()):
                bar = 180 + 3 * number + place
                act.add(
                    PressureRow(
                        member_id=member,
                        cylinder_id=cylinder,
                        moment="start",
                        bar=bar,
                        read_value=bar,
                        by="x",
                        at=act.now,
                    )
                )
    yield world


@pytest.mark.parametrize("paper", POINTS)
@pytest.mark.parametrize("path", ALL)
def test_every_print_is_a_pdf_on_both_papers(ready: Ready, path: str, paper: str) -> None:
    got = pdf_at(ready.world.browser("Mona Manager"), path, paper)
    assert got.sizes == {POINTS[paper]}
    for number, page in enumerate(got.pages, 1):
        assert FOOT.findall(page) == [(str(number), str(len(got.pages)))], page[-200:]
        words = " ".join(page.split())
        assert "Harbour Steps" in words and "Printed Wed 15 Jul 2026 09:01" in words and "Daybuoy 0" in words
    assert "Harbour Steps" in got.title
    for menu in ("Sign out", "Gas room", "PDF on", "Search"):
        assert menu not in got.text


def test_a_group_sheet_and_a_roll_call_are_one_page_for_each_group(busy: World) -> None:
    browser = busy.browser("Mona Manager")
    for name in ("groups", "roll-call"):
        for paper in POINTS:
            got = pdf_at(browser, f"/prints/{DAY}/{name}", paper)
            assert len(got.pages) == 9
            for letter, page in zip("ACEGIBDFH", got.pages, strict=True):
                number = "ABCDEFGHI".index(letter)
                folded = " ".join(page.split())
                assert f"Anna{number}" in folded and f"Bert{number}" in folded and GUIDE in folded


def test_a_slate_is_one_page(ready: Ready) -> None:
    for paper in POINTS:
        assert len(pdf_at(ready.world.browser(GUIDE), "/groups/1/plan/slate", paper).pages) == 1


def test_a_long_day_sheet_cuts_no_row_and_repeats_its_heading(busy: World) -> None:
    browser = busy.browser("Mona Manager")
    with busy.house.store.reading() as session:
        views = groups_of(session, DAY)
        divers = {view.id: divers_of(session, view.members) for view in views}
    for paper in POINTS:
        got = pdf_at(browser, f"/days/{DAY}/sheet", paper)
        assert len(got.pages) > 1
        for one in (one for mine in divers.values() for one in mine):
            assert one.start is not None and one.cylinder is not None
            figure = f"{one.start.bar:g} bar"
            holds = [page for page in got.pages if one.cylinder.number in page.split()]
            # The row's name, its cylinder and its pressure stand on one and the same page.
            assert len(holds) == 1 and figure in " ".join(holds[0].split()), (one.name, figure)
            assert one.name in " ".join(holds[0].split())
        for page in got.pages:
            assert "START" in page.upper()


def test_every_name_and_every_pressure_of_the_records_is_on_the_sheets(ready: Ready) -> None:
    ready.whole_dive(Ann=91, Bo=84)
    browser = ready.world.browser("Mona Manager")
    for path in (f"/days/{DAY}/sheet", f"/prints/{DAY}/groups"):
        text = pdf_at(browser, path).text
        for words in (*ready.members, "91 bar", "84 bar", "100 bar", "200 bar"):
            assert words in text, (path, words)
    roll = pdf_at(browser, f"/prints/{DAY}/roll-call").text
    assert roll.count("09:01") == 3 and roll.count("09:19") == 3 + 1 and "112" in roll and "555 0199" in roll
    assert "second counter" in roll and "Last seen" in roll


def test_a_print_shows_the_outcome_word_and_no_cause(ready: Ready) -> None:
    browser = ready.world.browser("Dora Desk")
    got = pdf_at(browser, f"/prints/{DAY}/groups")
    assert "Ready (for today)" in got.text
    codes = shipped_question_set().reason_codes
    assert not {word for word in re.findall(r"[A-Z]{4}(?:\.[a-z])?", got.text) if word in codes}


def test_the_day_sheet_shows_the_seal_of_the_trail(ready: Ready) -> None:
    # The note that it leaves the shop is the newest entry of the trail that stands on it.
    text = pdf_at(ready.world.browser("Mona Manager"), f"/days/{DAY}/sheet").text
    with ready.world.house.store.reading() as session:
        newest = session.exec(select(TrailRow).order_by(col(TrailRow.id).desc())).first()
    assert newest is not None and newest.act == "make_pdf"
    assert text.count(f"{newest.id}-{newest.chain[:12]}") == 2


def test_what_left_the_shop_is_in_the_trail_without_its_content(ready: Ready) -> None:
    browser = ready.world.browser("Dora Desk")
    answer = leave(browser, f"/prints/{DAY}/groups", "letter")
    assert answer.headers["content-type"] == PDF

    def entries() -> list[TrailRow]:
        with ready.world.house.store.reading() as session:
            return list(session.exec(select(TrailRow).where(TrailRow.act == "make_pdf")))

    (entry,) = entries()
    assert (entry.who, entry.record, entry.record_id) == ("Dora Desk", "print", f"/prints/{DAY}/groups")
    assert entry.reason == f"PDF on Letter of /prints/{DAY}/groups"
    assert "Ann" not in entry.changes + entry.reason
    # Looking lets nothing out, and an address alone makes no PDF: not without a note, nor with another's.
    for asked in ("", "?as=pdf", "?as=pdf&paper=letter&done=1", f"?as=pdf&paper=a4&done={entry.id}"):
        page = browser.open(f"/prints/{DAY}/groups{asked}")
        assert page.status == 200 and page.headers["content-type"].startswith("text/html"), asked
    note = f"as=pdf&paper=letter&done={entry.id}"
    assert browser.client.get(f"/prints/{DAY}/groups?{note}").headers["content-type"] == PDF
    other = ready.world.browser("Mona Manager").client.get(f"/prints/{DAY}/groups?{note}")
    assert other.headers["content-type"].startswith("text/html")
    assert len(entries()) == 1
    to = browser.open(f"/prints/{DAY}/kit").forms("make_pdf")[0].get("action", "")
    for wrong in ("//evil.example/prints/x", "https://evil.example", "/setup/people", "/prints/../setup", ""):
        fields = dict(sent_fields(browser.open(f"/prints/{DAY}/kit").forms("make_pdf")[0]))
        refused = browser.client.post(
            to, data=fields | {"page": wrong, "paper": "a4"}, headers={"Origin": BASE}
        )
        assert refused.status_code == 404, wrong
    assert len(entries()) == 1


def test_a_hostile_name_stays_text(world: World) -> None:
    (guest,) = book(world, "Bo")
    group_id = group_of(world, [guest])
    with world.act() as act:
        row = act.get(GuestRow, guest)
        row.call_name = HOSTILE
        act.session.add(row)
    got = pdf_at(world.browser("Mona Manager"), f"/prints/{DAY}/roll-call?group={group_id}")
    assert HOSTILE in got.text


@pytest.mark.parametrize(
    "planted",
    [
        '<img src="file:///etc/hostname">',
        '<link rel="stylesheet" href="http://127.0.0.1:9/x.css">',
        '<img src="data:image/svg+xml,<svg/>">',
        '<link rel="stylesheet" href="/static/../app/web/pdf.py">',
        '<link rel="attachment" href="file:///etc/passwd">',
        '<object data="/static/htmx.min.js"></object>',
    ],
)
def test_a_pdf_reads_our_static_folder_alone(planted: str, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    plain = pdf.OwnFolder.fetch

    def watched(self: pdf.OwnFolder, url: str, headers: object = None) -> object:
        found = plain(self, url, headers)
        opened.append(url)
        return found

    monkeypatch.setattr(pdf.OwnFolder, "fetch", watched)
    made = pdf.pdf_of(f'<link rel="stylesheet" href="/static/daybuoy.css"><p>Words</p>{planted}', "A4")
    assert opened == ["http://shop.invalid/static/daybuoy.css"]
    assert "Words" in read(made).text and "/EmbeddedFile" not in made.decode("latin-1")


def test_without_pango_a_plain_page_says_what_to_do(ready: Ready, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "app.web.pdf", None)
    page = leave(ready.world.browser("Dora Desk"), f"/prints/{DAY}/groups")
    assert page.status_code == 503 and "Pango" in page.text and "Print from your browser" in page.text


def test_the_manager_chooses_the_papers_for_every_pdf(ready: Ready) -> None:
    manager = ready.world.browser("Mona Manager")
    page = manager.open("/prints").send("choose_paper", paper="letter")
    assert page.status == 200 and "Paper kept." in page.words()
    desk = ready.world.browser("Dora Desk")
    assert pdf_at(desk, f"/prints/{DAY}/kit").sizes == {POINTS["letter"]}
    assert pdf_at(desk, f"/prints/{DAY}/kit", "a4").sizes == {POINTS["a4"]}
    # Labels are stamped out on A4 sheets.
    assert pdf_at(desk, "/labels/sheet?kind=cylinder&pick=1").sizes == {POINTS["a4"]}
    assert not desk.open("/prints").forms("choose_paper")
    wrong = manager.open("/prints").send("choose_paper", paper="a0")
    assert wrong.status == 422 and "Choose A4 or Letter." in wrong.words()
    old = manager.open("/prints")
    assert manager.open("/prints").send("choose_paper", paper="a4").status == 200
    assert old.send("choose_paper", paper="letter").status == 409
    with ready.world.house.store.reading() as session:
        row = shop_row(session)
    assert row is not None and row.paper == "a4"


def test_the_index_leads_to_every_print_from_today(ready: Ready) -> None:
    ready.go_in()
    browser = ready.world.browser("Dora Desk")
    page = browser.open("/today")
    assert f"/prints?day={DAY}" in [link.get("href") for link in page.find("a")]
    links = [link.get("href", "") for link in browser.open(f"/prints?day={DAY}").find("a")]
    for path in ALL:
        assert path in links or path == "/prints/blank/health", path
    for path in (
        one for one in links if one.startswith(("/prints/", "/days/", "/groups/1/plan", "/water/1/"))
    ):
        assert browser.open(path).status == 200, path
    assert f"/paper/{ready.group_id}" in links


def test_nonsense_is_not_there(ready: Ready) -> None:
    browser = ready.world.browser("Dora Desk")
    for path in (f"/prints/{DAY}/groups?group=99", f"/prints/{DAY}/groups?group=x", "/prints/1815-06-18/kit",
                 "/prints/2026-07-99/kit", "/prints?day=never"):  # fmt: skip
        assert browser.open(path).status in (404, 422), path
    assert ready.world.browser("Kim Keeper").open("/prints").status == 404


def test_an_empty_day_says_what_will_stand_there(world: World) -> None:
    browser = world.browser("Mona Manager")
    for name in OF_A_DAY:
        page = browser.open(f"/prints/{DAY}/{name}")
        assert page.status == 200 and "will stand here" in page.words(), name
        assert len(pdf_at(browser, f"/prints/{DAY}/{name}").pages) == 1


def test_the_kit_list_shows_size_number_and_cylinder_of_each_guest(ready: Ready) -> None:
    with ready.world.house.store.reading() as session:
        view = groups_of(session, DAY)[0]
        numbers = [one.cylinder.number for one in divers_of(session, view.guests) if one.cylinder]
    text = pdf_at(ready.world.browser("Dora Desk"), f"/prints/{DAY}/kit").text
    for words in ("Ann", "Bo", *numbers, "group A", "kg"):
        assert words in text, words


def test_guests_without_a_group_are_on_the_kit_list(world: World) -> None:
    book(world, "Ann")
    got = pdf_at(world.browser("Dora Desk"), f"/prints/{DAY}/kit")
    assert "no group yet" in got.text and "Ann" in got.text
    with world.house.store.reading() as session:
        assert not list(session.exec(select(MemberRow)))


def test_the_paper_pack_holds_every_step_in_the_order_of_the_screens(world: World) -> None:
    got = pdf_at(world.browser("Dora Desk"), "/prints/blank")
    steps = ("1. Booking", "2. Health questions", "3. Kit", "4. Group", "5. Plan", "6. Briefing",
             "7. Roll call", "8. Pressures", "9. Before they leave", "10. What went wrong")  # fmt: skip
    found = [got.text.index(step) for step in steps]
    assert found == sorted(found)
    folded = got.text.lower()
    for question in shipped_question_set().questions:
        assert " ".join(question.text.split()).lower() in folded, question.code
    for item in (*briefing.BRIEFING, *briefing.KIT_CHECK):
        assert item.words.lower() in folded
    for skill in SKILLS.values():
        assert skill.words.lower() in folded
    assert "100 bar" in got.text and "This sheet holds health data." in got.text
    # On the screen the questions are a page of their own.
    page = world.browser("Dora Desk").open("/prints/blank")
    assert len(list(page.root.iter())) <= 900 and "Keep a fresh one printed" in page.words()


def test_the_shared_way_up_is_never_under_the_reserve_and_more_for_small_cylinders_and_depth() -> None:
    rows = paper_plan.shared_way_up(GENERAL)
    reserve = GENERAL[END_PRESSURE_MIN].number
    assert reserve == 50 and [row.depth_m for row in rows] == [6, 8, 10, 12]
    for row in rows:
        assert list(row.bars) == sorted(row.bars, reverse=True) and min(row.bars) >= reserve
        assert all(bar % 10 == 0 for bar in row.bars)
    for before, after in pairwise(rows):
        assert all(deep >= shallow for shallow, deep in zip(before.bars, after.bars, strict=True))
    # By hand for 12 m and 10 L: 2 x 1.5 x 21 L/min = 63 L/min. One minute at 12 m (2.2 bar absolute), 7/9 min
    # up at 1.85 bar, 3 min at 5 m (1.5 bar), 5/9 min at 1.25 bar: 63 x (2.2 + 1.44 + 4.5 + 0.69) = 557 L,
    # 56 bar of 10 L, and the 10 bar that cannot be breathed: 66, so 70.
    assert rows[-1].bars[0] == 70


def test_members_are_named_on_paper_as_they_are_called(ready: Ready) -> None:
    assert set(members_of(ready.world, ready.group_id)) == {GUIDE, "Ann", "Bo"}
    text = pdf_at(ready.world.browser(GUIDE), f"/prints/{DAY}/roll-call?group=1").text
    assert "Ann" in text and "Bo" in text and "Ines Instructor, guide" in text

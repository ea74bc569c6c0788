"""Labels: the code itself, the sheet, the short links, and where they lead."""

import re

import pytest
import segno
from sqlmodel import select

from app.records.tables.cylinders import CylinderRow
from app.records.tables.house import ShopRow
from app.records.tables.kit import KitItemRow
from app.web.sheets.codes import MARGIN, code_of
from app.web.sheets.labels import A_SHEET
from tests.web_world import World

STROKE = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")


def modules(path: str, size: int) -> list[list[int]]:
    """Draw a code's path on a grid, stroke by stroke; fails for a stroke that is none of ours."""
    grid = [[0] * size for _ in range(size)]
    assert STROKE.sub("", path) == ""
    for x, y, width, back in (map(int, found.groups()) for found in STROKE.finditer(path)):
        assert width == back
        for at in range(x, x + width):
            assert grid[y][at] == 0
            grid[y][at] = 1
    return grid


def put_up(world: World) -> None:
    with world.act() as act:
        for number in ("10", "2", "A/7", "ü 3", "1234567890123"):
            act.add(CylinderRow(number=number, litres=12, working_pressure_bar=232))
        act.add(CylinderRow(number="gone", litres=12, working_pressure_bar=232, retired=True))
        act.add(KitItemRow(kind="jacket", number="J07", size="M"))


@pytest.mark.parametrize(
    "link", ["http://192.168.1.20:8000/c/12", "https://shop.lan/k/J07", "http://x/c/%C3%BC"]
)
def test_the_drawing_is_the_code_with_four_white_modules_around(link: str) -> None:
    code = code_of(link)
    made = segno.make(link, error="m", micro=False)
    assert made.error in ("M", "Q", "H")
    grid = modules(code.path, code.size)
    wanted = [[int(bool(one)) for one in row] for row in made.matrix_iter(border=4)]
    assert MARGIN == 4 and grid == wanted


def test_a_sheet_holds_what_was_ticked_from_the_first_free_place(world: World) -> None:
    put_up(world)
    desk = world.browser("Dora Desk")
    page = desk.open("/labels")
    # Number 2 before 10; what left the shop has no label.
    ticks = [e.get("value") for e in page.find("input", name="pick")]
    assert len(ticks) == 5 and "gone" not in page.words()
    asked = "&".join(f"pick={one}" for one in ticks[:3])
    sheet = desk.open(f"/labels/sheet?kind=cylinder&{asked}&start=23")
    places = sheet.find("li", **{"class": "label-place"})
    free = sheet.find("li", **{"class": "label-place free"})
    assert len(places) == 3 and len(free) == 2 * A_SHEET - 3
    assert len(sheet.find("ol", **{"class": "label-sheet"})) == 2
    # Twenty-two places are left free, then come two labels; the third opens a sheet of its own.
    first = list(sheet.find("ol", **{"class": "label-sheet"})[0])
    assert [e.get("class") for e in first] == ["label-place free"] * 22 + ["label-place"] * 2
    for place in places:
        (picture,) = [e for e in place.iter() if e.tag.endswith("svg")]
        link = next("".join(e.itertext()) for e in place.iter() if e.get("class") == "label-link")
        code = code_of(link)
        (path,) = [e for e in picture.iter() if e.tag.endswith("path")]
        assert path.get("d") == code.path and picture.get("viewBox") == f"0 0 {code.size} {code.size}"
        assert link.startswith("http://127.0.0.1:8000/c/")


@pytest.mark.parametrize("start", ["0", "25", "x", "-1", "", "999", "²"])
def test_a_place_that_is_none_begins_at_the_first(world: World, start: str) -> None:
    put_up(world)
    sheet = world.browser("Dora Desk").open(
        f"/labels/sheet?kind=cylinder&pick=1&pick=x&pick=99999999999&start={start}"
    )
    assert len(sheet.find("li", **{"class": "label-place"})) == 1
    assert len(sheet.find("li", **{"class": "label-place free"})) == A_SHEET - 1


def test_every_link_leads_to_the_page_of_its_number(world: World) -> None:
    put_up(world)
    desk = world.browser("Dora Desk")
    sheet = desk.open("/labels/sheet?kind=cylinder&" + "&".join(f"pick={n}" for n in range(1, 7)))
    links = ["".join(e.itertext()) for e in sheet.find("span", **{"class": "label-link"})]
    names = ["".join(e.itertext()) for e in sheet.find("b")]
    assert len(links) == 5
    for link, number in zip(links, names, strict=True):
        page = desk.open(link.removeprefix("http://127.0.0.1:8000"))
        assert page.status == 200 and f"Cylinder {number}" in page.words(), link
    assert "J07" in desk.open("/k/j07").words()
    for path in ("/c/99", "/k/none", "/c/", "/labels?kind=guest", "/labels/sheet?kind=guest"):
        assert desk.open(path).status == 404, path
    assert desk.open("/labels/sheet?kind=kit_item&pick=1").find("li", **{"class": "label-place"})
    assert desk.open("/labels/sheet?kind=cylinder").find("div", **{"class": "empty"})


def test_the_manager_says_where_the_codes_lead(world: World) -> None:
    put_up(world)
    boss = world.browser("Mona Manager")
    page, stale = boss.open("/labels"), boss.open("/labels")
    assert "leads from this computer only" in page.words()
    for wrong in (
        "shop",
        "http://",
        "http://a b",
        "ftp://shop",
        "http://shop/x",
        "http://shop:123456",
        "javascript:1",
    ):
        answer = page.send("set_label_address", address=wrong)
        assert answer.status == 422 and "for example http://192.168.1.20:8000" in answer.words(), wrong
        assert answer.find("input", name="address")[0].get("value") == wrong
    page = page.send("set_label_address", address="http://192.168.1.20:8000/")
    assert page.status == 200 and "Address for labels kept." in page.words()
    assert "does not answer to 192.168.1.20 now" in page.words()
    sheet = boss.open("/labels/sheet?kind=cylinder&pick=1")
    assert "http://192.168.1.20:8000/c/10" in sheet.words()
    assert stale.send("set_label_address", address="http://other").status == 409
    with world.house.store.reading() as session:
        assert session.exec(select(ShopRow)).one().label_address == "http://192.168.1.20:8000"


def test_who_may(world: World) -> None:
    put_up(world)
    desk = world.browser("Dora Desk")
    assert not desk.open("/labels").forms("set_label_address")
    to, pairs = world.browser("Mona Manager").open("/labels").form_fields("set_label_address")
    own = dict(desk.open("/gas/give").form_fields("sign-out")[1])
    assert desk.post(to, list((dict(pairs) | {"token": own["token"]}).items())).status == 404
    keeper = world.browser("Kim Keeper")
    for path in ("/labels", "/labels/sheet", "/c/2", "/k/J07"):
        assert keeper.open(path).status == 404, path
    assert "Sign in" in world.browser().open("/c/2").words()

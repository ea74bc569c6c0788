"""Inspections of cylinders through HTTP: due, sent, back, written down, and by which rules."""

from datetime import date, timedelta

import pytest
from sqlmodel import select

from app.records.gas_room import cylinders
from app.records.tables.cylinders import CylinderRow, CylinderTestRow, StationTripRow
from app.records.tables.house import ShopRow
from tests.web_world import DAY, Page, World


def stock(world: World, **dates: date | None) -> dict[str, int]:
    """Put a cylinder in the shop for each name, with the day of its last look inside."""
    with world.act() as act:
        rows = {
            number: act.add(
                CylinderRow(
                    number=number,
                    litres=12,
                    working_pressure_bar=232,
                    last_visual=seen,
                    last_pressure_test=None if seen is None else date(2024, 7, 20),
                )
            )
            for number, seen in dates.items()
        }
    return {number: row.id or 0 for number, row in rows.items()}


def row_of(world: World, number: int) -> CylinderRow:
    with world.house.store.reading() as session:
        row = session.get(CylinderRow, number)
        assert row is not None
        return row


def group_words(page: Page, heading: str) -> str:
    """Return the words of the list under a heading."""
    text = page.words()
    start = text.index(heading)
    ends = [text.find(one, start + 1) for one in ("Due soon:", "Later:", "Test station Send", "A name or a")]
    return text[start : min(end for end in ends if end > 0)]


def test_what_is_over_what_is_due_within_sixty_days_and_what_is_later(world: World) -> None:
    # Twelve months count: due sixty days from now, and sixty-one.
    soon, later = DAY + timedelta(60), DAY + timedelta(61)
    ids = stock(
        world,
        A=date(2025, 7, 14),
        B=None,
        C=soon.replace(year=2025),
        D=later.replace(year=2025),
        E=date(2025, 7, 15),
    )
    page = world.browser("Mona Manager").open("/gas/tests")
    assert [group_words(page, word).count("No. ") for word in ("Over or not", "Due soon:", "Later:")] == [
        2,
        2,
        1,
    ]
    assert "no date on file" in group_words(page, "Over or not")
    ticked = {e.get("value") for e in page.find("input", name="pick") if "checked" in e.attrib}
    assert ticked == {str(ids[one]) for one in "ABCE"}
    assert "cylinder_test_notice" in page.rules()


def test_sent_printed_and_back_with_new_dates_in_one_form(world: World) -> None:
    ids = stock(world, A=date(2025, 7, 14), B=date(2025, 7, 14), C=date(2026, 7, 1))
    teacher = world.browser("Ines Instructor")
    page = teacher.open("/gas/tests").send(
        "send_to_station", pick=[str(ids["A"]), str(ids["B"])], station="Quay Works"
    )
    assert page.status == 200 and page.url.partition("?")[0].endswith("/gas/tests/list")
    assert "2 cylinders from Harbour Steps" in page.words() and "visual test" in page.words()
    assert page.find("h2")[0].find("bdi").text == "Quay Works"  # type: ignore[union-attr]
    assert "at the station" in teacher.open("/gas").words()
    # An instructor sends; the manager writes down what the station found.
    assert not teacher.open("/gas/tests").forms("back_from_station")
    boss = world.browser("Mona Manager")
    page = boss.open("/gas/tests")
    with world.house.store.reading() as session:
        trips = {row.cylinder_id: row.id for row in session.exec(select(StationTripRow))}
    fields = {f"trip_{trips[ids['A']]}": "both", f"trip_{trips[ids['B']]}": "visual"}
    days = {f"visual_on_{part}": value for part, value in (("day", "14"), ("month", "7"), ("year", "2026"))}
    page = page.send("back_from_station", **fields, **days)
    assert page.status == 422 and "Enter the day of the pressure test: some passed it." in page.words()
    assert page.find("input", name="visual_on_day")[0].get("value") == "14"
    days |= {
        f"pressure_on_{part}": value for part, value in (("day", "13"), ("month", "7"), ("year", "2026"))
    }
    page = page.send("back_from_station", **fields, **days, report="QW 88")
    assert page.status == 200 and "Back from the test station." in page.words()
    a, b = row_of(world, ids["A"]), row_of(world, ids["B"])
    assert (a.last_visual, a.last_pressure_test) == (date(2026, 7, 14), date(2026, 7, 13))
    assert (b.last_visual, b.last_pressure_test) == (date(2026, 7, 14), date(2024, 7, 20))
    with world.house.store.reading() as session:
        tests = list(session.exec(select(CylinderTestRow).order_by("id")))
        assert [(t.visual_on is not None, t.pressure_on is not None, t.report) for t in tests] == [
            (True, True, "QW 88"), (True, False, "QW 88"),
        ]  # fmt: skip
        assert cylinders.facts_of(session, ids["A"]).station == ""
    history = boss.open(f"/gas/cylinders/{ids['A']}").words()
    assert "Sent to the test station" in history and "Quay Works: passed" in history and "QW 88" in history


def test_away_it_is_not_given_filled_sent_or_in_the_way(world: World) -> None:
    ids = stock(world, A=date(2026, 7, 1), B=date(2026, 7, 1))
    teacher = world.browser("Ines Instructor")
    before = teacher.open("/gas/tests")
    before.send("send_to_station", pick=[str(ids["A"])], station="Quay Works")
    page = world.browser("Mona Manager").open(f"/gas/cylinders/{ids['A']}").send("retire_cylinder")
    assert page.status == 422 and "Write down first that it is back." in page.words()
    to, pairs = teacher.open(f"/gas/cylinders/{ids['B']}").form_fields("drain_cylinder")
    drained = teacher.post(to.replace(str(ids["B"]), str(ids["A"])), pairs)
    assert drained.status == 422 and "cylinder_here" in drained.rules()
    page = teacher.open(f"/gas/cylinders/{ids['A']}")
    assert "cylinder_here" in page.rules() and not page.forms("fill_cylinder")
    open_form = teacher.open(f"/gas/cylinders/{ids['B']}").form_fields("fill_cylinder")[1]
    names = {f"start_{ids['B']}": f"start_{ids['A']}", f"end_{ids['B']}": f"end_{ids['A']}"}
    sent = [(names.get(name, name), value) for name, value in open_form]
    filled = {f"start_{ids['A']}": "50", f"end_{ids['A']}": "200"}
    sent = [(name, filled.get(name, value)) for name, value in sent]
    page = teacher.post(f"/gas/cylinders/{ids['A']}/fill", sent)
    assert page.status == 422 and "away at a test station" in page.words()
    # The page was open before: sent again by somebody else, it is refused with the reason.
    page = before.send("send_to_station", pick=[str(ids["A"])], station="Elsewhere")
    assert page.status in (409, 422)
    fresh = teacher.open("/gas/tests")
    page = fresh.send("send_to_station", pick=[str(ids["A"]), str(ids["B"])], station="Elsewhere")
    assert page.status == 422 and "cylinder_here" in page.rules()
    with world.house.store.reading() as session:
        assert len(list(session.exec(select(StationTripRow)))) == 1


def test_condemned_leaves_the_shop_and_back_without_a_test_changes_no_date(world: World) -> None:
    ids = stock(world, A=date(2025, 7, 14), B=date(2025, 7, 14))
    boss = world.browser("Mona Manager")
    boss.open("/gas/tests").send("send_to_station", pick=[str(one) for one in ids.values()], station="Quay")
    page = boss.open("/gas/tests")
    names = [e.get("name") for e in page.find("select") if e.get("name")]
    page = page.send("back_from_station", **{names[0]: "condemned", names[1]: "none"})
    assert page.status == 200
    assert row_of(world, ids["A"]).retired and not row_of(world, ids["B"]).retired
    assert row_of(world, ids["B"]).last_visual == date(2025, 7, 14)
    with world.house.store.reading() as session:
        assert [t.outcome for t in session.exec(select(StationTripRow).order_by("id"))] == [
            "condemned", "not tested",
        ]  # fmt: skip
        assert not list(session.exec(select(CylinderTestRow)))


def test_written_down_twice_is_once_and_from_two_tablets_a_clash(world: World) -> None:
    ids = stock(world, A=date(2025, 7, 14))
    boss = world.browser("Mona Manager")
    boss.open("/gas/tests").send("send_to_station", pick=[str(ids["A"])], station="Quay")
    first, second = boss.open("/gas/tests"), boss.open("/gas/tests")
    (name,) = [e.get("name") or "" for e in first.find("select") if e.get("name")]
    to, pairs = first.form_fields("back_from_station")
    sent = [(key, "none" if key == name else value) for key, value in pairs]
    assert boss.post(to, sent).status == 200 and boss.post(to, sent).status == 200
    page = second.send("back_from_station", **{name: "condemned"})
    assert page.status == 409 and not row_of(world, ids["A"]).retired


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"pick": None}, "Tick the cylinders that go."),
        ({"station": ""}, "Enter where they go."),
        ({"pick": "99"}, "Choose the cylinders from the list."),
    ],
)
def test_what_cannot_be_sent_comes_back(world: World, fields: dict[str, str | None], words: str) -> None:
    stock(world, A=date(2025, 7, 14))
    page = world.browser("Ines Instructor").open("/gas/tests")
    page = page.send("send_to_station", **({"station": "Quay"} | fields))
    assert page.status == 422 and words in page.words()
    with world.house.store.reading() as session:
        assert not list(session.exec(select(StationTripRow)))


def test_an_inspection_written_on_the_cylinders_own_page(world: World) -> None:
    ids = stock(world, A=date(2025, 7, 14))
    boss = world.browser("Mona Manager")
    at = f"/gas/cylinders/{ids['A']}"
    page = boss.open(at).send("write_test", report="Ann Weir")
    assert page.status == 422 and "Enter the day of the look inside" in page.words()
    old = {"visual_on_day": "1", "visual_on_month": "1", "visual_on_year": "2020"}
    page = boss.open(at).send("write_test", report="Ann Weir", **old)
    assert page.status == 422 and "has a later day on file, 2025-07-14" in page.words()
    ahead = {"visual_on_day": "16", "visual_on_month": "7", "visual_on_year": "2026"}
    assert boss.open(at).send("write_test", report="Ann Weir", **ahead).status == 422
    assert (
        boss.open(at).send("write_test", report="Ann Weir", **(ahead | {"visual_on_day": "15"})).status == 200
    )
    assert row_of(world, ids["A"]).last_visual == DAY
    _, pairs = boss.open(at).form_fields("write_test")
    assert boss.post("/gas/cylinders/999/test", pairs).status == 404


def test_the_shops_rules_tighten_what_is_in_test_and_need_the_version(world: World) -> None:
    ids = stock(world, A=date(2026, 7, 1))
    boss = world.browser("Mona Manager")
    page, stale = boss.open("/gas/tests/rules"), boss.open("/gas/tests/rules")
    assert "49 CFR 180.209" in page.words() and "Ask your inspection body." in page.words()
    assert page.send("choose_inspection", inspection="nowhere").status == 422
    assert page.send("choose_inspection", inspection="germany").status == 200
    # Tested on 20 July 2024: two years are over in five days, five years in three.
    page = boss.open(f"/gas/cylinders/{ids['A']}")
    assert "pressure test 24 months (set by Germany)" in page.words()
    assert "due by Mon 20 Jul 2026" in page.words()
    clash = stale.send("choose_inspection", inspection="australia")
    assert clash.status == 409 and "germany" in clash.words()
    with world.house.store.reading() as session:
        assert session.exec(select(ShopRow)).one().cylinder_inspection == "germany"


def test_a_cylinders_own_rules_valve_and_test_pressure(world: World) -> None:
    ids = stock(world, A=date(2026, 7, 1))
    boss = world.browser("Mona Manager")
    form = boss.open(f"/gas/cylinders/{ids['A']}/edit")
    page = form.send("edit_cylinder", test_pressure_bar="200")
    assert page.status == 422 and "above the working pressure" in page.words()
    page = form.send("edit_cylinder", test_pressure_bar="348", valve="DIN 200", inspection="australia")
    assert page.status == 200 and "pressure test 12 months (set by Australia)" in page.words()
    assert "out of test" in page.words()
    row = row_of(world, ids["A"])
    assert (row.test_pressure_bar, row.valve, row.inspection) == (348, "DIN 200", "australia")


def test_who_may(world: World) -> None:
    ids = stock(world, A=date(2025, 7, 14))
    desk, keeper = world.browser("Dora Desk"), world.browser("Kim Keeper")
    page = desk.open("/gas/tests")
    assert page.status == 200 and not page.forms("send_to_station")
    boss = world.browser("Mona Manager")
    own = dict(desk.open("/gas/give").form_fields("sign-out")[1])
    for name, path in (("send_to_station", "/gas/tests"), ("choose_inspection", "/gas/tests/rules")):
        to, pairs = boss.open(path).form_fields(name)
        sent = dict(pairs) | {"token": own["token"], "pick": str(ids["A"]), "station": "Quay"}
        assert desk.post(to, list(sent.items())).status == 404, name
    assert keeper.open("/gas/tests").status == 404
    with world.house.store.reading() as session:
        assert not list(session.exec(select(StationTripRow)))

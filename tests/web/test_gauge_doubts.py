"""A gauge unlike its fill record: asked about, saved all the same, on Today until somebody looked."""

from app.actions.gas_room.cylinders import quarantine
from app.records.tables.breathing import GaugeDoubtRow, GaugeLookRow
from app.records.tables.cylinders import CylinderRow, FillRow, ReadingRow
from app.records.tables.groups import CylinderOutRow
from app.records.tables.water import PressureRow
from tests.water_world import diver, rows_of
from tests.web_ready import Ready
from tests.web_world import Page

QUESTION = "Check the cylinder's number, the gauge and the valve."


def read(ready: Ready, name: str, bar: float) -> Page:
    """Read one start pressure at the water."""
    return ready.page().send("read_pressures", moment="start", **{f"bar_{ready.members[name]}": f"{bar:g}"})


def today(ready: Ready, name: str = "Lena Lead") -> str:
    """Return what Today says to somebody."""
    return ready.world.browser(name).open("/today").words()


def test_the_start_page_says_what_a_gauge_should_read(ready: Ready) -> None:
    words = ready.page().words()
    assert "It should read 1" in words and QUESTION not in words
    # 200 bar filled at 30 degrees: never more than that in water of 16 degrees but in the sun.
    (low, high) = words.split("It should read ")[1].split(" bar")[0].split(" to ")
    assert 170 < int(low) < 190 and 195 < int(high) < 215


def test_a_low_start_asks_is_saved_and_stands_on_today_until_somebody_looked(ready: Ready) -> None:
    assert rows_of(ready, GaugeDoubtRow) == []
    page = read(ready, "Ann", 120)
    assert page.status == 200 and "The fill record says 1" in page.words() and QUESTION in page.words()
    (row,) = rows_of(ready, GaugeDoubtRow)
    kept = rows_of(ready, PressureRow)[-1]
    assert row.pressure_id == kept.id and row.bar == kept.bar == 120 and row.reading_id is None
    assert "gauge_agrees_with_fill" in page.rules()
    assert "Gauges to look at" in today(ready) and "Ann in group A" in today(ready)
    assert "Gauges to look at" not in today(ready, "Dora Desk")
    lena = ready.world.browser("Lena Lead")
    asked = lena.open(f"/gas/doubts/{row.id}")
    empty = asked.send("look_at_gauge", found="")
    assert empty.status == 422 and "Enter what you found." in empty.words()
    assert rows_of(ready, GaugeLookRow) == []
    to, pairs = asked.form_fields("look_at_gauge")
    said = [(name, value) for name, value in pairs if name != "found"] + [("found", "Valve leaked.")]
    done = lena.post(to, said)
    assert done.status == 200 and "Valve leaked." in done.words() and "Looked at" in done.words()
    assert lena.post(to, said).status == 200
    (look,) = rows_of(ready, GaugeLookRow)
    assert (look.found, look.by) == ("Valve leaked.", "Lena Lead")
    assert "Gauges to look at" not in today(ready) and not done.forms("look_at_gauge")
    late = empty.send("look_at_gauge", found="Misread.")
    assert late.status == 409 and "Valve leaked." in late.words() and "Misread." in late.words()
    assert len(rows_of(ready, GaugeLookRow)) == 1


def test_a_reading_that_fits_asks_nothing(ready: Ready) -> None:
    for bar in (199, 186, 205):
        assert QUESTION not in read(ready, "Ann", bar).words()
    assert rows_of(ready, GaugeDoubtRow) == []


def test_a_reading_put_right_or_a_swapped_cylinder_ends_the_question(ready: Ready) -> None:
    read(ready, "Ann", 120)
    assert QUESTION in ready.page().words()
    read(ready, "Ann", 198)
    assert QUESTION not in ready.page().words() and "Gauges to look at" not in today(ready)
    read(ready, "Bo", 230)
    assert "Gauges to look at" in today(ready)
    out = diver(ready, "Bo").out
    assert out is not None
    with ready.world.act() as act:
        row = act.get(CylinderOutRow, out.id)
        act.edit(row, None, {"back_at": act.now, "back_by": "a test"}, {})
    assert "Gauges to look at" not in today(ready)


def test_the_gas_room_asks_too(ready: Ready) -> None:
    with ready.world.act() as act:
        row = act.add(CylinderRow(number="S77", litres=12, working_pressure_bar=232))
        number = row.id or 0
        act.add(
            FillRow(
                cylinder_id=number, start_bar=20, end_bar=210, temp_c=30, at=act.now, by_id=1, by="a test"
            )
        )
    lena = ready.world.browser("Lena Lead")
    page = lena.open(f"/gas/cylinders/{number}")
    assert "It should read" in page.words()
    ready.world.clock.pass_minutes(5)
    fits = page.send("read_cylinder", bar="204", temp_c="22")
    assert QUESTION not in fits.words()
    ready.world.clock.pass_minutes(5)
    lower = fits.send("read_cylinder", bar="150")
    assert lower.status == 200 and QUESTION in lower.words()
    (doubt,) = rows_of(ready, GaugeDoubtRow)
    assert doubt.reading_id == rows_of(ready, ReadingRow)[-1].id and doubt.pressure_id is None
    assert "Cylinder S77" in today(ready)
    assert "read in the gas room" in lena.open(f"/gas/doubts/{doubt.id}").words()
    ready.world.clock.pass_minutes(5)
    with ready.world.act() as act:
        quarantine(act, number, "valve leaks")
    assert "Cylinder S77" in today(ready)
    with ready.world.act() as act:
        act.add(
            FillRow(
                cylinder_id=number, start_bar=150, end_bar=210, temp_c=30, at=act.now, by_id=1, by="a test"
            )
        )
    assert "Cylinder S77" not in today(ready)


def test_who_has_breathed_from_a_cylinder_is_asked_nothing(ready: Ready) -> None:
    ready.go_in()
    out = diver(ready, "Ann").out
    assert out is not None
    lena = ready.world.browser("Lena Lead")
    page = lena.open(f"/gas/cylinders/{out.cylinder_id}")
    assert "It should read" not in page.words()
    assert QUESTION not in page.send("read_cylinder", bar="90").words()


def test_roles_and_numbers(ready: Ready) -> None:
    read(ready, "Ann", 120)
    (row,) = rows_of(ready, GaugeDoubtRow)
    dora = ready.world.browser("Dora Desk")
    assert dora.open(f"/gas/doubts/{row.id}").status == 200
    token = dora.open("/today").find("input", name="token")[0].get("value") or ""
    fields = {"key": "k" * 32, "token": token, "found": "x"}
    assert dora.post(f"/gas/doubts/{row.id}", fields).status == 404
    assert ready.world.browser("Kim Keeper").open(f"/gas/doubts/{row.id}").status == 404
    lena = ready.world.browser("Lena Lead")
    token = lena.open("/today").find("input", name="token")[0].get("value") or ""
    assert lena.open("/gas/doubts/99").status == 404
    assert lena.post("/gas/doubts/99", {"key": "j" * 32, "token": token, "found": "x"}).status == 404
    assert rows_of(ready, GaugeLookRow) == []

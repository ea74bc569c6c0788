"""Exports: opened by readers of their own and held against the records; hostile names stay text."""

import csv
import io
import json
import zipfile
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import vobject
from icalendar import Calendar
from openpyxl import load_workbook
from sqlmodel import col, select

from app.records.groups.groups import group_view
from app.records.look_back.dive_lines import DiverLine
from app.records.look_back.gas_log import gas_day
from app.records.tables.cylinders import CylinderTestRow
from app.records.tables.house import TrailRow
from app.records.tables.incidents import IncidentFactRow, IncidentKeptRow, IncidentStepRow, IncidentTaskRow
from app.records.tables.water import WaterEventRow
from app.rules.briefing import BRIEFING
from app.rules.incident_file import STEPS
from tests.groups_world import book
from tests.web_ready import GUIDE, Ready, plan_again
from tests.web_world import BASE, DAY, Page, World

HERE = "/share"
SPAN = {
    "first_day": str(DAY.day), "first_month": str(DAY.month), "first_year": str(DAY.year),
    "last_day": str(DAY.day), "last_month": str(DAY.month), "last_year": str(DAY.year),
}  # fmt: skip


def saved(page: Page, action: str, form: str, at: str | None = None, **more: str) -> bytes:
    """Press the button that saves, and return the file."""
    to, pairs = page.form_fields(action, at)
    typed = dict(pairs) | ({"form": form} if form else {}) | more
    answer = page.browser.client.post(to, data=typed, headers={"Origin": BASE})
    assert "attachment" in answer.headers.get("content-disposition", ""), answer.text[:2000]
    return answer.content


def sheets(data: bytes) -> dict[str, list[dict[str, object]]]:
    """Read a workbook with openpyxl: each sheet's rows by title."""
    book_read = load_workbook(io.BytesIO(data))
    found = {}
    for sheet in book_read.worksheets:
        titles, *rows = sheet.iter_rows(values_only=True)
        found[sheet.title] = [dict(zip(titles, row, strict=True)) for row in rows]
    return found


def folder(data: bytes) -> dict[str, list[dict[str, str]]]:
    """Read a packed folder of CSV with the standard library."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        assert packed.testzip() is None
        return {
            name: list(csv.DictReader(io.StringIO(packed.read(name).decode("utf-8-sig"), newline="")))
            for name in packed.namelist()
        }


def lines(world: World) -> dict[str, DiverLine]:
    """Return the day's divers by name."""
    with world.house.store.reading() as session:
        return {line.name: line for dive in gas_day(session, DAY).dives for line in dive.lines}


def test_a_days_records_say_in_excel_and_csv_what_the_shop_wrote(ready: Ready) -> None:
    ready.whole_dive(Ann=90, Bo=42)
    page = ready.world.browser("Mona Manager").open(HERE)
    book_read = sheets(saved(page, "export_days", "xlsx", **SPAN))
    told = lines(ready.world)
    divers = {str(row["Diver"]): row for row in book_read["Divers"]}
    assert set(divers) == set(told)
    for name, line in told.items():
        row = divers[name]
        assert (row["Start (bar)"], row["End (bar)"]) == (line.start_bar, line.end_bar)
        assert row["Used (L at 1.01325 bar and 15 °C)"] == pytest.approx(line.used_litres, abs=0.06)
        assert isinstance(row["Went in"], datetime) and row["Gas"] == "air"
        assert isinstance(row["Day"], datetime) and row["Day"].date() == DAY
    with ready.world.house.store.reading() as session:
        events = list(session.exec(select(WaterEventRow).order_by(col(WaterEventRow.id))))
    assert [row["Event"] for row in book_read["Roll calls"]] == [one.event for one in events]
    assert any("42 bar" in str(row["What"]) for row in book_read["Incidents"])
    assert {row["Health"] for row in book_read["Guests"]} == {"Ready (for today)"}
    plain = folder(saved(page.browser.open(HERE), "export_days", "csv", **SPAN))
    ann = next(row for row in plain["divers.csv"] if row["Diver"] == "Ann")
    assert ann["Day"] == "2026-07-15" and float(ann["End (bar)"]) == 90 and ann["Site"] == "Long Jetty"
    went = datetime.fromisoformat(ann["Went in"])
    assert went.utcoffset() is not None and went.astimezone(UTC) == events[0].happened_at.replace(
        second=0, microsecond=0
    )
    assert len(plain) == 26 and len(plain["fills.csv"]) == len(book_read["Fills"])


def test_incidents_leave_with_their_chain_their_steps_and_what_is_to_be_done(ready: Ready) -> None:
    ready.whole_dive(Ann=90, Bo=42)
    began = ready.world.clock()
    with ready.world.act() as act:
        for fact, value in (("depth", "6.4"), ("trigger", "gas"), ("trigger", "ears"), ("injury", "ear")):
            act.add(IncidentFactRow(incident_id=1, fact=fact, value=value, by=GUIDE, at=act.now))
        for minutes, kind, more in (
            (1, "first_aid", {"what": "Sat up, kept warm"}),
            (2, "oxygen_on", {"flow_l_min": 15.0}),
            (4, "called", {"whom": "ambulance"}),
            (12, "oxygen_off", {}),
        ):
            happened = began + timedelta(minutes=minutes)
            act.add(
                IncidentStepRow(incident_id=1, kind=kind, happened_at=happened, by=GUIDE, at=act.now, **more)
            )
        task = {"incident_id": 1, "owner_id": 2, "due_on": DAY, "set_at": act.now, "set_by": GUIDE}
        act.add(IncidentTaskRow(what="Show the gauge again", **task))
        act.add(IncidentKeptRow(incident_id=1, cylinder_id=1, by=GUIDE, at=act.now))
        act.add(CylinderTestRow(cylinder_id=1, visual_on=DAY, report="R 17", at=act.now, by=GUIDE))
    page = ready.world.browser("Mona Manager").open(HERE)
    read = sheets(saved(page, "export_days", "xlsx", **SPAN))
    (told,) = read["Incidents"]
    assert told["Depth where it happened (m)"] == 6.4 and told["Who it is about"] == "Bo"
    assert told["What set it off"] == "Ears or sinuses", "the last word counts"
    assert told["First aid"] == "Sat up, kept warm" and told["Oxygen (L/min)"] == 15
    assert told["Oxygen given (L)"] == 150 and told["Kept aside"]
    local = (began + timedelta(minutes=4)).astimezone(ZoneInfo("Europe/Lisbon")).replace(tzinfo=None)
    assert told["First call at"] == local.replace(second=0, microsecond=0)
    assert [row["What"] for row in read["Incident steps"]] == [
        STEPS[kind] for kind in ("first_aid", "oxygen_on", "called", "oxygen_off")
    ]
    assert read["Follow-ups"][0]["What"] == "Show the gauge again"
    assert {"R 17"} <= {row["Tester or report"] for row in read["Cylinder tests"]}
    assert all(row["Gas"] == "air" and row["Size (L)"] for row in read["Fills"])
    group = sheets(saved(page.browser.open(HERE), "export_group", "xlsx", group=str(ready.group_id)))
    assert group["Incidents"] == read["Incidents"] and group["Plans"]


def test_wind_language_computers_and_photos_leave_as_they_were_noted(ready: Ready) -> None:
    lead = ready.world.browser("Lena Lead")
    lead.open("/groups/slots/1").send(
        "look_at_water", grade="good", visibility_m="10", current_m_s="0.1", sea="calm", wind="fresh"
    )
    words = lead.open("/groups/slots/1").words()
    assert "wind fresh" in words
    asked = next(item for item in BRIEFING if item.states)
    for state in reversed(asked.states[:2]):
        ready.page().send("answer_briefing", language="fr", **{asked.key: state})
    desk = ready.world.browser("Dora Desk")
    desk.open(f"/guests/{ready.guests['Ann']}/data").send("tell_choices", photos="yes")
    plan_again(ready.world, ready.group_id)
    ready.everybody_out()
    ready.end_pressures()
    ready.write_dive(computers="guide")
    assert ready.group().computers == "guide"
    read = sheets(saved(ready.world.browser("Mona Manager").open(HERE), "export_days", "xlsx", **SPAN))
    assert [row["Wind"] for row in read["Conditions"]][-1] == "fresh"
    assert "French" in {str(row["Language"]).capitalize() for row in read["Briefings and kit checks"]}
    had = {row["Diver"]: row["Dive computer used"] for row in read["Divers"]}
    assert had[GUIDE] in (True, "yes") and had["Ann"] in (False, "no")
    photos = {row["Call name"]: row["Photos allowed"] for row in read["Guests"]}
    assert photos["Ann"] in (True, "yes") and photos["Bo"] is None


def test_a_group_and_a_guest_hold_nothing_of_others(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    book(ready.world, "Cleo")
    mona = ready.world.browser("Mona Manager")
    group = sheets(saved(mona.open(HERE), "export_group", "xlsx", group=str(ready.group_id)))
    assert {row["Call name"] for row in group["Guests"]} == {"Ann", "Bo"} and len(group["Divers"]) == 3
    to, pairs = mona.open(HERE).form_fields("export_group")
    none = mona.post(to, dict(pairs) | {"form": "csv"})
    assert none.status == 422 and "Choose a group." in none.words()
    assert mona.post(to, dict(pairs) | {"form": "csv", "group": "99", "key": "9" * 32}).status == 404
    at = f"/share/guests/{ready.guests['Ann']}"
    data = saved(mona.open("/parties/1"), "export_guest", "xlsx", at)
    own = sheets(data)
    assert set(own) == {"Guests", "Divers", "Skills", "Kit", "Lead"}
    assert {row["Call name"] for row in own["Guests"]} == {"Ann"} == {row["Diver"] for row in own["Divers"]}
    every = {str(value) for rows in own.values() for row in rows for value in row.values()}
    assert not any(name in value.split() for name in ("Bo", "Cleo") for value in every)


def test_hostile_names_stay_text(world: World) -> None:
    evil = "=HYPERLINK(A1)"
    book(world, evil, "+1+1", "@sum", "-2", "Ann;=1+1")
    page = world.browser("Mona Manager").open(HERE)
    data = saved(page, "export_days", "xlsx", **SPAN)
    cells = [cell for sheet in load_workbook(io.BytesIO(data)) for row in sheet.iter_rows() for cell in row]
    assert all(cell.data_type != "f" for cell in cells)
    assert any(str(cell.value).startswith("=HYPERLINK") for cell in cells)
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        assert not any(b"<f>" in packed.read(name) for name in packed.namelist())
    plain = folder(saved(page.browser.open(HERE), "export_days", "csv", **SPAN))
    for rows in plain.values():
        for row in rows:
            for value in row.values():
                assert ";=" not in value, "a program that splits at semicolons begins a cell there"
                assert not value.startswith(("=", "+", "@", "\t")) and (
                    value[:1] != "-" or value[1:2].isdigit()
                )


def test_the_calendar_is_read_by_two_readers_names_no_guest_and_keeps_its_ids(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    data = saved(mona.open(HERE), "export_calendar", "", whose="everybody")
    events = Calendar.from_ical(data).walk("VEVENT")
    slots = [one for one in events if str(one["uid"]).startswith("slot-")]
    group = next(one for one in events if str(one["uid"]).startswith(f"group-{ready.group_id}-"))
    assert len(slots) == 3 and f"Guide: {GUIDE}" in str(group["description"])
    # 10:30 in Lisbon in summer is 09:30 UTC.
    assert group["dtstart"].dt == datetime(2026, 7, 15, 9, 30, tzinfo=UTC)
    assert group["dtend"].dt > group["dtstart"].dt
    other = vobject.readOne(data.decode())
    assert {one.uid.value for one in other.vevent_list} == {str(one["uid"]) for one in events}
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert b"Ann" not in data and b"Vale" not in data
    ready.whole_dive()
    mona = ready.world.browser("Mona Manager")
    again = Calendar.from_ical(saved(mona.open(HERE), "export_calendar", "", whose="everybody"))
    same = {str(one["uid"]): one for one in again.walk("VEVENT")}
    assert set(same) == {str(one["uid"]) for one in events}
    assert same[str(group["uid"])]["sequence"] > group["sequence"]
    with ready.world.house.store.reading() as session:
        members = group_view(session, ready.group_id).members
    guide = next(one.row.person_id for one in members if one.row.part == "guide")
    own = Calendar.from_ical(saved(mona.open(HERE), "export_calendar", "", whose=str(guide)))
    assert [str(one["uid"])[:6] for one in own.walk("VEVENT")] == ["group-"]


def test_everything_is_one_json_without_health_and_secrets(ready: Ready) -> None:
    ready.whole_dive()
    mona = ready.world.browser("Mona Manager")
    data = saved(mona.open(HERE), "export_everything", "")
    told = json.loads(data)
    assert told["program"] == "Daybuoy" and "health_form" in told["left_out"] and "visit" in told["left_out"]
    tables = told["tables"]
    assert {row["call_name"] for row in tables["guest"]} == {"Ann", "Bo"}
    with ready.world.house.store.reading() as session:
        events = list(session.exec(select(WaterEventRow)))
    assert len(tables["water_event"]) == len(events)
    assert all("secret_hash" not in row and "passphrase" not in str(row).lower() for row in tables["person"])
    # A row of these alone would tell that somebody was unwell after a dive, or had a doctor's letter.
    for name in ("exit_care", "letter_page", "letter_check"):
        assert name not in tables and "health" in told["left_out"][name]
    assert "sealed" in told["left_out"]["trail"]
    assert set(tables).isdisjoint(told["left_out"])
    assert b"argon2" not in data and not any(
        "guest_ref" in row for rows in tables.values() for row in rows[:1]
    )


def test_what_left_is_in_the_trail_once(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    page = mona.open(HERE)
    to, pairs = page.form_fields("export_days")
    typed = dict(pairs) | SPAN | {"form": "csv"}
    assert mona.client.post(to, data=typed, headers={"Origin": BASE}).status_code == 200
    second = mona.post(to, typed)
    assert second.status == 200 and second.url.endswith("/share")
    with ready.world.house.store.reading() as session:
        entries = list(session.exec(select(TrailRow).where(TrailRow.act == "export_days")))
    (entry,) = entries
    assert "csv" in entry.reason.lower() and "SHA-256" in entry.reason and "Ann" not in entry.reason


def test_wrong_days_and_wrong_people(world: World) -> None:
    mona = world.browser("Mona Manager")
    to, pairs = mona.open(HERE).form_fields("export_days")

    def tried(number: int, **other: str) -> Page:
        return mona.post(to, dict(pairs) | SPAN | {"key": f"{number:032d}", "form": "xlsx"} | other)

    swapped = tried(1, last_year="2025")
    assert swapped.status == 422 and "must not be before the first" in swapped.words()
    assert "at most 366 days" in tried(2, first_year="2024").words()
    assert tried(3, form="tar").status == 422 and tried(4, last_day="31", last_month="2").status == 422
    assert mona.open(f"{HERE}?day={date(1, 1, 1)}").status == 404
    for name in (GUIDE, "Dora Desk", "Lena Lead", "Kim Keeper"):
        assert world.browser(name).open(HERE).status == 404, name

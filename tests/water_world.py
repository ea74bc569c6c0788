"""What tests of the water side look up in the records and on the pages."""

from typing import Any

from sqlmodel import col, select

from app.records.groups.groups import group_view
from app.records.look_back.incidents import incidents_of_group
from app.records.tables.water import MissingRow
from app.records.water_side.entry import DiverView, divers_of
from tests.web_ready import Ready
from tests.web_world import Page


def rows_of(ready: Ready, kind: Any) -> list[Any]:
    """Return every row of a table, oldest first."""
    with ready.world.house.store.reading() as session:
        return list(session.exec(select(kind).order_by(kind.id)))


def diver(ready: Ready, name: str) -> DiverView:
    """Return somebody of the group with cylinder and pressures."""
    with ready.world.house.store.reading() as session:
        everybody = divers_of(session, group_view(session, ready.group_id).members)
    return next(one for one in everybody if one.name == name)


def chosen(page: Page, name: str) -> list[str]:
    """Return which answers of a field are marked on a page."""
    return [e.get("value") or "" for e in page.find("input", name=name) if "checked" in e.attrib]


def procedures(ready: Ready) -> list[MissingRow]:
    """Return the missing-person procedures."""
    with ready.world.house.store.reading() as session:
        return list(session.exec(select(MissingRow).order_by(col(MissingRow.id))))


def made_by(ready: Ready) -> list[str]:
    """Return which rules wrote an incident about the group."""
    with ready.world.house.store.reading() as session:
        return [one.row.made_by for one in incidents_of_group(session, ready.group_id)]


def written_down(ready: Ready) -> None:
    """Read end pressures and write the dive, whoever is still in."""
    ready.end_pressures()
    ready.write_dive()


def closing(ready: Ready) -> Page:
    """Try to close the dive."""
    page = ready.close()
    assert (page.status == 200) == (ready.group().closed_at is not None)
    return page

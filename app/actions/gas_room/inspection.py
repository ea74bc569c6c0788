"""Cylinders and their inspections: sending to a test station, taking back, writing down what was passed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from app.actions.act import Act, Invalid
from app.actions.gas_room.cylinder_stock import LABELS
from app.records.gas_room import cylinders
from app.records.setup.shop import shop_row
from app.records.store.problems import NotHere
from app.records.tables.cylinders import CylinderRow, CylinderTestRow, StationTripRow
from app.rules.cylinders import may_send
from app.rules.decision import all_of

PASSED, NOT_TESTED, CONDEMNED = "passed", "not tested", "condemned"
TRIP_LABELS = {"back_at": "Back at", "back_by": "Taken back by", "outcome": "What came of it"}
RULES_LABELS = {"cylinder_inspection": "Inspection rules"}


@dataclass(frozen=True)
class Back:
    """How one cylinder came back. visual, pressure: which inspections it passed."""

    trip_id: int
    outcome: str
    visual: bool = False
    pressure: bool = False


def send_to_station(act: Act, cylinder_ids: Iterable[int], station: str) -> list[StationTripRow]:
    """Write down that cylinders went to a test station, all or none.

    Raises Refused for one that is out with somebody or away already, NotHere.
    """
    ids = list(cylinder_ids)
    known = cylinders.cylinder_facts(act.session, ids)
    if set(ids) - set(known):
        raise NotHere(f"cylinders {sorted(set(ids) - set(known))}")
    act.allow(all_of(may_send(known[one]) for one in ids))
    trips = [
        act.add(StationTripRow(cylinder_id=one, station=station, sent_at=act.now, sent_by=act.actor.name))
        for one in ids
    ]
    act.about = ("station_trip", str(trips[0].id) if trips else "")
    return trips


def back_from_station(
    act: Act, backs: Iterable[Back], visual_on: date | None, pressure_on: date | None, report: str
) -> list[StationTripRow]:
    """Write down how several cylinders came back, with their new dates, all or none.

    Raises Invalid for a date that is missing or older than what is on file, Clash when somebody wrote one
    of them down already, NotHere. One that was condemned leaves the shop.
    """
    trips = []
    for back in backs:
        trip = act.get(StationTripRow, back.trip_id)
        # A trip is changed once: coming back.
        values = {"back_at": act.now, "back_by": act.actor.name, "outcome": back.outcome}
        act.edit(trip, 1, values, TRIP_LABELS)
        row = act.get(CylinderRow, trip.cylinder_id)
        if back.visual or back.pressure:
            _pass(
                act, row, visual_on if back.visual else None, pressure_on if back.pressure else None, report
            )
        elif back.outcome == CONDEMNED:
            act.edit(row, None, {"retired": True}, LABELS)
        trips.append(trip)
    act.about = ("station_trip", str(trips[0].id) if trips else "")
    act.reason = report
    return trips


def write_test(
    act: Act, cylinder_id: int, visual_on: date | None, pressure_on: date | None, report: str
) -> CylinderTestRow:
    """Write down an inspection that a cylinder passed; raises Invalid for dates older than those on file."""
    row = act.get(CylinderRow, cylinder_id)
    if row.retired:
        raise NotHere(f"cylinder {cylinder_id} left the shop")
    if visual_on is None and pressure_on is None:
        raise Invalid({"visual_on": "Enter the day of the look inside, of the pressure test, or both."})
    test = _pass(act, row, visual_on, pressure_on, report)
    act.about = ("cylinder", str(cylinder_id))
    return test


def choose_inspection(act: Act, version: int, key: str) -> None:
    """Choose which country's inspection rules the shop follows; raises Clash, NotHere before set-up."""
    shop = shop_row(act.session)
    if shop is None:
        raise NotHere("no shop yet")
    act.edit(shop, version, {"cylinder_inspection": key}, RULES_LABELS)
    act.about = ("shop", str(shop.id))


def _pass(
    act: Act, row: CylinderRow, visual_on: date | None, pressure_on: date | None, report: str
) -> CylinderTestRow:
    for name, on, before in (
        ("visual_on", visual_on, row.last_visual),
        ("pressure_on", pressure_on, row.last_pressure_test),
    ):
        if on is not None and before is not None and on < before:
            later = f"Cylinder {row.number} has a later day on file, {before.isoformat()}. Check the date."
            raise Invalid({name: later})
    dates = {"last_visual": visual_on, "last_pressure_test": pressure_on}
    act.edit(row, None, {name: on for name, on in dates.items() if on is not None}, LABELS)
    return act.add(
        CylinderTestRow(
            cylinder_id=row.id or 0,
            visual_on=visual_on,
            pressure_on=pressure_on,
            report=report,
            at=act.now,
            by=act.actor.name,
        )
    )

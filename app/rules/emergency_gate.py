"""Is the emergency kit ready for the day's first entry: checked, complete, with oxygen and numbers?"""

from dataclasses import dataclass, replace
from datetime import date

from app.rules import limits as L
from app.rules.decision import Decision, all_of
from app.rules.emergency_kit import missing
from app.rules.measure import must, within
from app.rules.resolve import InForce, Limits, strictest


@dataclass(frozen=True, slots=True)
class EmergencyKitFacts:
    """The emergency kit as last checked. present: keys of the items found there and working.

    oxygen_litres: surface litres. last_drill_on: None while no drill is on file.
    contacts_set: ambulance, shop and dive doctor numbers are all on file.
    """

    checked_on: date | None
    checked_by: str | None
    present: frozenset[str] | None
    oxygen_litres: float | None
    contacts_set: bool | None
    last_drill_on: date | None


def oxygen_needed(limits: Limits) -> InForce:
    """Litres of oxygen to have: the flow for the whole way help has to come, never under the floor."""
    floor = limits[L.OXYGEN_MIN]
    flow, minutes = limits[L.OXYGEN_FLOW], limits[L.HELP_TRAVEL_MINUTES]
    if flow.number is None or minutes.number is None:
        return replace(floor, value=None)
    by_distance = replace(floor, value=flow.number * minutes.number, bound_by=minutes.bound_by)
    return strictest(floor, by_distance)


def emergency_kit_ready(kit: EmergencyKitFacts | None, limits: Limits, day: date) -> Decision:
    """Is the emergency kit checked today by a named person, complete, with oxygen and numbers to call?"""
    seen = kit or EmergencyKitFacts(None, None, None, None, None, None)
    age = None if seen.checked_on is None or seen.checked_on > day else (day - seen.checked_on).days
    look = "The emergency kit has not been checked today. Check it."
    lacking = missing(seen.present or frozenset())
    return all_of(
        (
            within(limits[L.EMERGENCY_KIT_CHECK_AGE], age, unknown=look, broken=look),
            must(
                L.EMERGENCY_KIT_COMPLETE,
                bool(seen.checked_by),
                "Nobody is named for the emergency kit check. Check it again.",
                found="no name",
                needed="a name",
            ),
            *(
                must(
                    L.EMERGENCY_KIT_COMPLETE,
                    False,
                    f"The emergency kit lacks: {item.name.lower()}. Bring it and check again.",
                    found="missing",
                    needed=item.name.lower(),
                )
                for item in lacking
            ),
            within(
                oxygen_needed(limits),
                seen.oxygen_litres,
                unknown="Nobody read how much oxygen there is. Read the gauge.",
                broken="There is too little oxygen. Bring a fuller cylinder.",
            ),
            must(
                L.EMERGENCY_CONTACTS,
                seen.contacts_set,
                "An emergency number is missing. Ask the manager to enter it.",
                found="missing" if seen.contacts_set is False else "not known",
                needed="all numbers",
            ),
            _drilled(seen.last_drill_on, limits, day),
        )
    )


def _drilled(last: date | None, limits: Limits, day: date) -> Decision:
    days = None if last is None else (day - last).days
    late = within(
        limits[L.EMERGENCY_DRILL_EVERY],
        days,
        unknown="No emergency drill is on file. Hold one and write it down.",
        broken="The last emergency drill is long ago. Hold one and write it down.",
    )
    return late.as_notes()

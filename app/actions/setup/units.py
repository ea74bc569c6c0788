"""Choosing the units that one person reads. Records stay as they are kept."""

from app.actions.act import Act
from app.planning.units import Units
from app.records.tables.people import PersonRow


def choose_units(act: Act, units: Units) -> PersonRow:
    """Keep which units the person who acts reads; raises NotHere."""
    person = act.get(PersonRow, act.actor.person_id)
    # No version goes up: the manager's form about this person does not hold the units.
    person.units = units.words()
    act.session.add(person)
    act.about = ("person", str(person.id))
    return person

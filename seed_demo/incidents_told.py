"""Yesterday's near miss, finished in the evening: what led to what, and a follow-up that is due today."""

from sqlmodel import select

from app.actions.look_back import incident_file, incidents
from app.actions.setup import shop_setup
from app.records.look_back.incidents import IncidentView
from app.records.setup.shop import shop_row
from app.records.tables.people import PersonRow
from seed_demo.teller import Teller

GUIDE, MANAGER = "Jory Penhale", "Wren Tallow"


def finish(story: Teller, written: list[IncidentView]) -> None:
    """Let the guide finish what was written by hand, and the manager read all and set a follow-up."""
    for one in written:
        number = one.row.id or 0
        if one.row.made_by == "hand":
            with story.act(GUIDE, "say_incident_facts") as act:
                chain = {
                    "before": "nerves", "trigger": "effort", "trigger_more": "Swam hard at the turn",
                    "disabled": "nothing", "injury": "none", "outcome": "went on",
                }  # fmt: skip
                incident_file.say_facts(act, number, chain)
        with story.act(MANAGER, "read_incident") as act:
            incidents.read_incident(act, number, one.row.version)
        if one.row.made_by == "hand":
            with story.act(MANAGER, "set_incident_task") as act:
                owner = act.session.exec(select(PersonRow).where(PersonRow.name == GUIDE)).one()
                what = "Tell the team how to slow a group down at the turn"
                incident_file.set_task(act, number, what, owner.id or 0, story.today)


def choose_country(story: Teller) -> None:
    """Let the manager say that the invented island goes by the general values."""
    with story.act(MANAGER, "choose_country") as act:
        row = shop_row(act.session)
        shop_setup.choose_country(act, 1 if row is None else row.version, "general")

"""Yesterday at Harbour Steps: four dives, one short of its reserve, one party that did not come; closed."""

from datetime import timedelta

from app.actions.gas_room import fills
from app.actions.look_back import day_close, incidents
from app.records.look_back.incidents import incidents_of
from seed_demo import aftercare, habits, incidents_told, lead_and_gas, words_checked
from seed_demo.bookings_told import end_as_booked
from seed_demo.teller import Teller

WATCH = "Ned Corrie"


def tell(story: Teller) -> None:
    """Tell yesterday from half past eight to the manager's sign-off."""
    day = story.today - timedelta(days=1)
    story.at(day, "08:10")
    words_checked.check_german(story, day)
    story.at(day, "08:30")
    habits.check_kit(story, "Bram Keelan")
    for one in habits.guests_of(-1, "10:00"):
        story.fill_form(one.name, habits.answers_of(one), None, one.reads)
    habits.look(story, "Bram Keelan", (-1, "10:00"), "good", 9)
    first = habits.group(
        story, (-1, "10:00"), "A", "Bram Keelan", ["Pella Windrow", "Corin Windrow"], WATCH, 8, 15
    )
    second = habits.group(
        story, (-1, "10:00"), "B", "Sula Fennimore", ["Anselm Dray", "Britta Dray"], WATCH, 7, 15
    )
    habits.fit(story, ["Pella Windrow", "Corin Windrow", "Anselm Dray", "Britta Dray"])
    habits.give_cylinders(story, "Odile Marsh", first, ["S01", "S02", "S03"])
    habits.give_cylinders(story, "Odile Marsh", second, ["S04", "S05", "S06"])
    story.at(day, "09:40")
    habits.plan(story, "Bram Keelan", first)
    habits.plan(story, "Sula Fennimore", second)
    habits.prepare(story, "Bram Keelan", first, [200, 198, 201])
    habits.prepare(story, "Sula Fennimore", second, [199, 200, 200])
    lead_and_gas.check_lead(story, "Bram Keelan", first, {"Pella Windrow": "sinks", "Corin Windrow": "sinks"})
    lead_and_gas.check_lead(story, "Sula Fennimore", second, {"Anselm Dray": "level", "Britta Dray": "sinks"})
    story.at(day, "10:12")
    habits.go_in(story, "Bram Keelan", first)
    habits.go_in(story, "Sula Fennimore", second)
    story.at(day, "10:31")
    habits.come_back(story, "Bram Keelan", WATCH, first)
    habits.come_back(story, "Sula Fennimore", WATCH, second)
    story.at(day, "10:50")
    habits.wrap_up(story, "Bram Keelan", first, [158, 136, 129], 7.8)
    habits.wrap_up(story, "Sula Fennimore", second, [160, 141, 133], 6.9)
    aftercare.ask_and_give(story, "Bram Keelan", first, second)
    habits.hang_up(story, ["Pella Windrow", "Corin Windrow", "Anselm Dray", "Britta Dray"])
    _afternoon(story)


def _afternoon(story: Teller) -> None:
    day = story.today - timedelta(days=1)
    story.at(day, "13:00")
    for one in habits.guests_of(-1, "14:00"):
        story.fill_form(one.name, habits.answers_of(one), None, one.reads)
    habits.look(story, "Bram Keelan", (-1, "14:00"), "fair", 7)
    third = habits.group(
        story, (-1, "14:00"), "C", "Bram Keelan", ["Ilse Varnholt", "Jonte Varnholt"], WATCH, 8, 15
    )
    fourth = habits.group(story, (-1, "14:00"), "D", "Jory Penhale", ["Sorrel Haddow"], WATCH, 8, 12)
    habits.fit(story, ["Ilse Varnholt", "Jonte Varnholt", "Sorrel Haddow"])
    habits.give_cylinders(story, "Odile Marsh", third, ["S07", "S08", "S09"])
    habits.give_cylinders(story, "Odile Marsh", fourth, ["S10", "A01"])
    story.at(day, "13:45")
    habits.plan(story, "Bram Keelan", third)
    habits.plan(story, "Jory Penhale", fourth)
    habits.prepare(story, "Bram Keelan", third, [199, 201, 200])
    habits.prepare(story, "Jory Penhale", fourth, [200, 192])
    story.at(day, "14:10")
    habits.go_in(story, "Bram Keelan", third)
    habits.go_in(story, "Jory Penhale", fourth)
    story.at(day, "14:30")
    habits.come_back(story, "Bram Keelan", WATCH, third)
    story.at(day, "14:36")
    habits.come_back(story, "Jory Penhale", WATCH, fourth)
    story.at(day, "14:50")
    habits.wrap_up(story, "Bram Keelan", third, [156, 138, 124], 7.6)
    # Sorrel breathed hard at the end: the program writes the near miss by itself.
    habits.wrap_up(
        story,
        "Jory Penhale",
        fourth,
        [138, 45],
        7.9,
        "Sorrel grew anxious at the turn. We came up together, slowly.",
    )
    aftercare.ask_and_give(story, "Bram Keelan", third, fourth)
    habits.hang_up(story, ["Ilse Varnholt", "Jonte Varnholt", "Sorrel Haddow"])
    story.at(day, "17:00")
    with story.act("Jory Penhale", "write_incident") as act:
        incidents.write_incident(
            act, day, act.now, "near-miss", "technique", "bottom",
            "Sorrel breathed fast after the turn and ended under the reserve. Nobody was hurt.",
            "Went up at once with the stop. Talked it through ashore.", None,
        )  # fmt: skip
    end_as_booked(story, -1)
    _evening(story)


def _evening(story: Teller) -> None:
    day = story.today - timedelta(days=1)
    story.at(day, "17:30")
    used = {
        "S01": 158, "S02": 136, "S03": 129, "S04": 160, "S05": 141, "S06": 133, "S07": 156, "S08": 138,
        "S09": 124, "S10": 138,
    }  # fmt: skip
    habits.fill(story, "Tove Ashdown", {number: (float(bar), 214.0) for number, bar in used.items()}, 29)
    with story.act("Tove Ashdown", "read_compressor") as act:
        fills.read_compressor(act, 1408.9)
    story.at(day, "18:00")
    with story.house.store.reading() as session:
        written = incidents_of(session, day)
    incidents_told.choose_country(story)
    incidents_told.finish(story, written)
    with story.act("Wren Tallow", "close_day") as act:
        day_close.close_day(act, day, "Calm sea. One nervous guest, well handled.")

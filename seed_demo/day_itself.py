"""Today at Harbour Steps up to eleven: two dives done, one under way, two getting ready."""

from datetime import datetime, time

from app.actions.groups import other_dives
from app.actions.guest_side.phone_links import make_link
from seed_demo import aftercare, habits, lead_and_gas
from seed_demo.bookings_told import end_as_booked, tell_flight
from seed_demo.teller import ZONE, Teller

WATCH = "Ned Corrie"


def tell(story: Teller) -> None:
    """Tell today up to eleven."""
    day = story.today
    story.at(day, "08:00")
    habits.check_kit(story, "Marta Quillfeather")
    lead_and_gas.morning_round(story, "Tove Ashdown")
    # Marta dived for herself before work: it counts in her day.
    with story.act("Marta Quillfeather", "write_other_dive") as act:
        early = datetime.combine(day, time(6, 40), ZONE)
        other_dives.write_other_dive(act, story.people["Marta Quillfeather"].id or 0, early, 42, 14.0)
    for clock in ("09:00", "10:30"):
        for one in habits.guests_of(0, clock):
            guardian = habits.guardian_of("Rosanna Pike") if one.age < 18 else None
            if one.form:
                story.fill_form(one.name, habits.answers_of(one), guardian, one.reads)
    habits.look(story, "Marta Quillfeather", (0, "09:00"), "good", 10)
    habits.look(story, "Bram Keelan", (0, "10:30"), "good", 10)
    first = habits.group(
        story, (0, "09:00"), "A", "Marta Quillfeather", ["Lio Castellane", "Fiora Castellane"], WATCH, 8, 15
    )
    second = habits.group(
        story, (0, "09:00"), "B", "Jory Penhale", ["Gwenna Tor", "Perran Tor"], WATCH, 7, 15
    )
    habits.fit(story, ["Lio Castellane", "Fiora Castellane", "Gwenna Tor", "Perran Tor"])
    habits.give_cylinders(story, "Odile Marsh", first, ["S01", "S02", "S03"])
    habits.give_cylinders(story, "Odile Marsh", second, ["S04", "S05", "S06"])
    story.at(day, "08:40")
    habits.plan(story, "Marta Quillfeather", first)
    habits.plan(story, "Jory Penhale", second)
    habits.prepare(story, "Marta Quillfeather", first, [200, 199, 200])
    habits.prepare(story, "Jory Penhale", second, [201, 198, 200])
    lead_and_gas.check_lead(
        story, "Marta Quillfeather", first, {"Lio Castellane": "level", "Fiora Castellane": "sinks"}
    )
    lead_and_gas.check_lead(story, "Jory Penhale", second, {"Gwenna Tor": "sinks", "Perran Tor": "floats"})
    story.at(day, "09:08")
    habits.go_in(story, "Marta Quillfeather", first)
    habits.go_in(story, "Jory Penhale", second)
    story.at(day, "09:26")
    habits.come_back(story, "Marta Quillfeather", WATCH, first)
    habits.come_back(story, "Jory Penhale", WATCH, second)
    story.at(day, "09:45")
    habits.wrap_up(story, "Marta Quillfeather", first, [158, 132, 147], 7.7)
    habits.wrap_up(story, "Jory Penhale", second, [157, 141, 134], 6.8)
    aftercare.ask_and_give(story, "Marta Quillfeather", first)
    habits.hang_up(story, ["Lio Castellane", "Fiora Castellane", "Gwenna Tor", "Perran Tor"])
    _late_morning(story)


def _late_morning(story: Teller) -> None:
    day = story.today
    story.at(day, "10:00")
    third = habits.group(
        story, (0, "10:30"), "C", "Bram Keelan", ["Henrike Sollund", "Malte Sollund"], "Tove Ashdown", 8, 14
    )
    fourth = habits.group(story, (0, "10:30"), "D", "Sula Fennimore", ["Tilly Pike"], "Tove Ashdown", 5, 15)
    fifth = habits.group(story, (0, "10:30"), "E", "Jory Penhale", ["Rosanna Pike"], "Tove Ashdown", 8, 12)
    habits.fit(story, ["Henrike Sollund", "Malte Sollund", "Tilly Pike", "Rosanna Pike"])
    habits.give_cylinders(story, "Odile Marsh", third, ["S07", "S08", "S09"])
    habits.give_cylinders(story, "Odile Marsh", fourth, ["S10", "T01"])
    habits.give_cylinders(story, "Odile Marsh", fifth, ["A02", "A03"])
    story.at(day, "10:25")
    habits.plan(story, "Bram Keelan", third)
    habits.plan(story, "Sula Fennimore", fourth)
    habits.prepare(story, "Bram Keelan", third, [200, 200, 199])
    lead_and_gas.check_lead(
        story, "Bram Keelan", third, {"Henrike Sollund": "level", "Malte Sollund": "sinks"}
    )
    # The afternoon: forms of those who came early; a talk to hold, a letter to bring.
    for one in habits.guests_of(0, "13:30"):
        if one.form:
            story.fill_form(one.name, habits.answers_of(one), None, one.reads)
    habits.group(story, (0, "13:30"), "F", "Marta Quillfeather", ["Emrys Calloway"], WATCH, 8, 15)
    habits.group(
        story, (0, "13:30"), "G", "Bram Keelan", ["Noor Achterberg", "Joris Achterberg"], WATCH, 8, 15
    )
    story.at(day, "10:50")
    habits.go_in(story, "Bram Keelan", third)
    # A call from the road: the Nørhavens fly tomorrow morning, too soon after their slot at four.
    story.at(day, "10:52")
    for name in ("Berit Nørhaven", "Svea Nørhaven"):
        tell_flight(story, name, 1, "08:30")
    # Tomorrow's guests ask for the form before they come: it waits for Yusra's own phone.
    with story.act("Odile Marsh", "make_phone_link") as act:
        make_link(act, story.guests["Yusra Haddad"])
    story.at(day, "10:55")
    end_as_booked(story, 1)
    aftercare.comes_again(story)

"""Route x role: the one table of who may do what. A route that is not in it is open to nobody.

``roles``: the roles that may, of which one is enough. ``rule``: which objects, in words; the fetch that
enforces it is named in the route. ``away``: True for what must never be refused because a sign-in
lapsed: coming out of the water, an abort, a missing person, an incident. ``ended_device``: True for the few
of them that even a phone still sends which the shop has ended.
"""

from dataclasses import dataclass

DESK = "desk"
INSTRUCTOR = "instructor"
LEAD = "lead"
KEEPER = "keeper"
MANAGER = "manager"
GUEST = "guest"
ANYBODY = "anybody"

ROLES = (DESK, INSTRUCTOR, LEAD, KEEPER, MANAGER)
ROLE_WORDS = {
    DESK: "Front desk",
    INSTRUCTOR: "Instructor",
    LEAD: "Lead of the day",
    KEEPER: "Keeper of health records",
    MANAGER: "Manager",
}
TEAM = frozenset(ROLES)


@dataclass(frozen=True)
class Access:
    """Who may use one route, on which objects."""

    roles: frozenset[str]
    rule: str = "any"
    away: bool = False
    ended_device: bool = False


TABLE: dict[str, Access] = {}


def allow(name: str, *roles: str, rule: str = "any", away: bool = False, ended_device: bool = False) -> None:
    """Write one line of the table; a second line for the same route is a mistake."""
    if name in TABLE:
        raise ValueError(f"{name} is in the access table twice")
    wrong = set(roles) - TEAM - {GUEST, ANYBODY}
    if wrong or not roles:
        raise ValueError(f"{name}: {wrong or 'nobody'} is no role")
    TABLE[name] = Access(frozenset(roles), rule, away, ended_device)


# Anybody: nothing about the shop or a person is shown.
allow("up", ANYBODY)
allow("static", ANYBODY)
allow("start", ANYBODY)
allow("sign_in_page", ANYBODY)
allow("sign_in", ANYBODY)
allow("first_manager_page", ANYBODY, rule="only while the shop has no manager")
allow(
    "first_manager", ANYBODY, rule="only while the shop has no manager, with the code from the shop computer"
)

# Everybody on the team.
allow("sign_out", *ROLES)
allow("today", *ROLES)
allow("water_board", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("search", *ROLES)
allow("your_units", *ROLES, rule="their own")
allow("choose_units", *ROLES, rule="their own")

# Welcome: bookings.
allow("welcome", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("book_party_page", DESK, LEAD)
allow("review_party_page", DESK, LEAD)
allow("review_party", DESK, LEAD)
allow("change_booking", DESK, LEAD)
allow("book_party", DESK, LEAD)
allow("party", DESK, INSTRUCTOR, LEAD, MANAGER, rule="instructor: without phone, mail and emergency contact")
allow("edit_party_page", DESK)
allow("edit_party", DESK)
allow("move_party", DESK, LEAD)
allow("cancel_party", DESK, LEAD)
allow("no_show_party", DESK, LEAD)
allow("rebook_party", DESK, LEAD)
allow("mark_paid", DESK, LEAD)
allow("mark_arrival", DESK, LEAD, rule="parties of today")
allow("add_guest_page", DESK, LEAD)
allow("add_guest", DESK, LEAD)
allow("edit_guest_page", DESK, LEAD)
allow("edit_guest", DESK, LEAD)
allow("leave_out_guest", DESK, LEAD)
allow("bring_back_guest", DESK, LEAD)

# Guests who were here before: earlier visits are the desk's to see.
for _name in ("find_returning", "earlier_visits", "link_guest", "unlink_guest", "use_sizes"):
    allow(_name, DESK)

# Guest side: the handed-over tablet. Every one of them is about the one guest it is locked to.
allow("hand_over", DESK, INSTRUCTOR, LEAD, rule="guests booked today or later")
for _name in ("own_phone_page", "make_phone_link", "end_phone_link"):
    allow(_name, DESK, INSTRUCTOR, LEAD, rule="guests booked today or later")
for _name in ("phone_link", "start_on_phone"):
    allow(_name, ANYBODY, GUEST, rule="whoever holds the link; in a guest's hands the guest's own link")
allow("guest_done", ANYBODY, GUEST)
for _name in (
    "guest_welcome", "guest_here", "choose_language",
    "hand_back", "health_consent_page", "agree_health_data", "refuse_health_data",
    "begin_form", "next_question", "question", "answer_question", "review_answers", "history_again",
    "sign_page", "sign_form", "guardian_page", "sign_guardian", "not_today_page", "rather_not_dive",
):  # fmt: skip
    allow(_name, GUEST, rule="the guest whom the tablet is locked to")

# Health holds: the outcome word for all; reasons and answers only behind a logged look.
allow("guest_health", *ROLES, rule="outcome word only; instructor and lead: today's guests")
allow("look_at_reasons", INSTRUCTOR, LEAD, KEEPER, rule="instructor: today's own group; lead: today's")
allow("settle_talk", INSTRUCTOR, LEAD, rule="instructor: today's own group; lead: today's; never the keeper")
allow("stop_guest", *ROLES, rule="today's guests")
allow("guardian_place", DESK, INSTRUCTOR, LEAD)
allow("record_letter", KEEPER, rule="never who settled a talk with this guest")
allow("add_letter_page", DESK, INSTRUCTOR, LEAD, KEEPER, rule="add only; instructor and lead: today's guests")
allow("open_letter_page", LEAD, KEEPER, rule="keeper: all; lead: pages that wait to be compared; logged")
allow("add_pages_to_letter", KEEPER, rule="until a second person compared the letter")
allow("letters_waiting", LEAD, KEEPER, rule="keeper: pages to record; lead: letters to compare")
for _name in ("look_at_letter", "compare_letter"):
    allow(_name, LEAD, rule="letters that wait, recorded by somebody else; logged")
allow("review_letter", LEAD, KEEPER, rule="two people, one as keeper and one as lead")
allow(
    "tell_outcome", DESK, INSTRUCTOR, LEAD, KEEPER, rule="today's and later guests; bears the teller's name"
)
allow("look_again", LEAD, KEEPER, rule="guests who asked for it today")
allow("undo_today_slip", LEAD, KEEPER, rule="both of them, two people, before the guest was told")
allow("note_parents", DESK, INSTRUCTOR, LEAD, rule="a minor's parents; the lead alone takes it back")
allow("record_slip", KEEPER, rule="never who settled a talk with this guest")
allow("emergency_page", INSTRUCTOR, LEAD, rule="guests of today and yesterday", away=True)
allow("emergency_look", INSTRUCTOR, LEAD, rule="guests of today and yesterday", away=True)
allow("health_looks", KEEPER, LEAD, rule="lead: emergency looks only")

# Keeping and erasing health records; a guest's own data. Only opened records show a health word.
for _name in (
    "health_records", "tidy_records", "breaches_page", "write_breach", "breach", "add_breach_step",
    "hold_record", "keep_hold", "release_hold", "no_hold",
):  # fmt: skip
    allow(_name, KEEPER, MANAGER)
for _name in (
    "review_page", "review_looks", "review_emergency", "ask_erasure", "open_sealed", "export_data",
    "guest_looks",
):  # fmt: skip
    allow(_name, KEEPER)
allow("guest_data", DESK, LEAD, KEEPER, MANAGER, rule="each role its own part")
allow("erasure_letter", DESK, LEAD, KEEPER, MANAGER)
for _name in ("withdraw_consent", "tell_choices"):
    allow(_name, DESK, LEAD, KEEPER)
for _name in ("keeping_page", "set_keeping"):
    allow(_name, MANAGER)
for _name in ("your_promise", "promise_secrecy"):
    allow(_name, *ROLES, rule="their own")

# Shop set-up.
for _name in (
    "setup", "shop_page", "change_shop", "limits_page", "limit_page", "set_limit",
    "sites_page", "add_site", "edit_site",
    "people_page", "add_person", "person_page", "change_person", "change_passphrase", "new_pin",
    "devices_page", "pair_device", "end_device",
):  # fmt: skip
    allow(_name, MANAGER)
# Phones: linked at the desk, ended by whoever notices that one is gone. A link is for whoever holds it.
for _name in ("link_phone_page", "link_phone", "phone_linking", "end_link"):
    allow(_name, DESK, LEAD, MANAGER)
allow("end_phone", DESK, LEAD, MANAGER, rule="phones that a link paired")
for _name in ("type_digits", "use_digits"):
    allow(_name, ANYBODY, rule="whoever has the digits")
for _name in ("device_link", "use_device_link"):
    allow(_name, ANYBODY, rule="whoever holds the link")
for _name in ("country_page", "choose_country", "wifi_page", "accept_open_wifi", "about", "check_records"):
    allow(_name, MANAGER)

# Translations of what guests read.
for _name in ("languages", "language_texts", "check_texts", "language_text", "correct_text"):
    allow(_name, MANAGER)

# The shop's own health questions.
for _name in ("questions_page", "question_page", "add_question", "raise_question", "end_own_question"):
    allow(_name, MANAGER)

# The day's emergency kit.
allow("emergency_kit", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("check_emergency_kit", INSTRUCTOR, LEAD, MANAGER)
allow("write_drill", INSTRUCTOR, LEAD, MANAGER)
allow("add_emergency_kit_picture", INSTRUCTOR, LEAD, MANAGER)

# Gas room.
for _name in ("gas_room", "cylinder", "give_page", "give_cylinder", "take_back_cylinder"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in (
    "fill_page", "fill_several", "fill_cylinder", "read_cylinder", "drain_cylinder", "set_cylinder_aside",
    "read_compressor", "add_air_test", "write_service", "write_output", "measure_output", "read_bank",
    "measure_batch",
):  # fmt: skip
    allow(_name, INSTRUCTOR, LEAD, MANAGER)
for _name in ("fill_plan", "fill_batch", "compressor"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in ("add_bank", "change_bank"):
    allow(_name, MANAGER)
for _name in ("back_in_use", "add_cylinder_page", "add_cylinder"):
    allow(_name, INSTRUCTOR, MANAGER)
for _name in ("edit_cylinder_page", "edit_cylinder", "retire_cylinder"):
    allow(_name, MANAGER)

# Inspections of cylinders.
for _name in ("cylinder_tests", "station_list"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
allow("send_to_station", INSTRUCTOR, LEAD, MANAGER)
for _name in ("back_from_station", "write_test", "inspection_rules", "choose_inspection"):
    allow(_name, MANAGER)

# Labels, and where the codes on them lead.
for _name in ("labels", "label_sheet", "cylinder_label", "kit_label"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
allow("set_label_address", MANAGER)

# Sheets of cylinders and kit, in and out.
for _name in ("sheets", "read_sheet", "look_at_sheet", "take_in_sheet", "export_sheet"):
    allow(_name, MANAGER)

# Pictures: who may see one depends on what it is about; a kind that is not here is shown to nobody.
PICTURES: dict[str, frozenset[str]] = {
    "emergency_check": frozenset({DESK, INSTRUCTOR, LEAD, MANAGER}),
    "cylinder": frozenset({DESK, INSTRUCTOR, LEAD, MANAGER}),
    "kit_item": frozenset({DESK, INSTRUCTOR, LEAD, MANAGER}),
}
allow("picture", DESK, INSTRUCTOR, LEAD, MANAGER, rule="by what the picture is about")
allow("add_cylinder_picture", INSTRUCTOR, LEAD, MANAGER)

# A gauge unlike its fill record.
allow("gauge_doubt", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("look_at_gauge", INSTRUCTOR, LEAD, MANAGER)

# Kit rail.
for _name in ("kit", "kit_guest", "kit_items", "kit_item"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in (
    "give_kit", "take_back_kit", "take_back_all_kit", "undo_kit_back", "give_weights", "take_back_weights",
):  # fmt: skip
    allow(_name, DESK, LEAD)
for _name in (
    "set_kit_aside", "kit_back_in_use", "kit_serviced", "describe_suit", "add_kit_item_page", "add_kit_item",
):  # fmt: skip
    allow(_name, DESK, MANAGER)
for _name in ("scan_kit", "kit_party", "give_party_kit", "take_back_party_kit", "tell_fit"):
    allow(_name, DESK, LEAD)
# Whoever handles kit may say that something is wrong with it.
for _name in ("report_kit_fault", "describe_kit_fault"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
allow("see_kit_fault", LEAD, MANAGER)
for _name in ("mark_rinsed", "not_rinsed", "stocktakes", "begin_stocktake", "stocktake", "scan_stocktake",
              "mark_stocktake", "settle_difference", "close_stocktake"):  # fmt: skip
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in ("kit_service", "service_several", "lead_on_rail", "count_lead", "size_charts", "size_chart"):
    allow(_name, DESK, MANAGER)
for _name in ("set_needs", "write_chart"):
    allow(_name, MANAGER)

# Water side. Own group: its guide or assistant, or the lead of the day (``own`` in water_pages).
OWN_GROUP = "instructor: own groups; lead: all groups"
ANY_GROUP = "any group of the shop"
for _name in (
    "water_groups", "get_ready", "briefing_words", "hand_signals", "answer_briefing", "check_kit",
    "all_in_order", "kit_check_of", "shore_look_of", "skills_of", "second_look",
    "undo_briefing", "undo_kit_check", "undo_skills",
    "look_on_shore", "sign_skills", "sign_guest_skills", "going_out", "go_in",
):  # fmt: skip
    allow(_name, INSTRUCTOR, LEAD, rule=OWN_GROUP)
# Coming out of the water is open to a lapsed sign-in, and to whoever counts.
for _name in (
    "read_pressures", "wrap_up", "write_dive", "put_pressure_right", "put_times_right",
    "close_dive", "cylinders_back", "check_float", "change_lead",
):  # fmt: skip
    allow(_name, INSTRUCTOR, LEAD, rule=OWN_GROUP, away=True)
WATER_TEAM = (DESK, INSTRUCTOR, LEAD, MANAGER)
allow("read_on_the_way", *WATER_TEAM, rule=ANY_GROUP, away=True)
# A phone that the shop has ended still brings its own group out; what it sends is flagged.
allow("call_off", INSTRUCTOR, LEAD, rule=OWN_GROUP, away=True, ended_device=True)
for _name in ("mark_back", "still_in"):
    allow(_name, INSTRUCTOR, LEAD, rule=ANY_GROUP, away=True, ended_device=True)
for _name in ("back_in", "report_missing", "report_found"):
    allow(_name, *WATER_TEAM, rule=ANY_GROUP, away=True, ended_device=True)
COUNTED_BY = f"{ANY_GROUP}; bears the counter's name"
allow("count_heads", *WATER_TEAM, rule=COUNTED_BY, away=True, ended_device=True)

# Aftercare: coming out is never refused, and asking how somebody is neither. What was answered is health.
CARED_FOR = "instructor: own groups; desk, lead, manager: all groups"
for _name in ("aftercare", "write_exit_check", "call_flow", "write_exit_care"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER, rule=CARED_FOR, away=True)
for _name in (
    "give_card", "give_all_cards", "aftercare_card", "group_cards", "memento", "group_mementos",
):  # fmt: skip
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER, rule=CARED_FOR)
allow("look_at_exit_check", INSTRUCTOR, LEAD, rule="instructor: today's own group; lead: today's; logged")

# Who goes with whom: groups, the water, slots.
for _name in ("groups", "slot_page", "can_we_take"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in (
    "make_group_page", "group_page", "make_group", "change_group", "take_apart", "put_in_group", "move_guest",
):  # fmt: skip
    allow(_name, DESK, LEAD, MANAGER)
allow("look_at_water", INSTRUCTOR, LEAD, MANAGER)
for _name in ("add_slot", "change_slot", "copy_slots"):
    allow(_name, DESK, MANAGER)

# Guides' days. Who writes a dive down is kept with it.
for _name in ("guides_today", "guide_day"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in ("say_no_other_dive", "write_other_dive", "take_back_other_dive"):
    allow(_name, INSTRUCTOR, LEAD, MANAGER, rule="anybody of the team who dives; bears the writer's name")

# The plan of a group.
for _name in ("group_plan", "plan_working", "plan_slate", "issued_plan", "issued_working"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
for _name in ("change_dive", "issue_plan"):
    allow(_name, INSTRUCTOR, LEAD, rule="instructor: own group only; lead: any of today")

# Gas account, and one cylinder's life.
allow("gas_account", INSTRUCTOR, LEAD, MANAGER)
allow("cylinder_life", DESK, INSTRUCTOR, LEAD, MANAGER)

# Prints, the paper pack, and typing the paper in.
for _name in (
    "prints",
    "group_sheets",
    "roll_call_sheets",
    "slates",
    "kit_list",
    "paper_pack",
    "paper_health",
):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER)
allow("make_pdf", DESK, INSTRUCTOR, LEAD, MANAGER, rule="prints that they may open")
allow("choose_paper", MANAGER)
for _name in ("paper_of_group", "type_paper_in"):
    allow(_name, DESK, INSTRUCTOR, LEAD, MANAGER, rule="any group; bears the typist's and the author's name")
for _name in ("paper_forms", "keep_paper_form"):
    allow(_name, KEEPER, rule="that a form is on paper; never an answer")

# Keep and share: what leaves the shop as files.
for _name in ("share", "export_days", "export_group", "export_guest", "export_calendar", "export_everything"):
    allow(_name, MANAGER)

# Look back.
allow("look_back", MANAGER)
for _name in (
    "breathing", "earlier_dives", "review_earlier_dives", "review_earlier_dives_page",
    "store_earlier_dives", "take_back_earlier_dives",
):  # fmt: skip
    allow(_name, MANAGER)
for _name in ("gas_log", "gas_of_diver"):
    allow(_name, INSTRUCTOR, LEAD, MANAGER)
allow("what_we_learn", MANAGER)
allow("close_day", MANAGER)
allow("add_to_day", MANAGER)
allow("incidents", MANAGER)
allow("day_sheet", DESK, INSTRUCTOR, LEAD, MANAGER)
allow("incident_page", *WATER_TEAM, away=True)
allow("write_incident", *WATER_TEAM, away=True, ended_device=True)
READ_INCIDENT = "manager: all; lead: today's; instructor: own groups; others: their own and their follow-ups"
allow("incident", *WATER_TEAM, rule=READ_INCIDENT)
# What was done after an incident is written down even when a sign-in lapsed.
for _name in ("add_incident_note", "add_incident_step", "say_incident_facts", "keep_for_incident"):
    allow(_name, *WATER_TEAM, rule=READ_INCIDENT, away=True)
allow("correct_incident", *WATER_TEAM, rule=READ_INCIDENT)
allow("finish_incident_task", *WATER_TEAM, rule="manager: all; others: those that are theirs to do")
for _name in ("read_incident", "set_incident_task", "close_incident"):
    allow(_name, MANAGER)

# Keeping the records: backups and the recovery sheet.
for _name in (
    "backups", "back_up_now", "rehearse_backup", "choose_backup_folder",
    "recovery_sheet", "show_recovery_sheet", "sheet_printed", "new_recovery_sheet",
):  # fmt: skip
    allow(_name, MANAGER)

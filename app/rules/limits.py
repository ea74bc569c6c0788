"""Every limit and every rule of the shop, one line each: the only place where such a number is written.

A key is used unchanged everywhere: here, in forms, in stored settings, in the trail and on pages. The
shop's own stricter value is a record; `app.rules.resolve` picks the value that binds and says who set it.
"""

# ruff: noqa: E501  (one limit is one line, so that a changed number shows as one changed line)
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Value = float | bool | tuple[str, ...]
"""A number in the limit's unit, a flag (true = required), or the keys of a required set."""

Direction = Literal["max", "min", "flag", "set"]
"""max: smaller is stricter. min: larger is stricter. flag: true is stricter. set: more is stricter."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit as shipped.

    value: what binds while the shop has set nothing.
    outermost: the loosest value that anybody may ever set; equal to `value` unless a row says otherwise.
    hard: the shipped value is itself the outermost one and no preset, shop or person loosens it.
    what: plain label for the set-up page. source: the published source, or a plain word that there is none.
    """

    key: str
    value: Value
    unit: str
    direction: Direction
    what: str
    source: str
    hard: bool
    outermost: Value

    @property
    def may_be_tightened(self) -> bool:
        """Whether a stricter value exists: a flag that already asks cannot ask more."""
        return not (self.direction == "flag" and self.value is True)


_registry: dict[str, Limit] = {}


def _row(
    key: str,
    value: Value,
    unit: str,
    direction: Direction,
    what: str,
    source: str,
    *,
    hard: bool = False,
    outermost: Value | None = None,
) -> Limit:
    if key in _registry:
        raise ValueError(f"limit {key} is written twice")
    limit = Limit(key, value, unit, direction, what, source, hard, value if outermost is None else outermost)
    _registry[key] = limit
    return limit


def _rule(key: str, what: str, source: str) -> Limit:
    """A hard rule without a number: something that must be so, and that nobody switches off."""
    return _row(key, True, "yes/no", "flag", what, source, hard=True)


_PRACTICE = "common practice, no source"
_OWN = "our own cautious choice"
_ISO = "ISO 11121, from memory, number not seen"
_QLD = "Queensland Safety in Recreational Water Activities Regulation 2024"
_CORONER = "Queensland Coroners Court, findings of 30 May 2018, recommendations"
_ISO_24803 = "ISO 24803:2017, from memory, clause not seen"
_USN = "US Navy Diving Manual rev 7, from memory"
_EN_12021 = "EN 12021:2014, from secondary pages"
_HSE = "UK HSE information for recreational divers who pay for a guide (2020/2025)"

# fmt: off
# Depth, age and time under water
DEPTH_MAX_OPEN_WATER = _row("depth_max_open_water", 12, "m", "max", "Deepest an introductory dive may ever be", f"{_ISO}; RSTC introductory standard", hard=True)
DEPTH_PLAN_DEFAULT = _row("depth_plan_default", 10, "m", "max", "Deepest for adults unless the shop raises it", f"{_OWN}; a training agency's public standard", outermost=12)
DEPTH_MAX_CONFINED = _row("depth_max_confined", 4, "m", "max", "Deepest pool-like water", "Malta, standards for recreational scuba operations")
DEPTH_MAX_AGE_8_9 = _row("depth_max_age_8_9", 2, "m", "max", "Deepest at age 8 and 9, pool-like water alone", _PRACTICE)
DEPTH_MAX_AGE_10_11 = _row("depth_max_age_10_11", 5, "m", "max", "Deepest at age 10 and 11", _PRACTICE)
DEPTH_MAX_AGE_12_14 = _row("depth_max_age_12_14", 8, "m", "max", "Deepest at age 12 to 14", _PRACTICE)
DEPTH_MAX_AGE_15_17 = _row("depth_max_age_15_17", 10, "m", "max", "Deepest at age 15 to 17", _PRACTICE)
AGE_MIN_OPEN_WATER = _row("age_min_open_water", 10, "years", "min", "Youngest age in open water", _PRACTICE, hard=True)
AGE_MIN_POOL = _row("age_min_pool", 8, "years", "min", "Youngest age in pool-like water", _PRACTICE, hard=True)
CHILD_LETTER_AGE = _row("child_letter_age", 0, "years", "min", "Guests younger than this bring a doctor's letter each time; 0 is off", "SPUMS paediatric statement 2024 asks it of ages 10 to 15: set 16 to follow it")
MAJORITY_AGE = _row("majority_age", 18, "years", "min", "Age from which a guest signs alone", "local law; ask your lawyer")
BOTTOM_TIME_MAX = _row("bottom_time_max", 35, "min", "max", "Longest time under water", _OWN)
MINUTES_MAX_AGE_8_9 = _row("minutes_max_age_8_9", 20, "min", "max", "Longest time under water at age 8 and 9", _PRACTICE)
MINUTES_MAX_AGE_10_11 = _row("minutes_max_age_10_11", 25, "min", "max", "Longest time under water at age 10 and 11", _PRACTICE)
ASCENT_RATE_MAX = _row("ascent_rate_max", 9, "m/min", "max", "Fastest way up", _USN)
SAFETY_STOP_MINUTES = _row("safety_stop_minutes", 3, "min", "min", "Safety stop, minutes", _PRACTICE)
SAFETY_STOP_DEPTH = _row("safety_stop_depth", 5, "m", "min", "Safety stop, depth", _PRACTICE)
SAFETY_STOP_FROM_DEPTH = _row("safety_stop_from_depth", 6, "m", "max", "Dives this deep or deeper plan a safety stop", _PRACTICE)
NO_STOP_LEFT_MIN = _row("no_stop_left_min", 1, "min", "min", "No-stop time that must be left when the way up begins; no stops are planned", f"{_OWN}; Spain, Real Decreto 550/2020, art 18.1")
NITROGEN_GRADIENT_FACTOR = _row("nitrogen_gradient_factor", 0.85, "share of the limit", "max", "Share of the nitrogen limit a day may use", _OWN)
DIVES_PER_GUEST_PER_DAY = _row("dives_per_guest_per_day", 2, "dives", "max", "Dives of one guest in a day", _OWN)
SURFACE_INTERVAL_MIN = _row("surface_interval_min", 60, "min", "min", "Time out of the water between two dives", _PRACTICE)
NO_FLY_SINGLE = _row("no_fly_single", 18, "h", "min", "Hours before flying after one dive", "2002 consensus workshop on flying after diving says 12; ours is stricter", outermost=12)
NO_FLY_REPEAT = _row("no_fly_repeat", 18, "h", "min", "Hours before flying after several dives", "2002 consensus workshop on flying after diving")
GOING_HIGH_FROM = _row("going_high_from", 300, "m", "max", "Going higher than this counts as flying", f"{_OWN}; older tables for going to altitude, from memory")
AFTERCARE_CARD_KEPT = _row("aftercare_card_kept", 24, "h", "min", "Hours after a dive that the aftercare card is kept", "onset of decompression illness: nine of ten within 6 h, from memory; a day is common practice")
NO_FLY_ADVISE = _row("no_fly_advise", 24, "h", "min", "Hours before flying that the card advises", _OWN)

# Guests held by one guide
RATIO_OPEN_WATER_GOOD = _row("ratio_open_water_good", 2, "guests", "max", "Guests per guide, open water, good conditions", f"Thailand, marine measures of 22 Apr 2025; {_CORONER}", outermost=4)
RATIO_OPEN_WATER_FAIR = _row("ratio_open_water_fair", 2, "guests", "max", "Guests per guide, open water, fair conditions", _OWN)
RATIO_OPEN_WATER_POOR = _row("ratio_open_water_poor", 1, "guests", "max", "Guests per guide, open water, poor conditions, arms linked", _CORONER)
RATIO_OPEN_WATER_CEILING = _row("ratio_open_water_ceiling", 4, "guests", "max", "Guests per guide in open water that nobody goes past", _ISO, hard=True)
RATIO_CONFINED = _row("ratio_confined", 4, "guests", "max", "Guests per guide in pool-like water", f"{_OWN}; training standards allow 8, from memory", outermost=8)
RATIO_WITH_MINOR_8_9 = _row("ratio_with_minor_8_9", 1, "guests", "max", "Guests per guide with a child of 8 or 9", _PRACTICE)
RATIO_WITH_MINOR_10_11 = _row("ratio_with_minor_10_11", 1, "guests", "max", "Guests per guide with a child of 10 or 11", _OWN)
RATIO_WITH_MINOR_12_17 = _row("ratio_with_minor_12_17", 2, "guests", "max", "Guests per guide with a guest of 12 to 17", _PRACTICE)
RATIO_LESS_FOR_CARE = _row("ratio_less_for_care", 1, "guests", "min", "Guests fewer when somebody needs more care", _OWN)
ASSISTANT_BONUS = _row("assistant_bonus", 0, "guests", "max", "Guests more with an assistant, good open water or pool", "ISO 11121 family believed to allow 2, from memory, low confidence", outermost=2)
LINKED_ARMS_REQUIRED = _row("linked_arms_required", False, "yes/no", "flag", "Guide and guests link arms", _CORONER)
SURFACE_WATCH_REQUIRED = _row("surface_watch_required", True, "yes/no", "flag", "A named person watches from the surface", _HSE)
SAFETY_DIVER_REQUIRED = _row("safety_diver_required", False, "yes/no", "flag", "A named safety diver stands ready", _HSE)

# Conditions in open water
VISIBILITY_FAIR_BELOW = _row("visibility_fair_below", 8, "m", "min", "Below this the water is fair at best", _OWN)
VISIBILITY_POOR_BELOW = _row("visibility_poor_below", 5, "m", "min", "Below this the water is poor at best", _OWN)
VISIBILITY_NOGO_BELOW = _row("visibility_nogo_below", 3, "m", "min", "Below this nobody goes in", _OWN)
CURRENT_POOR_ABOVE = _row("current_poor_above", 0.25, "m/s", "max", "Above this the water is poor at best", _OWN)
CURRENT_NOGO_ABOVE = _row("current_nogo_above", 0.5, "m/s", "max", "Above this nobody goes in", _OWN)

# Gas
START_PRESSURE_MIN = _row("start_pressure_min", 180, "bar", "min", "Lowest start pressure for the dive", _OWN, outermost=150)
START_PRESSURE_MIN_CONFINED = _row("start_pressure_min_confined", 100, "bar", "min", "Lowest start pressure in pool-like water", _OWN)
TURN_PRESSURE = _row("turn_pressure", 100, "bar", "min", "Lowest gauge in the group at which all start back", _PRACTICE)
END_PRESSURE_MIN = _row("end_pressure_min", 50, "bar", "min", "Reserve with which everyone is back at the surface", "New Zealand coroner's safety recommendations to divers, Mar 2024", hard=True)
RESERVE_ROUNDING = _row("reserve_rounding", 10, "bar", "min", "Sharing gas is rounded up to the next full", _OWN)
PRESSURE_CHECK_INTERVAL = _row("pressure_check_interval", 5, "min", "max", "Minutes between two looks at the gauges", _OWN)
SHARING_DIVERS = _row("sharing_divers", 2, "people", "min", "People on one cylinder on the way up", _PRACTICE)
SHARING_STRESS_FACTOR = _row("sharing_stress_factor", 1.5, "times", "min", "Times the usual breathing rate when sharing", _OWN)
SHARING_REACTION_MINUTES = _row("sharing_reaction_minutes", 1, "min", "min", "Minutes at depth before the shared way up", _PRACTICE)
SHARING_RESIDUAL = _row("sharing_residual", 10, "bar", "min", "Pressure that can no longer be breathed", "first-stage intermediate pressure, from memory")
GAUGE_LOWEST_START = _row("gauge_lowest_start", 1, "bar", "min", "Lowest start pressure that can be entered", _OWN)
GAUGE_HIGHEST = _row("gauge_highest", 300, "bar", "max", "Highest pressure that can be entered", _OWN)
GAUGE_UNUSUAL_START_BELOW = _row("gauge_unusual_start_below", 150, "bar", "min", "A start pressure below this is unusual", _OWN)
GAUGE_UNUSUAL_END_BELOW = _row("gauge_unusual_end_below", 30, "bar", "min", "An end pressure below this is unusual", _OWN)
GAUGE_UNUSUAL_DROP = _row("gauge_unusual_drop", 150, "bar", "max", "A larger fall between two readings is unusual", _OWN)
BREATHING_RATE_LOWEST = _row("breathing_rate_lowest", 4, "L/min", "min", "A logged dive with a lower breathing rate teaches nothing", _OWN)
BREATHING_RATE_HIGHEST = _row("breathing_rate_highest", 120, "L/min", "max", "A logged dive with a higher breathing rate teaches nothing", _OWN)
LOGGED_MINUTES_LEAST = _row("logged_minutes_least", 5, "min", "min", "A logged dive that was shorter teaches nothing", _OWN)

# Cylinders, air and kit
CYLINDER_VISUAL_EVERY = _row("cylinder_visual_every", 12, "months", "max", "Months between two looks inside a cylinder", "BS EN ISO 18119:2018 guidance; up to 30 months with a risk assessment", outermost=30)
CYLINDER_PRESSURE_TEST_EVERY = _row("cylinder_pressure_test_every", 60, "months", "max", "Months between two pressure tests of a cylinder", "BS EN ISO 18119:2018 guidance", hard=True)
CYLINDER_TEST_NOTICE = _row("cylinder_test_notice", 60, "days", "min", "Days before a test is due that it is shown", _OWN)
CYLINDER_EMPTY_BELOW = _row("cylinder_empty_below", 50, "bar", "min", "A cylinder below this is called empty", _PRACTICE)
AIR_OXYGEN_MIN = _row("air_oxygen_min", 20, "% oxygen", "min", "Least oxygen in a fill of air", _EN_12021, hard=True)
AIR_OXYGEN_MAX = _row("air_oxygen_max", 22, "% oxygen", "max", "Most oxygen in a fill of air", _EN_12021, hard=True)
AIR_CO_MAX = _row("air_co_max", 5, "ppm", "max", "Most carbon monoxide in a fill of air", _EN_12021, hard=True)
AIR_CO2_MAX = _row("air_co2_max", 500, "ppm", "max", "Most carbon dioxide in the compressor's air", _EN_12021, hard=True)
AIR_OIL_MAX = _row("air_oil_max", 0.5, "mg/m³", "max", "Most oil in the compressor's air", _EN_12021, hard=True)
AIR_WATER_MAX = _row("air_water_max", 50, "mg/m³", "max", "Most water in the air of a cylinder", _EN_12021, hard=True)
AIR_WATER_MAX_HIGH = _row("air_water_max_high", 35, "mg/m³", "max", "Most water in the air of a cylinder filled to a high pressure", _EN_12021, hard=True)
AIR_WATER_HIGH_ABOVE = _row("air_water_high_above", 200, "bar", "max", "Above this fill pressure the air must be drier", _EN_12021, hard=True)
COMPRESSOR_FILTER_HOURS = _row("compressor_filter_hours", 25, "h", "max", "Hours that a filter cartridge lasts; then nothing is filled", "the maker's manual; our own starting value", outermost=200)
COMPRESSOR_OIL_HOURS = _row("compressor_oil_hours", 100, "h", "max", "Hours between two oil services of the compressor", "the maker's manual; our own starting value", outermost=2000)
COMPRESSOR_HOURS_NOTICE = _row("compressor_hours_notice", 5, "h", "min", "Hours before filter or oil is due that it is shown", _OWN)
FILL_GAS_TEMP = _row("fill_gas_temp", 40, "°C", "min", "Gas temperature to expect right after a fill", _PRACTICE, outermost=25)
FILL_COOLING_MINUTES = _row("fill_cooling_minutes", 30, "min", "min", "Minutes that a filled cylinder cools before it is given out", _PRACTICE, outermost=0)
FILL_HANDLING_MINUTES = _row("fill_handling_minutes", 3, "min", "min", "Minutes to connect, open, close and take off one cylinder", _PRACTICE, outermost=0)
COMPRESSOR_AIR_TEST_EVERY = _row("compressor_air_test_every", 6, "months", "max", "Months between two tests of the compressor's air", f"{_OWN}; one supplier advises 3 months")
KIT_SERVICE_EVERY = _row("kit_service_every", 12, "months", "max", "Months between two services of regulator or jacket", _PRACTICE)
KIT_SERVICE_NOTICE = _row("kit_service_notice", 60, "days", "min", "Days before a service is due that it is shown", _OWN)
KIT_RINSE_MINUTES = _row("kit_rinse_minutes", 30, "min", "min", "Minutes to rinse and dry kit before the next guest", _PRACTICE, outermost=5)
KIT_HOOD_BELOW = _row("kit_hood_below", 16, "°C", "min", "In water colder than this a hood belongs to the kit", _PRACTICE, outermost=0)

# Roll call and emergencies
COUNT_METHODS = _row("count_methods", 2, "counts", "min", "Independent counts that must agree", f"{_QLD}, s 15", hard=True)
COUNT_ACTIVE_METHODS = _row("count_active_methods", 1, "counts", "min", "Counts in which people take part, when one person counts alone", f"{_QLD}, s 15", hard=True)
RECOUNTS_BEFORE_EMERGENCY = _row("recounts_before_emergency", 1, "counts", "max", "Recounts before the missing-person procedure", f"{_QLD}, s 16", hard=True)
SEPARATION_SEARCH = _row("separation_search", 1, "min", "max", "Minutes to look for a lost diver before all surface", _PRACTICE)
OVERDUE_AFTER_PLANNED_EXIT_WARN = _row("overdue_after_planned_exit_warn", 5, "min", "max", "Minutes after the planned exit until a group is shown as late", _OWN)
OVERDUE_AFTER_PLANNED_EXIT_EMERGENCY = _row("overdue_after_planned_exit_emergency", 10, "min", "max", "Minutes after the planned exit until the emergency page is offered", _OWN)
OXYGEN_FLOW = _row("oxygen_flow", 15, "L/min", "min", "Oxygen flow to have until help is there", _ISO_24803)
HELP_TRAVEL_MINUTES = _row("help_travel_minutes", 20, "min", "min", "Minutes until help with its own oxygen is at the water", _ISO_24803)
OXYGEN_MIN = _row("oxygen_min", 300, "L", "min", "Least oxygen at the water, 20 min at 15 L/min; more when help is further", f"{_ISO_24803}; France, Code du sport A322-78", hard=True)
EMERGENCY_KIT_CHECK_AGE = _row("emergency_kit_check_age", 0, "days", "max", "Days since the emergency kit was checked; 0 is the same day", _OWN, hard=True)
EMERGENCY_DRILL_EVERY = _row("emergency_drill_every", 90, "days", "max", "Days between two emergency drills", _OWN)

# Booking and sizes
PARTY_SIZE_MAX = _row("party_size_max", 12, "people", "max", "People in one party", _OWN, outermost=30)
BOOKING_CLOSES_BEFORE = _row("booking_closes_before", 30, "min", "min", "Minutes before a slot when booking ends", _OWN, outermost=0)
SLOT_LENGTH = _row("slot_length", 90, "min", "min", "Time one slot keeps people busy", _OWN, outermost=30)
SLOT_GAP = _row("slot_gap", 0, "min", "min", "Time between two groups of the same person", _OWN)
NAME_LENGTH_MAX = _row("name_length_max", 100, "characters", "max", "Longest name", _OWN)
AGE_HIGHEST = _row("age_highest", 110, "years", "max", "Highest age that can be entered", _OWN)
AGE_UNUSUAL_ABOVE = _row("age_unusual_above", 80, "years", "max", "An age above this is unusual", _OWN)
HEIGHT_LOWEST = _row("height_lowest", 90, "cm", "min", "Smallest height that can be entered", _OWN)
HEIGHT_HIGHEST = _row("height_highest", 230, "cm", "max", "Largest height that can be entered", _OWN)
HEIGHT_UNUSUAL_BELOW = _row("height_unusual_below", 120, "cm", "min", "A height below this is unusual", _OWN)
HEIGHT_UNUSUAL_ABOVE = _row("height_unusual_above", 205, "cm", "max", "A height above this is unusual", _OWN)
WEIGHT_LOWEST = _row("weight_lowest", 18, "kg", "min", "Smallest body weight that can be entered", _OWN)
WEIGHT_HIGHEST = _row("weight_highest", 220, "kg", "max", "Largest body weight that can be entered", _OWN)
WEIGHT_UNUSUAL_BELOW = _row("weight_unusual_below", 28, "kg", "min", "A body weight below this is unusual", _OWN)
WEIGHT_UNUSUAL_ABOVE = _row("weight_unusual_above", 140, "kg", "max", "A body weight above this is unusual", _OWN)

# Papers
DECLARATION_VALID_FOR = _row("declaration_valid_for", 30, "days", "max", "Days a signed health history counts", _OWN)
CONSENT_VALID_FOR = _row("consent_valid_for", 30, "days", "max", "Days a guardian's consent counts", _OWN)
HEALTH_LIVE_DAYS = _row("health_live_days", 30, "days", "max", "Days after the dive day until a health record is sealed", f"{_OWN}; the consent's own words", hard=True)
LOOKS_REVIEW_EVERY = _row("looks_review_every", 7, "days", "max", "Days between two reviews of who looked at health records", _OWN)
HOLD_CHECK_EVERY = _row("hold_check_every", 12, "months", "max", "Months until a legal hold is looked at again", _OWN)
BREACH_TELL_WITHIN = _row("breach_tell_within", 72, "h", "max", "Hours until the authority is told of a breach of health data", "GDPR, Art. 33(1)", hard=True)
SKILLS_REQUIRED_SET = _row("skills_required_set", ("mask_clear", "regulator_recover", "air_sharing", "inflate_at_surface", "drop_weights", "equalise", "read_gauge", "hand_signals"), "skills", "set", "Skills each guest shows in shallow water that day", f"{_CORONER}; signals, equalising and gauge are {_PRACTICE}", hard=True)

# Rules without a number
SCREENING_ANY_FLAG_BLOCKS = _rule("screening_any_flag_blocks", "A health answer that needs settling keeps the guest ashore", f"{_OWN}, stricter than {_QLD}, s 10")
HEALTH_TODAY_SIGNED = _rule("health_today_signed", "Today's health questions are signed on the day", _PRACTICE)
SHORE_LOOK = _rule("shore_look", "A named instructor looked at each guest on shore that day", _PRACTICE)
GUARDIAN_CONSENT = _rule("guardian_consent", "A minor has a guardian's written consent on file", "ISO 24803:2017, clause 4.1")
GUARDIAN_NEAR = _rule("guardian_near", "A child's guardian is where the age asks for", _PRACTICE)
GUEST_BOOKED = _rule("guest_booked", "Each guest is booked for this slot", _OWN)
GUIDE_REQUIRED = _rule("guide_required", "Each group has one guide, in the water with the guests", "ISO 11121:2017, scope")
INSTRUCTOR_GRADE = _rule("instructor_grade", "Open water needs a level 2 instructor; level 1 stays in pool-like water", "ISO 24802-1 and -2, from memory")
INSTRUCTOR_CREDENTIAL_VALID = _rule("instructor_credential_valid", "Teaching papers are in date on the day", _HSE)
CPR_O2_VALID = _rule("cpr_o2_valid", "Resuscitation and oxygen training is in date on the day", "Queensland workplace regulator, fatality alert 2022")
DIVER_MEDICAL_VALID = _rule("diver_medical_valid", "The guide's own dive medical is in date on the day", _HSE)
STAFF_DIVES_SAID = _rule("staff_dives_said", "Guide and assistant said today whether they dived elsewhere in the last 24 hours", _OWN)
NO_OVERLAP = _rule("no_overlap", "Nobody and no cylinder is in two groups at one time", _OWN)
GUESTS_IN_GROUP = _rule("guests_in_group", "A group holds at least one guest, each once", _OWN)
SITE_KNOWN = _rule("site_known", "A group has a site with its depth", _OWN)
CONDITIONS_GRADED = _rule("conditions_graded", "Open water is graded that day by a named instructor; unset or no-go means no dive", _CORONER)
PLAN_ISSUED = _rule("plan_issued", "An issued plan covers the group", "UK Diving at Work Regulations 1997, reg 8")
PLAN_CURRENT = _rule("plan_current", "The issued plan still fits the group, the cylinders and the limits", _OWN)
SHARING_GAS_COVERED = _rule("sharing_gas_covered", "Two people can reach the surface on one cylinder", _PRACTICE)
BRIEFING_COMPLETE = _rule("briefing_complete", "Every briefing item is answered by a named guide that day", _HSE)
KIT_CHECK_COMPLETE = _rule("kit_check_complete", "Each person's kit is checked before the water", _PRACTICE)
CYLINDER_IN_TEST = _rule("cylinder_in_test", "A cylinder is in date for both tests", "BS EN ISO 18119:2018 guidance")
CYLINDER_NOT_QUARANTINED = _rule("cylinder_not_quarantined", "A cylinder set aside is not used or filled", _PRACTICE)
CYLINDER_FREE = _rule("cylinder_free", "A cylinder is with one person at a time", _OWN)
CYLINDER_HERE = _rule("cylinder_here", "A cylinder away at a test station is not given out, filled or sent again", _OWN)
CYLINDER_NOT_ABOVE_STAMP = _rule("cylinder_not_above_stamp", "A cylinder is never above its stamped working pressure", _PRACTICE)
CYLINDER_GIVEN = _rule("cylinder_given", "Each diver has one known cylinder", _OWN)
AIR_ONLY = _rule("air_only", "Cylinders hold plain air", "Spain, Real Decreto 550/2020, art 12.2, for minors; ours for all")
PRESSURE_READ = _rule("pressure_read", "A pressure is read off the gauge, never filled in", _OWN)
NO_PRESSURE_RISE = _rule("no_pressure_rise", "Pressure never rises during a dive unless the cylinder was changed", _OWN)
GAUGE_AGREES_WITH_FILL = _rule("gauge_agrees_with_fill", "A gauge reads what the fill record says, or somebody looks why", f"Lemmon et al. 2000 for cooling air; two gauges' errors, {_OWN}")
KIT_NOT_QUARANTINED = _rule("kit_not_quarantined", "Kit set aside is not given out", _PRACTICE)
KIT_RINSED = _rule("kit_rinsed", "Kit that was in the water is rinsed before the next guest", _PRACTICE)
KIT_FREE = _rule("kit_free", "One piece of kit is with one person at a time", _OWN)
EMERGENCY_KIT_COMPLETE = _rule("emergency_kit_complete", "The emergency kit is complete before the first entry", "France, Code du sport A322-78")
EMERGENCY_CONTACTS = _rule("emergency_contacts", "Emergency numbers are on file", "ISO 24803:2017, clause 4.6.2, from memory")
ROLL_CALL_BY_NAME = _rule("roll_call_by_name", "Each person is answered for by name, out and in", f"{_QLD}, s 26")
COUNTS_AGREE = _rule("counts_agree", "Both counts agree with each other and with the names", f"{_QLD}, s 15")
SECOND_COUNT_BLIND = _rule("second_count_blind", "The second count is made without seeing the first", f"{_QLD}, s 15")
MISSING_SETTLED = _rule("missing_settled", "A missing-person procedure ends only with who was found and where", f"{_QLD}, s 16")
EXIT_AFTER_ENTRY = _rule("exit_after_entry", "Time out comes after time in, for each person", f"{_QLD}, s 26")
ENTRY_STILL_OPEN = _rule("entry_still_open", "A group goes in once; a second dive is a second group", _OWN)
ABORT_IS_FINAL = _rule("abort_is_final", "A dive ended by its instructor is not opened again", _CORONER)
DIVE_CLOSED = _rule("dive_closed", "Every dive of the day is closed", _OWN)
CYLINDERS_RETURNED = _rule("cylinders_returned", "Every cylinder is back", _OWN)
KIT_RETURNED = _rule("kit_returned", "Every piece of kit is back", _OWN)
SERIOUS_INCIDENT_READ = _rule("serious_incident_read", "Serious incidents are read by the manager that day", _OWN)
RECORDS_COPIED = _rule("records_copied", "The records are copied to another place every day, and the copy is opened", _PRACTICE)
INCIDENT_FOLLOWED_UP = _rule("incident_followed_up", "An incident is closed once it is read and its follow-ups are done", _OWN)
AUTHORITY_ANSWERED = _rule("authority_answered", "A serious incident says whether an authority has to be told, and when it was", "Australia, Work Health and Safety Act 2011, s 38; UK RIDDOR 2013; France, Code du sport R322-6")
LOG_ENTRIES_VERIFIED = _rule("log_entries_verified", "Each dive entry is verified by a named person", f"{_QLD}, s 26")
INCIDENT_ANSWERED = _rule("incident_answered", "Each diver's entry says what happened, or says none", f"{_QLD}, s 23")
EXIT_CHECK_ASKED = _rule("exit_check_asked", "Each guest is asked on coming out how they are", "late telling of first signs is common, from dive medicine textbooks; our own cautious choice")
AFTERCARE_NUMBERS = _rule("aftercare_numbers", "The aftercare card names ambulance, shop and dive doctor", "ISO 24803:2017, clause 4.6.2, from memory")
PLACES_LEFT = _rule("places_left", "A slot holds no more guests than it has places", _OWN)
NAME_GIVEN = _rule("name_given", "Each person has a name", _OWN)
SECRECY_SIGNED = _rule("secrecy_signed", "Whoever opens health data has promised secrecy", "GDPR, Art. 32(4) and 90, from memory")
MAY_SET = _rule("may_set", "Anyone may tighten; the manager alone loosens, never past the preset", _OWN)
# fmt: on

ALL: Mapping[str, Limit] = MappingProxyType(_registry)
"""Every limit by its key, in the order of this file."""

"""Country presets: the loosest values a shop in that country may set.

`general` is the outermost value of every limit. A national preset names only what differs, and only
ever towards the strict side. `said` holds what a country is known to ask that is no figure of ours.
Values are starting points: a shop has its own country's rules confirmed by its authority.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.rules import limits
from app.rules.limits import Value

CONFIRM = "Confirm it with your authority: laws change, and not every clause was seen."


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that a country asks or advises, in our own words, with its source."""

    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Preset:
    """Named values by limit key, with the published source they rest on."""

    key: str
    name: str
    values: Mapping[str, Value]
    source: str
    said: tuple[Said, ...] = ()


def _preset(key: str, name: str, values: dict[str, Value], source: str, *said: tuple[str, str]) -> Preset:
    return Preset(key, name, MappingProxyType(values), source, tuple(Said(*one) for one in said))


_QLD = "Queensland Safety in Recreational Water Activities Regulation 2024"
_CORONER = "Queensland Coroners Court, findings of 30 May 2018, recommendations"
_HSE = "UK HSE information for recreational divers who pay for a guide (2020/2025)"
_SPAIN = "Spain, Real Decreto 550/2020"
_FRANCE = "France, Code du sport"
_MALTA = "Malta, standards for recreational scuba operations"
_THAILAND = "Thailand, ministerial marine measures of 22 Apr 2025"

GENERAL = _preset(
    "general",
    "general",
    {key: limit.outermost for key, limit in limits.ALL.items()},
    "the outermost value of every limit",
    (
        "ISO 11121 covers programmes that go to open water; a pool alone is outside it.",
        "ISO 11121:2017, scope",
    ),
)

FRANCE = _preset(
    "france",
    "France",
    {
        limits.DEPTH_MAX_OPEN_WATER.key: 6,
        limits.DEPTH_PLAN_DEFAULT.key: 6,
        limits.RATIO_OPEN_WATER_GOOD.key: 1,
        limits.RATIO_OPEN_WATER_FAIR.key: 1,
        limits.RATIO_OPEN_WATER_POOR.key: 1,
        limits.RATIO_OPEN_WATER_CEILING.key: 1,
        limits.ASSISTANT_BONUS.key: 0,
    },
    f"{_FRANCE}, Annex III-16a",
    ("Further qualified guides may come along. They do not make room for a second guest.",
     f"{_FRANCE}, Annex III-16a"),
    ("Oxygen lasts until medical help is there. The emergency kit and a written plan are at the place.",
     f"{_FRANCE}, A322-78"),
    ("The sheet of each dive is kept for a year, on paper or not.", f"{_FRANCE}, A322-72"),
)  # fmt: skip

THAILAND = _preset(
    "thailand",
    "Thailand",
    {
        limits.RATIO_OPEN_WATER_GOOD.key: 2,
        limits.RATIO_OPEN_WATER_FAIR.key: 2,
        limits.RATIO_OPEN_WATER_CEILING.key: 2,
        limits.ASSISTANT_BONUS.key: 0,
    },
    _THAILAND,
    ("No cameras on introductory dives, except with a qualified photographer who does nothing else.",
     _THAILAND),
    ("Everybody stays 2 m above coral.", _THAILAND),
)  # fmt: skip

UNITED_KINGDOM = _preset(
    "united_kingdom",
    "United Kingdom",
    {limits.SAFETY_DIVER_REQUIRED.key: True},
    _HSE,
    ("Three people are named: a supervisor, somebody ashore who can call help, a safety diver.", _HSE),
    ("A record of each diving operation is filled in during it, and kept 2 years after the last entry.",
     "UK Diving at Work Regulations 1997, regs 6 and 10"),
    ("Each operation follows a written plan that names its code of practice.",
     "UK Diving at Work Regulations 1997, reg 8"),
)  # fmt: skip

QUEENSLAND = _preset(
    "queensland",
    "Australia, Queensland",
    {
        limits.RATIO_OPEN_WATER_GOOD.key: 2,
        limits.RATIO_OPEN_WATER_FAIR.key: 2,
        limits.RATIO_OPEN_WATER_POOR.key: 1,
        limits.RATIO_OPEN_WATER_CEILING.key: 2,
        limits.ASSISTANT_BONUS.key: 0,
        limits.CYLINDER_VISUAL_EVERY.key: 12,
        limits.CYLINDER_PRESSURE_TEST_EVERY.key: 12,
    },
    f"{_CORONER}; yearly cylinder tests: common practice, no source",
    ("The two guests to one instructor are a coroner's advice. The code of practice of 2024 was not seen: "
     "ask for its number.", _CORONER),
    ("A swimming pool is outside the regulation. The general duty of care stays.", f"{_QLD}, s 6"),
    ("A guest's health declaration is read by you, and somebody named decides. It is kept for a year.",
     f"{_QLD}, s 10"),
    ("Two people count alone and compare. Each diver confirms the own return, and another verifies it.",
     f"{_QLD}, ss 15 and 26"),
    ("Any incident, problem, discomfort or injury of a diver stands in the log.", f"{_QLD}, s 23"),
)  # fmt: skip

SPAIN = _preset(
    "spain",
    "Spain",
    {limits.NO_STOP_LEFT_MIN.key: 1},
    f"{_SPAIN}, arts 12.2 and 18.1",
    ("Minors breathe air only. Here everybody does.", f"{_SPAIN}, art 12.2"),
    ("No dive with planned stops, nothing overhead, always a straight way up, never fewer than two.",
     f"{_SPAIN}, art 18.1"),
    ("Each diver has two second stages, a gauge, a cutting tool, and depth and time. "
     "The guide may carry some of it for guests: ask.", f"{_SPAIN}, Annex III"),
)  # fmt: skip

MALTA = _preset(
    "malta",
    "Malta",
    {limits.DEPTH_MAX_CONFINED.key: 4, limits.MAJORITY_AGE.key: 18},
    _MALTA,
    ("Confined water is a pool of at most 4 m, or water with like conditions.", _MALTA),
    ("A minor needs the written consent of a parent or legal guardian.", _MALTA),
)  # fmt: skip

ALL: Mapping[str, Preset] = MappingProxyType(
    {preset.key: preset for preset in (GENERAL, QUEENSLAND, FRANCE, MALTA, SPAIN, THAILAND, UNITED_KINGDOM)}
)

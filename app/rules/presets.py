"""Country presets: the loosest values a shop in that country may set.

`general` is the outermost value of every limit. A national preset names only what differs, and only
ever towards the strict side. Values are starting points: a shop has its own country's rules confirmed
by someone who knows them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.rules import limits
from app.rules.limits import Value


@dataclass(frozen=True, slots=True)
class Preset:
    """Named values by limit key, with the published source they rest on."""

    key: str
    name: str
    values: Mapping[str, Value]
    source: str


def _preset(key: str, name: str, values: dict[str, Value], source: str) -> Preset:
    return Preset(key, name, MappingProxyType(values), source)


GENERAL = _preset(
    "general",
    "general",
    {key: limit.outermost for key, limit in limits.ALL.items()},
    "the outermost value of every limit",
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
    "France, Code du sport, Annex III-16a",
)

THAILAND = _preset(
    "thailand",
    "Thailand",
    {
        limits.RATIO_OPEN_WATER_GOOD.key: 2,
        limits.RATIO_OPEN_WATER_FAIR.key: 2,
        limits.RATIO_OPEN_WATER_CEILING.key: 2,
        limits.ASSISTANT_BONUS.key: 0,
    },
    "Thailand, ministerial marine measures of 22 Apr 2025",
)

UNITED_KINGDOM = _preset(
    "united_kingdom",
    "United Kingdom",
    {limits.SAFETY_DIVER_REQUIRED.key: True},
    "UK HSE information for recreational divers who pay for a guide (2020/2025)",
)

ALL: Mapping[str, Preset] = MappingProxyType(
    {preset.key: preset for preset in (GENERAL, FRANCE, THAILAND, UNITED_KINGDOM)}
)

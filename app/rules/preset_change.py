"""What choosing another country changes: each limit whose value in force would be another one."""

from collections.abc import Mapping
from dataclasses import dataclass

from app.rules import limits
from app.rules.limits import Limit, Value
from app.rules.presets import Preset
from app.rules.resolve import InForce, is_looser, limits_for, preset_source, shop_source


@dataclass(frozen=True, slots=True)
class Change:
    """One limit, its value now and with the other country. looser: it would ask for less."""

    limit: Limit
    now: InForce
    then: InForce
    looser: bool


def changes(own: Mapping[str, Value], now: Preset, then: Preset) -> tuple[Change, ...]:
    """Return what changes for a shop with these values of its own, in the order of the registry."""
    before = limits_for((preset_source(now), shop_source(own)))
    after = limits_for((preset_source(then), shop_source(own)))
    return tuple(
        Change(
            limit,
            before[limit],
            after[limit],
            looser=is_looser(limit, _known(after[limit]), _known(before[limit])),
        )
        for limit in limits.ALL.values()
        if before[limit].value != after[limit].value
    )


def _known(limit: InForce) -> Value:
    """Return the value; a country never leaves a limit without one."""
    if limit.value is None:
        raise ValueError(f"{limit.key} has no value")
    return limit.value

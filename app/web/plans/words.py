"""What is said of a plan in whole sentences, each with the limit behind it. Figures are in kept units."""

from collections.abc import Mapping
from math import ceil, floor
from typing import Any

from app.rules import limits

Answer = Mapping[str, Any]
# What is believed before the first dive counts as much as so many dives.
PRIOR_DIVES = 12


def who_turns(answer: Answer) -> str:
    """Say who turns the group, and whether that comes before the way up would begin anyway."""
    name = _name(answer, answer["first_to_turn"])
    minute = answer["minutes_to_first_turn"]
    if minute <= 0:
        return f"{name} starts at the turn pressure or under it."
    if minute >= answer["latest_ascent_min"]:
        return f"Nobody turns before the way up; {name} would be first, about minute {floor(minute)}."
    return f"{name} turns first, about minute {floor(minute)}."


def what_limits(answer: Answer) -> str:
    """Say what bounds the dive: the planned minutes, somebody's gas, or somebody's no-stop time."""
    who = _name(answer, answer.get("ascent_limit_who", answer["limit_who"]))
    latest = floor(answer["latest_ascent_min"])
    return {
        "planned_minutes": f"The planned {answer['ascent_starts_min']:g} minutes limit the dive.",
        "reserve": f"{who}'s gas limits the dive: way up by minute {latest}.",
        "no_stop": f"{who}'s no-stop time limits the dive: way up by minute {latest}.",
    }[ascent_limit(answer)]


def ascent_limit(answer: Answer) -> str:
    """Return what bounds the way up; in older plans that stands where newer ones name what comes first."""
    return str(answer.get("ascent_limit", answer["limit"]))


def finding(answer: Answer) -> str:
    """Say the least that anybody comes back with."""
    lowest = min(answer["divers"], key=lambda one: one["end_gauge_bar"])
    name, bar = lowest["name"], floor(lowest["end_gauge_bar"])
    if bar <= 0:
        return f"{name}'s gas does not last for this dive on the cautious rate."
    return (
        f"Everybody is back at the surface with {bar} bar or more on the cautious rate. {name} has the least."
    )


def least_no_stop(answer: Answer) -> str:
    """Say who has the least no-stop time left when the way up begins."""
    left = [
        (one["minutes_left"], one["name"]) for one in answer["nitrogen"] if one["minutes_left"] is not None
    ]
    if not left:
        return "Nobody has a limit at this depth."
    minutes, name = min(left)
    return f"{name} has the least left, {floor(minutes)} min." if minutes >= 0 else f"{name} is over it."


def rests_on(dives: int) -> str:
    """Say what a guest's breathing rate rests on after so many dives of the shop."""
    if dives == 0:
        return "Breathing: no shop data yet, our own starting guess."
    learned = f"Breathing: learned from {dives} {'dive' if dives == 1 else 'dives'} of this shop"
    few = dives < PRIOR_DIVES
    return f"{learned}. Our own starting guess still weighs more." if few else f"{learned}."


def warnings(answer: Answer) -> tuple[tuple[str, str], ...]:
    """Return (rule, sentence) for everything that the plan does not keep; sharing gas for all at once."""
    gas = {one["id"]: one for one in answer["divers"]}
    found = _sharing_warnings(answer, gas)
    for warn in answer["warnings"]:
        if warn["key"] == "sharing_needs_more_than_rule":
            continue
        one = gas[warn["who"]]
        name, value, reserve = one["name"], warn["value"], ceil(one["reserve_in_force_bar"])
        rule, sentence = {
            "out_of_gas": (
                limits.END_PRESSURE_MIN,
                f"{name}'s cylinder is empty at minute {floor(value)} of this dive.",
            ),
            "ends_under_reserve": (
                limits.END_PRESSURE_MIN,
                f"{name} would be back with {floor(value)} bar, under the reserve of {reserve} bar.",
            ),
            "reserve_at_or_over_turn": (
                limits.TURN_PRESSURE,
                f"{name}'s reserve of {reserve} bar is not under the turn pressure.",
            ),
            "over_no_stop": (
                limits.NO_STOP_LEFT_MIN,
                f"{name}'s no-stop time would be over by {ceil(-value)} min.",
            ),
        }[warn["key"]]
        found.append((rule.key, sentence))
    return tuple(found)


def _sharing_warnings(answer: Answer, gas: Answer) -> list[tuple[str, str]]:
    """Return one sentence for all whose cylinder needs the same to bring two people up."""
    alike: dict[tuple[int, int], list[str]] = {}
    for warn in answer["warnings"]:
        if warn["key"] == "sharing_needs_more_than_rule":
            one = gas[warn["who"]]
            key = (ceil(warn["value"]), ceil(one["reserve_in_force_bar"]))
            alike.setdefault(key, []).append(one["name"])
    return [
        (
            limits.SHARING_GAS_COVERED.key,
            f"Two people on one cylinder need {need} bar to come up. "
            f"So the reserve is {reserve} bar for {_listed(names)}.",
        )
        for (need, reserve), names in alike.items()
    ]


def _listed(names: list[str]) -> str:
    """Return names as they are said: Ann, Bo and Cy."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _name(answer: Answer, diver_id: str) -> str:
    return next((str(one["name"]) for one in answer["divers"] if one["id"] == diver_id), "")

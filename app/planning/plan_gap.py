"""Why a gauge read something else at the end than the plan expected: four causes that add up.

The dive is turned from the planned into the dived one step by step (start pressure, depth, minutes,
breathing) and each step is worth the bar by which it moves the end pressure. The order is fixed, because the
causes work on each other: deeper for longer costs more than the two alone.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from app.planning.breathing import LoggedDive, end_at_rate


@dataclass(frozen=True)
class Gap:
    """Bar by which each cause moved the end pressure: + left more gas than expected, - left less.

    breathing_bar holds what is left: how the diver breathed, and what the gauges' rounding adds.
    """

    expected_end_bar: float
    end_bar: float
    start_bar: float
    depth_bar: float
    minutes_bar: float
    breathing_bar: float

    @property
    def whole_bar(self) -> float:
        """The end pressure read, less the one the plan expected."""
        return self.end_bar - self.expected_end_bar


def gap(
    planned: LoggedDive, dived: LoggedDive, expected_rate_l_min: float, expected_end_bar: float | None = None
) -> Gap:
    """Return what explains the end pressure of a dive against its plan.

    planned: start pressure, minutes and mean depth as planned (its end is not looked at); dived: as logged.
    expected_rate_l_min: settled rate the plan expected, L/min. expected_end_bar: the end that the plan wrote;
    where its own stepped sum differs from this one, breathing_bar takes the difference.
    """
    steps = [replace(planned, litres=dived.litres)]
    steps.append(replace(steps[-1], start_bar=dived.start_bar))
    steps.append(replace(steps[-1], mean_depth_m=dived.mean_depth_m))
    steps.append(replace(steps[-1], minutes=dived.minutes))
    ends = [end_at_rate(step, expected_rate_l_min) for step in steps]
    start, depth, minutes = (after - before for before, after in pairwise(ends))
    expected = ends[0] if expected_end_bar is None else expected_end_bar
    rest = dived.end_bar - expected - start - depth - minutes
    return Gap(expected, dived.end_bar, start, depth, minutes, rest)

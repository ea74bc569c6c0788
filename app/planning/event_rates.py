"""How often something happens, with an honest interval: the exact interval of a count.

Garwood F. Fiducial limits for the Poisson distribution. Biometrika 1936;28:437-442. The interval holds the
mean for which the count that was seen, or a rarer one, is not rarer than half of what is left out.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

# Half of the 5 % that a 95 % interval leaves out on each side.
TAIL = 0.025
# Halvings until a mean is known to a millionth of itself.
HALVINGS = 60


@dataclass(frozen=True, slots=True)
class EventRate:
    """Events per hundred people, and the ends of the 95 % interval in the same measure."""

    per_hundred: float
    low: float
    high: float


def count_interval(count: int) -> tuple[float, float]:
    """Return the exact 95 % interval of the mean of a Poisson count; raises ValueError below 0.

    The interval of 0 begins at 0 and ends at 3.689, of 3 it is 0.619 to 8.767.
    """
    if count < 0:
        raise ValueError("a count is not below 0")
    # Seeing `count` or fewer grows rarer as the mean grows.
    high = _mean_where(lambda mean: at_most(count, mean) > TAIL, count + 10.0)
    low = 0.0 if count == 0 else _mean_where(lambda mean: 1 - at_most(count - 1, mean) < TAIL, float(count))
    return low, high


def rate_per_hundred(count: int, people: int) -> EventRate:
    """Return the rate of `count` events among `people`; raises ValueError without people."""
    if people <= 0:
        raise ValueError("a rate needs people")
    low, high = count_interval(count)
    return EventRate(*(100 * number / people for number in (count, low, high)))


def at_most(count: int, mean: float) -> float:
    """Return the chance of seeing `count` or fewer when the mean is `mean` (cumulative Poisson)."""
    if mean <= 0:
        return 1.0
    term = total = exp(-mean) if mean < 700 else 0.0
    if not term:
        return _at_most_large(count, mean)
    for k in range(1, count + 1):
        term *= mean / k
        total += term
    return min(total, 1.0)


def _at_most_large(count: int, mean: float) -> float:
    """The same in logarithms, for a mean whose first term is too small to be written."""
    logs, said = [], -mean
    for k in range(count + 1):
        said += log(mean / k) if k else 0.0
        logs.append(said)
    top = max(logs)
    return min(exp(top) * sum(exp(one - top) for one in logs), 1.0)


def _mean_where(holds: Callable[[float], bool], reach: float) -> float:
    """Return the mean at which `holds`, true for small means, stops holding."""
    below, above = 0.0, reach
    while holds(above):
        below, above = above, above * 2
    for _ in range(HALVINGS):
        middle = (below + above) / 2
        below, above = (middle, above) if holds(middle) else (below, middle)
    return (below + above) / 2

"""A share seen in a count, with the interval in which the true share lies nineteen times of twenty.

Wilson E. B. Probable inference, the law of succession, and statistical inference. J Am Stat Assoc
1927;22:209-212. Unlike the plain one, the interval is never empty at none and at all.
"""

from dataclasses import dataclass
from math import sqrt

# Nineteen of twenty.
WILSON_Z = 1.96
# With fewer counted nothing can be told of a share.
FEW = 20


@dataclass(frozen=True, slots=True)
class Share:
    """``count`` of ``of``. low, high: where the true share lies, as shares of 1."""

    count: int
    of: int

    def __post_init__(self) -> None:
        """Refuse a count that is not part of its whole."""
        if not 0 <= self.count <= self.of:
            raise ValueError("a share is a part of its whole")

    @property
    def share(self) -> float | None:
        """The share as seen; None of nothing."""
        return self.count / self.of if self.of else None

    @property
    def few(self) -> bool:
        """Whether too few were counted to tell."""
        return self.of < FEW

    @property
    def interval(self) -> tuple[float, float]:
        """Where the true share lies; all of it while nothing was counted."""
        if self.of == 0:
            return 0.0, 1.0
        share, z2 = self.count / self.of, WILSON_Z * WILSON_Z
        middle = (share + z2 / (2 * self.of)) / (1 + z2 / self.of)
        away = WILSON_Z / (1 + z2 / self.of)
        away *= sqrt(share * (1 - share) / self.of + z2 / (4 * self.of * self.of))
        return max(0.0, middle - away), min(1.0, middle + away)

"""A value known as a range: low, best, high."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """low <= best <= high, all in one unit, which whoever makes it names [any]."""

    low: float
    best: float
    high: float

    def map(self, function: Callable[[float], float]) -> "Spread":
        """The range of a function that only rises or only falls, in the unit it gives [any]."""
        ends = function(self.low), function(self.high)
        return Spread(min(ends), function(self.best), max(ends))

    @property
    def is_point(self) -> bool:
        """Whether nothing lies between low and high."""
        return self.low == self.high

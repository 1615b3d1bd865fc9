"""A value known as a range: low, best, high."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """low <= best <= high, all in the same SI unit."""

    low: float
    best: float
    high: float

    def map(self, function: Callable[[float], float]) -> "Spread":
        """The range of a function that only rises or only falls."""
        ends = function(self.low), function(self.high)
        return Spread(min(ends), function(self.best), max(ends))

    @property
    def is_point(self) -> bool:
        return self.low == self.high

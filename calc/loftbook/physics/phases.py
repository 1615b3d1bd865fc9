"""Where a descent changes its rate: the turns of a broken line through heights over time, and where it begins and ends.

Least squares over every way of breaking the line, by dynamic programming (Bellman 1961, Communications of the ACM 4, 284:
the approximation of curves by line segments; from memory). A turn counts only where the rate changes by half or more, which
no canopy that stays open does: so gusts make no phases.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from loftbook.physics.atmosphere import G0
from loftbook.physics.elementary import median

CHANGE = 1.5  # rates of neighbours differ by this factor at least (our choice)
SHORTEST = 4.0  # s that a phase lasts at least (our choice)
_MOST, _GRID = 4, 140  # phases between the top and the ground; means that they are sought in
_REST = 4.0  # m that an instrument on the ground may wander (our choice)
SLOWEST = 1.0  # m/s, slower than any canopy lets anything down: it lies, hangs or is dragged (our choice)
_SLOW_TIME, _REST_TIME = 4.0, 2.0  # s that it must be so slow to be believed; at the end of a record so much is enough (our choice)
_LEDGE = 30.0  # m that it may still come down once it hangs in a tree or is dragged down a slope (our choice)
_LAG = 2.0  # s that an instrument's filter and a canopy's filling may take (our choice)


@dataclass(frozen=True)
class Stretch:
    """From start to end [s], at a mean rate downward [m/s]."""

    start: float
    end: float
    rate: float

    @property
    def steady(self) -> tuple[float, float]:
        """The part of it in which it sinks steadily [s]: less what it takes to settle, and the last two seconds.

        A difference from the steady rate v dies away with a time v / 2 g (the law of motion about that rate): five of these
        leave less than a hundredth. At most half of it is given up to that.
        """
        settling = 5 * self.rate / (2 * G0) + _LAG
        start = min(self.start + settling, (self.start + self.end) / 2)
        return start, max(start, self.end - _LAG)


def calmed(heights: Sequence[float]) -> list[float]:
    """Each height [m] as the median of five about it, fewer next to the ends: no single sample makes a top or a touchdown."""
    return [median(heights[max(0, i - 2) : i + 3]) for i in range(len(heights))]


def top_of(heights: Sequence[float]) -> int:
    """Place of the greatest height [m] of at least one."""
    return heights.index(max(heights))


def touchdown(times: Sequence[float], heights: Sequence[float]) -> float | None:
    """When it came to lie or hang [s]: the first time after the top from which on its heights [m] fall slower than 1 m/s for 4 s, or for
    what is left of the record and 2 s at least; None where the record ends in the air.

    What comes after is no descent: a fall out of a tree, a canopy dragging it along, an instrument that wanders. Where it comes
    down 30 m or more after that it may have been lift, high up: then a later time is looked for.
    """
    top, last = top_of(heights), len(times) - 1
    lowest, ahead = list(heights), 0
    for i in range(last - 1, -1, -1):
        lowest[i] = min(lowest[i], lowest[i + 1])
    for i in range(top, last):
        ahead = max(ahead, i + 1)
        while ahead < last and times[ahead] - times[i] < _SLOW_TIME:
            ahead += 1
        lasts = times[ahead] - times[i]
        slow = lasts >= _REST_TIME and heights[i] - heights[ahead] < SLOWEST * lasts
        if slow and heights[i] - lowest[i] < _LEDGE:
            return times[i]
    return None


class _Sums:
    """Sums of times [s] and heights [m] up to each place, so that a line's misfit is found at once."""

    def __init__(self, times: Sequence[float], heights: Sequence[float]) -> None:
        self.rows = [(0.0, 0.0, 0.0, 0.0, 0.0)]
        t0, z0 = times[0], heights[0]
        for time, height in zip(times, heights, strict=True):
            t, z = time - t0, height - z0
            one = self.rows[-1]
            self.rows.append((one[0] + t, one[1] + z, one[2] + t * t, one[3] + t * z, one[4] + z * z))

    def line(self, first: int, last: int) -> tuple[float, float]:
        """Slope [m/s] and misfit [m^2] of the best line through the samples from first to before last."""
        t, z, tt, tz, zz = (b - a for a, b in zip(self.rows[first], self.rows[last], strict=True))
        n = last - first
        spread = tt - t * t / n
        slope = (tz - t * z / n) / spread if spread > 0 else 0.0
        return slope, max(0.0, zz - z * z / n - slope * (tz - t * z / n))


def _broken(times: Sequence[float], heights: Sequence[float]) -> list[list[int]]:
    """For one phase, two and so on: the places [samples] at which the best broken line of that many breaks, ends counted in."""
    sums, count = _Sums(times, heights), len(times)

    def apart(first: int, last: int) -> bool:
        """Whether a phase from first to before last is long enough."""
        return last - first >= 4 and times[last - 1] - times[first] >= SHORTEST * 0.9

    costs = [{last: sums.line(first, last)[1] for last in range(first + 4, count + 1) if apart(first, last)} for first in range(count)]
    best: list[dict[int, tuple[float, int]]] = [{last: (cost, 0) for last, cost in costs[0].items()}] if costs else [{}]
    for _ in range(_MOST - 1):
        found: dict[int, tuple[float, int]] = {}
        for middle, (before, _) in best[-1].items():
            if middle < count:
                for last, cost in costs[middle].items():
                    if last not in found or before + cost < found[last][0]:
                        found[last] = (before + cost, middle)
        best.append(found)
    ways = []
    for level in range(_MOST):
        if count in best[level]:
            ends = [count]
            for back in range(level, -1, -1):
                ends.append(best[back][ends[-1]][1])
            ways.append(ends[::-1])
    return ways


def stretches(times: Sequence[float], heights: Sequence[float], end: float | None = None) -> tuple[Stretch, ...]:
    """The phases of a descent from the greatest of the heights [m] until an end [s], or until the last of the rising times [s].

    As many, up to four, as have rates that differ by half or more from each neighbour's and last 4 s or longer; none where
    the descent lasts less than that. Each is found to about a hundredth of the way down.
    """
    top = top_of(heights)
    last = next((i for i in range(len(times) - 1, top, -1) if end is None or times[i] <= end), top)
    count = last - top + 1
    if count < 8 or times[last] - times[top] < SHORTEST:
        return ()
    cells = min(_GRID, count)
    ends = [top + count * i // cells for i in range(cells + 1)]
    at = [sum(times[a:b]) / (b - a) for a, b in pairwise(ends)]
    mean = [sum(heights[a:b]) / (b - a) for a, b in pairwise(ends)]
    sums = _Sums(at, mean)
    chosen: list[tuple[int, int, float]] = []
    for breaks in _broken(at, mean):
        made = [(a, b, -sums.line(a, b)[0]) for a, b in pairwise(breaks)]
        if all(rate > 0 for *_, rate in made) and all(max(r, s) >= CHANGE * min(r, s) for (*_, r), (*_, s) in pairwise(made)):
            chosen = made
    return tuple(Stretch(times[ends[a]], times[min(ends[b], last)], rate) for a, b, rate in chosen)


def climbed(times: Sequence[float], heights: Sequence[float]) -> float:
    """When it left the ground [s], of rising times [s] and heights [m]: the last time before the top that it was near its first heights."""
    top = top_of(heights)
    base = median(heights[: max(1, min(20, top + 1))])
    return times[max((i for i in range(top + 1) if heights[i] <= base + _REST), default=0)]

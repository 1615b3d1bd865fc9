"""A flight as an altimeter showed it: height against time, its phases as bands, what was fitted, and what is amiss with the record."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.drawing.chart import LEFT, RIGHT, Write, ticks
from loftbook.drawing.markup import number, tenth
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Drawing, Paper

_NAMES, _TALL, _FOOT = 38.0, 190.0, 46.0  # picture units: room above for names, of the axes, below for figures
_BANDS = 48  # that tell the numbers under a finger
_CROSS = 4.0


@dataclass(frozen=True)
class Band:
    """A phase: its name, from when to when [s], whether a canopy was open."""

    name: str
    start: float
    end: float
    canopy: bool


@dataclass(frozen=True)
class Record:
    """Samples [s, m] in rising times; places of those left out; from when to when [s] none came, and from when to when a fit was made."""

    times: Sequence[float]
    heights: Sequence[float]
    spikes: frozenset[int]
    gaps: Sequence[tuple[float, float]]
    bands: Sequence[Band]
    fits: Sequence[tuple[float, float]]


class _Chart(Paper):
    """Paper with an axis of times and one of heights, neither of which need begin at zero. SI."""

    def __init__(self, record: Record, kept: Sequence[tuple[float, float]]) -> None:
        super().__init__(_NAMES + _TALL + _FOOT)
        self.record, self.kept = record, kept
        self.first, self.last = record.times[0], max(record.times[-1], record.times[0] + 1e-3)
        heights = [height for _, height in kept]
        self.lowest, self.highest = min(0.0, *heights), max(1.0, *heights) * 1.05
        self.foot = _NAMES + _TALL

    def x(self, time: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (min(self.last, max(self.first, time)) - self.first) / (self.last - self.first)

    def y(self, height: float) -> float:
        return _NAMES + _TALL * (self.highest - min(self.highest, max(self.lowest, height))) / (self.highest - self.lowest)

    def box(self, class_: str, start: float, end: float, told: str | None = None) -> None:
        """From top to foot between two times."""
        left, right = self.x(start), self.x(end)
        self.add("rect", class_, x=number(left), y=number(_NAMES), width=number(max(0.0, right - left)), height=number(_TALL), data_told=told)

    def axes(self, write: Write, scale: float) -> None:
        for value in ticks(self.lowest / scale, self.highest / scale):
            y = self.y(value * scale)
            self.rule("grid", (LEFT, y), (WIDTH - RIGHT, y))
            self.words((LEFT - 5, y + 5), write(value * scale), "end", "dim-text", optional=True)
        for time in ticks(self.first, self.last):
            x = self.x(time)
            self.rule("dim", (x, self.foot), (x, self.foot + 5))
            self.words((x, self.foot + 5 + TEXT), f"{time:g}", "middle", "dim-text", optional=True)

    def phases(self) -> None:
        """Each with its number, and its name where there is room; a canopy's shaded, the number is that of the table."""
        for count, band in enumerate(self.record.bands, 1):
            self.box("phase canopy" if band.canopy else "phase", band.start, band.end)
            left, right = self.x(band.start), self.x(band.end)
            self.rule("phase-edge", (left, _NAMES - 16), (left, self.foot))
            words = f"{count} {band.name}"
            said = words if LETTER * len(words) < right - left else str(count)
            self.words(((left + right) / 2, _NAMES - 4), said, "middle", "strong" if band.canopy else "dim-text", optional=True)

    def curve(self, class_: str, spots: Sequence[tuple[float, float]]) -> None:
        way = " ".join(f"{tenth(self.x(time))},{tenth(self.y(height))}" for time, height in spots)
        if spots:
            self.add("polyline", class_, points=way)

    def amiss(self) -> None:
        """Gaps as boxes, samples that were left out as crosses; those beyond the axes lie at their edge."""
        for start, end in self.record.gaps:
            self.box("gap", start, end)
        way = ""
        for i in sorted(self.record.spikes)[:200]:
            x, y = self.x(self.record.times[i]), self.y(self.record.heights[i])
            way += f"M{tenth(x - _CROSS)} {tenth(y - _CROSS)}l{tenth(2 * _CROSS)} {tenth(2 * _CROSS)}m0 {tenth(-2 * _CROSS)}l{tenth(-2 * _CROSS)} {tenth(2 * _CROSS)}"
        if way:
            self.add("path", "spike", d=way)

    def fingers_told(self, write: Write) -> None:
        """What is told where a finger is: time, height, phase."""
        step = (self.last - self.first) / _BANDS
        times = [time for time, _ in self.kept]
        for i in range(_BANDS):
            start, middle = self.first + step * i, self.first + step * (i + 0.5)
            place = min(len(times) - 1, bisect_left(times, middle))
            said = [f"{times[place]:.1f} s: {write(self.kept[place][1])}"]
            said += [band.name for band in self.record.bands if band.start <= middle < band.end]
            self.box("chart-band", start, start + step, ", ".join(said))


def _thinned(spots: Sequence[tuple[float, float]], first: float, last: float) -> list[tuple[float, float]]:
    """As many as a picture can show: of each narrow upright strip its lowest and its highest, in the order they came."""
    if len(spots) <= 600:
        return list(spots)
    strips: dict[int, list[tuple[float, float]]] = {}
    for spot in spots:
        strips.setdefault(int((spot[0] - first) / (last - first) * 280), []).append(spot)
    made = []
    for inside in strips.values():
        made += sorted({min(inside, key=lambda spot: spot[1]), max(inside, key=lambda spot: spot[1])})
    return made


def flown(name: str, description: str, x_label: str, y_label: str, record: Record, write: Write, scale: float = 1.0) -> Drawing:
    """Height [m] over time [s] of a record of two samples or more. write: a height in the reader's words; scale: metres of one unit of
    theirs, for round figures. What was fitted is drawn thick between its limits."""
    kept = [(time, height) for i, (time, height) in enumerate(zip(record.times, record.heights, strict=True)) if i not in record.spikes]
    made = _Chart(record, kept)
    made.words((4, TEXT), y_label, "start")
    made.words((WIDTH - RIGHT, made.height - 6), x_label, "end")
    made.phases()
    made.axes(write, scale)
    made.amiss()
    times = [time for time, _ in kept]
    for start, end in record.fits:
        made.curve("fitted", _thinned(kept[bisect_left(times, start) : bisect_right(times, end)], made.first, made.last))
        for limit in (start, end):
            made.rule("limit", (made.x(limit), _NAMES), (made.x(limit), made.foot))
    made.curve("chart-line", _thinned(kept, made.first, made.last))
    made.fingers_told(write)
    return made.drawing(name, description, "loft-chart loft-flown")

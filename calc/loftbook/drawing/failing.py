"""What fails, side by side: small ways down with their ends, and energies on a scale of tens with the limit drawn across."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loftbook.drawing.markup import number, rectangle
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Drawing, Paper
from loftbook.physics.elementary import logarithm

LEFT, RIGHT, TOP = 6.0, 6.0, 46.0
ROW, BAR = 34.0, 9.0
Write = Callable[[float], str]


@dataclass(frozen=True)
class Way:
    """One failure: its name, how it ends in words, whether all is well then, and times [s] and heights [m] on the way down."""

    name: str
    end: str
    well: bool
    spots: tuple[tuple[float, float], ...]


_HIGH, _BESIDE = 30.0, 74.0  # of a way down, and where on the right its picture begins


def ways_down(name: str, description: str, rows: Sequence[Way]) -> Drawing:
    """A row for each: what fails over how it ends, and the way down, all to one scale; its end a dot, or a cross."""
    made = Paper((_HIGH + 8) * len(rows))
    longest = max(time for row in rows for time, _ in row.spots)
    highest = max(height for row in rows for _, height in row.spots)
    left = WIDTH - _BESIDE
    for i, row in enumerate(rows):
        top = (_HIGH + 8) * i + 4
        made.words((2, top + 0.8 * TEXT), _short(row.name), "start")
        made.words((2, top + 1.95 * TEXT), _short(row.end), "start", "dim-text")
        spots = [(left + 60 * time / longest, top + _HIGH * (1 - height / highest)) for time, height in row.spots]
        made.rule("grid", (left - 4, top + _HIGH), (WIDTH - 2, top + _HIGH))
        way = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in spots)
        made.add("path", "path", d=way)
        x, y = spots[-1]
        if row.well:
            made.spot("corner", (x, y), 3.5)
        else:
            made.add("path", "crossed", d=f"M{number(x - 5)} {number(y - 5)}L{number(x + 5)} {number(y + 5)}M{number(x - 5)} {number(y + 5)}L{number(x + 5)} {number(y - 5)}")
    return made.drawing(name, description)


def _short(words: str) -> str:
    """As much as has room before the ways down."""
    most = int((WIDTH - _BESIDE - 10) / LETTER)
    return words if len(words) <= most else f"{words[: most - 1].rstrip(' ,:')}…"


@dataclass(frozen=True)
class Bar:
    """One line: its words, and the low and high end of its range, SI."""

    name: str
    low: float
    high: float


def bars(
    name: str, description: str, scale: str, rows: Sequence[Bar], limit: float, unit: float, write: Write
) -> Drawing:
    """A range for each of the rows, at least one. limit: drawn across, SI; unit: SI of one unit of the reader's.

    scale: what the figures are in words, so that `write` gives bare figures.
    """
    first, last = _tens(rows, unit)
    made = Paper(TOP + ROW * len(rows) + 4)

    def across(value: float) -> float:
        """From a value to its place on the scale of tens."""
        tens = logarithm(max(value / unit, 1e-9)) / logarithm(10.0)
        return LEFT + (WIDTH - LEFT - RIGHT) * min(1.0, max(0.0, (tens - first) / (last - first)))

    made.words((LEFT, TEXT), scale, "start", "dim-text")
    for power in range(first, last + 1):
        made.words((across(unit * _ten(power)), TOP - 14), write(unit * _ten(power)), "middle", "dim-text", optional=True)
    for i, row in enumerate(rows):
        y = TOP + ROW * i
        made.words((LEFT, y + TEXT), row.name, "start")
        made.words((WIDTH - RIGHT, y + TEXT), write(row.high), "end")
        top, foot = y + TEXT + 4, y + TEXT + 8 + BAR
        for power in range(first, last + 1):
            made.rule("grid", (across(unit * _ten(power)), top), (across(unit * _ten(power)), foot))
        begins, ends = across(row.low), across(row.high)
        begins = min(begins, max(LEFT, ends - 4))
        kind = "short" if row.high > limit else "bundle"
        made.put(rectangle(kind, (begins, y + TEXT + 6), max(4.0, ends - begins), BAR))
        made.rule("crease", (across(limit), top), (across(limit), foot))
    return made.drawing(name, description, "loft-bars")


def _ten(power: int) -> float:
    """Ten to a whole power, the same bits everywhere."""
    return float(10**power) if power >= 0 else 1 / 10**-power


def _tens(rows: Sequence[Bar], unit: float) -> tuple[int, int]:
    """The powers of ten that hold all rows, the lowest one for nothing at all."""
    first, last = 0, 2
    most, least = max(row.high for row in rows) / unit, min(row.low for row in rows) / unit
    while _ten(last) < most and last < 12:
        last += 1
    while _ten(first) > least and first > -1:
        first -= 1
    return first, last

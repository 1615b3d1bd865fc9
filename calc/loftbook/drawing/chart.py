"""Line charts on the same canvas as the drawings: two axes, a few lines, and bands that tell the numbers under a finger."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loftbook.drawing.markup import number
from loftbook.drawing.svg import TEXT, WIDTH, Drawing, Paper

LEFT, RIGHT, TOP, BOTTOM, TALL = 62.0, 14.0, 28.0, 46.0, 150.0
BESIDE = 120.0  # room for the words of events
_ROW = TEXT + 2
Write = Callable[[float], str]


@dataclass(frozen=True)
class Line:
    """Points in SI along one curve; `class_` tells its look (line-1, line-2, line-3), `name` its label."""

    name: str
    points: Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Mark:
    """An event on a curve: where it is (SI), what is said beside it, row by row."""

    spot: tuple[float, float]
    rows: tuple[str, ...]


def ticks(low: float, high: float) -> list[float]:
    """Three to six round values from low to high."""
    span = high - low
    step = 1.0
    while step * 5 > span:
        step /= 10
    while step * 5 <= span:
        step *= 10
    step /= 10
    step *= next(k for k in (1, 2, 5, 10) if span / (step * k) <= 5.0001)
    first = -int(-low // step) if low > 0 else int(low // step)
    return [step * i for i in range(int(first), int(high // step) + 1) if low <= step * i <= high * (1 + 1e-12)]


class _Chart(Paper):
    """Paper with two axes from zero up to the greatest values, SI."""

    def __init__(self, most_x: float, most_y: float, marks: Sequence[Mark]) -> None:
        self.tall = max(TALL, sum(len(one.rows) * _ROW + 3 for one in marks))
        super().__init__(TOP + self.tall + BOTTOM)
        self.most_x, self.most_y, self.right = most_x, most_y, BESIDE if marks else RIGHT

    def x(self, value: float) -> float:
        return LEFT + (WIDTH - LEFT - self.right) * value / self.most_x

    def y(self, value: float) -> float:
        return TOP + self.tall * (1 - value / self.most_y)

    def axes(self, write_x: Write, write_y: Write, scale: tuple[float, float]) -> None:
        """Grid lines and figures at round values in the reader's units."""
        for value in ticks(0.0, self.most_y / scale[1]):
            y = self.y(value * scale[1])
            self.rule("grid", (LEFT, y), (WIDTH - self.right, y))
            self.words((LEFT - 5, y + 5), write_y(value * scale[1]), "end", "dim-text", optional=True)
        foot = TOP + self.tall
        for value in ticks(0.0, self.most_x / scale[0]):
            x = self.x(value * scale[0])
            self.rule("dim", (x, foot), (x, foot + 5))
            self.words((x, foot + 5 + TEXT), write_x(value * scale[0]), "middle", "dim-text", optional=True)

    def curves(self, lines: Sequence[Line]) -> None:
        """The lines; several are named, each at a place of its own."""
        for i, line in enumerate(lines, 1):
            spots = " ".join(f"{number(self.x(x))},{number(self.y(y))}" for x, y in line.points)
            self.add("polyline", f"chart-line line-{i}", points=spots)
            if len(lines) > 1:
                x, y = line.points[len(line.points) * i // (len(lines) + 1)]
                self.words((self.x(x) + 4, max(TOP, self.y(y) - 6)), line.name, "start")

    def marks(self, marks: Sequence[Mark]) -> None:
        """Events on the curve; their words stand beside the axes, each near its own height, with a leader."""
        beside, placed = WIDTH - self.right + 16, self._apart(sorted(marks, key=lambda mark: -mark.spot[1]))
        for one, first in placed:
            x, y = self.x(one.spot[0]), self.y(one.spot[1])
            self.rule("dim", (x, y), (beside - 4, first + (len(one.rows) - 1) * _ROW / 2 - 5))
            self.spot("chart-mark", (x, y), 4.5)
            for row, words in enumerate(one.rows):
                self.words((beside, first + row * _ROW), words, "start", "dim-text" if row else "text")

    def _apart(self, marks: Sequence[Mark]) -> list[tuple[Mark, float]]:
        """Events from the highest down with the line on which the words of each begin: pushed down, then up from the foot."""
        lines, free = list[float](), TOP - 8
        for one in marks:
            lines.append(max(free, self.y(one.spot[1]) + 5 - (len(one.rows) - 1) * _ROW / 2))
            free = lines[-1] + len(one.rows) * _ROW + 3
        free = TOP + self.tall + 6 + _ROW
        for i, one in reversed(list(enumerate(marks))):
            lines[i] = min(lines[i], free - len(one.rows) * _ROW)
            free = lines[i] - 3
        return list(zip(marks, lines, strict=True))

    def bands(self, told: Sequence[tuple[float, str]]) -> None:
        """What is told where a finger is."""
        edges = [0.0, *((a + b) / 2 for (a, _), (b, _) in itertools.pairwise(told)), self.most_x]
        for (_, words), low, high in zip(told, edges, edges[1:], strict=False):
            x, wide = number(self.x(low)), number(max(0.0, self.x(high) - self.x(low)))
            self.add("rect", "chart-band", x=x, y=number(TOP), width=wide, height=number(self.tall), data_told=words)


def chart(
    name: str,
    description: str,
    x_label: str,
    y_label: str,
    lines: Sequence[Line],
    write_x: Write,
    write_y: Write,
    scale: tuple[float, float] = (1.0, 1.0),
    told: Sequence[tuple[float, str]] = (),
    marks: Sequence[Mark] = (),
) -> Drawing:
    """A chart of lines sharing their axes, from zero up. `scale`: SI of one unit of the reader's on each axis, for
    round ticks. `told`: (x, words) shown when a finger is there; bands lie between the midpoints; `marks`: events.
    """
    most_x = max(x for line in lines for x, _ in line.points) or 1.0
    most_y = 1.08 * max(y for line in lines for _, y in line.points) or 1.0
    made = _Chart(most_x, most_y, marks)
    made.words((4, TEXT + 2), y_label, "start")
    made.words((WIDTH - made.right + 10, made.height - 6), x_label, "end")
    made.axes(write_x, write_y, scale)
    made.marks(marks)
    made.curves(lines)
    made.bands(told)
    return made.drawing(name, description, "loft-chart")

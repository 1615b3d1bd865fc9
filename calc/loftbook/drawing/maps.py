"""The landing from above: field, pad and wind, shaded by share of the landings, and the walks to them. Words come from the caller."""

from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.drawing.markup import Markup, number, rectangle, traced
from loftbook.drawing.svg import LETTER, WIDTH, Canvas, Drawing, Length
from loftbook.physics.elementary import sqrt
from loftbook.physics.scatter import Cell, Ground
from loftbook.physics.wind import Vector

_ROW = 20  # picture units
_SIGN = 16.0
_SHADES = ("all", "most", "half")  # classes of the levels, palest first
_INSET = 0.22  # of a cell's side left free all round, so that a second part's cells let the first one's through


@dataclass(frozen=True)
class Walk:
    """From the pad to a spot [m], and what is said of it."""

    spot: Vector
    said: str


@dataclass(frozen=True)
class Landing:
    """Where one part may land: cells by level (half of the landings, with these nine in ten, all), two walks to it."""

    name: str
    levels: Sequence[Sequence[Cell]]
    likely: Walk
    far: Walk


def landing_map(
    landings: Sequence[Landing], side: float, ground: Ground, wind: tuple[Vector, str], height: Length, unit: float, description: str
) -> Drawing:
    """Seen from above, north up, to scale: field, pad, and of every part shaded cells of a side [m] and the walks there.

    The first part's cells are full, the second's smaller squares. wind: its velocity [m/s] and in words. unit: SI of the
    reader's unit, for a round scale bar.
    """
    spots = [(side * (cell.east + i), side * (cell.north + i)) for one in landings for level in one.levels for cell in level for i in (0, 1)]
    xs = [x for x, _ in spots] + [-ground.west, ground.east, -10.0, 10.0]
    ys = [y for _, y in spots] + [-ground.south, ground.north, -10.0, 10.0]
    rows = 3 * len(landings)
    canvas = Canvas((min(xs), min(ys), max(xs), max(ys)), left=20, right=20, top=46, bottom=52 + _ROW * rows, tallest=140)
    low, high = (-ground.west, -ground.south), (ground.east, ground.north)
    canvas.shape("field", (low, (high[0], low[1]), high, (low[0], high[1])))
    for i, landing in enumerate(landings):
        _shaded(canvas, landing, side, ground, _INSET if i else 0.0, " second" if i else "")
    canvas.shape("field-edge", (low, (high[0], low[1]), high, (low[0], high[1])))
    for landing in landings:
        canvas.segment("path", (0, 0), landing.likely.spot)
        canvas.segment("path-edge", (0, 0), landing.far.spot)
        canvas.dot("likely", landing.likely.spot, 4)
        canvas.dot("far", landing.far.spot, 4)
    canvas.dot("pad", (0, 0), 5)
    _head(canvas, *wind)
    bar = round_length((max(xs) - min(xs)) / 4 / unit) * unit
    canvas.across(min(xs), min(xs) + bar, min(ys), height(bar), below=14)
    _key(canvas, landings, canvas.height - _ROW * rows - 8)
    return canvas.drawing("Where it may land, seen from above, to scale", description)


def _shaded(canvas: Canvas, landing: Landing, side: float, ground: Ground, inset: float, which: str) -> None:
    """One part's cells, the palest first, one path for a level; those whose middle is off the field have a class for it."""
    long = number(side * (1 - 2 * inset) * canvas.scale)
    for name, level in zip(_SHADES, reversed(landing.levels), strict=True):
        ways = {"": "", " outside": ""}
        for cell in level:
            middle = (side * (cell.east + 0.5), side * (cell.north + 0.5))
            x, y = canvas.at((side * (cell.east + inset), side * (cell.north + 1 - inset)))
            ways["" if ground.holds(middle) else " outside"] += f"M{number(x)} {number(y)}h{long}v{long}h-{long}z"
        for where, way in ways.items():
            if way:
                canvas.put(traced(f"share {name}{which}{where}", way))


def _head(canvas: Canvas, wind: Vector, said: str) -> None:
    """What the signs in the map are, north, and the wind as an arrow that flies with it."""
    canvas.put(_arrow("north", 308, 20, (0.0, 1.0), 26))
    canvas.words((298, 24), "north", "end")
    canvas.spot("pad", (186, 19), 5)
    canvas.words((198, 24), "pad", "start")
    speed = sqrt(wind[0] * wind[0] + wind[1] * wind[1])
    canvas.words((38 if speed > 0 else 4, 24), said, "start")
    if speed > 0:
        canvas.put(_arrow("wind", 19, 19, (wind[0] / speed, wind[1] / speed), 26))


def _arrow(class_: str, x: float, y: float, way: Vector, long: float) -> Markup:
    """A straight arrow about a middle [picture units] along a direction (east, north)."""
    ux, uy = way[0], -way[1]
    tip, back = (x + ux * long / 2, y + uy * long / 2), (x - ux * long / 2, y - uy * long / 2)
    barbs = [(tip[0] - 8 * ux + side * 5 * uy, tip[1] - 8 * uy - side * 5 * ux) for side in (-1, 1)]
    spots = [back, tip, barbs[0], tip, barbs[1]]
    return traced(class_, "".join(f"{'L' if i else 'M'}{number(px)} {number(py)}" for i, (px, py) in enumerate(spots)))


def _key(canvas: Canvas, landings: Sequence[Landing], top: float) -> None:
    """What the shades and both walks of each part mean, below the map."""
    y = top
    for i, landing in enumerate(landings):
        which = " second" if i else ""
        x = 4.0
        for class_, said in zip(reversed(_SHADES), ("half", "9 in 10", "all"), strict=True):
            gap = _INSET * _SIGN if i else 0.0
            canvas.put(rectangle(f"share {class_}{which}", (x + gap, y + gap), _SIGN - 2 * gap, _SIGN - 2 * gap))
            canvas.words((x + _SIGN + 5, y + 13), said, "start")
            x += _SIGN + 18 + LETTER * len(said)
        if len(landings) > 1:
            canvas.words((WIDTH - 4, y + 13), landing.name, "end")
        for class_, dot, walk in (("path", "likely", landing.likely), ("path-edge", "far", landing.far)):
            y += _ROW
            canvas.rule(class_, (4, y + 8), (26, y + 8))
            canvas.spot(dot, (26, y + 8), 4)
            canvas.words((36, y + 13), walk.said, "start")
        y += _ROW
    canvas.height = y + 4


def round_length(value: float) -> float:
    """The largest 1, 2 or 5 times a power of ten not above a value."""
    step = 1e-3
    while step * 10 <= value:
        step *= 10
    return step * next(k for k in (5, 2, 1) if step * k <= value)

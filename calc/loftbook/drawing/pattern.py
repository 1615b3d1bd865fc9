"""Pieces of a sewing pattern at full size, or as a paper model, in millimetres: lines that say by their look what they are.

Metres in (x right, y up), millimetres out (x right, y down). One unit of the picture is one millimetre of paper. All is black on
white, and each kind of line has a look of its own. A file of these stands alone: what its lines look like is written in it.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from textwrap import wrap
from typing import Literal

from loftbook.drawing.markup import SVG, Markup, element, lettering
from loftbook.physics.elementary import sqrt

Point = tuple[float, float]
Run = tuple[Point, ...]  # an open row of points
Box = tuple[float, float, float, float]  # left, top, right, bottom
Kind = Literal["cut", "sew", "fold", "notch", "mark", "grain"]
Strokes = tuple[tuple[Kind, Run], ...]

FULL, MODEL = 1, 10  # a picture's millimetre is so many of the cloth
LETTERS = 4.6  # size of letters [mm]: a capital is 3.3 mm high
LEAD = 6.0  # from line to line [mm]
LARGE = 7.5
_WIDE = 0.57  # width of a letter by its size, on the safe side
_FONT = "Arial, Helvetica, Liberation Sans, DejaVu Sans, sans-serif"
_GAP = 15.0  # between pieces [mm]
_HEAD = 6.0  # of the grain's arrow [mm]
_NUMBER = re.compile(r"(\d) (?=[^\W\d])")
_ON_FOLD = 1e-9  # metres: a point so near to a fold's line lies on it

# How wide a line is, and its dashes [mm]; a paper model's are half of that. What is cut is drawn last, on top.
LOOKS: Mapping[Kind, tuple[float, tuple[float, ...]]] = {
    "grain": (0.35, ()),
    "mark": (0.3, (1, 1.5)),
    "notch": (0.6, ()),
    "fold": (2.0, ()),  # a white line runs along its middle: it is seen as two
    "sew": (0.4, (5, 2.5)),
    "cut": (0.8, ()),
}
_MIDDLE = 0.6  # of the width of a fold's line
MEANING: Mapping[Kind, str] = {
    "cut": "cut the cloth here",
    "sew": "seam, finished edge of the hem: fold the paper in here and trace it",
    "fold": "lay on a fold; do not cut",
    "notch": "notch: draw it, never snip it",
    "mark": "mark on the cloth; do not cut",
    "grain": "grain: parallel to the cloth’s selvage; do not cut",
}


@dataclass(frozen=True)
class Part:
    """A piece as it is drawn [m], outlines closed, their last point not repeated; all words are the reader's.

    canopy, name: "main", "gore"; cut: where the scissors go; notches: each a short line; notes: such as "seam 12 mm";
    dashes: what the dashed lines are; marks: lines that are drawn on the cloth and not cut; layers: of cloth folded so that one cut makes all of it, folds: two points
    of each edge that then lies on a fold.
    """

    canopy: str
    name: str
    count: int
    finished: tuple[Point, ...]
    cut: tuple[Point, ...]
    notches: tuple[tuple[Point, Point], ...]
    grain: tuple[Point, Point]
    notes: tuple[str, ...]
    marks: tuple[Run, ...] = ()
    layers: int = 1
    folds: tuple[tuple[Point, Point], ...] = ()
    dashes: str = MEANING["sew"]

    @property
    def title(self) -> str:
        """Canopy and piece."""
        return f"{self.canopy} · {self.name}"

    @property
    def cutting(self) -> str:
        """How many are cut, and how."""
        return f"cut once through {self.layers} layers" if self.layers > 1 else f"cut {self.count}"


# --- outlines -----------------------------------------------------------------------------------------


def _on(line: tuple[Point, Point], spot: Point) -> bool:
    """Whether a spot lies on the line through two points."""
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    return abs(dx * (spot[1] - y0) - dy * (spot[0] - x0)) <= _ON_FOLD * sqrt(dx * dx + dy * dy)


def _sides(outline: Run, folds: tuple[tuple[Point, Point], ...], kind: Kind) -> Iterator[tuple[Kind, Run]]:
    """An outline as it is drawn, closed: where it lies on a fold, its line is the fold's."""
    sides = list(pairwise((*outline, outline[0])))
    lies = [any(_on(fold, a) and _on(fold, b) for fold in folds) for a, b in sides]
    if not any(lies):
        yield kind, (*outline, outline[0])
        return
    first = next(at for at, on in enumerate(lies) if not on and lies[at - 1])  # begin behind a fold
    turned = list(zip(lies[first:] + lies[:first], sides[first:] + sides[:first], strict=True))
    for on, group in groupby(turned, key=lambda one: one[0]):
        run = [side for _, side in group]
        yield "fold" if on else kind, (run[0][0], *(end for _, end in run))


def strokes(part: Part, per: int = FULL, turned: bool = False) -> Strokes:
    """All lines of a piece [mm of paper], x right, y down; turned: a quarter turn."""
    made: list[tuple[Kind, Run]] = [
        *((kind, run) for kind, run in _sides(part.finished, part.folds, "sew") if kind != "fold"),
        *(("mark", run) for run in part.marks),
        *(("notch", ends) for ends in part.notches),
        *_sides(part.cut, part.folds, "cut"),
    ]
    drawn = [(kind, placed(run, per, turned)) for kind, run in made]
    return (*drawn, *(("grain", run) for run in arrow(*placed(part.grain, per, turned))))


def placed(points: Iterable[Point], per: int = FULL, turned: bool = False) -> Run:
    """Metres, y up, as millimetres of paper, y down."""
    size = 1000 / per
    if turned:
        return tuple((size * y, size * x) for x, y in points)
    return tuple((size * x, -size * y) for x, y in points)


def arrow(start: Point, end: Point) -> tuple[Run, Run]:
    """A line and the head at its end."""
    (x0, y0), (x1, y1) = start, end
    size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)) or 1.0
    head = min(_HEAD, size / 4)
    ux, uy = head * (x1 - x0) / size, head * (y1 - y0) / size
    wings = ((x1 - ux + 0.4 * uy, y1 - uy - 0.4 * ux), end, (x1 - ux - 0.4 * uy, y1 - uy + 0.4 * ux))
    return (start, end), wings


def bounds(points: Iterable[Point]) -> Box:
    """The box about points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def moved(drawn: Strokes, x: float, y: float) -> Strokes:
    """Strokes shifted."""
    return tuple((kind, tuple((px + x, py + y) for px, py in run)) for kind, run in drawn)


def inside(spot: Point, outline: Sequence[Point]) -> bool:
    """Whether a spot lies in a closed outline."""
    (x, y), within = spot, False
    for (x0, y0), (x1, y1) in pairwise((*outline, outline[0])):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
            within = not within
    return within


def clipped(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """What of a straight line lies in a box; None where nothing does."""
    (x0, y0), (x1, y1) = start, end
    dx, dy = x1 - x0, y1 - y0
    low, high = 0.0, 1.0
    for step, room in ((-dx, x0 - box[0]), (dx, box[2] - x0), (-dy, y0 - box[1]), (dy, box[3] - y0)):
        if step == 0:
            if room < 0:
                return None
        elif step < 0:
            low = max(low, room / step)
        else:
            high = min(high, room / step)
    if low > high:
        return None
    return (start if low == 0 else (x0 + low * dx, y0 + low * dy)), (end if high == 1 else (x0 + high * dx, y0 + high * dy))


# --- words --------------------------------------------------------------------------------------------


def wide(words: str, size: float = LETTERS) -> float:
    """Room that words take across [mm], on the safe side."""
    return _WIDE * size * len(words)


def wrapped(sentences: Iterable[str], width: float, size: float = LETTERS) -> list[str]:
    """Sentences in lines no wider than that [mm]; each begins a line, and a number keeps its unit."""
    letters = max(8, int(width / (_WIDE * size)))
    return [line for one in sentences for line in wrap(_NUMBER.sub("\\1\u00a0", one), letters)]


def words(spot: Point, said: str, size: float = LETTERS, anchor: str = "start", bold: bool = False) -> Markup:
    """Words on a line; spot: their baseline."""
    one = lettering(said, "words", *spot, anchor)
    return element("g", one, font_size=mm(size), font_weight="bold" if bold else None, fill="#000", stroke="none")


def block(corner: Point, lines: Sequence[str], size: float = LETTERS) -> Markup:
    """Lines of words under each other from their upper left corner."""
    x, y = corner
    said = (lettering(line, "words", x, y + LEAD * at + 0.75 * LEAD, "start") for at, line in enumerate(lines))
    return element("g", *said, font_size=mm(size), fill="#000", stroke="none")


@dataclass(frozen=True)
class Label:
    """What stands on a piece: its title large, the rest in lines; upright: read from below upwards."""

    title: str
    lines: tuple[str, ...]
    upright: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on the paper [mm]."""
        across = max(wide(self.title, LARGE), *(wide(line) for line in self.lines))
        down = (1.4 * LARGE if self.title else 0) + LEAD * len(self.lines)
        return (down, across) if self.upright else (across, down)

    def at(self, corner: Point) -> Markup:
        """Drawn, from its upper left corner on the paper."""
        made = [block((0, 1.4 * LARGE if self.title else 0), self.lines)]
        if self.title:
            made.append(words((0, LARGE), self.title, LARGE, bold=True))
        x, y = corner[0], corner[1] + (self.size[1] if self.upright else 0)
        turn = " rotate(-90)" if self.upright else ""
        return element("g", *made, class_="label", transform=f"translate({mm(x)} {mm(y)}){turn}")


def labels(part: Part, per: int = FULL, name: str = "") -> tuple[Label, ...]:
    """The label of a piece in the shapes that it may have, the best first; name: of its sheet, if it lies on several."""
    model = (f"paper model, scale 1:{per}",) if per != FULL else ()
    said = (part.cutting, "grain along the arrow", *part.notes, *model)
    broad = Label(f"{name}  {part.title}".strip(), tuple(wrapped(said, 75)))
    slim = Label(name, tuple(wrapped((part.title, *said), 50)))
    strip = Label("", tuple(wrapped(("; ".join((f"{name} {part.title}".strip(), *said)),), 190)))
    return broad, slim, *(replace(one, upright=True) for one in (broad, slim, strip))


def fitted(
    tried: Iterable[Label], area: Box, drawn: Strokes, outline: Sequence[Point]
) -> Markup | None:
    """The first label that has room in an outline, drawn there."""
    for one in tried:
        spot = free_spot(one.size, area, drawn, outline)
        if spot is not None:
            return one.at(spot)
    return None


def free_spot(size: tuple[float, float], area: Box, drawn: Strokes, outline: Sequence[Point], step: float = 8.0) -> Point | None:
    """Where a box of that size lies in the area and within the outline, off every line: the spot nearest to the middle.

    Gives its upper left corner, None where there is no room.
    """
    (across, down), (left, top, right, bottom) = size, area
    if across > right - left or down > bottom - top:
        return None
    middle = (left + right - across) / 2, (top + bottom - down) / 2
    columns, rows = int((right - left - across) / 2 / step), int((bottom - top - down) / 2 / step)
    spots = [(middle[0] + step * i, middle[1] + step * j) for i in range(-columns, columns + 1) for j in range(-rows, rows + 1)]
    lines = [ends for _, run in drawn for ends in pairwise(run)]
    for x, y in sorted(spots, key=lambda spot: _apart(spot, middle)):
        box = (x - 2, y - 2, x + across + 2, y + down + 2)
        if inside((x, y), outline) and not any(clipped(*ends, box) for ends in lines):
            return x, y
    return None


def _apart(one: Point, other: Point) -> float:
    """How far apart, squared: the same on every machine."""
    return (one[0] - other[0]) * (one[0] - other[0]) + (one[1] - other[1]) * (one[1] - other[1])


# --- lines --------------------------------------------------------------------------------------------


def mm(value: float) -> str:
    """A coordinate to a thousandth of a millimetre."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def way(runs: Iterable[Run]) -> str:
    """The letters and numbers of a path; a run that ends where it begins is closed."""
    made = ""
    for run in runs:
        closed = len(run) > 3 and run[0] == run[-1]
        spots = [f"{mm(x)} {mm(y)}" for x, y in (run[:-1] if closed else run)]
        made += f"M{'L'.join(spots)}{'Z' if closed else ''}"
    return made


def line(class_: str, d: str, width: float, dashes: Sequence[float] = (), colour: str = "#000") -> Markup:
    """A path of any look [mm]."""
    broken = " ".join(map(mm, dashes)) or None
    look = {"fill": "none", "stroke": colour, "stroke_width": mm(width), "stroke_dasharray": broken, "stroke_linejoin": "round"}
    return element("path", class_=class_, d=d, **look)


def shapes(drawn: Strokes, per: int = FULL) -> tuple[Markup, ...]:
    """Strokes with the look of their kind, what is cut on top."""
    made, thin = [], 1.0 if per == FULL else 0.5
    for kind, (width, dashes) in LOOKS.items():
        runs = [run for one, run in drawn if one == kind]
        if runs:
            made.append(line(kind, way(runs), thin * width, [thin * dash for dash in dashes]))
            if kind == "fold":
                made.append(line("fold-middle", way(runs), _MIDDLE * thin * width, colour="#fff"))
    return tuple(made)


_SAMPLED = 20.0  # room that the sample of a line takes before its words [mm]


def key(corner: Point, kinds: Iterable[Kind], per: int, dashes: str, width: float) -> tuple[tuple[Markup, ...], float]:
    """What each kind of line means, a sample beside it, within a width, and how high that is [mm]; dashes: what those are."""
    (x, y), used, made, high = corner, set(kinds), list[Markup](), 0.0
    for kind in (kind for kind in MEANING if kind in used):
        level = y + high + LEAD * 0.5
        ends = (x, level), (x + 16, level)
        drawn: Strokes = ((kind, ends),)
        if kind == "grain":
            drawn = tuple((kind, run) for run in arrow(*ends))
        if kind == "notch":  # between the finished line and the one to cut, as on a piece
            drawn = (("cut", ends), (kind, ((x + 8, level), (x + 8, level + 3))))
        lines = wrapped((dashes if kind == "sew" else MEANING[kind],), width - _SAMPLED)
        made += [*shapes(drawn, per), block((x + _SAMPLED, y + high - 0.25 * LEAD + 0.1), lines)]
        high += LEAD * len(lines)
    return tuple(made), high


def square(corner: Point, per: int = FULL) -> Markup:
    """A square of 100 mm of cloth with its diagonal, and what they measure on paper."""
    (x, y), side = corner, 100 / per
    made = [
        line("square", f"M{mm(x)} {mm(y)}h{mm(side)}v{mm(side)}h{mm(-side)}z", 0.5),
        line("diagonal", f"M{mm(x)} {mm(y + side)}L{mm(x + side)} {mm(y)}", 0.5),
    ]
    if per == FULL:
        made.append(block((x + 5, y + 6), ("this diagonal:", "141.4 mm", "(5.57 in)")))
        made.append(block((x + side - 42, y + side - 24), ("each side:", "100 mm", "(3.94 in)")))
    return element("g", *made, class_="test-square")


def whole_picture(size: tuple[float, float], title: str, made: Iterable[Markup | None]) -> Markup:
    """A picture as wide and high on paper as it says [mm]."""
    across, down = mm(size[0]), mm(size[1])
    extent = {"width": f"{across}mm", "height": f"{down}mm", "viewBox": f"0 0 {across} {down}"}
    look = {"font_family": _FONT, "font_size": mm(LETTERS), "xmlns": SVG, "role": "img"}
    return element("svg", element("title", title), *made, **extent, **look)


# --- all of it in one file ----------------------------------------------------------------------------

MEASURE = (
    "Measure the square on the paper before you cut any cloth: each side 100 mm, the diagonal 141.4 mm.",
    "If one of them is not, the printer has scaled: print again at 100 %, “actual size”.",
)


def full_size(parts: Sequence[Part], per: int = FULL) -> str:
    """Every piece in one SVG of true size, a row for each canopy; per=MODEL: at scale 1:10, for a paper model."""
    sets = [list(group) for _, group in groupby(parts, key=lambda part: part.canopy)]
    made, across, y = _heading(parts, per)
    for row in sets:
        x, deepest = _GAP, 0.0
        for part in row:
            shown, (width, height) = _piece((x, y), part, per)
            made.append(shown)
            x, deepest = x + width + _GAP, max(deepest, height)
        across, y = max(across, x), y + deepest + _GAP
    title = "Sewing pattern, full size" if per == FULL else f"Paper model of a sewing pattern, scale 1:{per}"
    paper = element("rect", width=mm(across), height=mm(y), fill="#fff")
    return whole_picture((across, y), title, [paper, *made])


def _heading(parts: Sequence[Part], per: int) -> tuple[list[Markup], float, float]:
    """Test square, what lines mean, and the list of pieces; how wide it is, and how far down it reaches [mm]."""
    kinds = {kind for part in parts for kind, _ in strokes(part, per)}
    listed = [f"{part.title}: {part.cutting}; {'; '.join(part.notes)}".removesuffix("; ") for part in parts]
    measure = MEASURE if per == FULL else ()
    lines = wrapped((*measure, f"Pieces: {len(parts)} kinds", *listed), 200)
    side = 100 / per
    beside = _GAP + side + 12 if per == FULL else _GAP
    top = _GAP if per == FULL else _GAP + side + 6
    meant, high = key((beside, top), kinds, per, parts[0].dashes, 200) if parts else ((), 0.0)
    told = block((beside, top + high + LEAD), lines)
    low = max(_GAP + side, top + high + LEAD * (1 + len(lines)))
    made = [square((_GAP, _GAP), per), *meant, told]
    if per != FULL:
        made.append(words((_GAP + side + 4, _GAP + side / 2 + 1.5), f"{mm(side)} mm each side is 100 mm of cloth (scale 1:{per})"))
    return made, beside + 200 + _GAP, low + _GAP


def _piece(corner: Point, part: Part, per: int) -> tuple[Markup, tuple[float, float]]:
    """A piece with its label, in it where it has room, else under it; and how much room both take [mm]."""
    drawn = strokes(part, per)
    left, top, right, bottom = bounds(point for _, run in drawn for point in run)
    drawn = moved(drawn, corner[0] - left, corner[1] - top)
    area = (*corner, corner[0] + right - left, corner[1] + bottom - top)
    outline = [(x + corner[0] - left, y + corner[1] - top) for x, y in placed(part.finished, per)]
    told, size = labels(part, per), (right - left, bottom - top)
    said = fitted(told, area, drawn, outline)
    if said is None:
        said = told[0].at((corner[0], area[3] + 4))
        size = max(size[0], told[0].size[0]), size[1] + 4 + told[0].size[1]
    return element("g", *shapes(drawn, per), said, class_="piece"), size

"""A sewing pattern over sheets of paper that are glued together, each an SVG of true size on a page of its own.

The sheets of a piece lie in rows A, B, C … from its top and columns 1, 2, 3 … from its left. Each shows what lies on it and a
strip of what follows, on which the next is glued. Pages are always upright, whatever a printer thinks of lying ones: where fewer
sheets are needed so, the piece is turned a quarter instead. Nothing is drawn beyond the edge of a sheet, and nothing is scaled.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import ceil
from typing import Literal

from loftbook.drawing import pattern
from loftbook.drawing.markup import Markup, element, joined
from loftbook.drawing.pattern import FULL, LEAD, Box, Part, Point, Run, Strokes
from loftbook.errors import Fault, Refusal
from loftbook.physics.elementary import sqrt

Side = Literal["left", "right", "up", "down"]
MARGIN, OVERLAP = 10.0, 15.0  # of the paper, between sheets [mm]
EDGE = 6.0  # strip at the left and the upper edge that is cut off where another sheet lies under it [mm]
MOST_SHEETS = 120  # of one piece: every joint that is glued adds its own error
MOST_ACROSS = 16  # sheets in a row or a column: so that the map fits a page
_SLACK = 1.0  # a page is rounded to whole dots: what is a hair too large would be cut or take two [mm]
_PAD = 2.0  # between a piece and the edge of its sheets [mm]
_STEPS: dict[Side, tuple[int, int]] = {"left": (0, -1), "right": (0, 1), "up": (-1, 0), "down": (1, 0)}
_CELL = (10.0, 7.0)  # smallest sheet in a map that its name fits into [mm]
_NAMED = 8.0  # size of a sheet's name [mm]
_ARROW = 12.0  # small arrow of the grain, on every sheet [mm]


@dataclass(frozen=True)
class Paper:
    """A size of paper [mm], upright. ISO 216; US Letter as in ANSI/ASME Y14.1, size A."""

    key: str
    name: str
    width: float
    height: float


PAPERS = {
    paper.key: paper
    for paper in (Paper("a4", "A4", 210, 297), Paper("letter", "US Letter", 215.9, 279.4), Paper("a3", "A3", 297, 420))
}


@dataclass(frozen=True)
class Sheet:
    """One sheet of a piece; strokes from the upper left corner of its window [mm], neighbours by where they lie."""

    name: str
    row: int
    column: int
    strokes: Strokes
    neighbours: dict[Side, str]


@dataclass(frozen=True)
class Tiling:
    """How a piece lies on its sheets. All lengths in mm of paper.

    window: what of a sheet is drawn on; step: from sheet to sheet; strokes, outline, finished: from the upper left corner of the
    first sheet's window; left_out: names of sheets on which nothing of the piece lies.
    """

    part: Part
    paper: Paper
    per: int
    margin: float
    overlap: float
    turned: bool
    window: Point
    strokes: Strokes
    outline: Run
    finished: Run
    rows: int
    columns: int
    kept: frozenset[tuple[int, int]]

    @property
    def step(self) -> Point:
        return self.window[0] - self.overlap, self.window[1] - self.overlap

    @property
    def printable(self) -> Point:
        """What a page shows of a sheet: itself without its margins, and a hair less."""
        return _printable(self.paper, self.margin)

    @cached_property
    def left_out(self) -> tuple[str, ...]:
        cells = ((row, column) for row in range(self.rows) for column in range(self.columns))
        return tuple(tile_name(*cell) for cell in cells if cell not in self.kept)

    @cached_property
    def sheets(self) -> tuple[Sheet, ...]:
        return tuple(self._sheet(*cell) for cell in sorted(self.kept))

    def _sheet(self, row: int, column: int) -> Sheet:
        x, y = column * self.step[0], row * self.step[1]
        drawn = pattern.moved(clip(self.strokes, (x, y, x + self.window[0], y + self.window[1])), -x, -y)
        around = {side: (row + down, column + across) for side, (down, across) in _STEPS.items()}
        return Sheet(
            tile_name(row, column), row, column, drawn,
            {side: tile_name(*cell) for side, cell in around.items() if cell in self.kept},
        )  # fmt: skip


# --- where a piece lies -------------------------------------------------------------------------------


def tiles(part: Part, paper: Paper, margin: float = MARGIN, overlap: float = OVERLAP, per: int = FULL) -> Tiling:
    """A piece on sheets of a paper, as it stands or turned a quarter, whichever takes fewer [mm].

    Refuses what takes more than MOST_SHEETS sheets, or more than MOST_ACROSS in a row or a column.
    """
    wide, high = _printable(paper, margin)
    window = wide - EDGE, high - EDGE - _band_height(part, paper, margin, per)
    made = (_tiled(part, paper, margin, overlap, per, window, turned) for turned in (False, True))
    fit = [one for one in made if one is not None and len(one.kept) <= MOST_SHEETS]
    if not fit:
        allowed = f"up to {MOST_SHEETS} sheets, {MOST_ACROSS} in a row"
        told = f"The piece “{part.title}” takes more sheets of {paper.name} paper than can be glued true. Allowed: {allowed}."
        raise Refusal(Fault(message=f"{told} Take larger paper, the file of full size, or the marking table.", allowed=allowed))
    return min(fit, key=lambda one: len(one.kept))


def _printable(paper: Paper, margin: float) -> Point:
    return paper.width - 2 * margin - _SLACK, paper.height - 2 * margin - _SLACK


def _tiled(
    part: Part, paper: Paper, margin: float, overlap: float, per: int, window: Point, turned: bool
) -> Tiling | None:
    drawn = pattern.strokes(part, per, turned)
    left, top, right, bottom = pattern.bounds(point for _, run in drawn for point in run)
    step = window[0] - overlap, window[1] - overlap
    columns, rows = (
        max(1, ceil((size + 2 * _PAD - overlap) / one)) for size, one in zip((right - left, bottom - top), step, strict=True)
    )
    if max(rows, columns) > MOST_ACROSS:
        return None
    # in the middle of its sheets
    x = (columns * step[0] + overlap - right + left) / 2 - left
    y = (rows * step[1] + overlap - bottom + top) / 2 - top
    outline, finished = (
        tuple((px + x, py + y) for px, py in pattern.placed(points, per, turned)) for points in (part.cut, part.finished)
    )
    drawn = pattern.moved(drawn, x, y)
    kept = frozenset(
        (row, column)
        for row in range(rows)
        for column in range(columns)
        if _lies_in(outline, drawn, _own(row, column, (rows, columns), step, overlap))
    )
    return Tiling(part, paper, per, margin, overlap, turned, window, drawn, outline, finished, rows, columns, kept)


def _own(row: int, column: int, count: tuple[int, int], step: Point, overlap: float) -> Box:
    """What no later sheet shows as well."""
    x, y = column * step[0], row * step[1]
    more_x, more_y = (overlap if at == last - 1 else 0.0 for at, last in zip((column, row), reversed(count), strict=True))
    return x, y, x + step[0] + more_x, y + step[1] + more_y


def _lies_in(outline: Run, drawn: Strokes, box: Box) -> bool:
    """Whether anything of a piece lies in a box: a line of it, or nothing but cloth."""
    corner_in = pattern.inside((box[0], box[1]), outline)
    return corner_in or any(pattern.clipped(a, b, box) for _, run in drawn for a, b in pairwise(run))


def tile_name(row: int, column: int) -> str:
    """A1 is the first, A2 the next to the right, B1 the next below."""
    return f"{chr(ord('A') + row)}{column + 1}"


def clip(drawn: Strokes, box: Box) -> Strokes:
    """What of each stroke lies in a box."""
    return tuple((kind, part) for kind, run in drawn for part in _clip_run(run, box))


def _clip_run(run: Run, box: Box) -> Iterator[Run]:
    here: list[Point] = []
    for start, end in pairwise(run):
        piece = pattern.clipped(start, end, box)
        if piece is None or piece[0] == piece[1]:
            continue
        if here and here[-1] != piece[0]:
            yield tuple(here)
            here = []
        here = here or [piece[0]]
        here.append(piece[1])
    if here:
        yield tuple(here)


# --- a sheet ------------------------------------------------------------------------------------------


def _told(part: Part, paper: Paper, per: int) -> tuple[str, ...]:
    """What every sheet says of its piece."""
    model = () if per == FULL else (f"paper model, scale 1:{per}",)
    return (part.title, part.cutting, "grain along the arrow", *part.notes, *model, f"paper {paper.name}")


def _band(part: Part, paper: Paper, margin: float, per: int, counts: str) -> list[str]:
    room = _printable(paper, margin)[0] - EDGE - _NAMED * 2.6 - _ARROW - 3
    return pattern.wrapped(("; ".join(_told(part, paper, per)), counts), room)


def _band_height(part: Part, paper: Paper, margin: float, per: int) -> float:
    return 3 + max(1.2 * _NAMED, _ARROW, LEAD * len(_band(part, paper, margin, per, "sheet 100 of 100 · page 100 of 100")))


def _small_arrow(tiling: Tiling, middle: Point) -> Strokes:
    """The way of the grain, for sheets that its line does not reach."""
    (x0, y0), (x1, y1) = pattern.placed(tiling.part.grain, tiling.per, tiling.turned)
    (x, y), half = middle, _ARROW / 2 / (sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)) or 1.0)
    ends = [(x + way * half * (x1 - x0), y + way * half * (y1 - y0)) for way in (-1, 1)]
    return tuple(("grain", run) for run in pattern.arrow(ends[0], ends[1]))


def sheet_picture(tiling: Tiling, sheet: Sheet, counts: str) -> Markup:
    """A sheet as it is printed; counts: which it is of how many."""
    down = tiling.window[1]
    drawn = pattern.moved(sheet.strokes, EDGE, EDGE)
    x, y = sheet.column * tiling.step[0] - EDGE, sheet.row * tiling.step[1] - EDGE
    finished = [(px - x, py - y) for px, py in tiling.finished]
    made: list[Markup | None] = [*pattern.shapes(drawn, tiling.per)]
    named = _grain_named(tiling, sheet, drawn)
    if named:
        made.append(named[0])
        drawn = (*drawn, *named[1])  # other words keep clear of it
    made += _joints(tiling, sheet, drawn)
    short = pattern.Label(sheet.name, (tiling.part.title,))
    told = (*pattern.labels(tiling.part, tiling.per, sheet.name), short)
    made.append(pattern.fitted(told, _open_window(tiling, sheet), drawn, finished))
    top = EDGE + down + 2
    lines = _band(tiling.part, tiling.paper, tiling.margin, tiling.per, counts)
    made += [
        pattern.words((EDGE, top + 0.9 * _NAMED), sheet.name, _NAMED, bold=True),
        pattern.block((EDGE + 2.6 * _NAMED, top), lines),
        *pattern.shapes(_small_arrow(tiling, (tiling.printable[0] - _ARROW / 2 - 1, top + _ARROW / 2))),
    ]
    title = f"Sheet {sheet.name} of {tiling.part.title}, {counts}"
    return pattern.whole_picture(tiling.printable, title, made)


_GRAIN = "grain, do not cut"


def _grain_named(tiling: Tiling, sheet: Sheet, drawn: Strokes) -> tuple[Markup, Strokes] | None:
    """What the grain's line is, beside it where it runs over a sheet, and where that stands; None where it has no room.

    On a strip that is glued over nothing is said: it stands on the sheet that comes there.
    """
    long, high = pattern.wide(_GRAIN) + 4, pattern.LETTERS + 1.2
    (across, down), near = tiling.window, sheet.neighbours
    room = (EDGE + 1, EDGE + 7, EDGE + across - (tiling.overlap if "right" in near else 1), EDGE + down - (tiling.overlap if "down" in near else 1))
    rings = [middle for side, middle in _middles(tiling).items() if side in near]
    lines = [(kind, ends) for kind, run in drawn for ends in pairwise(run)]
    for (x0, y0), (x1, y1) in (ends for kind, ends in lines if kind == "grain"):
        upright = abs(x1 - x0) < abs(y1 - y0)
        size, far = ((high, long), abs(y1 - y0)) if upright else ((long, high), abs(x1 - x0))
        for shift, aside in ((shift, aside) for shift in range(0, int(far - long) + 1, 6) for aside in (1.2, -1.2 - high)):
            left, top = (x0 + aside, min(y0, y1) + shift) if upright else (min(x0, x1) + shift, y0 + aside)
            box = (left, top, left + size[0], top + size[1])
            fits = room[0] <= box[0] and room[1] <= box[1] and box[2] <= room[2] and box[3] <= room[3]
            ringed = any(box[0] - 6 < x < box[2] + 6 and box[1] - 6 < y < box[3] + 6 for x, y in rings)
            if fits and not ringed and not any(pattern.clipped(*ends, box) for _, ends in lines):
                made = _upright((left + 0.85 * pattern.LETTERS, box[3] - 2), _GRAIN) if upright else pattern.words((left + 2, top + 0.85 * pattern.LETTERS), _GRAIN)
                return made, (("grain", ((left, top), (box[2], top), (box[2], box[3]), (left, box[3]), (left, top))),)
    return None


def _middles(tiling: Tiling) -> dict[Side, Point]:
    """Where the rings of the joints stand, by side."""
    (across, down), strip = tiling.window, tiling.overlap
    right, bottom = EDGE + across - strip, EDGE + down - strip
    x, y = (EDGE + right) / 2, (EDGE + bottom) / 2
    return {"left": (EDGE, y), "up": (x, EDGE), "right": (right, y), "down": (x, bottom)}


def _open_window(tiling: Tiling, sheet: Sheet) -> Box:
    """Where a label is not glued over, and off the joints."""
    (across, down), strip = tiling.window, tiling.overlap
    near = sheet.neighbours
    right = EDGE + across - (strip + 8 if "right" in near else 2)
    bottom = EDGE + down - (strip + 8 if "down" in near else 2)
    return EDGE + 8, EDGE + 8, right, bottom


def _joints(tiling: Tiling, sheet: Sheet, drawn: Strokes) -> Iterator[Markup]:
    """Where a sheet is trimmed, where others are glued onto it, and crosses that meet."""
    (across, down), strip, near = tiling.window, tiling.overlap, sheet.neighbours
    right, bottom = EDGE + across - strip, EDGE + down - strip
    ends_x, ends_y = EDGE + across, EDGE + down
    middles = _middles(tiling)
    if "left" in near:
        yield _joint((EDGE, EDGE), (EDGE, ends_y), middles["left"])
        yield _upright((EDGE - 1.6, ends_y - 30), f"cut off along this line, lay on {near['left']}")
    if "up" in near:
        yield _joint((EDGE, EDGE), (ends_x, EDGE), middles["up"])
        yield pattern.words((EDGE + 8, EDGE - 1.6), f"cut off along this line, lay on {near['up']}")
    if "right" in near:
        yield _joint((right, EDGE), (right, ends_y), middles["right"])
        yield _ticks((right, EDGE), (0, 1), down)
        yield _on_strip(f"glue: {near['right']} lies here", (right, EDGE, ends_x, bottom), drawn)
    if "down" in near:
        yield _joint((EDGE, bottom), (ends_x, bottom), middles["down"])
        yield _ticks((EDGE, bottom), (1, 0), across)
        yield _on_strip(f"glue: {near['down']} lies here", (EDGE, bottom, right, ends_y), drawn)


def _joint(start: Point, end: Point, middle: Point) -> Markup:
    """The line along which two sheets meet, a cross in a ring on its middle, the same on both."""
    (x, y), arm, ring = middle, 5.0, 2.5
    lines: tuple[Run, ...] = ((start, end), ((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm)))
    bow = pattern.mm(ring)
    way = pattern.way(lines) + f"M{pattern.mm(x - ring)} {pattern.mm(y)}a{bow} {bow} 0 1 0 {2 * ring:g} 0a{bow} {bow} 0 1 0 {-2 * ring:g} 0"
    return pattern.line("joint", way, 0.2)


def _ticks(start: Point, along: Point, length: float) -> Markup:
    """Short slanting strokes where glue goes."""
    (x, y), (ux, uy), way = start, along, ""
    for far in range(6, int(length) - 4, 12):
        way += f"M{pattern.mm(x + far * ux)} {pattern.mm(y + far * uy)}l2.5 2.5"
    return pattern.line("glue", way, 0.2)


def _upright(spot: Point, said: str) -> Markup:
    """Words that read from below upwards."""
    x, y = map(pattern.mm, spot)
    return element("g", pattern.words((0, 0), said), transform=f"translate({x} {y}) rotate(-90)")


def _on_strip(said: str, strip: Box, drawn: Strokes) -> Markup:
    """Words along the strip that is glued over, clear of the cross and where fewest lines run through them."""
    long, high = pattern.wide(said), pattern.LETTERS
    left, top, right, bottom = strip
    upright = bottom - top > right - left
    size, length = ((high, long), bottom - top) if upright else ((long, high), right - left)
    lines = [ends for _, run in drawn for ends in pairwise(run)]
    best, least = (left + 5, top + 5), len(lines) + 1
    for shift in range(12, int(length - long) - 4, 6):
        if shift - 6 < length / 2 < shift + long + 6:
            continue
        for aside in (4.5, 9.3, 1.2):
            corner = (left + aside, top + shift) if upright else (left + shift, top + aside)
            box = (corner[0] - 1, corner[1] - 1, corner[0] + size[0] + 1, corner[1] + size[1] + 1)
            crossed = sum(pattern.clipped(*ends, box) is not None for ends in lines)
            if crossed < least:
                best, least = corner, crossed
    if upright:
        return _upright((best[0] + 0.8 * high, best[1] + long), said)
    return pattern.words((best[0], best[1] + 0.8 * high), said)


# --- the first sheet, and the maps --------------------------------------------------------------------

_GLUING = (
    "Order: rows A, B, C … from the top, in each row from left to right.",
    "On a sheet that has a neighbour at its left or above it, cut off the strip outside the thin line; leave the other edges.",
    "Glue it onto the strip of that neighbour, its cut edge on the neighbour’s thin line: the ringed crosses meet.",
    "Then cut the paper along the thick line, and lay it on the cloth with its grain line parallel to the selvage.",
)


@dataclass(frozen=True)
class _Map:
    """A small picture of how the sheets of a piece lie, its words above it, which are all of a single sheet; its room on the page [mm]; size: of a millimetre."""

    tiling: Tiling
    width: float
    height: float
    size: float
    lines: tuple[str, ...]

    def at(self, corner: Point) -> Markup:
        (x, y), tiling = corner, self.tiling
        told = pattern.block(corner, self.lines)
        if len(tiling.kept) == 1:
            return told
        y += LEAD * len(self.lines) + 2
        size = self.size
        said, printed, left = [], "", ""
        for row in range(tiling.rows):
            for column in range(tiling.columns):
                own = _own(row, column, (tiling.rows, tiling.columns), tiling.step, tiling.overlap)
                cx, cy, ex, ey = x + size * own[0], y + size * own[1], x + size * own[2], y + size * own[3]
                box = pattern.way((((cx, cy), (ex, cy), (ex, ey), (cx, ey), (cx, cy)),))
                kept = (row, column) in tiling.kept
                printed, left = (printed + box, left) if kept else (printed, left + box)
                spot = pattern.mm(cx + 1), pattern.mm(cy + 5)
                # white about the letters, so that the outline does not run through them
                said.append(element("text", tile_name(row, column), x=spot[0], y=spot[1]))
        shape = tuple((x + size * px, y + size * py) for px, py in (*tiling.outline, tiling.outline[0]))
        halo = {"paint_order": "stroke", "stroke": "#fff", "stroke_width": "1.4"}
        made = [pattern.line("map-out", left, 0.15, (0.8, 0.8))] if left else []
        made += [pattern.line("map-sheets", printed, 0.25), pattern.line("map-piece", pattern.way((shape,)), 0.6)]
        return joined((told, element("g", *made, element("g", *said, **halo), class_="map")))


def _mapped(tiling: Tiling, room: float) -> _Map:
    """The map of a piece; room: the width of what its words stand in."""
    step = tiling.step
    size = max(_CELL[0] / step[0], _CELL[1] / step[1])
    across, down = (size * (count * one + tiling.overlap) for count, one in zip((tiling.columns, tiling.rows), step, strict=True))
    width = max(across, min(room, 58.0))
    count = len(tiling.kept)
    told = [tiling.part.title, f"{tiling.part.cutting}: {count} sheet{'' if count == 1 else 's'}"]
    if tiling.turned:
        told.append("the piece lies on its side")
    if tiling.left_out:
        told.append(f"not printed, nothing lies there: {', '.join(tiling.left_out)}")
    lines = tuple(pattern.wrapped(told, width))
    return _Map(tiling, width, LEAD * len(lines) + (2 + down if count > 1 else 0), size, lines)


class _Room:
    """An area that maps are put into, row by row."""

    def __init__(self, area: Box) -> None:
        self._area = area
        self._x, self._y = area[:2]
        self._deepest = self._y

    def place(self, width: float, height: float) -> Point | None:
        """The corner of the next; None where there is no room for it."""
        left, _, right, bottom = self._area
        x, y = self._x, self._y
        if x > left and x + width > right:
            x, y = left, self._deepest + 6
        if x + width > right + 0.01 or y + height > bottom + 0.01:
            return None
        self._x, self._y, self._deepest = x + width + 8, y, max(self._deepest, y + height)
        return x, y


def _front(tilings: Sequence[Tiling], pages: int, said: Sequence[str]) -> list[Markup]:
    """The first sheet, and the sheets of what does not fit onto it: sentences, maps."""
    wide, high = tilings[0].printable
    first, areas, rest = _first_words(tilings, pages, said)
    fronts, rooms = [first], [(0, _Room(area)) for area in areas]
    if rest:
        lines = pattern.wrapped(rest, wide)
        fronts.append([pattern.words((0, LEAD), " ".join(("What had no room on the first sheet.", *said[:1]))), pattern.block((0, 1.5 * LEAD), lines)])
        rooms.append((1, _Room((0.0, LEAD * (len(lines) + 2.5), wide, high))))
    for shown in (_mapped(tiling, wide) for tiling in tilings):
        spots = ((at, room.place(shown.width, shown.height)) for at, room in rooms)
        at, spot = next(((at, spot) for at, spot in spots if spot is not None), (len(fronts), None))
        if spot is None:
            fronts.append([pattern.words((0, LEAD), " ".join(("How the sheets lie.", *said[:1])))])
            rooms.append((at, _Room((0.0, 2 * LEAD, wide, high))))
            spot = rooms[-1][1].place(shown.width, shown.height) or (0.0, 2 * LEAD)
        fronts[at].append(shown.at(spot))
    titles = ("First sheet: test square and maps", *("Further words and maps" for _ in fronts[1:]))
    return [pattern.whole_picture((wide, high), title, front) for title, front in zip(titles, fronts, strict=True)]


def _first_words(tilings: Sequence[Tiling], pages: int, said: Sequence[str]) -> tuple[list[Markup], list[Box], list[str]]:
    """Title, test square, what lines mean and how sheets are glued; the areas where maps may stand [mm]; sentences that have no room."""
    one = tilings[0]
    (wide, high), side, top = one.printable, 100.0, 14.0
    title = "Sewing pattern at full size" if one.per == FULL else f"Paper model of a sewing pattern, scale 1:{one.per}"
    for_paper = f"These sheets are for {one.paper.name} paper: {pages} pages with this one, printed on one side only."
    told, below = (*pattern.MEASURE, for_paper, *said), 0.0 if one.per == FULL else 20.0  # for a small square
    kept = len(told)
    while kept > 3 and top + LEAD * len(pattern.wrapped(told[:kept], wide - side - 8)) + below > high:
        kept -= 1
    measured = pattern.wrapped(told[:kept], wide - side - 8)
    kinds = {kind for tiling in tilings for kind, _ in tiling.strokes}
    meant, tall = pattern.key((0, top + side + 6), kinds, one.per, one.part.dashes, side + 2)
    made = [pattern.words((0, 8), title, pattern.LARGE, bold=True), pattern.square((0.5, top)), *meant]
    made.append(pattern.block((side + 8, top - 1), measured))
    beside = top + LEAD * len(measured) + 6
    if one.per != FULL:
        model = pattern.wrapped((f"{100 / one.per:g} mm each side is 100 mm of cloth.",), wide - side - 24)
        made += [pattern.square((side + 8, beside), one.per), pattern.block((side + 24, beside - 1), model)]
        beside += max(100 / one.per, LEAD * len(model)) + 6
    low = top + side + 6 + tall + 4
    glued = pattern.wrapped(_GLUING, side) if any(len(tiling.kept) > 1 for tiling in tilings) else []
    made.append(pattern.block((0, low), glued))
    low += LEAD * len(glued) + 6
    return made, [(side + 8, beside, wide, high), (0.0, low, side, high)], list(told[kept:])


def pages(parts: Iterable[Part], paper: Paper, per: int = FULL, said: Sequence[str] = ()) -> list[Markup]:
    """Every page of a pattern: the first with the test square, then the sheets piece by piece. Refuses as `tiles` does.

    said: sentences of the caller's for the first sheet: whose rig it is (that one on sheets of maps, too), a caution.
    """
    tilings = [tiles(part, paper, per=per) for part in parts]
    if not tilings:
        return []
    sheets = sum(len(tiling.sheets) for tiling in tilings)
    fronts = len(_front(tilings, sheets, said))
    made, whole = _front(tilings, sheets + fronts, said), sheets + fronts
    for tiling in tilings:
        for at, sheet in enumerate(tiling.sheets, 1):
            counts = f"sheet {at} of {len(tiling.sheets)} · page {len(made) + 1} of {whole}"
            made.append(sheet_picture(tiling, sheet, counts))
    return made


def printed(parts: Iterable[Part], paper: Paper, per: int = FULL, said: Sequence[str] = ()) -> Markup:
    """The pages as HTML for the browser's own print; docs/assets/style/pattern.css gives each a page of that paper."""
    made = (element("div", page, class_="loft-sheet") for page in pages(parts, paper, per, said))
    return element("div", joined(made), class_="loft-sheets", data_paper=paper.key)

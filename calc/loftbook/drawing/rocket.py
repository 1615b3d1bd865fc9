"""A whole rocket in one picture: as it hangs under what carries it, and packed, cut open. Every part is a door to its page.

Each half has one scale. Where there is nothing but cord or empty tube a piece is broken out, and the break says how much cord it
stands for. Words and addresses come from the caller; depths in metres, downward.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from loftbook.drawing.markup import SVG, Markup, element, joined, number, rectangle
from loftbook.drawing.svg import TEXT, WIDTH, Drawing, Length, Paper, Point
from loftbook.physics.elementary import sqrt
from loftbook.physics.packing import Stack

HIGH = 476.0
CROWN = 0.3  # height of an open canopy over its width, as drawn
_TOP, _FOOT = 28.0, HIGH - 8
_ROW = 48.0  # a label is as high as a thumb is wide
_LEFT, _AXIS, _BODY, _LABELS = 4.0, 54.0, 138.0, 172.0  # x: edge and middle of what hangs, middle of what is cut open, labels
_WIDEST_OPEN, _WIDEST_TUBE = 96.0, 46.0
_CORD_BREAK, _TUBE_BREAK = 50.0, 16.0
_THIN = 6.0  # picture units that a part is wide at least, to be seen


@dataclass(frozen=True)
class Door:
    """Where a part leads and what it says: a name, a figure, and more for those who listen where that is too little."""

    href: str
    name: str
    figure: str
    told: str


@dataclass(frozen=True)
class Part:
    """A part as it hangs [m]; aside: on a leg of its own."""

    top: float
    bottom: float
    kind: Literal["nose", "airframe"]
    aside: bool


@dataclass(frozen=True)
class Cloth:
    """An open canopy: depth of its line attachment, length of its lines, inflated width [m]."""

    depth: float
    lines: float
    width: float
    door: Door


@dataclass(frozen=True)
class Rope:
    """A length of cord between two depths [m]; aside: it leads to parts that hang beside."""

    top: float
    bottom: float
    aside: bool
    door: Door


@dataclass(frozen=True)
class Hanging:
    """All that hangs under one carrying canopy; the first is that one."""

    cloths: tuple[Cloth, ...]
    ropes: tuple[Rope, ...]
    parts: tuple[Part, ...]
    width: float


@dataclass(frozen=True)
class Room:
    """A packed bay: depth of its mouth below the tip, inner diameter, post in it [m]; doors by kind and owner of what lies there.

    charge: on which side of all that, if there is one.
    """

    mouth: float
    stack: Stack
    tube: float
    beside: float
    doors: tuple[tuple[str, Door], ...]
    charge: Literal["below", "above", ""]


@dataclass(frozen=True)
class Squeeze:
    """Depths to one scale, with long empty stretches between them broken out: `breaks` in metres."""

    knots: tuple[Point, ...]
    scale: float
    breaks: tuple[Point, ...]

    def at(self, depth: float) -> float:
        """Picture units below the first depth that is kept."""
        (first, start), (last, end) = self.knots[0], self.knots[-1]
        if depth <= first or len(self.knots) < 2:
            return start + (depth - first) * self.scale
        for (a, low), (b, high) in pairwise(self.knots):
            if depth <= b:
                return low + (high - low) * (depth - a) / (b - a)
        return end + (depth - last) * self.scale


def squeezed(kept: Iterable[Point], room: float, broken: float, largest: float) -> Squeeze:
    """The largest scale, units for a metre, at which all kept depths go into `room` units; a break takes `broken` units."""
    spans = _merged(kept)
    gaps = [(a, b) for (_, a), (b, _) in pairwise(spans)]
    long, solid = list(gaps), sum(b - a for a, b in spans)
    while True:
        whole = solid + sum(b - a for a, b in gaps if (a, b) not in long)
        scale = min(largest, (room - broken * len(long)) / max(whole, 1e-9))
        left = [(a, b) for a, b in long if (b - a) * scale > broken]
        if left == long:
            break
        long = left
    knots, y = [(spans[0][0], 0.0)], 0.0
    for (a, b), following in zip(spans, [*(one[0] for one in spans[1:]), None], strict=True):
        y += (b - a) * scale
        knots.append((b, y))
        if following is not None:
            y += broken if (b, following) in long else (following - b) * scale
            knots.append((following, y))
    return Squeeze(tuple(knots), scale, tuple(long))


def _merged(spans: Iterable[Point]) -> list[Point]:
    """Stretches in order, those that touch made one."""
    found: list[Point] = []
    for a, b in sorted(spans):
        if found and a <= found[-1][1] + 1e-9:
            found[-1] = (found[-1][0], max(found[-1][1], b))
        else:
            found.append((a, b))
    return found


class _Doors(Paper):
    """A paper on which what is drawn can be made a link."""

    @contextmanager
    def door(self, door: Door, room: tuple[float, float, float, float]) -> Iterator[None]:
        """What is drawn inside leads there; `room`: left, top, width, height that take a touch."""
        kept, self._parts = self._parts, []
        yield
        left, top, wide, high = room
        hit = rectangle("door-room", (left, top), wide, high)
        self._parts = [*kept, element("a", hit, *self._parts, href=door.href, aria_label=door.told or None)]

    def made(self, name: str, description: str) -> Drawing:
        svg = element(
            "svg",
            joined(self._parts),
            viewBox=f"0 0 {number(WIDTH)} {number(self.height)}",
            role="group",
            aria_label=f"{name}. {description}",
            xmlns=SVG,
            font_size=str(TEXT),
            class_="loft-rocket",
        )
        return Drawing(name, description, svg)


def rocket(
    hangs: Sequence[Hanging], rooms: Sequence[Room], nose: tuple[float, Door], long: float, heads: tuple[str, str],
    length: Length, words: tuple[str, str],
) -> Drawing:  # fmt: skip
    """Both halves beside each other. nose: as much of it as is seen [m]; long: the rocket [m]; words: name and description."""
    paper = _Doors(HIGH)
    paper.words((_LEFT, TEXT), heads[0], "start", "door-head")
    paper.words((_LABELS - 20, TEXT), heads[1], "start", "door-head")
    wide = 2 * (_AXIS - _LEFT) / len(hangs)
    for i, one in enumerate(hangs):
        _hang(paper, one, i, wide, length)
    _cut_open(paper, rooms, nose, long)
    return paper.made(*words)


# --- as it hangs ----------------------------------------------------------------------------------------


def _hang(paper: _Doors, hanging: Hanging, column: int, wide: float, length: Length) -> None:
    """Canopies, cords and parts about an axis, in one of the columns of that width; names of the second stand lower and aside."""
    axis = _LEFT + wide * (column + 0.5)
    tall = [(one.depth - one.lines - CROWN * one.width, one.depth) for one in hanging.cloths]
    kept = [*tall, *((part.top, part.bottom) for part in hanging.parts)]
    widest = max(one.width for one in hanging.cloths)
    fit = squeezed(kept, _FOOT - _TOP, _CORD_BREAK, min(wide, _WIDEST_OPEN) / widest)
    thick = max(hanging.width * fit.scale, _THIN)
    beside = 1.6 * thick
    for one in hanging.cloths:
        _open(paper, one, fit, axis, wide, 16 + 22 * column)
    for rope in hanging.ropes:
        _rope(paper, rope, fit, axis, beside if rope.aside else 0.0, -1 if not (rope.aside or column) else 1, length)
    for part in hanging.parts:
        x, y0, y1 = axis + (beside if part.aside else 0.0), _TOP + fit.at(part.top), _TOP + fit.at(part.bottom)
        if part.kind == "nose":
            _shape(paper, "nose", [(x - thick / 2, y0), (x + thick / 2, y0), (x + thick / 2, y0 + (y1 - y0) / 3), (x, y1), (x - thick / 2, y0 + (y1 - y0) / 3)])
        else:
            paper.put(rectangle("airframe", (x - thick / 2, y0), thick, y1 - y0))
    last = max(hanging.parts, key=lambda part: part.bottom)
    if last.kind == "airframe":
        _fins(paper, axis + (beside if last.aside else 0.0), _TOP + fit.at(last.bottom), thick)
    for one in hanging.cloths:
        paper.spot("corner", (axis, _TOP + fit.at(one.depth)), 2.5)


def _open(paper: _Doors, one: Cloth, fit: Squeeze, axis: float, wide: float, below: float) -> None:
    """Cloth in its gores over its lines; one that does not carry stands to the left of the cord."""
    half, base = one.width * fit.scale / 2, _TOP + fit.at(one.depth)
    skirt, crown = base - one.lines * fit.scale, one.width * fit.scale * CROWN
    middle = axis if one.depth == 0 else max(axis - 1.1 * half, half + 2)
    arc = [(middle + half * i / 8, skirt - crown * (1 - (i / 8) * (i / 8))) for i in range(-8, 9)]
    high = max(_ROW, base - (skirt - crown))
    room = (axis - wide / 2, min(skirt - crown, HIGH - high), wide, high) if one.depth == 0 else (_LEFT, base - high, axis - _LEFT - 2, high)
    with paper.door(one.door, room):
        for i in (0, 4, 8, 12, 16):
            paper.rule("line", (middle + half * (i - 8) / 8, skirt), (axis, base))
        _shape(paper, "cloth", [*arc, *((x, skirt - 0.12 * crown * (1 - ((x - middle) / half) ** 2)) for x, _ in reversed(arc))])
        for i in (4, 8, 12):
            paper.rule("seam", (middle + half * (i - 8) / 8, skirt), (middle + half * (i - 8) / 16, skirt - crown * (1 - ((i - 8) / 16) ** 2)))
        if one.depth == 0:
            paper.words((axis, skirt + below), one.door.name, "middle", "door-name")
        else:
            paper.words((_LEFT, skirt - crown - 5), one.door.name, "start", "door-name")


def _rope(paper: _Doors, rope: Rope, fit: Squeeze, axis: float, aside: float, side: int, length: Length) -> None:
    """A cord from the attachment on; broken where a stretch of it is, with the length that is left of it there."""
    y0, y1 = _TOP + fit.at(rope.top), _TOP + fit.at(rope.bottom)

    def at(y: float) -> Point:
        return axis + aside * ((y - y0) / (y1 - y0) if y1 > y0 else 0.0), y

    here = [_TOP + (fit.at(a) + fit.at(b)) / 2 for a, b in fit.breaks if rope.top <= a + 1e-9 and b - 1e-9 <= rope.bottom]
    if not here:
        return paper.rule("cord", at(y0), at(y1))
    y = here[-1]
    x, _ = at(y)
    left = x - 50 if side < 0 else x - 6
    with paper.door(rope.door, (left, y - _ROW / 2, 56, _ROW)):
        paper.rule("cord", at(y0), at(y - 4))
        paper.rule("cord", at(y + 4), at(y1))
        for shift in (-4, 4):
            paper.rule("break", (x - 6, y + shift + 3), (x + 6, y + shift - 3))
        paper.words((x + 11 * side, y + 5), length(rope.bottom - rope.top), "end" if side < 0 else "start", "door-name")
    return None


def _fins(paper: Paper, x: float, foot: float, thick: float) -> None:
    """A sign of where the tail is; nobody measured them."""
    high, out = min(2.2 * thick, 26.0), min(0.9 * thick, 13.0)
    for side in (-1, 1):
        edge = x + side * thick / 2
        _shape(paper, "airframe", [(edge, foot - high), (edge + side * out, foot - high / 3), (edge + side * out, foot), (edge, foot)])


# --- packed, cut open ------------------------------------------------------------------------------------


def _cut_open(paper: _Doors, rooms: Sequence[Room], nose: tuple[float, Door], long: float) -> None:
    """From the tip down: the nose, every bay with what lies in it, the tail; a label for each thing, as high as a thumb."""
    seen, door = nose
    wide = max(room.tube for room in rooms)
    floors, below = [room.mouth + room.stack.bay for room in rooms], 0.4 * wide
    cone = min(seen, 5 * wide)
    end = max([long, *(floor + below for floor in floors)])
    kept = [(0.0, cone), *((room.mouth, floor + below) for room, floor in zip(rooms, floors, strict=True)), (end - 1.2 * wide, end)]
    fit = squeezed(kept, _FOOT - _TOP, _TUBE_BREAK, _WIDEST_TUBE / wide)
    half = wide * fit.scale / 2

    def y(depth: float) -> float:
        return _TOP + fit.at(depth)

    steps = [i / 12 for i in range(13)]
    side = [(half * sqrt(t * (2 - t)), y(t * cone)) for t in steps]
    _fins(paper, _BODY, y(end), 2 * half)
    paper.put(rectangle("airframe", (_BODY - half, y(cone)), 2 * half, y(end) - y(cone)))
    _shape(paper, "nose", [*((_BODY - x, at) for x, at in side), *((_BODY + x, at) for x, at in reversed(side))])
    labels = [(y(cone * 0.6), door)]
    for room, floor in zip(rooms, floors, strict=True):
        labels += _room(paper, room, y(room.mouth), y(floor), fit.scale)
    for a, b in fit.breaks:
        _broken(paper, (y(a) + y(b)) / 2, half)
    _labelled(paper, sorted(labels, key=lambda one: one[0]), _BODY + half)


def _room(paper: _Doors, room: Room, mouth: float, floor: float, scale: float) -> list[tuple[float, Door]]:
    """A bay with its layers; returns where what has a door lies."""
    half, doors, found = room.tube * scale / 2, dict(room.doors), dict[str, tuple[float, float]]()
    paper.put(rectangle("spare", (_BODY - half, mouth), 2 * half, floor - mouth))
    if room.beside:
        paper.put(rectangle("airframe", (_BODY - half, mouth), room.beside * scale, floor - mouth))
    for lying in room.stack.layers:
        item, left = lying.item, _BODY - half + (0 if lying.item.kind == "shoulder" else room.beside * scale)
        wide = item.width * scale or _BODY + half - left
        x, foot = left + (_BODY + half - left - wide) / 2, max(_TOP, floor - lying.bottom * scale)
        top = max(_TOP, floor - lying.top * scale)
        high, over = foot - top, lying.top > room.stack.bay + 1e-9 and item.kind != "shoulder"
        name = f"{item.kind} {item.owner}".strip()
        name = name if name in doors else item.kind
        shape = rectangle("short" if over else item.kind, (x, top), wide, high)  # what stands out of the mouth
        paper.put(element("a", shape, href=doors[name].href, tabindex="-1", aria_hidden="true") if name in doors else shape)
        if name in doors and high >= found.get(name, (0.0, -1.0))[1]:
            found[name] = (top + high / 2, high)
    paper.add("polyline", "tube-wall", points=f"{number(_BODY - half)},{number(mouth)} {number(_BODY - half)},{number(floor)} {number(_BODY + half)},{number(floor)} {number(_BODY + half)},{number(mouth)}")
    if room.charge:
        shoulder = next((one.bottom for one in room.stack.layers if one.item.kind == "shoulder"), room.stack.bay)
        at = floor + 7 if room.charge == "below" else floor - shoulder * scale - 6
        paper.spot("charge", (_BODY, at), 4.5)
        found["charge"] = (at, 0.0)
    return [(at, doors[name]) for name, (at, _) in found.items() if name in doors]


def _broken(paper: Paper, y: float, half: float) -> None:
    """A piece of the tube left out: a slanted band of paper across it."""
    out, tilt = half + 8, 5.0
    _shape(paper, "break-band", [(_BODY - out, y + tilt - 3), (_BODY + out, y - tilt - 3), (_BODY + out, y - tilt + 3), (_BODY - out, y + tilt + 3)])
    for shift in (-3, 3):
        paper.rule("break", (_BODY - half - 3, y + shift + tilt * (half + 3) / out), (_BODY + half + 3, y + shift - tilt * (half + 3) / out))


def _labelled(paper: _Doors, rows: Sequence[tuple[float, Door]], edge: float) -> None:
    """A label for each thing in the order from the tip, none nearer to another than a thumb is wide."""
    lines: list[float] = []
    for i, (at, _) in enumerate(rows):
        lowest = _FOOT - _ROW * (len(rows) - i) + _ROW / 2
        lines.append(min(max(at, _TOP + _ROW / 2 - 4, lines[-1] + _ROW if lines else 0.0), max(lowest, _TOP + _ROW * (i + 0.5) - 4)))
    for (at, door), line in zip(rows, lines, strict=True):
        with paper.door(door, (_LABELS - 8, line - _ROW / 2, WIDTH - _LABELS + 8, _ROW)):
            paper.rule("dim", (edge - 5, at), (_LABELS - 6, line - 3))
            paper.spot("pin", (edge - 5, at), 1.8)
            paper.words((_LABELS, line - 1 if door.figure else line + 5), door.name, "start", "door-name")
            if door.figure:
                paper.put(Markup(" "))
                paper.words((_LABELS, line + 16), door.figure, "start", "dim-text")


def _shape(paper: Paper, class_: str, points: Iterable[Point]) -> None:
    paper.add("polygon", class_, points=" ".join(f"{number(x)},{number(y)}" for x, y in points))


def signpost(inside: Iterable[Markup], name: str, size: float = 56.0) -> Markup:
    """A small square picture that a label stands beside."""
    box = f"0 0 {number(size)} {number(size)}"
    return element("svg", element("title", name), joined(inside), viewBox=box, role="img", xmlns=SVG, class_="loft-tiny")

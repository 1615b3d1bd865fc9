"""Folding, as exact plane geometry: a canopy laid flat is a set of facets, a fold mirrors some of them.

Knows metres, degrees and points; knows nothing of units, words or pictures. The sequence for a canopy ends in a
slab that goes through the tube corner to corner and is no longer than the room the bay has for it, or says what it lacks.
x runs from the apex to the skirt once the canopy is a wedge, y across it.
"""

import itertools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from operator import itemgetter
from typing import Literal

from loftbook.physics.canopy import Shape, gore_half_width
from loftbook.physics.elementary import PI, cosine, sine, sqrt
from loftbook.physics.remembered import remembered

Point = tuple[float, float]
Act = Literal["lay out", "halve", "pleat", "flake", "lengthwise", "shorten"]
MOST_LENGTHWISE = 7  # this and the next two: what hands still fold (our choice)
MOST_PARTS = 8
MOST_LAYERS = 1000
_EPSILON = 1e-9


@dataclass(frozen=True)
class Facet:
    """A convex piece of cloth: corners in order [m], how many layers lie exactly on each other, its unit."""

    corners: tuple[Point, ...]
    layers: int = 1
    unit: int = 0


Sewing = Literal["hem", "rim", "seam", "apex"]
Stitch = tuple[Sewing, Point, Point]  # what was sewn there, from where to where [m]; an apex is where it is


@dataclass(frozen=True)
class Sheet:
    """Facets, where each group of lines leaves the cloth: (point [m], line numbers), and what is sewn: hem at the skirt,
    rim of a hole, seams, the apex. Sewing that lies on each other is told once.
    """

    facets: tuple[Facet, ...]
    lines: tuple[tuple[Point, tuple[int, ...]], ...]
    sewn: tuple[Stitch, ...] = ()

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y) [m]."""
        xs = [x for facet in self.facets for x, _ in facet.corners]
        ys = [y for facet in self.facets for _, y in facet.corners]
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def length(self) -> float:
        """From the least to the greatest x [m]."""
        return self.box[2] - self.box[0]

    @property
    def width(self) -> float:
        """From the least to the greatest y [m]."""
        return self.box[3] - self.box[1]

    @property
    def area(self) -> float:
        """Cloth area [m^2], every layer counted."""
        return sum(facet.layers * polygon_area(facet.corners) for facet in self.facets)


@dataclass(frozen=True, eq=False)  # the same fold is the same object, and found by that in what is remembered
class Fold:
    """One act of the sequence and what lies there afterwards.

    staying, moving: the pieces as they lie before it, what is folded over apart; crease: its two ends, the moving
    part on its left (a pleat: its far units); layers: at the thickest place; wedge: angle at the apex [degrees], 0 for a strip; parts: how
    many lengths a shortening makes; number: which of its kind this is, from 1.
    """

    act: Act
    number: int
    before: Sheet
    after: Sheet
    layers: int
    wedge: float = 0.0
    crease: tuple[Point, Point] | None = None
    parts: int = 1
    staying: Sheet | None = None
    moving: Sheet | None = None


# --- geometry --------------------------------------------------------------------------------------


def polygon_area(corners: Iterable[Point]) -> float:
    """Area [m^2] of a plane polygon from its corners [m] in order, by the shoelace sum."""
    points = list(corners)
    twice = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True))
    return abs(twice) / 2


def _side(point: Point, through: Point, direction: Point) -> float:
    return direction[0] * (point[1] - through[1]) - direction[1] * (point[0] - through[0])


def _clip(corners: tuple[Point, ...], through: Point, direction: Point, sign: int) -> tuple[Point, ...]:
    """The part of a convex polygon on the left (sign 1) or right (-1) of a line; () when nothing is there."""
    kept: list[Point] = []
    sides = [sign * _side(corner, through, direction) for corner in corners]
    for i, here in enumerate(corners):
        a, b, there = sides[i - 1], sides[i], corners[i - 1]
        if (a > _EPSILON and b < -_EPSILON) or (a < -_EPSILON and b > _EPSILON):
            t = b / (b - a)
            kept.append((here[0] + t * (there[0] - here[0]), here[1] + t * (there[1] - here[1])))
        if b >= -_EPSILON:
            kept.append(here)
    return tuple(kept) if len(kept) > 2 and polygon_area(kept) > _EPSILON * _EPSILON else ()


def _mirror(point: Point, through: Point, direction: Point) -> Point:
    off = 2 * _side(point, through, direction)
    return point[0] + off * direction[1], point[1] - off * direction[0]


def _merge(facets: Iterable[Facet]) -> tuple[Facet, ...]:
    """Facets that lie exactly on each other become one with their layers added."""
    piles: dict[object, Facet] = {}
    for facet in facets:
        key = (frozenset((round(x, 7) + 0.0, round(y, 7) + 0.0) for x, y in facet.corners), facet.unit)
        pile = piles.get(key)
        piles[key] = facet if pile is None else Facet(pile.corners, pile.layers + facet.layers, pile.unit)
    return tuple(piles.values())


def grouped(lines: Iterable[tuple[Point, tuple[int, ...]]]) -> tuple[tuple[Point, tuple[int, ...]], ...]:
    """Lines that leave the cloth at one point become one group."""
    groups: dict[object, tuple[Point, tuple[int, ...]]] = {}
    for point, numbers in lines:
        key = (round(point[0], 6) + 0.0, round(point[1], 6) + 0.0)
        groups[key] = (groups[key][0], tuple(sorted(groups[key][1] + numbers))) if key in groups else (point, numbers)
    return tuple(groups.values())


def split(
    sheet: Sheet, through: Point, direction: Point, moves: Callable[[int], bool] = lambda unit: True
) -> tuple[Sheet, Sheet]:
    """What stays and what moves when the part left of a line (unit vector `direction`) is folded over.

    Only units that `moves` says take part; lines belong to the side their corner is on.
    """
    stay: list[Facet] = []
    go: list[Facet] = []
    for facet in sheet.facets:
        if not moves(facet.unit):
            stay.append(facet)
            continue
        if corners := _clip(facet.corners, through, direction, -1):
            stay.append(Facet(corners, facet.layers, facet.unit))
        if corners := _clip(facet.corners, through, direction, 1):
            go.append(Facet(corners, facet.layers, facet.unit))
    left = [(p, n) for p, n in sheet.lines if _side(p, through, direction) > _EPSILON]
    right = [(p, n) for p, n in sheet.lines if _side(p, through, direction) <= _EPSILON]
    kept, gone = _ripped(sheet.sewn, through, direction)
    return Sheet(tuple(stay), tuple(right), kept), Sheet(tuple(go), tuple(left), gone)


def _ripped(sewn: Iterable[Stitch], through: Point, direction: Point) -> tuple[tuple[Stitch, ...], tuple[Stitch, ...]]:
    """Sewing right and left of a line, what crosses it cut there; what lies on it counts as right."""
    right: list[Stitch] = []
    left: list[Stitch] = []
    for stitch in sewn:
        what, start, end = stitch
        a, b = _side(start, through, direction), _side(end, through, direction)
        if a <= _EPSILON and b <= _EPSILON:
            right.append(stitch)
        elif a >= -_EPSILON and b >= -_EPSILON:
            left.append(stitch)
        else:
            t = a / (a - b)
            cut = (start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1]))
            near: Stitch = (what, start, cut)
            far: Stitch = (what, cut, end)
            right.append(near if a < b else far)
            left.append(far if a < b else near)
    return tuple(right), tuple(left)


def _sewn_once(sewn: Iterable[Stitch]) -> tuple[Stitch, ...]:
    """Sewing that lies exactly on each other told once."""
    found: dict[object, Stitch] = {}
    for stitch in sewn:
        what, (x0, y0), (x1, y1) = stitch
        one, other = (round(x0, 6) + 0.0, round(y0, 6) + 0.0), (round(x1, 6) + 0.0, round(y1, 6) + 0.0)
        found.setdefault((what, one, other) if one < other else (what, other, one), stitch)
    return tuple(found.values())


def mirrored(sheet: Sheet, through: Point, direction: Point) -> Sheet:
    """The sheet turned over about a line through a point [m] along a unit vector."""
    return Sheet(
        tuple(
            Facet(tuple([_mirror(p, through, direction) for p in reversed(f.corners)]), f.layers, f.unit)
            for f in sheet.facets
        ),
        tuple((_mirror(p, through, direction), n) for p, n in sheet.lines),
        tuple((what, _mirror(a, through, direction), _mirror(b, through, direction)) for what, a, b in sheet.sewn),
    )


def _joined(one: Sheet, other: Sheet) -> Sheet:
    sewn = _sewn_once(one.sewn + other.sewn)
    return Sheet(_merge(one.facets + other.facets), grouped(one.lines + other.lines), sewn)


def line_of(crease: tuple[Point, Point]) -> tuple[Point, Point]:
    """A crease as a point on it and its unit direction."""
    (x0, y0), (x1, y1) = crease
    size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
    return crease[0], ((x1 - x0) / size, (y1 - y0) / size)


def _folded(act: Act, number: int, sheet: Sheet, crease: tuple[Point, Point], layers: int, wedge: float = 0.0) -> Fold:
    """The step that folds everything left of the crease over it."""
    stay, go = split(sheet, *line_of(crease))
    after = _joined(stay, mirrored(go, *line_of(crease)))
    return Fold(act, number, sheet, after, layers, wedge, crease, 1, stay, go)


def _placed(sheet: Sheet, place: Callable[[Point, int], Point]) -> Sheet:
    facets = [Facet(tuple([place(p, f.unit) for p in f.corners]), f.layers, f.unit) for f in sheet.facets]
    sewn = tuple((what, place(a, 0), place(b, 0)) for what, a, b in sheet.sewn)
    return Sheet(_merge(facets), grouped((place(p, 0), n) for p, n in sheet.lines), sewn)


def _turned(sheet: Sheet, degrees: float) -> Sheet:
    c, s = cosine(degrees * PI / 180), sine(degrees * PI / 180)
    return _placed(sheet, lambda p, unit: (c * p[0] - s * p[1], s * p[0] + c * p[1]))


def _polar(radius: float, degrees: float) -> Point:
    return radius * cosine(degrees * PI / 180), radius * sine(degrees * PI / 180)


# --- laying out -----------------------------------------------------------------------------------


def lay_flat(family: str, shape: Shape, lines: int, ratio: float) -> Sheet:
    """A flat canopy on the ground [m], centre at the origin, line 1 just above the +x axis, numbered anticlockwise.

    family: flat polygon, flat circular, annular or cross. ratio (dimensionless): inner over outer diameter of the
    annular, width over length of the cross's panels; no other family uses it. A cross
    has the same number of lines, at least two, on each of its four arms. The first crease (the x axis) runs through two
    mid-sides when `lines` is even, through line 1 when odd.
    """
    if family == "cross":
        return _lay_cross(shape, lines, ratio)
    turn = 180 / lines if lines % 2 == 0 else 0.0
    corners = tuple((_polar(shape.edge_radius, turn + i * 360 / lines), (i + 1,)) for i in range(lines))
    apex: Point = (0.0, 0.0)
    middle: tuple[Stitch, ...] = (("apex", apex, apex),)
    seams: tuple[Stitch, ...] = tuple(("seam", apex, p) for p, _ in corners)
    if family == "flat polygon":
        edge = tuple(p for p, _ in corners)
        return Sheet((Facet(edge),), corners, middle + seams + _round("hem", edge, halved=True))
    per_gore = 2 * max(1, -(-48 // (2 * lines)))
    angles = [i * 360 / (lines * per_gore) for i in range(lines * per_gore)]
    edge = tuple(_polar(shape.edge_radius, a) for a in angles)
    if family == "flat circular":
        return Sheet((Facet(edge),), corners, middle + seams + _round("hem", edge))
    inner = ratio * shape.edge_radius
    step = 360 / (lines * per_gore)
    seams = tuple(("seam", _polar(inner, turn + i * 360 / lines), p) for i, (p, _) in enumerate(corners))
    rim = _round("rim", tuple(_polar(inner, a) for a in angles))
    return Sheet(
        tuple(
            Facet(
                (
                    _polar(inner, a),
                    _polar(shape.edge_radius, a),
                    _polar(shape.edge_radius, a + step),
                    _polar(inner, a + step),
                )
            )
            for a in angles
        ),
        corners,
        rim + seams + _round("hem", edge),
    )


def _round(what: Sewing, corners: tuple[Point, ...], *, halved: bool = False) -> tuple[Stitch, ...]:
    """Sewing all round an outline, side by side; `halved` in two pieces a side, so that a crease through its middle fits."""
    if halved:
        sides = zip(corners, (*corners[1:], corners[0]), strict=True)
        corners = tuple(p for (a, b), (c, d) in sides for p in ((a, b), ((a + c) / 2, (b + d) / 2)))
    return tuple((what, a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))


def _lay_cross(shape: Shape, lines: int, ratio: float) -> Sheet:
    half = shape.skirt / 4 / ratio / 2
    side = half * ratio
    quarters = (((1, 0), (0, 1)), ((0, 1), (-1, 0)), ((-1, 0), (0, -1)), ((0, -1), (1, 0)))

    def at(axes: tuple[tuple[int, int], tuple[int, int]], along: float, across: float) -> Point:
        """A place on an arm from its distances along and across it [m]."""
        (ax, ay), (bx, by) = axes
        return along * ax + across * bx, along * ay + across * by

    facets = [Facet(((-side, -side), (side, -side), (side, side), (-side, side)))]
    facets += [Facet((at(q, side, -side), at(q, half, -side), at(q, half, side), at(q, side, side))) for q in quarters]
    per_arm = lines // 4
    spots = [-side + 2 * side * i / (per_arm - 1) for i in range(per_arm)]
    points = [at(q, half, spot) for q in quarters for spot in spots]
    sewn = _round("seam", facets[0].corners)
    sewn += tuple(("hem", at(q, half, -side), at(q, half, side)) for q in quarters)
    return Sheet(tuple(facets), tuple((p, (i + 1,)) for i, p in enumerate(points)), sewn)


# --- sequences ------------------------------------------------------------------------------------


@remembered(16)
def to_wedge(family: str, shape: Shape, lines: int, ratio: float = 1.0) -> tuple[Fold, ...]:
    """From the canopy as it lies [m] to one wedge with all lines in one group.

    Flat canopies whose corners number a power of two are halved through the centre; other flat ones are halved
    once and pleated; the rest are flaked gore by gore. ratio (dimensionless): as for `lay_flat`; for a semi-ellipsoid
    its height over its base radius.
    """
    if family not in ("flat polygon", "flat circular", "annular", "cross"):
        return (_flaked(family, shape, lines, ratio),)
    flat = lay_flat(family, shape, lines, ratio)
    steps = [Fold("lay out", 1, flat, flat, 1, 360.0)]
    corners = 8 if family == "cross" else lines
    if corners & (corners - 1) == 0:
        wedge, layers = 360.0, 1
        while layers < corners:
            wedge, layers = wedge / 2, layers * 2
            steps.append(_halved(steps[-1].after, len(steps), wedge, layers))
        if family == "cross":  # its arms now lie on each other along the x axis: a strip, not a wedge
            steps[-1] = replace(steps[-1], wedge=0.0)
        return tuple(steps)
    steps.append(_halved(flat, 1, 180.0, 2))
    return tuple(steps) + _pleated(steps[-1].after, lines)


def _halved(sheet: Sheet, number: int, wedge: float, layers: int) -> Fold:
    """Fold about the middle of the angle that is left, far part over near; the first fold brings the near half up."""
    angle = 180.0 if wedge == 180 else wedge
    reach = max(sqrt(x * x + y * y) for f in sheet.facets for x, y in f.corners)
    start = _polar(reach, angle + 180) if wedge == 180 else (0.0, 0.0)
    return _folded("halve", number, sheet, (start, _polar(reach, angle)), layers, wedge)


def _pleated(half: Sheet, lines: int) -> tuple[Fold, ...]:
    """Back and forth, one unit at a time: a gore for an even number of lines, half a gore for an odd one."""
    unit = 360 / lines if lines % 2 == 0 else 180 / lines
    count = lines // 2 if lines % 2 == 0 else lines
    cut = half.facets
    for i in range(1, count):
        direction = _polar(1.0, i * unit)
        pieces = []
        for facet in cut:
            if near := _clip(facet.corners, (0.0, 0.0), direction, -1):
                pieces.append(Facet(near, facet.layers, facet.unit))
            if far := _clip(facet.corners, (0.0, 0.0), direction, 1):
                pieces.append(Facet(far, facet.layers, i))
        cut = tuple(pieces)
    sheet, steps = Sheet(cut, half.lines, half.sewn), []
    sewn: list[list[Stitch]] = [[] for _ in range(count)]
    for stitch in half.sewn:
        sewn[min(count - 1, _unit_at(stitch, unit))].append(stitch)
    reach = half.box[2]
    for i in range(1, count):
        angle = unit if i % 2 else 0.0
        direction = _polar(1.0, angle)
        stay, go = _parted(sheet, i, lambda line: _unit_of(line, lines, unit))
        turned = mirrored(go, (0.0, 0.0), direction)
        for pile in range(i, count):
            rest = Sheet((), (), tuple(sewn[pile]))
            sewn[pile] = list(mirrored(rest, (0.0, 0.0), direction).sewn)
        lying = _sewn_once(itertools.chain.from_iterable(sewn))
        after = Sheet(stay.facets + turned.facets, stay.lines + turned.lines, lying)
        crease = ((0.0, 0.0), _polar(reach, angle))
        steps.append(Fold("pleat", i, sheet, after, 2 * (i + 1), unit, crease, 1, stay, go))
        sheet = after
    plain = Sheet(_merge(Facet(f.corners, f.layers) for f in sheet.facets), grouped(sheet.lines), sheet.sewn)
    steps[-1] = replace(steps[-1], after=plain)
    return tuple(steps)


def _parted(sheet: Sheet, first: int, unit_of: Callable[[int], int]) -> tuple[Sheet, Sheet]:
    """Units before `first`, and the rest with their lines; layers not merged."""
    return (
        Sheet(
            tuple(f for f in sheet.facets if f.unit < first),
            tuple((p, n) for p, n in sheet.lines if unit_of(n[0]) < first),
        ),
        Sheet(
            tuple(f for f in sheet.facets if f.unit >= first),
            tuple((p, n) for p, n in sheet.lines if unit_of(n[0]) >= first),
        ),
    )


def _unit_of(line: int, lines: int, unit: float) -> int:
    """Which unit of the half a line's corner lies in (line n and its mirror image have the same one)."""
    angle = (180 / lines if lines % 2 == 0 else 0.0) + (line - 1) * 360 / lines
    angle = min(angle, 360 - angle)
    return int((angle - 1e-6) // unit) if angle > 1e-6 else 0


def _unit_at(stitch: Stitch, unit: float) -> int:
    """Which unit of the half, so many degrees wide, a piece of sewing lies in."""
    _, (x0, y0), (x1, y1) = stitch
    x, y = x0 + x1, y0 + y1
    turn, place = _polar(1.0, unit), 0
    while turn[0] * y - turn[1] * x > _EPSILON:
        x, y = turn[0] * x + turn[1] * y, turn[0] * y - turn[1] * x
        place += 1
    return place


def _flaked(family: str, shape: Shape, lines: int, ratio: float) -> Fold:
    """All gores on one pile: half of each to the left, half to the right, lines together on the middle."""
    samples = 12 if family in ("hemispherical", "semi-ellipsoid") else 1
    edge = [
        (shape.gore_length * i / samples, gore_half_width(family, shape, i / samples, ratio))
        for i in range(samples + 1)
    ]
    outline = (*((x, -y) for x, y in edge), *((x, y) for x, y in reversed(edge) if y))  # convex: a gore widens less and less
    end, foot = edge[-1]
    sewn: tuple[Stitch, ...] = (
        ("apex", (0.0, 0.0), (0.0, 0.0)),
        ("seam", (0.0, 0.0), (end, 0.0)),
        ("hem", (end, -foot), (end, foot)),
    )
    sheet = Sheet((Facet(outline, lines),), (((end, 0.0), tuple(range(1, lines + 1))),), sewn)
    return Fold("flake", 1, sheet, sheet, lines, 0.0)


def to_strip(wedge: Fold, halvings: int) -> tuple[Fold, ...]:
    """Halve the wedge lengthwise so many times, creases parallel to its axis: each halves its width, not its length."""
    sheet = levelled(wedge)
    steps: list[Fold] = []
    layers = wedge.layers
    while len(steps) < halvings:
        x0, y0, x1, y1 = sheet.box
        middle = (y0 + y1) / 2
        layers *= 2
        step = _folded("lengthwise", len(steps) + 1, sheet, ((x0, middle), (x1, middle)), layers)
        steps.append(step)
        sheet = step.after
    return tuple(steps)


def levelled(step: Fold) -> Sheet:
    """What lies there after a step, a wedge turned so that its axis is the x axis."""
    return _turned(step.after, -step.wedge / 2) if step.wedge else step.after


def shortened(sheet: Sheet, parts: int) -> Fold:
    """The strip laid in `parts` equal lengths back and forth (two: simply doubled), the skirt staying outside."""
    x0, _, x1, _ = sheet.box
    length = (x1 - x0) / parts
    cut: tuple[Facet, ...] = tuple(Facet(f.corners, f.layers) for f in sheet.facets)
    for i in range(1, parts):
        through, direction = (x1 - i * length, 0.0), (0.0, 1.0)
        pieces = []
        for facet in cut:
            if near := _clip(facet.corners, through, direction, -1):
                pieces.append(Facet(near, facet.layers, facet.unit))
            if far := _clip(facet.corners, through, direction, 1):
                pieces.append(Facet(far, facet.layers, i))
        cut = tuple(pieces)

    def place(point: Point, unit: int) -> Point:
        """Where a point [m] of one of the lengths comes to lie."""
        from_skirt = x1 - point[0] - unit * length
        return x1 - (length - from_skirt if unit % 2 else from_skirt), point[1]

    placed = _placed(Sheet(cut, ()), place)
    lines = [(place(p, min(parts - 1, max(0, int((x1 - p[0] + _EPSILON) // length)))), n) for p, n in sheet.lines]
    sewn = _sewn_once(_laid_back(sheet.sewn, x1, length, parts, place))
    after = Sheet(_merge(Facet(f.corners, f.layers) for f in placed.facets), grouped(lines), sewn)
    return Fold("shorten", 1, sheet, after, thickest(after), 0.0, None, parts)


def _laid_back(
    sewn: Iterable[Stitch], x1: float, length: float, parts: int, place: Callable[[Point, int], Point]
) -> Iterable[Stitch]:
    """Sewing of a strip that ends at x1 [m], laid back and forth with it."""
    rest = tuple(sewn)
    for i in range(parts):
        mine, rest = _ripped(rest, (x1 - (i + 1) * length, 0.0), (0.0, 1.0)) if i < parts - 1 else (rest, ())
        yield from ((what, place(a, i), place(b, i)) for what, a, b in mine)


def doubled(sheet: Sheet, parts: int) -> tuple[Fold, ...]:
    """The strip halved again and again, the apex end over onto the skirt end, until it is in `parts` lengths (2, 4, 8)."""
    steps: list[Fold] = []
    made = 1
    while made < parts:
        x0, y0, x1, y1 = sheet.box
        middle = (x0 + x1) / 2
        made *= 2
        # the part left of an upward line is the apex end
        step = _folded("shorten", len(steps) + 1, sheet, ((middle, y0), (middle, y1)), 0)
        step = replace(step, parts=2, layers=thickest(step.after))
        steps.append(step)
        sheet = step.after
    return tuple(steps)


@remembered(32)
def measures(family: str, shape: Shape, lines: int, ratio: float) -> tuple[float, float, int]:
    """Length and width of the wedge as it is folded lengthwise [m], and its layers."""
    wedge = to_wedge(family, shape, lines, ratio)[-1]
    sheet = levelled(wedge)
    return sheet.length, sheet.width, wedge.layers


@remembered(32)
def folded(
    family: str, shape: Shape, lines: int, ratio: float, made: tuple[int, int], halving: bool
) -> tuple[tuple[Fold, ...], tuple[Fold, ...]]:
    """All folds of a canopy, sizes in [m]: to the strip, and those that shorten it.

    family, shape, lines, ratio (dimensionless): as `to_wedge` takes them; made: (halvings lengthwise, lengths), counts;
    halving: in two again and again, else in a zigzag.
    """
    lengthwise, parts = made
    wedge = to_wedge(family, shape, lines, ratio)
    strip = wedge + to_strip(wedge[-1], lengthwise)
    if parts == 1:
        return strip, ()
    sheet = levelled(strip[-1])
    return strip, doubled(sheet, parts) if halving else (shortened(sheet, parts),)


# --- counting layers ------------------------------------------------------------------------------


def thickest(sheet: Sheet) -> int:
    """How many layers lie on each other where most do.

    Exact: what lies on each other is looked at along upright lines, one between any two neighbouring places where an
    edge ends or crosses another; between them nothing changes its order.
    """
    piles = [(facet.layers, list(_slanted(facet.corners))) for facet in sheet.facets]
    edges = {edge for _, own in piles for edge in own}
    places = sorted({x for corners in edges for x, _ in corners} | _crossings(sorted(edges)))
    middles = ((a + b) / 2 for a, b in itertools.pairwise(places) if b - a > 10 * _EPSILON)
    return max((_most_across(piles, x) for x in middles), default=0)


def _slanted(corners: tuple[Point, ...]) -> Iterable[tuple[Point, Point]]:
    """The edges that are not upright, each from left to right."""
    for one, other in zip(corners, corners[1:] + corners[:1], strict=True):
        if abs(one[0] - other[0]) > _EPSILON:
            yield min(one, other), max(one, other)


def _crossings(edges: list[tuple[Point, Point]]) -> set[float]:
    """x [m] of every point where two edges (from left to right, sorted) cross between their ends."""
    found = set()
    for i, ((x0, y0), (x1, y1)) in enumerate(edges):
        slope = (y1 - y0) / (x1 - x0)
        for (u0, v0), (u1, v1) in edges[i + 1 :]:
            if u0 >= x1:
                break
            other = (v1 - v0) / (u1 - u0)
            if abs(slope - other) < _EPSILON:
                continue
            x = (v0 - y0 + slope * x0 - other * u0) / (slope - other)
            if max(x0, u0) < x < min(x1, u1):
                found.add(round(x, 9))
    return found


def _most_across(piles: list[tuple[int, list[tuple[Point, Point]]]], x: float) -> int:
    """Most layers on each other along the upright line at x [m], which runs through no corner; piles: layers and edges."""
    ends: list[tuple[float, int]] = []
    for layers, edges in piles:
        met = [y0 + (y1 - y0) * (x - x0) / (x1 - x0) for (x0, y0), (x1, y1) in edges if x0 < x < x1]
        if len(met) == 2 and abs(met[1] - met[0]) > _EPSILON:
            ends += [(min(met) + _EPSILON / 4, layers), (max(met) - _EPSILON / 4, -layers)]
    most = here = 0
    for _, layers in sorted(ends):
        here += layers
        most = max(most, here)
    return most


# --- fitting --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bundle:
    """The finished bundle: what lies there, whether it fits and what it would take.

    length, width, thickness [m]: a slab as the folds leave it; one that is gathered round is as thick as it is wide.
    lengthwise, parts: how often the wedge is halved lengthwise, in how many lengths the strip is laid. room: the length
    the bay has for it; widest: the diameter the tube has for it [m]. needs_tube: the smallest tube that would do with
    the room as it is, needs_room: the smallest room that would do in this tube [m]; None when none does.
    """

    length: float
    width: float
    thickness: float
    lengthwise: int
    parts: int
    room: float
    widest: float
    fits: bool
    needs_tube: float | None
    needs_room: float | None
    round: bool = False

    @property
    def volume(self) -> float:
        """[m^3]."""
        return self.length * self.width * self.thickness * (PI / 4 if self.round else 1)

    @property
    def diagonal(self) -> float:
        """The least round hole that its end goes through [m]."""
        if self.round:
            return self.width
        return sqrt(self.width * self.width + self.thickness * self.thickness)

    @property
    def girth(self) -> float:
        """Once round it [m]."""
        return PI * self.width if self.round else 2 * (self.width + self.thickness)

    @property
    def diameter(self) -> float:
        """Of a round bundle as long and of the same bulk [m]: what it would be if it were gathered round."""
        return sqrt(4 * self.volume / (PI * self.length))


# length, width, thickness [m], square of the width corner to corner [m^2], halvings lengthwise, lengths it is laid in
type _Slab = tuple[float, float, float, float, int, int]


@remembered(256)
def _slabs(length: float, width: float, layers: int, volume: float, halving: bool) -> list[list[_Slab]]:
    """Every slab that a wedge of these measures [m] can be folded to by hand, rows of fewer folds first.

    One that is thicker than the strip is wide, or than the bundle is long, cannot be folded; at most a thousand layers,
    counted as if they all lay on each other, and eight lengths (our choice). What just lies there is always among them.
    """
    ways = (1, 2, 4, 8) if halving else range(1, MOST_PARTS + 1)
    flat = volume / (width * length)
    rows: list[list[_Slab]] = [[(length, width, flat, width * width + flat * flat, 0, 1)]]
    for k in range(MOST_LENGTHWISE + 1):
        halves = 1 << k
        wide, strip = width / halves, flat * halves
        if strip > wide:
            break
        row: list[_Slab] = []
        for n in ways:  # each thicker and shorter than the one before
            if n * n * strip > length or layers * halves * n > MOST_LAYERS:
                break
            row.append((length / n, wide, n * strip, wide * wide + n * strip * n * strip, k, n))
        if row:
            rows.append(row)
    return rows


@remembered(1024)
def bundle(
    wedge: tuple[float, float, int], volume: float, tube: float, room: float, share: float, halving: bool = False
) -> Bundle:
    """Fold a wedge lengthwise and shorten it until it is no longer than `room` and goes through the tube corner to corner.

    wedge: its length and width [m] and its layers. volume: of the loosely folded cloth [m^3] = mass / pack density; the
    bundle is a slab of that volume, as wide as the strip: whatever makes it narrower or shorter makes it thicker. share:
    the part of the tube's inner diameter that its diagonal may take. halving: only 1, 2, 4 or 8 lengths, otherwise
    any number up to eight. Of those that fit the one of the fewest folds; of none the one nearest to it.
    """
    widest = tube * share
    rows, most = _slabs(*wedge, volume, halving), widest * widest
    short: list[_Slab] = []  # of each row the thinnest that is short enough
    shortest: float | None = None  # of all that the tube lets through
    for row in rows:
        for one in row:
            if one[0] <= room:
                short.append(one)
                break
        for one in reversed(row):
            if one[3] <= most:
                shortest = one[0] if shortest is None else min(shortest, one[0])
                break
    fitting = next((one for one in short if one[3] <= most), None)
    least = min(short, key=itemgetter(3), default=None)
    made = fitting or least or min((row[-1] for row in rows), key=itemgetter(0, 3))
    length, width, thickness, _, lengthwise, parts = made
    needs = sqrt(least[3]) / share if least else None
    return Bundle(length, width, thickness, lengthwise, parts, room, widest, fitting is not None, needs, shortest)


def gathered(volume: float, tube: float, room: float, share: float) -> Bundle:
    """A canopy of which only the bulk [m^3] is known, gathered round, a hair narrower than the tube lets it be."""
    widest = tube * share
    wide = widest * (1 - _EPSILON)
    length = 4 * volume / (PI * wide * wide)
    needs = sqrt(4 * volume / (PI * room)) / share / (1 - _EPSILON) if room > 0 else None
    return Bundle(length, wide, wide, 0, 1, room, widest, length <= room, needs, length, round=True)

"""Folding, as exact plane geometry: a canopy laid flat is a set of facets, a fold mirrors some of them.

Knows metres, degrees and points; knows nothing of units, words or pictures. The sequence for a canopy ends in a
strip no wider than the tube and no longer than the room the bay has for it, or says why there is none.
x runs from the apex to the skirt once the canopy is a wedge, y across it.
"""

import itertools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Literal

from loftbook.physics.canopy import Shape, gore_half_width
from loftbook.physics.elementary import PI, cosine, sine, sqrt

Point = tuple[float, float]
Act = Literal["lay out", "halve", "pleat", "flake", "lengthwise", "shorten"]
MOST_LENGTHWISE = 7
MOST_PARTS = 12
_EPSILON = 1e-9


@dataclass(frozen=True)
class Facet:
    """A convex piece of cloth: corners in order [m], how many layers lie exactly on each other, its unit."""

    corners: tuple[Point, ...]
    layers: int = 1
    unit: int = 0


@dataclass(frozen=True)
class Sheet:
    """Facets, and where each group of lines leaves the cloth: (point [m], line numbers)."""

    facets: tuple[Facet, ...]
    lines: tuple[tuple[Point, tuple[int, ...]], ...]

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


@dataclass(frozen=True)
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
    return Sheet(tuple(stay), tuple(right)), Sheet(tuple(go), tuple(left))


def mirrored(sheet: Sheet, through: Point, direction: Point) -> Sheet:
    """The sheet turned over about a line through a point [m] along a unit vector."""
    return Sheet(
        tuple(
            Facet(tuple([_mirror(p, through, direction) for p in reversed(f.corners)]), f.layers, f.unit)
            for f in sheet.facets
        ),
        tuple((_mirror(p, through, direction), n) for p, n in sheet.lines),
    )


def _joined(one: Sheet, other: Sheet) -> Sheet:
    return Sheet(_merge(one.facets + other.facets), grouped(one.lines + other.lines))


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
    return Sheet(_merge(facets), grouped((place(p, 0), n) for p, n in sheet.lines))


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
    if family == "flat polygon":
        return Sheet((Facet(tuple(p for p, _ in corners)),), corners)
    per_gore = 2 * max(1, -(-48 // (2 * lines)))
    angles = [i * 360 / (lines * per_gore) for i in range(lines * per_gore)]
    if family == "flat circular":
        return Sheet((Facet(tuple(_polar(shape.edge_radius, a) for a in angles)),), corners)
    inner = ratio * shape.edge_radius
    step = 360 / (lines * per_gore)
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
    )


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
    return Sheet(tuple(facets), tuple((p, (i + 1,)) for i, p in enumerate(points)))


# --- sequences ------------------------------------------------------------------------------------


@lru_cache(maxsize=16)
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
    sheet, steps = Sheet(cut, half.lines), []
    reach = half.box[2]
    for i in range(1, count):
        angle = unit if i % 2 else 0.0
        direction = _polar(1.0, angle)
        stay, go = _parted(sheet, i, lambda line: _unit_of(line, lines, unit))
        turned = mirrored(go, (0.0, 0.0), direction)
        after = Sheet(stay.facets + turned.facets, stay.lines + turned.lines)
        crease = ((0.0, 0.0), _polar(reach, angle))
        steps.append(Fold("pleat", i, sheet, after, 2 * (i + 1), unit, crease, 1, stay, go))
        sheet = after
    plain = Sheet(_merge(Facet(f.corners, f.layers) for f in sheet.facets), grouped(sheet.lines))
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


def _flaked(family: str, shape: Shape, lines: int, ratio: float) -> Fold:
    """All gores on one pile: half of each to the left, half to the right, lines together on the middle."""
    samples = 12 if family in ("hemispherical", "semi-ellipsoid") else 1
    edge = [
        (shape.gore_length * i / samples, gore_half_width(family, shape, i / samples, ratio))
        for i in range(samples + 1)
    ]
    strips = []
    for (x0, y0), (x1, y1) in itertools.pairwise(edge):
        corners = ((x0, -y0), (x1, -y1), (x1, y1), (x0, y0)) if y0 else ((x0, 0.0), (x1, -y1), (x1, y1))
        strips.append(Facet(corners, lines))
    sheet = Sheet(tuple(strips), (((shape.gore_length, 0.0), tuple(range(1, lines + 1))),))
    return Fold("flake", 1, sheet, sheet, lines, 0.0)


@lru_cache(maxsize=16)
def to_strip(wedge: Fold, widest: float) -> tuple[Fold, ...]:
    """Halve the wedge lengthwise, creases parallel to its axis, until it is at most `widest` [m] across.

    Gives the steps that are needed; stops after seven, so the caller looks at the last width.
    """
    sheet = levelled(wedge)
    steps: list[Fold] = []
    layers = wedge.layers
    while sheet.width > widest and len(steps) < MOST_LENGTHWISE:
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


def shortened(sheet: Sheet, layers: int, parts: int) -> Fold:
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
    after = Sheet(_merge(Facet(f.corners, f.layers) for f in placed.facets), grouped(lines))
    return Fold("shorten", 1, sheet, after, layers * parts, 0.0, None, parts)


def doubled(sheet: Sheet, layers: int, parts: int) -> tuple[Fold, ...]:
    """The strip halved again and again, the apex end over onto the skirt end, until it is in `parts` lengths (2, 4, 8)."""
    steps: list[Fold] = []
    made = 1
    while made < parts:
        x0, y0, x1, y1 = sheet.box
        middle = (x0 + x1) / 2
        layers, made = layers * 2, made * 2
        # the part left of an upward line is the apex end
        step = replace(_folded("shorten", len(steps) + 1, sheet, ((middle, y0), (middle, y1)), layers), parts=2)
        steps.append(step)
        sheet = step.after
    return tuple(steps)


# --- fitting --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bundle:
    """The finished bundle: length and diameter [m], in how many lengths, whether it fits and what it would take.

    room: the length the bay has for it [m]; widest: the diameter the tube has for it [m].
    needs_tube: the smallest tube that would do with the room as it is; needs_room: the smallest room that would do
    in this tube, None when no depth does [m].
    """

    length: float
    diameter: float
    parts: int
    room: float
    widest: float
    fits: bool
    needs_tube: float
    needs_room: float | None


def bundle(
    strip_length: float,
    strip_width: float,
    volume: float,
    tube: float,
    room: float,
    share: float,
    halving: bool = False,
) -> Bundle:
    """Shorten a strip until it is no longer than `room`, and see whether the bulk then still fits the tube.

    volume: of the loosely folded cloth [m^3] = mass / pack density; the bundle is taken as a cylinder of that
    volume, so folding it shorter makes it thicker. share: the part of the tube's inner diameter it may take.
    halving: only 1, 2, 4 or 8 lengths, otherwise any number up to twelve.
    """
    widest = tube * share
    ways = (1, 2, 4, 8) if halving else tuple(range(1, MOST_PARTS + 1))
    parts = next((n for n in ways if strip_length / n <= room), ways[-1])
    length = strip_length / parts
    diameter = sqrt(4 * volume / (PI * length))
    fits = length <= room and diameter <= widest and strip_width <= widest
    shortest = next(
        (strip_length / n for n in reversed(ways) if sqrt(4 * volume * n / (PI * strip_length)) <= widest), None
    )
    return Bundle(
        length,
        diameter,
        parts,
        room,
        widest,
        fits,
        max(diameter, strip_width if strip_width > widest else 0.0) / share,
        shortest if strip_width <= widest else None,
    )

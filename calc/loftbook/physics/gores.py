"""The pieces that a canopy of each family is sewn from: gores, one piece, strips; and the table to mark them by.

Knows metres, degrees and radians; the centre line of a gore runs along y from the middle of its hem at (0, 0) to the apex.
Plane and solid geometry throughout.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from loftbook.physics.elementary import PI, arctangent, cosine, sine, sqrt, tangent
from loftbook.physics.form import CHORD, DISCS, DOMES, Form, Turn, dome_radius, meridian, meridian_length, turned
from loftbook.physics.outline import Edge, Piece, Point, Sewn, notches

WHOLE = "whole canopy"  # the name of one piece


@dataclass(frozen=True)
class Whole:
    """A canopy from one piece of cloth.

    piece: without its hole; hole: radius of that about `middle` [m], marked on the piece and cut last, 0 for none;
    angle: what its cloth takes up about the middle [radians]: a full turn, less for a cone, which is closed by one seam.
    """

    piece: Piece
    hole: float
    middle: Point
    angle: float


@dataclass(frozen=True)
class Wedge:
    """What is marked when the cloth is folded so that all gores lie on each other.

    piece: with its folds, apex included; layers: of cloth that are cut at once; hole: radius about the apex [m].
    """

    piece: Piece
    layers: int
    hole: float


@dataclass(frozen=True)
class Offset:
    """along: from the hem's middle on the centre line [m]; half: from the centre line to the finished edge there [m]."""

    along: float
    half: float


# --- gores ----------------------------------------------------------------------------------------


def gore(form: Form) -> Piece:
    """One gore, finished, anticlockwise from its hem: hem, seam, vent if it has one, seam. Points of curves lie on them [m].

    Flat polygon: a triangle, its vent a round arc. Flat circular, conical, annular: a sector of the developed disc. Domes: the
    centre line is the meridian's true length, the width at each station 2 pi r/N, hem and vent straight across, so that
    all gores have exactly the surface's area; see `seam_over_meridian`. Raises ValueError for a cross, which has none.
    """
    if form.family == "cross":
        raise ValueError("a cross has no gores")
    if form.family in DOMES:
        right = _dome_edge(form)
        hem: tuple[Point, ...] = (_mirrored(right[0]), right[0])
        vent = _across((right[-1],)) if form.hole else ()
    else:
        apex, hole, half = form.radius, form.hole, form.half_angle
        if form.family == "flat polygon":
            corner = (apex * tangent(half), 0.0)
            hem = (_mirrored(corner), corner)
        else:
            hem = tuple((x, apex - y) for x, y in reversed(_across(_half_arc(apex, half))))
        vent = tuple((x, apex - y) for x, y in _across(_half_arc(hole, half))) if hole else ()
        right = (hem[-1], vent[0] if vent else (0.0, apex))
    left = tuple(_mirrored(point) for point in reversed(right))
    edges = [Edge("hem", hem), Edge("seam", right), *([Edge("vent", vent)] if vent else []), Edge("seam", left)]
    top = vent[len(vent) // 2][1] if vent else right[-1][1]
    return Piece("gore", tuple(edges), form.gores, _grain(0.0, top))


def gore_area(form: Form) -> float:
    """One finished gore with its curves as curves [m^2]: N of them are the cloth of the canopy, without its hole."""
    if form.family in DOMES:
        return sum(step.area for step in meridian(form)[1:])
    half, hole = form.half_angle, form.hole
    whole = tangent(half) if form.family == "flat polygon" else half
    return whole * form.radius * form.radius - half * hole * hole


def rounding(piece: Piece) -> float:
    """How far a piece's area [m^2] can be from that with its curves as curves: CHORD along all of them."""
    return CHORD * sum(edge.length for edge in piece.edges if len(edge.points) > 2)


def offsets(form: Form, step: float) -> tuple[Offset, ...]:
    """The table to mark a gore by [m]: every `step` [m] from the hem's middle, and wherever an edge begins or ends.

    Exact: not read off the outline's points. A vent's arc is struck about the apex with the radius `Form.hole`.
    """
    if not step > 0:
        raise ValueError(f"a step is above 0, not {step}")
    if form.family in DOMES:
        end = meridian_length(form)
        return tuple(Offset(along, PI / form.gores * dome_radius(form, end - along)) for along in _marks(step, {0.0, end}))
    apex, hole, half = form.radius, form.hole, form.half_angle
    round_hem = form.family != "flat polygon"
    foot = apex - apex * cosine(half) if round_hem else 0.0
    slant, found = tangent(half), []
    for along in _marks(step, {0.0, foot, apex - hole * cosine(half)}):
        straight = (apex - along) * slant
        arc = sqrt(max(0.0, along * (2 * apex - along))) if round_hem and along < foot else straight
        found.append(Offset(along, min(arc, straight) if along < foot else straight))
    return tuple(found)


def _marks(step: float, ends: set[float]) -> list[float]:
    """Every step up to the last of the ends, and those ends."""
    last = max(ends)
    near = 1e-9 * last
    steps = [step * i for i in range(ceil(last / step)) if all(abs(step * i - end) > near for end in ends)]
    return sorted([*steps, *ends])


def _dome_edge(form: Form) -> tuple[Point, ...]:
    """The right edge of a dome's gore, from the skirt up."""
    steps = meridian(form)
    whole, share = steps[-1].along, PI / form.gores
    return tuple((share * form.size / 2 * step.turn[0], whole - step.along) for step in reversed(steps))


# --- one piece ------------------------------------------------------------------------------------


def whole(form: Form) -> Whole | None:
    """The canopy cut from one piece of cloth [m], its angle in radians; None for a dome, which cannot be.

    A cone is a sector that one seam closes; its allowances meet before the apex, where the seam is sewn like a dart.
    """
    if form.family in DOMES:
        return None
    radius = form.radius
    if form.family == "cross":
        return Whole(_one(WHOLE, [Edge("hem", side) for side in _plus(form)]), 0.0, (0.0, 0.0), 2 * PI)
    if form.family == "conical":
        half = form.half_angle * form.gores
        hem = tuple((x, radius - y) for x, y in reversed(_across(_half_arc(radius, half))))
        apex = (0.0, radius)
        edges = [Edge("hem", hem), Edge("seam", (hem[-1], apex)), Edge("seam", (apex, hem[0]))]
        return Whole(_one(WHOLE, edges, _grain(0.0, radius)), form.hole, apex, 2 * half)
    if form.family == "flat polygon":
        corners = _polygon(form, -PI / 2 - form.half_angle)
        edges = [Edge("hem", pair) for pair in zip(corners, [*corners[1:], corners[0]], strict=True)]
    else:
        turn = _half_arc(radius, PI)
        edges = [Edge("hem", tuple((x, -y) for x, y in (*turn[:-1], (0.0, -radius), *(_mirrored(p) for p in reversed(turn[:-1])))))]
    return Whole(_one(WHOLE, edges), form.hole, (0.0, 0.0), 2 * PI)


def wedge(form: Form) -> Wedge | None:
    """What is marked on a folded flat polygon or circle, so that one cut makes the whole hem [m]; None for other families.

    An even number of gores is pleated into one gore's width; an odd number does not close like that, so half a gore is marked
    and each gore folded once more along its middle.
    """
    if form.family not in ("flat polygon", "flat circular"):
        return None
    plain = gore(Form(form.family, form.gores, form.size))
    hem, up = plain.edges[0].points, plain.edges[1].points
    apex, halved = up[-1], form.gores % 2
    if halved:
        hem = tuple(point for point in hem if point[0] > 0)
        hem = ((0.0, 0.0), *hem)
    folds = [Edge("fold", up), Edge("fold", (apex, hem[0]))]
    return Wedge(
        _one("wedge", [Edge("hem", hem), *folds], _grain(0.0, apex[1])), form.gores * (2 if halved else 1), form.hole
    )


# --- strips ---------------------------------------------------------------------------------------


def panels(form: Form, widest: float) -> tuple[Piece, ...]:
    """Strips along y of equal finished width, none wider than `widest` [m], sewn side by side; none for cone and domes.

    Numbered from the left; strips that are alike are counted together. A hole is marked and cut when they are sewn. A flat
    polygon lies with a side to the left, so it is no wider than it must be. Cross: two equal panels, each whole where the
    width allows, laid across each other and sewn together round the middle; so the middle is there twice.
    """
    if not widest > 0:
        raise ValueError(f"a width is above 0, not {widest}")
    if form.family == "cross":
        right = form.ratio * form.size / 2
        return _strips(_rectangle(form.size / 2), -right, right, widest, 2)
    if form.family == "flat polygon":
        odd, near = form.gores % 2, 1e-12 * form.size  # of an odd number one corner lies to the right, on the x axis
        around = _polygon(form, 0.0 if odd else form.half_angle)
        corners = [(x, y if y > near else 0.0) for x, y in around if y > -near]
        right = max(x for x, _ in corners)
        return _strips(_sides(corners), -form.radius, right, widest, 1, alike=not odd)
    if form.family in DISCS:
        # of an odd number of gores mirrored strips are not alike: their lines come on elsewhere
        return _strips(_round(form.radius), -form.radius, form.radius, widest, 1, alike=form.gores % 2 == 0)
    return ()


Upper = Callable[[float, float], tuple[Point, ...]]  # what bounds a strip above, from its right end to its left


def _strips(upper: Upper, left: float, right: float, widest: float, sheets: int, *, alike: bool = True) -> tuple[Piece, ...]:
    """A figure, mirrored about the x axis, cut into strips; alike: it is also mirrored about its middle."""
    count = ceil((right - left) / widest * (1 - 1e-12))
    ends = [left + (right - left) * i / count for i in range(count)] + [right]
    if alike:  # so that mirrored strips are alike to the last digit
        ends = [(end - other) / 2 for end, other in zip(ends, reversed(ends), strict=True)]
    found = []
    for i in range((count + 1) // 2 if alike else count):
        top = upper(ends[i], ends[i + 1])
        low = tuple((x, -y) for x, y in reversed(top))
        sides: list[tuple[Sewn, tuple[Point, ...]]] = [
            ("seam" if i + 1 < count else "hem", (low[-1], top[0])),
            ("hem", top),
            ("seam" if i else "hem", (top[-1], low[0])),
            ("hem", low),
        ]
        edges = tuple(Edge(sewn, points) for sewn, points in sides if points[0] != points[-1])
        middle, tall = (ends[i] + ends[i + 1]) / 2, max(y for _, y in top)
        times = sheets * (2 if alike and i != count - 1 - i else 1)
        found.append(Piece(f"panel {i + 1}", edges, times, ((middle, -0.45 * tall), (middle, 0.45 * tall))))
    return tuple(found)


def _rectangle(tall: float) -> Upper:
    return lambda left, right: ((right, tall), (left, tall))


def _round(radius: float) -> Upper:
    """A circle's upper half."""

    def angle(x: float) -> float:
        """From the right [radians]."""
        if x <= -radius:
            return PI
        return 2 * arctangent(sqrt(max(0.0, (radius - x) / (radius + x))))

    def upper(left: float, right: float) -> tuple[Point, ...]:
        """The arc between two places [m]."""
        first, last = angle(right), angle(left)
        (x0, y0), (x1, y1) = ((x, sqrt(max(0.0, radius * radius - x * x))) for x in (right, left))
        between = _arc(radius, (y0 / radius, x0 / radius), last - first)[1:-1]
        return ((x0, y0), *((x, y) for y, x in between), (x1, y1))

    return upper


def _sides(corners: Sequence[Point]) -> Upper:
    """The upper sides of a polygon, its corners from right to left."""

    def at(x: float) -> float:
        """Its height there [m]."""
        for (x0, y0), (x1, y1) in pairwise(corners):
            if x >= x0:
                return y0
            if x > x1:
                return y1 + (y0 - y1) * (x - x1) / (x0 - x1)
        return corners[-1][1]

    def upper(left: float, right: float) -> tuple[Point, ...]:
        """What lies between two places [m]."""
        near = 1e-12 * (corners[0][0] - corners[-1][0])
        return ((right, at(right)), *((x, y) for x, y in corners if left + near < x < right - near), (left, at(left)))

    return upper


# --- where lines come on --------------------------------------------------------------------------


def line_places(form: Form, piece: Piece) -> tuple[Point, ...]:
    """Where lines come on along the finished edge of a piece of that form, as its piece has it [m].

    A polygon's corners; evenly round a hem that is round, from where it begins; of a cross evenly along the ends of its arms.
    On a seam the place is on both its edges.
    """
    if piece.name in ("gore", "wedge"):
        ends = next(edge.points for edge in piece.edges if edge.sewn == "hem")
        return tuple(point for point in (ends[0], ends[-1]) if point[0])  # half a wedge begins in the middle of a side
    if form.family == "cross":
        return _along_arms(form, piece)
    if form.family == "flat polygon":
        return tuple(point for point in piece.outline if abs(_far(point) - form.radius / cosine(form.half_angle)) < 1e-9 * form.size)
    hem = max((edge for edge in piece.edges if edge.sewn == "hem"), key=lambda edge: edge.length)
    if piece.name == WHOLE:
        between = tuple(notch.point for notch in notches(hem, form.gores - 1))
        return (hem.points[0], *between, *([hem.points[-1]] if hem.points[-1] != hem.points[0] else []))
    left, right = min(x for x, _ in piece.outline), max(x for x, _ in piece.outline)
    turns = [2 * PI * i / form.gores for i in range(form.gores)]
    round_ = [(form.radius * cosine(turn), form.radius * sine(turn)) for turn in turns]
    return tuple(point for point in round_ if left - 1e-9 * form.size <= point[0] <= right + 1e-9 * form.size)


def _far(point: Point) -> float:
    """From the middle [m]."""
    return sqrt(point[0] * point[0] + point[1] * point[1])


def _along_arms(form: Form, piece: Piece) -> tuple[Point, ...]:
    """Of a cross, a quarter of the lines along each end of an arm that the piece has [m]."""
    far, near, count = form.size / 2, form.ratio * form.size / 2, max(1, form.gores // 4)
    shares = [0.0] if count == 1 else [2 * i / (count - 1) - 1 for i in range(count)]
    ends = [(near * share, sign * far) for sign in (-1, 1) for share in shares]
    if piece.name == WHOLE:
        return (*ends, *((y, x) for x, y in ends))
    left, right = min(x for x, _ in piece.outline), max(x for x, _ in piece.outline)
    return tuple(point for point in ends if left - 1e-9 * form.size <= point[0] <= right + 1e-9 * form.size)


# --- small shapes ---------------------------------------------------------------------------------


def _mirrored(point: Point) -> Point:
    return 0.0 - point[0], point[1]


def _across(right: Sequence[Point]) -> tuple[Point, ...]:
    """From the right end of a mirrored curve to its left; given its right half, from the middle out."""
    middle = right[:1] if not right[0][0] else ()
    outer = right[len(middle) :]
    return (*reversed(outer), *middle, *(_mirrored(point) for point in outer))


def _chords(radius: float, angle: float) -> int:
    """How many chords keep within CHORD of an arc: each leaves it by r (1 - cos(angle/2)), less than r angle^2/8."""
    return max(1, ceil(angle * sqrt(radius / (8 * CHORD))))


def _arc(radius: float, turn: Turn, angle: float) -> tuple[Point, ...]:
    """Points from a turn on over an angle [radians], each the sine and the cosine of its turn times the radius."""
    count = _chords(radius, angle)
    by, found = (sine(angle / count), cosine(angle / count)), [turn]
    for _ in range(count):
        found.append(turned(found[-1], by))
    return tuple((radius * s, radius * k) for s, k in found)


def _half_arc(radius: float, angle: float) -> tuple[Point, ...]:
    """Points about (0, 0) from (0, radius) to the right, over an angle [radians], the last one worked afresh."""
    return (*_arc(radius, (0.0, 1.0), angle)[:-1], (radius * sine(angle), radius * cosine(angle)))


def _polygon(form: Form, first: float) -> list[Point]:
    """Its corners anticlockwise from one at an angle from x [radians]."""
    radius, step = form.radius / cosine(form.half_angle), 2 * PI / form.gores
    return [(radius * cosine(first + step * i), radius * sine(first + step * i)) for i in range(form.gores)]


def _plus(form: Form) -> list[tuple[Point, Point]]:
    """The twelve sides of a cross."""
    far, near = form.size / 2, form.ratio * form.size / 2
    arm = ((-near, -far), (near, -far), (near, -near))
    corners: list[Point] = []
    for a, b in ((1, 0), (0, 1), (-1, 0), (0, -1)):  # turned by quarters
        corners += [(x * a - y * b, x * b + y * a) for x, y in arm]
    return list(zip(corners, [*corners[1:], corners[0]], strict=True))


def _grain(low: float, high: float) -> tuple[Point, Point]:
    """The middle four fifths of a centre line."""
    return (0.0, low + (high - low) / 10), (0.0, high - (high - low) / 10)


def _one(name: str, edges: Sequence[Edge], grain: tuple[Point, Point] | None = None) -> Piece:
    """A piece that is cut once."""
    heights = [y for edge in edges for _, y in edge.points]
    return Piece(name, tuple(edges), 1, grain or _grain(min(heights), max(heights)))

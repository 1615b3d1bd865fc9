"""Pieces of cloth as they are cut: closed outlines of straight lines, edge by edge, and the allowance each edge is sewn with.

Knows metres and points (x across the piece, y along it); knows nothing of units, words or pictures. Outlines run
anticlockwise. A curve is a row of points that lie on it, close enough that no pair of scissors tells the difference.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple

from loftbook.physics.elementary import sqrt

Point = tuple[float, float]
Sewn = Literal["seam", "hem", "vent", "fold"]  # what an edge is sewn into; at a fold the cloth goes on, mirrored
Allowances = Mapping[Sewn, float]
LONGEST_MITRE = 2.0  # of the larger allowance, from the finished corner; what is longer is cut off square there


@dataclass(frozen=True)
class Edge:
    """sewn: what it becomes; points: from corner to corner [m], two or more."""

    sewn: Sewn
    points: tuple[Point, ...]

    @property
    def length(self) -> float:
        """Along the edge [m]."""
        return sum(sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)) for (x0, y0), (x1, y1) in pairwise(self.points))


@dataclass(frozen=True)
class Piece:
    """One finished piece, without allowances.

    name: what readers call it, "gore"; edges: anticlockwise, each begins where the one before ends, the last ends where the
    first begins; count: how many of it are cut; grain: ends of its grain line [m], along the warp of the cloth.
    """

    name: str
    edges: tuple[Edge, ...]
    count: int
    grain: tuple[Point, Point]

    @property
    def outline(self) -> tuple[Point, ...]:
        """Its corners and the points between them [m], each once."""
        return tuple(point for edge in self.edges for point in edge.points[:-1])

    @property
    def area(self) -> float:
        """Finished, one of it [m^2]."""
        return area(self.outline)

    @property
    def closed(self) -> bool:
        """Whether its edges follow each other round, anticlockwise."""
        follow = all(
            before.points[-1] == edge.points[0] for before, edge in zip(_before(self.edges), self.edges, strict=True)
        )
        return follow and self.area > 0

    def cut(self, allowances: Allowances) -> tuple[Point, ...]:
        """The outline to cut along [m]: every edge moved outwards by its own allowance [m], 0 or more; a fold stays where it is.

        Every straight part of the cut is parallel to its finished one at exactly the allowance. Corners are mitred; a mitre
        longer than LONGEST_MITRE times the larger allowance is cut off square to itself at that distance from the finished
        corner. Where one edge's allowance would be trimmed by its neighbour's smaller one (the corner is flat), the cut
        steps from one to the other square to the edge. At a fold the cut meets the fold's own line, as its mirror image
        does. A part that its neighbours leave no room for (a vent smaller than its own allowance) vanishes, and they meet.
        Raises KeyError for an edge without an allowance, ValueError when it is below 0 or nothing is left.
        """
        lines = [line for edge in self.edges for line in _lines(edge, allowances)]
        return _ring(_kept(lines))


@dataclass(frozen=True)
class Notch:
    """point: on the finished edge [m]; normal: outwards, square to it, a unit long (dimensionless)."""

    point: Point
    normal: Point


def area(points: Sequence[Point]) -> float:
    """Area [m^2] within a closed outline of points [m], each once; above 0 when it runs anticlockwise (plane geometry)."""
    x, y = points[0]
    ring = [(px - x, py - y) for px, py in points]
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise([*ring, ring[0]])) / 2


def grown(points: Sequence[Point], by: float) -> tuple[Point, ...]:
    """An anticlockwise outline [m] moved outwards by the same distance [m] everywhere, 0 or more; corners as in `Piece.cut`."""
    edge = Edge("hem", (*points, points[0]))
    return _ring(_kept(list(_lines(edge, {"hem": by}))))


def notches(edge: Edge, count: int) -> tuple[Notch, ...]:
    """`count` marks that part an edge into equal lengths [m]: those of a neighbour as long meet them one by one."""
    whole, walked, found = edge.length, 0.0, list[Notch]()
    for (x0, y0), (x1, y1) in pairwise(edge.points):
        dx, dy = x1 - x0, y1 - y0
        length = sqrt(dx * dx + dy * dy)
        while len(found) < count and (wanted := whole * (len(found) + 1) / (count + 1)) <= walked + length:
            part = (wanted - walked) / length
            found.append(Notch((x0 + part * dx, y0 + part * dy), (dy / length, -dx / length)))
        walked += length
    return tuple(found)


# --- offsets --------------------------------------------------------------------------------------


class _Line(NamedTuple):
    """A straight part: where it begins and ends, the unit across it outwards, how far it moves, whether it is a fold."""

    start: Point
    end: Point
    normal: Point
    out: float
    fold: bool


def _before[T](ring: Sequence[T]) -> Sequence[T]:
    """What stands before each of a ring."""
    return [ring[-1], *ring[:-1]]


def _lines(edge: Edge, allowances: Allowances) -> Iterator[_Line]:
    out = 0.0 if edge.sewn == "fold" else allowances[edge.sewn]
    if not out >= 0:
        raise ValueError(f"an allowance is 0 or more, not {out}")
    for (x0, y0), (x1, y1) in pairwise(edge.points):
        dx, dy = x1 - x0, y1 - y0
        length = sqrt(dx * dx + dy * dy)
        if length:
            yield _Line((x0, y0), (x1, y1), (dy / length, -dx / length), out, edge.sewn == "fold")


def _corner(one: _Line, two: _Line) -> Point:
    """Where two finished lines meet: where one ends and the other begins, or their crossing when what was between is gone."""
    if one.end == two.start:
        return one.end
    (x0, y0), (x1, y1) = one.end, two.start
    u, v = _meet(one.normal, 0.0, two.normal, two.normal[0] * (x1 - x0) + two.normal[1] * (y1 - y0))
    return x0 + u, y0 + v


def _meet(one: Point, a: float, two: Point, b: float) -> Point:
    """The point at distance a along the unit `one` and b along the unit `two`."""
    dot = one[0] * two[0] + one[1] * two[1]
    rest = 1 - dot * dot
    if rest < 1e-20:  # in one line; then a and b are the same
        return a * one[0], a * one[1]
    if a == b:
        p = q = a / (1 + dot)
    else:
        p, q = (a - b * dot) / rest, (b - a * dot) / rest
    return p * one[0] + q * two[0], p * one[1] + q * two[1]


def _join(one: _Line, two: _Line) -> tuple[Point, ...]:
    """The points of the cut at the corner from one line to the next."""
    x, y = _corner(one, two)
    m, n, a, b = one.normal, two.normal, one.out, two.out
    dot = m[0] * n[0] + m[1] * n[1]
    turns = m[0] * n[1] - m[1] * n[0]
    fold, steps = one.fold or two.fold, not (one.fold or two.fold) and one.end == two.start
    offsets: tuple[Point, ...]
    if steps and a < b * dot * (1 - 1e-15):
        offsets = ((n[0] * a / dot, n[1] * a / dot), (n[0] * b, n[1] * b))
    elif steps and b < a * dot * (1 - 1e-15):
        offsets = ((m[0] * a, m[1] * a), (m[0] * b / dot, m[1] * b / dot))
    else:
        tip = _meet(m, a, n, b)
        far, most = sqrt(tip[0] * tip[0] + tip[1] * tip[1]), LONGEST_MITRE * max(a, b)
        if turns > 0 and far > most and not fold:
            unit = (tip[0] / far, tip[1] / far)
            offsets = (_meet(m, a, unit, most), _meet(n, b, unit, most))
        else:
            offsets = (tip,)
    return tuple((x + u, y + v) for u, v in offsets)


def _left(before: _Line, line: _Line, after: _Line) -> float:
    """How much of a line is left when it and its neighbours are moved, over what it was; below 0 when those have met before it."""
    (x0, y0), (x1, y1) = _corner(before, line), _corner(line, after)
    (u0, v0), (u1, v1) = _join(before, line)[-1], _join(line, after)[0]
    x, y = line.normal
    was = x * (y1 - y0) - y * (x1 - x0)
    return (x * (v1 - v0) - y * (u1 - u0)) / was if was > 0 else -9e99


def _kept(lines: list[_Line]) -> list[_Line]:
    """Those lines that are left when all are moved out evenly: each goes when its neighbours meet, the first to do so first."""

    def at(i: int) -> float:
        """What is left of one of them (dimensionless)."""
        return _left(lines[i - 1], lines[i], lines[(i + 1) % len(lines)])

    left = [at(i) for i in range(len(lines))]
    while len(lines) > 2 and min(left) < -1e-9:
        gone = left.index(min(left))
        del lines[gone], left[gone]
        for i in (gone - 1, gone % len(lines)):
            left[i] = at(i)
    if len(lines) < 3:
        raise ValueError("with these allowances no outline is left")
    return lines


def _ring(lines: Sequence[_Line]) -> tuple[Point, ...]:
    """The corners of the moved lines, each once."""
    found = [point for before, line in zip(_before(lines), lines, strict=True) for point in _join(before, line)]
    return tuple(point for before, point in zip(_before(found), found, strict=True) if point != before)

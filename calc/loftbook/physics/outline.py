"""Pieces of cloth as they are cut: closed outlines of straight lines, edge by edge, and the allowance each edge is sewn with.

Knows metres and points (x across the piece, y along it); knows nothing of units, words or pictures. Outlines run
anticlockwise. A curve is a row of points that lie on it, close enough that no pair of scissors tells the difference.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from loftbook.physics.elementary import sqrt

Point = tuple[float, float]
Sewn = Literal["seam", "hem", "vent", "fold"]  # what an edge is sewn into; at a fold the cloth goes on, mirrored
Allowances = Mapping[Sewn, float]


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

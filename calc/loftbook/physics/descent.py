"""Sinking under open canopies: how long, how far, how hard. SI throughout; x east, y north, heights above the field.

Each canopy is taken to sink at its steady rate, v(z) = sqrt(2 m g / (rho(z) Cd S0)), from the moment it opens. So the
rate scales with sqrt(m / CdS), and one integral over height, kept as a table, serves every mass and drag area.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import pairwise

from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.elementary import PI, cosine, sqrt
from loftbook.physics.wind import Vector, Wind

_ROWS, _NODES = 32, 3


def kinetic_energy(mass: float, rate: float) -> float:
    """m v^2 / 2 [J] of a mass [kg] at a rate [m/s]."""
    return mass * rate * rate / 2


def drop_height(rate: float) -> float:
    """Height [m] of a free drop that ends at the same speed, `rate` [m/s]: v^2 / 2 g."""
    return rate * rate / (2 * G0)


@cache
def gauss_legendre(count: int) -> tuple[tuple[float, float], ...]:
    """`count` nodes and weights on (0, 1), dimensionless.

    By Newton's method on the Legendre recurrence (Abramowitz and Stegun, 25.4.29).
    """
    rule = []
    for i in range(1, count + 1):
        x = cosine(PI * (i - 0.25) / (count + 0.5))
        for _ in range(8):
            before, here = 1.0, x
            for k in range(2, count + 1):
                before, here = here, ((2 * k - 1) * x * here - (k - 1) * before) / k
            slope = count * (x * here - before) / (x * x - 1)
            x -= here / slope
        rule.append(((1 - x) / 2, 1 / ((1 - x * x) * slope * slope)))
    return tuple(rule)


@dataclass(frozen=True)
class Column:
    """Integrals from the ground to the height of each row: sqrt(rho/rho0) [m], and the same times the wind [m2/s].

    Divided by a rate at the ground they give time and drift. rows: height [m], path [m], east, north [m^2/s], in rising
    order of height from the ground.
    """

    rows: tuple[tuple[float, float, float, float], ...]

    @property
    def top(self) -> float:
        """Height of the last row [m]: the table says nothing of what is above."""
        return self.rows[-1][0]

    @cached_property
    def _heights(self) -> tuple[float, ...]:
        return tuple(row[0] for row in self.rows)

    @cached_property
    def _pieces(self) -> tuple[tuple[float, ...], ...]:
        """Of each row to the next: its height, path, east, north, and what the three gain over a metre."""
        return tuple(
            (*row, *((b - a) / (after[0] - row[0]) for a, b in zip(row[1:], after[1:], strict=True)))
            for row, after in pairwise(self.rows)
        )

    def at(self, height: float) -> tuple[float, float, float]:
        """(path [m], east, north [m^2/s]) down from a height [m]; straight between rows, the top row above the top."""
        i = bisect_right(self._heights, height)
        if i == 0:
            return self.rows[0][1:]
        if i == len(self.rows):
            return self.rows[-1][1:]
        begins, path, east, north, more_path, more_east, more_north = self._pieces[i - 1]
        s = height - begins
        return path + s * more_path, east + s * more_east, north + s * more_north


def column(top: float, elevation: float, air: Air, wind: Wind, nodes: Sequence[float] = ()) -> Column:
    """The table of integrals up to `top` [m] above a field at `elevation` [m]: 32 rows, three Gauss points each.

    Rows stand closer near the ground, at top x (i/n)^2, and a row stands at each of `nodes` [m]: the heights where a
    measured wind bends, which a point might miss, and those that are asked for exactly. Good to a few parts in a million
    of the drift at a row, a part in two thousand between rows.
    """
    density = air.quick(elevation)
    ground = density(0.0)
    path = east = north = 0.0
    rows = [(0.0, 0.0, 0.0, 0.0)]
    even = (top * (i / _ROWS) * (i / _ROWS) for i in range(1, _ROWS))
    heights = sorted({*even, *(node for node in nodes if 0 < node < top), top})
    for low, high in pairwise((0.0, *heights)):
        for s, weight in gauss_legendre(_NODES):
            z = low + s * (high - low)
            piece = weight * (high - low) * sqrt(density(z) / ground)
            x, y = wind(z)
            path, east, north = path + piece, east + piece * x, north + piece * y
        rows.append((high, path, east, north))
    return Column(tuple(rows))


@dataclass(frozen=True)
class Phase:
    """One canopy's part of the way: opens at a height [m], sinks at a rate referred to the ground [m/s]."""

    height: float
    rate: float


@dataclass(frozen=True)
class Landing:
    """From release to ground: time [s], where it lands seen from the pad [m]."""

    time: float
    spot: Vector

    @property
    def distance(self) -> float:
        """From the pad, along the ground [m]."""
        return sqrt(self.spot[0] * self.spot[0] + self.spot[1] * self.spot[1])


def landing(table: Column, phases: Sequence[Phase]) -> Landing:
    """Through the phases, at least one, in falling order of height, to the ground: time [s] and spot [m]."""
    time = east = north = 0.0
    for phase, floor in zip(phases, [*(p.height for p in phases[1:]), 0.0], strict=True):
        upper, lower = table.at(phase.height), table.at(floor)
        time += (upper[0] - lower[0]) / phase.rate
        east += (upper[1] - lower[1]) / phase.rate
        north += (upper[2] - lower[2]) / phase.rate
    return Landing(time, (east, north))

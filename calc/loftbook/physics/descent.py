"""Sinking under open canopies: how long, how far, how hard. SI throughout; x east, y north, heights above the field.

Each canopy is taken to sink at its steady rate, v(z) = sqrt(2 m g / (rho(z) Cd S0)), from the moment it opens. So the
rate scales with sqrt(m / CdS), and one integral over height, kept as a table, serves every mass and drag area.
"""

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

    Divided by a rate at the ground they give time and drift. Rows stand closer near the ground, at top x (i/n)^2.
    """

    top: float
    rows: tuple[tuple[float, float, float], ...]

    @cached_property
    def _pieces(self) -> tuple[tuple[float, ...], ...]:
        """Of each row to the next: where it begins as a share of the top, one over its share, the row, the step to the next."""
        n = len(self.rows) - 1
        return tuple(
            (i * i / (n * n), n * n / (2 * i + 1), *row, *(b - a for a, b in zip(row, after, strict=True)))
            for i, (row, after) in enumerate(pairwise(self.rows))
        )

    def at(self, height: float) -> tuple[float, float, float]:
        """(path [m], east, north [m^2/s]) down from a height [m]; straight between rows, the top row above the top."""
        pieces = self._pieces
        share = height / self.top
        if share >= 1:
            return self.rows[-1]
        if share <= 0:
            return self.rows[0]
        begins, per, path, east, north, more_path, more_east, more_north = pieces[
            min(int(sqrt(share) * len(pieces)), len(pieces) - 1)
        ]
        s = (share - begins) * per
        return path + s * more_path, east + s * more_east, north + s * more_north


def column(top: float, elevation: float, air: Air, wind: Wind) -> Column:
    """The table of integrals up to `top` [m] above a field at `elevation` [m]: 32 rows, three Gauss points each.

    Good to a few parts in a million of the drift at a row, a part in two thousand between rows.
    """
    density = air.quick(elevation)
    ground = density(0.0)
    path = east = north = 0.0
    rows = [(0.0, 0.0, 0.0)]
    for i in range(_ROWS):
        low, high = top * (i / _ROWS) * (i / _ROWS), top * ((i + 1) / _ROWS) * ((i + 1) / _ROWS)
        for s, weight in gauss_legendre(_NODES):
            z = low + s * (high - low)
            piece = weight * (high - low) * sqrt(density(z) / ground)
            x, y = wind(z)
            path, east, north = path + piece, east + piece * x, north + piece * y
        rows.append((path, east, north))
    return Column(top, tuple(rows))


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

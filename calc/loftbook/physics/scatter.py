"""Where it may land: ten thousand scattered descents from one table of integrals, not ten thousand runs.

SI; x east, y north, heights above the field. The same seed gives the same landings everywhere.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.physics.descent import Column, Phase
from loftbook.physics.elementary import PI, cosine, sine, sqrt
from loftbook.physics.wind import Vector


@dataclass(frozen=True)
class Spreads:
    """Half-ranges: mass, wind speed and release height as shares, wind direction [degrees], lateness [s] of opening.

    drag: (low, high) over best of the drag area, dimensionless.
    """

    drag: tuple[float, float]
    mass: float
    wind: float
    release: float
    direction: float
    late: float


@dataclass(frozen=True)
class Ellipse:
    """Centre, half axes [m] and direction of the long axis; holds nine landings in ten if they are normal."""

    east: float
    north: float
    long: float
    short: float
    axis: Vector

    def outline(self) -> list[Vector]:
        """Forty points round it [m]."""
        ux, uy = self.axis
        turns = [(self.long * cosine(i * PI / 20), self.short * sine(i * PI / 20)) for i in range(40)]
        return [(self.east + a * ux - b * uy, self.north + a * uy + b * ux) for a, b in turns]


@dataclass(frozen=True)
class Scatter:
    """The landings, the ellipse for nine in ten of them, and the greatest distance from the pad [m]."""

    spots: tuple[Vector, ...]
    ellipse: Ellipse
    farthest: float


_NINE_IN_TEN = sqrt(4.605170185988092)  # chi-squared, two degrees of freedom, 0.90: -2 ln 0.1


def scattered(table: Column, phases: Sequence[Phase], spreads: Spreads, count: int, seed: int = 1) -> Scatter:
    """`count` landings drawn from the spreads, each from a triangular distribution about its best value.

    The table must reach the highest release drawn; phases are in falling order of height, spots in [m]. The same seed
    gives the same landings everywhere. Drag area scales all rates alike, as mass does.
    """
    draw = random.Random(seed).random
    spots: list[Vector] = []
    down, up = 1 - spreads.drag[0], spreads.drag[1] - 1
    turn = spreads.direction * PI / 180
    for _ in range(count):
        pull = draw() + draw() - 1
        drag = 1 + pull * (up if pull > 0 else down)
        slower = sqrt(drag / (1 + spreads.mass * (draw() + draw() - 1)))
        wind = 1 + spreads.wind * (draw() + draw() - 1)
        rise = 1 + spreads.release * (draw() + draw() - 1)
        late = spreads.late * (draw() + draw() - 1)
        angle = turn * (draw() + draw() - 1)
        heights = [phases[0].height * rise - 4.903325 * late * late]
        heights += [p.height - late * phases[i].rate / slower for i, p in enumerate(phases[1:])]
        east = north = 0.0
        for i, phase in enumerate(phases):
            upper = table.at(heights[i])
            lower = table.at(heights[i + 1]) if i + 1 < len(phases) else (0.0, 0.0, 0.0)
            east += (upper[1] - lower[1]) / phase.rate
            north += (upper[2] - lower[2]) / phase.rate
        k = slower * wind
        s, c = _small_angle(angle)
        spots.append((k * (c * east + s * north), k * (c * north - s * east)))
    return Scatter(tuple(spots), _ellipse(spots), max(sqrt(x * x + y * y) for x, y in spots))


def _small_angle(angle: float) -> Vector:
    """Sine and cosine of an angle up to about a radian, by plain arithmetic (for thousands of draws)."""
    q = angle * angle
    s = angle * (1 - q / 6 * (1 - q / 20 * (1 - q / 42 * (1 - q / 72))))
    c = 1 - q / 2 * (1 - q / 12 * (1 - q / 30 * (1 - q / 56 * (1 - q / 90))))
    return s, c


def _ellipse(spots: Sequence[Vector]) -> Ellipse:
    n = len(spots)
    mx, my = sum(x for x, _ in spots) / n, sum(y for _, y in spots) / n
    sxx = sum((x - mx) * (x - mx) for x, _ in spots) / n
    syy = sum((y - my) * (y - my) for _, y in spots) / n
    sxy = sum((x - mx) * (y - my) for x, y in spots) / n
    middle, half = (sxx + syy) / 2, sqrt((sxx - syy) * (sxx - syy) / 4 + sxy * sxy)
    large, small = middle + half, max(0.0, middle - half)
    axis = (sxy, large - sxx) if abs(sxy) > 1e-12 * (large + 1e-300) else ((1.0, 0.0) if sxx >= syy else (0.0, 1.0))
    size = sqrt(axis[0] * axis[0] + axis[1] * axis[1])
    return Ellipse(mx, my, _NINE_IN_TEN * sqrt(large), _NINE_IN_TEN * sqrt(small), (axis[0] / size, axis[1] / size))


@dataclass(frozen=True)
class Ground:
    """The flying field: distances from the pad to its edge in four directions [m]."""

    north: float
    east: float
    south: float
    west: float

    def holds(self, spot: Vector) -> bool:
        """Whether a spot [m] lies on it, its edge counted in."""
        return -self.west <= spot[0] <= self.east and -self.south <= spot[1] <= self.north


def share_outside(spots: Sequence[Vector], ground: Ground) -> float:
    """Share (0 to 1, dimensionless) of at least one spot [m] that does not lie on the field."""
    return sum(not ground.holds(spot) for spot in spots) / len(spots)


def directions(spots: Sequence[Vector], ground: Ground) -> list[float]:
    """Share (dimensionless) of the spots [m] outside for the same wind turned clockwise by no … seven eighths of a circle."""
    return [share_outside(turned(spots, i), ground) for i in range(8)]


def turned(spots: Sequence[Vector], eighths: int) -> list[Vector]:
    """Landings [m] for the same wind from another of the eight directions: turned clockwise by eighths of a circle."""
    s, c = sine(eighths * PI / 4), cosine(eighths * PI / 4)
    return [(c * x + s * y, c * y - s * x) for x, y in spots]

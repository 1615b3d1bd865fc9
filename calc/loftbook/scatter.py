"""Where it lands: wind by power law or by measured layers, and ten thousand scattered descents without brute force.

With quasi-steady sinking the rate scales with sqrt(m / CdS) and the path with the wind, so one integral over height,
kept as a table, serves every scattered case. SI; x to the east, y to the north, heights above the field.
"""

import random
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loftbook.atmosphere import Air
from loftbook.descent import gauss_legendre, power_law_wind
from loftbook.elementary import PI, cosine, sine, sqrt

Vector = tuple[float, float]
Wind = Callable[[float], Vector]
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_TABLE = 48


def bearing(degrees: float) -> Vector:
    """Unit vector (east, north) of a compass bearing."""
    return sine(degrees * PI / 180), cosine(degrees * PI / 180)


def power_wind(at_ten: float, exponent: float, from_bearing: float) -> Wind:
    """Wind blowing from a bearing [degrees], power law in height; gives the velocity of the air [m/s]."""
    east, north = bearing(from_bearing)

    def wind(height: float) -> Vector:
        speed = power_law_wind(max(0.0, height), at_ten, exponent)
        return -speed * east, -speed * north

    return wind


@dataclass(frozen=True)
class Layer:
    """Measured wind: height above the field [m], speed [m/s], bearing it blows from [degrees]."""

    height: float
    speed: float
    bearing: float


def layered_wind(layers: Sequence[Layer]) -> Wind:
    """Straight lines between measured layers (by components); below the lowest and above the highest as there."""
    ordered = sorted(layers, key=lambda layer: layer.height)
    heights = [layer.height for layer in ordered]
    vectors = [
        (-layer.speed * bearing(layer.bearing)[0], -layer.speed * bearing(layer.bearing)[1]) for layer in ordered
    ]

    def wind(height: float) -> Vector:
        i = bisect_right(heights, height)
        if i == 0:
            return vectors[0]
        if i == len(heights):
            return vectors[-1]
        s = (height - heights[i - 1]) / (heights[i] - heights[i - 1])
        (x0, y0), (x1, y1) = vectors[i - 1], vectors[i]
        return x0 + s * (x1 - x0), y0 + s * (y1 - y0)

    return wind


@dataclass(frozen=True)
class Column:
    """Integrals from the ground up: path sqrt(rho/rho0) [m], and the same weighted with the wind [m x m/s].

    Divided by a rate at the ground they give time and drift down from a height.
    """

    heights: tuple[float, ...]
    rows: tuple[tuple[float, float, float], ...]

    def at(self, height: float) -> tuple[float, float, float]:
        """Straight between the rows of the table; its end above it."""
        last = len(self.heights) - 1
        place = min(max(height, 0.0), self.heights[-1]) / self.heights[-1]
        # rows are spaced with the square of their number, so that the table is fine near the ground
        share = sqrt(place) * last
        i = min(int(share), last - 1)
        low, high = self.heights[i], self.heights[i + 1]
        s = (min(max(height, 0.0), self.heights[-1]) - low) / (high - low)
        a, b = self.rows[i], self.rows[i + 1]
        return a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1]), a[2] + s * (b[2] - a[2])


def column(top: float, elevation: float, air: Air, wind: Wind) -> Column:
    """The table of integrals up to `top` [m] above a field at `elevation` [m]; 48 rows, four Gauss points each."""
    density = air.quick(elevation)
    ground = density(0.0)
    heights = tuple(top * (i / _TABLE) * (i / _TABLE) for i in range(_TABLE + 1))
    path = east = north = 0.0
    rows = [(0.0, 0.0, 0.0)]
    for low, high in zip(heights, heights[1:], strict=False):
        for s, weight in gauss_legendre(4):
            z = low + s * (high - low)
            piece = weight * (high - low) * sqrt(density(z) / ground)
            x, y = wind(z)
            path, east, north = path + piece, east + piece * x, north + piece * y
        rows.append((path, east, north))
    return Column(heights, tuple(rows))


@dataclass(frozen=True)
class Phase:
    """One canopy's part of the way: opens at a height [m], sinks at a rate referred to the ground [m/s]."""

    height: float
    rate: float


def landing(table: Column, phases: Sequence[Phase]) -> tuple[float, float, float]:
    """(time, east, north) from the first phase's height to the ground, phases in falling order of height."""
    time = east = north = 0.0
    for phase, floor in zip(phases, [*(p.height for p in phases[1:]), 0.0], strict=True):
        upper, lower = table.at(phase.height), table.at(floor)
        time += (upper[0] - lower[0]) / phase.rate
        east += (upper[1] - lower[1]) / phase.rate
        north += (upper[2] - lower[2]) / phase.rate
    return time, east, north


@dataclass(frozen=True)
class Spreads:
    """Half-ranges: mass, wind speed and release height as shares, wind direction [degrees], lateness [s] of opening.

    drag: (low, high) over best of the drag area.
    """

    drag: tuple[float, float]
    mass: float
    wind: float
    release: float
    direction: float
    late: float


@dataclass(frozen=True)
class Ellipse:
    """Centre, half axes [m] and bearing [degrees] of the long axis; holds nine landings in ten if they are normal."""

    east: float
    north: float
    long: float
    short: float
    axis: Vector


@dataclass(frozen=True)
class Scatter:
    spots: tuple[Vector, ...]
    ellipse: Ellipse
    farthest: float


_NINE_IN_TEN = sqrt(4.605170185988092)  # chi-squared, two degrees of freedom, 0.90: -2 ln 0.1


def scattered(table: Column, phases: Sequence[Phase], spreads: Spreads, count: int, seed: int = 1) -> Scatter:
    """`count` landings drawn from the spreads, each from a triangular distribution about its best value.

    The same seed gives the same landings everywhere. Drag area scales all rates alike, as mass does.
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
class Field:
    """Distances from the pad to the edge of the field in four directions [m]."""

    north: float
    east: float
    south: float
    west: float

    def holds(self, spot: Vector) -> bool:
        return -self.west <= spot[0] <= self.east and -self.south <= spot[1] <= self.north


def share_outside(spots: Sequence[Vector], field: Field) -> float:
    return sum(not field.holds(spot) for spot in spots) / len(spots)


def turned(spots: Sequence[Vector], eighths: int) -> list[Vector]:
    """Landings for the same wind from another of the eight directions: turned clockwise by eighths of a circle."""
    s, c = sine(eighths * PI / 4), cosine(eighths * PI / 4)
    return [(c * x + s * y, c * y - s * x) for x, y in spots]

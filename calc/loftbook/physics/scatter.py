"""Where it may land: ten thousand scattered descents from one table of integrals, not ten thousand runs.

SI; x east, y north, heights above the field. The same seed gives the same landings everywhere.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from loftbook.physics.descent import Column, Phase
from loftbook.physics.elementary import PI, cosine, sine, sqrt
from loftbook.physics.remembered import remembered
from loftbook.physics.wind import Vector


@dataclass(frozen=True)
class Spreads:
    """Half-ranges: mass, wind speed and release height as shares, wind direction [degrees], lateness [s] of opening.

    drag: of each phase (low, high) over best of its drag area, dimensionless. Each is drawn by itself.
    """

    drag: tuple[tuple[float, float], ...]
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


@dataclass(frozen=True)
class Scatter:
    """The landings, the ellipse for nine in ten of them, and the greatest distance from the pad [m]."""

    spots: tuple[Vector, ...]
    ellipse: Ellipse
    farthest: float


_NINE_IN_TEN = sqrt(4.605170185988092)  # chi-squared, two degrees of freedom, 0.90: -2 ln 0.1


def highest(height: float, release: float) -> float:
    """The greatest height [m] that is drawn for one opening, from its best height [m] and its half-range as a share."""
    return height * (1 + release)


@remembered(4)
def scattered(table: Column, phases: tuple[Phase, ...], spreads: Spreads, count: int, seed: int = 1) -> Scatter:
    """`count` landings drawn from the spreads, each from a triangular distribution about its best value.

    phases are in falling order of height, spots in [m]. The same seed gives the same landings everywhere. Every phase has
    a drag and a height of its own; mass, wind and lateness are one draw for the whole way. A later canopy opens no higher
    than the phase before begins. Raises ValueError when the table ends below the highest release, or when the ranges of
    drag are not as many as the phases.
    """
    if table.top < highest(phases[0].height, spreads.release) * (1 - 1e-12):
        raise ValueError(f"the table ends at {table.top:g} m, below the highest release")
    pulls = [(1 - low, high - 1) for low, high in spreads.drag]
    turn, at, release = spreads.direction * PI / 180, table.at, spreads.release
    stages = [(phase.height, phase.rate, *pull) for phase, pull in zip(phases, pulls, strict=True)]
    (first, _, _, _), *later = stages
    spots: list[Vector] = []
    draws = _draws(count, seed, len(stages))
    for ((heavier, windier, late_by, _), own), (s, c) in zip(draws, _turns(count, seed, len(stages), turn), strict=True):
        late, light = spreads.late * late_by, 1 / (1 + spreads.mass * heavier)
        upper = first * (1 + release * own[0][1]) - 4.903325 * late * late
        _, upper_east, upper_north = at(upper)
        east = north = 0.0
        for i, (height, _, _, _) in enumerate(later):
            rate = _rate(stages[i], own[i][0], light)
            upper = min(upper, height * (1 + release * own[i + 1][1]) - late * rate)
            _, lower_east, lower_north = at(upper)
            east += (upper_east - lower_east) / rate
            north += (upper_north - lower_north) / rate
            upper_east, upper_north = lower_east, lower_north
        rate = _rate(stages[-1], own[-1][0], light)
        k = 1 + spreads.wind * windier
        east, north = k * (east + upper_east / rate), k * (north + upper_north / rate)
        spots.append((c * east + s * north, c * north - s * east))
    return Scatter(tuple(spots), _ellipse(spots), sqrt(max([x * x + y * y for x, y in spots])))


def _rate(stage: tuple[float, float, float, float], pull: float, light: float) -> float:
    """Rate [m/s] of one phase for a draw of its drag (-1 to 1), and one over the share of the mass (dimensionless)."""
    _, rate, down, up = stage
    return rate / sqrt((1 + pull * (up if pull > 0 else down)) * light)


@remembered(4)
def _draws(
    count: int, seed: int, phases: int
) -> tuple[tuple[tuple[float, float, float, float], tuple[tuple[float, float], ...]], ...]:
    """`count` times four numbers for the whole way and two for each phase, from -1 to 1, each triangular about 0.

    They hang on no rig, so they are drawn once.
    """
    draw = random.Random(seed).random
    return tuple(
        (
            (draw() + draw() - 1, draw() + draw() - 1, draw() + draw() - 1, draw() + draw() - 1),
            tuple((draw() + draw() - 1, draw() + draw() - 1) for _ in range(phases)),
        )
        for _ in range(count)
    )


@remembered(4)
def _turns(count: int, seed: int, phases: int, most: float) -> tuple[Vector, ...]:
    """Sine and cosine of the angle by which the wind of each draw has turned, up to about `most` [rad] either way."""
    return tuple(_small_angle(most * turned_by) for (*_, turned_by), _ in _draws(count, seed, phases))


def _small_angle(angle: float) -> Vector:
    """Sine and cosine of an angle up to about a radian, by plain arithmetic (for thousands of draws)."""
    q = angle * angle
    s = angle * (1 - q / 6 * (1 - q / 20 * (1 - q / 42 * (1 - q / 72))))
    c = 1 - q / 2 * (1 - q / 12 * (1 - q / 30 * (1 - q / 56 * (1 - q / 90))))
    return s, c


def _ellipse(spots: Sequence[Vector]) -> Ellipse:
    n = len(spots)
    mx, my = sum([x for x, _ in spots]) / n, sum([y for _, y in spots]) / n
    off = [(x - mx, y - my) for x, y in spots]
    sxx, syy = sum([x * x for x, _ in off]) / n, sum([y * y for _, y in off]) / n
    sxy = sum([x * y for x, y in off]) / n
    middle, half = (sxx + syy) / 2, sqrt((sxx - syy) * (sxx - syy) / 4 + sxy * sxy)
    large, small = middle + half, max(0.0, middle - half)
    axis = (sxy, large - sxx) if abs(sxy) > 1e-12 * (large + 1e-300) else ((1.0, 0.0) if sxx >= syy else (0.0, 1.0))
    size = sqrt(axis[0] * axis[0] + axis[1] * axis[1])
    return Ellipse(mx, my, _NINE_IN_TEN * sqrt(large), _NINE_IN_TEN * sqrt(small), (axis[0] / size, axis[1] / size))


SHARES = (0.5, 0.9, 1.0)  # of the landings that lie in the cells of each level and of those before it


@dataclass(frozen=True)
class Cell:
    """A square of the field by its south-west corner, counted in sides from the pad, and how many landings lie in it."""

    east: int
    north: int
    count: int


def cells(spots: Sequence[Vector], side: float) -> tuple[Cell, ...]:
    """The square cells of a side [m] that spots [m] lie in, the fullest first, so that the fewest hold most."""
    found: dict[tuple[int, int], int] = {}
    for x, y in spots:
        at = (floor(x / side), floor(y / side))
        found[at] = found.get(at, 0) + 1
    return tuple([Cell(*at, count) for at, count in sorted(found.items(), key=lambda row: (-row[1], row[0]))])


def levels(full: Sequence[Cell], shares: Sequence[float] = SHARES) -> tuple[tuple[Cell, ...], ...]:
    """Cells, the fullest first, parted into levels: those of a level and all before it hold at least its share (rising, dimensionless).

    No level holds a cell more than it needs for that; a level that needs none is empty.
    """
    whole, held, made = sum([cell.count for cell in full]), 0, []
    rest = iter(full)
    for share in shares:
        level = []
        while held < share * whole * (1 - 1e-12):
            cell = next(rest)
            held += cell.count
            level.append(cell)
        made.append(tuple(level))
    return tuple(made)


def farthest_of(spots: Sequence[Vector], share: float) -> Vector:
    """The spot [m] such that a share of at least one spot (above 0 to 1, dimensionless) lies no farther from the pad than it."""
    squares = [x * x + y * y for x, y in spots]
    wanted = sorted(squares)[max(0, ceil(share * len(squares) - 1e-9) - 1)]
    return spots[squares.index(wanted)]


def walking_time(way: float, pace: float) -> float:
    """Time [s] to walk a way [m] at a pace [m/s] above zero."""
    return way / pace


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
    return sum(not ground.holds(spot) for spot in _far(spots, ground)) / len(spots)


def directions(spots: Sequence[Vector], ground: Ground) -> list[float]:
    """Share (dimensionless) of the spots [m] outside for the same wind turned clockwise by no … seven eighths of a circle."""
    far = _far(spots, ground)
    return [sum(not ground.holds(spot) for spot in turned(far, i)) / len(spots) for i in range(8)]


def _far(spots: Sequence[Vector], ground: Ground) -> list[Vector]:
    """Spots at least as far from the pad as the nearest edge (a micrometre less): the others lie on the field in any wind."""
    nearest = max(0.0, min(ground.north, ground.east, ground.south, ground.west) - 1e-6)
    return [(x, y) for x, y in spots if x * x + y * y >= nearest * nearest]


def turned(spots: Sequence[Vector], eighths: int) -> list[Vector]:
    """Landings [m] for the same wind from another of the eight directions: turned clockwise by eighths of a circle."""
    s, c = sine(eighths * PI / 4), cosine(eighths * PI / 4)
    return [(c * x + s * y, c * y - s * x) for x, y in spots]

"""Wind above the field: by power law, or by measured layers. SI; x east, y north."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loftbook.physics.elementary import PI, cosine, power, sine

Vector = tuple[float, float]
Wind = Callable[[float], Vector]
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
REFERENCE = 10.0  # m above ground


def power_law(height: float, at_ten: float, exponent: float) -> float:
    """Mean wind [m/s] at `height` [m] above ground: u10 (z/10)^alpha (Manwell et al., Wind Energy Explained, 2.3).

    height not below zero; at_ten: the wind u10 [m/s] ten metres up; exponent: alpha, dimensionless.
    """
    return at_ten * power(height / REFERENCE, exponent)


def bearing(degrees: float) -> Vector:
    """Unit vector (east, north), dimensionless, of a compass bearing [degrees]."""
    return sine(degrees * PI / 180), cosine(degrees * PI / 180)


def compass_point(way: Vector) -> str:
    """The nearest of the eight points towards which a way (east, north) [m] leads; of no way at all empty."""
    along = [way[0] * east + way[1] * north for east, north in (bearing(45.0 * i) for i in range(len(POINTS)))]
    return POINTS[along.index(max(along))] if max(along) > 0 else ""


def power_wind(at_ten: float, exponent: float, from_bearing: float) -> Wind:
    """Wind from a bearing [degrees], power law in height; the velocity of the air [m/s] by height [m].

    at_ten [m/s] ten metres up, exponent dimensionless; below the ground as on it.
    """
    east, north = bearing(from_bearing)

    def wind(height: float) -> Vector:
        """Velocity of the air (east, north) [m/s] at a height above the field [m]."""
        speed = power_law(max(0.0, height), at_ten, exponent)
        return -speed * east, -speed * north

    return wind


@dataclass(frozen=True)
class WindLayer:
    """Measured wind: height above the field [m], speed [m/s], bearing it blows from [degrees]."""

    height: float
    speed: float
    bearing: float


def layered_wind(layers: Sequence[WindLayer]) -> Wind:
    """Velocity of the air [m/s] by height [m] from at least one layer, in rising order of height, no two alike.

    Straight lines between layers (by components); below the lowest and above the highest as there.
    """
    heights = [layer.height for layer in layers]
    vectors = [(-layer.speed * bearing(layer.bearing)[0], -layer.speed * bearing(layer.bearing)[1]) for layer in layers]

    def wind(height: float) -> Vector:
        """Velocity of the air (east, north) [m/s] at a height above the field [m]."""
        i = bisect_right(heights, height)
        if i == 0:
            return vectors[0]
        if i == len(heights):
            return vectors[-1]
        s = (height - heights[i - 1]) / (heights[i] - heights[i - 1])
        (x0, y0), (x1, y1) = vectors[i - 1], vectors[i]
        return x0 + s * (x1 - x0), y0 + s * (y1 - y0)

    return wind

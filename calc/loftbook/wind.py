"""Wind above the field: by power law, or by measured layers as someone typed them. SI; x east, y north."""

import re
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loftbook.elementary import PI, cosine, power, sine
from loftbook.errors import Fault, Refusal
from loftbook.quantity import HEIGHT, WIND, read

Vector = tuple[float, float]
Wind = Callable[[float], Vector]
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
REFERENCE = 10.0  # m above ground
MOST_LAYERS = 20


def power_law(height: float, at_ten: float, exponent: float) -> float:
    """Mean wind [m/s] at `height` [m] above ground: u10 (z/10)^alpha (Manwell et al., Wind Energy Explained, 2.3)."""
    return at_ten * power(height / REFERENCE, exponent)


def bearing(degrees: float) -> Vector:
    """Unit vector (east, north) of a compass bearing [degrees]."""
    return sine(degrees * PI / 180), cosine(degrees * PI / 180)


def power_wind(at_ten: float, exponent: float, from_bearing: float) -> Wind:
    """Wind from a bearing [degrees], power law in height; the velocity of the air [m/s] by height [m]."""
    east, north = bearing(from_bearing)

    def wind(height: float) -> Vector:
        speed = power_law(max(0.0, height), at_ten, exponent)
        return -speed * east, -speed * north

    return wind


@dataclass(frozen=True)
class Layer:
    """Measured wind: height above the field [m], speed [m/s], bearing it blows from [degrees]."""

    height: float
    speed: float
    bearing: float


_LAYER = re.compile(
    r"\s*(\S+ ?(?:m|ft|km))\s+(\S+ ?(?:m/s|kn|kt|mph|km/h|ft/s))\s+(\d{1,3}(?:\.\d+)?) ?(?:°|deg)?\s*", re.ASCII
)


def read_layers(text: str, field: str = "", label: str = "measured wind") -> tuple[Layer, ...]:
    """Layers from `10 m 3 m/s 270; 300 m 7 m/s 285` (or one a line). Raises `Refusal` naming the layer that is wrong."""
    layers = []
    rows = [row for row in re.split(r"[;\n]", text) if row.strip()]

    def refuse(row: str, reason: str) -> Refusal:
        allowed = "height, speed and bearing, for example 300 m 7 m/s 285; heights to 20 km, speeds to 100 m/s"
        return Refusal(
            Fault(
                message=f"{label}: “{row.strip()[:40]}” {reason}. Allowed: {allowed}.",
                field=field,
                label=label,
                given=row.strip()[:60],
                allowed=allowed,
            )
        )

    for row in rows:
        match = _LAYER.fullmatch(row)
        if not match:
            raise refuse(row, "is not read as a layer")
        height, speed = read(match[1], HEIGHT, field, label), read(match[2], WIND, field, label)
        if not (0 <= height <= 20_000 and 0 <= speed <= 100 and float(match[3]) <= 360):
            raise refuse(row, "is out of range")
        layers.append(Layer(height, speed, float(match[3])))
    if not 1 <= len(layers) <= MOST_LAYERS:
        raise refuse(text, f"holds {len(layers)} layers; 1 to {MOST_LAYERS} are read")
    if len({layer.height for layer in layers}) < len(layers):
        raise refuse(text, "names one height twice")
    return tuple(sorted(layers, key=lambda layer: layer.height))


def layered_wind(layers: Sequence[Layer]) -> Wind:
    """Straight lines between layers in order of height (by components); below the lowest and above the highest as there."""
    heights = [layer.height for layer in layers]
    vectors = [(-layer.speed * bearing(layer.bearing)[0], -layer.speed * bearing(layer.bearing)[1]) for layer in layers]

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

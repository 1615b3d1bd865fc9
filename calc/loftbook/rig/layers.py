"""Measured wind as someone typed it, read into the layers that physics/wind takes."""

import re

from loftbook.errors import Fault, Refusal
from loftbook.physics.wind import WindLayer
from loftbook.quantity import HEIGHT, WIND, read

MOST_LAYERS = 20

_LAYER = re.compile(
    r"\s*(\S+ ?(?:m|ft|km))\s+(\S+ ?(?:m/s|kn|kt|mph|km/h|ft/s))\s+(\d{1,3}(?:\.\d+)?) ?(?:°|deg)?\s*", re.ASCII
)


def read_layers(text: str, field: str = "", label: str = "measured wind") -> tuple[WindLayer, ...]:
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
        layers.append(WindLayer(height, speed, float(match[3])))
    if not 1 <= len(layers) <= MOST_LAYERS:
        raise refuse(text, f"holds {len(layers)} layers; 1 to {MOST_LAYERS} are read")
    if len({layer.height for layer in layers}) < len(layers):
        raise refuse(text, "names one height twice")
    return tuple(sorted(layers, key=lambda layer: layer.height))

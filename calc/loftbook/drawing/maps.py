"""The landing from above: ground, pad, and where each part may come down."""

from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.drawing.svg import Canvas, Drawing, Length
from loftbook.physics.scatter import Ellipse, Ground
from loftbook.physics.wind import Vector

_ROW = 20  # picture units


@dataclass(frozen=True)
class Landing:
    """Where one part may land: some landings, the ellipse that holds nine in ten of them, the best estimate [m]."""

    name: str
    spots: Sequence[Vector]
    ellipse: Ellipse
    best: Vector


def landing_map(landings: Sequence[Landing], ground: Ground, height: Length, unit: float, description: str) -> Drawing:
    """Seen from above, north up, to scale: pad, field, and of every part landings, ellipse and way from the pad.

    The first part's landings are dots, the second's open rings. unit: SI of the reader's unit, for a round scale bar.
    """
    outlines = [landing.ellipse.outline() for landing in landings]
    xs = [x for outline in outlines for x, _ in outline] + [-ground.west, ground.east, -10.0, 10.0]
    ys = [y for outline in outlines for _, y in outline] + [-ground.south, ground.north, -10.0, 10.0]
    told = landings if len(landings) > 1 else ()
    bottom = 46 + _ROW * len(told)
    canvas = Canvas((min(xs), min(ys), max(xs), max(ys)), left=20, right=20, top=30, bottom=bottom, tallest=280)
    low, high = (-ground.west, -ground.south), (ground.east, ground.north)
    canvas.shape("field", (low, (high[0], low[1]), high, (low[0], high[1])))
    for i, landing in enumerate(landings):
        _spots(canvas, landing, ground, ring=i > 0)
    for i, (landing, outline) in enumerate(zip(landings, outlines, strict=True)):
        canvas.shape("ellipse second" if i else "ellipse", outline)
        canvas.segment("path-edge" if i else "path", (0, 0), landing.best)
    canvas.dot("pad", (0, 0), 5)
    canvas.text((0, 0), "pad", "end", shift=(-8, 5))
    canvas.text((low[0], high[1]), "field, north up", "start", shift=(2, -6))
    bar = round_length((max(xs) - min(xs)) / 4 / unit) * unit
    canvas.across(min(xs), min(xs) + bar, min(ys), height(bar), below=14)
    for i, landing in enumerate(told):
        y = canvas.height - _ROW * (len(told) - i) + 8
        canvas.spot("ring" if i else "spot", (24, y), 4)
        canvas.words((34, y + 5), landing.name, "start")
    return canvas.drawing("Where it may land, seen from above, to scale", description)


def _spots(canvas: Canvas, landing: Landing, ground: Ground, ring: bool) -> None:
    for spot in landing.spots:
        class_ = "ring" if ring else "spot"
        canvas.dot(class_ if ground.holds(spot) else f"{class_} outside", spot, 2.2 if ring else 1.5)


def round_length(value: float) -> float:
    """The largest 1, 2 or 5 times a power of ten not above a value."""
    step = 1e-3
    while step * 10 <= value:
        step *= 10
    return step * next(k for k in (5, 2, 1) if step * k <= value)
